"""The same readings in the same order in two places, and how probable that is by chance.

Derivation. Let *q* be the probability that two readings of one area, taken independently, show the same number. It is
estimated from the archive itself, as the share of pairs of readings within one surface that agree, over all surfaces
of the same unit; for a given sequence the larger of that and of its own share is taken, so that an area whose readings
hardly differ is not accused of being copied. Two sequences of *n* readings agree throughout with probability *q^n*, if
readings are independent given the area. Of *P* pairs of sequences of that length, *E = P · q^n* are expected to agree
by chance, and the probability that any does is at most *E*. Pairs are counted in three kinds, since copies are made
nearby: within one report, between reports of one contract, between contracts. Taking two readings of the *same* area
for *q* favours coincidence: areas of different level agree less often. A match of six readings or more is reported
when the *E* of its kind is below one in a hundred.

What a later report enters again of the same blasting, by apparatus, area and times, is of the same steel and no copy.

Files that passed and files that did not are reckoned apart, so that nobody can add files that hide a coincidence. What
agrees between the two is said of the file that did not pass: whoever made it may have had the other.
"""

from __future__ import annotations

from collections import Counter
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.chances import agreement
from reportgen.audit.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

REPORTED_BELOW = 0.01
FEWEST = 6
_COUNTING = "FROM reading_sets JOIN reports USING (path) WHERE counts AND overall = ?"
_MATCHES = (
    "SELECT reports.contract, reports.number, reading_sets.area, reports.date, reading_sets.path, readings,"
    f" reading_sets.unit, unproven, steel {_COUNTING} AND reading_sets.hash = ?"
    " ORDER BY reports.date, reports.contract, reports.number, reading_sets.area, reading_sets.path"
)
_PROVEN, _OPEN = VERDICTS = ("passed", "indeterminate")
"""Verdicts on files that count; what is reckoned over many files is so for each by itself."""


def copied_readings(index: Index) -> Iterator[Problem]:
    """Yield each group of identical sequences that chance does not explain; revisions of one report are one place."""
    tallies = {verdict: _Tally(index, verdict) for verdict in VERDICTS}
    for verdict, tally in tallies.items():
        repeated = index.rows(
            f"SELECT hash {_COUNTING} AND n >= ? GROUP BY hash HAVING COUNT(*) > 1 ORDER BY 1",
            verdict, FEWEST,
        )  # fmt: skip
        for (digest,) in repeated:
            places = _places(index, verdict, digest)
            if len(places) > 1:
                yield from _judged(places, tally)
    yield from _across(index, tallies)


class _Place(NamedTuple):
    contract: str
    number: str
    area: str


class _Sequence(NamedTuple):
    """Readings in one place: the file, their text and unit, whether the file may not accuse, and of which steel."""

    path: str
    readings: list[str]
    unit: str
    unproven: bool
    steel: frozenset[tuple[str, ...]]


class _Tally:
    """Over the files of one verdict: how often two readings of a surface agree, and how many pairs there are."""

    def __init__(self, index: Index, verdict: str) -> None:
        self.shares = _shares(index, verdict)
        # by unit and length, how many pairs of sequences there are of each kind, and how many sequences
        self.pairs: dict[tuple[str, int], tuple[int, int, int]] = {}
        self.sequences: dict[tuple[str, int], int] = {}
        rows = index.each(
            f"SELECT COALESCE(unit, ''), n, contract, COUNT(*) {_COUNTING} GROUP BY 1, 2, 3, number ORDER BY 1, 2, 3",
            verdict,
        )
        for key, members in groupby(rows, key=lambda row: (row[0], row[1])):
            contracts = [[row[3] for row in reports] for _, reports in groupby(members, key=lambda row: row[2])]
            everything = sum(map(sum, contracts))
            in_contract = sum(_of_two(sum(counts)) for counts in contracts)
            in_report = sum(_of_two(count) for counts in contracts for count in counts)
            self.pairs[key] = (in_report, in_contract - in_report, _of_two(everything) - in_contract)
            self.sequences[key] = everything

    def q(self, one: _Sequence) -> float:
        """Return the probability that two readings agree, for a sequence."""
        equal, all_pairs = agreement(one.readings)
        return max(self.shares.get(one.unit, 1.0), equal / all_pairs)


def _places(index: Index, verdict: str, digest: bytes) -> dict[_Place, _Sequence]:
    found: dict[_Place, _Sequence] = {}
    for contract, number, area, _, path, text, unit, unproven, steel in index.rows(_MATCHES, verdict, digest):
        place, of = _Place(contract, number, area), (contract, area, steel or path)
        one = _Sequence(path, text.split(), unit or "", bool(unproven), frozenset())
        one = found.get(place, one)
        found[place] = one._replace(steel=one.steel | {of})
    return found


_KINDS = ("within one report", "between reports of one contract", "between contracts")
_BETWEEN = "between files that passed and files that did not"


def _judged(places: dict[_Place, _Sequence], tally: _Tally) -> Iterator[Problem]:
    first, *others = places
    seen = places[first].steel
    for other in others:
        if places[other].steel <= seen:  # that steel, entered again
            continue
        seen |= places[other].steel
        kind = 2 if other.contract != first.contract else 1 if other.number != first.number else 0
        one = places[other]
        chance = _Chance(tally.q(one), tally.pairs[one.unit, len(one.readings)][kind], len(one.readings))
        if chance.expected < REPORTED_BELOW:
            yield _problem((first, places[first]), (other, one), chance, _KINDS[kind])


def _across(index: Index, tallies: dict[str, _Tally]) -> Iterator[Problem]:
    """What agrees between a file that passed and one that did not, by the readings of those that passed."""
    common = index.rows(
        f"SELECT DISTINCT hash {_COUNTING} AND n >= ? AND hash IN (SELECT hash {_COUNTING}) ORDER BY 1",
        _PROVEN, FEWEST, _OPEN,
    )  # fmt: skip
    for (digest,) in common:
        proven = _places(index, _PROVEN, digest)
        first = next(iter(proven))
        seen = frozenset[tuple[str, ...]]().union(*(one.steel for one in proven.values()))
        apart = {place: one for place, one in _places(index, _OPEN, digest).items() if not one.steel <= seen}
        for other, one in apart.items():
            key = one.unit, len(one.readings)
            pairs = tallies[_PROVEN].sequences[key] * tallies[_OPEN].sequences[key]
            chance = _Chance(tallies[_PROVEN].q(one), pairs, len(one.readings))
            if chance.expected < REPORTED_BELOW:
                yield _problem((first, proven[first]), (other, one._replace(unproven=True)), chance, _BETWEEN)


class _Chance(NamedTuple):
    """Of how many pairs, and with what probability that two readings agree."""

    q: float
    pairs: int
    length: int

    @property
    def expected(self) -> float:
        """How many pairs agree throughout by chance."""
        return self.pairs * self.q**self.length


def _problem(first: tuple[_Place, _Sequence], other: tuple[_Place, _Sequence], chance: _Chance, kind: str) -> Problem:
    where = f"area {other[0].area} of {other[0].number}"
    if other[0].contract != first[0].contract:
        where += f" ({other[0].contract})"
    sentence = (
        f"{where} has the {chance.length} readings of area {first[0].area} of {first[0].number} in the same order; two"
        f" readings of one area agree with probability {chance.q:.3f}, so that of the {chance.pairs} pairs of such"
        f" sequences {kind} {chance.expected:.1g} would agree by chance"
    )
    files = tuple(dict.fromkeys((first[1].path, other[1].path)))
    return Problem(
        other[0].contract, other[0].number, "readings-copied", other[0].area, sentence, files,
        unproven=first[1].unproven or other[1].unproven,
    )  # fmt: skip


def _shares(index: Index, verdict: str) -> dict[str, float]:
    """Return by unit the share of agreeing pairs of readings within a surface."""
    equal: Counter[str] = Counter()
    pairs: Counter[str] = Counter()
    for unit, text in index.each(f"SELECT COALESCE(unit, ''), readings {_COUNTING}", verdict):
        same, all_pairs = agreement(text.split())
        equal[unit] += same
        pairs[unit] += all_pairs
    return {unit: equal[unit] / pairs[unit] if pairs[unit] else 1.0 for unit in equal}


def _of_two(count: int) -> int:
    return count * (count - 1) // 2
