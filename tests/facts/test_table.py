"""The tables hold together: units, sources, ranges, evidence, and a row for whatever is asked."""

from __future__ import annotations

from collections import Counter

import pytest

from outpace.biology import temperature_response
from outpace.errors import OutpaceError
from outpace.facts.lens_features import ORDERS_ONLY, lens_features, lens_rules
from outpace.facts.record_rules import record_regions, record_rules
from outpace.facts.table import EVIDENCE, Fact, fact_files, load, weakest

FACTS = load()
ROWS = FACTS.rows()
PESTS = sorted(key for key, item in FACTS.species.items() if item.kind == "pest")
ENEMIES = sorted(key for key, item in FACTS.species.items() if item.kind == "enemy")
WASPS = sorted(key for key in ENEMIES if FACTS.species[key].guild == "wasp")
HYPERPARASITOIDS = sorted(key for key, item in FACTS.species.items() if item.kind == "hyperparasitoid")
CROPS = sorted(key for key, item in FACTS.crops.items() if item.role == "crop")
GROUPS = {group for item in FACTS.species.values() for group in item.groups}


def told(rows: list[Fact]) -> list[str]:
    return [row.key for row in rows]


def test_every_row_stands_once():
    assert [key for key, times in Counter(row.key for row in ROWS).items() if times > 1] == []


def test_no_species_repeats_the_number_of_its_group():
    repeated = []
    for row in ROWS:
        known = FACTS.species.get(row.species)
        for group in known.groups if known and not row.strain else ():
            repeated += [
                row.key
                for other in FACTS.rows(group)
                if (other.quantity, other.stage, other.other_species, other.crop, other.temperature_degc)
                == (row.quantity, row.stage, row.other_species, row.crop, row.temperature_degc)
                and (other.value, other.source, other.low) == (row.value, row.source, row.low)
            ]
    assert repeated == []


def test_the_unit_is_the_one_of_the_quantity():
    assert told([row for row in ROWS if row.unit != FACTS.quantities[row.quantity].unit]) == []


def test_every_quantity_that_is_explained_is_used():
    assert set(FACTS.quantities) == {row.quantity for row in ROWS}


def test_low_value_and_high_stand_in_order_and_say_what_they_span():
    both = [row for row in ROWS if row.low is not None or row.high is not None]
    assert told([row for row in both if row.low is None or row.high is None]) == []
    assert told([row for row in both if not row.low <= row.value <= row.high]) == []
    assert told([row for row in both if not row.spread]) == []


def test_the_evidence_class_is_one_of_six_and_a_default_is_never_ones_own():
    assert {row.evidence for row in ROWS} <= set(EVIDENCE) - {"own"}


def test_what_was_read_derived_or_recalled_names_source_and_place():
    bare = [row for row in ROWS if row.evidence != "practice" and not (row.source and row.locator)]
    assert told(bare) == []


def test_common_practice_names_no_source():
    assert told([row for row in ROWS if row.evidence == "practice" and (row.source or row.locator)]) == []


def test_every_source_is_known_and_every_known_source_is_used():
    trade = [
        *FACTS.release_rates,
        *FACTS.other_rates,
        *FACTS.release_rhythms,
        *FACTS.bankers,
        *record_rules(),
    ]
    trade += [*lens_features(), *lens_rules().values()]
    named = {row.source for row in (*ROWS, *trade) if row.source}
    assert named == set(FACTS.sources)


def test_a_source_says_how_much_of_it_was_seen():
    assert {source.seen for source in FACTS.sources.values()} <= {
        "full text",
        "abstract",
        "via another source",
    }
    assert all(source.title and source.authors for source in FACTS.sources.values())


def test_a_figure_of_an_interested_party_is_never_called_read():
    for row in (*FACTS.release_rates, *FACTS.bankers):
        assert (row.source == "SupplierLeaflets") == (row.evidence == "seller")


def test_species_and_crops_in_the_rows_are_known():
    assert {row.species for row in ROWS} <= {*FACTS.species, *GROUPS, ""}
    assert {row.other_species for row in ROWS} <= {*FACTS.species, ""}
    assert {row.crop for row in ROWS} <= {*FACTS.crops, ""}
    assert {item.reference_crop for item in FACTS.species.values()} <= {*FACTS.crops, ""}
    assert {rate.enemy for rate in FACTS.release_rates} <= set(ENEMIES)


def test_names_find_one_species_and_one_crop_each():
    for items in (FACTS.species.values(), FACTS.crops.values()):
        names = Counter(name.casefold() for item in items for name in {n.casefold() for n in item.names})
        assert [name for name, times in names.items() if times > 1] == []


def test_every_rule_of_records_names_its_evidence_and_asks_for_fields_or_years():
    for rule in record_rules():
        assert bool(rule.fields) != (rule.keep_y is not None) or (rule.fields and rule.keep_y)
        assert (rule.evidence == "practice") == (not rule.source)
        assert rule.is_law or rule.evidence in ("practice", "recalled")
        assert rule.region in {"any", *(row.region for row in record_regions())}


def test_what_a_lens_shows_names_its_evidence_and_is_told_of_every_named_aphid():
    named = {key for key in PESTS if FACTS.species[key].latin}
    for row in (*lens_features(), *lens_rules().values()):
        assert row.evidence in EVIDENCE
        assert (row.evidence == "practice") == (not row.source)
    for feature in {row.feature for row in lens_features()} - ORDERS_ONLY:
        usual = [row.species for row in lens_features() if row.feature == feature and row.fit == "usual"]
        assert set(usual) == named


def test_every_table_of_facts_is_read():
    names = {path.name for path in fact_files()}
    assert {"aphids.csv", "wasps.csv", "predators.csv", "hyperparasitoids.csv", "host_match.csv"} <= names


@pytest.mark.parametrize("key", [*PESTS, *ENEMIES, *HYPERPARASITOIDS])
def test_every_species_has_what_development_needs(key):
    for quantity in (
        "lower_threshold",
        "thermal_constant",
        "threshold_constant_correlation",
        "optimum_temperature",
        "upper_temperature",
        "development_cv",
    ):
        assert FACTS.one(key, quantity) is not None
    at = [
        FACTS.one(key, name).value for name in ("lower_threshold", "optimum_temperature", "upper_temperature")
    ]
    assert at == sorted(set(at))


@pytest.mark.parametrize("key", [*PESTS, *ENEMIES, *HYPERPARASITOIDS])
def test_the_response_curve_of_a_species_is_one_that_exists(key):
    assert callable(getattr(temperature_response, FACTS.species[key].response_curve))


@pytest.mark.parametrize("key", PESTS)
def test_every_aphid_has_what_growth_needs(key):
    for quantity in ("nymph_survival", "pre_reproductive_delay", "winged_share_half", "crowding_departure"):
        assert FACTS.one(key, quantity).low is not None
    for quantity in ("lifetime_fecundity", "adult_life", "nymph_survival_multiplier"):
        assert len(FACTS.by_temperature(key, quantity)) >= 2
    assert sum(FACTS.one(key, "instar_share", stage=f"N{i}").value for i in range(1, 5)) == pytest.approx(1)
    classes = [FACTS.one(key, "fecundity_age_shape", stage=f"adult {i:02d}").value for i in range(1, 11)]
    assert sum(classes) == pytest.approx(1)


@pytest.mark.parametrize("key", PESTS)
@pytest.mark.parametrize("crop", [*CROPS, "a crop of another name"])
def test_every_aphid_has_a_multiplier_on_every_crop(key, crop):
    assert FACTS.by_temperature(key, "crop_multiplier", crop=crop) != ()
    assert FACTS.one(key, "crop_survival_multiplier", crop=crop).value > 0


@pytest.mark.parametrize("crop", [*CROPS, "a crop of another name"])
def test_every_crop_has_leaves_and_leaf_area(crop):
    assert FACTS.one("", "leaf_area_per_plant", crop=crop).value > 0
    assert FACTS.one("", "leaves_per_plant", crop=crop).value >= 1


@pytest.mark.parametrize("key", WASPS)
def test_every_wasp_has_what_attack_and_brood_need(key):
    for quantity in (
        "mummy_share",
        "share_female",
        "emergence",
        "emergence_heat",
        "emergence_spread",
        "host_finding_delay",
        "adult_loss",
        "attack_rate",
        "handling_time",
        "refuge_k",
        "interference",
        "mummy_fall",
        "activity_low_temperature",
        "activity_high_temperature",
    ):
        fact = FACTS.one(key, quantity)
        assert fact.low < fact.high
    for quantity in ("immature_survival", "eggs", "attack_temperature_multiplier"):
        assert len(FACTS.by_temperature(key, quantity)) >= 2
    preference = [
        FACTS.one(key, "instar_preference", stage=s).value for s in ("N1", "N2", "N3", "N4", "adult")
    ]
    assert sum(preference) == pytest.approx(1)
    assert [FACTS.one(key, "stung_births", stage=s).value for s in ("N1", "N2", "N3")] == [0, 0, 0]


@pytest.mark.parametrize("key", WASPS)
def test_the_eggs_of_a_wasp_are_all_laid(key):
    days = [FACTS.find(key, "fecundity_by_day", stage=f"day {day}") for day in range(1, 17)]
    assert sum(fact.value for fact in days if fact) == pytest.approx(1)


@pytest.mark.parametrize("enemy", ENEMIES)
@pytest.mark.parametrize("pest", PESTS)
def test_every_pair_has_a_host_match(enemy, pest):
    assert FACTS.one(enemy, "host_match", other_species=pest).value in (0, 1, 2)


@pytest.mark.parametrize("enemy", ENEMIES)
def test_nothing_is_promised_on_an_aphid_that_was_not_named(enemy):
    assert FACTS.one(enemy, "host_match", other_species="unknown_aphid").value == 0


@pytest.mark.parametrize("enemy", ["aphidius_colemani", "aphidius_matricariae"])
@pytest.mark.parametrize("pest", ["macrosiphum_euphorbiae", "aulacorthum_solani"])
def test_the_wasps_of_small_aphids_do_not_control_the_large_ones(enemy, pest):
    # Source: field records in a handbook citing Carver et al. 1993 (read); practice for A. matricariae
    # on the potato aphid.
    assert FACTS.one(enemy, "host_match", other_species=pest).value == 0


def test_a_row_for_the_pair_stands_before_the_row_of_the_species():
    pair = FACTS.one("aphidius_ervi", "thermal_constant", other_species="myzus_persicae")
    other = FACTS.one("aphidius_ervi", "thermal_constant", other_species="aulacorthum_solani")
    assert pair.value > other.value
    assert other == FACTS.one("aphidius_ervi", "thermal_constant")


def test_a_row_of_the_group_stands_in_and_a_named_study_never_does():
    assert FACTS.one("aphidius_ervi", "adult_loss").species == "any_wasp"
    assert FACTS.find("aphidius_ervi", "development_time") is None
    assert FACTS.one("aphis_gossypii", "lower_threshold").strain == ""


def test_a_quantity_that_follows_temperature_says_so_when_one_value_is_asked():
    with pytest.raises(OutpaceError) as caught:
        FACTS.one("myzus_persicae", "lifetime_fecundity")
    assert "by temperature" in caught.value.hint


def test_a_quantity_that_is_not_there_is_refused_by_name():
    with pytest.raises(OutpaceError, match="wing_colour for myzus_persicae"):
        FACTS.one("myzus_persicae", "wing_colour")


def test_rows_by_temperature_rise():
    at = [
        row.temperature_degc for row in FACTS.by_temperature("aphidius_ervi", "attack_temperature_multiplier")
    ]
    assert at == sorted(at)
    assert len(at) >= 4


@pytest.mark.parametrize(
    "name",
    [
        "myzus_persicae",
        "Myzus persicae",
        "MYZUPE",
        "myzupe",
        " Green peach  aphid ",
        "M. persicae",
        "pulgón verde del melocotonero",
    ],
)
def test_a_species_is_found_by_any_of_its_names(name):
    assert FACTS.resolve(name) == "myzus_persicae"


@pytest.mark.parametrize("name", ["unknown", "unknown small", "Unknown large"])
def test_an_aphid_that_was_not_told_is_the_unknown_one(name):
    assert FACTS.resolve(name, kind="pest") == "unknown_aphid"


def test_a_misspelt_name_is_answered_with_near_ones():
    with pytest.raises(OutpaceError) as caught:
        FACTS.resolve("Mizus persicea")
    assert "Myzus persicae" in caught.value.text()


def test_a_pest_is_not_found_among_enemies():
    with pytest.raises(OutpaceError, match="no enemy called"):
        FACTS.resolve("Myzus persicae", kind="enemy")


@pytest.mark.parametrize(
    ("name", "key"), [("Sweet Pepper", "sweet_pepper"), ("eggplant", "aubergine"), ("CUMSA", "cucumber")]
)
def test_a_crop_is_found_by_its_names(name, key):
    assert FACTS.resolve_crop(name) == key


def test_a_crop_that_is_not_there_is_none():
    assert FACTS.resolve_crop("basil") is None


def test_the_weakest_evidence_is_the_one_least_worth():
    by_class = {row.evidence: row for row in ROWS}
    assert weakest([by_class["read"], by_class["derived"], by_class["practice"]]) == "practice"
    assert weakest([by_class["read"], by_class["recalled"]]) == "recalled"
    assert weakest([]) == "read"


def test_the_growers_own_row_stands_before_the_books():
    import dataclasses

    row = FACTS.one("myzus_persicae", "crop_multiplier", crop="sweet_pepper")
    own = FACTS.with_own([dataclasses.replace(row, value=0.6, low=0.5, high=0.7)])
    found = own.one("myzus_persicae", "crop_multiplier", crop="sweet_pepper")
    assert (found.value, found.evidence) == (0.6, "own")
    assert FACTS.one("myzus_persicae", "crop_multiplier", crop="sweet_pepper") == row


def test_release_rates_have_a_rhythm_for_preventive_and_curative_use():
    # Source: rule of thumb of the trade, practice: preventive fortnightly x 4, curative weekly x 3.
    rhythm = {row.use: (row.interval_d, row.releases) for row in FACTS.release_rhythms}
    assert rhythm == {"preventive": (14, 4), "curative": (7, 3)}
    assert all(0 < rate.low <= rate.high for rate in FACTS.release_rates)
