"""Look, then sign; and what was issued: done by the slow worker, which keeps what was prepared until it is signed."""

from __future__ import annotations

import contextlib
import secrets
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.audit.own_folder import own_identities
from reportgen.browser.contents import diagnostic_text, differs_text, objection_text
from reportgen.browser.sight import MARKS
from reportgen.browser.texts import texts
from reportgen.diagnostics import Phrase
from reportgen.errors import InputError, MachineError, ReportgenError, UsageError
from reportgen.job import PLACEHOLDER

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportgen.browser.texts import Texts
    from reportgen.pipeline.preparing import Prepared
    from reportgen.seal import Identity
    from reportgen.verification.verdict import Status

WIDTH: Final = 1240
_HELD: dict[Path, Prepared] = {}
_OVERALL: Final[dict[Status, str]] = {
    "passed": "conforms", "failed": "fails", "indeterminate": "open", "not done": "none", "superseded": "open",
}  # fmt: skip


def pages_view(day: Path, language: str) -> dict[str, Any]:
    """Build the report that is to be signed, hold it, and return what will be signed; or what stands in the way."""
    from reportgen.pipeline.preparing import prepare

    say = texts(language)
    _HELD.pop(day, None)
    try:
        held = prepare(day)
    except InputError as error:
        # what is still to be filled in is named beside, with its field
        others = [one for one in error.diagnostics if one.severity == "error" and one.code != PLACEHOLDER]
        wrong = [diagnostic_text(say, one) for one in others]
        return {"ready": False, "why": wrong, **identities(day.parent)}
    except (UsageError, MachineError) as error:
        return {
            "ready": False,
            "why": [objection_text(say, error.message, error.help_text)],
            **identities(day.parent),
        }
    _HELD[day] = held
    evaluation = held.readied.checked.evaluation
    by: dict[str, list[str]] = {}
    for area in evaluation.areas:
        by.setdefault("not-inspected" if area.not_inspected is not None else area.decision, []).append(area.id)
    words = [
        f"{say(f'sign.{word}')} {', '.join(by[word])}."
        for word in ("release", "rework", "hold", "not-inspected")
        if word in by
    ]
    return {
        "ready": True, "number": held.number, "revision": held.revision, "sha256": held.sha256, "pages": held.pages,
        "signer": held.signer, "verdict": say(f"verdict.{held.verdict}"), "verdict_mark": MARKS[held.verdict],
        "warned": [diagnostic_text(say, one) for one in held.readied.checked.job.warnings],
        "areas": " ".join(words), "at": f"{held.at:%H:%M} UTC", **identities(day.parent, held.signer),
    }  # fmt: skip


def identities(contract: Path, signer: str = "") -> dict[str, Any]:
    """Return the identity files of this user that were made on a page, that of ``signer`` first, and where they are."""
    from reportgen.seal import identity_stem

    try:
        folder = own_identities(contract)
    except ReportgenError:  # it is said where one is to be made
        return {"made": [], "kept": ""}
    files = (one for one in folder.glob("*.p12") if not one.name.endswith("-root.p12"))
    made = [one.name for one in sorted(files, key=lambda one: (one.stem != identity_stem(signer), one.name))]
    return {"made": made, "kept": str(folder)}


def page_image(day: Path, sha256: str, number: int) -> bytes:
    """Return a page of what was prepared as a PNG.

    Raises:
        UsageError: something else is prepared by now, or there is no such page.
    """
    from reportgen.pipeline.preparing import page_images

    return page_images(_held(day, sha256).pdf, [number - 1], width=WIDTH, name="the pages")[0]


def _held(day: Path, sha256: str) -> Prepared:
    held = _HELD.get(day)
    if held is None or held.sha256 != sha256:
        raise UsageError("these pages are no longer at hand", help_text="look at the pages again")
    return held


def signed(day: Path, sha256: str, identity: bytes | str, passphrase: str) -> tuple[str, int]:
    """Sign and issue what was prepared; return number and revision. ``identity`` is a file's bytes, or one made here.

    Raises:
        SealError, UsageError, MachineError: as ``issue_prepared``.
    """
    from reportgen.pipeline.preparing import issue_prepared

    held = _held(day, sha256)
    issue_prepared(held, loaded_identity(day.parent, identity, passphrase))
    _HELD.pop(day, None)
    return held.number, held.revision


def loaded_identity(contract: Path, identity: bytes | str, passphrase: str) -> Identity:
    """Return the identity of a file's bytes, which are gone when it is done, or of a file that was made on a page.

    Raises:
        SealError: the passphrase is not its own. UsageError: there is none of that name.
    """
    from reportgen.errors import SealError
    from reportgen.seal import load_identity

    if isinstance(identity, str):
        known = identities(contract)
        if identity not in known["made"]:
            raise UsageError(f"no identity `{identity}` was made here")
        identity = (Path(known["kept"]) / identity).read_bytes()
    with tempfile.TemporaryDirectory(prefix="reportgen-") as folder:  # which only the user may enter
        path = Path(folder) / "identity.p12"
        path.write_bytes(identity)
        try:
            return load_identity(path, passphrase)
        except SealError as error:
            message, file = error.message, "the identity file"
            if isinstance(message, Phrase):
                raise SealError(Phrase(message.pattern, path=file), help_text=error.help_text) from None
            raise SealError(message.replace(str(path), file), help_text=error.help_text) from None
        finally:
            path.write_bytes(secrets.token_bytes(len(identity)))


def identity_made(contract: Path, name: str, organisation: str, passphrase: str) -> str:
    """Make an identity for who signs in a folder of this user's own; return its file's name.

    Raises:
        UsageError, SealError, MachineError: as ``own_identities`` and ``new_identity``.
    """
    from reportgen.pipeline import now
    from reportgen.seal import new_identity

    return new_identity(
        own_identities(contract, make=True),
        name=name,
        organisation=organisation,
        at=now(),
        years=3,
        passphrase=passphrase,
    ).signer_file.name


def inspector_of(day: Path) -> tuple[str, str]:
    """Return name and organisation of the inspector of a day, as a certificate has to state them.

    Raises:
        InputError: the day file cannot be used.
    """
    from reportgen.pipeline import check

    job = check(day).job
    return str(job.inspector.name), str(job.inspector.organisation or job.project.inspection_body.name)


# What was issued


def report_view(folder: Path, language: str, number: str, revision: int) -> dict[str, Any]:
    """Return what the page of an issued report shows; ``file`` is its path.

    Raises:
        UsageError: it was not issued here.
    """
    from reportgen.browser.report_views import countersigning
    from reportgen.pipeline.contract_state import contract_state

    say = texts(language)
    file, row = issued_file(folder, number, revision)
    state = contract_state(folder)
    shift = next((one for one in state.shifts if one.number == number), None)
    latest = shift is not None and shift.issued is not None and shift.issued.revision == revision
    differs = differs_text(say, shift.differences) if shift is not None and latest else []
    revisions = sorted({one.revision for one in _rows(folder) if one.number == number})
    return {
        "replaced": _replaced(say, shift, revision, revisions[-1]),
        "replaced_by": revisions[-1],
        "number": number, "revision": revision, "issued": say.moment(row.issued_at),
        "verdict": {"state": MARKS[row.verdict], "word": say(f"verdict.{row.verdict}")},
        "signed_by": "" if shift is None else shift.signed_by or "", "file": file.name,
        "day": "" if shift is None or shift.day is None else shift.day.stem, "latest": latest, "differs": differs,
        "begun": shift is not None and shift.revision > revision,
        "revisions": revisions,
        "body": "reportgen" if state.project is None else state.project.inspection_body.name,
        "pages": _pages(file), **countersigning(file), **identities(folder),
    }  # fmt: skip


def _replaced(say: Texts, shift: Any, revision: int, newest: int) -> str:
    """Return by what a revision is replaced, and why; nothing for the newest."""
    if newest <= revision:
        return ""
    reason = shift.reason if shift is not None and shift.issued is not None else None
    return say("state.revised", revision=newest, before=revision, reason=reason)


def _rows(folder: Path) -> list[Any]:
    from reportgen.register import read_register

    return [row.report for row in read_register(folder).chain.issued.values() if row.report]


def issued_file(folder: Path, number: str, revision: int) -> tuple[Path, Any]:
    """Return the file of an issued report and its row of the register; the file lies in the folder.

    Raises:
        UsageError: it was not issued here, or its file is gone.
    """
    row = next((one for one in _rows(folder) if (one.number, one.revision) == (number, revision)), None)
    if row is None:
        raise UsageError(f"{number} revision {revision} was not issued here")
    path = (folder / row.file).resolve()
    if not path.is_relative_to(folder.resolve()) or not path.is_file():
        raise UsageError(f"the report {row.file} is not in its place", help_text="put it back as it was issued")
    return path, row


def _pages(file: Path) -> int:
    from pypdf import PdfReader

    return len(PdfReader(file).pages)


def report_image(folder: Path, number: str, revision: int, page: int) -> bytes:
    """Return a page of an issued report as a PNG.

    Raises:
        UsageError: there is no such report, or page.
    """
    from reportgen.pipeline.preparing import page_images

    file, _ = issued_file(folder, number, revision)
    return page_images(file.read_bytes(), [page - 1], width=WIDTH, name=file.name)[0]


@contextlib.contextmanager
def checked_by(folder: Path, roots: Mapping[str, bytes], policy: bytes) -> Iterator[tuple[list[Path], Path | None]]:
    """Yield by what signatures are checked: roots as files, or a policy with the files that it names beside it.

    Where neither was given, the roots that this user made on the page of signatures.

    Raises:
        InputError: the policy is none. UsageError: it names a file that is not beside it.
    """
    kept = identities(folder)["kept"]
    own = sorted(Path(kept).glob("*-root.pem")) if kept and not roots and not policy else []
    with tempfile.TemporaryDirectory(prefix="reportgen-") as temporary:
        place, given = Path(temporary), []
        if policy:
            yield [], _stated(policy, roots, place)
            return
        for number, data in enumerate(roots.values()):
            given.append(place / f"root-{number}.pem")
            given[-1].write_bytes(data)
        yield [*own, *given], None


def _stated(policy: bytes, beside: Mapping[str, bytes], place: Path) -> Path:
    """Put a policy down with the files beside it; return where it is.

    Raises:
        InputError: it is no policy. UsageError: it names a file that is not beside it.
    """
    from reportgen.job.trust import TrustPolicy
    from reportgen.loader.template import whole

    stated = whole(TrustPolicy, policy, "policy")
    for name in (*stated.roots, *stated.timestamp_roots, *stated.crls, *stated.ocsps):
        if name not in beside or name != Path(name).name:
            raise UsageError(f"the policy names `{name}`", help_text="choose that file too, beside the policy")
    for name, data in beside.items():
        (place / Path(name).name).write_bytes(data)
    path = place / "policy.yaml"
    path.write_bytes(policy)
    return path


def verified(
    folder: Path, language: str, number: str, revision: int, roots: Mapping[str, bytes], policy: bytes = b""
) -> dict[str, Any]:
    """Verify an issued report against the register of its folder, and what a person trusts; its steps.

    Raises:
        InputError, UsageError: there is no such report; a certificate or a policy is none.
    """
    from reportgen.browser.report_views import countersigned_copies
    from reportgen.pipeline import verify
    from reportgen.words.told import said

    issued, _ = issued_file(folder, number, revision)
    file = [issued, *countersigned_copies(issued)][-1]
    with checked_by(folder, roots, policy) as (trust, stated):
        answer = verify(file, trust=trust, policy=stated, register=folder, photos=folder)
    steps = [
        {"number": step.number, "state": _OVERALL[step.status], "status": step.status, "title": step.title_in(language),
         "why": "; ".join(said(one, language) for one in [one.sentence for one in step.reasons] or step.unproven)}
        for step in answer.steps
    ]  # fmt: skip
    replaced = [said(one, language) for step in answer.steps if step.status == "superseded" for one in step.details[:1]]
    own = [] if roots or policy else [path.name for path in trust]
    return {
        "overall": answer.overall, "overall_mark": _OVERALL[answer.overall], "steps": steps,
        "reasons": [said(one.sentence, language) for one in answer.reasons] + replaced, "trusted": own,
        "given": len(roots), "policy": answer.policy_sha256, "file": file.name,
    }  # fmt: skip


def revision_begun(day: Path, reason: str) -> None:
    """Begin the next revision of an issued day.

    Raises:
        UsageError: as ``start_revision``.
    """
    from reportgen.pipeline.revising import start_revision

    start_revision(day, reason)


def entries_put_back(day: Path) -> None:
    """Put a day file back as it was issued.

    Raises:
        UsageError, MachineError: as ``put_back``.
    """
    from reportgen.pipeline.revising import put_back

    put_back(day)
