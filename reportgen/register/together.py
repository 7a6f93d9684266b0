"""What several reports say of the register that they were issued upon: whether it forked, and what is lacking.

Each signed report holds the row that it followed, whether or not anybody still has the register.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelling
from reportgen.register.journal import NOTE_ON_RECOVERY
from reportgen.register.rows import Report, Row, encode_row
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Collection, Container, Iterable, Iterator, Sequence

    from reportgen.register.chain import Chain
    from reportgen.register.rows import Entry


_A_DAY: Final = 86_400
_LATER: Final = dt.timedelta(minutes=10)
"""What a start may take from the time that its report states until it has opened the register."""
_CLOCK: Final = dt.timedelta(hours=1)
_MOST_SEARCHES: Final = 20
"""Interruptions are rare, and each search takes a second or two."""
_MOMENT: Final = "%Y-%m-%dT%H:%M:%SZ"
_AT: Final = "0000-00-00T00:00:00Z"
_FOLDERS_ABOVE: Final = 6
"""The register may lie in as many folders above a file, or in one beside these, or one below that."""
_ABOVE: Final = "../"


@dataclass(frozen=True, slots=True)
class Issue:
    """A report, or the release slip of an ``area``: as first signed, and the row of a register that it followed.

    ``contract`` and ``pattern`` of the numbers are those of its project file, where it is known; ``report`` is what the
    row that it left says, in which its path is one of ``files``, or of those at which its file ``lies``. ``covered``
    is the SHA-256 of what its signature covers: files that have it in common are copies of one issue.
    """

    number: str
    revision: int
    sequence: int
    sha256: str
    signed_sha256: str
    area: str | None = None
    contract: str = ""
    pattern: str | None = None
    report: Report | None = None
    files: tuple[str, ...] = ()
    lies: tuple[str, ...] = ()
    covered: str = ""

    @property
    def upon(self) -> tuple[int, str]:
        """The row, by its number and hash."""
        return self.sequence, self.sha256

    @property
    def title(self) -> Told:
        """Which report or slip it is."""
        if self.area is not None:
            return told("a-slip", area=self.area, number=self.number)
        return told("a-revision", number=self.number, revision=self.revision)

    @property
    def reports(self) -> Iterator[Report]:
        """What the row that it left can say."""
        if self.report is not None:
            yield from (replace(self.report, file=file) for file in dict.fromkeys((*self.files, *self.lies)))

    def lying_at(self, path: str) -> Issue:
        """Return the issue whose file is at a full ``path``: under some folder above it, or beside or below such."""
        parts = path.replace("\\", "/").split("/")[-_FOLDERS_ABOVE:]
        ends = ["/".join(parts[place:]) for place in reversed(range(len(parts)))]
        usual = [f"{folder}/{parts[-1]}" for folder in ("reports", "reports/slips")]
        return replace(self, lies=(*usual, *(up + end for up in ("", _ABOVE, 2 * _ABOVE) for end in ends)))

    @property
    def before_signing(self) -> tuple[str, ...]:
        """The SHA-256 of the pages with their data before they were signed, where that is known."""
        return () if self.report is None else (self.report.unsigned_sha256,)

    @property
    def series(self) -> str:
        """What is the same of all that is numbered in one register; empty where its contract is not known."""
        contract = spelling(self.contract) or self.contract
        return contract and f"{contract} {self.pattern or stem(self.number)}"

    @property
    def leaves(self) -> int:
        """The number of the last row that it left."""
        return self.sequence + (2 if self.area is None else 1)

    def follows(self, before: Sequence[Issue]) -> bool:
        """Say whether one of those ``before`` can have left the row that it followed, by what they say."""
        told_of = [one for one in before if one.report is not None]
        return not told_of or any(one.path_in({self.sha256}) is not None for one in told_of)

    def path_in(self, rows: Collection[str]) -> str | None:
        """Return the path that the last row states which it left, where that is one of ``rows`` by its hash."""
        return next((file for file, sha256 in self.rows_left() if sha256 in rows), None)

    def rows_left(self) -> Iterator[tuple[str, str]]:
        """Yield the paths that the last row can state which it left, each with the hash that it has then."""
        for report in self.reports:
            for back in (False, True):
                row = Row("slip" if self.area is not None else "intent", self.sequence + 1, self.sha256, report, back)
                if self.area is None:
                    row = Row("issued", self.sequence + 2, _digest(row), report, back)
                yield report.file, _digest(row)

    def is_shown(self, rows: Collection[str], named: Container[str]) -> bool:
        """Say whether this is the very file that was issued: others state the row that it left, or name it."""
        return self.signed_sha256 in named or self.path_in(rows) is not None

    def closes(self, before: Sequence[Issue]) -> bool:
        """Say whether the row that it followed closes one of those ``before``, which was interrupted."""
        return any(one.is_closed_before(self) for one in before)

    def is_closed_before(self, following: Issue) -> bool:
        """Say whether the row that an issue followed closes this one, which was interrupted, as a later start does.

        The row says when that was: most often right after the interruption, or right before what was issued next. A day
        after the one and a day before the other are tried, of a machine whose clock was never set back.
        """
        if self.report is None or following.report is None or self.area is not None:
            return False
        first = dt.datetime.fromisoformat(self.report.issued_at)
        last = dt.datetime.fromisoformat(following.report.issued_at) + _LATER
        seconds = int((last - first).total_seconds()) + 1
        moments = dict.fromkeys([*range(min(seconds, _A_DAY)), *range(max(0, seconds - _A_DAY), seconds)])
        times = [(first + dt.timedelta(seconds=after)).strftime(_MOMENT).encode() for after in moments]
        for report in (one for one in self.reports if not one.file.startswith(_ABOVE)):
            previous = _digest(Row("intent", self.sequence + 1, self.sha256, report))
            row = Row("issued", self.sequence + 2, previous, report, note=NOTE_ON_RECOVERY, recovered_at=_AT)
            begins, _, ends = encode_row(row).partition(_AT.encode())
            beginning = hashlib.sha256(begins)
            for moment in times:
                whole = beginning.copy()
                whole.update(moment + ends)
                if whole.hexdigest() == following.sha256:
                    return True
        return False


class Fork(NamedTuple):
    """Issues, by their places, whose rows do not fit together, why not, and those of them that this speaks of."""

    issues: tuple[int, ...]
    sentence: Told
    about: tuple[int, ...]


def told_apart_by(issues: Sequence[Issue]) -> list[str]:
    """Return by what each issue is told apart from others: what its signature covers.

    A row of a register does not state that. It is of the file that it states the hash of, or of a copy whose pages
    before it was signed, and size, are those that it states.
    """
    covered = {own: one.covered for one in issues if one.covered for own in _names(one)}
    return [
        one.covered or next((covered[own] for own in _names(one) if own in covered), one.signed_sha256)
        for one in issues
    ]


def _names(issue: Issue) -> Iterator[object]:
    yield issue.signed_sha256
    if issue.report is not None:
        yield issue.report.unsigned_sha256, issue.report.size


def forks(issues: Sequence[Issue]) -> list[Fork]:
    """Return the rows upon which more than one was issued, in the order of the issues.

    Copies of one issue are one. Whatever came first stands upon no row, as each register begins so: but a release slip
    and the report of its number are never both the first.
    """
    followed: dict[tuple[int, str, tuple[str, ...]], dict[str, int]] = {}
    own = told_apart_by(issues)
    for place, one in enumerate(issues):
        first: tuple[str, ...] = () if one.sequence else (spelling(one.contract) or one.contract, one.number)
        if one.sequence or one.contract:
            followed.setdefault((*one.upon, first), {}).setdefault(own[place], place)
    several = [(row, first, tuple(same.values())) for (row, _, first), same in followed.items() if len(same) > 1]
    return [
        Fork(
            places,
            told(
                "register-forked-first" if first else "register-forked",
                issues=tuple(issues[place].title for place in places),
                row=row,
            ),
            places,
        )
        for row, first, places in several
        if not first or len({issues[place].area is None for place in places}) > 1
    ]


def astray(issues: Sequence[Issue], known: Collection[tuple[int, str]] = ()) -> list[Fork]:
    """Return issues upon a row that none of those can have left which come right before it, by what they say; and of
    others those upon one row of each series that is not the same for all, the first of its kind.

    Only what is numbered in one series is compared. The path under which a file was issued may be none that is tried,
    and what a repair wrote none that is found: it is for a person to ask, and nothing is said of rows that are
    ``known``, being in a register that is given.
    """
    before: dict[tuple[str, int], list[int]] = {}
    for place, one in enumerate(issues):
        before.setdefault((one.series, one.leaves), []).append(place)
    upon = {place: before.get((one.series, one.sequence), []) for place, one in enumerate(issues)}
    compared = [place for place, one in enumerate(issues) if one.series and one.sequence]
    left = {place: [issues[other] for other in upon[place]] for place in compared}
    unknown = [place for place in compared if issues[place].upon not in known]
    stray = [place for place in unknown if not issues[place].follows(left[place])]
    stray = [place for place in stray[:_MOST_SEARCHES] if not issues[place].closes(left[place])] + stray[
        _MOST_SEARCHES:
    ]
    found = []
    for place in stray:
        one, earlier = issues[place], tuple(dict.fromkeys(other.title for other in left[place]))
        sentence = told("issued-astray", what=one.title, row=one.sequence, earlier=earlier)
        found.append(Fork((*upon[place], place), sentence, (place,)))
    return [*found, *_unlike(issues, sorted(set(compared) - set(stray)))]


def _unlike(issues: Sequence[Issue], compared: Sequence[int]) -> Iterator[Fork]:
    """Yield of each series the issues upon the first row that is not one row: each after it differs too."""
    rows: dict[tuple[str, int], dict[str, int]] = {}
    own = told_apart_by(issues)
    for place in compared:
        one = issues[place]
        rows.setdefault((one.series, one.sequence), {}).setdefault(own[place], place)
    told_of: set[str] = set()
    for (series, row), same in sorted(rows.items()):
        places = tuple(same.values())
        if series not in told_of and len({issues[place].sha256 for place in places}) > 1:
            told_of.add(series)
            titles = tuple(issues[place].title for place in places)
            yield Fork(places, told("register-rows-unlike", issues=titles, row=row), places)


def turned_back(issues: Sequence[Issue]) -> list[tuple[int, int]]:
    """Return, by their places, issues that state an earlier time than one before them in their register, with that one.

    Their register is one where each followed the row that the other left, by its hash, or one that followed that in
    turn. A clock may be put right by an hour.
    """
    series: dict[str, list[int]] = {}
    for place in sorted(range(len(issues)), key=lambda place: issues[place].sequence):
        if issues[place].series and issues[place].report is not None:
            series.setdefault(issues[place].series, []).append(place)
    return sorted(pair for places in series.values() for pair in in_one_series(issues, places))


def in_one_series(issues: Sequence[Issue], places: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield those of one series, whose places are in the order of their rows."""
    rows = {place: row for place in places if (row := issues[place].report) is not None}
    times = {place: dt.datetime.fromisoformat(row.issued_at) for place, row in rows.items()}
    highest = accumulate((times[place] for place in places), max)
    if all(times[place] + _CLOCK >= high for place, high in zip(places, highest, strict=True)):
        return  # no hash is needed
    left: dict[int, list[int]] = {}
    latest: dict[int, int] = {}
    for place in places:
        one = issues[place]
        before = [other for other in left.get(one.sequence, ()) if issues[other].path_in({one.sha256}) is not None]
        newest = max((latest[other] for other in before), key=times.__getitem__, default=place)
        if times[place] + _CLOCK < times[newest]:
            yield place, newest
        latest[place] = max(newest, place, key=times.__getitem__)
        left.setdefault(one.leaves, []).append(place)


def _digest(row: Row) -> str:
    return hashlib.sha256(encode_row(row)).hexdigest()


def stem(number: str) -> str:
    """Return a report number without its last digits, which those of one contract have in common."""
    return re.sub(r"\d+(?=\D*$)", "", number)


def issue_of(entry: Entry, signed_sha256: str, covered: str = "") -> Issue:
    """Return what a report or slip says of its issue."""
    upon = entry.head.sequence, entry.head.sha256
    return Issue(entry.number, entry.revision, *upon, signed_sha256, entry.area, covered=covered)


def issues_in(chain: Chain) -> list[Issue]:
    """Return what a register has as issued, each upon the row before its own."""
    found = []
    for row in chain.rows:
        before = row.sequence - (1 if row.event == "slip" else 2)
        if row.report is not None and row.event in ("issued", "slip") and before in chain.hashes:
            own = row.report
            upon = before, chain.hashes[before]
            found.append(Issue(own.number, own.revision, *upon, own.signed_sha256, own.area, report=own))
    return found


def missing(chain: Chain, held: Container[str]) -> Iterable[Report]:
    """Yield the reports that a register has as issued and that are not ``held``, by hashes as first signed or, of
    copies whose signature is written otherwise, of what was signed.
    """
    for row in chain.issued.values():
        one = row.report
        if one is not None and one.signed_sha256 not in held and one.unsigned_sha256 not in held:
            yield one
