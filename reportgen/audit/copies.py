"""The same readings in the same order in two places, and how probable that is by chance.

Derivation. Let *q* be the probability that two readings of one area, taken
independently, show the same number. It is estimated from the archive itself, as the share of pairs of readings within
one surface that agree, over all surfaces of the same unit; for a given sequence the larger of that and of its own share
is taken, so that an area whose readings hardly differ is not accused of being copied. Two sequences of *n* readings
agree throughout with probability *q^n*, if readings are independent given the area. Among *N* sequences of that length
there are *N(N-1)/2* pairs; the number of pairs expected to agree by chance is *E = N(N-1)/2 · q^n*, and the
probability that there is any at all is at most *E*. Taking two readings of the *same* area for *q* favours coincidence:
areas of different level agree less often. A match of six
readings or more is reported when *E* is below one in a hundred.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    shares, counts = _archive(index)
    repeated = index.rows(
        "SELECT hash FROM sequences JOIN reports USING (path) WHERE latest"
        " AND n >= ? GROUP BY hash HAVING COUNT(*) > 1 ORDER BY 1",
        FEWEST,
    )
    for (digest,) in repeated:
        places: dict[tuple[str, str, str], tuple[str, str]] = {}
        readings, unit = "", ""
        for contract, number, area, _, path, text, of_unit in index.rows(_MATCHES, digest):
            places.setdefault((contract, number, area), (path, text))
            readings, unit = text, of_unit or ""
        if len(places) > 1:
            yield from _judged(places, readings.split(), shares.get(unit, 1.0), counts[unit, len(readings.split())])


def _judged(
    places: dict[tuple[str, str, str], tuple[str, str]], readings: list[str], share: float, sequences: int
) -> Iterator[Problem]:
    equal, pairs = agreement(readings)
    q = max(share, equal / pairs if pairs else 1.0)
    expected = sequences * (sequences - 1) / 2 * q ** len(readings)
    if expected >= REPORTED_BELOW:
        return
    (contract, number, area), *others = places
    for other_contract, other_number, other_area in others:
        where = f"area {other_area} of {other_number}" + (f" ({other_contract})" if other_contract != contract else "")
        sentence = (
            f"{where} has the {len(readings)} readings of area {area} of {number} in the same order; two readings of"
            f" one area agree with probability {q:.3f}, so that {sequences} sequences of this length would by chance"
            f" give {expected:.1g} such pairs"
        )
        files = tuple(
            dict.fromkeys((places[contract, number, area][0], places[other_contract, other_number, other_area][0]))
        )
        yield Problem(other_contract, other_number, "readings-copied", other_area, sentence, files)


def _archive(index: Index) -> tuple[dict[str, float], dict[tuple[str, int], int]]:
    """Return by unit the share of agreeing pairs within a surface, and how many sequences of each length there are."""
    equal: dict[str, int] = {}
    pairs: dict[str, int] = {}
    counts: dict[tuple[str, int], int] = {}
    rows = index.each("SELECT unit, readings FROM sequences JOIN reports USING (path) WHERE latest")
    for of_unit, text in rows:
        unit, readings = of_unit or "", text.split()
        same, all_pairs = agreement(readings)
        equal[unit] = equal.get(unit, 0) + same
        pairs[unit] = pairs.get(unit, 0) + all_pairs
        counts[unit, len(readings)] = counts.get((unit, len(readings)), 0) + 1
    return {unit: equal[unit] / pairs[unit] if pairs[unit] else 1.0 for unit in equal}, counts
