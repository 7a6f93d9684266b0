"""Release slips: signed during the shift for one area, and held in the evidence of the report of their number."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.errors import ReportgenError, ToldError
from reportgen.formats import EVALUATION_NAME, MANIFEST_NAME, by_path, read_issue, read_manifest, required
from reportgen.job import Slip, SourceFile
from reportgen.words.told import broke, told

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.formats import Manifest
    from reportgen.issued.extraction import Recomputation
    from reportgen.job import Job


def slip_of(name: str, pdf: bytes, known: Recomputation) -> Slip:
    """Return the slip in a PDF; ``known`` evaluates its data again.

    ``ToldError``, a ``ValueError``, with one sentence for one that cannot be read, or does not say what its data gives.
    """
    from reportgen.archival import read_attachments

    try:
        attached = read_attachments(pdf)
        files = by_path(read_manifest(required(attached, MANIFEST_NAME)), attached)
        facts, again = read_issue(files), known(files)
    except (ReportgenError, ValueError) as fault:
        raise ToldError(told("slip-unread", file=name, why=broke(fault))) from fault
    job, evaluation = known.job, again.results
    if facts.slip is None or job is None or evaluation is None or again.evaluation != files[EVALUATION_NAME]:
        raise ToldError(told("slip-of-other-data", file=name))
    if facts.slip not in evaluation.for_slips:
        raise ToldError(told("slip-without-ground", file=name, area=facts.slip))
    return Slip(name, facts.slip, facts.moment, job, evaluation)


def slips_among(manifest: Manifest, files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the slips that a report holds, by path."""
    return {entry.name: files[entry.name] for entry in manifest.files if entry.role == "slip" and entry.name in files}


def with_slips(job: Job, slips: Mapping[str, bytes], known: type[Recomputation]) -> Job:
    """Return a job with its slips, as files and as what they say, in the order of their issue.

    ``ValueError`` as ``slip_of``, and for a slip of another report or a later revision.
    """
    read = sorted((slip_of(name, pdf, known()) for name, pdf in slips.items()), key=lambda one: (one.at, one.file))
    report = job.day.report
    for one in read:
        own = one.job.day.report
        if own.number != report.number or own.revision > report.revision or own.date != report.date:
            its = {"number": own.number, "revision": own.revision, "date": own.date.isoformat()}
            raise ToldError(told("slip-of-other-report", file=one.file, **its))
    files = tuple(SourceFile(one.file, "slip", slips[one.file]) for one in read)
    return replace(job, slips=tuple(read), files=(*job.files, *files))
