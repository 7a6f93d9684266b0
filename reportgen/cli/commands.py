"""One short function per command: call the verb, say what happened, answer with an exit code."""

from __future__ import annotations

import json
import sys
from typing import TYPE_CHECKING

from reportgen.errors import EXIT_DONE, EXIT_FINDINGS, UsageError

if TYPE_CHECKING:
    import argparse
    import datetime as dt
    from pathlib import Path

    from reportgen.pipeline import Written
    from reportgen.verification import Verification


def draft(options: argparse.Namespace) -> int:
    """Write the report unsigned."""
    from reportgen.charts.second_process import frames_ahead
    from reportgen.cli.progress import Stage

    with frames_ahead(), Stage() as stage:
        from reportgen import pipeline

        written = pipeline.draft(
            options.day, options.output, at=_instant(options), template=options.template, tell=stage.tell
        )
    return _say_written(written, "draft", as_json=options.json)


def issue(options: argparse.Namespace) -> int:
    """Write the report signed; registered unless the identity is the demonstration."""
    from reportgen.charts.second_process import frames_ahead
    from reportgen.cli.progress import Stage
    from reportgen.cli.signers import signer, timestamp_service

    if options.identity == "demo":
        return _issue_demonstration(options)
    if options.at is not None:
        raise UsageError("--at is for drafts and demonstrations", help_text="an issued report bears the time of issue")
    with frames_ahead(), Stage() as stage:
        from reportgen import pipeline

        identity, service = signer(options), timestamp_service(options)
        written = pipeline.issue(
            options.day, identity, options.output, template=options.template, timestamper=service, tell=stage.tell
        )
    return _say_written(written, "issued", as_json=options.json)


def _issue_demonstration(options: argparse.Namespace) -> int:
    from reportgen.charts.second_process import frames_ahead
    from reportgen.cli.progress import Stage

    if options.timestamp is not None:
        raise UsageError("a demonstration takes no timestamp", help_text="leave --timestamp out")
    with frames_ahead(), Stage() as stage:
        from reportgen import pipeline

        written = pipeline.issue_demonstration(
            options.day, options.output, at=_instant(options), template=options.template, tell=stage.tell
        )
    return _say_written(written, "demonstration, not valid for issue and not registered", as_json=options.json)


def _instant(options: argparse.Namespace) -> dt.datetime | None:
    from reportgen.pipeline import parse_instant

    return None if options.at is None else parse_instant(options.at)


def _say_written(written: Written, what: str, *, as_json: bool) -> int:
    from reportgen.cli.output import finished
    from reportgen.cli.terminal import render_diagnostic, render_json, verdict_sentence, wrapped

    report = written.checked.evaluation.report
    registered = f", issued and registered as {report.number} revision {report.revision}" if what == "issued" else ""
    finished(f"`{written.path}` is written{registered}")
    for warning in written.checked.job.warnings:
        print(render_diagnostic(warning), file=sys.stderr)
    for notice in written.notices:
        print("\n".join(wrapped(f"note: {notice}")), file=sys.stderr)
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
        print(render_json(facts))
        return EXIT_DONE
    head = f"{written.path}: {report.number} revision {report.revision}, {what}, {written.pages} pages"
    missed = [missed.area for missed in written.checked.job.day.not_inspected]
    for sentence in (head, verdict_sentence(written.checked.evaluation, missed)):
        print("\n".join(wrapped(sentence)))
    return EXIT_DONE


def verify(options: argparse.Namespace) -> int:
    """Verify each report; 0 when all passed, else 1."""
    from reportgen.cli import terminal
    from reportgen.cli.filing import say_passed_over
    from reportgen.cli.progress import Progress
    from reportgen.cli.verification_text import render_proof
    from reportgen.pipeline import verify as verify_one
    from reportgen.verification import render_verification

    if options.record is not None and len(options.reports) != 1:
        raise UsageError("a record is of one report", help_text="verify the reports one by one")
    say_passed_over(options.trust)
    given = {"trust": options.trust, "register": options.register, "photos": options.photos}
    answers = []
    with Progress("verified") as progress:
        for done, report in enumerate(options.reports):
            progress(done, len(options.reports))
            answers.append((report, verify_one(report, **given)))
    if options.record is not None:
        _write_record(options.record, *answers[0])
    if options.json:
        told = [{"file": str(path), **answer.plain()} for path, answer in answers]
        print(json.dumps(told, ensure_ascii=False, indent=2))
    elif options.details:
        print("\n".join(render_verification(answer, str(path)) for path, answer in answers))
    else:
        colour = terminal.colours_wanted()
        print("\n\n".join(render_proof(answer, str(path), colour=colour) for path, answer in answers))
    return EXIT_DONE if all(answer.overall == "passed" for _, answer in answers) else EXIT_FINDINGS


def _write_record(out: Path, report: Path, answer: Verification) -> None:
    from reportgen import atomicfile
    from reportgen.cli.output import finished
    from reportgen.pipeline.verification_record import verification_record

    atomicfile.write_new(out, verification_record(answer, report.name))
    finished(f"`{out}` is written")


def countersign(options: argparse.Namespace) -> int:
    """Fill one empty signature field of an issued report."""
    from reportgen import pipeline
    from reportgen.cli.output import finished
    from reportgen.cli.signers import signer, timestamp_service
    from reportgen.cli.terminal import render_json, wrapped

    name = pipeline.countersign(
        options.report,
        signer(options),
        options.output,
        reason=options.reason,
        location=options.location,
        timestamper=timestamp_service(options),
    )
    finished(f"`{options.output}` is written, signed by {name}")
    if options.json:
        print(render_json({"file": str(options.output), "signer": name}))
    else:
        print("\n".join(wrapped(f"{options.output}: signed by {name}; the earlier signatures stand")))
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
    from reportgen.cli.output import finished
    from reportgen.cli.terminal import render_json, wrapped
    from reportgen.formats import plain

    if options.action == "rebuild":
        rebuilt = pipeline.rebuild_register_of(options.folder, options.report)
        lines = [f"register of {options.folder} rebuilt: {rebuilt.reports} reports, {rebuilt.rows_kept} rows kept"]
        finished(lines[0])
        lines += [f"the old register stays as {rebuilt.kept_aside}"] if rebuilt.kept_aside else []
        print(
            render_json(plain(rebuilt))
            if options.json
            else "\n".join(line for sentence in (*lines, *rebuilt.losses) for line in wrapped(sentence))
        )
        return EXIT_DONE
    problems = pipeline.check_register_of(options.folder, options.report)
    if options.json:
        print(render_json({"problems": problems}))
    else:
        for problem in problems:
            print("\n".join(wrapped(f"{problem.message} [{problem.code}]")))
        print(f"register of {options.folder}: {len(problems) or 'no'} problem{'s' if len(problems) != 1 else ''}")
    return EXIT_FINDINGS if any(problem.grave for problem in problems) else EXIT_DONE


def identity(options: argparse.Namespace) -> int:
    """Make a new identity, or show one."""
    from reportgen.cli import identities

    run = identities.new if options.action == "new" else identities.show
    print(run(options))
    return EXIT_DONE


def completion(options: argparse.Namespace) -> int:
    """Print the completion script of a shell."""
    from reportgen.cli.arguments import build_parser
    from reportgen.cli.completing import completion_script
    from reportgen.cli.terminal import render_json

    script = completion_script(build_parser(["new"]), options.shell)
    print(render_json({"shell": options.shell, "script": script}) if options.json else script)
    return EXIT_DONE
