"""What a revision no longer says of what the reports that it replaces said: kept with it, for who reads it alone."""

from reportgen.results.facts import Value


class AreaOmitted(Value):
    """An area that is no longer named, and what was decided of it."""

    id: str
    decision: str


class EntryOmitted(Value):
    """What an apparatus did on an area that is still named, and is no longer entered."""

    area: str
    apparatus: str


class LocationsOmitted(Value):
    """Locations of an area that are no longer there, in the order in which they were."""

    area: str
    ids: tuple[str, ...]


class TestsOmitted(Value):
    """Tests of a kind, by its key, that are no longer there: the locations of an area, in their order."""

    area: str
    kind: str
    ids: tuple[str, ...]


class FindingOmitted(Value):
    """What failed, and is no longer found there: a code, area and location where it is of one."""

    code: str
    area: str | None = None
    location: str | None = None


class Omitted(Value):
    """What a revision leaves out, of all that it replaces.

    Of an area that is left out nothing more is told, nor of what an apparatus did there its locations and tests.
    ``judged_otherwise`` are the codes of findings that another limit was stated for when they were found.
    """

    areas: tuple[AreaOmitted, ...] = ()
    locations: tuple[LocationsOmitted, ...] = ()
    findings: tuple[FindingOmitted, ...] = ()
    entries: tuple[EntryOmitted, ...] = ()
    tests: tuple[TestsOmitted, ...] = ()
    judged_otherwise: tuple[str, ...] = ()
