"""What a revision no longer says of what the report that it replaces said: kept with it, for who reads it alone."""

from reportgen.results.facts import Value


class AreaOmitted(Value):
    """An area that is no longer named, and what was decided of it."""

    id: str
    decision: str


class LocationsOmitted(Value):
    """Locations of an area that are no longer there, in the order in which they were."""

    area: str
    ids: tuple[str, ...]


class FindingOmitted(Value):
    """What failed, and is no longer found there: a code, and the area where it is of one."""

    code: str
    area: str | None = None


class Omitted(Value):
    """What a revision leaves out. Of an area that is left out its locations and findings are not told by themselves."""

    areas: tuple[AreaOmitted, ...] = ()
    locations: tuple[LocationsOmitted, ...] = ()
    findings: tuple[FindingOmitted, ...] = ()
