"""What one kind of measurement declares, and all that its rule may ask; the rooms above walk over the declarations."""

from __future__ import annotations

from dataclasses import field
from fractions import Fraction  # noqa: TC003 - a record knows its types at run time
from typing import TYPE_CHECKING, Any, Generic, Literal, Protocol, Self, TypeVar

from reportgen.results.facts import Amount, Value
from reportgen.results.statements import Statement, statements_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from decimal import Decimal
    from types import ModuleType

    from reportgen.fields import Clock, Model
    from reportgen.results import AtTime, DerivationStep, Finding, Outcome
    from reportgen.results.facts import Facts
    from reportgen.results.statements import StepCode
    from reportgen.rules.editions import Edition
    from reportgen.units import Kind, Quantity

L = TypeVar("L", bound="Model")
T = TypeVar("T", bound="Model")
R = TypeVar("R")


class Instrument(Protocol):
    """What the record of an instrument says, as far as a rule asks for it."""

    @property
    def kind(self) -> str:
        """Kind of instrument."""

    @property
    def accuracy(self) -> Quantity | None:
        """Limit of error."""

    @property
    def accuracy_of_reading(self) -> Quantity | None:
        """What of it is a share of what it shows."""

    @property
    def uncertainty_of_reading(self) -> Quantity | None:
        """What of the U of the certificate is a share of what it shows."""

    @property
    def uncertainty(self) -> Quantity | None:
        """Expanded uncertainty of the certificate."""

    @property
    def coverage_factor(self) -> Decimal | None:
        """Its coverage factor."""

    @property
    def resolution(self) -> Quantity | None:
        """One step of what it shows."""

    @property
    def temperature_accuracy(self) -> Quantity | None:
        """Limit of error of its thermometer, where it mainly shows something else."""


Scope = Literal["tests of an area", "one per surface", "log of the shift"]


class Window(Value):
    """A time during which limits apply to an area; a coating window has no length."""

    area: str
    activity: Literal["blasting", "coating"]
    start: dt.datetime
    end: dt.datetime

    @property
    def label(self) -> str:
        """Activity and area, as ``blasting NT-1``."""
        return f"{self.activity} {self.area}"


class Covering(Value, Generic[T]):
    """An entry of a log that is about a place, its instant, the areas that it covers and the work that it stands for.

    ``covered`` is None where it does not say and there are several places. ``replaced`` are the areas for which another
    entry stands instead, as the instrument of this one failed a check. One that is ``known`` is of an earlier report,
    which judged it: it stands for work on steel that this one enters too.
    """

    record: T
    at: dt.datetime
    covered: frozenset[str] | None
    windows: tuple[Window, ...]
    replaced: frozenset[str] = frozenset()
    known: bool = False

    @property
    def counts(self) -> bool:
        """Whether it says anything: not where others stand instead for all of the work it is about."""
        return bool(self.windows) or not self.replaced

    @property
    def areas(self) -> tuple[str, ...]:
        """Ids of the areas whose work it stands for."""
        return tuple(dict.fromkeys(window.area for window in self.windows))


class Made(Value, Generic[T]):
    """One test; ``counts`` unless it was made before the blasting was done and says nothing of the surface.

    Nor does one of an earlier report, written again, where a later one at its location is judged instead.

    ``where`` is its location as a finding names it, with the apparatus where two use the name. ``asked`` says that a
    value of it is open to doubt, ``unproven`` that a failed check of its instrument may reach it.
    """

    record: T
    where: str | None = None
    counts: bool = True
    asked: bool = False
    unproven: bool = False

    @property
    def doubted(self) -> bool:
        """Whether what follows from it is not known."""
        return self.asked or self.unproven


class SceneSurface(Value, Generic[T]):
    """One surface of the day: its tests of this kind, how it was prepared, its times as instants.

    Of a kind with one entry per surface there is one test, or none where it was not recorded. What an earlier report
    enters too is ``known``: what its own log says of that was found there. ``heard`` is what the logs of such reports
    hold of this kind, which counts as if it were written again here.
    """

    tests: Sequence[Made[T]]
    apparatus: str
    abrasive: str
    initial_condition: str
    blasted: tuple[dt.datetime, dt.datetime]
    coated: dt.datetime | None
    known: bool = False
    heard: Sequence[T] = ()


class SceneArea(Value, Generic[T]):
    """One inspected area: its surfaces in the order of the day file; where it is, how large, by the contract."""

    id: str
    surfaces: Sequence[SceneSurface[T]]
    place: str
    size: Quantity | None = None

    @property
    def tests(self) -> tuple[Made[T], ...]:
        """Its tests, surface after surface."""
        return tuple(made for surface in self.surfaces for made in surface.tests)


class Scene(Value, Generic[T]):
    """All that the rule of one kind of measurement may ask about the day.

    ``at`` is the instant of a clock time of the report, ``printed`` the local time of an instant as printed; ``asked``
    says of an entry of a log whether some of its fields are open to doubt, so that what follows from them is not known.
    ``before`` are the entries of the same log in earlier reports, with their instants, oldest first. A formula that was
    ever corrected is asked of the ``edition``. Of a log that is about places, ``standing`` is every entry with what it
    stands for, in the order of time, those of earlier reports on the same steel too. ``instruments`` are those of the
    contract, by id; ``in_doubt`` says of one of them, or of any of a kind where none is named, whether a failed check
    of its function reaches an instant.
    """

    areas: Sequence[SceneArea[T]]
    log: Sequence[T]
    windows: Sequence[Window]
    at: Callable[[Clock], dt.datetime]
    printed: Callable[[dt.datetime], AtTime]
    asked: Callable[[T, Iterable[str]], bool]
    edition: Edition
    standing: Sequence[Covering[T]] = ()
    before: Sequence[tuple[dt.datetime, T]] = ()
    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    in_doubt: Callable[[str | None, str, dt.datetime], bool] = lambda _name, _kind, _at: False

    @property
    def surfaces(self) -> Iterator[tuple[str, SceneSurface[T]]]:
        """Every surface, with the id of its area."""
        return ((area.id, surface) for area in self.areas for surface in area.surfaces)


class Sureness(Value):
    """How sure a value is, as it is, and as its means would be at another value that it is to be compared with.

    ``value`` is exact, ``seen`` and ``expanded`` are as printed. ``wide`` is the expanded uncertainty, ``means`` what
    of it instruments and method bring whatever the readings happen to scatter: both in the unit of ``value``, and
    comparable among themselves alone. ``stated`` names the errors that are on record: left out, they make nothing
    surer.
    """

    value: Quantity
    seen: Amount
    expanded: Amount | None = None
    wide: Fraction | None = None
    means: Fraction | None = None
    stated: frozenset[str] = frozenset()

    def is_surer(self, other: Self) -> bool:
        """Whether this, at the value of another, is surer than that by its means; any is surer than one unknown."""
        if self.wide is None or self.means is None:
            return False
        known = other.wide is None or other.means is None or (self.wide < other.wide and self.means < other.means)
        return known and self.stated >= other.stated


class Entry(Value):
    """One value of an entry, or one tick of several: its field, the share of a row that it takes on the field sheet.

    ``quantity`` is what a value with a unit is; ``unit`` is that of the sheet, or the name of one in the contract's own
    system of units. An instrument of a ``usual`` kind is filled in beforehand where the contract has one alone.
    ``cell`` is the name on the sheet where that is not the field's.
    """

    field: str
    share: float
    quantity: Kind | None = None
    unit: str = ""
    usual: tuple[str, ...] = ()
    several: bool = False
    tick: bool = False
    cell: str = ""

    @property
    def name(self) -> str:
        """Name of its cell on the sheet."""
        return self.cell or self.field


class Formula(Value, Generic[T]):
    """A published formula: topic, what it says, the key of its citation, and of which tests it is used."""

    topic: str
    rule: StepCode[Any]
    source: str
    used: Callable[[T], bool]


class Side(Value):
    """One thing that a kind of measurement is limited in: a field of its limit, and of a result what that judges.

    ``least``: the lowest value is closest to the limit. ``unit`` is that of the value, or the field of the result that
    has it; without one the result speaks for itself. ``uncertainty`` is the field of the result that has its U.
    ``stated`` is the limit as the facts of a finding on it name it; ``codes`` are findings on it that name none.
    """

    limit: str
    value: str = ""
    unit: str = ""
    uncertainty: str = ""
    least: bool = False
    stated: type[Facts] | None = None
    codes: tuple[str, ...] = ()

    def misses(self, finding: Finding) -> bool:
        """Say whether a finding is about this limit and no other: that it is missed, or that it is not known."""
        named = getattr(finding.facts, "limit", None)
        return finding.code in self.codes or (self.stated is not None and isinstance(named, self.stated))


class Measurement(Value, Generic[L, T, R], kw_only=True):
    """A kind of measurement, whole. Headings and sentences are in the catalogues of its folder."""

    key: str
    """Its folder; its field in the evaluation and the exports, and in the day file unless that has another."""
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
    noun: str
    """What one of its entries is called in a message about the day file."""
    entries: tuple[Entry, ...]
    """Values of an entry, for field sheet and intake."""
    asked: Callable[[L | None], tuple[Entry, ...]] | None = None
    """Which of them the field sheet has for a limit; all where it says nothing."""
    derived: Callable[[T | None, R, str], DerivationStep] | None = None
    """How a result on an area came about from its test; the text is the name of the contract's document."""
    bears_on: Callable[[R, str], DerivationStep | None] | None = None
    """How a result of a log came about, as far as it concerns an area."""
    depends_on: tuple[str, ...] = ()
    """Fields from which the result of a test is computed: where one is open to doubt, the result is not known."""
    instruments: tuple[str, ...] = ()
    """Kinds of instrument that it may be made with, the usual one first."""
    narrowed: Mapping[str, str] = field(default_factory=dict)
    """Field of an entry that one kind of instrument alone shows → that kind."""
    counted: bool = False
    """Whether a contract may ask for a number of tests, so that a copy of one would count as two."""
    by_size: Callable[[L, Quantity], int | None] | None = None
    """How many tests a limit asks for on an area of a size, where it says so by size."""
    sureness: Callable[[L, T, Quantity | None, Mapping[str, Instrument], Edition], Sureness] | None = None
    """How sure a test is, at its own value or at another: one that is not accepted gives way to a surer one alone."""
    speaks_of: Callable[[L, T], bool] | None = None
    """Whether a test expresses what the limit is of; each does where it says nothing."""
    formulas: tuple[Formula[T], ...] = ()
    named_by: tuple[str, ...] = ("location",)
    """Fields by which two entries are the same entry."""
    sides: tuple[Side, ...] = ()
    """What it is limited in, for the page that sets against each requirement the result closest to its limit."""
    exported: tuple[str, ...] = ()
    """Fields of a result in the order in which they are exported."""
    codes: ModuleType
    """What can be stated of it, with the facts and the closed lists of their words."""
    rows_on_sheet: int = 2
    log: str = ""
    """Its field in the day file, where that has another name."""
    series: tuple[str, ...] = ()
    """Fields that tell the series of a log apart: each stands in the order of its times."""
    reaches_back: frozenset[str] = frozenset()
    """Codes of what an entry of a log says of steel of earlier reports too, which may have nothing to say of it."""
    subject: str = ""
    """Field of a result that names what was checked; a log that has one is shown among the checks."""
    ticks: Mapping[str, Mapping[frozenset[str], str]] = field(default_factory=dict)
    """Field of an entry → which ticks of the sheet together mean what."""

    def entries_on(self, surface: Any) -> Sequence[T]:
        """Return its entries on a surface of the day file; none of a kind that is logged for the whole shift."""
        entry = None if self.scope == "log of the shift" else getattr(surface, self.key)
        return entry if isinstance(entry, list) else () if entry is None else (entry,)

    def shown_in(self, entry: T) -> str:
        """Return in which part of an entry its instrument shows something: in a field of its own, else in all of it."""
        return next((f"{self.key}.{name}" for name in self.narrowed if getattr(entry, name) is not None), self.key)

    def may_show(self, entry: T) -> tuple[str, ...]:
        """Return the kinds of instrument that an entry may have been made with."""
        return next(
            ((kind,) for name, kind in self.narrowed.items() if getattr(entry, name) is not None), self.instruments
        )

    def entries_in(self, day: Any) -> Sequence[T]:
        """Return its entries in the log of a day file; none of a kind that is measured on each surface."""
        return getattr(day, self.day_key) if self.scope == "log of the shift" else ()

    @property
    def statements(self) -> tuple[Statement[Any], ...]:
        """Every code of it: findings, things to do, gaps, steps of a derivation."""
        return statements_of(self.codes)

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
