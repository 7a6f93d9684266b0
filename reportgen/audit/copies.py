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
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.chances import agreement
from reportgen.audit.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

REPORTED_BELOW = 0.01
FEWEST = 6
_MATCHES = (
    "SELECT reports.contract, reports.number, sequences.area, reports.date, sequences.path, sequences.readings,"
    " sequences.unit FROM sequences JOIN reports USING (path) WHERE reports.latest AND sequences.hash = ?"
    " ORDER BY reports.date, reports.contract, reports.number, sequences.area, sequences.path"
)


def copied_readings(index: Index) -> Iterator[Problem]:
    """Yield each group of identical sequences that chance does not explain; revisions of one report are one place."""
    shares, pairs = _shares(index), _pairs(index)
    repeated = index.rows(
        "SELECT hash FROM sequences JOIN reports USING (path) WHERE latest"
        " AND n >= ? GROUP BY hash HAVING COUNT(*) > 1 ORDER BY 1",
        FEWEST,
    )
    for (digest,) in repeated:
        places: dict[_Place, str] = {}
        readings: list[str] = []
        unit = ""
        for contract, number, area, _, path, text, of_unit in index.rows(_MATCHES, digest):
            places.setdefault(_Place(contract, number, area), path)
            readings, unit = text.split(), of_unit or ""
        if len(places) > 1:
            equal, all_pairs = agreement(readings)
            q = max(shares.get(unit, 1.0), equal / all_pairs)
            yield from _judged(places, len(readings), q, pairs[unit, len(readings)])


class _Place(NamedTuple):
    contract: str
    number: str
    area: str


_KINDS = ("within one report", "between reports of one contract", "between contracts")


def _judged(places: dict[_Place, str], length: int, q: float, pairs: tuple[int, int, int]) -> Iterator[Problem]:
    first, *others = places
    for other in others:
        kind = 2 if other.contract != first.contract else 1 if other.number != first.number else 0
        expected = pairs[kind] * q**length
        if expected >= REPORTED_BELOW:
            continue
        where = f"area {other.area} of {other.number}" + (f" ({other.contract})" if kind == 2 else "")
        sentence = (
            f"{where} has the {length} readings of area {first.area} of {first.number} in the same order; two readings"
            f" of one area agree with probability {q:.3f}, so that of the {pairs[kind]} pairs of such sequences"
            f" {_KINDS[kind]} {expected:.1g} would agree by chance"
        )
        files = tuple(dict.fromkeys((places[first], places[other])))
        yield Problem(other.contract, other.number, "readings-copied", other.area, sentence, files)


def _shares(index: Index) -> dict[str, float]:
    """Return by unit the share of agreeing pairs of readings within a surface."""
    equal: dict[str, int] = {}
    pairs: dict[str, int] = {}
    for of_unit, text in index.each("SELECT unit, readings FROM sequences JOIN reports USING (path) WHERE latest"):
        same, all_pairs = agreement(text.split())
        unit = of_unit or ""
        equal[unit] = equal.get(unit, 0) + same
        pairs[unit] = pairs.get(unit, 0) + all_pairs
    return {unit: equal[unit] / pairs[unit] if pairs[unit] else 1.0 for unit in equal}


def _pairs(index: Index) -> dict[tuple[str, int], tuple[int, int, int]]:
    """Return by unit and length how many pairs of sequences there are of each kind."""
    rows = index.each(
        "SELECT COALESCE(unit, ''), n, contract, COUNT(*) FROM sequences JOIN reports USING (path) WHERE latest"
        " GROUP BY 1, 2, 3, number ORDER BY 1, 2, 3"
    )
    found: dict[tuple[str, int], tuple[int, int, int]] = {}
    for key, members in groupby(rows, key=lambda row: (row[0], row[1])):
        in_report = in_contract = everything = 0
        for _, reports in groupby(members, key=lambda row: row[2]):
            counts = [row[3] for row in reports]
            everything += sum(counts)
            in_contract += _of_two(sum(counts))
            in_report += sum(map(_of_two, counts))
        found[key] = (in_report, in_contract - in_report, _of_two(everything) - in_contract)
    return found


def _of_two(count: int) -> int:
    return count * (count - 1) // 2
