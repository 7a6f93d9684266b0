"""The questions of a new contract: each has an example, some an answer that usually fits; none is guessed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import one_of
from reportgen.errors import QuantityError, UsageError
from reportgen.references import known_rule, method_kind, method_names
from reportgen.starter.examples import examples
from reportgen.starter.template import may_be_open, written
from reportgen.units import parse_quantity
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from reportgen.units import Kind, UnitSystem


@dataclass(frozen=True, slots=True)
class Question:
    """One question: key (also the option's name, with ``-`` for ``_``), words, examples, usual answer, choices.

    ``examples`` is one, or two: for a contract in mils, and for one in µm. ``usual`` is None where there is no answer
    that usually fits; then the answer may be left open if the starter file has a placeholder for it.
    """

    key: str
    words: str
    examples: tuple[str, ...]
    usual: str | None = None
    choices: tuple[str, ...] = ()

    @property
    def meanings(self) -> dict[str, str]:
        """What each choice means, where the choices are rules that the report prints."""
        kind = _RULES.get(self.key)
        said = sentences()
        return {} if kind is None else {choice: said.say("applied", f"{kind}-{choice}") for choice in self.choices}

    @property
    def option(self) -> str:
        """The option of the command line that answers it."""
        return "--" + self.key.replace("_", "-")

    @property
    def may_be_open(self) -> bool:
        """Whether the starter file can do without an answer."""
        return self.key in _OPEN

    @property
    def must_be_answered(self) -> bool:
        """Whether only the contract can answer it."""
        return self.usual is None and not self.may_be_open

    def refuse_other_choice(self, answer: str) -> None:
        """Raise UsageError for an answer that is not one of the choices."""
        if self.choices and answer not in self.choices:
            raise UsageError(
                f"`{answer}` is not a choice for {self.option}",
                help_text=one_of(self.choices),
            )

    def example(self, unit: str | None) -> str:
        """Return an example in the system of the gauge's unit; one in each where that is not known."""
        if unit in _UNITS:
            return self.examples[min(_UNITS.index(unit), len(self.examples) - 1)]
        return " or ".join(self.examples)


_RULES: Final = {"overlap_rule": "two-tape-grades", "decision_rule": "decision-rule", "rounding": "rounding"}
"""Questions about a rule, and the beginning of the codes by which the report says what it does."""
_UNITS: Final = ("mil", "um")
_OPEN: Final = may_be_open("project") | {"gauge_accuracy", "area_size", "readings_per_location", "location_value"}
GAUGES: Final = {"tape": "thickness gauge", "probe": "depth micrometer", "comparator": "comparator"}
"""Kinds of method that a contract can begin with, and the instrument of each."""
METHODS: Final = tuple(name for name in method_names() if method_kind(name) in GAUGES)
_ASKED_WITH: Final = {
    **dict.fromkeys(("overlap_rule", "coarse_lot", "extra_coarse_lot"), ("tape",)),
    **dict.fromkeys(
        ("minimum", "maximum", "decision_rule", "rounding", "gauge_accuracy", "location_value"), ("tape", "probe")
    ),
    "comparator_grade": ("comparator",),
}  # fmt: skip
"""Questions that are none with every kind of method, and the kinds with which they are."""
OF_EDITION: Final = ("readings_per_location", "location_value")
"""What the edition of a method says, where it is known here and the contract does not."""

QUESTIONS: Final = (
    Question("contract", "Number of the contract", ("AB-12",)),
    Question("name", "Name of the contract", ("Harbour crane, recoating",)),
    Question("client", "Client", ("Harbour Trust",)),
    Question("contractor", "Contractor", ("Blast and Coat",)),
    Question("site", "Site", ("north quay",)),
    Question("time_zone", "Time zone of the site", ("Europe/Oslo",), "UTC"),
    Question("inspection_body", "Who inspects", ("Quay Inspection",)),
    Question("address", "Address of the inspection body", ("1 Quay Lane",)),
    Question("inspector", "Name of the inspector", ("N. Surname",)),
    Question("document", "Specification and revision", ("AB-12 part 6, revision 1",)),
    Question("grade", "Grade of cleanliness required", ("SSPC-SP 10",)),
    Question("unit", "Unit the gauge shows; temperatures, pressures and areas follow it", ("mil",), choices=_UNITS),
    Question("method", "Method of measuring profile", METHODS[2:3], choices=METHODS),
    Question("comparator_grade", "Grade required beside a reference comparator", ("medium G",)),
    Question("minimum", "Lowest profile allowed, with its unit", ("2.0 mil", "50 um")),
    Question("maximum", "Highest profile allowed, with its unit", ("3.5 mil", "85 um")),
    Question("edition", "Edition of the method the contract names", ("2021",)),
    Question(
        "overlap_rule",
        "Rule for two grades of tape",
        ("average",),
        choices=("average", "non-averaging", "single-grade"),
    ),
    Question("decision_rule", "Decision rule at the limits", ("simple",), choices=("simple", "guarded", "banded")),
    Question(
        "rounding", "Rounding before a value is compared", ("half-even",), choices=("half-even", "half-up", "none")
    ),
    Question("locations", "Locations per area, shift and apparatus", ("3",)),
    Question("readings_per_location", "Spots per location, if not as the edition of the method says", ("2",)),
    Question(
        "location_value",
        "Value of a location from its spots, if not as the edition of the method says",
        ("mean",),
        choices=("mean", "maximum"),
    ),
    Question(
        "conditions_clause",
        "Clause that asks for steel 3 °C or 5 °F above the dew point, humidity of at most 85 %, readings every 4 h",
        ("3.2",),
    ),
    Question("gauge_serial", "Serial number of the gauge", ("4711",)),
    Question("gauge_accuracy", "Limits of error of the gauge, from its certificate", ("0.2 mil", "5 um")),
    Question("hygrometer_serial", "Serial number of the hygrometer", ("H-208",)),
    Question("thermometer_serial", "Serial number of the surface thermometer", ("T-31",)),
    Question("coarse_lot", "Lot of the roll of coarse tape", ("C-7",)),
    Question("extra_coarse_lot", "Lot of the roll of extra coarse tape", ("X-9",)),
    Question("structure", "First structure", ("crane portal",)),
    Question("area", "Its first area", ("leg 1, outside",)),
    Question("area_id", "Short id of that area, as the day files name it", ("L1-OUT",), "A-1"),
    Question("area_size", "Size of that area", ("260 ft2", "24 m2")),
)


def kind_of(answers: Mapping[str, str]) -> str:
    """Return with what the method of some answers measures: ``tape``, ``probe`` or ``comparator``."""
    return method_kind(answers.get("method", "").strip() or METHODS[2]) or "tape"


def asked_with(key: str) -> Collection[str]:
    """Return the kinds of method with which a question is one."""
    return _ASKED_WITH.get(key, GAUGES)


def is_asked(key: str, answers: Mapping[str, str]) -> bool:
    """Whether a question is one with the method that was answered."""
    return kind_of(answers) in asked_with(key)


def edition_unknown(answers: Mapping[str, str]) -> bool:
    """Whether the method of some answers is read by an edition whose numbers are not known here."""
    method, edition = (answers.get(key, "").strip() for key in ("method", "edition"))
    return bool(method and edition) and is_asked("location_value", answers) and known_rule(method, edition) is None


def is_needed(question: Question, answers: Mapping[str, str]) -> bool:
    """Whether only the contract can answer a question, beside what was answered already."""
    return question.must_be_answered or (question.key in OF_EDITION and edition_unknown(answers))


def is_put(key: str, answers: Mapping[str, str]) -> bool:
    """Whether whoever answers one question after the other is asked this one: of what is known it is left out."""
    return is_asked(key, answers) and (key != "location_value" or edition_unknown(answers))


def missing(answers: Mapping[str, str]) -> list[Question]:
    """Return the questions that only the contract can answer and that were left open."""
    return [
        one for one in QUESTIONS
        if is_needed(one, answers) and is_asked(one.key, answers) and not answers.get(one.key, "").strip()
    ]  # fmt: skip


def answered(answers: Mapping[str, str]) -> dict[str, str]:
    """Return an answer to every question but those that are left open, and those that the method does not ask.

    Raises:
        UsageError: an answer missing that only the contract can give, one that is no choice, or one to no question.
    """
    known = {question.key: question for question in QUESTIONS}
    unknown = [key for key in answers if key not in known]
    if unknown:
        raise UsageError(f"`{unknown[0]}` is not a question", help_text="questions: " + ", ".join(known))
    complete: dict[str, str] = {}
    for question in QUESTIONS:
        answer = answers.get(question.key, "").strip() or question.usual
        if answer is None:
            continue
        question.refuse_other_choice(answer)
        if not is_asked(question.key, answers):
            method = answers.get("method", METHODS[2])
            raise UsageError(f"{question.option} does not go with `{method}`", help_text="leave it out")
        complete[question.key] = answer
    if lacking := missing(answers):
        example = f'{lacking[0].option} "{lacking[0].example(answers.get("unit"))}"'
        listed = ", ".join(question.option for question in lacking)
        raise UsageError(f"these have no default, because the contract decides them: {listed}", help_text=example)
    return complete


def limits_of_error(answer: str, units: UnitSystem) -> str:
    """Return the fields of the gauge for its limits of error: a height, a share of what it shows, or both added.

    Raises:
        QuantityError: for what is neither, twice the same, or a share alone, of which nothing is left at zero.
    """
    fields: dict[str, str] = {}
    for part in answer.split("+"):
        kind: Kind = "share" if part.rstrip().endswith("%") else "height"
        name = "accuracy_of_reading" if kind == "share" else "accuracy"
        if name in fields:
            raise QuantityError(
                f"`{answer}` states the limits of error twice", help_text="write each part once, such as `1 um + 3 %`"
            )
        parse_quantity(part.strip(), kind, such_as=units.such_as(kind))
        fields[name] = part.strip()
    if list(fields) == ["accuracy_of_reading"]:
        digit = examples(units)["example_resolution"]
        raise QuantityError(
            f"`{answer}` leaves the gauge no error where it shows zero",
            help_text=f"put the last digit that it shows before it, such as `{digit} + 3 %`",
        )
    return "\n    ".join(f"{name}: {written(text)}" for name, text in fields.items())
