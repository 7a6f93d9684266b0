"""What one kind of measurement declares, and all that its rule may ask; the rooms above walk over the declarations."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence

    from reportgen.fields import Clock, Model
    from reportgen.results import AtTime, DerivationStep, Outcome
    from reportgen.results.facts import Facts
    from reportgen.results.statements import Statement, StepCode
    from reportgen.units import Kind, Quantity

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
class Made(Generic[T]):
    """One test; ``counts`` unless it was made before the blasting was done and says nothing of the surface.

    ``where`` is its location as a finding names it, with the apparatus where two use the name. ``doubted`` says that
    a value of it is open to doubt, so that what follows from it is not known.
    """

    record: T
    where: str | None = None
    counts: bool = True
    doubted: bool = False


@dataclass(frozen=True, slots=True)
class SceneSurface(Generic[T]):
    """One surface of the day: its tests of this kind, how it was prepared, its times as instants.

    Of a kind with one entry per surface there is one test, or none where it was not recorded.
    """

    tests: Sequence[Made[T]]
    apparatus: str
    initial_condition: str
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None


@dataclass(frozen=True, slots=True)
class SceneArea(Generic[T]):
    """One inspected area: its surfaces in the order of the day file."""

    id: str
    surfaces: Sequence[SceneSurface[T]]
    size: Quantity | None = None

    @property
    def tests(self) -> tuple[Made[T], ...]:
        """Its tests, surface after surface."""
        return tuple(made for surface in self.surfaces for made in surface.tests)


@dataclass(frozen=True, slots=True)
class Scene(Generic[T]):
    """All that the rule of one kind of measurement may ask about the day.

    ``at`` is the instant of a clock time of the report, ``printed`` the local time of an instant as printed.
    """

    areas: Sequence[SceneArea[T]]
    log: Sequence[T]
    windows: Sequence[Window]
    at: Callable[[Clock], dt.datetime]
    printed: Callable[[dt.datetime], AtTime]


@dataclass(frozen=True, slots=True)
class Entry:
    """One value of a test: its field, the share of a row that it takes on the field sheet.

    ``unit`` is that of the sheet, and ``quantity`` what a value with a unit is; ``cell`` is the name on the sheet where
    that is not the field's.
    """

    field: str
    share: float
    unit: str = ""
    quantity: Kind | None = None
    cell: str = ""

    @property
    def name(self) -> str:
        """Name of its cell on the sheet."""
        return self.cell or self.field


@dataclass(frozen=True, slots=True)
class Formula(Generic[T]):
    """A published formula: topic, what it says, the key of its citation, and of which tests it is used."""

    topic: str
    rule: StepCode[Any]
    source: str
    used: Callable[[T], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement(Generic[L, T, R]):
    """A kind of measurement, whole. Headings and sentences are in the catalogues of its folder."""

    key: str
    """Its field in the day file, the evaluation and the exports."""
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
    derived: Callable[[T | None, R, str], DerivationStep]
    """How a result came about from its test; the text is the name of the contract's document."""
    noun: str
    """What one of its entries is called in a message about the day file."""
    entries: tuple[Entry, ...]
    """Values of a test, for field sheet and intake."""
    asked: Callable[[L], tuple[Entry, ...]] | None = None
    """Which of them the field sheet has for a limit; all where it says nothing."""
    depends_on: tuple[str, ...] = ()
    """Fields from which its result is computed: where one is open to doubt, the result is not known."""
    instruments: tuple[str, ...] = ()
    """Kinds of instrument that it is made with, the usual one first; the field is ``instrument``."""
    counted: bool = False
    """Whether a contract may ask for a number of tests, so that a copy of one would count as two."""
    formulas: tuple[Formula[T], ...] = ()
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """The closed lists of its facts: group of the catalogue, and the keys in it."""
    named_by: tuple[str, ...] = ("location",)
    """Fields by which two entries are the same entry."""
    exported: tuple[str, ...] = ()
    """Fields of a result in the order in which they are exported."""
    statements: tuple[Statement, ...]
    """Every code of it: findings, things to do, gaps, steps of a derivation."""
    rows_on_sheet: int = 2

    def entries_on(self, surface: Any) -> Sequence[T]:
        """Return its entries on a surface of the day file; none of a kind that is logged for the whole shift."""
        entry = getattr(surface, self.key, None)
        return entry if isinstance(entry, list) else () if entry is None else (entry,)

    @property
    def timed(self) -> bool:
        """Whether a test says when it was made."""
        return "time" in self.test.model_fields
