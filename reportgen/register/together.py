"""What several reports say of the register that they were issued upon: whether it forked, and what is lacking.

Each signed report holds the row that it followed, whether or not anybody still has the register.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from reportgen.names import spelling
from reportgen.register.rows import Row, encode_row, report_of
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Collection, Container, Iterable, Iterator, Sequence

    from reportgen.register.chain import Chain
    from reportgen.register.check import Witness
    from reportgen.register.rows import Entry, Event, Report


@dataclass(frozen=True, slots=True)
class Issue:
    """A report, or the release slip of an ``area``: as first signed, and the row of a register that it followed.

    ``contract`` is that of its project file, where it is known; ``rows`` are the hashes that the row which it left can
    have, by what it says.
    """

    number: str
    revision: int
    sequence: int
    sha256: str
    signed_sha256: str
    area: str | None = None
    contract: str = ""
    rows: tuple[str, ...] = ()

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


class Fork(NamedTuple):
    """Issues that each followed one row, by their places: each was the next, so that two copies of it went on apart."""

    issues: tuple[int, ...]
    sentence: Told


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
        )
        for row, first, places in several
        if not first or len({issues[place].area is None for place in places}) > 1
    ]


def astray(issues: Sequence[Issue], known: Collection[tuple[int, str]] = ()) -> list[Fork]:
    """Return issues upon a row that none of those can have left which come right before it, by what they say.

    Only what is numbered alike in one contract is compared. A row that a repair wrote follows from no file, nor does
    one of a file that was issued under a name of its own and renamed since: it is for a person to ask, and nothing is
    said of rows that are ``known``, being in a register that is given.
    """
    before: dict[tuple[str, int], list[int]] = {}
    for place, one in enumerate(issues):
        if one.contract and one.rows:
            before.setdefault((_series(one), one.sequence + (2 if one.area is None else 1)), []).append(place)
    found = []
    for place, one in enumerate(issues):
        left = (
            before.get((_series(one), one.sequence), [])
            if one.sequence and one.contract and one.upon not in known
            else []
        )
        if left and not any(one.sha256 in issues[other].rows for other in left):
            earlier = tuple(dict.fromkeys(issues[other].title for other in left))
            sentence = told("issued-astray", what=one.title, row=one.sequence, earlier=earlier)
            found.append(Fork((*left, place), sentence))
    return found


def _series(one: Issue) -> str:
    """Return what is the same of reports that are numbered in one register: contract, and number without its count."""
    return f"{spelling(one.contract) or one.contract} {one.number.rstrip('0123456789')}"


def rows_left(witness: Witness, file: str) -> Iterator[str]:
    """Yield the hashes that the last row can have which a report or slip left, issued under the path ``file``."""
    entry = witness.entry
    try:
        report = report_of(entry, file=file, size=witness.size, signed_sha256=witness.signed_sha256)
    except ValueError:
        return
    events: tuple[Event, ...] = ("intent", "issued") if entry.area is None else ("slip",)
    for back in (False, True):
        previous = entry.head.sha256
        for count, event in enumerate(events, start=1):
            row = Row(event, entry.head.sequence + count, previous, report, clock_back=back)
            previous = hashlib.sha256(encode_row(row)).hexdigest()
        yield previous


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
