"""Draft and issue: build, sign, prove our own bytes, and only then give them their name."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.errors import InputError, MachineError, ProgramError, SealError, UsageError
from reportgen.formats import ISSUE_NAME, read_issue
from reportgen.names import file_stem, slip_number
from reportgen.pipeline.as_issued import NOT_AS_ISSUED, SLIPS
from reportgen.pipeline.building import Built, Terms, build, signature_boxes
from reportgen.pipeline.checking import check
from reportgen.pipeline.clock import now
from reportgen.words.numbers import counted
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    from reportgen.increments import RevocationData
    from reportgen.job import Person
    from reportgen.job.template import Template
    from reportgen.pipeline.checking import Checked
    from reportgen.register import Entry, Register
    from reportgen.seal import Identity, TimestampService

REPORTS_FOLDER, SLIPS_FOLDER = SLIPS.split("/")
_SIGNER_STEP = 5
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
    path = out or Path(f"{file_stem(checked.job.day.report)}-draft.pdf")
    _write_repeatable(path, built.pdf)
    count = len(checked.job.unfilled)
    told = f"{counted(count, 'entry', 'entries')} still to be filled in; `reportgen check` names them"
    sha256 = hashlib.sha256(built.pdf).hexdigest()
    return Written(path, checked, built.rendered.pages, sha256, (told,) if count else ())


def fit_for_issue(day: Path, moment: dt.datetime) -> Checked:
    """Check a day that is to be signed: no placeholder, no time to come, no signer whom no certificate can name.

    Nor may it rest on earlier days that cannot be read, or are not as they were issued.

    Raises:
        InputError: with all that stands against it.
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
    checked = fit_for_issue(day, moment)
    identity = demo_identity(_inspector(checked).name, moment)
    tell(BUILDING)
    built = build(checked, Terms("demonstration", moment, _template(checked, template)))
    tell(SIGNING)
    signed = _sealed(checked, built, identity, moment)
    path = out or Path(f"{file_stem(checked.job.day.report)}-demonstration.pdf")
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
    return _registered(
        partial(fit_for_issue, day),
        at,
        identity,
        day,
        out,
        template=template,
        timestamper=timestamper,
        revocation=revocation,
        tell=tell,
    )


def _registered(
    fit: Callable[[dt.datetime], Checked],
    at: dt.datetime | None,
    identity: Identity,
    day: Path,
    out: Path | None,
    *,
    template: str | None,
    timestamper: TimestampService | None,
    tell: Callable[[str], None],
    revocation: RevocationData | None = None,
    area: str | None = None,
) -> Written:
    """Build, sign and register the report of a day, or the slip of one ``area``, while the register is held."""
    from reportgen.certificates import pin_of

    moment = at or now()
    checked = fit(moment)
    notices = fit_to_sign(checked, identity, moment)
    with register_of(day, checked) as register:
        moment, checked = in_step(register, moment, checked, None if at else fit)
        tell(BUILDING)
        pin = pin_of(identity.certificate)
        readied = ready(checked, register, moment, template=template, certificate=pin, area=area)
        tell(SIGNING)
        written = entered(readied, register, identity, day, out, timestamper=timestamper, revocation=revocation)
        return replace(written, notices=(*notices, *register.notices))


@dataclass(frozen=True, slots=True)
class Readied:
    """A report that may be signed: what it says, its unsigned bytes, and the terms by which they were built."""

    checked: Checked
    built: Built
    terms: Terms


def fit_to_sign(checked: Checked, identity: Identity, moment: dt.datetime) -> tuple[str, ...]:
    """Refuse an identity that is not the inspector's, or cannot sign at a moment; return what to be warned of.

    Raises:
        SealError: saying why.
    """
    from reportgen.seal import preflight

    inspector = _inspector(checked)
    pin = inspector.signs_with.pin if inspector.signs_with else None
    return preflight(identity, inspector.name, moment, inspector.organisation, pin=pin).warnings


def register_of(day: Path, checked: Checked) -> AbstractContextManager[Register]:
    """Open the register of a day's contract folder, for as long as the ``with`` block lasts."""
    from reportgen.register import Register

    return Register.open(day.parent, clock=now, pattern=checked.job.project.project.report_numbers)


def in_step(
    register: Register, moment: dt.datetime, checked: Checked, fit: Callable[[dt.datetime], Checked] | None
) -> tuple[dt.datetime, Checked]:
    """Return the moment of an issue that holds the register, and its check; both anew where a row was written since.

    After a repair, or a run that was waited for, the register would else say that the clock was put back.
    """
    from reportgen.register import utc_text

    if fit is not None and utc_text(moment) < register.latest <= utc_text(present := now()):
        return present, fit(present)
    return moment, checked


def ready(
    checked: Checked,
    register: Register,
    moment: dt.datetime,
    *,
    template: str | None,
    certificate: str | None,
    area: str | None = None,
) -> Readied:
    """Build a report upon the head of a register that admits it, with the pin of the certificate its pages state.

    With ``area`` it is the release slip of that area, before its report.

    Raises:
        UsageError: the number is issued or out of turn. InputError: a photo or the template cannot be used.
    """
    report = checked.job.day.report
    replaces = (report.supersedes.revision, report.supersedes.reason) if report.supersedes else None
    supersedes = register.admit(report.number, report.revision, replaces)
    style = _template(checked, template)
    if area is not None:
        supersedes = None
    terms = Terms("issue", moment, style, register.head, supersedes, certificate=certificate, slip=area)
    return Readied(checked, build(checked, terms), terms)


def entered(
    readied: Readied,
    register: Register,
    identity: Identity,
    day: Path,
    out: Path | None = None,
    *,
    timestamper: TimestampService | None = None,
    revocation: RevocationData | None = None,
) -> Written:
    """Sign a report at the moment it was built for, prove it, and put it in its place and into the register.

    Raises:
        SealError, UsageError, MachineError: as ``issue``.
    """
    checked, built, terms = readied.checked, readied.built, readied.terms
    signed = _sealed(checked, built, identity, terms.at, timestamper, revocation)
    folder, name = day.parent / REPORTS_FOLDER, file_stem(checked.job.day.report)
    if terms.slip is not None:
        folder, name = folder / SLIPS_FOLDER, slip_number(checked.job.day.report.number, terms.slip, terms.at)
    target = out or folder / f"{name}.pdf"
    _make_folder(target.parent)
    write = register.issue if terms.slip is None else register.slip
    write(_entry(readied, register), signed, target)
    return Written(target, checked, built.rendered.pages, hashlib.sha256(signed).hexdigest())


def _make_folder(folder: Path) -> None:
    """Make the folder of the reports, or that of the slips in it, where it is not there yet; any other must be."""
    try:
        for each in (folder.parent, folder):
            if each.name in (REPORTS_FOLDER, SLIPS_FOLDER):
                each.mkdir(exist_ok=True)
    except OSError as error:
        raise atomicfile.refusal(error, folder) from error


def _entry(readied: Readied, register: Register) -> Entry:
    """Return what the register is to say of a report or slip that was built upon its head."""
    from reportgen.register import Entry

    checked, built, terms = readied.checked, readied.built, readied.terms
    report = checked.job.day.report
    return Entry(
        number=report.number,
        revision=report.revision,
        date=report.date,
        issued_at=terms.at,
        verdict=checked.evaluation.verdict,
        unsigned_sha256=hashlib.sha256(built.pdf).hexdigest(),
        evaluation_sha256=built.evaluation_sha256,
        inputs=built.inputs,
        head=register.head,
        supersedes=terms.supersedes,
        area=terms.slip,
    )


def slip(
    day: Path,
    area: str,
    identity: Identity,
    out: Path | None = None,
    *,
    at: dt.datetime | None = None,
    template: str | None = None,
    timestamper: TimestampService | None = None,
    tell: Callable[[str], None] = _silent,
) -> Written:
    """Write the release slip of one area, signed, and enter it in the register; its report will hold it.

    The day is taken as it is at this moment, with what is not entered yet left out. ``out`` must lie in the contract
    folder; it defaults to ``reports/slips`` there.

    Raises:
        InputError: the input cannot be used, or rests on days that are not as issued.
        UsageError: the area is not released as a whole at this moment, or primed already, or the shift is over; the
            number is issued.
        SealError, MachineError: as ``issue``. Nothing is left behind.
    """
    fit = partial(_fit_for_slip, day, area)
    return _registered(fit, at, identity, day, out, template=template, timestamper=timestamper, tell=tell, area=area)


def _fit_for_slip(day: Path, area: str, moment: dt.datetime) -> Checked:
    checked = check(day, at=moment, until=moment, slips=False)
    if unfit := [one for one in checked.job.warnings if one.code in _UNFIT]:
        raise InputError([replace(one, severity="error") for one in unfit])
    _require_release(checked, area, moment)
    return checked


def _require_release(checked: Checked, area: str, moment: dt.datetime) -> None:
    """Refuse a slip for an area that may not be primed on it: who holds one does not see the rest of the day."""
    from reportgen.rules.coating import prime_by

    found = {one.id: one for one in checked.evaluation.areas}
    result = found.get(area)
    if result is None:
        listed = ", ".join(f"`{one}`" for one, own in found.items() if own.decision == "release") or "none yet"
        raise UsageError(f"`{area}` is no area of this day; released are {listed}", help_text="name one of them")
    if result.decision != "release":
        why = "; ".join(sentences().reasons(checked.evaluation, result)) or result.verdict
        raise UsageError(f"{area} is not released: {why}", help_text="`reportgen check` says what is to be done")
    _require_conditions(checked, area, moment)
    until = prime_by(checked.job, area)
    ended = checked.job.clock.instant(checked.job.clock.end)
    primed = [one.coated is not None for one in checked.job.day.surfaces if one.area == area]
    for wrong, sentence, way_out in (
        (
            result.released_part, f"only a part of {area} was cleaned, and a slip speaks of the whole",
            "make the part an area of its own in the project file",
        ),
        (
            all(primed), f"{area} is primed already: its release stands in the report", "no slip is needed",
        ),
        (
            any(primed), f"a part of {area} is primed already, and a slip speaks of the whole",
            "make the bare part an area of its own in the project file; until when to prime it stands in the report",
        ),
        (
            until is not None and moment >= until,
            f"{area} was to be primed by {until:%H:%M}, which is past: no slip lets it be primed after that"
            if until else "", "prepare the steel again, and enter that with `blasted_again`",
        ),
        (
            moment > ended, f"the shift ended at {ended:%H:%M} on {ended:%Y-%m-%d}: a slip is signed while it lasts",
            "issue the report, which says what is released; where work goes on, state the later end of the shift",
        ),
    ):  # fmt: skip
        if wrong:
            raise UsageError(sentence, help_text=way_out)


def _require_conditions(checked: Checked, area: str, moment: dt.datetime) -> None:
    """Refuse a slip where what was last read of the conditions is against priming, or longer ago than is allowed."""
    from reportgen.rules.coating import last_read

    last = last_read(checked.job, checked.evaluation, area, moment)
    if last is None or not (last.against or last.old):
        return
    clock, stated = f"{last.at:%H:%M} on {last.at:%Y-%m-%d}", checked.job.project.specification.conditions
    told = f"the conditions of {area} were last read at {clock}, and are to be read every {stated and stated.interval}"
    if last.against:
        told = f"the conditions of {area} do not allow priming, as last read at {clock}"
    raise UsageError(told, help_text="read them again, and enter that; the slip can be signed once they are met")


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
    own, *boxes = signature_boxes(built)
    people = [job.project.people[who] for who in job.day.report.countersigners if boxes]
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
    if timestamper is not None:
        require_timely(signed, at, "nothing was issued")
    _require_sound(signed, identity, at, built, _inspector(checked))
    return signed


def require_timely(signed: bytes, at: dt.datetime, nothing: str) -> None:
    """Refuse a signature made at ``at`` whose timestamp is of another time: whoever verifies would believe neither.

    Raises:
        MachineError: the service or the clock is wrong; it ends with ``nothing``, what was therefore not done.
    """
    from reportgen.verification.signatures import untimely_stamp

    if why := untimely_stamp(signed, at):
        help_text = "set the clock of this machine, use another service, or sign without a timestamp"
        raise MachineError(f"{why}; {nothing}", help_text=help_text)


def _require_sound(signed: bytes, identity: Identity, at: dt.datetime, built: Built, inspector: Person) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding

    from reportgen.certificates import pin_of
    from reportgen.issued import Recomputation
    from reportgen.names import Pin
    from reportgen.pipeline.rebuilding import compared
    from reportgen.verification import verify_report
    from reportgen.verification.pagetext import page_text_agrees

    pin = inspector.signs_with.pin if inspector.signs_with else None
    # whom the project file alone knows by this certificate was warned, and whoever verifies is to say so too
    own_word = identity.vouched_for_by(inspector.name, inspector.organisation, pin) is not None
    answer = verify_report(
        signed,
        at=max(at, now()),
        roots=[one.public_bytes(Encoding.DER) for one in identity.anchors],
        recompute=Recomputation(),
        page_text_check=page_text_agrees,
        rebuild_check=partial(compared, built=built),
        people={inspector.name: Pin(certificate=pin_of(identity.certificate))} if own_word else None,
    )
    # an identity without its issuer's certificate signs: whoever verifies has that
    expected = {"DEMONSTRATION"} if identity.anchors else {"DEMONSTRATION", "NO_CERTIFICATE_CHAIN_FOUND"}
    doubts = [reason for reason in answer.reasons if reason.name not in expected]
    fifth = answer.step(_SIGNER_STEP)
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
