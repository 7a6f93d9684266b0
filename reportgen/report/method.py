"""Annex 1: how the results came about, with numbered sources, uncertainty, cautions; every step where asked for."""

from __future__ import annotations

from functools import partial
from itertools import chain
from typing import TYPE_CHECKING, Any, Literal

from reportgen.measurements import MEASUREMENTS
from reportgen.metrology.contamination import PRECISION, PRECISION_RANGE
from reportgen.pdf.blocks import SECTION_HEIGHT, Runs, SectionTitle, running_text, titled
from reportgen.pdf.columns import in_columns
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import BOLD, DENSE, FINE, INK, LABEL, MUTED, REGULAR, SMALL
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.pdf.tagging import Tagged
from reportgen.pdf.textlines import Run, text_width
from reportgen.pdf.tightening import BreakUnless
from reportgen.references import citation
from reportgen.report.tables import section, table
from reportgen.report.verdicts import lowered
from reportgen.results import Amount, Finding
from reportgen.results.codes import equipment
from reportgen.results.statements import GapCode, statements_of
from reportgen.rules.relied_on import relied_on
from reportgen.units import printed
from reportgen.words.numbers import digits, shown_unit, typeset

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.report.context import Context
    from reportgen.results import AreaResult, BudgetLine, ResultBudget, Stated, Word

CAUTIONS = 9
_WHAT = 92.0
_ROWS: dict[str, Any] = {"pad": 1.2, "leading": 9.0}  # rows of 4 mm
_ROOM = 0.3  # of a page: with less of it left, the annex begins on the next one
_BESIDE = 3  # areas beyond which their uncertainties stand in several columns
_LEAST_NAME, _EXPANDED = 30.0, 38.0  # points of the ids of their areas, of U with the gap to the next column
BEYOND_UNCERTAINTY = {
    one.name
    for one in chain(statements_of(equipment), *(kind.statements for kind in MEASUREMENTS))
    if isinstance(one, GapCode) and one.beyond_uncertainty
}
_PUBLISHED = {"published-precision", "beyond-published"}
"""Sources of the precision of a salt test that are the method's own."""
_TOLD = {*_PUBLISHED, "contract"}
"""Sources that are named beside what they bring."""
_MARKS = {"from memory": "†", "read in a secondary": "‡"}
"""How a confidence begins, and its mark in every report; any other has §."""


def paragraph(runs: list[Run], *, size: float = DENSE - 0.2, before: float = 1.6) -> Tagged:
    """A paragraph in the small type of the annex."""
    return Tagged(Runs(runs, size=size, leading=size + 1.7, before=before), "P")


def method_section(context: Context) -> list[Flowable]:
    """Each rule in a sentence, those of a source together with its number, the sources, then the uncertainty."""
    words, rules = context.words, relied_on(context.evaluation)
    title = SectionTitle(words("method.title"), "method", note=words("method.note"))
    if not rules:
        return [CondPageBreak(60), title, running_text(words("method.no-rules"), "dense", before=3)]
    sources: dict[tuple[str, str | None], int] = {}
    of_source: dict[int, list[Run]] = {}
    for rule in rules:
        number = sources.setdefault((rule.source, rule.confidence), len(sources) + 1)
        topic = context.said.topic(rule.topic) or words.named("topic", rule.topic)
        clause = f" {words('clause', clause=rule.clause)}" if rule.clause else ""
        own = of_source.setdefault(number, [])
        own += [Run(f"{' ' if own else ''}{topic}:", BOLD, INK)]
        own += [
            Run(f" {typeset(context.said.text(rule.rule))}.", REGULAR, INK),
            *([Run(clause, REGULAR, MUTED)] if clause else []),
        ]
    blocks: list[Flowable] = [
        paragraph([*own, Run(f" [{number}]", REGULAR, MUTED)]) for number, own in of_source.items()
    ]
    blocks += [paragraph([Run(words(key), REGULAR, INK)]) for key in ("method.decision", "method.digits")]
    if misses := _misses(context):
        blocks.append(paragraph([Run(f"{words('method.misses')}:", BOLD, INK), Run(f" {misses}.", REGULAR, INK)]))
    again = words.continued("method.title")("")
    columns = in_columns([*blocks, *_beyond(context), *_sources(context, sources)], context.width, again)
    room = min(context.height * _ROOM, sum(one.wrapOn(None, context.width, 0)[1] for one in columns)) + SECTION_HEIGHT
    return [BreakUnless(room, room * 0.6), title, *columns, *_location_budgets(context), *_other_budgets(context)]


def _misses(context: Context) -> str:
    """What the sampling plan of an area can miss; areas of which the same is said together."""
    said: dict[str, list[str]] = {}
    for area in context.evaluation.areas:
        if area.can_miss is not None:
            said.setdefault(typeset(context.said.shown(area.can_miss)), []).append(area.id)
    return "; ".join(f"{', '.join(ids)}: {text}" for text, ids in said.items())


def _sources(context: Context, sources: dict[tuple[str, str | None], int]) -> list[Flowable]:
    """The sources by their numbers, with marks for those that were not read themselves, explained once."""
    words = context.words
    marks: dict[str, str] = {}
    told: list[Run] = []
    for (source, confidence), number in sources.items():
        known = (mark for begins, mark in _MARKS.items() if confidence and confidence.startswith(begins))
        mark = marks.setdefault(confidence, next(known, "§")) if confidence else ""
        told += [
            Run(f"{' · ' if told else ''}{number} ", BOLD, MUTED),
            Run(f"{typeset(words.source(source))}{f' {mark}' if mark else ''}", REGULAR, MUTED),
        ]
    notes = [f"{mark} {words.named('confidence', text)}" for text, mark in marks.items()]
    blocks: list[Flowable] = [paragraph([Run(f"{words('method.sources')} ", BOLD, INK), *told], size=FINE)]
    return [*blocks, *([running_text("; ".join(notes), "fine", before=1)] if notes else [])]


def _beyond(context: Context) -> list[Flowable]:
    """What no uncertainty covers, each thing a paragraph."""
    told = [[Run(text, REGULAR, INK)] for text in beyond_uncertainty(context)]
    if told:
        told[0].insert(0, Run(f"{context.words('beyond.title')} ", BOLD, INK))
    return [paragraph(runs) for runs in told]


def _other_budgets(context: Context) -> list[Flowable]:
    """Of each other quantity one budget, that with the largest U: where, what its inputs contribute, u, ν, k, U."""
    words, shown = context.words, context.said.shown
    widest: dict[tuple[str, Word], tuple[ResultBudget, Any]] = {}
    for key, budget, result in _budgets(context):
        known = widest.get((key, budget.quantity))
        if known is None or budget.expanded_uncertainty >= known[0].expanded_uncertainty:
            widest[key, budget.quantity] = budget, result
    if not widest:
        return []
    widths = {"quantity": 106, "at": 84, "standard": 38, "freedom": 30, "coverage": 28}
    columns = [Column(words(f"budget.{name}"), wide, _side(wide), gap=10) for name, wide in widths.items()]
    columns.append(Column("U", 50, "RIGHT", face=BOLD, gap=10))
    columns.append(Column(words("budget.contributions"), context.width - sum(widths.values()) - 50, ink=MUTED, gap=0))
    rows: list[Row] = []
    for budget, result in widest.values():
        place = " · ".join(filter(None, (getattr(result, at, None) for at in ("area", "location", "place", "time"))))
        inputs = "; ".join(
            f"{shown(line.component)} {digits(line.contribution)}"
            + (f" ({shown(line.source)})" if line.source.key in _TOLD else "")
            for line in budget.lines
        )
        numbers = (digits(budget.standard_uncertainty), digits(budget.effective_degrees_of_freedom, "∞"))
        expanded = shown(Amount(budget.expanded_uncertainty, budget.unit))
        rows.append((shown(budget.quantity), place, *numbers, digits(budget.coverage_factor), expanded, inputs))
    made = table(context, "budget.others", columns, rows, **_ROWS)
    return section(context, "budget.others", "budget-others", made, words("budget.widest"), inner=True)


def _budgets(context: Context) -> list[tuple[str, ResultBudget, Any]]:
    """The budgets that stand with results of the kinds of measurement, with the kind and the result."""
    results = [(kind.key, one) for kind in MEASUREMENTS for one in getattr(context.evaluation, kind.key)]
    return [(key, budget, one) for key, one in results for budget in getattr(one, "budgets", ())]


def _location_budgets(context: Context) -> list[Flowable]:
    """What all areas have in common once, and what differs by area; none where no area has a budget."""
    words = context.words
    areas = [area for area in context.evaluation.areas if area.location_budget or area.budget]
    lines = {area.id: {one.component: one for one in area.location_budget or area.budget} for area in areas}
    every = dict(chain.from_iterable(own.items() for own in lines.values()))
    if not every:
        return []
    varying = [name for name in every if _differs(name, lines.values())]
    widths = {"component": 110, "value": 46, "distribution": 70, "divisor": 46, "standard": 50, "freedom": 36}
    columns = [Column(words(f"budget.{name}"), wide, _side(wide), gap=12) for name, wide in widths.items()]
    columns.append(Column(words("budget.source"), context.width - sum(widths.values()), ink=MUTED, gap=0))
    rows = [_component(context, line, varies=name in varying) for name, line in every.items()]
    note = words("budget.unit", unit=shown_unit(areas[0].unit))
    if len(areas) == 1:
        rows.append(_of_the_area(areas[0]))
    made = table(context, "budget.title", columns, rows, **_ROWS)
    own, own_rows = _by_area(context, areas, lines, varying)
    method = running_text(words("budget.combined"), "fine", before=2)
    if len(areas) == 1:
        return [*section(context, "budget.title", "budget", made, note, inner=True), method]
    keep = frozenset(range(max(0, len(own_rows) - 2), len(own_rows)))  # what is said below stays with the last rows
    parts = table(context, "budget.by-area", own, [*own_rows, (method,)], keep=keep, **_ROWS)
    return [*section(context, "budget.title", "budget", made, note, inner=True), parts]


def _of_the_area(area: AreaResult) -> Row:
    """What the uncertainty of the only area comes to: a line under its parts."""
    names = ("u", "ν", "k", "U")
    each = zip(*(one.split("\n") for one in _coverage(area)), strict=True)
    sums = "\n".join(" · ".join(f"{name} {one}" for name, one in zip(names, some, strict=True)) for some in each)
    return (Cell(area.id, BOLD), "", "", "", "", "", Cell(sums, BOLD, INK))


def _side(wide: float) -> Literal["LEFT", "RIGHT"]:
    """Words at the left of their wider columns, numbers at the right."""
    return "LEFT" if wide > 60 else "RIGHT"


def _differs(name: Word, lines: Iterable[dict[Word, BudgetLine]]) -> bool:
    return len({_numbers(own.get(name)) for own in lines}) > 1


def _component(context: Context, line: BudgetLine, *, varies: bool) -> Row:
    """The row of a component; one that varies has its numbers in the table below."""
    shown, below = context.said.shown, context.words("budget.below")
    origin = (
        typeset(context.words.source(citation(line.source.key).title))
        if line.source.group == "citation"
        else shown(line.source)
    )
    value, divisor, standard, freedom = (below, "", "", below) if varies else _numbers(line)
    return (shown(line.component), value, shown(line.distribution), divisor, standard, freedom, origin)


def _numbers(line: BudgetLine | None) -> tuple[str, ...]:
    if line is None:
        return ("–",) * 4
    numbers = [digits(one) for one in (line.value, line.divisor, line.standard_uncertainty)]
    return (*numbers, digits(line.degrees_of_freedom, "∞"))


def _by_area(
    context: Context, areas: list[AreaResult], lines: dict[str, dict[Word, BudgetLine]], varying: list[Word]
) -> tuple[list[Column], list[Row]]:
    """What differs by area: standard uncertainty and degrees of freedom of each such component, k and U."""
    words = context.words
    heads = [text for name in varying for text in (f"u {context.said.shown(name)}", words("budget.freedom"))]
    heads += [words("budget.combined-short"), words("budget.effective"), "k"]
    wide = [max(26.0, text_width(head, BOLD, LABEL) + 8) for head in heads]
    named = max([_LEAST_NAME, *(text_width(area.id, BOLD, DENSE) + 8 for area in areas)])
    fits = int(context.width // (sum(wide) + _EXPANDED + named))
    beside = max(1, min(3, -(-len(areas) // _BESIDE), fits))
    first = context.width / beside - sum(wide) - _EXPANDED
    columns = [Column(words("areas.area"), first, face=BOLD)]
    columns += [Column(head, own, "RIGHT") for head, own in zip(heads, wide, strict=True)]
    columns.append(Column("U", _EXPANDED, "RIGHT", face=BOLD, gap=14))
    rows: list[tuple[str, ...]] = []
    for area in areas:
        own = [text for name in varying for text in _numbers(lines[area.id].get(name))[2:]]
        rows.append((area.id, *own, *_coverage(area)))
    middle = -(-len(rows) // beside)
    rows += [("",) * len(columns)] * (middle * beside - len(rows))
    return columns * beside, [tuple(text for part in rows[row::middle] for text in part) for row in range(middle)]


def _coverage(area: AreaResult) -> tuple[str, ...]:
    """Combined standard uncertainty, its degrees of freedom, k and U of the locations, each set of them once."""
    known = dict.fromkeys(
        (
            digits(one.standard_uncertainty), digits(one.effective_degrees_of_freedom, "∞"),
            digits(one.coverage_factor), digits(one.expanded_uncertainty),
        )
        for one in area.locations
        if one.expanded_uncertainty is not None
    )  # fmt: skip
    return tuple(map("\n".join, zip(*known, strict=True))) if known else ("–",) * 4


def beyond_uncertainty(context: Context) -> list[str]:
    """What the uncertainty does not cover, with a figure where one is known; nothing where no result has one."""
    words, evaluation = context.words, context.evaluation
    topics = _beyond_profile(context) if any(one.location_budget or one.budget for one in evaluation.areas) else []
    half = (
        "13 µm" if context.unit == shown_unit("um") else printed("0.5 mil")
    )  # of the window as published in either unit
    told = [words(f"beyond.{one}", half=half) for one in topics]
    if any(line.source.key in _PUBLISHED for _, budget, _ in _budgets(context) for line in budget.lines):
        given = {"low": PRECISION_RANGE[0], "high": PRECISION_RANGE[1], "half": PRECISION}
        shown = {name: context.said.shown(Amount.of(one)) for name, one in given.items()}
        told.append(words("beyond.precision", **shown))
    told += [f"{context.said.left_out(one)}." for one in evaluation.not_evaluated if one.code in BEYOND_UNCERTAINTY]
    return [typeset(one) for one in told]


def _beyond_profile(context: Context) -> list[str]:
    """What the uncertainty of the profile does not cover."""
    profile = context.job.project.specification.profile
    rule = profile.overlap_rule
    topics = ["operator", *([] if rule is None else ["burnishing"]), "few"]
    topics += ["maximum", "choice"] if profile.value_rule == "maximum" else ["choice"]
    return [*topics, "window"] if rule == "average" else topics


def safety_section(context: Context) -> list[Flowable]:
    """The usual cautions for work around abrasive blasting, with the public texts they rest on."""
    words = context.words
    told = " ".join(words(f"safety.{number}") for number in range(1, CAUTIONS + 1))
    title = SectionTitle(words("safety.title"), "safety")
    text = paragraph(
        [
            Run(f"{words('safety.first')} ", BOLD, INK),
            Run(told, REGULAR, INK),
            Run(f" {words('safety.sources')}", REGULAR, MUTED),
        ],
        size=FINE,
    )
    tall = sum(float(each.wrapOn(None, context.width, 0)[1] + each.getSpaceBefore()) for each in (title, text))
    return [CondPageBreak(tall + title.getSpaceAfter()), title, text]


def _again(context: Context, title: str, _name: str) -> str:
    """What is said where a table under a title of its own goes on upon a later page."""
    return context.words("continued", what=title)


def derivation_section(context: Context) -> list[Flowable]:
    """A table of steps per area: what, from what, by which rule of which source, and what came of it."""
    words, said = context.words, context.said.text

    def named(one: str | Stated | Finding) -> str:
        if not isinstance(one, Finding):
            return said(one)
        return f"{lowered(context, context.finding_name(one.code))}: {context.said.observed(one)}"

    rest = (context.width - _WHAT) / 10
    columns = [
        Column(words("derivation.what"), _WHAT, face=BOLD),
        Column(words("derivation.inputs"), rest * 3.6, gap=10),
        Column(words("derivation.rule"), rest * 3.4, ink=MUTED, gap=10),
        Column(words("derivation.result"), rest * 3.0, gap=0),
    ]
    blocks: list[Flowable] = []
    sources: dict[str, int] = {}
    for area, steps in context.derivation.items():
        text = words("derivation.of", area=area)
        rows: list[list[Row]] = []
        for step in steps:
            number = sources.setdefault(said(step.source), len(sources) + 1)  # a new one gets the next number
            inputs = typeset("; ".join(map(named, step.inputs))) or "–"
            rule = typeset(f"{said(step.rule)} [{number}]")
            rows.append([(said(step.what), inputs, rule, typeset(said(step.result)))])
        table = GroupedTable(columns, rows, text, leading=9.5, size=SMALL, again=partial(_again, context, text))
        blocks += titled(table, text, f"derivation-{area}", groups=3)
    title = SectionTitle(words("section.derivation"), "derivation", note=words("derivation.note"))
    if not blocks:
        return [CondPageBreak(60), title, running_text(words("derivation.none"), "muted", before=4)]
    # the sources that the steps refer to by number
    below = SectionTitle(words("derivation.sources"), "derivation-sources", level=3, outline=False)
    listed = [
        running_text(f"[{number}] {typeset(words.source(source))}", "note", before=2)
        for source, number in sources.items()
    ]
    return [CondPageBreak(140), title, *blocks, CondPageBreak(90), below, *listed]
