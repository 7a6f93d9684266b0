"""Step 10: the pages, built again from what is embedded, are the pages that were signed, to the byte and the block."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from typing import TYPE_CHECKING, Any

from reportgen.archival_manifest import ISSUE_NAME
from reportgen.errors import ReportgenError
from reportgen.pipeline.building import GENERATOR, Terms, build, made_with, signature_boxes
from reportgen.pipeline.checking import Checked

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.pipeline.building import Built
    from reportgen.verification import Evidence, Outcome


def pages_rebuilt(folder: Path | None, evidence: Evidence) -> Outcome:
    """Return whether building the report again gives its signed pages; *not done* with the reason where it cannot be.

    ``folder`` holds the originals of the photos under the names the day file gives them; they are not embedded.
    """
    from reportgen.verification import Outcome

    try:
        facts = json.loads(evidence.files[ISSUE_NAME])
        hindrance = _hindrance(facts)
        photos = None if hindrance else _photos(folder, evidence)
    except (AttributeError, KeyError, TypeError, ValueError) as lack:
        return Outcome("not done", (f"the report does not say how it was issued ({lack})",))
    if hindrance or isinstance(photos, str):
        return Outcome("not done", (hindrance or str(photos),))
    if evidence.signing is None:
        return Outcome("not done", ("where the pages end and the signature begins cannot be told",))
    try:
        built = _built_again(evidence, facts, photos or {})
    except ReportgenError as refusal:
        return Outcome("failed", (f"the embedded input cannot be built again: {refusal.message}",))
    if evidence.pdf[: evidence.signing.unsigned] != built.pdf:
        return Outcome("failed", ("building the report again from its own input gives other pages",))
    placed = [_corners(field.box) for field in evidence.signing.fields]
    if placed != [_corners(box) for box in signature_boxes(built)]:
        return Outcome("failed", ("the signature fields do not lie on the signature blocks of the pages",))
    return Outcome("passed", (f"{len(built.pdf)} bytes of pages and embedded files, the same again",))


def _corners(box: tuple[float, ...]) -> list[str]:
    """Return page and corners of a box as signing writes them."""
    return [f"{number:.3f}" for number in box]


def _hindrance(facts: dict[str, Any]) -> str | None:
    """Say why the pages cannot be expected to come out the same here; None when they must."""
    if facts["generator"] != GENERATOR:
        return f"the report was made by {facts['generator']}, this is {GENERATOR}"
    here = made_with()
    others = [f"{name} {version}" for name, version in facts["made_with"].items() if here.get(name) != version]
    return f"the report was made with {', '.join(others)}, which is not installed here" if others else None


def _photos(folder: Path | None, evidence: Evidence) -> dict[str, bytes] | str:
    """Read the original photos that the manifest names; a sentence when they are not all at hand."""
    wanted = {entry.name: entry.sha256 for entry in evidence.manifest.files if entry.role == "photo-hash"}
    if wanted and folder is None:
        return f"the originals of {len(wanted)} photos are not embedded; name their job folder with --photos"
    from reportgen.loader.paths import UnreadableFileError, read_under

    found: dict[str, bytes] = {}
    for name, digest in wanted.items():
        try:
            found[name] = read_under(folder, name, 64 << 20) if folder else b""
        except UnreadableFileError as failure:
            return f"photo {name}: {failure.message}"
        if hashlib.sha256(found[name]).hexdigest() != digest:
            return f"photo {name} is not the one whose SHA-256 the report holds"
    return found


def _built_again(evidence: Evidence, facts: dict[str, Any], photos: dict[str, bytes]) -> Built:
    from reportgen.job import validated
    from reportgen.job.template import Template
    from reportgen.loader import job_from_files
    from reportgen.register import Head, Supersedes
    from reportgen.results import canonical_json
    from reportgen.rules import evaluate

    job = job_from_files({**evidence.files, **photos}, evidence.manifest.day, have_photos=bool(photos))
    template = validated(Template, facts["template"])
    if not isinstance(template, Template):
        raise ReportgenError("its template is not one of this release")
    moment = dt.datetime.fromisoformat(facts["issued_at"])
    evaluation = evaluate(job, at=moment)
    terms = Terms(
        status=facts["status"],
        at=moment,
        template=template,
        head=Head(**facts["register"]) if facts["register"] else None,
        supersedes=Supersedes(**facts["supersedes"]) if facts["supersedes"] else None,
    )
    return build(Checked(job, evaluation, canonical_json(evaluation)), terms)
