"""``audit``: every report of a folder tree; or a question to the index of an earlier audit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_spread, add_trust, passed_over
from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterator

    from reportgen.audit import Problem
    from reportgen.pipeline.auditing import Answer as Found
    from reportgen.pipeline.auditing import Audited

DOES = "verify every report in a folder tree, then look across them: numbering, open items, copied readings"
EXAMPLE = (
    "reportgen audit archive/ --trust authority.pem -o audit.pdf\n"
    "  reportgen audit query contracts --index archive-audit.sqlite"
)


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("what", nargs="+", metavar="FOLDER|query", help="a folder; or `query` and a question's name")
    add_trust(parser)
    parser.add_argument("--index", type=Path, metavar="FILE", help="the index; default: the folder's -audit.sqlite")
    parser.add_argument("--fresh", action="store_true", help="take no verdict over from an earlier run")
    parser.add_argument(
        "--without-text", action="store_true", help="do not compare the pages, not even their text (fastest)"
    )
    parser.add_argument(
        "--without-pages",
        action="store_true",
        help="compare the text of the pages alone, do not make them again (faster)",
    )
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.pdf", help="write the audit as a PDF, a new file")
    parser.add_argument("--csv", type=Path, metavar="FOLDER", help="write files.csv and problems.csv there")
    parser.add_argument("--value", metavar="TEXT", help="what a question is about, such as a contract or a number")
    add_spread(parser)


def run(options: argparse.Namespace) -> Answer:
    """Audit a folder, or answer a question from an index."""
    from reportgen.pipeline.auditing import audit as audit_folder
    from reportgen.pipeline.auditing import audit_query
    from reportgen.pipeline.workers import Spread

    if options.what[0] == "query":
        return _query(options, audit_query)
    if len(options.what) != 1:
        raise UsageError("an audit is of one folder", help_text="name the folder that holds them all")
    from reportgen.cli.output import finished
    from reportgen.cli.progress import Progress

    passed = passed_over(options.trust)
    with Progress("examined") as progress:
        done = audit_folder(
            Path(options.what[0]),
            trust=options.trust,
            index=options.index,
            spread=Spread(options.processes, options.scheduler),
            page_text=not options.without_text,
            rebuild=not options.without_pages,
            fresh=options.fresh,
            tables=options.csv,
            report=options.output,
            progress=progress,
        )
    for path in (done.index, options.output, options.csv):
        if path is not None:
            finished(f"`{path}` is written")
    from reportgen.audit import plain_audit
    from reportgen.cli.terminal import wrapped

    objections = done.audit.faults or set(done.audit.counts) - {"passed"}
    pages = "nothing" if options.without_text else "text" if options.without_pages else "all"
    return Answer(
        code=EXIT_FINDINGS if objections else EXIT_DONE,
        data=plain_audit(done.audit),
        text="\n".join((*_said(done), *wrapped(f"pages: {_PAGES[pages]}"))),
        notes=passed,
    )


_PAGES = {
    "all": "made again and compared, but for what photos show; not those of reports that another release made, "
    "or other libraries: `reportgen verify` on one says so",
    "text": "only their text was compared; what else is drawn on them may be anything",
    "nothing": "not compared; what is printed and drawn on them may be anything",
}
"""What an audit may say of the pages of the reports that passed."""


def _said(done: Audited) -> Iterator[str]:
    from reportgen.audit import PROBLEMS
    from reportgen.diagnostics import printable
    from reportgen.issued import shown_name
    from reportgen.words.numbers import counted

    answer = done.audit
    counts = ", ".join(f"{count} {verdict}" for verdict, count in answer.counts.items()) or "no PDF"
    files = sum(answer.counts.values())
    reports, contracts = counted(answer.reports, "report"), counted(answer.contracts, "contract")
    yield printable(f"{answer.folder}: {counted(files, 'file')}, {counts}; {reports} of {contracts}")
    if done.taken_over:
        yield f"{done.taken_over} verdicts taken over from an earlier run; --fresh reaches all anew"
    for code, count in answer.by_code().items():
        kind = PROBLEMS[code]
        yield f"\n{code} ({kind.weight}, {count}): {kind.meaning}"
        for problem in [one for one in answer.problems if one.code == code]:
            yield printable(f"  {problem.sentence}{_rests_on(problem)}")
    yield printable(f"index: {shown_name(done.index)}")


def _rests_on(problem: Problem) -> str:
    """Say why a fault is none here: it rests on a file that did not pass, in a contract of which others did."""
    return f" [a doubt: it rests on a file that is {problem.verdict}]" if problem.unproven else ""


def _query(options: argparse.Namespace, ask: Callable[..., Found]) -> Answer:
    from reportgen.audit import QUESTIONS
    from reportgen.diagnostics import printable

    if len(options.what) == 1:
        return Answer(text="\n".join(f"{name:<10} {question.asks}" for name, question in QUESTIONS.items()))
    if len(options.what) > 2 or options.index is None:
        raise UsageError(
            "a query needs the name of one question, and an index",
            help_text="such as `audit query contracts --index archive-audit.sqlite`; `audit query` lists the questions",
        )
    found = ask(options.index, options.what[1], options.value)
    rows = ("\t".join("" if cell is None else printable(str(cell)) for cell in row) for row in found.rows)
    return Answer(
        data={"rows": [dict(zip(found.heads, row, strict=True)) for row in found.rows]},
        text="\n".join(("\t".join(found.heads), *rows)),
        notes=() if found.finished else ("note: this audit has not come to its end; the answer may be incomplete",),
    )
