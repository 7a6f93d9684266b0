"""``compare``: in what two issued reports differ, and which of the differences changes a verdict."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_quick, add_trust, passed_over
from reportgen.cli.terminal import wrapped
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator, Sequence

    from reportgen.compared import Changed, Compared, Row
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
    from reportgen.pipeline.comparing import compare_files

    passed = passed_over(options.trust)
    found = compare_files(options.before, options.now, trust=options.trust, policy=options.policy, quick=options.quick)
    return Answer(
        code=EXIT_FINDINGS if found.compared.different else EXIT_DONE,
        data=_data(found),
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
    told = found.compared
    for label, file, which in zip(("before", "now"), found.files, (told.before, told.now), strict=True):
        yield f"{label}: {file.file}: {which.number} revision {which.revision} of {which.date}; {file.standing}"
    if told.reason is not None:
        yield f"reason of the revision: {told.reason}"
    for part in _PARTS:
        rows: Sequence[Row] = getattr(told, part)
        yield ""
        yield f"{part}: {_count(len(rows))}"
        shown = [one for one in rows if part != "results" or one.place[-1] in _TOLD or None in (one.before, one.now)]
        shown = shown[:_MOST_RESULTS] if part == "results" else shown
        yield from (f"  {_row(row, told)}" for row in shown)
        if len(rows) > len(shown):
            yield f"  and {len(rows) - len(shown)} more (--json gives all)"
    yield ""
    if not told.different:
        yield "Nothing differs in what was required, entered and found."
    elif told.before.number != told.now.number:
        yield "These are two reports, so no difference was tried by itself."
    elif not told.tried:
        yield "They differ in so many places that none was tried by itself."
    elif told.together:
        yield "changed by several of these together: " + "; ".join(_changed(one, "before") for one in told.together)


def _count(count: int) -> str:
    return "nothing differs" if not count else f"{count} {'difference' if count == 1 else 'differences'}"


def _row(row: Row, told: Compared) -> str:
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


def _changed(one: Changed, how: str) -> str:
    return f"{', '.join(one.place)} {one.stands}, {how} {one.would_be}"


def _data(found: ComparedFiles) -> dict[str, object]:
    """Return the answer as data: identities with how each file stands, and the rows of each part."""
    told = found.compared
    files = {
        label: {
            "contract": which.contract,
            "number": which.number,
            "revision": which.revision,
            "date": which.date,
            "file": file.file,
            "sha256": file.sha256,
            "standing": file.standing,
            "verification": file.verification,
            "why": list(file.why),
        }
        for label, file, which in zip(("before", "now"), found.files, (told.before, told.now), strict=True)
    }
    rows = {part: [_plain_row(one) for one in getattr(told, part)] for part in _PARTS}
    return {
        **files,
        "reason": told.reason,
        "different": told.different,
        "tried": told.tried,
        **rows,
        "together": [_plain_change(one) for one in told.together],
    }


def _plain_row(row: Row) -> dict[str, object]:
    told = {"taken_back": row.taken_back, "alone": row.alone}
    return {
        "place": list(row.place),
        "before": row.before,
        "now": row.now,
        "changes_a_verdict": row.changes_a_verdict,
        **{name: [_plain_change(one) for one in changes] for name, changes in told.items() if changes is not None},
        **({} if row.named is None else {"named_in_the_reason": list(row.named)}),
    }


def _plain_change(one: Changed) -> dict[str, object]:
    return {"place": list(one.place), "stands": one.stands, "would_be": one.would_be}
