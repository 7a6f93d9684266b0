"""Equipment with the checks of the day, people, remarks and deviations, results from others, what is not covered."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from reportgen.measurements import LOGS, Measurement
from reportgen.names import says_nothing
from reportgen.pdf.blocks import Runs, SectionTitle, running_text
from reportgen.pdf.columns import in_columns
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, DENSE, INK, REGULAR
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import Tagged
from reportgen.pdf.textlines import Run, text_width
from reportgen.report.area_facts import recorded_facts
from reportgen.report.tables import cell, lowest, section, table
from reportgen.report.verdicts import lowered, worst
from reportgen.words.numbers import digits, shown_unit, typeset

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from reportgen.job.instruments import Instrument
    from reportgen.job.project import Person, TapeRoll
    from reportgen.report.context import Context
    from reportgen.results import CheckResult, ComparisonResult
    from reportgen.units import Quantity

T = TypeVar("T")

_ITEM = 104.0
_SHARES = (19, 25, 19, 37), (22, 19, 26, 33), (23, 24, 26, 27), (25, 22, 26, 27), (23, 25, 19, 33)
"""Of the width beside the items, of make, certificate, dates and checks: whichever takes less height."""
_NOTHING = ("–", "–", "–")  # where no make, certificate or date is to be stated
_CHECKED = tuple(kind for kind in LOGS if kind.subject)
"""Kinds of measurement that stand among the checks."""
ALWAYS = ("deviations", "results_from_others", "client_data")
"""What is said of the day in any case: where nothing is recorded, that nothing was stated."""


def equipment_section(context: Context) -> list[Flowable]:
    """Each item with its check of the day in its row; people; remarks; what the report does not cover."""
    known = (*context.job.project.instruments, *context.job.project.tape_rolls)
    item = min(context.width * 0.42, max([_ITEM, *(text_width(name, REGULAR, DENSE) + 22 for name in known)]))
    rest = (context.width - item) / 100
    heads = [context.words(f"equipment.{name}") for name in ("make", "accuracy", "calibrated", "check")]

    def has_room(shares: tuple[int, ...]) -> bool:
        return all(text_width(head, BOLD, DENSE) <= rest * share - 6 for head, share in zip(heads, shares, strict=True))

    def laid(shares: tuple[int, ...]) -> GroupedTable:
        columns = [Column(context.words("equipment.item"), item)]
        columns += [Column(head, rest * share, gap=6) for head, share in zip(heads, shares, strict=True)]
        rows = _Items(context, item - 6, rest * shares[-1] - 6).rows()
        return table(context, "equipment.title", columns, rows, pad=1.6, leading=9.0)

    made = lowest(laid, list(filter(has_room, _SHARES)) or _SHARES[:1])
    blocks = section(context, "equipment.title", "equipment", made) if made.total() else []
    told = in_columns([*people_in_short(context), *remarks(context), *limits(context)], context.width)
    title = SectionTitle(context.words("equipment.rest"), "people")
    compared = [block for one in context.evaluation.comparisons for block in comparison_blocks(context, one)]
    return [*blocks, CondPageBreak(70), title, *told, *compared]


class _Items:
    """The rows of instruments, rolls of tape, what was checked of each kind of the registry, and other checks."""

    def __init__(self, context: Context, item: float, room: float) -> None:
        self.context, self.item, self.room = context, item, room
        self.left = list(context.evaluation.checks)

    def rows(self) -> Iterator[Row]:
        """Every row; a check stands with its item, or by itself where the project knows no such item."""
        words, said, project = self.context.words, self.context.said, self.context.job.project
        unknown = words("equipment.not-recorded")
        for key, tool in project.instruments.items():
            name = f"{key} {lowered(self.context, words.named('instrument', tool.kind))}"
            dates = " – ".join(each.isoformat() for each in (tool.calibrated, tool.calibration_due) if each)
            certified = " · ".join(filter(None, (self._certified(tool), tool.certificate))) or "–"
            stated = (f"{made(tool) or unknown} {tool.serial}", certified, dates or "–")
            yield self._row(name, self._taken({key, tool.serial}), stated, used=key in self.context.used)
        for key, roll in project.tape_rolls.items():
            name = f"{key} {words('equipment.tape', grade=words(f'grade.{roll.grade}'))}"
            until = words("equipment.use-by", date=roll.expires.isoformat()) if roll.expires else "–"
            lot = f"{made(roll) or unknown} {roll.lot}"
            yield self._row(name, self._taken({key}), (lot, "–", until), used=key in self.context.used)
        logged = [(kind, each) for kind in _CHECKED for each in getattr(self.context.evaluation, kind.key)]
        yield from (self._logged(*some) for some in _together(logged, lambda each: getattr(each[1], each[0].subject)))
        for name, checks in _together(
            self.left, lambda each: f"{words.named('check', each.kind)} {said.check_of(each)}"
        ):
            yield self._row(lowered(self.context, name, label=True), checks, _NOTHING)

    def _taken(self, names: set[str]) -> list[CheckResult]:
        """The checks of an item, which no other row has."""
        own = [
            check for check in self.left if check.subject in names and check.kind not in ("certificate", "hold-point")
        ]
        self.left = [check for check in self.left if check not in own]
        return own

    def _row(self, name: str, checks: list[CheckResult], stated: tuple[str, ...], *, used: bool = False) -> Row:
        said = self.context.said
        told, beside = list[str](), list[str]()
        for check in checks:
            if check.kind == "calibration" and check.verdict == "conforms":
                beside.append(self.context.words("equipment.in-date"))  # its dates stand beside it
                continue
            required = f" ({typeset(said.check_required(check))})" if check.verdict != "conforms" else ""
            told.append(f"{check.time or ''} {typeset(said.checked(check))}{required}".strip())
        if used and all(check.kind == "calibration" for check in checks):
            beside.append(self.context.words("equipment.unchecked"))
        told += ["; ".join(dict.fromkeys(beside))] if beside else []
        verdict = worst(check.verdict for check in checks) if checks else None
        told = list(dict.fromkeys(told)) or [self.context.words("equipment.unused")]
        return (self._name(name, verdict), *stated, self._told(told))

    def _logged(self, subject: str, results: list[tuple[Measurement[Any, Any, Any], Any]]) -> Row:
        said, (kind, _) = self.context.said, results[0]
        told = [f"{one.time} {typeset(said.say('result', of.key, of.result_facts(one)))}" for of, one in results]
        name = f"{subject}, {lowered(self.context, said.say('measurement', kind.key))}"
        return (self._name(name, worst(one.verdict for _, one in results)), *_NOTHING, self._told(told))

    def _name(self, name: str, verdict: str | None) -> Runs:
        indent = "" if verdict else "–  "
        return cell(indent + name, self.item, verdict)

    def _told(self, lines: list[str]) -> Runs:
        return cell("\n".join(lines), self.room)

    def _certified(self, tool: Instrument) -> str:
        stated = (
            ("comparator", tool.comparator), ("limits-of-error", self._errs(tool.accuracy, tool.accuracy_of_reading)),
            ("thermometer", tool.temperature_accuracy), ("resolution", tool.resolution),
            ("uncertainty", self._errs(tool.uncertainty, tool.uncertainty_of_reading)),
        )  # fmt: skip
        words, factor = self.context.words, tool.coverage_factor
        parts = [words(f"equipment.{name}", value=value, factor=factor) for name, value in stated if value]
        return "; ".join(parts)

    def _errs(self, fixed: Quantity | None, share: Quantity | None) -> str:
        """An error as the certificate has it: fixed, a share of the reading, or the sum of both."""
        of_reading = self.context.words("equipment.of-reading", share=share) if share else None
        both = " + ".join(filter(None, (str(fixed) if fixed else None, of_reading)))
        return f"({both})" if fixed and share else both


def _together(some: Iterable[T], name: Callable[[T], str]) -> Iterator[tuple[str, list[T]]]:
    """Things of one name together, in the order of the first of each name."""
    found: dict[str, list[T]] = {}
    for each in some:
        found.setdefault(name(each), []).append(each)
    yield from found.items()


def made(one: Instrument | TapeRoll) -> str:
    """Make and model, as far as they are stated."""
    return " ".join(part for part in (one.make, one.model) if part is not None)


def people_in_short(context: Context) -> list[Flowable]:
    """Everybody whom the project names, and who else was present, a paragraph each."""
    words, people = context.words, context.job.project.people
    told = {person.name: _role(context, person) for person in people.values()}
    told |= {name: words("people.present") for name in context.job.day.report.present if name not in told}
    if not told:
        return [running_text(words("equipment.no-people"), "dense", before=2)]
    runs = [[Run(f"{name},", BOLD, INK), Run(f" {role}", REGULAR, INK)] for name, role in told.items()]
    return [_paragraph(each) for each in runs]


def _paragraph(runs: list[Run]) -> Tagged:
    return Tagged(Runs(runs, size=DENSE, leading=9.4, before=2), "P")


def _role(context: Context, person: Person) -> str:
    """A person's role, certificate, organisation, whether they were there, and in whose place they are."""
    words, people = context.words, context.job.project.people
    told = [words.role(person.role), *([person.certificate] if person.certificate else [])]
    if person.certificate_expires:
        told.append(words("people.until", date=person.certificate_expires.isoformat()))
    told += [person.organisation] if person.organisation else []
    if person.name in context.job.day.report.present:
        told.append(words("people.present"))
    if (taken := person.takes_over) is not None:
        former, namer = (people[key].name if key in people else key for key in (taken.inspector, taken.named_by))
        told.append(words("people.takes-over", former=former, named_by=namer, evidence=taken.evidence))
    return ", ".join(told)


def remarks(context: Context) -> list[Flowable]:
    """The remarks of the day, what is recorded of it, deviations and results from others, stated or not."""
    words, said = context.words, context.said
    facts = dict(recorded_facts(context, None))
    names = {key: said.say("record", key) for key in ALWAYS}
    said_of_day = context.job.day.remarks
    first = [f"{_capital(words('fact.remarks'))}: {said_of_day}" if said_of_day else words("equipment.no-remarks")]
    compared = {"results_from_others": words("equipment.compared")} if context.evaluation.comparisons else {}
    site = context.job.day.site
    if compared and site is not None and says_nothing(site.results_from_others or "none"):
        facts.pop(names["results_from_others"], None)  # none, above the tables of what others measured
    always = [
        f"{_capital(name)}: {facts.pop(name, compared.get(key, words('equipment.none-recorded')))}"
        for key, name in names.items()
    ]
    told = [*first, *(f"{_capital(name)}: {text}" for name, text in facts.items()), " · ".join(always)]
    return [running_text(text, "dense", before=2) for text in told]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def comparison_blocks(context: Context, result: ComparisonResult) -> list[Flowable]:
    """A table of the locations that both measured, and under it who read, the mean difference, and what it rests on."""
    words, unit = context.words, shown_unit(result.unit)
    heads = ("theirs", "own", "difference", "uncertainty", "error")
    wide = context.width / (len(heads) + 2)
    columns = [
        Column(words("comparison.location"), wide * 2, face=BOLD),
        *(Column(words(f"comparison.{head}", unit=unit), wide, "RIGHT") for head in heads),
    ]
    rows: list[Row] = [
        (
            f"{result.area} {words('location', location=one.id)}", digits(one.profile), digits(one.by_inspector),
            digits(one.difference), digits(one.expanded_uncertainty), digits(one.normalized_error),
        )
        for one in result.locations
    ]  # fmt: skip
    who = ", ".join(filter(None, (result.by, result.organisation, result.gauge, result.time)))
    sentences = [words("comparison.who", who=who, basis=context.said.shown(result.basis))]
    if result.mean_difference is not None:
        sentences.append(
            words(
                "comparison.mean", mean=digits(result.mean_difference), expanded=digits(result.expanded_uncertainty),
                factor=digits(result.coverage_factor), unit=unit, count=len(result.locations),
            )
        )  # fmt: skip
    if result.compared:
        sentences.append(words("comparison.equal", equal=result.equal, compared=result.compared))
    text = f"{words('comparison.title')}, {result.area}"
    title = SectionTitle(text, f"area-{result.area}-comparison-{result.apparatus}", level=3, outline=False)
    located = [table(context, "comparison.title", columns, rows)] if rows else []
    return [CondPageBreak(100), title, *located, *(running_text(each, "dense", before=2) for each in sentences)]


def limits(context: Context) -> list[Flowable]:
    """What the report does not cover, areas that were due and not inspected among it."""
    words = context.words
    told = [words("method.limits.scope"), words("method.limits.advice")]
    unseen = [
        running_text(words("method.limits.unseen", area=area, reason=reason.rstrip(".")), "dense", before=1)
        for area, reason in context.unseen.items()
    ]
    return [_paragraph([Run(words("method.limits"), BOLD, INK), Run(f" {' '.join(told)}", REGULAR, INK)]), *unseen]
