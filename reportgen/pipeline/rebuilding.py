"""Step 10: the pages, built again from what is embedded, are the pages that were signed, to the byte and the block.

Other versions of the libraries that draw may give the same; where only a stream is packed otherwise, it is unpacked.

The originals of photos are not embedded. Where they are not at hand, the pictures on the pages stand for them: then all
is compared but what those pictures show.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, cast

from reportgen.errors import ChangedFileError, MachineError, ProgramError, ReportgenError
from reportgen.formats import (
    EVALUATION_NAME,
    ISSUE_NAME,
    CameraNotes,
    OtherReleaseError,
    counters,
    encode,
    made_by,
    read_issue,
)
from reportgen.issued import Recomputation, slips_among, with_slips
from reportgen.job import SourceFile, validated
from reportgen.job.template import Template
from reportgen.loader import job_from_files
from reportgen.loader.paths import UnreadableFileError, read_under
from reportgen.loader.pictures import logo_of, original_of
from reportgen.pdf.pictures import Pictures, PrintedPhoto, as_drawn
from reportgen.pipeline.building import REBUILDS, Terms, build, made_with, signature_boxes, versions_stated
from reportgen.pipeline.checking import Checked
from reportgen.rules import evaluate
from reportgen.verification import Outcome
from reportgen.verification.pageread import drawn_pictures
from reportgen.words.told import Told, told, words_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from reportgen.formats import IssueFacts
    from reportgen.job import Job, Original
    from reportgen.pipeline.building import Built, Status
    from reportgen.results import Evaluation
    from reportgen.verification import Evidence

_LARGEST_PHOTO = 64 << 20


@dataclass(frozen=True, slots=True)
class _Picture:
    """A photo or logo of the job: its original, by the hash that the report holds, is at hand, or not, and why."""

    role: str
    original: Original
    at_hand: bool
    why: Told | None = None

    @property
    def name(self) -> str:
        """Its file, as the day file or the project file names it."""
        return self.original.name


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
        return Outcome("not done", (told("issue-unreadable", why=words_of(lack)),))
    if facts.generator not in REBUILDS:
        return Outcome("not done", (made_by("report-of-release", facts.generator, ISSUE_NAME),))
    if evidence.signing is None:
        return Outcome("not done", (told("end-of-pages-unknown"),))
    if later := _later(evidence, facts):
        return Outcome("not done", (words_of(later),))
    here, stated = made_with(), versions_stated(facts.made_with)
    others = [f"{name} {version}" for name, version in stated.items() if here[name] != version]
    try:
        # another library may pack the same photo into another picture
        built, unproven = _built_again(evidence, facts, moment, None if others else folder)
    except (MachineError, ProgramError):
        raise
    except ChangedFileError as changed:  # under our hands, which says nothing of the report
        return Outcome("not done", (words_of(changed),))
    except ReportgenError as refusal:
        return Outcome("failed", (told("not-built-again", why=words_of(refusal)),))
    outcome = compared(evidence, built)
    if outcome.status != "passed":
        if not others:
            return outcome
        return Outcome("not done", (told("report-of-other-libraries", libraries=tuple(others)),))
    if others and folder is not None and unproven:
        unproven = (unproven[0], told("originals-not-used"))
    same = evidence.pdf[: evidence.signing.unsigned] == built.pdf
    return replace(outcome, unproven=unproven, same=same)


def _later(evidence: Evidence, facts: IssueFacts) -> OtherReleaseError | None:
    """Return by which format, edition or words a report counts that are not known here: it cannot be made again."""
    try:
        facts.require_known()
        evidence.manifest.require_known()
        counters(evidence.files.get(EVALUATION_NAME, b"")).require_known(facts.generator)
        _ = facts.language
    except OtherReleaseError as later:
        return later
    except ValueError:  # steps 7 to 9 say so
        return None
    return None


def compared(evidence: Evidence, built: Built) -> Outcome:
    """Return whether the signed pages are those of ``built``, and its signature fields lie on their blocks."""
    from reportgen.archival import repacked

    if evidence.signing is None:
        return Outcome("failed", (told("end-of-pages-unknown"),))
    pages, how = evidence.pdf[: evidence.signing.unsigned], "pages-same-again"
    if pages != built.pdf:
        if not repacked(pages, built.pdf):
            return Outcome("failed", (told("other-pages"),))
        how = "pages-same-unpacked"
    placed = [_corners(signature.box) for signature in evidence.signing.fields]
    if placed != [_corners(box) for box in signature_boxes(built)]:
        return Outcome("failed", (told("fields-off-own-blocks"),))
    return Outcome("passed", (told(how, size=len(pages)),))


def _corners(box: tuple[float, ...]) -> list[str]:
    """Return page and corners of a box as signing writes them."""
    return [f"{number:.3f}" for number in box]


def _built_again(
    evidence: Evidence, facts: IssueFacts, moment: dt.datetime, folder: Path | None
) -> tuple[Built, tuple[Told, ...]]:
    """Return the report built again, and a sentence about the pictures that stand for their originals."""
    template = validated(Template, facts.template)
    if not isinstance(template, Template):
        raise ReportgenError(told("template-of-another-release"))
    job = evidence.job or with_slips(
        job_from_files(evidence.files, evidence.manifest.day),
        slips_among(evidence.manifest, evidence.files),
        Recomputation,
    )
    evaluation = evidence.results or evaluate(job, at=moment)
    wanted = _wanted(job, evidence, folder)
    lacking = [one for one in wanted if not one.at_hand]
    printed = job if facts.slip is None else replace(job, day=job.day.model_copy(update={"surfaces": []}))
    shown = _shown(evidence, printed, evaluation, template) if lacking else {}
    terms = Terms(
        status=cast("Status", facts.status),  # whatever else a forger wrote there has no words
        at=moment,
        template=template,
        head=facts.register,
        supersedes=facts.supersedes,
        pictures=_stand_ins(lacking, shown, facts),
        certificate=facts.certificate,
        libraries=versions_stated(facts.made_with),
        generator=facts.generator,
        slip=facts.slip,
    )
    files = [*job.files, *(SourceFile(one.name, one.role, one.original) for one in wanted)]
    last = ("earlier basis", "slip")  # in this order, as in the job that was issued
    files.sort(key=lambda file: last.index(file.role) if file.role in last else -1)
    photos = {one.name: one.original for one in wanted if one.role == "photo"}
    job = replace(job, photos=photos, files=tuple({file.name: file for file in files}.values()))
    built = build(Checked(job, evaluation, encode(evaluation), facts.omitted), terms)
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
        raise ReportgenError(told("photo-without-hash", file=unlisted[0]))
    return [_picture(folder, role, name, hashes[name]) for role, name in names]


def _picture(folder: Path | None, role: str, name: str, sha256: str) -> _Picture:
    """Return a picture of the job; ``folder`` may hold its original."""
    read = partial(read_under, folder or Path(), name, _LARGEST_PHOTO)
    original = original_of(name, sha256, read)
    if folder is None:
        return _Picture(role, original, at_hand=False)
    try:
        same = hashlib.sha256(read()).hexdigest() == sha256
    except UnreadableFileError as failure:
        return _Picture(role, original, at_hand=False, why=told("of-a-file", file=name, what=words_of(failure)))
    return _Picture(role, original, same, None if same else told("photo-of-another-hash", file=name))


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
            raise ReportgenError(told("logo-not-shown"))
        found["logo", str(name)] = heads[0][0]
        pages = [page[1:] for page in pages]
    order = _photos_in_order(job, evaluation)
    drawn = [picture for page in pages for picture in page]
    if len(drawn) != len(order):
        raise ReportgenError(told("pictures-and-photos", shown=len(drawn), photos=len(order)))
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
            printed = PrintedPhoto(b"", 0, 0, one.original.sha256)
        else:
            printed = as_drawn(one.name, jpeg, one.original.sha256, taken=notes.taken, position=notes.position)
        if one.role == "logo":
            logo = printed
        else:
            photos[one.name] = printed
    return Pictures(photos, logo)


def _unproven(taken: list[_Picture], folder: Path | None, *, noted: bool) -> tuple[Told, ...]:
    """Say which pictures were taken from the pages, and why; ``noted``: and what their cameras noted with them."""
    if not taken:
        return ()
    count = "one" if len(taken) == 1 else "several"
    sentence = told(f"not-compared-{count}{'-and-notes' if noted else ''}", count=len(taken))
    if folder is None:
        return (told("originals-not-embedded", what=sentence),)
    return (sentence, *(one.why for one in taken if one.why is not None))
