"""What project files of one contract say otherwise after areas were inspected by them: sizes, names, limits.

Whoever writes the project file must not settle with it what a report found. A smaller size lets the re-inspection of a
part stand for the whole, another id takes the steel out of what is owed, and a limit that is laxer for a day releases
what the contract does not. None of these is undone by putting the file back as it was, nor by repeating it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from difflib import SequenceMatcher
from itertools import pairwise
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from reportgen.errors import QuantityError, UsageError
from reportgen.names import plain_serial, spelt_alike
from reportgen.references import cleanliness_grade
from reportgen.rules.extent import written_finer
from reportgen.units import DISPLAY, Quantity
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from reportgen.issued.record import PlannedAreaRecord
    from reportgen.words.told import Told

Listed = Mapping[str, "PlannedAreaRecord"]
"""The areas that a project file lists, by id."""


class Listing(NamedTuple):
    """A report as far as it is held against the lists of others: it counts, or a revision replaced it (``replaced``).

    ``found`` is the decision on each area that it inspected; ``limits`` are members and values of what it judges by;
    ``noted`` is by area and id how each nonconformance on an area stands; of the areas ``in_part`` not all is released.
    """

    title: Told
    file: str
    number: str
    replaced: bool
    found: Mapping[str, str]
    listed: Listed
    limits: Mapping[str, str]
    noted: Mapping[tuple[str, str], str] = MappingProxyType({})
    in_part: frozenset[str] = frozenset()


class ListedOtherwise(NamedTuple):
    """A doubt about one area: what the project file of a report says otherwise than the one of a report before it."""

    code: Literal["area-size-changed", "area-replaced", "limits-loosened"]
    area: str
    sentence: Told
    after: Listing
    before: Listing


def listed_otherwise(reports: Sequence[Listing]) -> Iterator[ListedOtherwise]:
    """Yield what is in doubt about areas of a contract by its project files; ``reports`` are in the order of issue."""
    yield from _sizes(reports)
    yield from _replaced(reports)
    yield from _loosened(reports)


# Sizes

_PART: Final = "part"
"""How an area stands of which not all is released, beside the decisions."""


def size_of(one: PlannedAreaRecord | None) -> Quantity | None:
    """Return how large an area is by a list; None where that does not say."""
    return Quantity(Decimal(one.size), one.unit) if one is not None and one.size else None


def covers(size: Quantity | None, other: Quantity | None) -> bool:
    """Whether a size is no smaller than another, however both are written; what is not stated covers nothing stated."""
    if other is None:
        return True
    try:
        least = other.exact - written_finer([other, *filter(None, [size])], other.unit)
        return size is not None and size.in_unit(other.unit) >= least
    except QuantityError:  # of the length of a weld and of an area neither covers the other
        return False


def _same(one: Quantity | None, other: Quantity | None) -> bool:
    return covers(one, other) and covers(other, one)


def _sizes(reports: Sequence[Listing]) -> Iterator[ListedOtherwise]:
    """Yield each change of the size of an area that was inspected; a first size is one where what failed had none.

    It is none any more once a later report releases the area as a whole that is as large as either.
    """
    last: dict[str, str] = {}
    known: dict[str, tuple[Quantity | None, Listing]] = {}  # by the last list that has it, as one may leave it out
    for place, after in enumerate(reports):
        there = [(area, found) for area, found in last.items() if area in after.listed and area in known]
        for area, found in there:
            (was, before), now = known[area], size_of(after.listed[area])
            if is_resized(was, now, found) and not released_whole(reports[place:], area, was, now):
                facts = {"was": _told(was), "now": _told(now), "word": told(f"word-{found}")}
                sentence = told("area-size-differs", area=area, before=before.title, after=after.title, **facts)
                yield ListedOtherwise("area-size-changed", area, sentence, after, before)
        last |= stands_by(after)
        known |= {area: (size_of(after.listed[area]), after) for area in last if area in after.listed}


def is_resized(was: Quantity | None, now: Quantity | None, found: str) -> bool:
    """Whether a size is another than before; the first of what was released is none."""
    return (was is not None or found != "release") and not _same(was, now)


def stands_by(one: Listing) -> dict[str, str]:
    """Return how each area stands by a report that inspected it: by the decision, or released but a part."""
    return {area: _PART if word == "release" and area in one.in_part else word for area, word in one.found.items()}


def released_whole(later: Sequence[Listing], area: str, *sizes: Quantity | None) -> bool:
    """Whether the last of reports that inspected an area released all of it, no less than each of two sizes."""
    last = next((one for one in reversed(later) if area in one.found and not one.replaced), None)
    if last is None or last.found[area] != "release" or area in last.in_part:
        return False
    size = size_of(last.listed.get(area))
    return size is not None and all(covers(size, each) for each in sizes)


def _told(size: Quantity | None) -> Told | str:
    if size is None:
        return told("requirement-of-nobody")
    return f"{size.magnitude:f} {DISPLAY.get(size.unit, size.unit)}"


def not_covered(reports: Sequence[Listing]) -> dict[str, Told]:
    """Return of each area that failed why its release does not cover it: it was smaller than what failed.

    The larger of two sizes that failed counts, until a release of as much.
    """
    inspected: dict[str, list[Listing]] = {}
    for report, area in ((one, name) for one in reports if not one.replaced for name in one.found):
        inspected.setdefault(area, []).append(report)
    why = {area: owed_of(counting, area) for area, counting in inspected.items()}
    return {area: told_of for area, told_of in why.items() if told_of is not None}


def owed_of(counting: Sequence[Listing], area: str) -> Told | None:
    """Return why the last of the reports that inspected an area does not release all that failed; None if it does."""
    whole, failed, why = None, None, None
    for one in counting:
        size = size_of(one.listed.get(area))
        if one.found[area] != "release":
            why = None
            if size is not None and not covers(whole, size):
                whole, failed = size, one
        elif covers(size, whole) or failed is None:
            whole, failed, why = None, None, None
        else:
            facts = {"failed": failed.title, "whole": _told(whole), "size": _told(size)}
            why = told("release-not-of-all", what=one.title, **facts)
    return why


# Areas that are gone


class GoneFromList(NamedTuple):
    """An area that is owed ``since`` a report and that a later one, ``by``, does not list any more as it stood then.

    ``still`` says whether the newest list lacks it, ``name`` which nonconformance is open on it, where that alone is.
    """

    area: str
    since: Listing
    by: Listing
    still: bool
    name: str = ""

    @property
    def told(self) -> Told:
        """What it is, why it is owed, and how the list lacks it."""
        plan, now = self.since.listed[self.area], self.by.listed.get(self.area)
        kept = is_still(self.by, self.since, self.area)
        how = "listed-not" if now is None else "listed-as-less" if kept else "listed-as-other"
        facts = {"area": self.area, "was": plan.name, "since": self.since.title, "lacks": told(how, by=self.by.title)}
        if self.name:
            return told("area-gone-while-open", name=self.name, **facts)
        return told("area-gone", word=told(f"word-{self.since.found[self.area]}"), **facts)


class ChangedSince(NamedTuple):
    """How an area was changed since a report, the first list that has it so, and what later lists say of it."""

    how: Literal["added", "renamed", "grown"]
    first: Listing
    plans: list[PlannedAreaRecord]


_MOST_NAMED: Final = 5


def _replaced(reports: Sequence[Listing]) -> Iterator[ListedOtherwise]:
    """Yield each area that may hold the steel of one that is owed and went from the list.

    As long as that is missing, it is any that was added, renamed or made larger since that failed. Listed again, it is
    one that was added or renamed and is called like it, or has its size, until the missing one is released.
    """
    found: dict[str, list[tuple[GoneFromList, ChangedSince]]] = {}
    for gone in gone_from_lists(reports):
        for area, change in changed_since(reports, gone).items():
            like = change.how != "grown" and any(is_like(plan, gone.since.listed[gone.area]) for plan in change.plans)
            if gone.still or like:
                found.setdefault(area, []).append((gone, change))
    for area, several in found.items():
        (gone, change), more = several[0], len(several) - _MOST_NAMED
        sentence = told(
            "area-in-place-of", area=area, name=change.plans[0].name,
            how=told(f"listed-{change.how}", since=change.first.title),
            gone=tuple(one.told for one, _ in several[:_MOST_NAMED]), more=more if more > 0 else None,
        )  # fmt: skip
        yield ListedOtherwise("area-replaced", area, sentence, gone.by, gone.since)


def gone_from_lists(reports: Sequence[Listing]) -> list[GoneFromList]:
    """Return the areas that failed, or have a nonconformance open, and that a later list lacks, by the first such one.

    One is settled by a release under its id of as much as failed, or where its nonconformances were all that was open
    by these being closed.
    """
    owed, gone = _Owed({}, {}), dict[str, Listing]()
    for one in reports:
        owed = owed.after(one)
        areas = owed.areas
        gone = dict.fromkeys(owed.not_in(one), one) | {area: by for area, by in gone.items() if area in areas}
    areas, names = owed.areas, dict(reversed(owed.named))
    last = next((one for one in reversed(reports) if one.listed and not one.replaced), None)
    still = areas.keys() if last is None else owed.not_in(last)
    return [
        GoneFromList(area, areas[area], by, area in still, "" if area in owed.failed else names[area])
        for area, by in gone.items()
    ]


class _Owed(NamedTuple):
    """The first report in which each area failed, and the first that has each nonconformance on one as open."""

    failed: dict[str, Listing]
    named: dict[tuple[str, str], Listing]

    @property
    def areas(self) -> dict[str, Listing]:
        """Each area that is owed, with the report since which it is."""
        return {area: by for (area, _), by in reversed(self.named.items())} | self.failed

    def after(self, one: Listing) -> _Owed:
        """Return what is owed after one more report."""
        found = {area: one for area, decision in one.found.items() if decision != "release" and area in one.listed}
        failed = {area: by for area, by in (found | self.failed).items() if not releases(one, by, area)}
        left = {key: one for key, status in one.noted.items() if status == "open" and key[0] in one.listed}
        named = {key: by for key, by in (left | self.named).items() if not closes(one, key)}
        return _Owed(failed, named)

    def not_in(self, one: Listing) -> list[str]:
        """Return the areas that a report lists no more as they stood; none where its list cannot be read."""
        return [area for area, by in self.areas.items() if one.listed and not still_lists(one, by, area)]


def closes(one: Listing, key: tuple[str, str]) -> bool:
    """Whether a report closes a nonconformance, by its area and id."""
    return one.noted.get(key) == "closed" and not one.replaced


def releases(one: Listing, failed: Listing, area: str) -> bool:
    """Whether a report releases an area as it stood in the one in which it failed."""
    return one.found.get(area) == "release" and not one.replaced and still_lists(one, failed, area)


def still_lists(one: Listing, before: Listing, area: str) -> bool:
    """Whether a report lists as much of an area as one before it, and as the same."""
    return is_still(one, before, area) and covers(size_of(one.listed.get(area)), size_of(before.listed[area]))


def is_still(one: Listing, before: Listing, area: str) -> bool:
    """Whether an id stands in a list for the steel for which it stood in one before: its name did not go to another."""
    was, now = before.listed[area], one.listed.get(area)
    return now is not None and is_that(now, was) and not _is_elsewhere(was, now, one, before)


def is_that(now: PlannedAreaRecord, was: PlannedAreaRecord) -> bool:
    """Whether what two lists have under one id can be one area by name, structure and size.

    Of a name put right something is left; of one that has nothing of the old one an equal size proves nothing.
    """
    called, sized = _called_like(now, was), _sized_like(now, was)
    if _one_structure(now, was):
        return called or (sized and _has_something_of(now.name, was.name))
    return called and sized


def _is_elsewhere(was: PlannedAreaRecord, now: PlannedAreaRecord, one: Listing, before: Listing) -> bool:
    """Whether what an area was called, or its place in its structure, is in a later list that of another id."""
    if _is_called_there(now, was):
        return False
    taken: list[Callable[[PlannedAreaRecord, PlannedAreaRecord], bool]] = [_is_called_there]
    if not spelt_alike(now.name, was.name):
        taken.append(lambda each, known: spelt_alike(each.name, known.name))
    if not _called_like(now, was):
        taken.append(_called_like)
    others = [(plan, before.listed.get(plan.area)) for plan in one.listed.values() if plan.area != was.area]
    return any(by(plan, was) and not (first is not None and by(first, was)) for plan, first in others for by in taken)


def _is_called_there(one: PlannedAreaRecord, other: PlannedAreaRecord) -> bool:
    return spelt_alike(one.name, other.name) and _one_structure(one, other)


def changed_since(reports: Sequence[Listing], gone: GoneFromList) -> dict[str, ChangedSince]:
    """Return by id what was added, renamed or made larger in any structure after an area failed that is ``gone``.

    Of the area itself, where its id stands for other steel.
    """
    known = gone.since.listed
    after = [one for one in reports[reports.index(gone.since) + 1 :] if one.listed]
    lists = [one for one, before in zip(after, [gone.since, *after], strict=False) if one.listed != before.listed]
    other = [one for one in lists if gone.area in one.listed and not is_still(one, gone.since, gone.area)]
    stated = [
        (plan, first, how_changed(known.get(plan.area), plan))
        for plan, first in first_stated(lists).items()
        if plan.area != gone.area
    ]
    stated += [(one.listed[gone.area], one, "renamed") for one in other]
    found: dict[str, ChangedSince] = {}
    for plan, first, how in stated:
        if how is not None:
            found.setdefault(plan.area, ChangedSince(how, first, [])).plans.append(plan)
    return found


def first_stated(lists: Iterable[Listing]) -> dict[PlannedAreaRecord, Listing]:
    """Return all that lists say of areas, each once, with the first that says it."""
    found: dict[PlannedAreaRecord, Listing] = {}
    for one in lists:
        for plan in one.listed.values():
            found.setdefault(plan, one)
    return found


def how_changed(was: PlannedAreaRecord | None, now: PlannedAreaRecord) -> Literal["added", "renamed", "grown"] | None:
    """Return how an area is listed otherwise than before, where it may hold more steel or other; None else."""
    if was is None:
        return "added"
    if not _is_called_there(now, was):
        return "renamed"
    before, after = size_of(was), size_of(now)
    no_more = before is after if before is None or after is None else covers(before, after)
    return None if no_more else "grown"


def _one_structure(one: PlannedAreaRecord, other: PlannedAreaRecord) -> bool:
    return spelt_alike(one.structure, other.structure) or spelt_alike(one.structure_name, other.structure_name)


def is_like(added: PlannedAreaRecord, gone: PlannedAreaRecord) -> bool:
    """Whether an area that was added has the name of one that is gone, a part of that, or its size."""
    return _called_like(added, gone) or _sized_like(added, gone)


def _sized_like(one: PlannedAreaRecord, other: PlannedAreaRecord) -> bool:
    return size_of(other) is not None and _same(size_of(one), size_of(other))


def _called_like(one: PlannedAreaRecord, other: PlannedAreaRecord) -> bool:
    mine, theirs = (_words(each.name) for each in (one, other))
    return spelt_alike(one.name, other.name) or bool(mine and theirs and (mine <= theirs or theirs <= mine))


_ALIKE: Final = 0.75
"""Share of letters that a name has in common with one in which a letter or two were put right."""


def _has_something_of(name: str, other: str) -> bool:
    """Whether two names share a word, or are one but for typing."""
    if _words(name) & _words(other):
        return True
    return SequenceMatcher(None, name.casefold(), other.casefold()).ratio() >= _ALIKE


def _words(name: str) -> set[str]:
    return set(re.findall(r"\w+", name.casefold()))


# Limits

_TEXTS: Final = frozenset({"document", "clause", "edition"})
"""Last words of members that tell where a limit stands, and change no verdict by themselves."""
_LESS: Final = frozenset({"maximum", "interval", "staining", "quantity", "humidity", "conductivity", "area", "length"})
"""Words of members of which less is asked the stricter; of any other number more is."""
_MORE: Final = frozenset({"minimum", "margin", "locations", "location", "tests", "failing"})


def _loosened(reports: Sequence[Listing]) -> Iterator[ListedOtherwise]:
    """Yield each area that was inspected by limits that are laxer than those before them, by no new document.

    Or by laxer ones than those to which the contract returned: of two that take turns, the stricter are the contract's.
    """
    runs = _runs([one for one in reports if one.limits])
    documents = [plain_serial(run[0].limits.get("document", "")) for run in runs]  # one that looks new is none
    told_of: set[int] = set()
    for place, (before, after) in enumerate(pairwise(runs), start=1):
        laxer = _laxer(before[0].limits, after[0].limits)
        if laxer and documents[place] in documents[:place]:
            told_of.add(place)
            yield from judged_by(after, before[-1], laxer, "limits-laxer-than-before")
        laxer = _laxer(after[0].limits, before[0].limits)
        former = [
            run for run, document in zip(runs, documents[: place - 1], strict=False) if document == documents[place]
        ]
        returns = any(_alone(run[0]) == _alone(after[0]) for run in former)
        if laxer and returns and place - 1 not in told_of:
            yield from judged_by(before, after[0], laxer, "limits-laxer-than-after")


def _runs(reports: Iterable[Listing]) -> list[list[Listing]]:
    """Return reports in a row that were judged by the same limits."""
    runs: list[list[Listing]] = []
    for one in reports:
        if runs and runs[-1][0].limits == one.limits:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _alone(one: Listing) -> dict[str, str]:
    """Return limits without where they stand."""
    return {name: value for name, value in one.limits.items() if name.split()[-1] not in _TEXTS}


def judged_by(
    run: Sequence[Listing], other: Listing, laxer: Sequence[tuple[str, str, str]], code: str
) -> Iterator[ListedOtherwise]:
    """Yield each area that reports in a row inspected by limits that are laxer than those of another one."""
    nothing = told("requirement-of-nobody")
    members = tuple(
        told("requirement-differs", name=name, before=strict or nothing, after=lax or nothing)
        for name, strict, lax in laxer
    )
    judged = {area: one for one in reversed(run) for area in one.found}
    for area, one in judged.items():
        sentence = told(code, area=area, what=one.title, other=other.title, told=members)
        yield ListedOtherwise("limits-loosened", area, sentence, one, other)


def _laxer(strict: Mapping[str, str], lax: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Return in which members limits are laxer than others, with both values: so is what cannot be compared."""
    return [
        (name, strict.get(name, ""), lax.get(name, ""))
        for name in sorted(strict.keys() | lax.keys())
        if name.split()[-1] not in _TEXTS and is_laxer(name, strict.get(name), lax.get(name))
    ]


def is_laxer(name: str, strict: str | None, lax: str | None) -> bool:
    """Whether the value of a member is laxer than another; a text that is another counts as that."""
    if strict == lax or strict is None or strict in {"", "False"}:
        return False
    before, after = _number(strict), _number(lax or "")
    if before is None or after is None:
        return lax is None or not (spelt_alike(strict, lax) or _is_stricter(strict, lax))
    if before.unit != after.unit and not (before.unit and after.unit):
        return True
    try:
        other = after.in_unit(before.unit)
    except QuantityError:
        return True
    words = set(name.split())
    if words & _MORE and "maximum" not in words:
        return other < before.exact
    return other > before.exact if words & _LESS else True


def _is_stricter(before: str, after: str) -> bool:
    """Whether a text is stricter than another: a cleaner grade of the same series, a rule with a guard band."""
    if (before, after) == ("simple", "guarded"):
        return True
    try:
        one, other = cleanliness_grade(before), cleanliness_grade(after)
    except UsageError:
        return False
    same = (one.system, one.series) == (other.system, other.series)
    return same and one.rank is not None and other.rank is not None and other.rank > one.rank


def _number(text: str) -> Quantity | None:
    number, _, unit = text.partition(" ")
    return Quantity(Decimal(number), unit) if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", number) else None
