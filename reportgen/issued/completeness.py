"""How much of a contract is done, by what it lists and not by what was met: areas, their size, and report numbers.

The list of areas is that of the newest project file among the best proven reports. Numbers follow one another without
gaps, and each report states how many rows its register had before it: so that it says itself how many there are.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from itertools import chain, pairwise
from typing import TYPE_CHECKING, Final, Literal, NamedTuple, TypeVar

from reportgen.errors import QuantityError
from reportgen.issued.listed_otherwise import covers, size_of
from reportgen.names import short_title, spelt_alike
from reportgen.register import missing
from reportgen.register.numbering import UNPADDED, number_at, position
from reportgen.units import rounded

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Container, Iterable, Mapping, Sequence

    from reportgen.issued.record import PlannedAreaRecord
    from reportgen.register import Chain
    from reportgen.units import Quantity

T = TypeVar("T")

Word = Literal[
    "released", "released in part", "coated", "hold", "rework", "disputed", "unproven", "not inspected",
    "no longer listed",
]  # fmt: skip
DONE: Final[tuple[Word, ...]] = ("released", "coated")
_ROWS_OF_AN_ISSUE = 2
"""What an issue writes in its register: that it begins, and how it ended."""


def in_sequence(
    reports: Iterable[T], row: Callable[[T], int | None], issued: Callable[[T], tuple[str, ...]]
) -> list[T]:
    """Return reports in the order in which they were issued: by the rows of the register that they followed.

    Where one states none, or two state the same, as they are of two registers, by the time that each states.
    """
    known = list(reports)
    rows = [place for one in known if (place := row(one)) is not None]
    ordered = sorted(known, key=issued)
    return sorted(ordered, key=lambda one: row(one) or 0) if len({*rows}) == len(known) else ordered


class AreaDecided(NamedTuple):
    """How an area stands by the reports: its decision, and whether they inspected it, coated it, released but a part.

    ``decision`` is also ``disputed`` or ``unproven``; ``listed`` is the area as the report lists it that decides.
    """

    decision: str
    inspected: bool = True
    coated: bool = False
    in_part: bool = False
    listed: PlannedAreaRecord | None = None

    def now(self, plan: PlannedAreaRecord) -> AreaNow:
        """Return the area as it is listed now: released as a whole, no more is than the report released."""
        mine, whole = (size_of(one) for one in (self.listed, plan))
        grown = self.word in DONE and mine is not None and not covers(mine, whole)
        word: Word = "released in part" if grown else self.word
        done = plan.size if word in DONE else ""
        if grown and mine is not None and whole is not None:
            done = _in_unit(mine, whole.unit)
        return AreaNow(plan.area, plan.name, plan.structure_name, plan.size, plan.unit, word, done)

    @property
    def word(self) -> Word:
        """How it stands, in one word."""
        if self.decision in {"disputed", "unproven"}:
            return "disputed" if self.decision == "disputed" else "unproven"
        if not self.inspected:
            return "not inspected"
        if self.decision != "release":
            return "rework" if self.decision == "rework" else "hold"
        return "released in part" if self.in_part else "coated" if self.coated else "released"


class AreaNow(NamedTuple):
    """An area as the contract lists it and as it stands; ``size`` is a number in ``unit``, empty where not stated.

    ``done`` is how much of it is released, where it was as a whole.
    """

    area: str
    name: str
    structure: str
    size: str
    unit: str
    word: Word
    done: str = ""


def _in_unit(size: Quantity, unit: str) -> str:
    """Return a size in another unit; none of what cannot be compared with it."""
    try:
        return f"{rounded(size.in_unit(unit), size.places + 1).normalize():f}"
    except QuantityError:
        return ""


class CountAndSize(NamedTuple):
    """How much is released of how much, in one unit."""

    done: Decimal
    whole: Decimal
    unit: str


class Removed(NamedTuple):
    """An area that was taken off the list of a contract: how it stands, and the report since which it is not on it."""

    area: str
    word: Word
    since: str


class Completeness(NamedTuple):
    """Every area of a contract, the listed ones in their order and then those no longer listed.

    ``left`` are those of the latter that were inspected and not released as a whole, and how they stand; ``removed``
    those that a project file listed before, inspected or not, with the report since which none does.
    """

    areas: tuple[AreaNow, ...]
    left: tuple[tuple[str, Word], ...] = ()
    removed: tuple[Removed, ...] = ()

    @property
    def listed(self) -> tuple[AreaNow, ...]:
        """The areas that count."""
        return tuple(one for one in self.areas if one.word != "no longer listed")

    @property
    def counts(self) -> Counter[Word]:
        """How many areas stand so."""
        return Counter(one.word for one in self.areas)

    def unsettled(self, word: Word) -> int:
        """How many areas stand so, listed or not: taking an area off the list settles nothing."""
        return self.counts[word] + sum(one == word for _, one in self.left)

    @property
    def done(self) -> int:
        """How many of the listed ones are released as a whole, coated or not."""
        return sum(one.word in DONE for one in self.areas)

    @property
    def amounts(self) -> tuple[CountAndSize, ...]:
        """How much of how much is released, by unit."""
        sized = [one for one in self.listed if one.size]
        return tuple(
            CountAndSize(
                sum((Decimal(one.done or 0) for one in sized if one.unit == unit), Decimal(0)),
                sum((Decimal(one.size) for one in sized if one.unit == unit), Decimal(0)),
                unit,
            )
            for unit in dict.fromkeys(one.unit for one in sized)
        )

    @property
    def unsized(self) -> int:
        """How many listed areas state no size."""
        return sum(not one.size for one in self.listed)


class Formerly(NamedTuple):
    """An area that a project file listed, and the first report after that whose project file does not."""

    area: PlannedAreaRecord
    since: str


def formerly_listed(lists: Iterable[tuple[str, Sequence[PlannedAreaRecord]]]) -> dict[str, Formerly]:
    """Return by id the areas that were listed before and are not in the last of ``lists``.

    These are in the order of their issue, each with the report that it is of; a list that nobody can read is none.
    """
    gone: dict[str, Formerly] = {}
    before: dict[str, PlannedAreaRecord] = {}
    for report, planned in lists:
        now = {one.area: one for one in planned}
        if now and now != before:
            gone |= {area: Formerly(one, report) for area, one in before.items() if area not in now}
            gone = {area: one for area, one in gone.items() if area not in now}
            before = now
    return gone


def completeness(
    planned: Iterable[PlannedAreaRecord],
    decided: Mapping[str, AreaDecided],
    formerly: Mapping[str, Formerly] | None = None,
) -> Completeness:
    """Return how each area of a contract stands, of which ``decided`` says what the reports say.

    ``formerly`` are areas that were taken off the list: each is named, also where nobody ever inspected it.
    """
    listed = {one.area: one for one in planned}
    never = AreaDecided("hold", inspected=False)
    now = [decided.get(one.area, never).now(one) for one in listed.values()]
    once = {area: one for area, one in (formerly or {}).items() if area not in listed}
    gone = sorted((decided.keys() - listed.keys()) | once.keys())
    plans = {area: (one.area.name, one.area.structure_name, one.area.size, one.area.unit) for area, one in once.items()}
    unlisted = [AreaNow(area, *plans.get(area, ("", "", "", "")), "no longer listed") for area in gone]
    removed = tuple(Removed(area, decided.get(area, never).word, once[area].since) for area in sorted(once))
    words = [(area, decided.get(area, never).word) for area in gone]
    left = [(area, word) for area, word in words if word not in (*DONE, "not inspected")]
    return Completeness((*now, *unlisted), tuple(left), removed)


@dataclass(frozen=True, slots=True)
class NotHere:
    """A report that a register has as issued and that is not there; ``date`` is that of its issue."""

    number: str
    revision: int
    date: str


@dataclass(frozen=True, slots=True)
class RegisterRead:
    """A register that was given: its last row, that row's SHA-256, the day of the last issue, and what is not there."""

    row: int
    sha256: str
    by: str
    absent: tuple[NotHere, ...]


def registers_read(
    registers: Iterable[tuple[str | None, Chain]], contract: str, numbers: Collection[str], held: Container[str]
) -> tuple[RegisterRead, ...]:
    """Return those of ``registers`` that are of a contract, as it states or, where it states none, by its ``numbers``.

    ``held`` are the hashes of what is there, as for ``missing``.
    """
    found = []
    for stated, register in registers:
        own = (
            any(number in numbers for number, _ in register.issued) if stated is None else spelt_alike(stated, contract)
        )
        if own:
            absent = tuple(NotHere(one.number, one.revision, one.issued_at[:10]) for one in missing(register, held))
            found.append(RegisterRead(register.head.sequence, register.head.sha256, register.latest[:10], absent))
    return tuple(found)


class Numbered(NamedTuple):
    """A report, or a release slip of an area: its number, when it was issued, after how many rows.

    ``row`` is None where it states no register; ``pattern`` is that of its contract; ``here`` is false of what a
    register alone has.
    """

    number: str
    revision: int
    issued_at: str
    pattern: str | None
    row: int | None
    area: str | None = None
    here: bool = True

    @property
    def title(self) -> str:
        """Its number and revision."""
        return short_title(self)


class Numbers(NamedTuple):
    """What was issued by the moment of the newest report, as far as that says, and what of it is not there.

    ``further`` is how many issues more its register can hold: revisions, release slips, or issues that came to nothing.
    Where a contract is numbered in several sequences, ``apart`` are those, by their ``pattern``, and this is their sum.
    ``revisions`` are those that a register has and that are not there, of numbers that are, or that tell no sequence;
    ``register`` is what was given and has all that was issued: without one, nobody sees what was issued after the
    newest report.
    """

    newest: str
    by: str
    issued: int
    here: int
    missing: tuple[str, ...]
    further: int = 0
    pattern: str = ""
    apart: tuple[Numbers, ...] = ()
    revisions: tuple[str, ...] = ()
    register: RegisterRead | None = None

    @property
    def absent(self) -> tuple[str, ...]:
        """The numbers, and the revisions of others, that are not there."""
        return (*self.missing, *self.revisions)

    @property
    def whole(self) -> bool:
        """Whether all that is known to be issued is there."""
        return not self.absent

    @property
    def counted_to(self) -> str:
        """The highest number of each sequence."""
        return ", ".join(number_at(one.pattern, one.issued) for one in self.sequences)

    @property
    def sequences(self) -> tuple[Numbers, ...]:
        """Each sequence by itself."""
        return self.apart or (self,)


MOST_NUMBERS: Final = 99_999
"""The highest number that tells of those below it: no register holds as many reports. A date is none."""
_END: Final = re.compile(r"(.*?)([0-9]+)([^0-9]*)")


def sequences(told: Iterable[tuple[str | None, str]]) -> dict[str, set[str]]:
    """Return the numbers of each sequence of a contract by its pattern, of which ``told`` is each newest first.

    A number is of the pattern that its report states, or of one that others state; where it fits none, of that of its
    last digits. One that only adds letters to a number that is there (``12A`` beside ``12``) is of none.
    """
    known = list(told)
    stated = dict.fromkeys(pattern for pattern, _ in known if pattern and "#" in pattern)
    numbers = {number for _, number in known}
    unpadded, found = without_zeros(numbers), dict[str, set[str]]()
    for own, number in known:
        fits = unpadded.get(number)
        fits = fits or next((one for one in (own, *stated) if one and one in stated and position(one, number)), None)
        fits = fits or by_last_digits(number, numbers)
        if fits is not None and 0 < (position(fits, number) or 0) <= MOST_NUMBERS:
            found.setdefault(fits, set()).add(number)
    return found


def without_zeros(numbers: Iterable[str]) -> dict[str, str]:
    """Return the pattern of numbers that have none in front, where such of one digit and of more differ in no more."""
    ends = {number: end for number in numbers if (end := _END.fullmatch(number)) and end[2][0] != "0"}
    lengths: dict[tuple[str, str], set[bool]] = {}
    for end in ends.values():
        lengths.setdefault((end[1], end[3]), set()).add(len(end[2]) > 1)
    return {
        number: f"{end[1]}{UNPADDED}{end[3]}"
        for number, end in ends.items()
        if len(lengths[end[1], end[3]]) > 1
    }  # fmt: skip


def by_last_digits(number: str, numbers: set[str]) -> str | None:
    """Return the pattern that the last digits tell; None without any, or where it only adds letters to another."""
    end = _END.fullmatch(number)
    if end is None or (end[3] and number.removesuffix(end[3]) in numbers):
        return None
    return f"{end[1]}{'#' * len(end[2])}{end[3]}"


def numbers_of(there: Sequence[Numbered], given: Sequence[RegisterRead] = ()) -> Numbers | None:
    """Return what was issued by the numbers and rows of what is there, and by registers that were ``given``.

    None where no number tells a sequence.
    """
    absent = [Numbered(one.number, one.revision, one.date, None, None, here=False) for of in given for one in of.absent]
    ordered = sorted([*there, *absent], key=lambda one: (one.issued_at, one.number, one.revision))
    members = by_pattern(ordered)
    if not members:
        return None
    found = {pattern: _sequence(pattern, own) for pattern, own in members.items()}
    counted, first = set(chain(*members.values())), next(iter(found))
    odd = tuple(one.title for one in absent if one not in counted)
    found[first] = found[first]._replace(revisions=(*found[first].revisions, *odd))
    apart = tuple(with_further(found, members, ordered, given).values())
    return apart[0] if len(apart) == 1 else sum_of(apart)


def with_further(
    found: Mapping[str, Numbers],
    members: Mapping[str, Sequence[Numbered]],
    ordered: Sequence[Numbered],
    given: Sequence[RegisterRead],
) -> dict[str, Numbers]:
    """Return sequences by pattern with what each register can hold more; where the register was given, with that."""
    registers, known = registers_of(members), dict(found)
    read = max(given, key=lambda one: one.row) if len(given) == len(registers) == 1 else None
    for together in registers:
        kept = [*chain(*(members[pattern] for pattern in together))] if len(registers) > 1 else ordered
        lacking = sum(len(found[pattern].missing) for pattern in together)
        newest, last, further = unexplained(together, [one for one in kept if one.here], lacking)
        if read is not None and newest is not None and newest < read.row:
            return {pattern: one._replace(register=read) for pattern, one in found.items()}
        known[last] = known[last]._replace(further=further)
    return known


def sum_of(apart: tuple[Numbers, ...]) -> Numbers:
    """Return the sum of several sequences, known by the newest report of all."""
    newest = max(apart, key=lambda one: one.by)
    return Numbers(
        newest.newest,
        newest.by,
        sum(one.issued for one in apart),
        sum(one.here for one in apart),
        tuple(number for one in apart for number in one.missing),
        sum(one.further for one in apart),
        apart=apart,
        revisions=tuple(title for one in apart for title in one.revisions),
        register=newest.register,
    )


def by_pattern(ordered: Sequence[Numbered]) -> dict[str, list[Numbered]]:
    """Return the reports and slips of each sequence of which a report is there, in their order."""
    known = sequences((one.pattern, one.number) for one in reversed(ordered) if one.area is None)
    pattern_of = {number: pattern for pattern, held in known.items() for number in held}
    found: dict[str, list[Numbered]] = {pattern: [] for pattern in known}
    for one in ordered:
        of = pattern_of.get(one.number)
        if of is None and one.here:
            of = next((pattern for pattern in known if position(pattern, one.number)), None)
        if of is not None:
            found[of].append(one)
    return found


def _sequence(pattern: str, members: Sequence[Numbered]) -> Numbers:
    """Return what was issued of one sequence by its ``members``, reports and slips, the newest last."""
    reports = [one for one in members if one.area is None]
    places = {position(pattern, one.number) or 0 for one in reports if one.here}
    highest = max(position(pattern, one.number) or 0 for one in reports)
    missing = tuple(number_at(pattern, place) for place in range(1, highest + 1) if place not in places)
    newest, held = reports[-1], {one.number for one in reports if one.here}
    revisions = tuple(one.title for one in reports if not one.here and one.number in held)
    counts = (newest.number, newest.issued_at[:10], highest, len(places), missing)
    return Numbers(*counts, pattern=pattern, revisions=revisions)


def registers_of(sequences: Mapping[str, Sequence[Numbered]]) -> list[list[str]]:
    """Return which sequences go on in one register: those whose rows follow one another as the reports were issued.

    Of two registers each begins with its first row.
    """
    found: list[tuple[list[str], list[Numbered]]] = []
    for pattern, members in sequences.items():
        for together, known in found:
            if follow([*known, *members]):
                together.append(pattern)
                known.extend(members)
                break
        else:
            found.append(([pattern], list(members)))
    return [together for together, _ in found]


def follow(issues: Iterable[Numbered]) -> bool:
    """Say whether reports follow each other in one register as they were issued."""
    reports = sorted((one for one in issues if one.area is None), key=lambda one: one.issued_at)
    rows = [one.row for one in reports if one.row is not None]
    return all(row < later for row, later in pairwise(rows))


def unexplained(together: Sequence[str], there: Sequence[Numbered], lacking: int) -> tuple[int | None, str, int]:
    """Return of a register the row of the newest report, its sequence, and how many issues before nothing explains."""
    reports = [one for one in there if one.area is None]
    if not reports:
        return None, together[0], 0
    newest = max(reports, key=lambda one: (one.issued_at, one.number, one.revision))
    row = newest.row or 0
    before = {(one.number, one.revision, one.area) for one in there if one.row is not None and one.row < row}
    last = next((pattern for pattern in together if position(pattern, newest.number)), together[0])
    return newest.row, last, max(0, row // _ROWS_OF_AN_ISSUE - len(before) - lacking)
