"""What can be stated about entries that are mostly slips: facts, codes, closed lists."""

from typing import Annotated, Final, get_args

from reportgen.metrology.plausibility import DoubtKind
from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import Settled, TaskCode, missing, notes

Entered = Annotated[
    Word, "entered",
    (
        "air", "steel", "steel-warmest", "humidity", "air-pressure", "blasting-pressure", "preset", "zero",
        "shim", "shim-reading", "thickness", "area", "volume", "blank", "sample", "chloride", "reading", "readings",
        "tolerance", "shown", "cleaned",
    ),
]  # fmt: skip
Usual = Annotated[Word, "usual", get_args(DoubtKind)]
Beside = Annotated[Word, "beside", ("values", "air", "steel", "from-air", "reference")]


class DoubtedEntry(Facts):
    """An entry, its value, and what is usual instead; ``bound`` is the limit, the step or the value that it passes.

    ``beside`` says what it was compared with, ``apart`` by how much it lies from that, ``least`` is the lower end where
    both ends are told. The rest tells which entry it is: ``where`` the conditions were read, what it was measured with
    or on, and how many ``more`` there are like it.
    """

    entry: Entered
    value: Amount
    usual: Usual
    bound: Amount
    least: Amount | None = None
    beside: Beside | None = None
    apart: Amount | None = None
    where: str | None = None
    apparatus: str | None = None
    gauge: str | None = None
    roll: str | None = None
    more: int | None = None


class DoubtedSize(DoubtedEntry):
    """What an entry says was cleaned, where a location does not fit on it: that is corrected, and never confirmed."""


class DoubtedSteel(Facts):
    """What an apparatus blasted while ``report`` has it on another area; times as printed."""

    apparatus: str
    start: str
    end: str
    report: str
    area: str


class DoubtedApparatus(Facts):
    """A name of an apparatus that looks like the names of several."""

    apparatus: str


class SeriesOn(Facts):
    """A surface that has a series of readings: its area, and what blasted it."""

    area: str
    apparatus: str


class SameSeries(Facts):
    """How many readings are in the same order on several surfaces of a day, and on which."""

    readings: int
    surfaces: tuple[SeriesOn, ...]


class SeriesReversed(SameSeries):
    """The same of readings that are in the reverse order on one of two surfaces, the whole of it or a part."""


class SeriesWithin(SameSeries):
    """The same of readings that are a part of the longer series of one of two surfaces."""


class EntryNotTaken(Facts):
    """What was written on site and not taken in: where, in which field, the text, and why not."""

    where: str
    field: str | None = None
    written: str | None = None
    why: str | None = None


class Unfinished(Facts):
    """An entry of the day file that was begun: file, line, its place there, the fields missing, how many more are.

    ``absent`` is what it speaks of and nothing else enters; ``texts`` stand in some fields until they are filled in, or
    in those ``unread``, where they cannot be taken as they are.
    """

    file: str
    line: int
    entry: str
    lacks: tuple[str, ...] | None = None
    more: int | None = None
    absent: tuple[str, ...] | None = None
    texts: tuple[str, ...] | None = None
    unread: tuple[str, ...] | None = None


class EnteredTwice(Facts):
    """An entry of the day file that says what another does: its file, line and place, and the line of the first."""

    file: str
    line: int
    entry: str
    first: int


class Asked(Facts):
    """What an entry passes as it comes in; ``above`` or ``below`` is how far steel is from the air."""

    bound: Amount
    least: Amount | None = None
    above: Amount | None = None
    below: Amount | None = None


SETTLED_BY: Final[dict[str, Settled]] = {
    **dict.fromkeys(("air", "steel", "steel-warmest", "humidity", "reading", "shown", "tolerance"), "blasting"),
    **dict.fromkeys(("area", "volume", "blank", "sample", "chloride"), "washing"),
    **dict.fromkeys(("preset", "zero", "shim", "shim-reading", "thickness"), "measuring"),
}
"""What settles a doubt that may hide a failure, by what is in doubt: no less than the failure would ask for."""


def doubt_settled(facts: DoubtedEntry) -> Settled:
    """Return what settles a doubt; a doubt of what fails nothing ends with the steel entered again."""
    return SETTLED_BY.get(facts.entry.key, "entry")


ENTRY_DOUBTFUL: Final = missing("entry-doubtful", doubt_settled, DoubtedEntry, DoubtedSize, part="wrong")
ENTRY_CONFIRMED: Final = notes("entry-confirmed", DoubtedEntry)
ENTRY_UNLIKELY: Final = notes("entry-unlikely", DoubtedEntry)
APPARATUS_DOUBTFUL: Final = missing("apparatus-doubtful", "entry", DoubtedApparatus, part="wrong")
APPARATUS_CONFIRMED: Final = notes("apparatus-confirmed", DoubtedApparatus)
STEEL_DOUBTFUL: Final = missing("steel-doubtful", "entry", DoubtedSteel, part="wrong")
STEEL_CONFIRMED: Final = notes("steel-confirmed", DoubtedSteel)
SERIES_TWICE: Final = missing(
    "series-entered-twice", "measuring", SameSeries, SeriesReversed, SeriesWithin, part="wrong"
)  # fmt: skip
SERIES_CONFIRMED: Final = notes("series-confirmed", SameSeries, SeriesReversed, SeriesWithin)
ENTRY_NOT_TAKEN: Final = missing("entry-not-taken", "blasting", EntryNotTaken, part="wrong")
ENTRY_TWICE: Final = notes("entry-twice", EnteredTwice)
ENTRY_UNFINISHED: Final = missing("entry-unfinished", "entry", Unfinished)
COMPLETE_ENTRY: Final = TaskCode("complete-entry", Unfinished, answers=ENTRY_UNFINISHED.name)
