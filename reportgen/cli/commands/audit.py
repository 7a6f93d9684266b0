"""``audit``: every report of a folder tree; or a question to the index of an earlier audit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.asking import add_filters, question_answered
from reportgen.cli.options import add_language, add_quick, add_registers, add_spread, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.diagnostics import printable
from reportgen.errors import EXIT_DONE, EXIT_ENVIRONMENT, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse

    from reportgen.pipeline.auditing import Audited

DOES = "verify every report in a folder tree, then look across them: numbering, open items, readings alike"
EXAMPLE = (
    "reportgen audit archive/ --trust authority.pem -o audit.pdf\n"
    "  reportgen audit query recall archive/ --gauge T-1 --from 2026-05-04"
)


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "what", nargs="+", metavar="FOLDER|query", help="a folder; or `query`, a question's name, and a folder audited"
    )
    add_trust(parser)
    add_registers(parser)
    parser.add_argument(
        "--index", type=Path, metavar="FILE", help="the index; default: one for each folder, of this user"
    )
    parser.add_argument("--fresh", action="store_true", help="take no verdict over from an earlier run")
    add_quick(parser)
    parser.add_argument(
        "-o", "--output", type=Path, metavar="OUT",
        help="write the audit as a PDF, a new file; of a question, the answer as .csv, .xlsx or .html",
    )  # fmt: skip
    add_language(parser, "of the pages, and of what is said of each file")
    parser.add_argument("--csv", type=Path, metavar="FOLDER", help="write files.csv and problems.csv there")
    parser.add_argument("--xlsx", type=Path, metavar="OUT.xlsx", help="write every answer of the index as a workbook")
    parser.add_argument("--html", type=Path, metavar="OUT.html", help="write them as one page that stands alone")
    parser.add_argument(
        "--pace", type=float, default=60, metavar="SECONDS", help="ask about spots read faster; default: %(default)s"
    )
    parser.add_argument(
        "--late", type=float, default=7, metavar="DAYS", help="note what was issued later; default: %(default)s"
    )
    add_spread(parser)
    add_filters(parser)


def run(options: argparse.Namespace) -> Answer:
    """Audit a folder, or answer a question from an index."""
    if options.what[0] == "query":
        return question_answered(options)
    if len(options.what) != 1:
        raise UsageError("an audit is of one folder", help_text="name the folder that holds them all")
    from reportgen.audit import plain_audit
    from reportgen.cli.progress import Progress
    from reportgen.pipeline.auditing import audit as audit_folder
    from reportgen.pipeline.workers import Spread

    passed = passed_over(options.trust)
    with Progress("examined") as progress:
        done = audit_folder(
            Path(options.what[0]),
            trust=options.trust,
            policy=options.policy,
            registers=options.register,
            index=options.index,
            spread=Spread(options.processes, options.scheduler),
            quick=options.quick,
            fresh=options.fresh,
            tables=options.csv,
            report=options.output,
            answers=[path for path in (options.xlsx, options.html) if path is not None],
            language=options.language,
            usual=(options.pace, options.late),
            progress=progress,
        )
    for path in (done.index, options.output, options.csv, *done.written):
        if path is not None:
            finished(f"`{path}` is written")
    answer = done.audit
    beside = {"policy_sha256": done.policy_sha256, "not_believed": list(done.not_believed)}
    objections = answer.faults or answer.doubts or set(answer.counts) - {"passed"}
    return Answer(
        code=EXIT_ENVIRONMENT if answer.broke_off else EXIT_FINDINGS if objections else EXIT_DONE,
        data={**plain_audit(answer), **{name: value for name, value in beside.items() if value}},
        text="\n".join(
            (*map(printable, _lines(done, options.language)), *wrapped(_QUICK if options.quick else _WHOLE))
        ),
        notes=passed,
    )


_WHOLE = "pages: of what passed, made again and compared, but for what photos show"
_QUICK = "pages: only their text was compared (--quick), so nothing passed; what else is drawn on them may be anything"
"""What an audit may say of the pages."""
_MOST_NAMED = 5


def _lines(done: Audited, language: str) -> list[str]:
    """Return the counts, then each kind of problem with what it was found in."""
    from reportgen.audit import PROBLEMS, unseen_told
    from reportgen.audit.problems import grouped
    from reportgen.issued import shown_name
    from reportgen.words.numbers import counted
    from reportgen.words.told import said_as_printed

    answer, files = done.audit, sum(done.audit.counts.values())
    verdicts = ", ".join(f"{count} {verdict}" for verdict, count in answer.counts.items()) or "no PDF"
    reports, contracts = counted(answer.reports, "report"), counted(answer.contracts, "contract")
    papers = f"; {counted(answer.papers, 'paper')}" if answer.papers else ""
    lines = [f"{answer.folder}: {counted(files, 'file')}, {verdicts}; {reports} of {contracts}{papers}"]
    if done.taken_over:
        lines.append(f"{done.taken_over} verdicts taken over from an earlier run; --fresh reaches all anew")
    if done.not_believed:
        named = ", ".join(done.not_believed[:_MOST_NAMED]) + (", …" if len(done.not_believed) > _MOST_NAMED else "")
        lines.append(
            f"{counted(len(done.not_believed), 'file')} examined again: the index holds verdicts that no audit of this"
            f" user left there, changed since or another's, and they are not believed: {named}"
        )
    lines += [said_as_printed(one, language) for one in answer.said]
    for code, weight, problems in grouped(answer.problems):
        lines += ["", f"{code} ({weight}, {len(problems)}): {PROBLEMS[code].meaning}"]
        for problem in problems:
            # no fault where it rests on a file that did not pass, in a contract of which others did
            doubt = f" [a doubt: it rests on a file that is {problem.verdict}]" if problem.unproven else ""
            lines.append(f"  {said_as_printed(problem.sentence, language)}{doubt}")
    if answer.screens:
        lines += ["", said_as_printed(unseen_told(answer.screens), language)]
    policy = [f"policy SHA-256 {done.policy_sha256}"] if done.policy_sha256 else []
    return [*lines, f"index: {shown_name(done.index)}", *policy]
