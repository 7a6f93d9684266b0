"""Step 10: the pages, built again from what is embedded, are the pages that were signed, to the byte and the block.

Other versions of the libraries that draw may give the same; where only a stream is packed otherwise, it is unpacked.

The originals of photos are not embedded. Where they are not at hand, the pictures on the pages stand for them: then all
is compared but what those pictures show.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from reportgen.errors import MachineError, ProgramError, ReportgenError
from reportgen.formats import CameraNotes, encode, read_issue
from reportgen.job import SourceFile, validated
from reportgen.job.template import Template
from reportgen.loader import job_from_files
from reportgen.loader.paths import UnreadableFileError, read_under
from reportgen.loader.pictures import logo_of
from reportgen.pdf.pictures import Pictures, PrintedPhoto, as_drawn
from reportgen.pipeline.building import GENERATOR, REBUILDS, Terms, build, made_with, signature_boxes
from reportgen.pipeline.checking import Checked
from reportgen.rules import evaluate
from reportgen.verification import Outcome
from reportgen.verification.pageread import drawn_pictures

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping
    from pathlib import Path

    from reportgen.formats import IssueFacts
    from reportgen.job import Job
    from reportgen.pipeline.building import Built, Status
    from reportgen.results import Evaluation
    from reportgen.verification import Evidence

_LARGEST_PHOTO = 64 << 20
_APART = "the report was made with other versions of libraries, by which they may come out otherwise"


@dataclass(frozen=True, slots=True)
class _Picture:
    """A photo or logo of the job: its file, the hash of its original as the report holds it, and the original's bytes,
    or why those are not at hand.
    """

    name: str
    role: str
    sha256: str
    data: bytes | None
    why: str = ""


def load_for_rebuilding() -> None:
    """Import what examining a report, and building its pages again, needs: a child can write no caches of its own."""
    import reportgen.archival
    import reportgen.pipeline.resubmitting
    import reportgen.report.document
    import reportgen.words.filing  # noqa: F401 - imported for its effect
    from reportgen.issued import load_for_examination

    load_for_examination()


def pages_rebuilt(folder: Path | None, evidence: Evidence) -> Outcome:
    """Return whether building the report again gives its signed pages; *not done* with the reason where it cannot be.

    ``folder`` holds the originals of the photos under the names the day file gives them. Of what is not at hand the
    picture on the pages is taken, and the outcome says so.
    """
    try:
        facts = read_issue(evidence.files)
        moment = facts.moment
    except ValueError as lack:
        return Outcome("not done", (f"the report does not say how it was issued: {lack}",))
    if facts.generator not in REBUILDS:
        release = facts.generator.rpartition(" ")[2]
        command = f"`pip install reportgen=={release}`, then verify with that"
        return Outcome("not done", (f"the report was made by {facts.generator}, this is {GENERATOR}: {command}",))
    if evidence.signing is None:
        return Outcome("not done", ("where the pages end and the signature begins cannot be told",))
    here = made_with()
    others = [f"{name} {version}" for name, version in facts.made_with.items() if here.get(name) != version]
    try:
        # another library may pack the same photo into another picture
        built, unproven = _built_again(evidence, facts, moment, None if others else folder)
    except (MachineError, ProgramError):
        raise
    except ReportgenError as refusal:
        return Outcome("failed", (f"the embedded input cannot be built again: {refusal.message}",))
    outcome = compared(evidence, built)
    if outcome.status != "passed":
        if not others:
            return outcome
        why = f"the report was made with {', '.join(others)}, which is not installed here, and comes out otherwise"
        return Outcome("not done", (f"{why}: install them, then verify with that",))
    if others and folder is not None and unproven:
        unproven = (unproven[0].partition(": the originals")[0], f"their originals were not used: {_APART}")
    return replace(outcome, unproven=unproven)


def compared(evidence: Evidence, built: Built) -> Outcome:
    """Return whether the signed pages are those of ``built``, and its signature fields lie on their blocks."""
    from reportgen.archival import repacked

    if evidence.signing is None:
        return Outcome("failed", ("where the pages end and the signature begins cannot be told",))
    pages, how = evidence.pdf[: evidence.signing.unsigned], "the same again"
    if pages != built.pdf:
        if not repacked(pages, built.pdf):
            return Outcome("failed", ("building the report again from its own input gives other pages",))
        how = "the same again when unpacked"
    placed = [_corners(signature.box) for signature in evidence.signing.fields]
    if placed != [_corners(box) for box in signature_boxes(built)]:
        return Outcome("failed", ("the signature fields do not lie on the signature blocks of the pages",))
    return Outcome("passed", (f"{len(pages)} bytes of pages and embedded files, {how}",))


def _corners(box: tuple[float, ...]) -> list[str]:
    """Return page and corners of a box as signing writes them."""
    return [f"{number:.3f}" for number in box]


def _built_again(
    evidence: Evidence, facts: IssueFacts, moment: dt.datetime, folder: Path | None
) -> tuple[Built, tuple[str, ...]]:
    """Return the report built again, and a sentence about the pictures that stand for their originals."""
    template = validated(Template, facts.template)
    if not isinstance(template, Template):
        raise ReportgenError("its template is not one of this release")
    job = job_from_files(evidence.files, evidence.manifest.day, have_photos=False)
    evaluation = evidence.results or evaluate(job, at=moment)
    wanted = _wanted(job, evidence, folder)
    lacking = [one for one in wanted if one.data is None]
    shown = _shown(evidence, job, evaluation, template) if lacking else {}
    terms = Terms(
        status=cast("Status", facts.status),  # whatever else a forger wrote there has no words
        at=moment,
        template=template,
        head=facts.register,
        supersedes=facts.supersedes,
        pictures=_stand_ins(lacking, shown, facts),
        certificate=facts.certificate,
        libraries=facts.made_with,
        generator=facts.generator,
    )
    files = [*job.files, *(SourceFile(one.name, one.role, one.data or b"") for one in wanted)]
    photos = {one.name: one.data or b"" for one in wanted if one.role == "photo"}
    job = replace(job, photos=photos, files=tuple({file.name: file for file in files}.values()))
    built = build(Checked(job, evaluation, encode(evaluation)), terms)
    taken = [one for one in lacking if (one.role, one.name) in shown]
    noted = any(one.name in (facts.camera or {}) for one in taken)
    return built, _unproven(taken, folder, noted=noted)


def _wanted(job: Job, evidence: Evidence, folder: Path | None) -> list[_Picture]:
    """Return the photos of the job and its logo, in the order in which the loader reads them."""
    hashes = {entry.name: entry.sha256 for entry in evidence.manifest.files if entry.role == "photo-hash"}
    photos = (str(photo.file) for surface in job.day.surfaces for photo in surface.photos)
    names = [("photo", name) for name in dict.fromkeys(photos)]
    logo = logo_of(job.project, next(file.name for file in job.files if file.role == "project"))
    names += [("logo", logo)] if logo is not None else []
    unlisted = [name for _, name in names if name not in hashes]
    if unlisted:
        raise ReportgenError(f"no SHA-256 of {unlisted[0]} is listed")
    return [_Picture(name, role, hashes[name], *_original(folder, name, hashes[name])) for role, name in names]


def _original(folder: Path | None, name: str, sha256: str) -> tuple[bytes | None, str]:
    """Return the bytes of an original, or None and why they are not at hand."""
    if folder is None:
        return None, ""
    try:
        data = read_under(folder, name, _LARGEST_PHOTO)
    except UnreadableFileError as failure:
        return None, f"{name}: {failure.message}"
    if hashlib.sha256(data).hexdigest() != sha256:
        return None, f"{name} is not the one whose SHA-256 the report holds"
    return data, ""


def _shown(evidence: Evidence, job: Job, evaluation: Evaluation, template: Template) -> dict[tuple[str, str], bytes]:
    """Return by role and name the picture that the pages show of each photo, and of the logo.

    They are told by their order alone: whatever stands elsewhere than it should makes other pages when they are built.
    """
    pages = drawn_pictures(evidence.pdf)
    found: dict[tuple[str, str], bytes] = {}
    if job.project.inspection_body.logo is not None and template.logo:  # in the head of every page, before all else
        name = logo_of(job.project, next(file.name for file in job.files if file.role == "project"))
        heads = [page[:1] for page in pages]
        if not all(heads):
            raise ReportgenError("the pages do not show the logo")
        found["logo", str(name)] = heads[0][0]
        pages = [page[1:] for page in pages]
    order = _photos_in_order(job, evaluation)
    drawn = [picture for page in pages for picture in page]
    if len(drawn) != len(order):
        raise ReportgenError(f"the pages show {len(drawn)} pictures where its photos are {len(order)}")
    return found | {("photo", name): picture for name, picture in zip(order, drawn, strict=True)}


def _photos_in_order(job: Job, evaluation: Evaluation) -> list[str]:
    """Return the photos as the pages show them: area by area of the evaluation."""
    surfaces = [one for area in evaluation.areas for one in job.day.surfaces if one.area == area.id]
    return [str(photo.file) for surface in surfaces for photo in surface.photos]


def _stand_ins(lacking: list[_Picture], shown: Mapping[tuple[str, str], bytes], facts: IssueFacts) -> Pictures:
    """Return what is printed in place of the originals that are not at hand."""
    camera = facts.camera or {}
    photos: dict[str, PrintedPhoto] = {}
    logo = None
    for one in lacking:
        jpeg = shown.get((one.role, one.name))
        notes = camera.get(one.name, CameraNotes())
        if jpeg is None:  # not on the pages
            printed = PrintedPhoto(b"", 0, 0, one.sha256)
        else:
            printed = as_drawn(one.name, jpeg, one.sha256, taken=notes.taken, position=notes.position)
        if one.role == "logo":
            logo = printed
        else:
            photos[one.name] = printed
    return Pictures(photos, logo)


def _unproven(taken: list[_Picture], folder: Path | None, *, noted: bool) -> tuple[str, ...]:
    """Say which pictures were taken from the pages, and why; ``noted``: and what their cameras noted with them."""
    if not taken:
        return ()
    which = "the picture shows" if len(taken) == 1 else f"the {len(taken)} pictures show"
    notes = ", nor when and where their cameras say it was" if noted else ""
    sentence = f"what {which} was not compared{notes}, only place, size and text"
    if folder is None:
        return (f"{sentence}: the originals are not embedded; name their job folder with `verify --photos`",)
    return (sentence, *(one.why for one in taken))
