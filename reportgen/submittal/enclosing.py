"""Which files a submittal encloses, under which names, and what becomes of each beside the others. No file, no page."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import TYPE_CHECKING, Literal, NamedTuple

from reportgen.errors import UsageError
from reportgen.issued import (
    COUNTING,
    by_the_same,
    filed,
    issued_once,
    lacking,
    outcomes,
    rank_of_alike,
    rank_of_copy,
    signed_apart,
)
from reportgen.names import file_stem, look_alike, spelling, told_apart
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.issued import Examined, Filed, Lacking, Outcome, Place, ReportRecord, Standing
    from reportgen.verification import Verification
    from reportgen.words.told import Told


@dataclass(frozen=True, slots=True)
class Enclosed:
    """A report with its record, the name it gets inside the submittal, and what becomes of it beside the others.

    ``beside`` is the revision that supersedes it, sets it aside or disputes it, or that it may not revise. A ``copy``
    is one more file of a report that was issued once and signed by several people apart. ``lacks`` is what it revises
    and is not enclosed.
    """

    file: str
    examined: Examined
    record: ReportRecord
    standing: Standing
    place: Place | Literal["copy"]
    beside: int | None = None
    lacks: Lacking | None = None

    @property
    def counts(self) -> bool:
        """Whether what the report says counts."""
        return self.place in COUNTING

    @property
    def counted(self) -> bool:
        """Whether it counts, or did until a revision replaced it."""
        return self.counts or self.place == "superseded"


@dataclass(frozen=True, slots=True)
class _Report:
    """One report as it was issued: the copy of it that speaks, the others to enclose, and what it claims to be."""

    record: ReportRecord
    files: tuple[Examined, ...]
    claim: Filed


def enclosed(examined: Sequence[Examined]) -> list[Enclosed]:
    """Return the files to enclose in the order of the contract, each once.

    Of the copies of a report that was issued once, one is left out only where another has all its signatures, whatever
    nobody signs in it, by the same certificates, and is proven no worse. Of the others the better proven one speaks, of
    equal ones that with more signatures.

    Raises:
        UsageError: when there is none, they belong to several contracts, or one revision lies there in two versions of
        which neither is better proven.
    """
    order = attrgetter("record.date", "record.number", "record.revision")
    reports = sorted(_reports(examined), key=order)
    contracts = _contracts(reports)
    if not reports:
        raise UsageError("there is no report to submit")
    if len(contracts) > 1:
        raise UsageError(
            f"the reports belong to {len(contracts)} contracts ({', '.join(_told_apart([*contracts.values()]))})",
            help_text="make a submittal for each",
        )
    placed = _placed(reports)
    files = [(report, one) for report in reports for one in report.files]
    records = [report.record for report, _ in files]
    stems = [file_stem(one) for one in records]
    # no two names alike, also where capitals do not count, as in `-R1` and `-r1`
    often = Counter(map(str.casefold, stems))
    found = []
    for stem, (report, one) in zip(stems, files, strict=True):
        name = f"{stem}.pdf" if often[stem.casefold()] == 1 else f"{stem}-{one.verification.sha256[:8]}.pdf"
        outcome, beside, lacks = placed[report.claim.hashes[0]]
        place: Place | Literal["copy"] = outcome.place if one is report.files[0] else "copy"
        found.append(Enclosed(name, one, report.record, report.claim.standing, place, beside, lacks))
    return found


def fields_signed_apart(reports: Iterable[Enclosed]) -> Iterator[Told]:
    """Yield a sentence for each field that copies of one report have signed with several certificates.

    ``reports`` are as ``enclosed`` returns them: further copies stand behind the one that speaks.
    """
    copies: list[tuple[Told, dict[str, Verification]]] = []
    for one in reports:
        if one.place != "copy":
            copies.append((told("a-revision", number=one.record.number, revision=one.record.revision), {}))
        copies[-1][1][one.file] = one.examined.verification
    yield from (each.sentence(title) for title, several in copies for each in signed_apart(several))


def _contracts(reports: Sequence[_Report]) -> dict[str, str]:
    """Return the numbers of the contracts, each once however it is written, by how it is compared."""
    return {spelling(one) or one: one for one in (report.record.contract for report in reports)}


def _told_apart(names: Sequence[str]) -> list[str]:
    """Return names with the code points of what tells one from another that looks the same."""
    return [next((told_apart(one, other) for other in names if look_alike(one, other)), one) for one in names]


def _reports(examined: Iterable[Examined]) -> list[_Report]:
    given = _given(examined)
    found = []
    for places in issued_once([one.claim.signed for one in given]):
        copies = sorted((given[place] for place in places), key=lambda one: one.rank)
        kept = _needed(copies)
        hashes = dict.fromkeys(digest for one in (*kept, *copies) for digest in one.claim.hashes)
        claim = replace(kept[0].claim, hashes=tuple(hashes))
        found.append(_Report(kept[0].record, tuple(one.examined for one in kept), claim))
    return found


def _given(examined: Iterable[Examined]) -> list[_GivenCopy]:
    """Return the files of reports, each content once."""
    files = {one.verification.sha256: (one, one.record) for one in examined if one.record is not None}
    rows = {one.upon.sha256 for one, _ in files.values() if one.upon is not None}
    named = {record.supersedes_sha256 or "" for _, record in files.values()}
    return [
        _GivenCopy(
            one, record, filed(one.verification, record), one.upon is not None and one.upon.is_shown(rows, named)
        )
        for one, record in files.values()
    ]


def _needed(copies: Sequence[_GivenCopy]) -> list[_GivenCopy]:
    """Return the copies of which no other has all signatures; of those alike the best proven one, then the issued."""
    first = sorted(copies, key=lambda one: one.rank_of_alike)
    spare = [one for place, one in enumerate(first) if any(other.is_as(one) for other in first[:place])]
    return [one for one in copies if one not in spare and not any(other.holds(one) for other in copies)]


class _GivenCopy(NamedTuple):
    """A file of a report, what it claims to be, and whether others show that it is the one that was issued."""

    examined: Examined
    record: ReportRecord
    claim: Filed
    shown: bool

    @property
    def rank(self) -> tuple[bool, bool, int, int, str]:
        """By what it stands behind other copies, least first; last the hash, as names and folders say nothing."""
        return *rank_of_copy(self.claim.standing, len(self.claim.hashes)), self.examined.verification.sha256

    @property
    def rank_of_alike(self) -> tuple[object, ...]:
        """By what it stands behind copies with the same signatures: the one that was issued where no proof decides."""
        answer = self.examined.verification
        copied = any(one.name == "WRITTEN_OTHERWISE" for one in answer.notices)  # so a register says
        proven = rank_of_alike([one.proven_time for one in answer.signers], answer.holds_until)
        return *self.rank[:-1], *proven, copied, not self.shown, answer.sha256

    def holds(self, one: _GivenCopy) -> bool:
        """Say whether it has all signatures of another and more, and is proven no worse."""
        return one.claim.hashes[-1] in self.claim.hashes[:-1] and self.claim.standing.at_least(one.claim.standing)

    def is_as(self, one: _GivenCopy) -> bool:
        """Say whether it differs from another in what nobody signs alone, not in who signed, and is proven no worse."""
        mine, theirs = self.examined.verification, one.examined.verification
        signed = bool(mine.covered) and mine.covered == theirs.covered
        return signed and by_the_same(mine, theirs) and self.claim.standing.at_least(one.claim.standing)


def _placed(reports: Sequence[_Report]) -> dict[str, tuple[Outcome, int | None, Lacking | None]]:
    """Return by hash, as issued, what becomes of each report, beside which revision of its number; what it lacks."""
    by_number: dict[str, list[_Report]] = {}
    for report in reports:
        by_number.setdefault(report.record.number, []).append(report)
    placed = {}
    for same in by_number.values():
        claims = [report.claim for report in same]
        found = outcomes(claims)
        _refuse_duplicates([report for report, one in zip(same, found, strict=True) if one.place not in _NO_CLAIM])
        for report, one, lacks in zip(same, found, lacking(claims), strict=True):
            beside = max((same[number].record.revision for number in one.beside), default=None)
            placed[report.claim.hashes[0]] = (one, beside, lacks)
    return placed


_NO_CLAIM = frozenset({"set aside", "not entitled"})


def _refuse_duplicates(reports: Sequence[_Report]) -> None:
    seen: dict[int, _Report] = {}
    for report in reports:
        first = seen.setdefault(report.record.revision, report)
        if first is not report:
            files = (one.files[0].verification for one in (first, report))
            verdicts = " and ".join(f"{file.sha256[:12]}…, {file.overall}" for file in files)
            raise UsageError(
                f"there are two different files for {report.record.title} (SHA-256 {verdicts}), neither better proven",
                help_text="leave one out, or name with --trust the authority of the one that is genuine",
            )
