"""Many day files issued in one go: demonstrations spread over workers, registered reports one contract beside another.

A registered report states the head of its contract's register, so those of one contract follow each other.
"""

from __future__ import annotations

import multiprocessing
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from reportgen.errors import ReportgenError, UsageError
from reportgen.pipeline.workers import Spread

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from reportgen.increments import RevocationData
    from reportgen.pipeline.issuing import Written
    from reportgen.seal import Identity, TimestampService


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one day file: the report that was written, or why there is none (``exit_code`` other than 0)."""

    day: Path
    path: Path | None = None
    number: str = ""
    revision: int = 0
    verdict: str = ""
    pages: int = 0
    sha256: str = ""
    notices: tuple[str, ...] = ()
    failure: str = ""
    exit_code: int = 0


@dataclass(frozen=True, slots=True)
class Order:
    """What all reports of a batch have in common: where they go (None: where each goes by itself), template, time."""

    folder: Path | None = None
    template: str | None = None
    at: dt.datetime | None = None


def issue_demonstrations(
    days: Sequence[Path], order: Order, spread: Spread, *, progress: Callable[[int, int], None] | None = None
) -> list[Outcome]:
    """Write a demonstration for each day file; one that cannot be written costs only itself. In the order given.

    Raises:
        UsageError: a file is named twice, or two would be written under one name.
    """
    _require_different(days, [_name(day) for day in days] if order.folder else list(days))
    work = partial(_demonstration, order)
    return _in_order(days, spread.finished(work, list(days)), progress)


def issue_registered(
    days: Sequence[Path],
    identity: Identity,
    order: Order,
    spread: Spread,
    *,
    timestamper: TimestampService | None = None,
    revocation: RevocationData | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> list[Outcome]:
    """Issue each day file; contract folders beside each other, the days of one folder one after the other.

    Raises:
        UsageError: a file is named twice, or a cluster is named: the key does not leave the machine.
    """
    if spread.scheduler is not None:
        raise UsageError(
            "registered reports are signed on this machine: a signer's key is not sent to a cluster",
            help_text="leave --scheduler out; or issue demonstrations there",
        )
    _require_different(days, [day.resolve() for day in days])
    folders: dict[Path, list[Path]] = {}
    for day in days:
        folders.setdefault(day.parent.resolve(), []).append(day)
    _AT_HAND.update(identity=identity, timestamper=timestamper, revocation=revocation)
    try:
        where = spread if "fork" in multiprocessing.get_all_start_methods() else Spread(1)
        found = (one for part in where.finished(partial(_contract, order), list(folders.values())) for one in part)
        return _in_order(days, found, progress)
    finally:
        _AT_HAND.clear()


def _require_different(days: Sequence[Path], names: Sequence[Path | str]) -> None:
    for place, name in enumerate(names):
        if name in names[:place]:
            raise UsageError(f"{days[place]} is named twice, or is written under the same name as another")


def _name(day: Path) -> str:
    return f"{day.resolve().parent.name}-{day.stem}-demonstration.pdf"


_AT_HAND: dict[str, Any] = {}
"""Identity, timestamp service, revocation data: a forked worker inherits them, so that no key is written to a pipe."""


def _in_order(
    days: Sequence[Path], found: Iterable[Outcome], progress: Callable[[int, int], None] | None
) -> list[Outcome]:
    by_day: dict[Path, Outcome] = {}
    for done, one in enumerate(found, start=1):
        by_day[one.day] = one
        if progress is not None:
            progress(done, len(days))
    return [by_day[day] for day in days]


def _contract(order: Order, days: list[Path]) -> list[Outcome]:
    from reportgen.pipeline.issuing import issue

    work = partial(issue, template=order.template, **_AT_HAND)
    return [_settled(day, work) for day in days]


def _demonstration(order: Order, day: Path) -> Outcome:
    from reportgen.pipeline.issuing import issue_demonstration

    out = None if order.folder is None else order.folder / _name(day)
    return _settled(day, partial(issue_demonstration, out=out, at=order.at, template=order.template))


def _settled(day: Path, write: Callable[[Path], Written]) -> Outcome:
    """Return what became of a day; its own failure is part of the answer."""
    try:
        written = write(day)
    except ReportgenError as failure:
        return Outcome(day, failure=failure.message, exit_code=failure.exit_code)
    report = written.checked.evaluation.report
    return Outcome(
        day,
        written.path,
        report.number,
        report.revision,
        written.checked.evaluation.verdict,
        written.pages,
        written.sha256,
        written.notices,
    )
