"""A lost or damaged register, made again from the reports.

What can be told from the reports alone is told in the very bytes of the lost rows, and each later report proves it by
the head it holds. Where that proof fails, because rows of failed runs are in no report, a ``rebuilt`` row states the
head which the next report proves, so that no report is contradicted and the loss stays visible.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.errors import UsageError
from reportgen.names import file_stem
from reportgen.register.chain import REGISTER_NAME, Chain, RegisterError, read_chain
from reportgen.register.check import contradictions, copied_of
from reportgen.register.journal import read_all
from reportgen.register.lock import PATIENCE, close_locked, open_locked
from reportgen.register.rows import NO_ROW, Row, encode_row, report_of, utc_text
from reportgen.register.together import forks, told_apart_by
from reportgen.words.told import told

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from reportgen.register.check import Witness
    from reportgen.register.rows import Event
    from reportgen.words.told import Told

_NOTE = "rows lost; rebuilt from the reports"
_WHICH_TO_KEEP = "leave out the report that is not genuine; of two genuine ones, keep the one to stand"


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The outcome: how many reports and release slips the register now has, how many rows were kept, and what is lost,
    in sentences.

    ``kept_aside`` is the name under which the old register stays, None when there was none.
    """

    reports: int
    slips: int
    rows_kept: int
    losses: tuple[Told, ...]
    kept_aside: str | None


def rebuild_register(
    folder: Path, witnesses: Iterable[Witness], *, at: dt.datetime, patience: float = PATIENCE
) -> Rebuilt:
    """Write the register of ``folder`` anew from what is sound of it and from verified reports.

    Give every report there is: one left out is missing afterwards. The old register stays beside it. ``at`` is the time
    of the rebuilding.

    Raises ``UsageError`` when the register is sound and agrees with the reports, or when two reports contradict each
    other; ``MachineError`` when the disk fails. Then nothing is changed.
    """
    path = folder / REGISTER_NAME
    ordered = sorted(witnesses, key=lambda witness: witness.entry.head.sequence)
    if not ordered:
        raise UsageError("there is no report to rebuild the register from")
    try:
        descriptor = open_locked(path, patience)
        try:
            old = read_all(descriptor)
            builder = _rebuilt(old, ordered, at)
            aside = path.with_name(f"register-before-{utc_text(at).replace(':', '')}.jsonl") if old else None
            if aside is not None:
                atomicfile.write_new(aside, old)
            atomicfile.write_replacing(path, b"".join(line + b"\n" for line in builder.lines))
        finally:
            close_locked(descriptor, path)
    except OSError as error:
        raise atomicfile.refusal(error, path) from error
    chain = builder.chain
    kept_aside = aside.name if aside else None
    return Rebuilt(len(chain.issued), len(chain.slips), builder.kept, tuple(builder.losses), kept_aside)


class _Builder:
    """A chain under construction with its lines and what could not be told."""

    def __init__(self, sound: Sequence[Row]) -> None:
        self.chain = Chain()
        self.lines: list[bytes] = []
        self.losses: list[Told] = []
        for row in sound:
            self._add(row)
        self.kept = len(sound)

    def _add(self, row: Row) -> None:
        line = encode_row(row)
        self.chain.add(row, line)
        self.lines.append(line)

    def add_report(self, witness: Witness, at: str) -> None:
        """Append the rows of a report, after a ``rebuilt`` row when it proves that others were there."""
        head = witness.entry.head
        if head != self.chain.head:
            what = witness.issue.title
            self.losses.append(told("rows-not-as-they-were", what=what, row=head.sequence))
            previous = self.chain.head.sha256
            lost = Row("rebuilt", head.sequence, previous, note=_NOTE, recovered_at=at, original_sha256=head.sha256)
            self._add(lost)
        report = report_of(witness.entry, file=witness.file, size=witness.size, signed_sha256=witness.signed_sha256)
        events: tuple[Event, ...] = ("intent", "issued") if report.area is None else ("slip",)
        for event in events:
            self._add(self.chain.next_row(Row(event, 0, NO_ROW, report)))


def _rebuilt(old: bytes, ordered: Sequence[Witness], at: dt.datetime) -> _Builder:
    try:
        chain, whole = read_chain(old).chain, bool(old)
    except RegisterError as fault:
        chain, whole = fault.sound, False
    chain.require_read()
    if whole and not any(contradictions(chain, witness) for witness in ordered):
        raise UsageError(f"`{REGISTER_NAME}` is sound and agrees with the reports: there is nothing to rebuild")
    for fork in forks([one.issue for one in ordered]):
        files = tuple(f"`{ordered[place].file}`" for place in fork.issues)
        raise UsageError(told("rebuild-forked", why=fork.sentence, files=files), help_text=_WHICH_TO_KEEP)
    builder = _Builder(_trusted_rows(chain, ordered))
    for witness in _as_issued(chain, ordered):
        if _has(builder.chain, witness):
            continue
        try:
            builder.add_report(witness, utc_text(at))
        except ValueError as clause:
            what = f"`{witness.file}` ({witness.issue.title})"
            raise UsageError(
                f"{what} contradicts the other reports: its row {clause}",
                help_text=_WHICH_TO_KEEP,
            ) from None
    return builder


def _has(chain: Chain, witness: Witness) -> bool:
    """Whether a chain has the file of a report or slip, or one that it is a copy of."""
    rows = (*chain.issued.values(), *(row for row in chain.rows if row.event == "slip"))
    own = any(row.report and row.report.signed_sha256 == witness.signed_sha256 for row in rows)
    return own or copied_of(chain, witness) is not None


def _as_issued(chain: Chain, ordered: Sequence[Witness]) -> Iterable[Witness]:
    """Return of the copies of each issue the one that was issued, as far as a row, old or left by it, shows which.

    Where that shows several or none, it is the one that is called as a report is when it is issued.
    """
    heads = {one.entry.head.sha256 for one in ordered}
    registered = {row.report.signed_sha256 for row in chain.rows if row.report is not None}
    kept: dict[str, tuple[tuple[bool, bool], Witness]] = {}
    for own, one in zip(told_apart_by([one.issue for one in ordered]), ordered, strict=True):
        report = report_of(one.entry, file=one.file, size=one.size, signed_sha256=one.signed_sha256)
        left = replace(one.issue, report=report).lying_at(one.file)
        shown = one.signed_sha256 in registered or left.path_in(heads) is not None
        rank = shown, PurePosixPath(one.file).name == f"{file_stem(one.issue)}.pdf"
        if own not in kept or rank > kept[own][0]:
            kept[own] = (rank, one)
    return [one for _, one in kept.values()]


def _trusted_rows(chain: Chain, ordered: Sequence[Witness]) -> list[Row]:
    """Return the rows of a chain that no report contradicts, without an intent left open at their end."""
    proofs = [w for w in ordered if chain.hashes.get(w.entry.head.sequence) == w.entry.head.sha256]
    doubts = [(doubt, w) for w in ordered if (doubt := _first_doubt(chain, w)) is not None]
    rows = chain.rows
    if doubts:
        doubt, doubter = min(doubts, key=lambda pair: pair[0])
        proven = max((w.entry.head.sequence for w in proofs), default=0)
        if proven >= doubt:
            raise UsageError(
                f"`{doubter.file}` and `{proofs[-1].file}` were issued upon registers that exclude each other",
                help_text=_WHICH_TO_KEEP,
            )
        rows = [row for row in rows if row.sequence <= proven]
    return rows[:-1] if rows and rows[-1].event == "intent" else rows


def _first_doubt(chain: Chain, witness: Witness) -> int | None:
    """Return the first row that a report shows to be another one than it was, None when it shows none."""
    head = witness.entry.head
    if head.sequence > chain.head.sequence:
        return None
    if chain.hashes.get(head.sequence) != head.sha256:
        return head.sequence
    if head.sequence == chain.head.sequence or not contradictions(chain, witness):
        return None
    return head.sequence + 1
