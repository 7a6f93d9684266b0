"""What two files must agree on, one module per concern; each notes what it finds and goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.loader.checks.identifiers import (
    check_identifiers,
    check_people,
    check_places,
    check_set_aside,
    check_signers,
)
from reportgen.loader.checks.instruments import check_gauge_checks, check_instruments
from reportgen.loader.checks.recorded import check_recorded
from reportgen.loader.checks.records import check_records
from reportgen.loader.checks.specification import check_specification
from reportgen.loader.checks.times import check_reading_times, check_times
from reportgen.loader.checks.uniqueness import check_locations, check_uniqueness

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.loader.rows import SurfaceRows
    from reportgen.loader.sheets import Sheets


def check_job(sheets: Sheets, rows: Sequence[SurfaceRows | None]) -> None:
    """Run every check on the two files and the readings."""
    check_specification(sheets)
    check_uniqueness(sheets)
    check_identifiers(sheets)
    check_set_aside(sheets)
    check_places(sheets)
    check_people(sheets)
    check_signers(sheets)
    check_instruments(sheets)
    check_gauge_checks(sheets)
    check_times(sheets)
    check_locations(sheets, rows)
    check_reading_times(sheets, rows)
    check_records(sheets, rows)
    check_recorded(sheets, rows)
