"""What a report was judged by and who answers for it, as its project file says, and in what two of them differ.

Gauges and rolls of tape come and go on every contract, and so do certificates of people: these are left out, but for
a certificate that a project file pins, which says who a person is. People are added as a contract goes on, and pins for
them: one that is gone, or told otherwise, makes two project files differ. So does an area that was added: of how many
so many are released is another number then.
"""

from __future__ import annotations

import re
from dataclasses import astuple
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final, Generic, NamedTuple, TypeVar

from reportgen.fields import Model
from reportgen.issued.record import RequirementRecord
from reportgen.names import spelt_alike
from reportgen.units import DISPLAY, Quantity
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from reportgen.issued.record import ReportRecord
    from reportgen.job import Job, Person
    from reportgen.words.told import Told

T = TypeVar("T")

LIMITS: Final = "requirements"
"""Part whose members are told with the values before and after: limits, and the rules by which they are judged."""
_NAMED: Final = {"inspection body": ("name", "address", "accreditation"),
                 "contract": ("name", "client", "contractor", "site", "time_zone", "report_numbers")}  # fmt: skip
_WHOSE: Final = {("inspection body", "name"): "inspection body", ("contract", "client"): "client"}
"""Members that say whose contract it is, and who inspects, and how they are called: under one number they are one."""

_GROWING: Final = frozenset({"areas", "people", "pins", "countersigners"})
"""Parts to which a contract adds as it goes on: who is there for the first time is no difference."""


def requirements_of(job: Job) -> tuple[RequirementRecord, ...]:
    """Return what the project file of a job requires, and of whom, by part and member; nothing absent is listed."""
    project, people = job.project, job.project.people
    found = [(LIMITS, *pair) for pair in _members(project.specification, "")]
    for part, model in (("inspection body", project.inspection_body), ("contract", project.project)):
        found += [(part, name, str(value)) for name in _NAMED[part] if (value := getattr(model, name)) is not None]
    found += [("people", str(one.name), f"{one.role}, {one.organisation or ''}") for one in people.values()]
    found += [("pins", *one) for one in _pins(people.values())]
    found += [("areas", *one) for one in _areas(job)]
    found += [("countersigners", str(people[who].name), people[who].role) for who in job.day.report.countersigners]
    return tuple(RequirementRecord(*one) for one in sorted(dict.fromkeys(found)))


def _areas(job: Job) -> Iterator[tuple[str, str]]:
    """Yield each area that a project file lists, with name, structure and size."""
    for structure in job.project.structures:
        for area in structure.areas:
            size = ", ".join(_text(one) for one in (area.size, area.weld_length) if one is not None)
            yield str(area.id), f"{_in_one(area.name)}, {_in_one(structure.name)}, {size}"


def _in_one(name: str) -> str:
    """Return a name that is not taken for several things one after another: its commas are followed by no blank."""
    return name.replace(", ", ",\N{NO-BREAK SPACE}")


def _pins(people: Iterable[Person]) -> Iterator[tuple[str, str]]:
    """Yield each name for which a project file pins certificates, with all of them: two people may have one name."""
    found: dict[str, list[str]] = {}
    for one in people:
        if one.signs_with is not None:
            stated = astuple(one.signs_with.pin)
            found.setdefault(str(one.name), []).append(" ".join(part for part in stated if part is not None))
    yield from ((name, "; ".join(sorted(pins))) for name, pins in found.items())


def limits_of(record: ReportRecord) -> tuple[RequirementRecord, ...]:
    """Return the limits that a report was judged by, and the rules by which; empty where they cannot be read."""
    return tuple(one for one in record.requirements if one.part == LIMITS)


def _members(value: Any, path: str) -> Iterator[tuple[str, str]]:
    """Yield what a part of a project file states, each by its path in words."""
    if isinstance(value, Model):
        for name in type(value).model_fields:
            yield from _members(getattr(value, name), f"{path} {name.replace('_', ' ')}".strip())
    elif isinstance(value, dict):
        for name, member in value.items():
            yield from _members(member, f"{path} {name}".strip())
    elif isinstance(value, list | tuple) and any(isinstance(one, Model) for one in value):
        for number, member in enumerate(value, start=1):
            yield from _members(member, f"{path} {number}".strip())
    elif isinstance(value, list | tuple):
        yield path, ", ".join(map(_text, value))
    elif value is not None:
        yield path, _text(value)


def _text(value: Any) -> str:
    """Return a value as text, one number always alike: 2 mil is 2.0 mil."""
    if isinstance(value, Quantity):
        return f"{_text(value.magnitude)} {value.unit}"
    return f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)


class ProjectDifference(NamedTuple):
    """In what two project files differ; ``whose`` is whether in who owns the contract or inspects.

    ``authority`` is whether in who may decide: what a person is, by which certificate, and who the contractor is;
    ``pins`` names the people for whom other certificates are pinned, where it is in nothing else.
    """

    told: tuple[Told, ...]
    whose: bool
    authority: bool = False
    pins: tuple[str, ...] = ()


def difference(before: Sequence[RequirementRecord], after: Sequence[RequirementRecord]) -> ProjectDifference | None:
    """Return in what the project file of a report differs from that of one before it; None for nothing.

    Limits, inspection body and client are told by name with both values, of everything else the part and the members.
    A person, a pin or a countersigner that only the later one has is none.
    """
    old, new = ({(one.part, one.member): one.value for one in stated} for stated in (before, after))
    differing = [key for key in sorted(old.keys() | new.keys()) if _differs(key, old, new)]
    named = [key for key in differing if key[0] == LIMITS or key in _WHOSE]
    nothing = told("requirement-of-nobody")
    found = [
        told(
            "requirement-differs", name=told_part(_WHOSE[key]) if key in _WHOSE else key[1],
            before=old.get(key, nothing), after=new.get(key, nothing),
        )
        for key in named
    ]  # fmt: skip
    others: dict[str, list[str]] = {}
    for key in sorted({*differing} - {*named}):
        others.setdefault(key[0], []).append(member_told(key, old, new))
    found += [
        told("requirement-parts-differ", part=told_part(part), members=tuple(members))
        for part, members in others.items()
    ]
    authority = any(changes_who_decides(key, old, new) for key in differing)
    whose, pins = not _WHOSE.keys().isdisjoint(differing), _nothing_but_pins(differing)
    return ProjectDifference(tuple(found), whose, authority, pins) if found else None


def _nothing_but_pins(differing: Sequence[_Key]) -> tuple[str, ...]:
    return tuple(name for _, name in differing) if {part for part, _ in differing} == {"pins"} else ()


def changes_who_decides(key: _Key, old: Mapping[_Key, str], new: Mapping[_Key, str]) -> bool:
    """Whether it is another question who may decide and sign, where a member differs; one who left decides nothing."""
    if key == ("contract", "contractor"):
        return True
    return key in old and (key[0] == "pins" or (key[0] in {"people", "countersigners"} and key in new))


def member_told(key: _Key, old: Mapping[_Key, str], new: Mapping[_Key, str]) -> str:
    """Name a member that differs; of what a contract adds say whether it was added, and of an area what it is now."""
    name = key[1].replace("_", " ")
    if key[0] not in _GROWING:
        return name
    if key in old and key in new and key[0] != "areas":
        return name
    if key in old and key in new:
        before, after = _told_otherwise(old[key], new[key])
        nothing = told("requirement-of-nobody")
        return told("requirement-member-differs", name=name, before=before or nothing, after=after or nothing)
    return told("requirement-removed" if key in old else "requirement-added", name=name)


def _told_otherwise(before: str, after: str) -> tuple[str, str]:
    """Return of two values, each several things one after another, those in which they differ, units as printed."""
    one, other = before.split(", "), after.split(", ")
    while one and other and one[0] == other[0]:
        one, other = one[1:], other[1:]
    while one and other and one[-1] == other[-1]:
        one, other = one[:-1], other[:-1]
    shown = [", ".join(map(size_as_printed, left)).replace("\N{NO-BREAK SPACE}", " ") for left in (one, other)]
    return shown[0], shown[1]


def size_as_printed(value: str) -> str:
    """Return a size with its unit as it is printed; a name that ends like a unit as it is."""
    number, blank, unit = value.partition(" ")
    return f"{number}{blank}{DISPLAY.get(unit, unit)}" if re.fullmatch(r"[0-9.]+", number) else value


def told_part(part: str) -> Told:
    """Name a part of the requirements."""
    return told(f"part-{part.replace(' ', '-')}")


_Key = tuple[str, str]


def _differs(key: _Key, old: Mapping[_Key, str], new: Mapping[_Key, str]) -> bool:
    if key in old and key in new:
        return old[key] != new[key] and not spelt_alike(old[key], new[key])
    return key in old or key[0] not in _GROWING or key[0] == "areas"


def variation(before: str, after: str) -> Told | None:
    """Say which document states the limits since they changed; None where it is the same, so that nothing states it.

    A specification that was varied by agreement is another document, or one with another revision in its name.
    """
    if not before or not after or spelt_alike(before, after):
        return None
    return told("specification-is-other", now=after, before=before)


def document_of(record: ReportRecord) -> str:
    """Return the document that states the limits which a report was judged by; empty where it cannot be read."""
    return next((one.value for one in limits_of(record) if one.member == "document"), "")


class Judged(NamedTuple, Generic[T]):
    """A report with the version of its requirements, equal where these are; ``unproven`` where others are proven."""

    title: Told
    date: str
    unproven: bool
    version: T
    file: str


class Variation(NamedTuple, Generic[T]):
    """A version of the requirements that a report is the first to have, against that of the report before it."""

    before: Judged[T]
    after: Judged[T]
    difference: ProjectDifference
    also: tuple[Told, ...]

    @property
    def sentence(self) -> Told:
        """Which reports differ, in what, and from when."""
        more = len(self.also) - _MOST_NAMED
        named = told("contract-number-list", numbers=self.also[:_MOST_NAMED], more=more if more > 0 else None)
        return told(
            "requirements-differ", before=self.before.title, after=self.after.title, on=self.after.date,
            told=self.difference.told, also=named if self.also else None,
        )  # fmt: skip


_MOST_NAMED: Final = 5


def changes(reports: Iterable[Judged[T]], read: Callable[[T], Sequence[RequirementRecord]]) -> Iterator[Variation[T]]:
    """Yield each change from one version of the requirements of a contract to another, told once however often.

    So is the change back to a version that was there before: for how long another was in force is told by both.

    ``reports`` are in the order of time; ``read`` returns what a version says. A report that is not proven is held
    against the proven ones, and none of these against it.
    """
    known = list(reports)
    for before, after in _versions(known):
        differs = difference(read(before.version), read(after.version))
        if differs is not None:
            also = [one.title for one in known if one.version == after.version and one is not after]
            yield Variation(before, after, differs, tuple(also))


def _versions(told: Sequence[Judged[T]]) -> list[tuple[Judged[T], Judged[T]]]:
    """Return the first report of each change of version, after the report that it is held against."""
    proven = [one for one in told if not one.unproven]
    first = {one.version: one for one in reversed(told) if one.unproven}
    first |= {one.version: one for one in reversed(proven)}
    turns = {(before.version, one.version): (before, one) for before, one in reversed([*pairwise(proven)])}
    found = [pair for pair in reversed(turns.values()) if pair[0].version != pair[1].version]
    for one in (one for one in told if proven and one.unproven and first[one.version] is one):
        known = [other for other in proven if other.date <= one.date] or proven[:1]
        found.append((known[-1], one))
    return found
