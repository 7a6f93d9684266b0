"""One short function per command: call the verb, say what happened, answer with an exit code."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, EXIT_INPUT, InputError, UsageError

if TYPE_CHECKING:
    import argparse
    import datetime as dt
    from pathlib import Path

    from reportgen.pipeline import Written
    from reportgen.seal import Identity


def check(options: argparse.Namespace) -> int:
    """Validate and evaluate each day file; 0 nothing to object, 1 findings, 2 when any cannot be used."""
    codes = [_check_one(day, as_json=options.json) for day in options.days]
    return max(codes)


def _check_one(day: Path, *, as_json: bool) -> int:
    from reportgen.cli import say
    from reportgen.diagnostics import with_caret
    from reportgen.pipeline import check as check_day

    try:
        checked = check_day(day)
    except InputError as error:
        if as_json:
            print(say.render_failure_json(error))
        else:
            print(say.render_failure(error), file=sys.stderr)
        return EXIT_INPUT
    for warning in checked.job.warnings:
        print(with_caret(warning), file=sys.stderr)
    if as_json:
        print(checked.canonical.decode("utf-8"))
    else:
        print(say.render_check(checked.evaluation, colour=say.colours_wanted()))
    objections = [finding for finding in checked.evaluation.findings if finding.severity == "nonconformance"]
    return EXIT_FINDINGS if objections or checked.evaluation.verdict != "conforms" else EXIT_DONE


def draft(options: argparse.Namespace) -> int:
    """Write the report unsigned."""
    from reportgen import pipeline

    written = pipeline.draft(options.day, options.output, at=_instant(options), template=options.template)
    return _say_written(written, "draft", as_json=options.json)


def issue(options: argparse.Namespace) -> int:
    """Write the report signed; registered unless the identity is the demonstration."""
    from reportgen import pipeline

    if options.identity == "demo":
        written = pipeline.issue_demonstration(
            options.day, options.output, at=_instant(options), template=options.template
        )
        return _say_written(written, "demonstration, not valid for issue and not registered", as_json=options.json)
    if options.at is not None:
        raise UsageError("--at is for drafts and demonstrations", help_text="an issued report bears the time of issue")
    written = pipeline.issue(options.day, _identity(options), options.output, template=options.template)
    return _say_written(written, "issued", as_json=options.json)


def _instant(options: argparse.Namespace) -> dt.datetime | None:
    from reportgen.pipeline import parse_instant

    return None if options.at is None else parse_instant(options.at)


def _identity(options: argparse.Namespace) -> Identity:
    from pathlib import Path

    from reportgen.cli.passphrase import ask_passphrase
    from reportgen.seal import load_identity

    file = Path(options.identity)
    return load_identity(file, ask_passphrase(str(file), options.passphrase_file))


def _say_written(written: Written, what: str, *, as_json: bool) -> int:
    from reportgen.cli.say import verdict_sentence
    from reportgen.diagnostics import printable

    report = written.checked.evaluation.report
    for notice in written.notices:
        print(f"note: {printable(notice)}", file=sys.stderr)
    if as_json:
        facts = {
            "file": str(written.path),
            "status": what,
            "number": report.number,
            "revision": report.revision,
            "verdict": written.checked.evaluation.verdict,
            "pages": written.pages,
            "sha256": written.sha256,
        }
        print(json.dumps(facts, ensure_ascii=False, indent=2))
        return EXIT_DONE
    print(f"{printable(str(written.path))}: {report.number} revision {report.revision}, {what}, {written.pages} pages")
    print(verdict_sentence(written.checked.evaluation))
    return EXIT_DONE


def verify(options: argparse.Namespace) -> int:
    """Verify each report; 0 when all passed, else 1."""
    from reportgen.pipeline import verify as verify_one
    from reportgen.verify import render_verification

    given = {"trust": options.trust, "register": options.register, "photos": options.photos}
    answers = [(report, verify_one(report, **given)) for report in options.reports]
    if options.json:
        print(
            json.dumps(
                [{"file": str(path), **answer.plain()} for path, answer in answers], ensure_ascii=False, indent=2
            )
        )
    else:
        print("\n".join(render_verification(answer, str(path)) for path, answer in answers))
    return EXIT_DONE if all(answer.overall == "passed" for _, answer in answers) else EXIT_FINDINGS


def countersign(options: argparse.Namespace) -> int:
    """Fill one empty signature field of an issued report."""
    from reportgen import pipeline
    from reportgen.diagnostics import printable

    name = pipeline.countersign(
        options.report, _identity(options), options.output, reason=options.reason, location=options.location
    )
    if options.json:
        print(json.dumps({"file": str(options.output), "signer": name}, ensure_ascii=False, indent=2))
    else:
        print(printable(f"{options.output}: signed by {name}; the earlier signatures stand"))
    return EXIT_DONE


def explain(options: argparse.Namespace) -> int:
    """Explain a code, or how the values of an area came about."""
    from pathlib import Path

    from reportgen.cli import explaining

    if options.area is None:
        print(explaining.explain_code(options.subject, as_json=options.json))
    else:
        print(explaining.explain_area(Path(options.subject), options.area, as_json=options.json))
    return EXIT_DONE


def register(options: argparse.Namespace) -> int:
    """Check a register against its reports, or rebuild it."""
    from reportgen import pipeline
    from reportgen.results import plain

    if options.action == "rebuild":
        rebuilt = pipeline.rebuild_register_of(options.folder, options.report)
        lines = [f"register of {options.folder} rebuilt: {rebuilt.reports} reports, {rebuilt.rows_kept} rows kept"]
        lines += [f"the old register stays as {rebuilt.kept_aside}"] if rebuilt.kept_aside else []
        print(json.dumps(plain(rebuilt), indent=2) if options.json else "\n".join([*lines, *rebuilt.losses]))
        return EXIT_DONE
    problems = pipeline.check_register_of(options.folder, options.report)
    if options.json:
        print(json.dumps(plain(problems), ensure_ascii=False, indent=2))
    else:
        for problem in problems:
            print(f"{problem.code}: {problem.message}")
        print(f"register of {options.folder}: {len(problems) or 'no'} problem{'s' if len(problems) != 1 else ''}")
    return EXIT_FINDINGS if any(problem.grave for problem in problems) else EXIT_DONE


def identity(options: argparse.Namespace) -> int:
    """Make a new identity, or show one."""
    from reportgen.cli import identities

    run = identities.new if options.action == "new" else identities.show
    print(run(options))
    return EXIT_DONE
