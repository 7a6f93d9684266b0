"""From an evaluated job to the unsigned archival file, with everything inside that proves it."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from functools import cache
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Literal

from reportgen import __version__
from reportgen.formats import (
    EVALUATION_NAME,
    ISSUE_NAME,
    MANIFEST_NAME,
    README_NAME,
    RELATIONSHIPS,
    CameraNotes,
    IssueFacts,
    ManifestEntry,
    Role,
    build_manifest,
    encode_issue,
    entry_of,
    read_manifest,
    readings_name,
    readings_table,
    with_attachments,
)
from reportgen.job import Model
from reportgen.job.signatories import signatories_of
from reportgen.names import full_title
from reportgen.units import Quantity

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from reportgen.archival import Attachment, Metadata
    from reportgen.job import Job, Person
    from reportgen.job.template import Template
    from reportgen.pdf.pictures import Pictures
    from reportgen.pdf.signing import Rendered, SignerBlock
    from reportgen.pipeline.checking import Checked
    from reportgen.register import Head, Supersedes
    from reportgen.report.issue import Issue

Status = Literal["draft", "issue", "demonstration"]
GENERATOR = f"reportgen {__version__}"
REBUILDS = (GENERATOR,)
"""Releases whose reports this one builds again to the byte: those whose stored pages still come out the same here."""

_VERSION = re.compile(r"\d{1,6}(\.\d{1,6}){0,4}((a|b|rc)\d{1,3})?(\.(post|dev)\d{1,8}){0,2}([.+-][a-z0-9.-]{1,12})?")
"""A version as libraries state theirs (PEP 440; ``1.3.1.zlib-ng``): no room for a sentence."""

_ROLES: dict[str, Role] = {
    "project": "project",
    "day": "day",
    "earlier": "earlier-day",
    "earlier project": "earlier-project",
    "earlier basis": "earlier-basis",
    "csv": "csv",
    "photo": "photo-hash",
    "logo": "photo-hash",
    "slip": "slip",
}
_MADE: dict[str, Role] = {EVALUATION_NAME: "evaluation", ISSUE_NAME: "issue", README_NAME: "readme"}
"""What is made under a name of its own; any other made file is the table of readings."""
_TOLD = {
    "project": "project file: what stays the same on the contract",
    "day": "day file: the shift as the inspector recorded it",
    "earlier": "earlier day of the contract, from which nonconformances are carried forward",
    "earlier project": "project file by which an earlier day was issued",
    "earlier basis": "file upon which an earlier report was issued",
    "csv": "readings as recorded",
    "slip": "release slip, signed during the shift",
}


@dataclass(frozen=True, slots=True)
class Terms:
    """How a document is issued: status, time, template, the register's head it is built upon, and the SHA-256 of the
    certificate that it will be signed with, which is told of a report that counts alone.

    ``pictures`` stand for originals that are not at hand, when a report is built again; ``libraries`` and ``generator``
    are those it was made with then. ``slip`` is the area of a release slip, the pages of which are made instead.
    """

    status: Status
    at: dt.datetime
    template: Template
    head: Head | None = None
    supersedes: Supersedes | None = None
    pictures: Pictures | None = None
    certificate: str | None = None
    libraries: Mapping[str, str] | None = None
    generator: str = GENERATOR
    slip: str | None = None


@dataclass(frozen=True, slots=True)
class Built:
    """The unsigned archival file, where its signature blocks lie, and the hashes of what it holds."""

    pdf: bytes
    rendered: Rendered
    evaluation_sha256: str
    inputs: dict[str, str]


def build(checked: Checked, terms: Terms) -> Built:
    """Render the pages and embed input files, evaluation, issue and their manifest; same input, same bytes.

    Raises:
        InputError: when a photo or the template cannot be used.
    """
    from reportgen.archival import make_archival
    from reportgen.formats.schemas import render_readme
    from reportgen.report.document import render_report
    from reportgen.report.slip import render_slip
    from reportgen.rules.explain import explain_areas

    embedded = {EVALUATION_NAME: checked.canonical, ISSUE_NAME: encode_issue(_issue_facts(checked, terms))}
    embedded[readings_name([file.name for file in checked.job.files])] = readings_table(checked.evaluation)
    report = checked.job.day.report
    embedded[README_NAME] = render_readme(  # it lists all files but for itself and the manifest
        _entries(checked.job, embedded),
        language=terms.template.language,
        generator=terms.generator,
        number=report.number,
        revision=report.revision,
    )
    entries = _entries(checked.job, embedded)
    day = next(file.name for file in checked.job.files if file.role == "day")
    manifest = build_manifest(entries, generator=terms.generator, day=day)
    issue = _issue(checked, terms, entries, hashlib.sha256(manifest).hexdigest())
    derivation = explain_areas(checked.job, checked.evaluation) if "derivation" in terms.template.sections else {}
    parts = checked.job, checked.evaluation, issue, terms.template, terms.pictures
    rendered = render_report(*parts, derivation) if terms.slip is None else render_slip(*parts, terms.slip)
    attachments = _attachments(checked.job, entries, {**embedded, MANIFEST_NAME: manifest})
    pdf = make_archival(rendered.pdf, metadata=_metadata(checked.job, terms), attachments=attachments)
    inputs = read_manifest(manifest).inputs()
    return Built(pdf, rendered, hashlib.sha256(checked.canonical).hexdigest(), inputs)


def _issue_facts(checked: Checked, terms: Terms) -> IssueFacts:
    """Return what a program needs to know of the issue: enough to find its place in the register."""
    job, report = checked.job, checked.job.day.report
    return IssueFacts(
        number=report.number,
        revision=report.revision,
        date=report.date.isoformat(),
        issued_at=terms.at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        status=terms.status,
        generator=terms.generator,
        made_with=terms.libraries or made_with(),
        template={name: _as_written(getattr(terms.template, name)) for name in type(terms.template).model_fields},
        register=terms.head,
        supersedes=terms.supersedes,
        omitted=None if terms.slip else checked.omitted,
        camera=_camera_notes(job, terms) or None,
        certificate=terms.certificate,
        site=job.project.project.site,
        signers=signatories_of(job)[: 1 if terms.slip else None],
        slip=terms.slip,
    )


@cache
def made_with() -> Mapping[str, str]:
    """Return the versions of the libraries that decide how the pages come out, to the byte."""
    import zlib
    from importlib.metadata import version

    return {name: version(name) for name in ("pillow", "reportlab")} | {"zlib": zlib.ZLIB_RUNTIME_VERSION}


def versions_stated(stated: Mapping[str, str]) -> Mapping[str, str]:
    """Return those entries of what a file was ``made_with`` that an issue writes: known libraries, with versions.

    Whatever else stands there was put there by hand, and is not written again when the file is made again.
    """
    here = made_with()
    return {
        name: version
        for name, version in stated.items()
        if name in here and (version == here[name] or _VERSION.fullmatch(version))
    }


def _as_written(value: object) -> object:
    """Return an entry of a template as the text a template file would hold, so that the pages can be built again."""
    if isinstance(value, Model):
        return {name: _as_written(getattr(value, name)) for name in type(value).model_fields}
    if isinstance(value, list):
        return [_as_written(item) for item in value]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value.magnitude} {value.unit}" if isinstance(value, Quantity) else str(value)


def _camera_notes(job: Job, terms: Terms) -> dict[str, CameraNotes]:
    """Return by photo what its camera noted and the pages print: it cannot be told from the picture on a page."""
    style = terms.template.photos
    found: dict[str, CameraNotes] = {}
    for name, original in job.photos.items():
        from reportgen.pdf.pictures import camera_notes

        known = terms.pictures.photos.get(name) if terms.pictures else None
        taken, position = (known.taken, known.position) if known else camera_notes(original)
        notes = CameraNotes((taken or None) if style.time else None, (position or None) if style.position else None)
        found |= {name: notes} if notes != CameraNotes() else {}
    return found


def _entries(job: Job, embedded: dict[str, bytes]) -> tuple[ManifestEntry, ...]:
    """Return what is embedded, and the hashes of the originals of photos and logo."""
    entries = [entry_of(file.name, file.sha256, _ROLES[file.role]) for file in job.files]
    entries += [entry_of(name, data, _MADE.get(name, "readings")) for name, data in embedded.items()]
    named = {entry.name: entry for entry in with_attachments(entries)}
    return tuple(named[entry.name] for entry in entries)


def _attachments(job: Job, entries: tuple[ManifestEntry, ...], produced: dict[str, bytes]) -> list[Attachment]:
    from reportgen.archival import MIME_TYPES, Attachment

    told = {
        EVALUATION_NAME: "every result and finding, as data",
        ISSUE_NAME: "how and when the report was issued",
        MANIFEST_NAME: "names and SHA-256 of the embedded files",
        README_NAME: "what these files are, and how to check them by hand",
    }
    table = "readings and values as a table, for a spreadsheet"
    names = {entry.name: entry.attachment for entry in entries}
    found = []
    for file in job.files:
        if file.role in _TOLD:  # with where it lies, if in a folder below the job's
            what = f"{_TOLD[file.role]} ({file.name})" if "/" in file.name else _TOLD[file.role]
            kind = MIME_TYPES[PurePosixPath(file.name).suffix]
            relation = RELATIONSHIPS[_ROLES[file.role]]
            found.append(Attachment(str(names[file.name]), file.data, kind, relation, what))
    for name, data in produced.items():
        relation = RELATIONSHIPS["readme" if name == README_NAME else "evaluation"]
        kind = MIME_TYPES[PurePosixPath(name).suffix]
        found.append(Attachment(str(names.get(name, name)), data, kind, relation, told.get(name, table)))
    return found


def _metadata(job: Job, terms: Terms) -> Metadata:
    from reportgen.archival import Metadata
    from reportgen.words.catalogue import catalogue

    report, project, words = job.day.report, job.project, catalogue(terms.template.language)
    named = [words("title")] if terms.slip is None else [words("slip.title"), terms.slip]
    line = words("header", number=report.number, revision=report.revision, date=report.date)
    return Metadata(
        title=", ".join((*named, line)),
        number=full_title(report),
        issued=terms.at,
        producer=terms.generator,
        author=project.inspection_body.name,
        subject=f"{project.project.name}, contract {project.project.contract}, {report.date}",
        language=terms.template.language,
    )


def _issue(checked: Checked, terms: Terms, entries: tuple[ManifestEntry, ...], manifest_sha256: str) -> Issue:
    from reportgen.report.issue import EmbeddedFile, Issue, RegisterHead

    job, head = checked.job, terms.head
    files = [EmbeddedFile(entry.name, entry.role, entry.sha256, entry.attachment or "") for entry in entries]
    return Issue(
        status=terms.status,
        at=terms.at,
        signer=None if terms.status == "draft" else signer_block(job, job.day.report.inspector),
        evaluation_sha256=hashlib.sha256(checked.canonical).hexdigest(),
        files=(*files, EmbeddedFile(MANIFEST_NAME, "manifest", manifest_sha256)),
        version=terms.generator.rpartition(" ")[2],
        certificate=terms.certificate,
        replaces=terms.supersedes.sha256 if terms.supersedes else None,
        omitted=checked.omitted,
        register_head=RegisterHead(head.sequence, head.sha256) if head else None,
        countersigners=()
        if terms.status == "draft" or terms.slip
        else tuple(signer_block(job, who) for who in job.day.report.countersigners),
    )


def signature_boxes(built: Built) -> list[tuple[int, float, float, float, float]]:
    """Return where the signature blocks lie, inspector first, with pages counted from 1 as signing counts them."""
    boxes = [built.rendered.signature_box, *built.rendered.countersign_boxes]
    return [(page + 1, left, bottom, right, top) for page, left, bottom, right, top in boxes]


def signer_block(job: Job, person_id: str) -> SignerBlock:
    """Return what the signature block prints of a person of the project."""
    from reportgen.pdf.signing import SignerBlock

    person: Person = job.project.people[person_id]
    return SignerBlock(person.name, person.role, job.project.organisation_of(person), person.certificate)
