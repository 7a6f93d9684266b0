"""Draft and issue: build, sign, prove our own bytes, and only then give them their name."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.errors import InputError, ProgramError, SealError, UsageError
from reportgen.formats import ISSUE_NAME, read_issue
from reportgen.pipeline.as_issued import NOT_AS_ISSUED
from reportgen.pipeline.building import Built, Terms, build, signature_boxes
from reportgen.pipeline.checking import Checked, check
from reportgen.pipeline.clock import now
from reportgen.words.numbers import counted

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from reportgen.increments import RevocationData
    from reportgen.job import Person
    from reportgen.job.template import Template
    from reportgen.seal import Identity, TimestampService

REPORTS_FOLDER = "reports"
_PATIENCE = 5.0
_SIGNER_STEP = 5
"""Seconds for an authority to answer: a report waits for none of them longer."""
_UNFIT = NOT_AS_ISSUED | {"JOB219"}
"""Codes of warnings that a report cannot be signed with."""
BUILDING, SIGNING = "building the pages", "signing, and verifying what was signed"


@dataclass(frozen=True, slots=True)
class Written:
    """What was written where, and what the user should know about it."""

    path: Path
    checked: Checked
    pages: int
    sha256: str
    notices: tuple[str, ...] = ()


def _silent(_: str) -> None:
    """What begins is told to nobody."""


def draft(
    day: Path,
    out: Path | None = None,
    *,
    at: dt.datetime | None = None,
    template: str | None = None,
    tell: Callable[[str], None] = _silent,
) -> Written:
    """Write the unsigned report, marked as a draft; an existing draft of that name is replaced, nothing else.

    ``tell`` hears what begins, for a person who waits.

    Raises:
        InputError: the input cannot be used; nothing is written.
        UsageError: ``out`` names a file that is not a draft.
    """
    moment = at or now()
    checked = check(day, at=moment)
    tell(BUILDING)
    terms = Terms("draft", moment, _template(checked, template))
    built = build(checked, terms)
    path = out or Path(f"{_file_stem(checked)}-draft.pdf")
    _write_repeatable(path, built.pdf)
    count = len(checked.job.unfilled)
    told = f"{counted(count, 'entry', 'entries')} still to be filled in; `reportgen check` names them"
    sha256 = hashlib.sha256(built.pdf).hexdigest()
    return Written(path, checked, built.rendered.pages, sha256, (told,) if count else ())


def _fit_for_issue(day: Path, moment: dt.datetime) -> Checked:
    """Check a day that is to be signed: no placeholder, no time to come, no signer whom no certificate can name.

    Nor may it rest on earlier days that cannot be read, or are not as they were issued.
    """
    checked = check(day, at=moment, until=moment)
    unfit = [*checked.job.unfilled, *(one for one in checked.job.warnings if one.code in _UNFIT)]
    if unfit:
        raise InputError([replace(one, severity="error") for one in unfit])
    return checked


def issue_demonstration(
    day: Path,
    out: Path | None = None,
    *,
    at: dt.datetime | None = None,
    template: str | None = None,
    tell: Callable[[str], None] = _silent,
) -> Written:
    """Write the report signed with an identity made on the spot: labelled, not registered, so it can be repeated.

    Raises:
        InputError, UsageError: as ``draft``, and where an entry is still to be filled in or a time lies ahead.
    """
    from reportgen.seal import demo_identity

    moment = at or now()
    checked = _fit_for_issue(day, moment)
    identity = demo_identity(_inspector(checked).name, moment)
    tell(BUILDING)
    built = build(checked, Terms("demonstration", moment, _template(checked, template)))
    tell(SIGNING)
    signed = _sealed(checked, built, identity, moment)
    path = out or Path(f"{_file_stem(checked)}-demonstration.pdf")
    _write_repeatable(path, signed)
    return Written(path, checked, built.rendered.pages, hashlib.sha256(signed).hexdigest())


def issue(
    day: Path,
    identity: Identity,
    out: Path | None = None,
    *,
    at: dt.datetime | None = None,
    template: str | None = None,
    timestamper: TimestampService | None = None,
    revocation: RevocationData | None = None,
    tell: Callable[[str], None] = _silent,
) -> Written:
    """Write the report, signed and final, and enter it in the register of its contract folder.

    The register is held from before the pages are built, because they state its head. ``out`` must lie in the
    contract folder and must not exist; it defaults to ``reports`` in that folder. ``timestamper`` proves the time, and
    ``revocation``, sealed in, that the signer's certificates were not revoked by then.

    Raises:
        InputError: the input cannot be used, or holds a placeholder or a time that lies ahead.
        UsageError: the number is issued or out of turn, or the name is taken.
        SealError: the identity cannot sign this report. MachineError: the disk failed. Nothing is left behind.
    """
    from reportgen.certificates import pin_of
    from reportgen.register import Entry, Register
    from reportgen.seal import preflight

    folder, moment = day.parent, at or now()
    checked = _fit_for_issue(day, moment)
    inspector = _inspector(checked)
    pin = inspector.signs_with.pin if inspector.signs_with else None
    notices = preflight(identity, inspector.name, moment, inspector.organisation, pin=pin).warnings
    target = out or folder / REPORTS_FOLDER / f"{_file_stem(checked)}.pdf"
    pattern = checked.job.project.project.report_numbers
    with Register.open(folder, clock=now, pattern=pattern) as register:
        report = checked.job.day.report
        replaces = (report.supersedes.revision, report.supersedes.reason) if report.supersedes else None
        supersedes = register.admit(report.number, report.revision, replaces)
        signs_with = pin_of(identity.certificate)
        terms = Terms("issue", moment, _template(checked, template), register.head, supersedes, certificate=signs_with)
        tell(BUILDING)
        built = build(checked, terms)
        tell(SIGNING)
        signed = _sealed(checked, built, identity, moment, timestamper, revocation)
        if target.parent.name == REPORTS_FOLDER:
            try:
                target.parent.mkdir(exist_ok=True)
            except OSError as error:
                raise atomicfile.refusal(error, target.parent) from error
        entry = Entry(
            number=report.number,
            revision=report.revision,
            date=report.date,
            issued_at=terms.at,
            verdict=checked.evaluation.verdict,
            unsigned_sha256=hashlib.sha256(built.pdf).hexdigest(),
            evaluation_sha256=built.evaluation_sha256,
            inputs=built.inputs,
            head=register.head,
            supersedes=supersedes,
        )
        register.issue(entry, signed, target)
        notices = (*notices, *register.notices)
    return Written(target, checked, built.rendered.pages, hashlib.sha256(signed).hexdigest(), notices)


def authorities_on(identity: Identity) -> tuple[RevocationData | None, tuple[str, ...]]:
    """Return what the authorities that an identity's certificates name say of these, and a note for each that fails.

    Raises:
        SealError: one of them says that a certificate is revoked.
    """
    from reportgen.certificates import readable_name
    from reportgen.seal.authorities import ask_authorities
    from reportgen.verification.trust import chain_of, revoked

    chain = chain_of(identity.certificate, identity.chain)
    data, failed = ask_authorities(chain, seconds=_PATIENCE)
    since = revoked(chain, data)
    if since is not None:
        raise SealError(
            f"a certificate of {readable_name(identity.certificate.subject)}, or of who issued it, was revoked on"
            f" {since:%Y-%m-%d}, as its authority says",
            help_text="sign with another identity",
        )
    return data or None, tuple(f"{clause}; what it would say of the signer is not sealed in" for clause in failed)


def _sealed(
    checked: Checked,
    built: Built,
    identity: Identity,
    at: dt.datetime,
    timestamper: TimestampService | None = None,
    revocation: RevocationData | None = None,
) -> bytes:
    """Sign, then verify the signed bytes as a stranger would; only bytes that pass are returned."""
    from reportgen.seal import Countersigner, seal_report

    job = checked.job
    people = [job.project.people[who] for who in job.day.report.countersigners]
    own, *boxes = signature_boxes(built)
    signed = seal_report(
        built.pdf,
        identity,
        at=at,
        location=job.project.project.site,
        box=own,
        countersigners=[Countersigner(who.role, who.name, box) for who, box in zip(people, boxes, strict=True)],
        timestamper=timestamper,
        revocation=revocation,
    )
    _require_sound(signed, identity, at, built)
    return signed


def _require_sound(signed: bytes, identity: Identity, at: dt.datetime, built: Built) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding

    from reportgen.issued import Recomputation
    from reportgen.pipeline.rebuilding import compared
    from reportgen.verification import verify_report
    from reportgen.verification.pagetext import page_text_agrees

    anchor = identity.chain[-1] if identity.chain else identity.certificate
    answer = verify_report(
        signed,
        at=max(at, now()),
        roots=[anchor.public_bytes(Encoding.DER)],
        recompute=Recomputation(),
        page_text_check=page_text_agrees,
        rebuild_check=partial(compared, built=built),
    )
    doubts = [reason for reason in answer.reasons if reason.name != "DEMONSTRATION"]
    fifth = next(step for step in answer.steps if step.number == _SIGNER_STEP)
    # that the identity is the inspector's was found before: only a fault of ours can deny it here
    of_identity = [one for one in fifth.reasons if one in doubts and not one.name.startswith("SIGNER_")]
    if of_identity:
        raise SealError(
            f"this identity cannot sign reports that verify: {of_identity[0].sentence}; nothing was issued",
            help_text="have a certificate made whose whole chain permits signing, up to its root",
        )
    if doubts:
        raise ProgramError(
            f"the signed report does not verify ({doubts[0].name}: {doubts[0].sentence}); nothing issued"
        )


def _template(checked: Checked, name: str | None) -> Template:
    from reportgen.loader.template import load_template

    return load_template(name or checked.job.project.template or "a4-en")


def _inspector(checked: Checked) -> Person:
    return checked.job.project.people[checked.job.day.report.inspector]


def _file_stem(checked: Checked) -> str:
    report = checked.job.day.report
    return report.number if report.revision == 0 else f"{report.number}-r{report.revision}"


def _write_repeatable(path: Path, pdf: bytes) -> None:
    """Write a draft or demonstration; only another of these may be replaced, never an issued report."""
    if path.exists() and not _repeatable(path):
        raise UsageError(
            f"`{path}` exists and is neither a draft nor a demonstration; nothing was written",
            help_text="choose another name with -o",
        )
    atomicfile.write_replacing(path, pdf)


def _repeatable(path: Path) -> bool:
    """Tell whether an existing file says of itself that it is a draft or a demonstration."""
    from reportgen.archival import read_attachments, written_attachment

    try:
        pdf = path.read_bytes()
        written = written_attachment(pdf, ISSUE_NAME)
        files = read_attachments(pdf) if written is None else {ISSUE_NAME: written}
        return read_issue(files).status in {"draft", "demonstration"}
    except OSError as error:
        raise atomicfile.refusal(error, path, doing="read") from error
    except Exception:  # noqa: BLE001 - whatever else cannot be read is not ours to replace
        return False
