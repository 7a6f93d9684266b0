"""What one kind of measurement declares, and all that its rule may ask; the rooms above walk over the declarations."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from reportgen.fields import Clock, Model
    from reportgen.results import AtTime, DerivationStep, Outcome
    from reportgen.results.facts import Facts
    from reportgen.results.statements import Statement
    from reportgen.units import Kind

L = TypeVar("L", bound="Model")
T = TypeVar("T", bound="Model")
R = TypeVar("R")

Scope = Literal["tests of an area", "one per surface", "log of the shift"]


@dataclass(frozen=True, slots=True)
class Window:
    """A time during which limits apply to an area; a coating window has no length."""

    area: str
    activity: Literal["blasting", "coating"]
    start: dt.datetime
    end: dt.datetime

    @property
    def label(self) -> str:
        """Activity and area, as ``blasting NT-1``."""
        return f"{self.activity} {self.area}"


@dataclass(frozen=True, slots=True)
class Standing(Generic[T]):
    """An entry of a log that is about a place, its instant, the areas that it covers and the work that it stands for.

    ``covered`` is None where it does not say and there are several places.
    """

    record: T
    at: dt.datetime
    covered: frozenset[str] | None
    windows: tuple[Window, ...]

    @property
    def areas(self) -> tuple[str, ...]:
        """Ids of the areas whose work it stands for."""
        return tuple(dict.fromkeys(window.area for window in self.windows))


@dataclass(frozen=True, slots=True)
class Made(Generic[T]):
    """One test; ``counts`` unless it was made before the blasting was done and says nothing of the surface.

    ``where`` is its location as a finding names it, with the apparatus where two use the name.
    """

    record: T
    where: str | None = None
    counts: bool = True


@dataclass(frozen=True, slots=True)
class SceneSurface(Generic[T]):
    """One surface of the day: its tests of this kind, how it was prepared, its times as instants."""

    tests: Sequence[Made[T]]
    apparatus: str
    abrasive: str
    initial_condition: str
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None


@dataclass(frozen=True, slots=True)
class SceneArea(Generic[T]):
    """One inspected area: its surfaces in the order of the day file, and where it is, as the contract says."""

    id: str
    surfaces: Sequence[SceneSurface[T]]
    place: str


@dataclass(frozen=True, slots=True)
class Scene(Generic[T]):
    """All that the rule of one kind of measurement may ask about the day.

    ``at`` is the instant of a clock time of the report, ``printed`` the local time of an instant as printed; ``asked``
    says whether a field of a record is open to doubt, so that what follows from it is not known. Of a log that is
    about places, ``standing`` is every entry with what it stands for, in the order of time.
    """

    areas: Sequence[SceneArea[T]]
    log: Sequence[T]
    windows: Sequence[Window]
    at: Callable[[Clock], dt.datetime]
    printed: Callable[[dt.datetime], AtTime]
    asked: Callable[[T, Iterable[str]], bool]
    standing: Sequence[Standing[T]] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One value of a test, or one tick of several: its field, the share of a row that it takes on the field sheet.

    ``unit`` is that of the sheet, or the name of one in the contract's own system of units. Of ``instruments``, by
    their kinds, the only ones that the contract has are filled in beforehand.
    """

    field: str
    share: float
    quantity: Kind | None = None
    unit: str = ""
    instruments: tuple[str, ...] = ()
    several: bool = False
    tick: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement(Generic[L, T, R]):
    """A kind of measurement, whole. Headings and sentences are in the catalogues of its folder."""

    key: str
    """Its field in the evaluation and the exports, and in the day file unless that has another."""
    room: str
    """Name of its folder."""
    limit_key: str
    """Its field in the contract's specification."""
    scope: Scope
    limit: type[L]
    test: type[T]
    result: type[R]
    judge: Callable[[L | None, Scene[T]], Outcome[R]]
    limit_facts: Callable[[L], Facts]
    """The limit as facts: row of requirements, rules applied."""
    result_facts: Callable[[R], Facts]
    """A result as facts: page, derivation."""
    source: str
    """Key of the citation of its method."""
    entries: tuple[Entry, ...]
    """Values of a test, for field sheet and intake."""
    named_by: tuple[str, ...] = ("location",)
    """Fields by which two entries are the same entry."""
    exported: tuple[str, ...] = ()
    """Fields of a result in the order in which they are exported."""
    statements: tuple[Statement, ...]
    """Every code of it: findings, things to do, gaps."""
    rows_on_sheet: int = 2
    log: str = ""
    """Its field in the day file, where that has another name."""
    series: tuple[str, ...] = ()
    """Fields that tell the series of a log apart: each stands in the order of its times."""
    subject: str = ""
    """Field of a result that names what was checked; a log that has one is shown among the checks."""
    derived: Callable[[R, str], DerivationStep | None] | None = None
    """The step by which a result of a log came about, as far as it concerns an area."""
    ticks: Mapping[str, Mapping[frozenset[str], str]] = field(default_factory=dict)
    """Field of a test → which ticks of the sheet together mean what."""
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Closed lists of which its facts have words."""

    @property
    def day_key(self) -> str:
        """Its field in the day file."""
        return self.log or self.key

    @property
    def placed(self) -> bool:
        """Whether an entry says where it was made, so that it is about the areas there."""
        return "place" in self.test.model_fields

    @property
    def timed(self) -> bool:
        """Whether a test says when it was made."""
        return "time" in self.test.model_fields
