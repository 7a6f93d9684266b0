"""What the page of the terms shows: the project file by form, what was issued under it, and what a change would do."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.changing import conflict_view, over_of
from reportgen.browser.contents import (
    as_read,
    choice_text,
    diagnostic_text,
    place_text,
    refused_text,
    shown,
    term_text,
)
from reportgen.browser.fields import Field, choices, field, row, section, sent_back
from reportgen.browser.texts import Texts, texts
from reportgen.errors import UsageError
from reportgen.fields import is_placeholder
from reportgen.intake.changes import Address, Change, Entry, address_of, content_at
from reportgen.job.instruments import ACCURACY_KINDS
from reportgen.loader.assembly import load_project
from reportgen.measurements import MEASUREMENTS
from reportgen.names import counts_on
from reportgen.pipeline.looking import typed
from reportgen.pipeline.onsite import answer_refused
from reportgen.pipeline.terms import (
    PROJECT_NAME,
    TermsObjection,
    not_issued,
    terms_state,
    undo_terms,
    write_terms,
)
from reportgen.pipeline.writing import Conflict, Wrote, file_now
from reportgen.starter import METHODS, identifier
from reportgen.units import DISPLAY
from reportgen.words.sentences import sentences
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.fields import Model
    from reportgen.job import Project

_RULES: Final = {
    "overlap_rule": ("average", "non-averaging", "single-grade"), "decision_rule": ("simple", "guarded", "banded"),
    "rounding": ("half-even", "half-up", "none"), "before": ("blasting", "coating"),
    "expressed_as": ("mixed salts by conductivity", "sodium chloride by conductivity", "chloride"),
    "grade_of_tape": ("coarse", "extra coarse"), "unit": ("mil", "um"),
    "kind": tuple(ACCURACY_KINDS), "method": METHODS, "comparator": ("G", "S"), "location_value": ("mean", "maximum"),
    "confirmed": ("yes", "no"),
}  # fmt: skip
"""Fields of which the file takes one of a few words."""
_SHEET: Final[Mapping[str, tuple[str, ...]]] = {
    "contract": (
        "project/name", "project/contract", "project/client", "project/contractor", "project/site",
        "project/client_contact", "inspection_body/name", "inspection_body/address",
    ),
    "profile": (
        "specification/document", "specification/surface_preparation/grade",
        "specification/surface_preparation/maximum_staining:%", "specification/profile/minimum:height",
        "specification/profile/maximum:height", "specification/profile/comparator_grade",
        "specification/profile/clause", "specification/profile/method", "specification/profile/edition",
        "specification/profile/overlap_rule", "specification/profile/decision_rule", "specification/profile/rounding",
        "specification/profile/readings_per_location", "specification/profile/location_value",
        "specification/sampling/locations",
    ),
    "weather": (
        "specification/conditions/clause",
        "specification/conditions/dew_point_margin:difference", "specification/conditions/maximum_humidity:%",
        "specification/conditions/minimum_steel:temperature", "specification/conditions/maximum_steel:temperature",
        "specification/conditions/minimum_air:temperature", "specification/conditions/maximum_air:temperature",
        "specification/conditions/interval:h",
        "specification/time_to_coat/maximum:h",
    ),
    "tests": (
        "specification/soluble_salts/maximum:density", "specification/soluble_salts/tests",
        "specification/dust/maximum_quantity", "specification/dust/maximum_size",
        "specification/compressed_air/interval:h", "specification/abrasive/maximum_conductivity:uS/cm",
        "specification/abrasive/interval:h",
    ),
}  # fmt: skip
"""Fields by the part of the page in which they stand; behind a colon a unit, or what is measured in one."""
_IN_PARTS: Final = ("specification/soluble_salts/", "specification/dust/maximum_size")
"""Fields that no file can have alone: they are shown where their part is there, which a form begins as a whole."""
_OF_LISTS: Final[Mapping[str, tuple[str, ...]]] = {
    "people": ("name", "role", "organisation", "certificate", "certificate_expires"),
    "instruments": (
        "kind", "serial", "comparator", "unit", "resolution", "accuracy", "certificate", "calibrated",
        "calibration_due", "confirmed",
    ),
    "tape_rolls": ("grade", "lot", "expires", "confirmed"),
}  # fmt: skip
_OF_ONE_KIND: Final = {"unit": ("thickness gauge", "depth micrometer"), "comparator": ("comparator",)}
"""Fields of an instrument that some kinds have."""
_IN_ITS_PLACE: Final[Mapping[str, tuple[str, ...]]] = {
    "comparator_grade": ("minimum", "maximum"), "minimum": ("comparator_grade",), "maximum": ("comparator_grade",),
}  # fmt: skip
"""Fields of the profile, and what each takes the place of: a contract states limits or a grade."""
_ROLES: Final = ("inspector", "coating inspector", "engineer", "project engineer", "contractor's quality control")
_LONG: Final = frozenset({
    "name", "document", "address", "site", "client", "contractor", "overlap_rule", "decision_rule", "method",
    "kind", "role", "rounding", "location_value",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Adding:
    """A form that adds an entry: what it asks, ``needed`` first, the others may be left empty; its choices."""

    key: str
    needed: tuple[str, ...]
    others: tuple[str, ...] = ()


ADDED: Final = (
    Adding("area", ("structure", "id", "name"), ("size", "drawing")),
    Adding("structure", ("name", "area_id", "area"), ("id", "drawing", "size")),
    Adding("person", ("name", "role"), ("organisation",)),
    Adding("roll", ("id", "grade", "lot"), ("expires",)),
    Adding("instrument", ("id", "kind", "serial"), ("comparator", "unit", "accuracy", "calibration_due")),
    Adding("salts", ("maximum", "expressed_as")),
    Adding("hold", ("step", "before"), ("clause",)),
)
"""What is added to the terms by a form, as an entry that says less would be none."""


def terms_view(folder: Path, language: str) -> dict[str, Any]:
    """Return what the page of the terms shows.

    Raises:
        InputError, UsageError: the project file cannot be used.
    """
    import hashlib

    say, data = texts(language), file_now(folder / PROJECT_NAME)
    project = load_project(folder / PROJECT_NAME, data)
    plain = parse_yaml(data, PROJECT_NAME).data
    further = [*_further(say, project, plain)]
    parts = [
        section(
            key, say(f"terms.{key}"),
            [
                *(_single(say, project, plain, one) for one in paths if _may_stand(plain, one)),
                *(further if key == "tests" else ()),
            ],
        )
        for key, paths in _SHEET.items()
    ]  # fmt: skip
    lists = [_list(say, plain, key, names) for key, names in _OF_LISTS.items()]
    state = terms_state(folder)
    if not state.issued:
        parts[0]["fields"].append(_single(say, project, plain, "project/time_zone"))
    return {
        "title": say("terms.title"), "seen": hashlib.sha256(data).hexdigest(), "offset": 0,
        "parts": parts,
        "lists": [
            *lists, _structures(say, plain), _areas(say, project, plain, issued=state.issued), _holds(say, plain),
        ],
        "adding": [_form(say, project, one) for one in ADDED if not _is_there(one, plain)],
        "issued": state.issued, "number": state.last,
        "differs": [
            say("report.differs", where=place_text(say, one.at), issued=shown(one.before) or say("conflict.nothing"),
                now=shown(one.after) or say("conflict.nothing"))
            for one in state.differs
        ],
        "body": project.inspection_body.name, "what": f"{project.project.contract} · {project.project.client}",
        "language": "de" if (project.template or "").endswith("-de") else "en",
    }  # fmt: skip


def _may_stand(plain: Mapping[str, Any], path: str) -> bool:
    return not path.startswith(_IN_PARTS) or path.split("/")[1] in plain.get("specification", {})


def _single(say: Texts, project: Project, plain: Mapping[str, Any], path: str) -> Field:
    name, _, unit = path.partition(":")
    at = Address.parse(name)
    return _field(say, plain, at, term_text(say, at), str(at.steps[-1]), unit=getattr(project.units, unit, unit))


def _further(say: Texts, project: Project, plain: Mapping[str, Any]) -> Iterator[Field]:
    """Yield what a kind of measurement is limited in that the sheet has no field for.

    Where a limit that is not in the file yet would lack something beside it, it is to be written there whole.
    """
    shown_already = {path.split("/")[1] for paths in _SHEET.values() for path in paths}
    further = [kind for kind in MEASUREMENTS if kind.limit_key not in shown_already]
    for kind, side in [(one, side) for one in further for side in one.sides if _stands_alone(plain, one, side)]:
        at = Address(("specification", kind.limit_key, side.limit))
        quantity = next((one.quantity for one in kind.entries if one.field == side.value), None)
        unit = project.units.such_as(quantity)[0].partition(" ")[2] if quantity else ""
        label = f"{sentences(say.language).name(kind.key)}: {say.named('term', side.limit)}"
        yield _field(say, plain, at, label, side.limit, unit=unit)


def _stands_alone(plain: Mapping[str, Any], kind: Any, side: Any) -> bool:
    needed = {name for name, one in kind.limit.model_fields.items() if one.is_required()}
    return needed <= {side.limit} or kind.limit_key in plain.get("specification", {})


def _field(say: Texts, plain: Mapping[str, Any], at: Address, label: str, name: str, unit: str = "") -> Field:
    """Return a field of the project file; a placeholder is shown as nothing, and wanted."""
    words = _RULES.get(name)
    how: dict[str, Any] = {"kind": "number"} if unit else {}
    if words:
        how = {"kind": "choice", "options": _options(say, name, words)}
    if name == "role":
        how = {"options": choices([choice_text(say, name, one) for one in _ROLES])}
    own = field(plain, at, label, unit=unit, wide=name in _LONG, **how)
    return replace(own, value=choice_text(say, name, own.value)) if name == "role" else own


def _role(say: Texts, text: str) -> str:
    """Return a role as the file has it: one of the usual ones by its English name, whatever the page calls it."""
    return next((one for one in _ROLES if choice_text(say, "role", one) == text), text)


def _options(say: Texts, name: str, words: Sequence[str]) -> tuple[tuple[str, str], ...]:
    return tuple((one, choice_text(say, name, one)) for one in words)


def _list(say: Texts, plain: Mapping[str, Any], key: str, names: tuple[str, ...]) -> dict[str, Any]:
    """Return the entries of a part of the file that are called by their keys."""
    rows = []
    for name, entry in (plain.get(key) or {}).items():
        at = Address((key, str(name)))
        called = {one: "grade_of_tape" if one == "grade" else one for one in names}
        fields = [
            _field(say, plain, at / one, say(f"term.{one}"), called[one]) for one in names if _belongs(one, entry)
        ]  # fmt: skip
        said = (one for one in names if one in entry and one not in ("unit", "resolution", "confirmed"))
        told = ", ".join(_word(say, called[one], as_read(say, entry[one])) for one in said)
        rows.append(_row(at, str(name), told, fields))
    return section(key, say(f"terms.{key}"), []) | {"rows": rows, "fresh": []}


def _belongs(name: str, entry: Mapping[str, Any]) -> bool:
    """Whether an entry may have a field: some kinds of instruments alone have a unit; numbers that count are asked."""
    if name == "confirmed":
        return name in entry or any(counts_on(str(entry.get(one, ""))) for one in ("serial", "lot", "certificate"))
    return name in entry or name not in _OF_ONE_KIND or entry.get("kind") in _OF_ONE_KIND[name]


def _word(say: Texts, name: str, text: str) -> str:
    return choice_text(say, name, text) if name in (*_RULES, "role") else text


def _row(at: Address, name: str, told: str, fields: list[Field]) -> dict[str, Any]:
    wanted = any(one.wanted for one in fields)
    shown_as = {"state": "open" if wanted else "entered", "word": "", "text": told}
    return row(at, fields, shown_as) | {"name": name, "open": wanted}


def _structures(say: Texts, plain: Mapping[str, Any]) -> dict[str, Any]:
    """Return the structures by what names them; which areas each has is told beside."""
    rows = []
    for index, structure in enumerate(plain.get("structures") or []):
        at = address_of(plain, ("structures", index))
        names = ("name", "id", "drawing", "place")
        fields = [_field(say, plain, at / one, say(f"term.structures-{one}"), one) for one in names]
        told = ", ".join(str(one.get("id")) for one in structure.get("areas") or [])
        name = str(structure.get("id")) if fields[0].wanted else str(structure.get("name"))
        rows.append(_row(at, name, told, fields))
    return section("structures", say("terms.structures"), []) | {"rows": rows, "fresh": []}


def _areas(say: Texts, project: Project, plain: Mapping[str, Any], *, issued: int) -> dict[str, Any]:
    """Return the areas; their ids can be changed as long as no report names them."""
    rows, structures = [], _structure_options(project)
    for index, structure in enumerate(plain.get("structures") or []):
        for number, entry in enumerate(structure.get("areas") or []):
            at = address_of(plain, ("structures", index, "areas", number))
            size = project.structures[index].areas[number].size
            fields = [
                _field(say, plain, at / "name", say("term.area"), "name"),
                _field(say, plain, at / "size", say("term.size"), "size",
                       unit=project.units.area if size is None else size.unit),
                _field(say, plain, at / "drawing", say("term.drawing"), "drawing"),
                _field(say, plain, at / "place", say("term.areas-place"), "place"),
                Field(str(at / "structure"), say("term.structure"), str(structure.get("id")),
                      json.dumps(structure.get("id")), kind="choice", options=structures),
            ]  # fmt: skip
            if not issued:
                fields.insert(0, _field(say, plain, at / "id", say("term.areas-id"), "id"))
            told = ", ".join(filter(None, (entry.get("name"), as_read(say, entry.get("size")), structure.get("name"))))
            rows.append(_row(at, str(entry.get("id")), told, fields))
    return section("areas", say("terms.areas"), []) | {"rows": rows, "fresh": []}


def _structure_options(project: Project) -> tuple[tuple[str, str], ...]:
    """Return the structures to choose from; one whose name is still to be filled in by its id."""
    return tuple((one.id, one.id if is_placeholder(one.name) else one.name) for one in project.structures)


def _holds(say: Texts, plain: Mapping[str, Any]) -> dict[str, Any]:
    rows = []
    for index, entry in enumerate((plain.get("specification") or {}).get("hold_points") or []):
        at = address_of(plain, ("specification", "hold_points", index))
        fields = [_field(say, plain, at / one, say(f"term.{one}"), one) for one in ("step", "before", "clause")]
        rows.append(_row(at, str(entry.get("step")), _word(say, "before", str(entry.get("before", ""))), fields))
    return section("hold_points", say("terms.hold_points"), []) | {"rows": rows, "fresh": []}


def _is_there(one: Adding, plain: Mapping[str, Any]) -> bool:
    return one.key == "salts" and "soluble_salts" in plain.get("specification", {})


def _form(say: Texts, project: Project, one: Adding) -> dict[str, Any]:
    """Return a form that adds an entry."""
    fields = []
    for name in (*one.needed, *one.others):
        options: tuple[tuple[str, str], ...] = ()
        if name == "structure":
            options = _structure_options(project)
        elif name in _RULES or (one.key, name) == ("roll", "grade"):
            called = "grade_of_tape" if name == "grade" else name
            options = _options(say, called, _RULES[called])
        unit = {"size": project.units.area, "maximum": project.units.density}.get(name, "")
        label = say(f"adding.{one.key}-{name}") if say.knows(f"adding.{one.key}-{name}") else say(f"term.{name}")
        fields.append({
            "name": name, "label": label, "options": options, "unit": DISPLAY.get(unit, unit),
            "later": name in one.others,
        })  # fmt: skip
    return {"key": one.key, "title": say(f"adding.{one.key}"), "fields": fields}


def field_refused(say: Texts, given: Mapping[str, str], asked: str) -> str | None:
    """Return why what stands in a field of a form that adds an entry cannot stand: nothing, where it is needed."""
    needed = any(asked in one.needed for one in ADDED if one.key == given.get("add"))
    if needed and not given.get(asked, "").strip():
        return say("terms.needed")
    return refused_text(say, asked, given.get(asked))


# Writing


def terms_entered(
    folder: Path, language: str, given: Mapping[str, str], last: Wrote | None
) -> tuple[str, dict[str, Any], Wrote | None]:  # fmt: skip
    """Write what the page sent; return ``wrote``, ``conflict``, ``follows`` or ``refused``, its view, and the doing.

    Raises:
        InputError, UsageError, MachineError: as ``write_terms``.
    """
    say = texts(language)
    if "undo" in given:
        if last is None:
            raise UsageError(say("write.nothing-to-undo"))
        outcome = undo_terms(folder, last, over_of(given))
    else:
        change = _change(folder, say, given)
        if change is None or change.before == change.now:
            raise UsageError(say("write.nothing"))
        if (stopped := _stopped(folder, say, change, given)) is not None:
            return *stopped, None
        changes = [*_replaced(folder, change), *_moved(folder, say, change)]
        outcome = write_terms(folder, changes, seen=given.get("seen") or None, believed=given.get("believed") == "yes")
    if isinstance(outcome, Conflict):
        return "conflict", conflict_view(say, outcome, given), None
    if isinstance(outcome, TermsObjection):
        return *_objection(say, outcome, given), None
    what = "; ".join(_written(say, one) for one in outcome.changes)
    text = say("terms.taken-back" if "undo" in given else "terms.written", time=f"{outcome.at:%H:%M:%S} UTC", what=what)
    return "wrote", {"text": text, "undo": "undo" not in given}, outcome


def _written(say: Texts, one: Change) -> str:
    entry = one.at.steps[-2] if len(one.at.steps) > 1 else ""
    of = ", ".join(value for _, value in entry.names) if isinstance(entry, Entry) else ""
    last = one.at.steps[-1]
    name = term_text(say, one.at) if isinstance(last, str) else ", ".join(value for _, value in last.names)
    return f"{of}, {name}: {shown(one.now)}".removeprefix(", ")


def _objection(say: Texts, found: TermsObjection, given: Mapping[str, str]) -> tuple[str, dict[str, Any]]:
    if found.refused:
        return "refused", {"refused": list(dict.fromkeys(diagnostic_text(say, one) for one in found.refused))[:3]}
    alike: dict[tuple[str, str], list[str]] = {}
    for one in found.follows:
        before, after = (
            say(f"decision.{each}") if each else say("conflict.nothing") for each in (one.before, one.after)
        )
        alike.setdefault((one.day, say("terms.becomes", before=before, after=after)), []).append(one.area)
    why = [say("terms.follows", day=day, areas=", ".join(areas), what=what) for (day, what), areas in alike.items()]
    return "follows", {"field": given.get("field", ""), "why": why}


def _change(folder: Path, say: Texts, given: Mapping[str, str]) -> Change | None:
    """Return the change that a field, a form or a press means.

    Raises:
        UsageError: it names no place, or a form lacks what is needed.
    """
    if "take-out" in given:
        path = folder / PROJECT_NAME
        at = Address.parse(given["take-out"])
        return Change(at, content_at(parse_yaml(file_now(path), PROJECT_NAME).data, at), None)
    if "add" in given:
        return _added(folder, say, given)
    text = given.get("value", "").strip()
    at = Address.parse(given.get("at", ""))
    now = typed(text, given.get("unit") or None) if text and given.get("kind") == "number" else text
    now = _role(say, now) if at.steps[-1] == "role" else now
    return Change(at, sent_back(given["was"]) if given.get("was") else None, now or None)


def _stopped(
    folder: Path, say: Texts, change: Change, given: Mapping[str, str]
) -> tuple[str, dict[str, Any]] | None:  # fmt: skip
    """Return what is said before a change is tried: why its text cannot stand, or what the time zone changes."""
    if (why := refused_text(say, str(change.at.steps[-1]), change.now)) is not None:
        return "refused", {"refused": [why]}
    follows = _follows_from(folder, say, change)
    if follows and given.get("believed") != "yes":
        return "follows", {"field": given.get("field", ""), "title": say("terms.zone"), "why": follows}
    return None


def _follows_from(folder: Path, say: Texts, change: Change) -> list[str]:
    """Return what changes with the time zone of a contract; nothing for any other change.

    Raises:
        UsageError: reports were issued, which state their times and areas by what is to be changed; no such zone.
    """
    *above, name = change.at.steps
    is_zone = name == "time_zone"
    is_area = name == "id" and isinstance(above[-1], Entry) and above[-1].of == "areas"
    if (is_zone or is_area) and terms_state(folder).issued:
        raise UsageError(say("terms.issued-by"))
    if not is_zone:
        return []
    if (why := answer_refused("time_zone", str(change.now or ""), {})) is not None:
        raise UsageError(why)
    days = ", ".join(path.stem for path in not_issued(folder))
    return [say("terms.zone-follows", days=days or None, zone=shown(change.now), before=shown(change.before))]


def _replaced(folder: Path, change: Change) -> list[Change]:
    """Return what a limit of the profile, or a grade, takes the place of: taken out with it, or neither is."""
    *block, name = change.at.steps
    if block != ["specification", "profile"] or change.now is None or change.before is not None:
        return []
    data = parse_yaml(file_now(folder / PROJECT_NAME), PROJECT_NAME).data
    others = [change.at.parent / one for one in _IN_ITS_PLACE.get(str(name), ())]
    return [Change(one, there, None) for one in others if (there := content_at(data, one)) is not None]


def _moved(folder: Path, say: Texts, change: Change) -> list[Change]:
    """Return a change as it is; for an area that is to be of another structure, out of the one and into the other.

    Raises:
        UsageError: no structure was chosen, it has no other area, or the area is not there any more.
    """
    home = change.at.parent
    if change.at.steps[-1] != "structure" or not isinstance(area := home.steps[-1], Entry):
        return [change]
    data = parse_yaml(file_now(folder / PROJECT_NAME), PROJECT_NAME).data
    entry = content_at(data, home)
    if not isinstance(entry, dict) or not isinstance(change.now, str):
        raise UsageError(say("write.nothing"))
    if len(content_at(data, home.parent / "areas") or ()) < 2:
        raise UsageError(say("terms.only-area"))
    rest = {key: value for key, value in entry.items() if key != "id"}
    there = Address((Entry("structures", (("id", change.now),)), area))
    return [Change(home, entry, None), Change(there, None, rest)]


def _added(folder: Path, say: Texts, given: Mapping[str, str]) -> Change:
    """Return the entry of a form as one change."""
    form = next((one for one in ADDED if one.key == given["add"]), None)
    if form is None or any(not given.get(name, "").strip() for name in form.needed):
        raise UsageError(say("terms.needs"))
    project = load_project(folder / PROJECT_NAME)
    entry: dict[str, Any] = {name: given.get(name, "").strip() for name in (*form.needed, *form.others)}
    entry = {name: text for name, text in entry.items() if text}
    for name, unit in (("size", project.units.area), ("maximum", project.units.density)):
        if name in entry:
            entry[name] = typed(entry[name], unit)
    return Change(_placed(say, form.key, entry, project), None, entry)


def _placed(say: Texts, key: str, entry: dict[str, Any], project: Project) -> Address:
    """Return where the entry of a form belongs; what names it there is taken out of it."""
    if key == "area":
        return Address(
            (Entry("structures", (("id", entry.pop("structure")),)), Entry("areas", (("id", entry.pop("id")),)))
        )
    if key == "structure":
        area = {"id": entry.pop("area_id"), "name": entry.pop("area")}
        area |= {"size": entry.pop("size")} if "size" in entry else {}
        taken = {one.id: one for one in project.structures}
        name = entry.pop("id", None) or _free(identifier(entry["name"], "structure"), taken)
        entry["areas"] = [area]
        return Address((Entry("structures", (("id", name),)),))
    if key == "person":
        entry["role"] = _role(say, entry["role"])
        return Address(("people", _free(identifier(entry["name"].rpartition(" ")[2], "person"), project.people)))
    if key == "salts":
        return Address(("specification", "soluble_salts"))
    if key == "hold":
        return Address(("specification", Entry("hold_points", (("step", entry.pop("step")),))))
    return Address(({"roll": "tape_rolls", "instrument": "instruments"}[key], entry.pop("id")))


def _free(name: str, taken: Mapping[str, Model]) -> str:
    return next(each for n in range(1, len(taken) + 2) if (each := name if n == 1 else f"{name}-{n}") not in taken)
