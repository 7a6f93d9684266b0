"""What is said of a report that was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import render_diagnostic, verdict_sentence, wrapped
from reportgen.names import full_title

if TYPE_CHECKING:
    from reportgen.pipeline import Written


def told(written: Written, what: str) -> Answer:
    """Say where a report is, what it is (``what``), and its verdict."""
    evaluation, report = written.checked.evaluation, written.checked.evaluation.report
    registered = f", issued and registered as {full_title(report)}" if what == "issued" else ""
    finished(f"`{written.path}` is written{registered}")
    notes = [render_diagnostic(warning) for warning in written.checked.job.warnings]
    notes += ["\n".join(wrapped(f"note: {notice}")) for notice in written.notices]
    head = f"{written.path}: {full_title(report)}, {what}, {written.pages} pages"
    missed = [missed.area for missed in written.checked.job.day.not_inspected]
    sentences = (head, verdict_sentence(evaluation, missed))
    return Answer(
        data={
            "file": str(written.path), "status": what, "number": report.number, "revision": report.revision,
            "verdict": evaluation.verdict, "pages": written.pages, "sha256": written.sha256,
        },
        text="\n".join(line for sentence in sentences for line in wrapped(sentence)),
        notes=tuple(notes),
    )  # fmt: skip
