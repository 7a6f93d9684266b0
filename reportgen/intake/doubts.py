"""Entries that came in and are mostly slips: asked about on a terminal before they are believed, listed elsewhere.

The bounds are those of ``metrology.plausibility``. Only what would be new in the day file is doubted: what stands there
has been believed, or is found by ``check``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import takewhile
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.intake.cells import read_number
from reportgen.intake.entries import NO_READING, in_order
from reportgen.metrology.plausibility import (
    FEWEST_NEIGHBOURS,
    LARGEST_PATCH,
    LARGEST_VOLUME,
    SMALLEST_PATCH,
    SMALLEST_VOLUME,
    Doubt,
    DoubtKind,
    air_doubt,
    blank_doubt,
    blast_pressure_doubt,
    cold_rows,
    dial_doubt,
    digits_doubt,
    humidity_doubt,
    moved_temperature_doubt,
    neighbour_doubt,
    patch_doubt,
    reference_doubt,
    restored_doubt,
    volume_doubt,
)
from reportgen.names import names_nobody
from reportgen.readings.rows import is_to_come, reading_cell
from reportgen.results import Amount
from reportgen.results.codes.doubts import Asked
from reportgen.rules.doubts import in_units_of, lowest_allowed, temperature_doubt
from reportgen.rules.gauges import dial_presets
from reportgen.units import Kind, Quantity, parse_quantity
from reportgen.words.sentences import sentences
from reportgen.yamlsource import Loc, value_at

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

    from reportgen.intake.incoming import Incoming
    from reportgen.intake.merge import Merged
    from reportgen.job import Job

Value = tuple[Loc, Quantity]
Found = tuple[Loc, Doubt | None]
"""A place with the doubt about its value; None is about who released a hold point, which is no value."""

_BESIDE: Final = 8
"""Readings before and after one, in the order taken, that count as its neighbours."""

_EXAMPLES: Final = 3

_TOGETHER: Final = {"finer-than-gauge": 2, "air-cold": 1}
"""Doubts that are asked once: for an area, and for the readings of the day."""

_USUAL: Final = frozenset({"steel-far-from-air", "air-hot", "air-cold", "blast-pressure-low"})
"""Doubts whose bound is what is usual, and told in the units of the contract; others have a value as it was written."""


@dataclass(frozen=True, slots=True)
class Doubted:
    """Entries under one doubt: place and field of the first, values as written, which doubt, and the sentence.

    ``parts`` are their places in what came in; ``told`` names each value with its own place and field.
    """

    place: str
    name: str
    value: str
    kind: DoubtKind | Literal["released-by"]
    message: str
    parts: tuple[Loc, ...]
    told: str


Ask = Callable[[Doubted], str | None]
"""Asks about a doubt: None keeps what is written, an empty text leaves it out, another text is written instead."""


def doubted(job: Job, merged: Merged, incoming: Incoming) -> list[Doubted]:
    """Return what is doubted of the values that are new in the day file; digits of one gauge in one area at once."""
    groups: dict[tuple[Any, ...], list[Found]] = defaultdict(list)
    for loc, doubt in _found(merged.text.data, job):
        source = merged.source_of(loc)
        if source is not None:
            kind = _kind(doubt)
            groups[kind, source[: _TOGETHER.get(kind)]].append((source, doubt))
    found = []
    for group in groups.values():
        first, doubt = group[0]
        parts = tuple(source for source, _ in group)
        values = [str(value_at(incoming.day, source)) for source in parts]
        more = f" and {len(values) - _EXAMPLES} more" if len(values) > _EXAMPLES else ""
        value, told = ", ".join(values[:_EXAMPLES]) + more, _told(incoming, parts[:_EXAMPLES]) + more
        found.append(
            Doubted(incoming.place_of(first), _name(first), value, _kind(doubt), _sentence(doubt, job), parts, told)
        )  # fmt: skip
    return found


def _kind(doubt: Doubt | None) -> DoubtKind | Literal["released-by"]:
    return "released-by" if doubt is None else doubt.kind


def _name(loc: Loc) -> str:
    return [part for part in loc if isinstance(part, str)][-1]


def _told(incoming: Incoming, parts: Sequence[Loc]) -> str:
    """Name values with page and row and field; what the one before has in common is not said again."""
    told: list[str] = []
    before: list[str] = []
    for part in parts:
        where = [*incoming.place_of(part).split(", "), _name(part)]
        alike = takewhile(lambda pair: pair[0] == pair[1], zip(where[:-1], before, strict=False))
        told.append(f"{', '.join(where[len(list(alike)) :])} `{value_at(incoming.day, part)}`")
        before = where
    return "; ".join(told)


def settle(incoming: Incoming, doubt: Doubted, answer: str | None) -> None:
    """Keep the values in doubt, leave them out, or put another in their place, as the answer of an ``Ask`` says."""
    if answer is None:
        for part in doubt.parts:
            value_at(incoming.day, part[:-1])["confirmed"] = "yes"  # so that `check` does not ask again
        incoming.notes.append(f"{doubt.told}: confirmed; {doubt.message}")
        return
    number, reason = (answer, None) if doubt.kind == "released-by" else read_number(answer)
    for part in sorted(doubt.parts, key=in_order, reverse=True):
        home = value_at(incoming.day, part[:-1])
        unit = str(home[part[-1]]).partition(" ")[2]
        if not number:
            text = answer or home[part[-1]]
            left_out = f"left out when asked about: {doubt.message}", None
            incoming.refuse_part(part, doubt.name, text, reason or left_out, kept=reason is not None)
            incoming.take_out(part)
        else:
            home[part[-1]] = f"{number} {unit}" if unit and number[-1:].isdigit() else number


def _sentence(doubt: Doubt | None, job: Job) -> str:
    if doubt is None:
        return sentences().say("asked", "released-by")
    seen, bound = doubt.observed, Amount.of(doubt.bound)
    if doubt.kind in _USUAL:
        bound = in_units_of(job.project, doubt.bound)
    if doubt.kind == "steel-far-from-air":
        apart = Amount.of(Quantity(abs(seen.exact), seen.unit).to(f"delta_{job.project.units.temperature}"), 1)
        facts = Asked(bound, above=apart) if seen.exact > 0 else Asked(bound, below=apart)
    elif doubt.kind == "patch-area":
        facts = Asked(Amount.of(LARGEST_PATCH), Amount.of(SMALLEST_PATCH))
    elif doubt.kind == "test-volume":
        facts = Asked(Amount.of(LARGEST_VOLUME), Amount.of(SMALLEST_VOLUME))
    elif doubt.kind in ("point-moved", "unlike-neighbours", "unlike-reference"):
        facts = Asked(Amount.of(doubt.bound, max(doubt.bound.places, seen.places)))
    else:
        facts = Asked(bound)
    return sentences().say("asked", doubt.kind, facts)


def _found(day: Mapping[str, Any], job: Job) -> Iterator[Found]:
    """Return every doubt about a day, in the order of its blocks; the places are those of the day."""
    yield from _in_conditions(_entries(day, "conditions"), lowest_allowed(job.project))
    yield from _in_hold_points(day, job)
    pressures = []
    for check in _entries(day, "air_checks"):
        pressures += _read(*check, "pressure", "pressure")
    for block, names in (("gauge_checks", ("preset", "zero", "shim_reading")), ("tape_checks", ("thickness",))):
        for check in _entries(day, block):
            yield from _digits([value for name in names for value in _read(*check, name, "height")], job, check[1])
    profiles = [surface.get("profile", {}) for _, surface in _entries(day, "surfaces")]
    films = [(one.get("gauge", ""), one.get("film", "subtracted")) for one in profiles]
    shims: dict[str, list[Value]] = defaultdict(list)  # by gauge
    for check in _entries(day, "gauge_checks"):
        gauge = check[1].get("gauge", "")
        presets = partial(dial_doubt, presets=dial_presets(job.project, gauge, films))
        yield from _each(_read(*check, "preset", "height"), presets)
        shims[gauge] += (shim := _read(*check, "shim", "height"))
        for _, reference in shim:
            yield from _each(_read(*check, "shim_reading", "height"), partial(reference_doubt, reference=reference))
    yield from (found for values in shims.values() for found in _unlike(values, fewest=1, doubt_of=restored_doubt))
    surfaces = list(_entries(day, "surfaces"))
    for loc, surface in surfaces:
        pressures += _read((*loc, "blasted"), surface.get("blasted", {}), "pressure", "pressure")
    low = dict(_each(pressures, blast_pressure_doubt))
    yield from low.items()
    yield from _unlike(pressures, asked=low)
    for loc, surface in surfaces:
        profile = surface.get("profile", {})
        readings = list(_readings((*loc, "profile"), profile, job))
        yield from _digits(readings, job, profile)
        yield from _unlike(readings)
    yield from _in_salts([salt for loc, surface in surfaces for salt in _entries(surface, "salts", loc)])


def _in_hold_points(day: Mapping[str, Any], job: Job) -> Iterator[Found]:
    """Return who released a hold point where that does not tell who it was; the day tells the contractor's own."""
    present = [name.partition(",")[0] for name in job.day.report.present]
    for loc, point in _entries(day, "hold_points"):
        by = point.get("by")
        if isinstance(by, str) and point.get("released") and point.get("confirmed") != "yes" and not names_nobody(by):
            own = job.as_told().speaks_for_contractor(by)
            if not own and not job.project.knows_who(by, present):
                yield (*loc, "by"), None


def _in_conditions(
    conditions: Iterable[tuple[Loc, Mapping[str, Any]]], lowest: Sequence[Quantity]
) -> Iterator[Found]:  # fmt: skip
    series: dict[str, list[Value]] = {"air": [], "steel": []}
    humidity: list[Value] = []
    asked: set[Loc] = set()
    entries = list(conditions)
    cold = _in_celsius(entries, lowest)
    yield from cold.items()
    for loc, entry in entries:
        for name in series:
            series[name] += _read(loc, entry, name, "temperature")
        told = [] if (*loc, "air") in cold else list(_temperatures(loc, entry))
        yield from told
        asked |= {(*loc, "air"), (*loc, "steel")} if told or (*loc, "air") in cold else set()
        humidity += _read(loc, entry, "humidity", "share")
    several = len(humidity) > FEWEST_NEIGHBOURS
    unlike = _alone_or_unlike(humidity, humidity_doubt, fewest=1)
    yield from (
        (at, one) for at, one in unlike
        if several or one.kind == "humidity-low" or one.bound.exact > one.observed.exact
    )  # fmt: skip
    for values in series.values():
        yield from _unlike(values, asked=asked, doubt_of=_moved)


def _moved(value: Quantity, beside: Sequence[Quantity], *, fewest: int) -> Doubt | None:
    return moved_temperature_doubt(value, beside) if len(beside) >= fewest else None


def _in_celsius(entries: Sequence[tuple[Loc, Mapping[str, Any]]], lowest: Sequence[Quantity]) -> dict[Loc, Doubt]:
    """Return the doubts about air that may have been read in °C and was written as °F, by its place."""
    airs = [value for loc, entry in entries for value in _read(loc, entry, "air", "temperature")]
    beside = {loc: [one for _, one in _read(loc, entry, "steel", "temperature")] for loc, entry in entries}
    found = cold_rows([(air, beside[at[:-1]]) for at, air in airs], lowest)
    return {airs[at][0]: doubt for at, doubt in found.items()}


def _temperatures(loc: Loc, entry: Mapping[str, Any]) -> Iterator[Found]:
    """Return the doubts about the air and the steel of one entry by each other; the day asks about a warmest one."""
    air = _read(loc, entry, "air", "temperature")
    odd = list(_each(air, air_doubt))
    yield from odd
    for at, steel in _read(loc, entry, "steel", "temperature") if air and not odd else ():
        if (doubt := temperature_doubt(steel, air[0][1])) is not None:
            yield (at if doubt.observed != air[0][1] else air[0][0]), doubt


def _in_salts(salts: Sequence[tuple[Loc, Mapping[str, Any]]]) -> Iterator[Found]:
    sized = {at: doubt for salt in salts for at, doubt in _each(_read(*salt, "area", "area"), patch_doubt)}
    sized |= {at: doubt for salt in salts for at, doubt in _each(_read(*salt, "volume", "volume"), volume_doubt)}
    yield from sized.items()
    series: tuple[tuple[str, Kind, int], ...] = (
        ("area", "area", 1), ("volume", "volume", 1), ("sample", "conductivity", FEWEST_NEIGHBOURS),
        ("chloride", "areal density", FEWEST_NEIGHBOURS),
    )  # fmt: skip
    for name, kind, fewest in series:
        values = [value for salt in salts for value in _read(*salt, name, kind)]
        yield from _unlike(values, fewest=fewest, asked=sized, doubt_of=restored_doubt)
    blanks = [value for salt in salts for value in _read(*salt, "blank", "conductivity")]
    yield from _alone_or_unlike(blanks, blank_doubt, doubt_of=restored_doubt)


def _readings(loc: Loc, profile: Mapping[str, Any], job: Job) -> Iterator[Value]:
    """Return the readings of rows in the day file, in the order taken, as the gauge showed them."""
    gauge = job.project.instruments.get(profile.get("gauge", ""))
    unit = gauge.unit if gauge is not None else None
    for at, row in _entries(profile, "readings", loc):
        for key, text in row.items():
            if unit is not None and key not in NO_READING and not is_to_come(text):
                value, stated = reading_cell(text.strip())
                yield (*at, key), Quantity(value, stated or unit)


def _entries(block: Mapping[str, Any], key: str, loc: Loc = ()) -> Iterator[tuple[Loc, Mapping[str, Any]]]:
    """Return the entries of a list and their places; none where readings are in a file of their own."""
    entries = block.get(key)
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        yield (*loc, key, index), entry


def _read(loc: Loc, entry: Mapping[str, Any], name: str, kind: Kind) -> list[Value]:
    """Return the value of a field with its place; none where nothing was written."""
    text = entry.get(name)
    if not isinstance(text, str) or is_to_come(text):
        return []
    return [((*loc, name), parse_quantity(text, kind))]


def _each(
    values: Iterable[Value], doubt_of: Callable[[Quantity], Doubt | None]
) -> Iterator[tuple[Loc, Doubt]]:  # fmt: skip
    for loc, value in values:
        if (doubt := doubt_of(value)) is not None:
            yield loc, doubt


def _digits(values: Iterable[Value], job: Job, used: Mapping[str, Any]) -> Iterator[Found]:
    gauge = job.project.instruments.get(used.get("gauge", ""))
    if gauge is not None and gauge.resolution is not None:
        yield from _each(values, partial(digits_doubt, resolution=gauge.resolution))


def _alone_or_unlike(
    series: Sequence[Value], alone: Callable[[Quantity], Doubt | None], **how: Any
) -> Iterator[tuple[Loc, Doubt]]:  # fmt: skip
    """Return the doubts about values by themselves, and about the others by those beside them."""
    odd = dict(_each(series, alone))
    yield from odd.items()
    yield from _unlike(series, asked=odd, **how)


def _unlike(
    series: Sequence[Value], fewest: int = FEWEST_NEIGHBOURS, asked: Collection[Loc] = (),
    doubt_of: Callable[..., Doubt | None] = neighbour_doubt,
) -> Iterator[tuple[Loc, Doubt]]:  # fmt: skip
    """Return the doubts about values by those beside them; one that was ``asked`` about measures no other."""
    values = [one for one in series if one[0] not in asked]
    for index, (loc, value) in enumerate(values):
        near = (*values[max(0, index - _BESIDE) : index], *values[index + 1 : index + 1 + _BESIDE])
        doubt = doubt_of(value, [other for _, other in near], fewest=fewest)
        if doubt is not None:
            yield loc, doubt
