"""Renew: validation data and a timestamp over a whole report, so that it still verifies when its certificates end."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from reportgen import atomicfile
from reportgen.errors import ReportgenError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.verifying import verify
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from reportgen.seal import TimestampService
    from reportgen.verification import Verification

State = Literal["renewed", "due", "not due", "not renewed"]


@dataclass(frozen=True, slots=True)
class Renewed:
    """What became of one report.

    ``holds_until`` is when its proof ends, after a renewal that of the renewed file; None where it does not pass.
    ``why`` says in sentences what stands in the way of a proof or of a renewal, ``failed`` which authorities did not
    answer.
    """

    report: Path
    state: State
    holds_until: str | None = None
    out: Path | None = None
    number: int = 0
    why: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Order:
    """How reports are renewed: where the renewed files go (None: nothing is written), who proves the time, what of.

    ``due`` is the time within which a proof has to end for a report to be renewed; None renews all. ``policy`` names
    whom to trust instead of ``trust``; its revocation data is taken with what ``crls`` and ``ocsps`` (DER) are given.
    """

    into: Path | None = None
    timestamper: TimestampService | None = None
    trust: Sequence[Path] = ()
    policy: Path | None = None
    due: dt.timedelta | None = None
    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()


def renew(given: Sequence[Path], order: Order, *, progress: Callable[[int, int], None] | None = None) -> list[Renewed]:
    """Return what became of each report of ``given``, files or folders of them, in the order of their names.

    A renewed file has the name of its report, below ``order.into``; nothing is overwritten, and no report is changed.
    A report that fails is not renewed: that would prove for longer what is not so.

    Raises:
        UsageError: a file cannot be read, two would be written under one name, or one exists. MachineError: the disk
            or the timestamp service failed; what was written before stays.
    """
    places = list(_places(given, order.into))
    targets = [out for _, out in places if out is not None]
    for target, count in Counter(targets).items():
        if count > 1:
            raise UsageError(f"two reports would be written to {target}", help_text="renew them one after the other")
        if target.exists():
            raise UsageError(f"{target} exists and is not overwritten", help_text="name a new folder with --into")
    found = []
    for done, (report, out) in enumerate(places):
        if progress is not None:
            progress(done, len(places))
        found.append(_one(report, out, order))
    return found


def _places(given: Sequence[Path], into: Path | None) -> Iterator[tuple[Path, Path | None]]:
    """Yield each report and where its renewed file goes."""
    for one in given:
        if not one.is_dir():
            yield one, None if into is None else into / one.name
            continue
        inside = sorted(path for path in one.rglob("*.pdf") if path.is_file())
        if not inside:
            raise UsageError(f"the folder {one} holds no PDF")
        yield from ((path, None if into is None else into / path.relative_to(one)) for path in inside)


def _one(report: Path, out: Path | None, order: Order) -> Renewed:
    answer = verify(report, trust=order.trust, policy=order.policy)
    doubts = tuple(reason.sentence for reason in answer.reasons)
    until = answer.holds_until
    if answer.overall == "failed" or not answer.signers:
        return Renewed(report, "not renewed", why=doubts)
    if order.due is not None and until is not None and dt.datetime.fromisoformat(until) - now() > order.due:
        return Renewed(report, "not due", until)
    if out is None or order.timestamper is None:
        return Renewed(report, "due", until, why=doubts)
    return _written(report, out, order, answer)


def _written(report: Path, out: Path, order: Order, before: Verification) -> Renewed:
    from reportgen.increments import RevocationData
    from reportgen.results.signatories import renewal_field
    from reportgen.seal import renew_report
    from reportgen.verification import read_trusted
    from reportgen.verification.policy import Policy, read_policy
    from reportgen.verification.signatures import untimely_stamp

    pdf = report.read_bytes()
    if hashlib.sha256(pdf).hexdigest() != before.sha256:
        raise UsageError(f"{report} was changed while it was verified", help_text="renew it again")
    assert order.timestamper is not None  # noqa: S101 - asked for before
    believed = Policy.trusting(order.trust) if order.policy is None else read_policy(order.policy)
    given = RevocationData((*order.crls, *believed.crls), (*order.ocsps, *believed.ocsps))
    known = read_trusted((*believed.roots, *believed.timestamp_roots))[0]
    made = renew_report(pdf, order.timestamper, given=given, known=known, ask=True)
    if wrong := untimely_stamp(made.pdf, now()):
        return Renewed(report, "not renewed", why=(told("clock-advice", why=wrong),))
    out.parent.mkdir(parents=True, exist_ok=True)
    atomicfile.write_new(out, made.pdf)
    after = verify(out, trust=order.trust, policy=order.policy)
    broken = [reason.sentence for reason in after.reasons if reason.weight == "failed"]
    if broken:
        atomicfile.remove(out)
        raise ReportgenError(f"the renewed {report} does not verify: {broken[0]}; it was not written")
    idle = [one for one in after.steps[5].unproven if one.startswith(f"{renewal_field(made.number)}:")]
    untimely = [one for one in after.reasons if one.name == "SIG_CONSTRAINTS_FAILURE" and one not in before.reasons]
    if untimely:
        atomicfile.remove(out)
        return Renewed(report, "not renewed", why=(told("clock-advice", why=untimely[0].sentence),))
    if idle and believed.roots:
        atomicfile.remove(out)
        return Renewed(report, "not renewed", why=(told("renewal-idle", what=idle[0]),))
    doubts = tuple(reason.sentence for reason in after.reasons)
    return Renewed(report, "renewed", after.holds_until, out, made.number, doubts, made.failed)
