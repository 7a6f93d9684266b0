"""Sheets of readings that agree beyond chance: as they are, with edits, turned, shifted, reordered or in part.

Let *q* be the probability that two readings of one location show the same number, as the archive shows it, raised to
what the sheet's own readings show. Given where each location lies, two readings from different places agree with at
most that probability and independently, so that a binomial tail bounds how often chance makes as many agree. It is
multiplied by the pairs of the same nearness, by the ways in which the family can agree, and by the numbers of
nearnesses and families.
"""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from reportgen.screens.sheets import Floor, Screened, Sign, agreeing, agreement_in_locations, in_groups

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.screens.sheets import Array, ReadingSheet

LEVEL = 0.05
FEWEST = 6
RUN = 7
NEAR = 5
NEARNESS = ("report", "near", "contract", "apart")
FAMILIES = ("as-is", "turned", "shifted", "reordered", "run")
_TESTS = len(NEARNESS) * len(FAMILIES)
ALL_PAIRS = 3000
"""Sheets of one length in a contract up to which each is held against each; beyond, those that share seven readings."""
_BLOCK = 1_200_000
_CROWD = 40
_TURNED = 1 << 20


class _Pairs(NamedTuple):
    """Pairs of sheets by their places, the earlier first; how near, and with which *q*."""

    first: Array
    second: Array
    near: Array
    q: Array


def alike(sheets: Sequence[ReadingSheet], others: Sequence[ReadingSheet] = (), level: float = LEVEL) -> Screened:
    """Compare sheets with each other; or, where there are ``others``, each of the first with each of these.

    What is expected is then reckoned from the first alone. Signs name places in ``[*sheets, *others]``.
    """
    every = [*sheets, *others]
    crowd = _Crowd(every, len(sheets) if others else None, _shares(sheets, every))
    found: dict[tuple[int, int], Sign] = {}
    for sign in crowd.signs():
        key = sign.sheets[0], sign.sheets[1]
        if key not in found or sign.expected < found[key].expected:
            found[key] = sign
    ordered = sorted(found.values(), key=lambda one: (one.expected, one.sheets))
    signs = tuple(_once(every, [one for one in ordered if one.expected < level]))
    weak = tuple(one for one in ordered if level <= one.expected < 1)
    floors = crowd.floors(level)
    least = min((one.near for one in floors if one.near is not None), default=None)
    return Screened("alike", int(crowd.pairs.sum()), level, least, signs, weak, floors)


def _shares(sheets: Sequence[ReadingSheet], every: Sequence[ReadingSheet]) -> Array:
    usual = agreement_in_locations(sheets)
    tallies = [(one.kind, *agreeing(one.values)) for one in every]
    return np.array([max(usual.get(kind, 1.0), same / pairs if pairs else 1.0) for kind, same, pairs in tallies])


def _once(sheets: Sequence[ReadingSheet], signs: Sequence[Sign]) -> Iterator[Sign]:
    """Yield of several that agree one sign for each later sheet, with the first it agrees with; steel counts once."""
    by_later: dict[int, list[Sign]] = {}
    for sign in signs:
        by_later.setdefault(sign.sheets[1], []).append(sign)
    told: set[tuple[object, object]] = set()
    for later in sorted(by_later, key=lambda place: (sheets[place].when, place)):
        sign = min(by_later[later], key=lambda one: (sheets[one.sheets[0]].when, one.sheets[0]))
        first = sign.sheets[0]
        steel, of = _steel(sheets[later]), _steel(sheets[first])
        if (steel, of) not in told and (of, steel) not in told:
            told |= {(steel, of), (steel, steel)}
            yield sign


def _steel(sheet: ReadingSheet) -> object:
    return (sheet.contract, sheet.area, *(sheet.steel or (sheet.path, sheet.number)))


class _Crowd:
    """Sheets to compare, as arrays by number of readings."""

    def __init__(self, sheets: Sequence[ReadingSheet], split: int | None, shares: Array) -> None:
        self.sheets, self.split, self.shares = sheets, split, shares
        self.usable = [place for place, one in enumerate(sheets) if len(one.values) >= FEWEST]
        contracts: dict[str, int] = {}
        self.contract = np.array([contracts.setdefault(one.contract, len(contracts)) for one in sheets], np.int64)
        self.place = np.array([one.place for one in sheets], np.int64)
        ranks = sorted(range(len(sheets)), key=lambda place: (sheets[place].when, place))
        self.rank = np.empty(len(sheets), np.int64)
        self.rank[ranks] = np.arange(len(sheets))
        steels: dict[object, int] = {}
        self.steel = np.array([steels.setdefault(_steel(one), len(steels)) for one in sheets], np.int64)
        self.groups = in_groups((sheets[place].unit, len(sheets[place].values)) for place in self.usable)
        self.by_unit = in_groups(sheets[place].unit for place in self.usable)
        self.pairs = self._counted(self.groups)
        self.pairs_of_runs = self._counted(self.by_unit)

    def _counted(self, groups: dict[object, list[int]]) -> Array:
        """Return how many pairs there are of each nearness."""
        total = np.zeros(len(NEARNESS), np.int64)
        for members in groups.values():
            places = np.array([self.usable[one] for one in members])
            if self.split is None:
                total += self._pairs_of(places)
            else:
                left, right = places[places < self.split], places[places >= self.split]
                total += self._pairs_of(places) - self._pairs_of(left) - self._pairs_of(right)
        return total

    def _pairs_of(self, places: Array) -> Array:
        """Count by nearness without going through the pairs."""
        within = near = same = 0
        for contract in np.unique(self.contract[places]):
            counts = np.bincount(self.place[places[self.contract[places] == contract]])
            within += int((counts * (counts - 1) // 2).sum())
            near += sum(int((counts[gap:] * counts[:-gap]).sum()) for gap in range(1, min(NEAR + 1, len(counts))))
            same += int(counts.sum() * (counts.sum() - 1) // 2)
        every = len(places) * (len(places) - 1) // 2
        return np.array([within, near, same - within - near, every - same])

    def floors(self, level: float) -> tuple[Floor, ...]:
        """Return by the number of readings how many have to agree as they are, in reports near each other and far."""
        if not self.pairs.sum():
            return ()
        own: dict[int, list[int]] = {}
        for place in self.usable:
            own.setdefault(len(self.sheets[place].values), []).append(place)
        near, far = max(1, int(self.pairs[1])), max(1, int(self.pairs[1:].max()))
        shares = {of: np.minimum(np.median(self.shares[places]), 1.0) for of, places in own.items()}
        return tuple(
            Floor(of, len(places), *(enough(of, float(shares[of]), level / (pairs * _TESTS)) for pairs in (near, far)))
            for of, places in sorted(own.items())
            if len(places) > 1
        )

    def signs(self) -> Iterator[Sign]:
        """Yield a sign for each pair and family of which fewer than one is expected."""
        by_gram = self._sharing()
        for members in self.groups.values():
            places = np.array([self.usable[one] for one in members])
            length = len(self.sheets[int(places[0])].values)
            values = np.full((len(self.sheets), length), 0, np.int32)
            values[places] = [self.sheets[place].values for place in places]
            locations = _Locations([self.sheets[place] for place in places], places, len(self.sheets))
            for pairs in self._candidates(places, by_gram, length):
                yield from self._compared(values, locations, pairs)
        yield from self._runs(by_gram)

    def _candidates(self, places: Array, by_gram: set[tuple[int, int, int]], length: int) -> Iterator[_Pairs]:
        """Yield the pairs to compare: all of a contract, or its near ones; and what shares a row of readings."""
        within = set(places.tolist())
        sharing = np.array(
            sorted({(one, other) for one, other, _ in by_gram if one in within and other in within}), np.int64
        ).reshape(-1, 2)
        apart = self.contract[sharing[:, 0]] != self.contract[sharing[:, 1]]
        blocks = [sharing[apart]]
        for contract in np.unique(self.contract[places]):
            own = places[self.contract[places] == contract]
            one, other = np.triu_indices(len(own), 1) if len(own) <= ALL_PAIRS else self._near(own)
            blocks.append(np.stack([own[one], own[other]], 1))
            if len(own) > ALL_PAIRS:
                blocks.append(sharing[~apart & (self.contract[sharing[:, 0]] == contract)])
        size = max(1, _BLOCK // (length * length))
        for block in blocks:
            for start in range(0, len(block), size):
                pairs = self._valid(block[start : start + size])
                if len(pairs.first):
                    yield pairs

    def _near(self, own: Array) -> tuple[Array, Array]:
        """Return pairs of sheets whose reports are near each other, as places in ``own``."""
        ordered = np.argsort(self.place[own], kind="stable")
        steps = [(ordered[:-gap], ordered[gap:]) for gap in range(1, 4 * NEAR)]
        return np.concatenate([one for one, _ in steps]), np.concatenate([other for _, other in steps])

    def _valid(self, pairs: Array) -> _Pairs:
        one, other = pairs[:, 0], pairs[:, 1]
        swap = self.rank[one] > self.rank[other]
        one, other = np.where(swap, other, one), np.where(swap, one, other)
        same = self.contract[one] == self.contract[other]
        gap = np.abs(self.place[one] - self.place[other])
        keep = self.steel[one] != self.steel[other]
        if self.split is not None:
            keep &= (one < self.split) != (other < self.split)
        near = np.where(~same, 3, np.where(gap == 0, 0, np.where(gap <= NEAR, 1, 2)))
        q = np.maximum(self.shares[one], self.shares[other])
        return _Pairs(one[keep], other[keep], near[keep], np.minimum(q[keep], 1.0))

    def _compared(self, values: Array, locations: _Locations, pairs: _Pairs) -> Iterator[Sign]:
        one, other = values[pairs.first], values[pairs.second]
        n = one.shape[1]
        difference = other - one
        as_is = (difference == 0).sum(1)
        yield from self._told("as-is", pairs, as_is, n, _tail(as_is, n, pairs.q), 1)
        turned = np.zeros(len(one), np.int64)
        for turn in _turns(other):
            np.maximum(turned, (turn == one).sum(1), out=turned)
        if locations.each > 1:
            exchanged = other.reshape(len(other), -1, locations.each)[:, :, ::-1].reshape(other.shape)
            np.maximum(turned, (exchanged == one).sum(1), out=turned)
        yield from self._told("turned", pairs, turned, n, _tail(turned, n, pairs.q), 2 * n)
        shifted = _commonest(difference)
        tail = _tail(shifted - 1, n - 1, pairs.q) * n / shifted
        yield from self._told("shifted", pairs, np.where(shifted > as_is, shifted, 0), n, tail, 1)
        if locations.each:
            count = locations.common(pairs.first, pairs.second)
            tail = locations.ways[count] * pairs.q ** (locations.each * count)
            yield from self._told("reordered", pairs, count, locations.number, tail, 1)

    def _told(self, how: str, pairs: _Pairs, count: Array, of: int, tail: Array, ways: int) -> Iterator[Sign]:
        tests = self.pairs[pairs.near] * ways
        expected = np.maximum(tests, 1) * _TESTS * tail
        for at in np.flatnonzero((expected < 1) & (count > 0)):
            yield self._sign(how, int(pairs.first[at]), int(pairs.second[at]), int(pairs.near[at]), int(tests[at]),
                             float(expected[at]), int(count[at]), of, float(pairs.q[at]))  # fmt: skip

    def _sign(
        self, how: str, one: int, other: int, near: int, tests: int, expected: float, count: int, of: int, q: float
    ) -> Sign:  # fmt: skip
        facts: dict[str, str | int] = {"nearness": NEARNESS[near], "count": count, "of": of, "share": f"{q:.3f}"}
        return Sign("alike", how, (one, other), tests, expected, count / of, facts)

    def _sharing(self) -> set[tuple[int, int, int]]:
        """Return pairs that share seven readings in a row, shifted or turned round too; with the offset of the row.

        The offset is that of the second against the first, and none is told of what is turned round.
        """
        grams: dict[tuple[str, bytes], list[tuple[int, int, bool]]] = {}
        for place in self.usable:
            sheet = self.sheets[place]
            for gram, start, ahead in _grams(np.diff(np.array(sheet.values, np.int32))):
                grams.setdefault((sheet.unit, gram), []).append((place, start, ahead))
        found = set()
        for members in grams.values():
            pairs: Any = combinations(members, 2) if len(members) <= _CROWD else pairwise(members)
            found |= {
                (one, other, where - at if way is their else _TURNED)
                for (one, at, way), (other, where, their) in pairs
                if one != other
            }
        return found

    def _runs(self, by_gram: set[tuple[int, int, int]]) -> Iterator[Sign]:
        known = sorted(row for row in by_gram if row[2] != _TURNED)
        for one, other, offset in known:
            pair = self._valid(np.array([[one, other]]))
            if not len(pair.first):
                continue
            left, right = self.sheets[one].values, self.sheets[other].values
            overlap = [left[at] == right[at + offset] for at in range(len(left)) if 0 <= at + offset < len(right)]
            length = _longest(overlap)
            if length < RUN or length == len(left) == len(right):
                continue
            ways = (len(left) - length + 1) * (len(right) - length + 1)
            near, q = int(pair.near[0]), float(pair.q[0])
            tests = int(self.pairs_of_runs[near]) * ways
            expected = max(tests, 1) * _TESTS * q**length
            if expected < 1:
                first, second = int(pair.first[0]), int(pair.second[0])
                yield self._sign("run", first, second, near, tests, expected, length, max(len(left), len(right)), q)


class _Locations:
    """The readings of each location as one number, equal ones of a sheet told apart by how often they came before."""

    def __init__(self, sheets: Sequence[ReadingSheet], places: Array, total: int) -> None:
        each = [_readings_each(sheet) for sheet in sheets]
        self.each = Counter(filter(None, each)).most_common(1)[0][0] if any(each) else 0
        self.number = len(sheets[0].values) // self.each if self.each else 0
        # of a sheet that is otherwise, none equals any other
        self.codes = -1 - np.arange(total * self.number, dtype=np.int64).reshape(total, self.number)
        names: dict[tuple[tuple[int, ...], int], int] = {}
        for place, sheet, own in zip(places.tolist(), sheets, each, strict=True):
            if own != self.each or not own:
                continue
            seen: dict[tuple[int, ...], int] = {}
            for at in range(self.number):
                read = sheet.values[at * self.each : (at + 1) * self.each]
                seen[read] = seen.get(read, 0) + 1
                self.codes[place, at] = names.setdefault((read, seen[read]), len(names))
        b = self.number
        self.ways = np.array([math.comb(b, m) * math.perm(b, m) for m in range(b + 1)], float)

    def common(self, one: Array, other: Array) -> Array:
        """Return how many locations of each pair have the same readings, wherever they stand."""
        equal = self.codes[one][:, :, None] == self.codes[other][:, None, :]
        return np.asarray(equal.any(2).sum(1))


def _readings_each(sheet: ReadingSheet) -> int:
    """Return how many readings each location has, where it is the same for all and they follow each other; else 0."""
    names = sheet.locations
    each = next((at for at, name in enumerate(names) if name != names[0]), len(names))
    if each == 0 or len(names) % each or each == len(names) or len(names) != len(sheet.values):
        return 0
    heads = range(0, len(names), each)
    apart = len({names[at] for at in heads}) == len(heads)
    return each if apart and all(len(set(names[at : at + each])) == 1 for at in heads) else 0


def _grams(steps: Array) -> Iterator[tuple[bytes, int, bool]]:
    """Yield each row of steps as one name for it and its reverse, where it begins, and which of the two it is."""
    for start in range(len(steps) - RUN + 2):
        gram = steps[start : start + RUN - 1]
        if gram.any():
            ahead, back = gram.tobytes(), (-gram[::-1]).tobytes()
            yield min(ahead, back), start, ahead < back


def _turns(values: Array) -> Iterator[Array]:
    """Yield the rotations of each row, and of each row from its end."""
    n = values.shape[1]
    backwards = values[:, ::-1]
    for turn in range(n):
        if turn:
            yield np.roll(values, turn, 1)
        yield np.roll(backwards, turn, 1)


def _commonest(rows: Array) -> Array:
    """Return how often the commonest value of each row stands in it."""
    ordered = np.sort(rows, 1)
    run = np.ones(len(rows), np.int64)
    best = run.copy()
    for at in range(1, rows.shape[1]):
        run = np.where(ordered[:, at] == ordered[:, at - 1], run + 1, 1)
        np.maximum(best, run, out=best)
    return best


def _tail(count: Array, of: int, q: Array) -> Array:
    """Return the probability of as many successes or more; 1 where there are about as many as expected, or fewer."""
    from scipy.special import betainc

    tail = np.ones(len(count))
    at = np.flatnonzero(count > of * q + 1)
    tail[at] = betainc(count[at], of - count[at] + 1, q[at])
    return tail


def enough(of: int, q: float, level: float) -> int | None:
    """Return how many of so many readings have to agree so that chance does it below ``level``; None for no number."""
    counts = np.arange(1, of + 1)
    enough = counts[_tail(counts, of, np.full(of, q)) < level]
    return int(enough[0]) if len(enough) else None


def _longest(equal: Sequence[bool]) -> int:
    best = run = 0
    for one in equal:
        run = run + 1 if one else 0
        best = max(best, run)
    return best
