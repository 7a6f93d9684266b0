"""Options and sentences of the commands for the contract and the archive: ``submittal``, ``audit``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Mapping, Sequence

    from reportgen.audit import Problem
    from reportgen.pipeline.auditing import Answer, Audited
    from reportgen.seal import Identity

    Verbs = Any  # the standard library's class of it is private
    AddCommand = Callable[..., argparse.ArgumentParser]

_MOST_PROCESSES = 256


def add_submittal(verbs: Verbs, command: AddCommand) -> None:
    """``submittal``: what to enclose, who signs, and what the cover says."""
    parser = command(
        verbs,
        "submittal",
        submittal,
        "enclose a contract's reports, verified, with index, state, statistics and log, in one signed file",
        "reportgen submittal contract/reports --identity engineer.p12 --trust authority.pem -o submittal-1.pdf",
    )
    parser.add_argument("reports", nargs="+", type=Path, metavar="REPORT.pdf|FOLDER")
    parser.add_argument(
        "--identity",
        required=True,
        metavar="ID",
        help="a PKCS#12 file of whoever submits; or `demo`: made on the spot, labelled as not valid",
    )
    parser.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="file with the passphrase, readable by you alone"
    )
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    add_trust(parser)
    parser.add_argument("--reference", metavar="TEXT", help="number of the submittal; default: contract and date")
    parser.add_argument("--to", metavar="TEXT", help="recipient; default: the client")
    parser.add_argument("--remarks", default="", metavar="TEXT", help="what the recipient should know")
    parser.add_argument("--role", default="project engineer", metavar="TEXT", help="your role; default: %(default)s")
    parser.add_argument("--organisation", metavar="TEXT", help="your organisation")
    parser.add_argument(
        "--page-copies", action="store_true", help="append copies of the reports' pages, marked as copies, for printing"
    )
    _add_processes(parser)


def add_trust(parser: argparse.ArgumentParser) -> None:
    """The option for trusted authorities."""
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        type=Path,
        metavar="FILE",
        help="certificate (or folder of them) of an authority you trust; repeatable",
    )


def say_passed_over(given: Sequence[Path]) -> None:
    """Say on standard error which files of a trusted folder are passed over; ``UsageError`` for one that is named."""
    from reportgen.diagnostics import printable
    from reportgen.verification import read_trusted

    for sentence in read_trusted(given)[1]:
        print(f"note: {printable(sentence)}", file=sys.stderr)


def submittal(options: argparse.Namespace) -> int:
    """Write the submittal and say what is in it."""
    from reportgen.cli.output import finished
    from reportgen.cli.progress import Progress
    from reportgen.diagnostics import printable
    from reportgen.issued import shown_name
    from reportgen.pipeline import filing
    from reportgen.pipeline.workers import Spread
    from reportgen.rules.outcome import counted

    say_passed_over(options.trust)
    sent = filing.Sent(
        options.reference, options.to, options.remarks, options.role, options.organisation, options.page_copies
    )
    with Progress("verified") as progress:
        made = filing.submittal(
            options.reports,
            _identity(options),
            options.output,
            trust=options.trust,
            sent=sent,
            spread=Spread(options.processes),
            progress=progress,
        )
    finished(f"`{made.path}` is written")
    for notice in made.notices:
        print(f"note: {printable(notice)}", file=sys.stderr)
    name = shown_name(made.path)
    if options.json:
        facts = {"file": name, "pages": made.pages, "reports": made.reports, "sha256": made.sha256}
        print(_json({**facts, "open_nonconformances": made.open_nonconformances}))
        return EXIT_DONE
    print(printable(f"{name}: {counted(made.reports, 'report')} enclosed, {counted(made.pages, 'page')}, signed"))
    print(f"nonconformances open: {made.open_nonconformances}")
    return EXIT_DONE


def add_audit(verbs: Verbs, command: AddCommand) -> None:
    """``audit``: a folder, or a question to the index of an earlier audit."""
    parser = command(
        verbs,
        "audit",
        audit,
        "verify every report in a folder tree, then look across them: numbering, open items, copied readings",
        "reportgen audit archive/ --trust authority.pem -o audit.pdf\n"
        "  reportgen audit query contracts --index archive-audit.sqlite",
    )
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


def add_spread(parser: argparse.ArgumentParser) -> None:
    """The options that say over what the work is spread."""
    _add_processes(parser)
    parser.add_argument("--scheduler", metavar="ADDRESS", help="a Dask scheduler whose workers see the same files")


def _add_processes(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--processes", type=_count, default=0, metavar="N", help="local worker processes; default: one for each core"
    )


def _count(text: str) -> int:
    number = int(text)
    if not 1 <= number <= _MOST_PROCESSES:
        raise ValueError
    return number


def audit(options: argparse.Namespace) -> int:
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
    from reportgen.cli.terminal import wrapped

    say_passed_over(options.trust)
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
    if options.json:
        from reportgen.audit import plain_audit

        print(_json(plain_audit(done.audit)))
    else:
        _say_audit(done)
        pages = "nothing" if options.without_text else "text" if options.without_pages else "all"
        print("\n".join(wrapped(f"pages: {_PAGES[pages]}")))
    objections = done.audit.faults or set(done.audit.counts) - {"passed"}
    return EXIT_FINDINGS if objections else EXIT_DONE


_PAGES = {
    "all": "made again and compared, but for what photos show; not those of reports that another release made, "
    "or other libraries: `reportgen verify` on one says so",
    "text": "only their text was compared; what else is drawn on them may be anything",
    "nothing": "not compared; what is printed and drawn on them may be anything",
}
"""What an audit may say of the pages of the reports that passed."""


def _json(facts: Mapping[str, Any]) -> str:
    """Return JSON in ASCII: what strangers wrote can neither hide in it nor break it on any terminal."""
    from reportgen.cli.terminal import render_json

    return render_json(facts, in_ascii=True)


def _say_audit(done: Audited) -> None:
    from reportgen.audit import PROBLEMS
    from reportgen.diagnostics import printable
    from reportgen.issued import shown_name
    from reportgen.rules.outcome import counted

    answer = done.audit
    counts = ", ".join(f"{count} {verdict}" for verdict, count in answer.counts.items()) or "no PDF"
    files = sum(answer.counts.values())
    reports, contracts = counted(answer.reports, "report"), counted(answer.contracts, "contract")
    print(printable(f"{answer.folder}: {counted(files, 'file')}, {counts}; {reports} of {contracts}"))
    if done.taken_over:
        print(f"{done.taken_over} verdicts taken over from an earlier run; --fresh reaches all anew")
    for code, count in answer.by_code().items():
        kind = PROBLEMS[code]
        print(f"\n{code} ({kind.weight}, {count}): {kind.meaning}")
        for problem in [one for one in answer.problems if one.code == code]:
            print(printable(f"  {problem.sentence}{_rests_on(problem)}"))
    print(printable(f"index: {shown_name(done.index)}"))


def _rests_on(problem: Problem) -> str:
    """Say why a fault is none here: it rests on a file that did not pass, in a contract of which others did."""
    return f" [a doubt: it rests on a file that is {problem.verdict}]" if problem.unproven else ""


def _query(options: argparse.Namespace, ask: Callable[..., Answer]) -> int:
    from reportgen.audit import QUESTIONS
    from reportgen.diagnostics import printable

    if len(options.what) == 1:
        for name, question in QUESTIONS.items():
            print(f"{name:<10} {question.asks}")
        return EXIT_DONE
    if len(options.what) > 2 or options.index is None:
        raise UsageError(
            "a query needs the name of one question, and an index",
            help_text="such as `audit query contracts --index archive-audit.sqlite`; `audit query` lists the questions",
        )
    answer = ask(options.index, options.what[1], options.value)
    if not answer.finished:
        print("note: this audit has not come to its end; the answer may be incomplete", file=sys.stderr)
    if options.json:
        print(_json({"rows": [dict(zip(answer.heads, row, strict=True)) for row in answer.rows]}))
    else:
        for row in (answer.heads, *answer.rows):
            print("\t".join("" if cell is None else printable(str(cell)) for cell in row))
    return EXIT_DONE


def _identity(options: argparse.Namespace) -> Identity | None:
    """Return the identity named; None stands for one made on the spot."""
    if options.identity == "demo":
        return None
    from reportgen.cli.passphrase import ask_passphrase
    from reportgen.seal import load_identity

    file = Path(options.identity)
    return load_identity(file, ask_passphrase(str(file), options.passphrase_file))
