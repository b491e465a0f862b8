"""A question about a file that only a person can answer, and the option that answers it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from outpace.errors import ExitCode, ManyErrors, OutpaceError
from outpace.language import say


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer: what to type, and what it means."""

    value: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Question:
    """What is not clear, why, and the answers.

    ``code`` is the field of the answers that it fills; ``option`` is how the command line asks for it.
    """

    code: str
    text: str
    option: str
    choices: tuple[Choice, ...]

    def error(self, where: str) -> OutpaceError:
        """Return the question as the refusal it is until it is answered."""
        meanings = "; ".join(f"{choice.value}: {choice.meaning}" for choice in self.choices)
        answers = " or ".join(f"`{self.option} {choice.value}`" for choice in self.choices[:3])
        return OutpaceError(
            self.text,
            where=where,
            allowed=meanings,
            hint=say("answer with {answers}", answers=answers),
            code=ExitCode.USAGE,
        )


def refuse_unanswered(questions: Sequence[Question], where: str) -> None:
    """Raise what is still to be answered, all of it at once.

    Raises
    ------
    OutpaceError
        If there is any question.
    """
    if not questions:
        return
    errors = [question.error(where) for question in questions]
    if len(errors) == 1:
        raise errors[0]
    together = " ".join(f"{question.option} {question.choices[0].value}" for question in questions)
    raise ManyErrors(errors, hint=say("answer them together, such as `{together}`", together=together))
