"""Verify: a stranger's file, in a child process with limits, with all that can be checked from it alone."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass, replace
from functools import partial
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.pipeline.filing import examination_checks, examined_file
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Checks, Examined
    from reportgen.register import Chain, Report
    from reportgen.verification import Verification
    from reportgen.words.told import Told

_STANDING = 12


def verify(
    report: Path,
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    register: Path | None = None,
    photos: Path | None = None,
    quick: bool = False,
) -> Verification:
    """Return the verdict on one report, in numbered steps with reasons.

    ``trust`` names certificates, or folders of them, of authorities the user trusts; without any, nobody's signature
    passes; ``policy`` is a file that names them, and what else is asked for, instead. ``register`` is the contract
    folder whose register the report is held against; ``photos`` the folder with the originals of its photos, without
    which what these show is not compared. ``quick`` leaves out making the pages again, without which nothing passes.
    Nothing is raised for a bad report; ``UsageError`` when a file named cannot be read, or the register was changed;
    ``InputError`` for a policy that is none.
    """
    (judged,), fault = verify_each([report], trust=trust, policy=policy, register=register, photos=photos, quick=quick)
    if judged.verification is None or fault is not None:
        raise fault or judged.fault or UsageError(f"{report} cannot be read")
    return judged.verification


@dataclass(frozen=True, slots=True)
class VerifiedFile:
    """A file that was to be verified: the verdict on it, or why it cannot be read."""

    path: Path
    verification: Verification | None = None
    fault: UsageError | None = None


def verify_each(
    reports: Sequence[Path],
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    register: Path | None = None,
    photos: Path | None = None,
    quick: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[list[VerifiedFile], UsageError | None]:
    """Return the verdict on each of several reports, as ``verify``, and why the register cannot be read, if so.

    The files are at hand for each other: one that a later revision among them replaces is superseded. What cannot be
    read, a file or the register, keeps no other from being judged.

    Raises:
        UsageError, InputError: what is trusted cannot be read. MachineError: the machine fails.
    """
    from reportgen.pipeline.registered_revisions import beside_registered
    from reportgen.pipeline.release_standing import pages_beside
    from reportgen.pipeline.standing_together import beside_each_other

    checks = examination_checks(trust, policy=policy, photos=photos, quick=quick)
    chain, fault = None, None
    if register is not None:
        chain, fault = _chain_of(register)
    found: dict[Path, Examined] = {}
    faults: dict[Path, UsageError] = {}

    def examine(path: Path) -> Examined:
        return examined_file(path, _with_register(checks, path.name, chain, fault))

    for done, path in enumerate(dict.fromkeys(reports)):
        if progress is not None:
            progress(done, len(reports))
        try:
            one = examine(path)
        except UsageError as unread:
            faults[path] = unread
            continue
        if register is not None and chain is not None:
            one = replace(one, verification=_with_report_of_slip(one, register, chain))
        found[path] = one
    answers = {path: one.verification for path, one in found.items()} | beside_each_other(found, checks)
    if register is not None and chain is not None:
        answers |= beside_registered(answers, found, examine, register)
    pages = {path: one for path, one in found.items() if one.told_by_page is not None}
    noted = {path: replace(one, verification=answers[path]) for path, one in pages.items()}
    answers |= pages_beside(found | noted, examine, register, chain)
    return [VerifiedFile(path, answers.get(path), faults.get(path)) for path in reports], fault


def _chain_of(folder: Path) -> tuple[Chain | None, UsageError | None]:
    """Return the register of a contract folder, or why it cannot be read."""
    from reportgen.register import read_register

    try:
        return read_register(folder).chain, None
    except UsageError as fault:
        return None, fault


def _with_register(checks: Checks, name: str, chain: Chain | None, fault: UsageError | None) -> Checks:
    """Return how the file called ``name`` is examined with a register; with one that cannot be read, that is told."""
    from reportgen.pipeline.register_agreement import register_agrees, register_unread, standing_by_register

    if fault is not None:
        unread = partial(register_unread, words_of(fault))
        return replace(checks, register_check=unread, standing_check=unread)
    if chain is None:
        return checks
    return replace(
        checks,
        register_check=partial(register_agrees, chain, name),
        standing_check=partial(standing_by_register, chain, name),
    )


def _with_report_of_slip(examined: Examined, folder: Path, chain: Chain) -> Verification:
    """Return the answer on a release slip with what the report of its shift says of the area; any other as it is."""
    from reportgen.pipeline.as_issued import Folder
    from reportgen.verification import Notice

    answer = examined.verification
    hashes = {answer.sha256, *(one.left_sha256 for one in answer.signers)}
    hashes |= set() if examined.upon is None else {*examined.upon.before_signing}
    slip = next((one for one in chain.slips if hashes & {one.signed_sha256, one.unsigned_sha256}), None)
    issued = Folder(folder)
    report = None if slip is None else issued.latest.get(slip.number)
    if slip is None or report is None or answer.overall == "failed":
        return answer
    its = {"number": report.number, "revision": report.revision}
    says, why = _said_of_slip(slip, issued.files_of(report) or {})
    detail = told(
        "slip-and-report", slip=PurePosixPath(slip.file).stem, area=slip.area, **its, says=told(f"report-{says}")
    )
    notices = [Notice("SLIP_NOT_UPHELD", told("slip-not-upheld-there", **its, why=why))] if why else []
    twelfth = answer.step(_STANDING)
    more = replace(twelfth, details=(*twelfth.details, detail), notices=(*twelfth.notices, *notices))
    return answer.with_step(more)


def _said_of_slip(slip: Report, held: Mapping[str, bytes]) -> tuple[str, Told | None]:
    """What a report that holds these files says of a slip; and why where it does not uphold it."""
    from reportgen.formats import EVALUATION_NAME
    from reportgen.issued import not_upheld_because
    from reportgen.results.codes.records import SLIP_NOT_UPHELD

    found = json.loads(held.get(EVALUATION_NAME, b"{}"))
    if not found:
        return "not-in-folder", None
    decided = {area["id"]: area["decision"] for area in found["areas"]}.get(slip.area)
    facts = (one["facts"] for one in found["findings"] if one["code"] == SLIP_NOT_UPHELD.name)
    differs = next((one["differs"] for one in facts if one["file"] == slip.file), ())
    if decided == "release" and not differs:
        return "agrees", None
    return "does-not-uphold", not_upheld_because(decided, differs)


def verification_record(verification: Verification, name: str, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the record of a verification as a PDF/A file, tagged; the same arguments give the same bytes.

    ``name`` is the name of the file that was verified; ``page`` is ``A4`` or ``letter``. UsageError for a language
    without a catalogue.
    """
    from reportgen.archival import Metadata, make_archival
    from reportgen.pipeline.building import GENERATOR
    from reportgen.report.record import record_title, render_record
    from reportgen.words.catalogue import catalogue

    pages = render_record(verification.plain(), name, page=page, language=language)
    metadata = Metadata(
        title=record_title(name, language),
        number=f"SHA-256 {verification.sha256}",
        issued=dt.datetime.fromisoformat(verification.verified_at),
        producer=GENERATOR,
        author=GENERATOR,
        subject=catalogue(language)("record.subject", sha256=verification.sha256),
        language=language,
    )
    return make_archival(pages, metadata=metadata)
