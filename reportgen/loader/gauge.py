"""What a gauge can have shown: its unit, a roll where it needs one, and a height that can be."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import one_of
from reportgen.errors import QuantityError, RangeError
from reportgen.metrology.tape import check_plausible, net_reading
from reportgen.readings.rows import DEPTH, GRADE
from reportgen.references import COMPARATOR_GRADES, comparator_grade
from reportgen.units import DISPLAY, Quantity, parse_unit

if TYPE_CHECKING:
    from typing import Literal

    from reportgen.job import Instrument
    from reportgen.readings import ReadingRow

ALONE: Final = {"comparator": GRADE, "depth micrometer": DEPTH}
"""Gauges that need no roll, and the field in which a row has what they showed."""
Objection = tuple[str, str, str, str | None]
"""Column, code, sentence, remedy."""

_DEEPEST: Final = {"mil": 20, "um": 500}
"""Highest reading accepted from a depth micrometer: above any profile that is blasted; common practice, no source."""


_NUMBERS: Final = {
    "thickness gauge": ("a reading of replica tape needs its roll", "name the roll of the tape"),
    "depth micrometer": ("a depth micrometer has no roll of tape", "use `depth` inline, or leave `roll` empty"),
}


class GaugeReadings:
    """Judges the readings of one gauge on one surface; what repeats, digit for digit, is judged once."""

    def __init__(self, instrument: Instrument | None, film: Literal["subtracted", "included"]) -> None:
        self._instrument = instrument
        self._film = film
        self._judged: dict[tuple[str, str | None, bool, str | None], Objection | None] = {}

    def objection(self, row: ReadingRow) -> Objection | None:
        """Return what is wrong with a reading, or None; an unknown gauge has been reported already."""
        key = (str(row.value), row.unit, row.roll is None, row.grade)  # by its digits: what is said shows them
        if key not in self._judged:
            self._judged[key] = self._judge(row) if self._instrument else None
        return self._judged[key]

    def _judge(self, row: ReadingRow) -> Objection | None:
        instrument = self._instrument
        if instrument is None:
            return None
        if instrument.kind == "comparator":
            return _no_comparison(instrument, row)
        if row.value is None:
            message = f"`{row.grade}` is a grade of a comparator, and the gauge is a {instrument.kind}"
            return "reading", "JOB217", message, "write what the gauge showed, or name the comparator under `gauge`"
        if instrument.unit is None:
            return None
        shown = instrument.unit
        tape = instrument.kind == "thickness gauge"
        if tape != (row.roll is not None):
            return "roll", "JOB217", *_NUMBERS[instrument.kind]
        try:
            unit = parse_unit(row.unit, "height") if row.unit else shown
        except QuantityError as failure:
            return "unit", "JOB210", failure.message, f"the gauge shows `{shown}`"
        reading = Quantity(row.value, unit)
        implausible = self._implausible(reading, tape=tape)
        if implausible is not None or unit == shown:
            return implausible
        message = f"the reading is in {DISPLAY.get(unit, unit)}, the gauge shows {DISPLAY.get(shown, shown)}"
        return "unit", "JOB210", message, "write what the gauge showed, in its own unit"

    def _implausible(self, reading: Quantity, *, tape: bool) -> Objection | None:
        shown = reading.unit in _DEEPEST
        try:
            if tape:
                check_plausible(net_reading(reading, self._film) if shown else reading)
                return None
        except RangeError as failure:
            return "reading", "JOB211", failure.message, failure.help_text
        unit = reading.unit if shown else "um"
        if 0 <= reading.in_unit(unit) <= _DEEPEST[unit]:
            return None
        message = f"{reading} is outside what a depth micrometer reads on blasted steel"
        return "reading", "JOB211", message, f"expected a depth from 0 to {Quantity(Decimal(_DEEPEST[unit]), unit)}"


def _no_comparison(instrument: Instrument, row: ReadingRow) -> Objection | None:
    """Return why a row is no comparison with a comparator; that of the other abrasive shows other grades."""
    if row.grade is None:
        message = "a comparator shows a grade, no number"
        return "reading", "JOB217", message, "write `{location: 1, grade: medium}`, or name the gauge that was read"
    named = comparator_grade(row.grade)
    letter = None if named is None else named.comparator
    if comparator_grade(row.grade, "G") is None:
        return "reading", "JOB215", f"`{row.grade}` is not a grade of a comparator", one_of(COMPARATOR_GRADES)
    if letter is None and instrument.comparator is None:
        message = "nothing says whether the comparator is that for grit or for shot"
        help_text = "add `comparator: G` or `comparator: S` to the instrument in the project file"
        return "reading", "JOB215", message, help_text
    if None not in (letter, instrument.comparator) and letter != instrument.comparator:
        message = f"`{row.grade}` is of the other comparator: the one used is {instrument.comparator}"
        return "reading", "JOB215", message, "write the grade seen, or name the comparator that was used"
    return None
