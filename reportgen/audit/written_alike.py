"""Contracts, areas and gauges that may be one: written alike, or gauges that are stated with one certificate."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Final

from reportgen.audit.problems import Problem
from reportgen.diagnostics import printable
from reportgen.issued import NOT_STATED
from reportgen.names import alike_in, disguised, identifier_looks, number_looks, plain_serial, plain_words, told_apart
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from reportgen.audit.index import Index
    from reportgen.audit.problems import Weight

_READ_WITH: Final = """
SELECT serial, MIN(path), contract FROM uses JOIN reports USING (path)
WHERE purpose = 'readings' AND serial != '' GROUP BY contract, serial ORDER BY contract, serial
"""
_STATED: Final = """
SELECT DISTINCT other.serial FROM instruments AS one
JOIN instruments AS other ON other.kind = one.kind AND other.certificate = one.certificate
WHERE one.serial = ? COLLATE NOCASE AND one.certificate != '' AND other.serial != ''
"""
_WRITTEN = f"""
SELECT contract, written, MIN(path) FROM files WHERE overall != 'failed' AND written != ''
    AND written NOT LIKE '{NOT_STATED} (%' GROUP BY contract, written ORDER BY contract, written
"""  # noqa: S608 - our own words
_AREAS = """
SELECT reports.contract, area, MIN(path), project FROM (SELECT path, area FROM areas UNION SELECT path, area
    FROM (SELECT project, MIN(path) AS path FROM reports WHERE counts GROUP BY project)
    JOIN planned_areas USING (project)) JOIN reports USING (path)
WHERE counts GROUP BY reports.contract, area, project ORDER BY reports.contract, MIN(ordered), area
"""


def perhaps_the_gauge(index: Index, serial: str) -> list[str]:
    """Return the other serials that were read with and may be this gauge, as they are written."""
    same, keys = {one for (one,) in index.rows(_STATED, serial)}, _looks(serial)
    own = serial.encode().lower()  # the database takes capitals and small letters from A to Z for one, and no others
    read = {one for one, _, _ in index.rows(_READ_WITH) if one.encode().lower() != own}
    return sorted(one for one in read if one in same or not keys.isdisjoint(_looks(one)))


def _looks(serial: str) -> frozenset[object]:
    """Return how a serial looks, zeros in front aside too; nothing of one without letters and digits."""
    plain = plain_serial(serial)
    return frozenset({plain, *identifier_looks(serial)}) if plain else frozenset()


def gauge_problems(index: Index) -> Iterator[Problem]:
    """Yield serials of a contract that differ in nothing but how they are written."""
    read: dict[str, dict[str, str]] = {}
    for serial, path, contract in index.rows(_READ_WITH):
        read.setdefault(contract, {})[serial] = path
    for contract, paths in read.items():
        for first, *others in alike_in(paths, _looks):
            sentence = told("gauges-written-alike", others=_told_apart([first, *others]))
            files = tuple(dict.fromkeys(paths[one] for one in (first, *others)))
            yield Problem(contract, "", "gauge-written-otherwise", "", sentence, files)


def contract_problems(index: Index) -> Iterator[Problem]:
    """Yield contract numbers that differ in nothing but capitals, blanks, dashes, points and letters that look alike.

    Those that are one as names are compared are taken for one contract; others are not, and that is said. What only
    looks alike at a glance is a screening.
    """
    written: dict[str, dict[str, str]] = {}
    for contract, name, path in index.rows(_WRITTEN):
        written.setdefault(contract, {})[name] = path
    for contract, names in written.items():
        others = {name: path for name, path in names.items() if name != contract}
        if others:
            sentence = told("contract-also-written", contract=contract, others=tuple(others))
            yield Problem(contract, "", "contract-written-otherwise", "", sentence, tuple(others.values()))
    yield from much_alike(written)


def much_alike(written: Mapping[str, Mapping[str, str]]) -> Iterator[Problem]:
    """Yield contracts that are not taken for one and look alike; ``written`` is how each is, with a file of each."""
    told_of: set[str] = set()
    every = [name for names in written.values() for name in names]
    ways: dict[Weight, Callable[[str], Iterable[object]]] = {"doubt": identifier_looks, "screening": number_looks}
    for weighs, alike in ((weighs, alike) for weighs, looks_of in ways.items() for alike in alike_in(every, looks_of)):
        of = {
            contract: min(names.values()) for contract, names in written.items() if not names.keys().isdisjoint(alike)
        }
        if len(of) > 1 and not told_of.issuperset(of):
            told_of.update(of)
            sentence = told("contracts-written-alike", others=_told_apart(of))
            yield Problem(min(of), "", "contract-written-otherwise", "", sentence, tuple(of.values()), weighs=weighs)


def _told_apart(names: Iterable[str]) -> tuple[str, ...]:
    """Return names with the code points of letters that nobody tells apart by looking; blanks and dashes show."""
    first, *others = names
    pairs = [(first, others[0]), *((one, first) for one in others)]
    return tuple(printable(told_apart(one, other if _letter_by_letter(one, other) else one)) for one, other in pairs)


def _letter_by_letter(one: str, other: str) -> bool:
    differing = [pair for pair in zip(one, other, strict=False) if pair[0].casefold() != pair[1].casefold()]
    return len(one) == len(other) and all(letter.isalnum() for pair in differing for letter in pair)


def area_problems(index: Index) -> Iterator[Problem]:
    """Yield areas of a contract that look alike.

    Where a project file lists them as two by letters of one script, only those that have the same letters and digits:
    steel that failed as one of them is released as the other by whoever does not look closely.
    """
    for contract, members in groupby(index.rows(_AREAS), key=lambda row: row[0]):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        paths: dict[str, str] = {}
        listed: dict[str, set[str]] = {}
        for _, area, path, project in members:
            paths.setdefault(area, path)
            listed.setdefault(area, set()).add(project)
        for alike in alike_in(paths):
            yield from areas_alike(contract, alike, paths, listed)


def areas_alike(
    contract: str, alike: list[str], paths: Mapping[str, str], listed: Mapping[str, set[str]]
) -> Iterator[Problem]:
    """Yield what is to be said of areas that look ``alike``, with the project files that list each."""
    strange = disguised(alike)
    two = not strange and set.intersection(*(listed[area] for area in alike)) - {""}
    code = "areas-listed-alike" if two else "areas-written-alike"
    weighs: Weight | None = "doubt" if strange or two else None
    for same in alike_in(alike, lambda area: [plain_words(area)]) if two else [alike]:
        files = tuple(dict.fromkeys(paths[area] for area in same))
        sentence = told(code, others=_told_apart(same))
        yield Problem(contract, "", "area-written-otherwise", same[0], sentence, files, weighs=weighs)
