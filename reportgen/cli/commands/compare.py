"""``compare``: in what two issued reports differ, and which of the differences changes a verdict."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_quick, add_trust, passed_over
from reportgen.cli.terminal import wrapped
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS
from reportgen.names import full_title

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from reportgen.compared import ComparedRow, ReportsCompared, VerdictChange
    from reportgen.pipeline.comparing import ComparedFiles

DOES = "say in what two reports differ: requirements, entries, results; and what of it changes a verdict"
EXAMPLE = "reportgen compare AB-12-IR-001.pdf AB-12-IR-001-r1.pdf --trust authority.pem"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("before", type=Path, metavar="A.pdf", help="the earlier report, as a rule")
    parser.add_argument("now", type=Path, metavar="B.pdf", help="the later one, such as its revision")
    add_trust(parser)
    add_quick(parser)


def run(options: argparse.Namespace) -> Answer:
    """Compare two reports; they are verified first, and compared whatever comes of that."""
    from reportgen.pipeline.comparing import compare_files, plain_comparison

    passed = passed_over(options.trust)
    found = compare_files(options.before, options.now, trust=options.trust, policy=options.policy, quick=options.quick)
    return Answer(
        code=EXIT_FINDINGS if found.compared.different else EXIT_DONE,
        data=plain_comparison(found),
        text="\n".join(line for told in _lines(found) for line in (wrapped(told) if told else [""])),
        notes=passed,
    )


_PARTS = ("requirements", "entries", "results")
_MOST_RESULTS = 30
_TOLD = frozenset({
    "verdict", "decision", "status", "mean", "standard deviation", "minimum", "maximum", "profile", "n locations",
    "expanded uncertainty",
})  # fmt: skip
"""Results that a person is told; a program is given all."""


def _lines(found: ComparedFiles) -> Iterator[str]:
    from reportgen.words.numbers import counted

    told = found.compared
    for label, file, which in zip(("before", "now"), found.files, (told.before, told.now), strict=True):
        yield f"{label}: {file.file}: {full_title(which)} of {which.date}; {file.standing}"
    if told.reason is not None:
        yield f"reason of the revision: {told.reason}"
    for part in _PARTS:
        rows: Sequence[ComparedRow] = getattr(told, part)
        yield ""
        yield f"{part}: {counted(len(rows), 'difference') if rows else 'nothing differs'}"
        shown = [one for one in rows if part != "results" or one.place[-1] in _TOLD or None in (one.before, one.now)]
        shown = shown[:_MOST_RESULTS] if part == "results" else shown
        yield from (f"  {_row(row, told)}" for row in shown)
        if len(rows) > len(shown):
            yield f"  and {len(rows) - len(shown)} more (--json gives all)"
    yield from map("the readings of area {0.before} now stand under area {0.now}".format, told.moved)
    yield ""
    if not told.different:
        yield "Nothing differs in what was required, entered and found."
    elif told.before.number != told.now.number:
        yield "These are two reports, so no difference was tried by itself."
    elif not told.tried:
        yield "They differ in so many places that none was tried by itself."
    elif told.together:
        yield "changed by several of these together: " + "; ".join(_changed(one, "before") for one in told.together)


def _row(row: ComparedRow, told: ReportsCompared) -> str:
    sentence = f"{', '.join(row.place)}: {row.before or 'not there'} -> {row.now or 'not there'}"
    if row.judged:
        return sentence
    effects = [_changed(one, "without it") for one in row.taken_back or ()]
    effects += [_changed(one, "with it alone") for one in row.alone or ()]
    if effects:
        sentence += f"; changes a verdict: {'; '.join(effects)}"
    elif row.changes_a_verdict is not None:
        sentence += "; changes no verdict by itself"
    elif told.tried:
        sentence += "; cannot stand by itself"
    if row.named is not None:
        sentence += f"; the reason names {', '.join(row.named)}" if row.named else "; the reason does not name it"
    return sentence


def _changed(one: VerdictChange, how: str) -> str:
    return f"{', '.join(one.place)} {one.stands}, {how} {one.would_be}"
