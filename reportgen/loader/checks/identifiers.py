"""Every id a day file uses must stand in the project file, and every place of a reading of the conditions."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import known_are
from reportgen.fields import may_be_id
from reportgen.job import READING_FIELDS, Places, is_placeholder
from reportgen.loader.checks.uses import uses_of
from reportgen.loader.sheets import meant_or
from reportgen.loader.unfinished import value_at
from reportgen.names import perhaps_one

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.job import Job
    from reportgen.loader.sheets import Loc, Sheets

_CODES: Final = {"person": "JOB201", "instrument": "JOB202", "roll": "JOB203", "area": "JOB204"}
_LISTED: Final = 8
_BIND: Final = "state `place:` of the structure or area that is there, or list the `areas:` it covers"
LONGEST_SIGNER: Final = 64
"""Characters of a name in a certificate."""


_A_KEY = re.compile(r"[a-z0-9_-]+")
"""What can be a key of `people`, and hardly a name."""
_UNSTATED: Final[dict[str | None, str]] = {None: ": no organisation is stated"}
"""What is said besides of somebody by his organisation: nothing where it is stated."""


def check_identifiers(sheets: Sheets) -> None:
    """Refuse each person, instrument, roll and area that the project does not have."""
    for use in uses_of(sheets.day):
        if use.name not in sheets.ids[use.kind]:
            message, help_text = sheets.unknown(use.kind, use.name)
            sheets.refuse(use.loc, _CODES[use.kind], message, help_text)


def check_set_aside(sheets: Sheets) -> None:
    """Refuse each of those in what was set aside, too, and each roll that stands there over a reading."""
    for part in sheets.gone:
        for loc, name, text in _texts(value_at(sheets.written.data, part), part):
            over_reading = "readings" in loc[:-2] and name not in READING_FIELDS
            kind, named = ("roll", name) if over_reading else (_kind(loc, name), text.strip())
            if kind is not None and may_be_id(named) and not is_placeholder(named) and named not in sheets.ids[kind]:
                span, code = sheets.written.span(loc, key=over_reading), _CODES[kind]
                sheets.found.at_first(span, code, *sheets.unknown(kind, named))


def _kind(loc: Loc, name: str) -> str | None:
    """Return what a field holds the id of; the `area` of a test is a size, and the contractor's gauge is not ours."""
    if loc[-2:] == ("comparison", "gauge"):
        return None
    return _NAMES.get(name) if name != "area" or len(loc) == _OF_AN_ENTRY else None


_NAMES: Final = {
    "area": "area", "areas": "area", "gauge": "instrument", "instrument": "instrument", "instruments": "instrument",
    "roll": "roll", "inspector": "person", "decided_by": "person",
}  # fmt: skip
"""Fields of the day file that hold ids, and of what."""
_OF_AN_ENTRY: Final = len(("surfaces", 0, "area"))
"""Where the area of an entry stands."""


def _texts(value: Any, loc: Loc) -> Iterator[tuple[Loc, str, str]]:
    """Yield every text in a part of the day file, with its place and the name of its field."""
    if isinstance(value, str):
        yield loc, next(str(part) for part in reversed(loc) if isinstance(part, str)), value
        return
    for part, inner in value.items() if isinstance(value, dict) else enumerate(value or ()):
        yield from _texts(inner, (*loc, part))


def check_people(sheets: Sheets) -> None:
    """The inspector must be entered as one; countersigners are others, each once."""
    report = sheets.day.report
    person = sheets.project.people.get(report.inspector)
    if person is not None and "inspector" not in person.role.lower():
        message = f"`{report.inspector}` has the role `{person.role}`, not inspector"
        sheets.refuse(
            ("report", "inspector"), "JOB207", message, "name the inspector of the shift, or correct the role"
        )
    for number, signer in enumerate(report.countersigners):
        if signer == report.inspector or signer in report.countersigners[:number]:
            message = f"`{signer}` signs this report already"
            sheets.refuse(("report", "countersigners", number), "JOB207", message, "keep each signer once")


def check_successors(sheets: Sheets, earlier: Iterable[Job]) -> None:
    """Who names a successor is listed, and is neither the successor, nor an inspector, nor of the contractor.

    Whose somebody is, this day file and those of ``earlier`` days say too.
    """
    people = sheets.project.people
    told = sheets.project.as_told([*(job.day for job in earlier), sheets.day])
    for key, person in people.items():
        taken = person.takes_over
        if taken is None:
            continue
        span = sheets.project_document.span(("people", key, "takes_over", "named_by"))
        if taken.named_by not in sheets.ids["person"]:
            sheets.found.at(span, "JOB201", *sheets.unknown("person", taken.named_by))
        if taken.inspector not in people and _A_KEY.fullmatch(taken.inspector):
            own = sheets.project_document.span(("people", key, "takes_over", "inspector"))
            message = f"`{taken.inspector}`, from whom `{key}` takes over, is no key of `people`"
            sheets.found.at(own, "JOB256", message, "write the name of the former inspector as it is in the reports")
        namer = people.get(taken.named_by)
        if namer is not None and (perhaps_one(namer.name, person.name) or not told.may_name_successor(namer)):
            besides = _UNSTATED.get(namer.organisation, "")
            message = f"`{taken.named_by}`, {namer.role}, may not name who takes over from `{taken.inspector}`{besides}"
            help_text = (
                "name one of the client's side whom the earlier reports name with their `organisation`: no inspector,"
                f" not of the contractor, `{sheets.project.project.contractor}`"
            )
            sheets.found.at(span, "JOB256", message, help_text)
        if told.is_contractors(person):
            own = sheets.project_document.span(("people", key, "takes_over"), key=True)
            contractor = sheets.project.project.contractor
            message = f"`{key}`, who takes over from `{taken.inspector}`, is of the contractor, `{contractor}`"
            help_text = "name an inspector of the inspection body, or of the client, as successor"
            sheets.found.at(own, "JOB256", message, help_text)


def check_signers(sheets: Sheets) -> None:
    """Warn of a signer whose name no certificate holds: it has at most 64 characters (X.520, ub-common-name)."""
    report = sheets.day.report
    for signer in dict.fromkeys((report.inspector, *report.countersigners)):
        person = sheets.project.people.get(signer)
        if person is not None and len(person.name) > LONGEST_SIGNER:
            sheets.found.at(
                sheets.project_document.span(("people", signer, "name")),
                "JOB219",
                f"the name of `{signer}`, who signs, has {len(person.name)} characters; a certificate holds "
                f"{LONGEST_SIGNER}",
                "write the name as it is in the certificate; `issue` refuses another",
                "warning",
            )


def check_places(sheets: Sheets) -> None:
    """Refuse each place where no area is, once, and an area that a reading lists although it is elsewhere."""
    readings = sheets.day.conditions
    places = Places(sheets.project.structures, readings)
    unknown = dict.fromkeys(one.place for one in readings if one.place is not None and places.unknown(one))
    known = places.stated or [structure.name for structure in sheets.project.structures]
    for name in unknown:
        index = next(index for index, one in enumerate(readings) if one.place == name)
        help_text = meant_or(name, places.known, f"{known_are(known, _LISTED)}; {_BIND}")
        sheets.refuse(("conditions", index, "place"), "JOB209", f"no area is at `{name}`", help_text)
    for index, reading in enumerate(readings):
        for area in places.elsewhere(reading):
            message = f"area `{area}` is not at `{reading.place}`"
            loc = ("conditions", index, "areas", reading.areas.index(area))
            sheets.refuse(loc, "JOB218", message, "leave out what is not covered, or correct the place")
