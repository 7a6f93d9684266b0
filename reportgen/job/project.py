"""The project file: what stays the same on a contract."""

import datetime as dt
import re
from typing import TYPE_CHECKING, Annotated, Final, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from reportgen.diagnostics import Phrase
from reportgen.fields import (
    Area,
    Clause,
    Count,
    Date,
    Duration,
    Format,
    Ident,
    Length,
    Model,
    Name,
    NumberConfirmed,
    ProfileLimit,
    ProfileScatter,
    RelativePath,
    ReportNumberPattern,
    Text,
    check_area_rate,
    refusal,
)
from reportgen.job.instruments import Instrument, InstrumentKind
from reportgen.job.recorded import HoldStep, Reporting
from reportgen.job.trust import SignerPin
from reportgen.measurements.abrasive import AbrasiveLimits
from reportgen.measurements.air import CompressedAir
from reportgen.measurements.cleanliness import SurfacePreparation
from reportgen.measurements.conditions import ConditionLimits
from reportgen.measurements.dust import DustLimit
from reportgen.measurements.salts import SaltLimit
from reportgen.names import (
    is_name_of,
    is_name_of_house,
    names_house,
    names_person,
    names_somebody,
    perhaps_one,
    perhaps_one_house,
    spelt_alike,
    tells_nothing,
    without_name,
)
from reportgen.references import MethodKind, editions, known_rule, method_kind, record_lists
from reportgen.results.codes.records import RECORDS
from reportgen.units import UnitSystem, unit_system

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.job.day import Day

Place = Annotated[
    Name | None,
    Field(description="where it stands, when the contract has several places; conditions count at their own place"),
]

GAUGE_OF: dict[MethodKind, InstrumentKind] = {
    "tape": "thickness gauge", "probe": "depth micrometer", "comparator": "comparator",
}  # fmt: skip
"""Kind of instrument with which each kind of method measures profile; those of no other kind are known."""


class Contract(Model):
    """The contract under inspection."""

    name: Name
    contract: Name
    client: Name
    contractor: Name
    site: Name
    time_zone: Annotated[Name, Field(description="IANA time zone of the site", examples=["UTC", "Europe/Oslo"])]
    report_numbers: Annotated[
        ReportNumberPattern | None,
        Field(description="pattern of the report numbers; # stands for a digit of the sequence"),
    ] = None
    client_contact: Name | None = None


class InspectionBody(Model):
    """Who inspects: printed on every page."""

    name: Name
    address: Text
    accreditation: Name | None = None
    contact: Name | None = None
    logo: RelativePath | None = None


class Repeatability(Model):
    """How far spots of one location scatter: a standard deviation known beforehand, as from earlier reports."""

    value: ProfileScatter
    degrees_of_freedom: Count
    source: Name


class ProfileRequirement(Model):
    """Required surface profile and the rules by which it is judged.

    What makes a location is the contract's to state; where it is silent, the edition of its method says so. A visual
    comparison gives no number: no decision rule but the simple one fits it, and nothing is rounded.
    """

    clause: Clause = None
    minimum: ProfileLimit | None = None
    maximum: ProfileLimit | None = None
    comparator_grade: Annotated[
        Name | None, Field(description="ISO 8503-1 grade instead of limits", examples=["medium G"])
    ] = None
    method: Name
    edition: Name
    overlap_rule: Literal["average", "non-averaging", "single-grade"] | None = None
    location_value: Annotated[
        Literal["mean", "maximum"] | None, Field(description="left out: as the edition of the method says")
    ] = None
    readings_per_location: Annotated[Count | None, Field(description="left out: as the edition of the method says")] = (
        None
    )
    decision_rule: Annotated[
        Literal["simple", "guarded", "banded"], Field(description="may be left out for a visual comparison alone")
    ] = "simple"
    rounding: Annotated[
        Literal["half-even", "half-up", "none"], Field(description="may be left out for a visual comparison alone")
    ] = "none"
    agreement_tolerance: ProfileLimit | None = None
    repeatability: Annotated[
        Repeatability | None,
        Field(description="standard deviation of spots; `reportgen audit query repeatability` prints it from reports"),
    ] = None

    @model_validator(mode="after")
    def _limits_make_a_range(self) -> Self:
        if self.minimum is None and self.maximum is None and self.comparator_grade is None:
            raise refusal(
                "JOB150",
                "the profile has neither `minimum`, `maximum` nor `comparator_grade`",
                "state the specified range",
            )
        if self.comparator_grade is not None and (self.minimum or self.maximum):
            raise refusal(
                "JOB150", "the profile has both limits and a `comparator_grade`", "keep the one the contract states"
            )
        if self.minimum and self.maximum:
            if self.minimum.unit != self.maximum.unit:
                raise refusal(
                    "JOB150", "`minimum` and `maximum` are in different units", "use the unit of the specification"
                )
            if self.minimum.exact >= self.maximum.exact:
                low, high = str(self.minimum), str(self.maximum)
                raise refusal("JOB150", Phrase("`minimum` {low} is not below `maximum` {high}", low=low, high=high))
        return self

    @model_validator(mode="after")
    def _rules_are_stated(self) -> Self:
        """Refuse what neither the contract states nor the edition of its method, and rules that its method has not."""
        if self.kind == "comparator":
            self._fits_a_comparison()
            return self
        for name in ("decision_rule", "rounding"):
            if name not in self.model_fields_set:
                raise refusal("JOB111", f"missing field `{name}`", f"add `{name}:` as the contract states it")
        known = known_rule(self.method, self.edition)
        stated = {"readings_per_location": self.readings_per_location, "location_value": self.location_value}
        for name, value in stated.items():
            if value is None and known is None:
                raise refusal(
                    "JOB150",
                    f"`{name}` is not stated, and for `{self.method}`, edition {self.edition}, it is not known",
                    self._editions_known(name),
                )
        return self

    def _editions_known(self, name: str) -> str:
        family, _, _ = self.method.partition(" Method ")
        known = editions(family.lower().replace(" ", "-")) if self.kind else ()
        listed = f"; known editions of the method are {', '.join(known)}" if known else ""
        return f"add `{name}:` as the contract states it{listed}"

    def _fits_a_comparison(self) -> None:
        if self.decision_rule != "simple":
            raise refusal(
                "JOB150",
                f"`decision_rule: {self.decision_rule}` needs an uncertainty, and a visual comparison has none",
                "write `simple`, or name the method that gives a number",
            )
        for name in ("location_value", "agreement_tolerance", "repeatability"):
            if getattr(self, name) is not None:
                raise refusal(
                    "JOB150",
                    f"`{name}` is of readings, and `{self.method}` is a visual comparison",
                    "remove it, or name the method that gives a number",
                )

    @property
    def kind(self) -> MethodKind | None:
        """With what the method measures; None for a method that is not known."""
        return method_kind(self.method)

    @property
    def readings_needed(self) -> int:
        """How many readings, or comparisons, make a location."""
        known = known_rule(self.method, self.edition)
        return self.readings_per_location or (1 if known is None else known.readings_per_location)

    @property
    def value_rule(self) -> Literal["mean", "maximum"]:
        """How the readings of a location make its value."""
        known = known_rule(self.method, self.edition)
        return self.location_value or (None if known is None else known.location_value) or "mean"

    @property
    def range_as_stated(self) -> str:
        """The limits, or the grade, as the contract writes them."""
        limits = " to ".join(str(limit) for limit in (self.minimum, self.maximum) if limit is not None)
        return limits or self.comparator_grade or ""

    @property
    def gauges(self) -> tuple[InstrumentKind, ...]:
        """Kinds of instrument with which the profile may be read, that of the method first."""
        own = () if self.kind is None or self.kind not in GAUGE_OF else (GAUGE_OF[self.kind],)
        return tuple(dict.fromkeys((*own, *GAUGE_OF.values())))


class Sampling(Model):
    """How many locations the contract requires."""

    clause: Clause = None
    plan: Literal["per-shift-and-apparatus", "area-rate", "length-rate", "fixed"]
    locations: Annotated[
        Count | None, Field(description="locations per shift and apparatus, per area, or for the first step")
    ] = None
    first_area: Area | None = None
    further_area: Area | None = None
    further_locations: Count | None = None
    length: Annotated[Length | None, Field(description="length of weld or edge that needs `locations`")] = None
    additional_per_failing: Count | None = None
    unit_of_record: Literal["m2", "ft2", "m", "ft"] | None = None

    @model_validator(mode="after")
    def _plan_is_complete(self) -> Self:
        needed = {
            "per-shift-and-apparatus": ("locations",),
            "fixed": ("locations",),
            "area-rate": ("locations", "first_area"),
            "length-rate": ("locations", "length"),
        }[self.plan]
        missing = [name for name in needed if getattr(self, name) is None]
        if missing:
            raise refusal("JOB151", f"sampling plan `{self.plan}` needs `{missing[0]}`", f"add `{missing[0]}:`")
        if (self.further_area is None) != (self.further_locations is None):
            raise refusal("JOB151", "`further_area` and `further_locations` belong together", "state both or neither")
        check_area_rate(self.first_area, self.further_area)
        return self


class TimeToCoat(Model):
    """Longest time from the end of blasting to the primer."""

    clause: Clause = None
    maximum: Duration


class Specification(Model):
    """What the contract requires."""

    document: Name
    surface_preparation: SurfacePreparation
    profile: ProfileRequirement
    sampling: Sampling
    conditions: ConditionLimits | None = None
    soluble_salts: SaltLimit | None = None
    dust: DustLimit | None = None
    compressed_air: CompressedAir | None = None
    abrasive: AbrasiveLimits | None = None
    time_to_coat: TimeToCoat | None = None
    hold_points: list[HoldStep] = []
    reporting: Reporting | None = None


_INSPECTS: Final = re.compile(r"inspe[ck]t(or|eur)|\binsp\b|prüf(er|ing)")
"""What of a role, in small letters, says that it is an inspector's: free text, so common spellings and no more."""
_CONTRACTORS: Final = re.compile(
    r"contractor|auftragnehmer|quality control|qualitätskontrolle|\bq\.?c\b|fore(man|woman|person)|vorarbeiter|polier"
    r"|superintendent|painter|maler|lackierer|blaster|strahler|applicator|beschichter"
)
"""What of a role, in small letters, says that it is of the contractor, or of those who do the work."""

_CLIENTS: Final = re.compile(
    r"\bclient|\bowner|\bemployer|clerk of works|(project|resident) engineer|auftraggeber|bauherr|bauüberwach"
)
"""What of a role, in small letters, says that it is of the client's side."""

_CLIENT_ALONE: Final = re.compile(r"(?:the |der |die )?(?:client|owner|employer|auftraggeber(?:in)?|bauherr(?:in)?)")
_OF: Final = re.compile(r"\b(?:of|from)\b(?: the\b)?")


class Succession(Model):
    """Whose reports a person answers for since, who named that person for it, and the evidence."""

    inspector: Annotated[Name, Field(description="the former inspector: a key of `people`, or the name in the reports")]
    named_by: Annotated[
        Ident,
        Field(
            description="who decided it: no inspector, of an `organisation` stated that is not the contractor, and"
            " named with it in those reports already"
        ),
    ]
    evidence: Annotated[Text, Field(description="where that was decided, with its date")]


class Person(Model):
    """Someone named in the reports."""

    name: Name
    role: Name
    certificate: Name | None = None
    certificate_expires: Date | None = None
    organisation: Name | None = None
    signs_with: Annotated[
        SignerPin | None, Field(description="the certificate this person signs with; no other is accepted")
    ] = None
    takes_over: Annotated[
        Succession | None, Field(description="for an inspector who came when the one of earlier reports had left")
    ] = None

    @property
    def inspects(self) -> bool:
        """Whether the role is an inspector's, of whatever organisation."""
        return _INSPECTS.search(self.role.lower()) is not None

    @property
    def perhaps_of_client(self) -> bool:
        """Whether no organisation is stated, and the role is one of the client's side."""
        return self.organisation is None and _CLIENTS.search(self.role.casefold()) is not None

    def is_signer(self, other: "Person") -> bool:
        """Say whether nothing that is stated here speaks against one of this name whom a later report names.

        Only the same pin, and the same organisation, are sure to be of the same certificates: of any other one only a
        signature would tell.
        """
        return self.is_pinned_as(other) and (
            self.organisation is None or spelt_alike(self.organisation, other.organisation or "")
        )

    def is_pinned_as(self, other: "Person") -> bool:
        """Say whether another report pins the same for this person, or this one nothing."""
        if self.signs_with is None:
            return True
        return other.signs_with is not None and other.signs_with.pin == self.signs_with.pin

    def answers_for(self, other: "Person") -> bool:
        """Say whether what ``other`` signed is this one's to revise or close: of one role, or of one organisation.

        A role is free text, so that only the same words are the same role; the client's or the contractor's people are
        named in a job too, and answer for other things.
        """
        if spelt_alike(self.role, other.role):
            return True
        return (
            self.organisation is not None
            and other.organisation is not None
            and spelt_alike(self.organisation, other.organisation)
        )


def _as_listed(text: str) -> str:
    """Return a record or a list of records as it is named here; what is neither stays as written.

    Capitals, spaces, brackets and other marks do not matter. A list may be called by the title of its source; by one
    section alone, which asks for less, it is not.

    >>> [_as_listed(text) for text in ("oil test", "ufgs-09973", "MSC.215 (82)", "IMO MSC.1/Circ. 1330 §7")]
    ['oil_test', 'UFGS 09973', 'MSC.215(82)', 'MSC.1/Circ.1330']
    """
    known = {_letters(name): name for name in RECORDS}
    for name, one in record_lists().items():
        known |= dict.fromkeys(map(_letters, (name, one.title, *one.also)), name)
    return str(known.get(_letters(text)) or text)


def _letters(text: str) -> str:
    return "".join(one for one in text.casefold() if one.isalnum())


class TapeRoll(Model):
    """A roll of replica tape."""

    grade: Literal["coarse", "extra coarse"]
    lot: Name
    expires: Date | None = None
    make: Name | None = None
    model: Name | None = None
    confirmed: NumberConfirmed = False


class AreaPlan(Model):
    """An area: what is released as one."""

    id: Ident
    name: Name
    size: Area | None = None
    weld_length: Length | None = None
    place: Place = None
    drawing: Name | None = None


class Structure(Model):
    """A structure and its areas."""

    id: Ident
    name: Name
    place: Place = None
    drawing: Name | None = None
    areas: Annotated[list[AreaPlan], Field(min_length=1)]


class Project(Model):
    """The project file as a whole."""

    format: Format = 1
    project: Contract
    inspection_body: InspectionBody
    specification: Specification
    people: dict[Ident, Person]
    instruments: dict[Ident, Instrument]
    tape_rolls: dict[Ident, TapeRoll] = {}
    structures: Annotated[list[Structure], Field(min_length=1)]
    template: Ident | None = None
    requires: Annotated[
        list[Annotated[Name, AfterValidator(_as_listed)]],
        Field(description="what the contract asks to be recorded: keys, or the source of a public list of them"),
    ] = []

    def as_told(self, days: "Iterable[Day]") -> Self:
        """Return this contract with whom some days call the contractor's.

        Who took readings beside the inspector's, was present or was told is named in a day file alone: where that
        names the contractor, it is as if ``people`` said so. Nobody else is added, so that none is cleared by it.
        """
        known, contractor = list(days), self.project.contractor
        compared = [one.comparison for day in known for one in day.surfaces if one.comparison]
        told = [name for day in known for name in (*day.report.present, *(one.to for one in day.told_released))]
        named = [one.by for one in compared if perhaps_one_house(one.organisation or "", contractor)]
        named += [name for name in (*told, *(one.by for one in compared)) if self.words_of_contractor(name)]
        theirs = {f"({name})": Person.model_construct(name=name, role="", organisation=contractor) for name in named}
        return self.model_copy(update={"people": {**self.people, **theirs}}) if theirs else self

    def organisation_of(self, person: Person) -> str | None:
        """Return whose a person is: an inspector for whom nothing is stated is of the inspection body."""
        return person.organisation or (self.inspection_body.name if person.role == "inspector" else None)

    def may_name_successor(self, person: Person) -> bool:
        """Say whether it is a person's to name who answers for an inspector since: no inspector, not the contractor's.

        Whose a person is of whom no organisation is stated is not known. One who is entered as an inspector too, under
        whatever spelling, is none of those.
        """
        if person.organisation is None or self.is_contractors(person):
            return False
        return not any(one.inspects and perhaps_one(one.name, person.name) for one in self.people.values())

    def is_contractors(self, person: Person) -> bool:
        """Say whether a person is, or may be, of the contractor: by the organisation or the role stated of that name.

        An inspector whose organisation is stated is of that, whatever else the role says.
        """
        named = [person, *(one for one in self.people.values() if perhaps_one(one.name, person.name))]
        return any(
            (one.organisation is not None and perhaps_one_house(one.organisation, self.project.contractor))
            or (
                not (one.inspects and one.organisation)
                and _CONTRACTORS.search(" ".join(one.role.casefold().split())) is not None
            )
            for one in named
        )

    def speaks_for_contractor(self, name: str) -> bool:
        """Say whether somebody named in free text is, or may be, of the contractor: as listed, or by the words.

        Who is not listed by that name may be one of the contractor's whose surname it has.
        """
        listed = {key: one for key, one in self.people.items() if perhaps_one(key, name) or perhaps_one(one.name, name)}
        if listed:
            beside = without_name(name, " ".join(word for key, one in listed.items() for word in (key, one.name)))
            return any(map(self.is_contractors, listed.values())) or self.words_of_contractor(beside)
        return self.words_of_contractor(name) or any(
            names_somebody(name, one.name) and self.is_contractors(one) for one in self.people.values()
        )

    def same_instrument(self, name: str) -> list[str]:
        """Return the ids of an instrument: those of its kind and serial number, itself first; not of another make."""
        own = self.instruments[name]
        alike = () if tells_nothing(own.serial) else self.instruments.items()
        others = (
            key for key, one in alike
            if key != name and one.kind == own.kind and spelt_alike(one.serial, own.serial)
            and (one.make is None or own.make is None or perhaps_one_house(one.make, own.make))
        )  # fmt: skip
        return [name, *others]

    def due_by(self, name: str, date: dt.date) -> dt.date | None:
        """Return when the calibration of an instrument falls due, as known on a date.

        Of several entries of one instrument that of its last calibration by then says so; of two of one day the earlier
        counts.
        """
        known = [self.instruments[one] for one in self.same_instrument(name)]
        known = [one for one in known if one.calibrated is None or one.calibrated <= date] or known[:1]
        last = max(one.calibrated or dt.date.min for one in known)
        due = [one.calibration_due for one in known if one.calibration_due and (one.calibrated or dt.date.min) == last]
        return min(due, default=None)

    def knows_who(self, name: str, present: "Iterable[str]" = ()) -> bool:
        """Say whether free text tells who somebody is, and nothing else: a person, the role, the house; the client too.

        A person is listed, ``present``, or named in the form of a person; the house is one that is named here. With
        anything left over, such as `P. Amble absent`, it does not.
        """
        contact = self.project.client_contact
        people = [*self.people, *(one.name for one in self.people.values()), *present, *([contact] if contact else [])]
        if any(spelt_alike(name, one) or is_name_of(name, one) for one in people):
            return True
        kinds: list[str | None] = []
        for part in re.split(r"[,;/()]", name):
            whole = self._kind_of_name(part.strip(), people)
            smaller = [part] if whole else _OF.split(part)  # a house may be called `of` something
            kinds += [self._kind_of_name(one.strip(), people) for one in smaller if one.strip()]
        return bool(kinds) and None not in kinds and len(set(kinds)) == len(kinds) and kinds != ["role"]

    def who(self, name: str | None) -> str | None:
        """Return who somebody is as a page says it: the client by its name, which a role alone is in one language."""
        alone = name is not None and _CLIENT_ALONE.fullmatch(name.strip().casefold()) is not None
        return self.project.client if alone else name

    def _kind_of_name(self, part: str, people: list[str]) -> str | None:
        """Return what a part of who somebody is tells: the person, the client, another house, a role; None for none."""
        if any(is_name_of(part, one) for one in people) or names_person(part):
            return "person"
        if _CLIENT_ALONE.fullmatch(part.casefold()) is not None:
            return "client"
        if any(is_name_of_house(part, house) for house in self._other_houses()):
            return "house"
        roles = [one.role for one in self.people.values()]
        return "role" if any(spelt_alike(part, role) for role in roles) else None

    def _other_houses(self) -> list[str]:
        """Return the organisations that are named here, without the contractor's."""
        named = [one.organisation for one in self.people.values() if one.organisation is not None]
        houses = [self.project.client, self.inspection_body.name, *named]
        return [one for one in houses if not perhaps_one_house(one, self.project.contractor)]

    def words_of_contractor(self, name: str) -> bool:
        """Say whether free text that names somebody says itself that this is of the contractor."""
        said, contractor = " ".join(name.casefold().split()), self.project.contractor
        return (
            _CONTRACTORS.search(said) is not None
            or perhaps_one_house(name, contractor)
            or names_house(name, contractor, *self._other_houses())
        )

    def area(self, area_id: str) -> tuple[Structure, AreaPlan]:
        """Return the structure and the plan of an area; KeyError when the project has none of that id."""
        for structure in self.structures:
            for area in structure.areas:
                if area.id == area_id:
                    return structure, area
        raise KeyError(area_id)

    @property
    def units(self) -> UnitSystem:
        """The units that the contract is written in: what it states decides, where it is silent the gauge's unit."""
        profile, limits = self.specification.profile, self.specification.conditions
        gauges = [one.unit for one in self.instruments.values()]
        heights = [limit.unit for limit in (profile.minimum, profile.maximum) if limit is not None]
        temperatures = ("dew_point_margin", "minimum_steel", "maximum_steel", "minimum_air", "maximum_air")
        stated = [getattr(limits, name, None) for name in temperatures]
        stated += [self.specification.sampling.first_area]
        stated += [area.size for structure in self.structures for area in structure.areas]
        return unit_system([*gauges, *heights], [one.unit for one in stated if one is not None])
