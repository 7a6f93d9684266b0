"""What several reports say of the register that they were issued upon: whether it forked, and what is lacking.

Each signed report holds the row that it followed, whether or not anybody still has the register.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.names import spelling
from reportgen.register.journal import NOTE_ON_RECOVERY
from reportgen.register.rows import Report, Row, encode_row
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence

    from reportgen.register.chain import Chain
    from reportgen.register.rows import Entry


@dataclass(frozen=True, slots=True)
class Issue:
    """A report, or the release slip of an ``area``: as first signed, and the row of a register that it followed.

    ``contract`` and ``pattern`` of the numbers are those of its project file, where it is known; ``report`` is what the
    row that it left says, in which its path is one of ``files``.
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
            yield from (replace(self.report, file=file) for file in self.files)

    @property
    def series(self) -> str:
        """What is the same of all that is numbered in one register; empty where its contract is not known."""
        contract = spelling(self.contract) or self.contract
        return contract and f"{contract} {self.pattern or stem(self.number)}"


class Fork(NamedTuple):
    """Issues, by their places, whose rows do not fit together, why not, and those of them that this speaks of."""

    issues: tuple[int, ...]
    sentence: Told
    about: tuple[int, ...]


def forks(issues: Sequence[Issue]) -> list[Fork]:
    """Return the rows upon which more than one was issued, in the order of the issues.

    Copies of one issue are one. Whatever came first stands upon no row, as each register begins so: but a release slip
    and the report of its number are never both the first.
    """
    followed: dict[tuple[int, str, tuple[str, ...]], dict[str, int]] = {}
    for place, one in enumerate(issues):
        first: tuple[str, ...] = () if one.sequence else (spelling(one.contract) or one.contract, one.number)
        if one.sequence or one.contract:
            followed.setdefault((*one.upon, first), {}).setdefault(one.signed_sha256, place)
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
        if one.series and one.report is not None:
            before.setdefault((one.series, one.sequence + (2 if one.area is None else 1)), []).append(place)
    found: list[Fork] = []
    others: dict[str, dict[int, list[int]]] = {}
    searches = _MOST_SEARCHES
    for place, one in enumerate(issues):
        if not one.sequence or not one.series:
            continue
        left = before.get((one.series, one.sequence), []) if one.upon not in known else []
        follows = not left or any(one.sha256 in _rows_left(issues[other]) for other in left)
        if not follows and searches:
            searches -= 1
            follows = any(_repaired(issues[other], one) for other in left)
        if follows:
            others.setdefault(one.series, {}).setdefault(one.sequence, []).append(place)
            continue
        earlier = tuple(dict.fromkeys(issues[other].title for other in left))
        sentence = told("issued-astray", what=one.title, row=one.sequence, earlier=earlier)
        found.append(Fork((*left, place), sentence, (place,)))
    return [*found, *(fork for rows in others.values() for fork in _unlike(issues, rows))]


def _unlike(issues: Sequence[Issue], rows: Mapping[int, Sequence[int]]) -> Iterator[Fork]:
    """Yield the issues upon the first of the ``rows`` of a series that is not one row: each after it differs too."""
    for row, same in sorted(rows.items()):
        places = tuple({issues[place].signed_sha256: place for place in reversed(same)}.values())[::-1]
        if len({issues[place].sha256 for place in places}) > 1:
            titles = tuple(issues[place].title for place in places)
            yield Fork(places, told("register-rows-unlike", issues=titles, row=row), places)
            return


def _rows_left(one: Issue) -> Iterator[str]:
    """Yield the hashes that the last row can have which a report or slip left."""
    for report in one.reports:
        for back in (False, True):
            row = Row("slip" if one.area is not None else "intent", one.sequence + 1, one.sha256, report, back)
            if one.area is None:
                row = Row("issued", one.sequence + 2, _digest(row), report, back)
            yield _digest(row)


def _repaired(one: Issue, following: Issue) -> bool:
    """Say whether the row that an issue followed closes one which was interrupted, as a later start writes that.

    The start says when it was: most often right after the interruption, or right before what was issued next. A day
    after the one and a day before the other are tried, of a machine whose clock was never set back.
    """
    if one.report is None or following.report is None or one.area is not None:
        return False
    first = dt.datetime.fromisoformat(one.report.issued_at)
    last = dt.datetime.fromisoformat(following.report.issued_at) + _LATER
    seconds = int((last - first).total_seconds()) + 1
    moments = dict.fromkeys([*range(min(seconds, _A_DAY)), *range(max(0, seconds - _A_DAY), seconds)])
    times = [(first + dt.timedelta(seconds=after)).strftime(_MOMENT).encode() for after in moments]
    for report in one.reports:
        previous = _digest(Row("intent", one.sequence + 1, one.sha256, report))
        row = Row("issued", one.sequence + 2, previous, report, note=NOTE_ON_RECOVERY, recovered_at=_AT)
        begins, _, ends = encode_row(row).partition(_AT.encode())
        beginning = hashlib.sha256(begins)
        for moment in times:
            whole = beginning.copy()
            whole.update(moment + ends)
            if whole.hexdigest() == following.sha256:
                return True
    return False


_A_DAY: Final = 86_400
_LATER: Final = dt.timedelta(minutes=10)
"""What a start may take from the time that its report states until it has opened the register."""
_MOST_SEARCHES: Final = 20
"""Interruptions are rare, and each search takes a second or two."""
_MOMENT: Final = "%Y-%m-%dT%H:%M:%SZ"
_AT: Final = "0000-00-00T00:00:00Z"


def _digest(row: Row) -> str:
    return hashlib.sha256(encode_row(row)).hexdigest()


def stem(number: str) -> str:
    """Return a report number without its last digits, which those of one contract have in common."""
    return re.sub(r"\d+(?=\D*$)", "", number)


def issue_of(entry: Entry, signed_sha256: str) -> Issue:
    """Return what a report or slip says of its issue."""
    return Issue(entry.number, entry.revision, entry.head.sequence, entry.head.sha256, signed_sha256, entry.area)


def issues_in(chain: Chain) -> list[Issue]:
    """Return what a register has as issued, each upon the row before its own."""
    found = []
    for row in chain.rows:
        before = row.sequence - (1 if row.event == "slip" else 2)
        if row.report is not None and row.event in ("issued", "slip") and before in chain.hashes:
            own = row.report
            upon = before, chain.hashes[before]
            found.append(Issue(own.number, own.revision, *upon, own.signed_sha256, own.area))
    return found


def missing(chain: Chain, held: Container[str]) -> Iterable[Report]:
    """Yield the reports that a register has as issued and that are not ``held``, by hashes as first signed."""
    for row in chain.issued.values():
        if row.report is not None and row.report.signed_sha256 not in held:
            yield row.report
