"""How complete each contract is by what its own reports say: every area it lists, every number that was issued."""

from __future__ import annotations

import json
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final, NamedTuple, get_args

from reportgen.issued import (
    NOT_STATED,
    AreaDecided,
    Completeness,
    Numbered,
    Numbers,
    PlannedAreaRecord,
    completeness,
    formerly_listed,
    in_sequence,
    numbers_of,
    registers_read,
)
from reportgen.issued.completeness import Formerly, Removed, Word
from reportgen.units.quantity import DISPLAY
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Sequence

    from reportgen.audit.across_reports import State
    from reportgen.audit.index import Index
    from reportgen.audit.numbering import Registers

MOST_NAMED: Final = 12
_LISTING = """
SELECT reports.contract, project, CASE standing WHEN 'proven' THEN 0 WHEN 'open' THEN 1 ELSE 2 END, counts,
    reports.number, reports.revision, row, issued_at, ordered FROM reports LEFT JOIN upon USING (path)
WHERE project != '' AND place NOT IN ('set aside', 'not entitled') ORDER BY reports.contract, path DESC
"""
_NUMBERED = """
SELECT reports.contract, reports.number, reports.revision, issued_at, pattern, upon.row
FROM reports LEFT JOIN upon USING (path) WHERE NOT unproven AND place NOT IN ('set aside', 'not entitled')
ORDER BY reports.contract, issued_at, path
"""
_SEEN = """
SELECT path, areas.area, unproven, overall != 'passed', speaks, coated IS NOT NULL, part != '', planned_areas.size,
    planned_areas.unit
FROM areas JOIN reports USING (path)
LEFT JOIN planned_areas ON planned_areas.project = reports.project AND planned_areas.area = areas.area
"""
_SLIPS = """
SELECT DISTINCT upon.number, upon.revision, row, area FROM upon JOIN files USING (path)
WHERE area IS NOT NULL AND overall = 'passed' AND upon.contract = ? ORDER BY row
"""


class ContractAsRead(NamedTuple):
    """How complete a contract is; ``project`` is the SHA-256 of the project file that lists its areas."""

    contract: str
    project: str
    areas: Completeness
    numbers: Numbers | None

    @property
    def sentence(self) -> Told:
        """How complete it is, in a sentence."""
        areas, numbers = self.areas, self.numbers
        counts = [(word, count) for word, count in areas.counts.items() if word != "released"]
        others = tuple(
            told("contract-area-states", count=count, state=self._state(word))
            for word, count in sorted(counts, key=lambda one: get_args(Word).index(one[0]))
        )
        said = [told("contract-areas", done=areas.done, listed=len(areas.listed), others=others)]
        if areas.removed:
            said.append(told("contract-areas-removed", areas=_removed(areas.removed)))
        amounts = tuple(
            told("contract-amount", done=f"{one.done:f}", whole=f"{one.whole:f}", unit=DISPLAY.get(one.unit, one.unit))
            for one in areas.amounts
        )
        if amounts:
            said.append(told("contract-amounts", amounts=amounts, unsized=areas.unsized or None))
        if numbers is not None:
            said.append(issued_told(numbers))
            if numbers.apart:
                each = [(one.pattern, one.here, one.issued, one.by) for one in numbers.apart]
                series = tuple(told("contract-series", pattern=p, here=h, issued=n, by=by) for p, h, n, by in each)
                said.append(told("contract-numberings", series=series))
            further = [one for one in numbers.sequences if one.further]
            said += [told("contract-further", newest=one.newest, further=one.further) for one in further]
        return told("contract-stands", contract=self.contract, said=tuple(said))

    def _state(self, word: Word) -> Told:
        if word == "no longer listed" and self.areas.left:
            return told("area-no-longer-listed-left", areas=tuple(
                told("area-left", area=area, state=told(f"area-{how.replace(' ', '-')}"))
                for area, how in self.areas.left[:MOST_NAMED]
            ))  # fmt: skip
        return told(f"area-{word.replace(' ', '-')}")

    @property
    def area_rows(self) -> Iterator[tuple[Any, ...]]:
        """Its rows of the table of areas as they are now."""
        yield from ((self.contract, *one[:-1]) for one in self.areas.areas)

    @property
    def number_rows(self) -> Iterator[tuple[Any, ...]]:
        """Its rows of the table of numbers, one for each sequence."""
        for one in (self.numbers or Numbers("", "", 0, 0, ())).sequences:
            counts = (one.issued, one.here, json.dumps(one.absent), one.further)
            yield (self.contract, one.pattern, one.newest, one.by, *counts, self.project)


def _lists(index: Index) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Yield of each contract report and project file of the best proven reports, in the order of their issue.

    The last is that of a report that counts; one that replaced another may have taken areas off its list.
    """
    for contract, members in groupby(index.rows(_LISTING), key=lambda row: row[0]):
        reports = list(members)
        best = min((row[2] for row in reports if row[3]), default=None)
        heard = in_sequence((row for row in reports if row[2] == best), lambda row: row[6], lambda row: row[7:])
        while heard and not heard[-1][3]:
            heard.pop()
        if heard:
            yield contract, [(f"{row[4]} r{row[5]}", row[1]) for row in heard]


def _planned(index: Index, project: str) -> list[PlannedAreaRecord]:
    rows = index.rows(
        "SELECT area, name, structure, structure_name, size, unit FROM planned_areas WHERE project = ?"
        " ORDER BY structure, area",
        project,
    )
    return [PlannedAreaRecord(*row) for row in rows]


def _formerly(index: Index, lists: Sequence[tuple[str, str]]) -> dict[str, Formerly]:
    """Return the areas that lists before the last had, each project file read once for reports running."""
    each = [next(same) for _, same in groupby(lists, key=lambda one: one[1])]
    return formerly_listed((report, _planned(index, one)) for report, one in each)


def issued_told(numbers: Numbers) -> Told:
    """Return how many reports were issued, as the reports or a register say, and which are not here."""
    absent, read = numbers.absent, numbers.register
    facts = {"issued": numbers.issued, "here": numbers.here, "missing": named(absent) if absent else None}
    if read is not None:
        return told("contract-registered", **facts, by=read.by, row=read.row)
    return told("contract-numbers", **facts, by=numbers.by, last=numbers.counted_to, lacking=len(absent) or None)


def named(numbers: Sequence[str]) -> Told:
    """Return numbers as a list, the first of them where they are many."""
    more = len(numbers) - MOST_NAMED
    return told("contract-number-list", numbers=tuple(numbers[:MOST_NAMED]), more=more if more > 0 else None)


def _removed(areas: Sequence[Removed]) -> Told:
    """Return areas that were taken off the list with the report since which they are not on it."""
    more = len(areas) - MOST_NAMED
    each = tuple(
        told("area-removed", area=one.area, state=told(f"area-{one.word.replace(' ', '-')}"), since=one.since)
        for one in areas[:MOST_NAMED]
    )
    return told("contract-number-list", numbers=each, more=more if more > 0 else None)


def decided_areas(index: Index, states: Iterable[State]) -> dict[str, dict[str, AreaDecided]]:
    """Return how each area stands, by contract and area."""
    decided: dict[str, dict[str, AreaDecided]] = {}
    seen = {(path, area): row for path, area, *row in index.rows(_SEEN)}
    for one in states:
        row = seen.get((one.path, one.area), (0, 0, 1, 0, 0, None, None))
        unproven, open_, speaks, coated, in_part, size, unit = row
        listed = None if size is None else PlannedAreaRecord(one.area, "", "", "", size, unit or "")
        # what no file proves keeps steel back and releases none, also where there is no better one
        rests = unproven or (open_ and one.decision == "release")
        how = (bool(speaks), bool(coated), bool(in_part), listed)
        decided.setdefault(one.contract, {})[one.area] = AreaDecided("unproven" if rests else one.decision, *how)
    return decided


def contract_states(
    index: Index, states: Iterable[State], registers: Registers = (), held: Container[str] = ()
) -> Iterator[ContractAsRead]:
    """Yield each contract whose project file can be read; of less proven reports only where none is better.

    ``held`` are the hashes of what is here, as ``registers`` know it.
    """
    decided = decided_areas(index, states)
    rows = index.rows(_NUMBERED)
    there = {contract: list(same) for contract, same in groupby(rows, key=lambda row: row[0])}
    for contract, lists in _lists(index):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        project = lists[-1][1]
        whole = completeness(_planned(index, project), decided.get(contract, {}), _formerly(index, lists))
        issues = [Numbered(*row[1:]) for row in there.get(contract, ())]
        issues += [Numbered(row[0], row[1], "", None, row[2], row[3]) for row in index.rows(_SLIPS, contract)]
        given = registers_read(registers, contract, {one.number for one in issues}, held)
        yield ContractAsRead(contract, project, whole, numbers_of(issues, given))
