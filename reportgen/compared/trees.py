"""Two trees of maps, lists and text: in what they differ, place by place, and either with one difference taken over.

An entry of a list is known by what names it (an id; an area and its apparatus; a location, spot and roll), so that one
that was put before others makes no other one differ; where its time is another, by most of what it says.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

ORDER: Final = "order"
"""Last part of a place where two lists hold the same in another order."""
_NAMES: Final = (
    "area", "apparatus", "location", "spot", "roll", "file", "code", "check", "subject", "kind", "gauge", "instrument",
    "place", "failing", "towards", "name", "by", "time",
)  # fmt: skip
_LONGEST: Final = 20_000
_ALIKE: Final = 0.5
"""Share of what two entries say that must be the same for one to be the other, changed."""


@dataclass(frozen=True, slots=True)
class TreeDifference:
    """What stands at a place before and now, None where nothing does.

    ``within`` are the ways to the map or list that holds it, in either tree, and ``at`` is where in it.
    """

    place: tuple[str, ...]
    before: str | None
    now: str | None
    within: tuple[tuple[Any, ...], tuple[Any, ...]]
    at: tuple[Any, Any]

    def taken_over(self, trees: tuple[Any, Any], into: int) -> Any:
        """Return a copy of the tree ``into`` (0: before, 1: now) in which this place is as in the other."""
        tree = deepcopy(trees[into])
        holder, other = value_at(tree, self.within[into]), value_at(trees[1 - into], self.within[1 - into])
        here, there = self.at[into], self.at[1 - into]
        if self.place[-1] == ORDER and isinstance(here, tuple):
            kept = [holder[index] for index in here]
            rest = [one for index, one in enumerate(holder) if index not in here]
            holder[:] = kept + rest
        elif there is None:
            del holder[here]
        elif here is not None:
            holder[here] = deepcopy(other[there])
        elif isinstance(holder, list):
            holder.insert(there, deepcopy(other[there]))
        else:
            holder[there] = deepcopy(other[there])
        return tree


def value_at(tree: Any, way: Sequence[Any]) -> Any:
    """Return what stands in a tree at the end of a way of names and places."""
    for one in way:
        tree = tree[one]
    return tree


def differences(before: Any, now: Any) -> Iterator[TreeDifference]:
    """Yield every place where two maps differ, in the order of the later one."""
    yield from _of_maps(before, now, (), ((), ()))


def _of_maps(
    before: dict[str, Any], now: dict[str, Any], place: tuple[str, ...], ways: tuple[tuple[Any, ...], tuple[Any, ...]]
) -> Iterator[TreeDifference]:
    for name in dict.fromkeys([*now, *before]):
        own = (*place, name.replace("_", " "))
        at = (name if name in before else None, name if name in now else None)
        yield from _of_values(before.get(name), now.get(name), own, ways, at)


def _of_values(
    before: Any, now: Any, place: tuple[str, ...], ways: tuple[tuple[Any, ...], tuple[Any, ...]], at: tuple[Any, Any]
) -> Iterator[TreeDifference]:
    if before == now:
        return
    inner = ((*ways[0], at[0]), (*ways[1], at[1]))
    if isinstance(before, dict) and isinstance(now, dict):
        yield from _of_maps(before, now, place, inner)
    elif isinstance(before, list) and isinstance(now, list) and any(isinstance(one, dict) for one in (*before, *now)):
        yield from _of_lists(before, now, place, inner)
    else:
        yield TreeDifference(place, told(before), told(now), ways, at)


def _of_lists(
    before: list[Any], now: list[Any], place: tuple[str, ...], ways: tuple[tuple[Any, ...], tuple[Any, ...]]
) -> Iterator[TreeDifference]:
    pairs = sorted(_pairs(before, now))
    partners = {other: one for one, other in pairs}
    for index, value in enumerate(now):
        first = partners.get(index)
        former = None if first is None else before[first]
        yield from _of_values(former, value, (*place, _known_as(value, index)), ways, (first, index))
    for index in sorted(set(range(len(before))) - {one for one, _ in pairs}):
        own = (*place, _known_as(before[index], index))
        yield TreeDifference(own, told(before[index]), None, ways, (index, None))
    by_now = sorted(pairs, key=_second)
    if by_now != pairs:  # each list in the order of the other, as places in it
        orders = tuple(other for _, other in pairs), tuple(one for one, _ in by_now)
        texts = ", ".join(named(now[one]) for one in orders[0]), ", ".join(named(before[one]) for one in orders[1])
        yield TreeDifference((*place, ORDER), *texts, ways, (orders[1], orders[0]))


def _known_as(value: Any, index: int) -> str:
    return named(value) or f"no. {index + 1}"


def _second(pair: tuple[int, int]) -> int:
    return pair[1]


def _pairs(before: Sequence[Any], now: Sequence[Any]) -> list[tuple[int, int]]:
    """Return which entry of one list is which of the other: the same, one of the same name, or one that is alike."""
    pairs: list[tuple[int, int]] = []
    for key in (repr, named):
        pairs += _of_one_key(before, now, pairs, key)
    left, right = _without(before, now, pairs)
    for index in left:
        same = [one for one in right if _but_time(now[one]) == _but_time(before[index])]
        likeness, other = max(((_likeness(before[index], now[one]), -one) for one in same), default=(0.0, 0))
        if likeness > _ALIKE:
            pairs.append((index, -other))
            right.remove(-other)
    return pairs


def _without(
    before: Sequence[Any], now: Sequence[Any], pairs: Sequence[tuple[int, int]]
) -> tuple[list[int], list[int]]:
    """Return which entries of either list have no partner."""
    taken = {one for one, _ in pairs}, {other for _, other in pairs}
    return [one for one in range(len(before)) if one not in taken[0]], [
        one for one in range(len(now)) if one not in taken[1]
    ]


def _of_one_key(
    before: Sequence[Any], now: Sequence[Any], pairs: Sequence[tuple[int, int]], key: Callable[[Any], str]
) -> list[tuple[int, int]]:
    """Pair entries without a partner that have one key, in their order."""
    left, right = _without(before, now, pairs)
    waiting: dict[str, list[int]] = {}
    for index in right:
        waiting.setdefault(key(now[index]), []).append(index)
    keyed = [(index, key(before[index])) for index in left]
    return [(index, waiting[own].pop(0)) for index, own in keyed if own and waiting.get(own)]


def _likeness(one: Any, other: Any) -> float:
    """Return which share of all that two entries say both say."""
    first, second = dict(leaves(one)), dict(leaves(other))
    both = sum(second.get(place) == value for place, value in first.items())
    return both / max(1, len(first.keys() | second.keys()))


def leaves(tree: Any, place: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield the place of each text in a tree, and the text; lists of mere texts are one."""
    if isinstance(tree, dict):
        for name, value in tree.items():
            yield from leaves(value, (*place, name.replace("_", " ")))
    elif isinstance(tree, list) and any(isinstance(one, dict) for one in tree):
        seen: dict[str, int] = {}
        for index, value in enumerate(tree):
            name = _known_as(value, index)
            seen[name] = seen.get(name, 0) + 1
            yield from leaves(value, (*place, name if seen[name] == 1 else f"{name}, {seen[name]}"))
    else:
        yield place, told(tree) or ""


def named(value: Any) -> str:
    """Return what an entry of a list is known by: its id, or all that names it; empty where nothing does."""
    if not isinstance(value, dict):
        return str(value)
    if isinstance(value.get("id"), str):
        return str(value["id"])
    return ", ".join(value[name] for name in _NAMES if isinstance(value.get(name), str))


def _but_time(value: Any) -> str:
    return named({name: one for name, one in value.items() if name != "time"}) if isinstance(value, dict) else ""


def told(value: Any) -> str | None:
    """Return what stands at a place on one line; None for nothing. Of what is very long the beginning."""
    text = None if value is None else _text(value)
    if text is not None and len(text) > _LONGEST:
        return f"{text[:_LONGEST]} … ({len(text)} characters)"
    return text


def _text(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{' '.join(place)}: {text}" for place, text in leaves(value))
    if isinstance(value, list):
        between = "; " if any(isinstance(one, dict) for one in value) else ", "
        return between.join(map(_text, value))
    return str(value)
