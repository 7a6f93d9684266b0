"""The pages of an audit report: the answer first, then each kind of problem, then each file that did not pass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.audit.measuredpages import heaped_section, repeated_section, screens_section, shifts_section
from reportgen.audit.unsigned import Edges, unsigned_pages
from reportgen.gc_pause import collector_off
from reportgen.pdf.blocks import Facts, SectionTitle, Verdict, VerdictBanner, running_text, title_text
from reportgen.pdf.drawn import drawn
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.page import geometry
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tagging import group
from reportgen.units import decimal_mark
from reportgen.words.filing import filing_words

if TYPE_CHECKING:
    from reportgen.audit.reportmodel import AuditPages, ProblemGroup, ProblemRow
    from reportgen.words.catalogue import Words

_SIZE = 7.5
_LEADING = 9.8
_SECOND_LINE = 17.0  # of a title that is longer than a line
_MARK = {"passed": "conforms", "failed": "does not conform", "indeterminate": "inconclusive"}


def render_audit(content: AuditPages, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the pages; the same content gives the same bytes."""
    words, place = filing_words(language), geometry(page)
    with collector_off(), decimal_mark(words.decimal):
        content = drawn(content)
        story = _front(content, words)
        for one in content.groups:
            story += group("Sect", _problems(one, words, place.width))
        sections = (_files, screens_section, repeated_section, shifts_section, heaped_section)
        for blocks in (section(content, words, place.width) for section in sections):
            story += group("Sect", blocks) if blocks else []
        story.append(EndLine(words("audit.end", folder=content.folder)))
        edges = Edges(
            f"{words('audit.title')}, {content.folder}",
            content.version,
            words("audit.header", folder=content.folder, at=content.verified_at[:10]),
            words("audit.footer"),
        )
        return unsigned_pages(story, edges, words, place)


def _front(content: AuditPages, words: Words) -> list[Flowable]:
    counts = {"faults": content.faults, "doubts": content.doubts, "files": content.files}
    key, mark = ("audit.faults", "failed") if content.faults else ("audit.doubts", "indeterminate")
    if not content.faults and not content.doubts:
        key, mark = "audit.clean", "passed"
    elif content.faults and content.doubts:
        key = "audit.both"
    facts = [
        (words("audit.files"), str(content.files)),
        (words("signature.passed").capitalize(), str(content.passed)),
        (words("signature.failed").capitalize(), str(content.failed)),
        (words("signature.indeterminate").capitalize(), str(content.indeterminate)),
        (words("audit.contracts"), str(content.contracts)),
        (words("audit.reports"), str(content.reports)),
        (words("audit.at"), content.verified_at.replace("T", " ").replace("+00:00", " UTC")),
        (words("audit.by"), f"reportgen {content.version}"),
    ]
    if content.papers:
        facts.insert(4, (words("audit.papers"), str(content.papers)))
    states = [running_text(f"{one}.", before=4) for one in content.states]
    if states and content.passed < content.files:
        unproven = words("audit.states.unproven", passed=content.passed, files=content.files)
        states.append(running_text(unproven, before=4))
    return [
        title_text(words("audit.title"), "title", 1, bookmark="audit"),
        running_text(words("audit.subtitle", folder=content.folder), "subtitle"),
        VerdictBanner(_MARK[mark], words(key, **counts), ()),
        Facts(facts, 4, before=12),
        running_text(words("audit.meaning"), "muted", before=4),
        *([SectionTitle(words("audit.states"), "states"), *states] if states else []),
    ]


def _problems(one: ProblemGroup, words: Words, width: float) -> list[Flowable]:
    columns = [
        Column(words("audit.where"), 96, face=BOLD),
        Column(words("audit.problem"), width - 96 - 150),
        Column(words("audit.in"), 150, ink=MUTED, gap=0),
    ]
    meaning = words(f"problem.{one.code}") if words.knows(f"problem.{one.code}") else one.meaning
    groups: list[list[Row]] = [[(row.where, row.sentence, _told_files(row, words))] for row in one.rows]
    table = GroupedTable(columns, groups, meaning, row_head=True, size=_SIZE, leading=_LEADING)
    note = f"{words(f'audit.weight.{one.weight}')}, {len(one.rows)}"
    title = SectionTitle(meaning[0].upper() + meaning[1:], f"problem-{one.code}-{one.weight}", note=note)
    return [CondPageBreak(table.need(2) + _SECOND_LINE), title, table]


def _told_files(row: ProblemRow, words: Words) -> str:
    if not row.verdict:
        return row.files
    told = [words(f"signature.{row.verdict}"), *([words("audit.doubted")] if row.doubted else [])]
    return f"{row.files} ({'; '.join(told)})"


def _files(content: AuditPages, words: Words, width: float) -> list[Flowable]:
    if not content.rows:
        return []
    columns = [
        Column(words("integrity.file"), 170, face=BOLD),
        Column(words("audit.verdict"), 82),
        Column(words("audit.why"), width - 170 - 82, gap=0),
    ]
    verdicts = {word: words(f"signature.{word}") for word in _MARK}
    groups: list[list[Row]] = [
        [(row.path, Verdict(_MARK[row.verdict], verdicts[row.verdict], 82, size=_SIZE), row.why)]
        for row in content.rows
    ]
    table = GroupedTable(
        columns,
        groups,
        words("audit.files.title"),
        size=_SIZE,
        leading=_LEADING,
        again=words.continued("audit.files.title"),
    )
    return [CondPageBreak(table.need(2)), SectionTitle(words("audit.files.title"), "files"), table]
