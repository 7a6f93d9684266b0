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
    ``why`` says what stands in the way of a proof or of a renewal, ``failed`` which authorities did not answer.
    """

    report: Path
    state: State
    holds_until: str | None = None
    out: Path | None = None
    number: int = 0
    why: str = ""
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Order:
    """How reports are renewed: where the renewed files go (None: nothing is written), who proves the time, what of.

    ``due`` is the time within which a proof has to end for a report to be renewed; None renews all.
    """

    into: Path | None = None
    timestamper: TimestampService | None = None
    trust: Sequence[Path] = ()
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
    answer = verify(report, trust=order.trust)
    doubts = "; ".join(reason.sentence for reason in answer.reasons)
    until = answer.holds_until
    if answer.overall == "failed" or not answer.signers:
        return Renewed(report, "not renewed", why=doubts)
    if order.due is not None and until is not None and dt.datetime.fromisoformat(until) > now() + order.due:
        return Renewed(report, "not due", until)
    if out is None or order.timestamper is None:
        return Renewed(report, "due", until, why=doubts)
    return _written(report, out, order, answer)


def _written(report: Path, out: Path, order: Order, before: Verification) -> Renewed:
    from reportgen.increments import RevocationData
    from reportgen.seal import renew_report
    from reportgen.verification import read_trusted

    pdf = report.read_bytes()
    if hashlib.sha256(pdf).hexdigest() != before.sha256:
        raise UsageError(f"{report} was changed while it was verified", help_text="renew it again")
    assert order.timestamper is not None  # noqa: S101 - asked for before
    given = RevocationData(order.crls, order.ocsps)
    made = renew_report(pdf, order.timestamper, given=given, known=read_trusted(order.trust)[0], ask=True)
    out.parent.mkdir(parents=True, exist_ok=True)
    atomicfile.write_new(out, made.pdf)
    after = verify(out, trust=order.trust)
    broken = [reason.sentence for reason in after.reasons if reason.weight == "failed"]
    if broken:
        atomicfile.remove(out)
        raise ReportgenError(f"the renewed {report} does not verify: {broken[0]}; it was not written")
    doubts = "; ".join(reason.sentence for reason in after.reasons)
    return Renewed(report, "renewed", after.holds_until, out, made.number, doubts, made.failed)
