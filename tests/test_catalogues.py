"""The catalogues hold every text of the program, each translated with the same braces, and are compiled."""

from __future__ import annotations

import re

import pytest
from tools import catalogues

from outpace.language import SOURCE_LANGUAGE, direction, languages

LANGUAGES = [name for name in languages() if name != SOURCE_LANGUAGE]


@pytest.fixture(scope="module")
def gathered():
    return catalogues.gathered()


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_catalogue_holds_what_the_program_says_and_nothing_else(language, gathered):
    path = catalogues.po_path(language)
    made = catalogues.as_po(catalogues.updated(language, gathered))
    assert made.decode() == path.read_text(encoding="utf-8"), "run `make catalogues`"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_text_is_translated_with_the_braces_of_the_english(language, gathered):
    catalogue = catalogues.updated(language, gathered)
    assert [fault for message in catalogue if message.id for fault in catalogues.faults(message)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_read_at_run_time_was_compiled_from_what_is_written(language):
    path = catalogues.po_path(language)
    assert path.with_suffix(".mo").read_bytes() == catalogues.as_mo(path.read_bytes())


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_that_loses_a_brace_is_a_fault(language):
    from babel.messages.catalog import Message

    assert catalogues.faults(Message("{n} in {house}", "{n} en casa")) != []
    assert catalogues.faults(Message("{n} in {house}", "{n} en {house")) != []
    assert catalogues.faults(Message("{n} in {house}", "en {house}: {n}")) == []
    assert direction(language) == "ltr"


SPANISH_WORDS = {
    "mumm(?:y|ies)": "momi",
    "aphids?": "pulgón|pulgones|plaga|Aphid",
    "hyperparasitoids?": "hiperparasitoide",
    "action levels?": "umbral",
    "releases?": "suelt|solt",
    "wasps?": "avispa",
    "sticky cards?": "trampa",
    "leaf feed": "abono foliar",
    "ladybirds?": "mariquita",
    "lacewings?": "crisopa",
    "honeydew": "melaza",
    "parasitised": "parasit",
    "nymphs?": "ninfa",
    "bankers?": "banco",
    "raiser": "viverista",
    "loggers?(?:'s)?": "registrador",
    "packing date": "envasado",
    "suppliers?": "proveedor",
}
"""One word of the trade for one thing, wherever it is named."""
TYPED = re.compile(r"`[^`]*`|\{[^}]*\}|<code>.*?</code>|\"[^\"]*\"|\w+-\w+|such as: 20 looked at.*")
"""What stands as it is typed in every language."""


@pytest.fixture(scope="module")
def spanish(gathered):
    return catalogues.updated("es", gathered)


@pytest.mark.parametrize("english", SPANISH_WORDS)
def test_a_thing_has_one_word_in_spanish(english, spanish):
    others = []
    for message in spanish:
        one = message.id if isinstance(message.id, str) else message.id[-1] if message.id else ""
        told = message.string if isinstance(message.string, str) else message.string[-1]
        if re.search(rf"\b(?:{english})\b", TYPED.sub("", one), re.IGNORECASE) and not re.search(
            SPANISH_WORDS[english], told, re.IGNORECASE
        ):
            others.append((one, told))
    assert others == []
