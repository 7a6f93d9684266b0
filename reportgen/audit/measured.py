"""What the readings of an archive show by gauge, inspector and shift: no objection, but what an engineer asks next."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.questions import ask
from reportgen.names import spelling
from reportgen.shifts import Done, GroupsCompared, Work, compared, works

if TYPE_CHECKING:
    from reportgen.audit.index import Index
    from reportgen.screens import Heaped

_LOCATIONS = (
    "SELECT contract, structure, apparatus, abrasive, unit, shift, area, profile FROM (SELECT reports.contract,"
    " areas.structure, locations.apparatus, locations.abrasive, areas.unit, date || ' ' || substr(began, 12, 5) AS"
    " shift, areas.area, profile, ROW_NUMBER() OVER (PARTITION BY reports.contract, areas.area,"
    " COALESCE(locations.place, locations.rowid) ORDER BY ordered DESC, path DESC) AS back FROM locations"
    " JOIN reports USING (path) JOIN areas USING (path, area)"
    " WHERE counts AND NOT unproven AND profile IS NOT NULL AND walk_out IS NULL)"
    " WHERE back = 1 ORDER BY contract, shift, area"
)


class Repeated(NamedTuple):
    """How far spots scatter with one gauge in the reports of one inspector; no deviation where the reports differ."""

    contract: str
    gauge: str
    inspector: str
    reports: int
    freedom: int
    deviation: str | None
    low: str | None
    high: str | None
    unit: str


class Measured(NamedTuple):
    """Repeatability by gauge and inspector, rounding by gauge, and what shifts show, by contract."""

    repeated: tuple[Repeated, ...] = ()
    heaped: tuple[Heaped, ...] = ()
    works: tuple[tuple[str, Work], ...] = ()
    compared: tuple[tuple[str, GroupsCompared], ...] = ()


def measured(index: Index, heaped: tuple[Heaped, ...]) -> Measured:
    """Return what the readings of the reports show that count and whose contract has none better proven."""
    by_contract = []
    for contract, rows_of in groupby(index.each(_LOCATIONS), key=lambda row: row[0]):
        named: dict[tuple[str, str], tuple[str, str]] = {}
        values = []
        for _, structure, apparatus, abrasive, unit, shift, area, profile in rows_of:
            spelt = spelling(apparatus or "") or "", spelling(abrasive or "") or ""
            done = Done(structure, *named.setdefault(spelt, (apparatus or "–", abrasive or "–")), unit)
            values.append((done, shift, area, float(profile)))
        by_contract.append((contract, works(values)))
    heads, rows, _ = ask(index, "repeatability")
    told = (dict(zip(heads, row, strict=True)) for row in rows)
    repeated = (
        Repeated(
            one["contract"], one["gauge"], one["inspector"], one["reports"], one["degrees_of_freedom"],
            one["standard_deviation"], one["from"], one["to"], one["unit"],
        )
        for one in told if one["verdict"] == "passed"
    )  # fmt: skip
    return Measured(
        tuple(repeated),
        heaped,
        tuple((contract, work) for contract, several in by_contract for work in several),
        tuple((contract, one) for contract, several in by_contract for one in compared(several)),
    )
