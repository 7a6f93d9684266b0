"""The questions of a new contract: each has an example, some an answer that usually fits; none is guessed silently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Question:
    """One question: key (also the option's name, with ``-`` for ``_``), words, example, usual answer, choices.

    ``usual`` is None where the contract alone can answer: then there is no default.
    """

    key: str
    words: str
    example: str
    usual: str | None = None
    choices: tuple[str, ...] = ()

    @property
    def option(self) -> str:
        """The option of the command line that answers it."""
        return "--" + self.key.replace("_", "-")


QUESTIONS: Final = (
    Question("contract", "Number of the contract", "AB-12"),
    Question("name", "Name of the contract", "Harbour crane, recoating"),
    Question("client", "Client", "Harbour Trust", "(client)"),
    Question("contractor", "Contractor", "Blast and Coat", "(contractor)"),
    Question("site", "Site", "north quay", "(site)"),
    Question("time_zone", "Time zone of the site", "Europe/Oslo", "UTC"),
    Question("inspection_body", "Who inspects", "Quay Inspection", "(inspection body)"),
    Question("address", "Address of the inspection body", "1 Quay Lane", "(address)"),
    Question("inspector", "Name of the inspector", "N. Surname"),
    Question("document", "Specification and revision", "AB-12 part 6, revision 1", "(specification)"),
    Question("grade", "Grade of cleanliness required", "SSPC-SP 10"),
    Question("minimum", "Lowest profile allowed, with its unit", "2.0 mil"),
    Question("maximum", "Highest profile allowed, with its unit", "3.5 mil"),
    Question("unit", "Unit the gauge shows", "mil", choices=("mil", "um")),
    Question("edition", "Edition of the method the contract names", "2021"),
    Question(
        "overlap_rule",
        "Rule for two grades of tape",
        "average",
        choices=("average", "non-averaging", "single-grade"),
    ),
    Question("decision_rule", "Decision rule at the limits", "simple", choices=("simple", "guarded", "banded")),
    Question("locations", "Locations per area, shift and apparatus", "3"),
    Question("readings_per_location", "Spots per location", "2", "2"),
    Question("structure", "First structure", "crane portal", "first structure"),
    Question("area", "Its first area", "leg 1, outside", "first area"),
    Question("area_id", "Short id of that area, as the day files name it", "L1-OUT", "A-1"),
    Question("area_size", "Size of that area", "24 m2", "20 m2"),
)


def answered(answers: Mapping[str, str]) -> dict[str, str]:
    """Return an answer to every question.

    Raises:
        UsageError: an answer missing that only the contract can give, one that is no choice, or one to no question.
    """
    known = {question.key: question for question in QUESTIONS}
    unknown = [key for key in answers if key not in known]
    if unknown:
        raise UsageError(f"`{unknown[0]}` is not a question", help_text="questions: " + ", ".join(known))
    complete: dict[str, str] = {}
    missing: list[Question] = []
    for question in QUESTIONS:
        answer = answers.get(question.key, "").strip() or question.usual
        if answer is None:
            missing.append(question)
            continue
        if question.choices and answer not in question.choices:
            raise UsageError(
                f"`{answer}` is not a choice for {question.option}",
                help_text="write one of " + ", ".join(f"`{choice}`" for choice in question.choices),
            )
        complete[question.key] = answer
    if missing:
        example = f'{missing[0].option} "{missing[0].example}"'
        listed = ", ".join(question.option for question in missing)
        raise UsageError(f"these have no default, because the contract decides them: {listed}", help_text=example)
    return complete
