"""How the results came about: rules and their sources, budgets, every step where asked for; cautions for this work."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import MEASUREMENTS, TESTS
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, running_text, titled
from reportgen.pdf.flow import CondPageBreak, Flowable, Paragraph
from reportgen.pdf.styles import BOLD, MUTED, SMALL, paragraph_style
from reportgen.pdf.tables import Cell, Column, GroupedTable, Row
from reportgen.pdf.tagging import tagged_list
from reportgen.pdf.textlines import markup
from reportgen.references import citation
from reportgen.report.verdicts import lowered
from reportgen.results import Amount, Finding, Place
from reportgen.results.statements import GapCode
from reportgen.words.numbers import digits, shown_unit, typeset

if TYPE_CHECKING:
    from collections.abc import Callable

    from reportgen.measurements import Measurement
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, BudgetLine, ResultBudget, RuleApplied, Stated

CAUTIONS = 9
_LAST = 3  # the last two and the end of the list
_WHAT = 92.0
_WITHOUT_ERRORS = {
    one.name for kind in MEASUREMENTS for one in kind.statements if isinstance(one, GapCode) and one.beyond_uncertainty
}


def method_section(context: Context) -> list[Flowable]:
    """Rules applied, decision rule, uncertainty budgets, what the report does not cover."""
    words = context.words
    title = SectionTitle(words("method.title"), "method")
    columns = [
        Column(words("method.topic"), 96, face=BOLD),
        Column(words("method.rule"), context.width - 96 - 170, gap=12),
        Column(words("method.source"), 170, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for rule in context.evaluation.rules:
        topic = context.said.topic(rule.topic) or words.named("topic", rule.topic)
        rows.append([(topic, typeset(context.said.text(rule.rule)), _source(context, rule))])
    blocks: list[Flowable] = [CondPageBreak(80), title, running_text(words("method.no-rules"), "muted", before=4)]
    if rows:
        table = GroupedTable(columns, rows, words("method.title"))
        blocks = [CondPageBreak(table.need(3)), title, table]
    limits = [words("method.limits.scope"), words("method.limits.advice")]
    limits += [
        words("method.limits.unseen", area=missed.area, reason=missed.reason)
        for missed in context.job.day.not_inspected
    ]
    return [
        *blocks,
        running_text(words("method.decision"), before=8),
        running_text(words("method.digits"), before=4),
        *_budgets(context),
        *_result_budgets(context),
        *_beyond(context),
        CondPageBreak(SECTION_HEIGHT + 50),
        SectionTitle(words("method.limits"), "limits", level=3, outline=False),
        *bullets(limits),
    ]


def _source(context: Context, rule: RuleApplied) -> str:
    """The contract with its clause; or a published text, how far it was read, and the clause that calls for it."""
    source = typeset(rule.source) + (f" ({rule.confidence})" if rule.confidence else "")
    if rule.clause is None:
        return source
    is_contract = rule.source == context.job.project.specification.document
    return context.words("method.clause" if is_contract else "method.called-for", source=source, clause=rule.clause)


def _budgets(context: Context) -> list[Flowable]:
    """The budget of one location and of an area mean, of the first area that has them: the others differ in s and n."""
    having = [each for each in context.evaluation.areas if each.location_budget or each.budget]
    blocks: list[Flowable] = []
    for area in having[:1]:
        for name, lines in (("location", area.location_budget), ("mean", area.budget)):
            blocks += _budget(context, area, name, lines) if lines else []
    if len(having) > 1:
        blocks.append(running_text(context.words("budget.others"), "muted", before=4))
    return blocks


def _beyond(context: Context) -> list[Flowable]:
    """What the uncertainty does not cover, with a figure where one is known; none where no result has one."""
    words, evaluation = context.words, context.evaluation
    topics = _beyond_profile(context) if any(one.location_budget or one.budget for one in evaluation.areas) else []
    half = "13 µm" if context.unit == shown_unit("um") else "0.5 mil"  # of the window as published in either unit
    told = [words(f"beyond.{one}", half=half) for one in topics]
    told += [f"{context.said.left_out(one)}." for one in evaluation.not_evaluated if one.code in _WITHOUT_ERRORS]
    if not told:
        return []
    title = SectionTitle(words("beyond.title"), "beyond-uncertainty", level=3, outline=False)
    return [CondPageBreak(SECTION_HEIGHT + 60), title, *bullets([typeset(one) for one in told])]


def _beyond_profile(context: Context) -> list[str]:
    """What the uncertainty of the profile does not cover."""
    profile = context.job.project.specification.profile
    rule = profile.overlap_rule
    topics = ["operator", *([] if rule is None else ["burnishing"]), "few"]
    topics += ["maximum", "choice"] if profile.value_rule == "maximum" else ["choice"]
    return [*topics, "window"] if rule == "average" else topics


def _budget(context: Context, area: AreaResult, name: str, lines: tuple[BudgetLine, ...]) -> list[Flowable]:
    words, shown = context.words, context.said.shown
    columns = [
        Column(words("budget.component"), 108, face=BOLD),
        Column(words("budget.value"), 46, "RIGHT", gap=12),
        Column(words("budget.distribution"), 84),
        Column(words("budget.divisor"), 46, "RIGHT"),
        Column(words("budget.standard"), 50, "RIGHT"),
        Column(words("budget.freedom"), 36, "RIGHT", gap=12),
        Column(words("budget.source"), context.width - 108 - 46 - 84 - 46 - 50 - 36, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for line in lines:
        numbers = (digits(line.divisor), digits(line.standard_uncertainty), digits(line.degrees_of_freedom, "∞"))
        # where it comes from, a published text by its title
        published = line.source.group == "citation"
        origin = typeset(citation(line.source.key).title) if published else shown(line.source)
        origin += f", {words('budget.common')}" if line.common else ""
        rows.append([(_capital(shown(line.component)), digits(line.value), shown(line.distribution), *numbers, origin)])
    text = words(f"budget.{name}", area=area.id)
    table = GroupedTable(columns, rows, text)
    note = words("budget.unit", unit=shown_unit(area.unit))
    title = SectionTitle(text, f"budget-{name}", level=3, outline=False, note=note)
    return [CondPageBreak(SECTION_HEIGHT + table.total() + 20), title, table]


def _of_quantity(budget: ResultBudget, shown: Callable[[object], str]) -> list[Row]:
    """The inputs of one quantity, and what they make."""
    rows: list[Row] = []
    for line in budget.lines:
        named = (_capital(shown(line.component)), shown(line.value), shown(line.distribution))
        numbers = (digits(line.divisor), typeset(digits(line.sensitivity)), digits(line.contribution))
        rows.append((*named, *numbers, digits(line.degrees_of_freedom, "∞"), shown(line.source)))
    expanded = shown(Amount(budget.expanded_uncertainty, budget.unit))
    texts = (
        _capital(shown(budget.quantity)), "", "", f"k = {digits(budget.coverage_factor)}", "",
        digits(budget.standard_uncertainty), digits(budget.effective_degrees_of_freedom, "∞"), f"U = {expanded}",
    )  # fmt: skip
    return [*rows, tuple(Cell(text, BOLD) if text else "" for text in texts)]


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _having_budgets(context: Context) -> list[tuple[Measurement[Any, Any, Any], Any]]:
    """Results with their budgets; of tests one of each make-up, as those of the other areas differ in values alone."""
    having: dict[tuple[object, ...], tuple[Measurement[Any, Any, Any], Any]] = {}
    found = ((kind, *one) for kind in MEASUREMENTS for one in enumerate(getattr(context.evaluation, kind.key)))
    for kind, index, result in found:
        budgets = getattr(result, "budgets", ())
        made_of = tuple((line.component.key, line.source.key) for budget in budgets for line in budget.lines)
        if made_of:
            having.setdefault((kind.key, made_of if kind in TESTS else index), (kind, result))
    return list(having.values())


def _result_budgets(context: Context) -> list[Flowable]:
    """The budgets that stand with results of the kinds of measurement: for each quantity its inputs, then their sum."""
    words, shown = context.words, context.said.shown
    columns = [
        Column(words("budget.component"), 110),
        Column(words("budget.value"), 62, "RIGHT", gap=12),
        Column(words("budget.distribution"), 66),
        Column(words("budget.divisor"), 48, "RIGHT"),
        Column(words("budget.sensitivity"), 54, "RIGHT"),
        Column(words("budget.standard"), 50, "RIGHT"),
        Column(words("budget.freedom"), 34, "RIGHT", gap=12),
        Column(words("budget.source"), context.width - 110 - 62 - 66 - 48 - 54 - 50 - 34, ink=MUTED, gap=0),
    ]
    blocks: list[Flowable] = []
    for number, (kind, result) in enumerate(_having_budgets(context), 1):
        place = Place(*(getattr(result, name, None) for name in ("area", "location", "spot", "time")))
        what = context.said.say("measured", kind.key, kind.result_facts(result), place)
        groups = [_of_quantity(budget, shown) for budget in result.budgets]
        text = words("budget.of-result", what=what)
        table = GroupedTable(columns, groups, text)
        title = SectionTitle(text, f"budget-result-{number}", level=3, outline=False, note=place.area or "")
        blocks += [CondPageBreak(table.need(2)), title, table]
    return [*blocks, running_text(words("budget.of-others"), "muted", before=4)] if blocks else []


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
        table = GroupedTable(columns, rows, text, leading=9.5, size=SMALL)
        blocks += titled(table, text, f"derivation-{area}", groups=3)
    title = SectionTitle(words("section.derivation"), "derivation", note=words("derivation.note"))
    if not blocks:
        return [CondPageBreak(60), title, running_text(words("derivation.none"), "muted", before=4)]
    # the sources that the steps refer to by number
    below = SectionTitle(words("derivation.sources"), "derivation-sources", level=3, outline=False)
    listed = [running_text(f"[{number}] {typeset(source)}", "note", before=2) for source, number in sources.items()]
    return [CondPageBreak(140), title, *blocks, CondPageBreak(90), below, *listed]


def safety_section(context: Context) -> list[Flowable]:
    """The usual cautions for work around abrasive blasting, with the public texts they rest on."""
    words = context.words
    title = SectionTitle(words("safety.title"), "safety")
    items = bullets([words(f"safety.{number}") for number in range(1, CAUTIONS + 1)])
    # a page break may fall in the list, but the last two cautions and the sources stay together
    items.insert(-_LAST, CondPageBreak(100))
    return [
        CondPageBreak(SECTION_HEIGHT + 130),
        title,
        running_text(words("safety.first"), "bold", before=4),
        *items,
        running_text(words("safety.sources"), "note", before=6),
    ]


def bullets(texts: list[str]) -> list[Flowable]:
    """A bulleted list of plain texts."""
    style = paragraph_style("body").clone("bullets", leftIndent=10, bulletIndent=0, spaceBefore=2.5)
    return tagged_list([Paragraph(markup(text), style, bulletText="•") for text in texts])
