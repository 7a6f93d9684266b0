"""From what a page sends to what the day file says, and back to what the page says of it."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote
from zoneinfo import ZoneInfo

from reportgen.browser.contents import change_text, diagnostic_text, field_text, place_text, refused_text, shown
from reportgen.browser.fields import NEW, clock, sent_back, to_fill_in
from reportgen.browser.profile_views import why_second
from reportgen.browser.questions import is_number, new_name, question_text
from reportgen.browser.record_views import nonconformance_begun, still_wanted
from reportgen.browser.sight import MARKS, result_text, seen
from reportgen.browser.texts import texts
from reportgen.errors import InputError, ReportgenError, UsageError
from reportgen.intake.carried import carried
from reportgen.intake.changes import Address, Change, Entry, content_at, without
from reportgen.intake.entries import NO_READING
from reportgen.intake.readings import gauges_of, only_gauge
from reportgen.loader.assembly import load_project
from reportgen.measurements import MEASUREMENTS
from reportgen.pipeline.confirming import FLAG, compared_with, field_of, rests_on
from reportgen.pipeline.looking import look, typed, with_inspected
from reportgen.pipeline.writing import Conflict, Objection, Wrote, confirming, file_now, undo, write_entry
from reportgen.results import CheckResult
from reportgen.results.codes.profile import READ_OTHER_GRADE
from reportgen.units import DISPLAY
from reportgen.words.sentences import sentences
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportgen.browser.texts import Texts
    from reportgen.intake.changes import Content, Step
    from reportgen.pipeline.looking import Look

_SECONDS: Final = "%H:%M:%S"
_ONCE: Final = frozenset({"walk_outs", "directions", "nonconformances", "photos"})
"""Lists in which nothing is there twice: a location has one walk-out, and that one direction each way."""
_SHOWN_AT: Final = {
    "walk_outs": "profile", "directions": "profile", "surfaces": "setup", "replicas": "d-replicas",
    "process_changes": "d-process_changes", "photos": "main",
}  # fmt: skip
"""Lists whose part of a page is not called as they are."""


_SHIFT: Final = tuple(Address(("report", "shift", name)) for name in ("start", "end"))
_BOTH: Final = re.compile(r"(\d{1,2}[:.]?\d{2})\s*(?:-|\u2013|to|bis|\s)\s*(\d{1,2}[:.]?\d{2})")
"""Both ends of a shift in one field: a night shift is reached from a day shift of the same hours by no one of them."""


class NoGaugeError(UsageError):
    """A reading is typed, and nothing says which of several gauges shows it."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of what a page sent, and its view: ``what`` is ``wrote``, or the template that says why not.

    That is ``conflict``, ``asked``, ``listed`` (as not inspected), ``both`` (ends of the shift) or ``refused``.
    """

    what: str
    view: dict[str, Any]
    wrote: Wrote | None = None


def photo_added(day: Path, language: str, data: bytes, name: str, given: Mapping[str, str]) -> Answer:
    """Bring a photo to an area; answer as ``entered``.

    Raises:
        UsageError: it is no picture that a report can show. As ``entered``.
    """
    from reportgen.pipeline.photos import add_photo

    surface = Address.parse(given.get("surface", ""))
    if (asked := _listed(texts(language), _data(day), given, (Change(surface, None, {}),))) is not None:
        return asked
    added = add_photo(
        day, data, name, surface, caption=given.get("caption", "").strip(),
        time=clock(given.get("time", "")) or None, location=given.get("location", "").strip() or None,
    )  # fmt: skip
    outcome = added.wrote
    if isinstance(outcome, Objection):
        return _objection(day, language, outcome.look, (), given)
    if isinstance(outcome, Conflict):
        return _there_already(texts(language), outcome.change.at)
    return Answer("wrote", _written(day, texts(language), outcome, back=False), outcome)


def entered(day: Path, language: str, given: Mapping[str, str], last: Wrote | None) -> Answer:
    """Write what a page sent, or take back what was written last.

    Raises:
        InputError: the day file cannot be read. UsageError, MachineError: as ``write_entry``.
    """
    try:
        return _entered(day, language, given, last)
    except NoGaugeError:
        say = texts(language)
        link = {"to": "#setup", "name": say("write.go-to-it")}
        return Answer("refused", {"refused": [say("write.which-gauge")], "link": link})


def _entered(day: Path, language: str, given: Mapping[str, str], last: Wrote | None) -> Answer:
    say = texts(language)
    if "undo" in given:
        if last is None:
            raise UsageError(say("write.nothing-to-undo"))
        outcome: Any = undo(day, last, over=over_of(given))
        changes: Sequence[Change] = ()
    else:
        changes = _changes(day, language, given)
        if not changes:
            raise UsageError(say("write.nothing"))
        if (answer := _unwritten(say, _data(day), given, changes)) is not None:
            return answer
        believed = given.get("believed")
        outcome = write_entry(
            day, changes, seen=given.get("seen") or None, believed=believed in ("yes", "open"),
            unsettled=believed == "open",
        )  # fmt: skip
    if isinstance(outcome, Conflict):
        return Answer("conflict", conflict_view(say, outcome, given))
    if isinstance(outcome, Objection):
        one = changes[0] if len(changes) == 1 else None
        if one is not None and outcome.look.refused and one.at in _SHIFT and one.now == _other_of_shift(day, one):
            return Answer("both", {"field": given.get("field", ""), "value": one.now})
        return _objection(day, language, outcome.look, changes, given)
    assert isinstance(outcome, Wrote)  # noqa: S101 - there is nothing else
    return Answer("wrote", _written(day, say, outcome, back="undo" in given) | _leads_to(day, outcome, given), outcome)


def _unwritten(say: Texts, data: Any, given: Mapping[str, str], changes: Sequence[Change]) -> Answer | None:
    """Return the answer to what is there already, can be nothing, or is called as nothing was before; else None."""
    if given.get("begin") and (twice := _twice(data, changes[0])):
        return _there_already(say, twice)
    why = (refused_text(say, str(one.at.steps[-1]), one.now) for one in changes)
    if refused := [text for text in why if text is not None]:
        return Answer("refused", {"refused": refused})
    if (asked := _listed(say, data, given, changes)) is not None:
        return asked
    if given.get("believed"):
        return None
    if changes[0].at.steps[-2:] == ("cleanliness", "observed") and is_number(changes[0].now):
        return _asked(given, str(changes[0].now), [say("ask.number-as-grade")])
    if (found := new_name(data, changes[0])) is None:
        return None
    return _asked(given, found[0], [say("ask.new-name", known=", ".join(found[1]) or None)])


def _listed(say: Texts, data: Any, given: Mapping[str, str], changes: Sequence[Change]) -> Answer | None:
    """Return the question that is asked before an area is no longer listed as not inspected, with its reason.

    None where it has no reason yet, or whoever typed has said so already (``inspected``).
    """
    found = _unlisted(with_inspected(data, changes)[len(changes) :])
    if found is None or "inspected" in given:
        return None
    area, reason = found
    send = {name: value for name, value in given.items() if name != "seen"} | {"inspected": "yes"}
    why = [say("ask.listed-why", area=area, reason=reason)]
    return Answer("listed", {"area": area, "why": why, "send": send, "field": given.get("field", "")})


def _unlisted(changes: Sequence[Change]) -> tuple[str, str] | None:
    """Return the area that changes take out of those not inspected, and the reason that somebody wrote, if any."""
    for one in changes:
        step, before = one.at.steps[-1], one.before
        reason = before.get("reason") if isinstance(before, dict) else None
        if isinstance(step, Entry) and step.of == "not_inspected" and one.now is None and isinstance(reason, str):
            return None if to_fill_in("reason", reason) else (one.at.named("area") or "", reason.strip().rstrip("."))
    return None


def _leads_to(day: Path, wrote: Wrote, given: Mapping[str, str]) -> dict[str, str]:
    """Return where a further entry of an area that was begun is gone on with."""
    first = wrote.changes[0].at.steps if wrote.changes else ()
    if not given.get("begin") or len(first) != 1 or not isinstance(first[0], Entry) or first[0].of != "surfaces":
        return {}
    area = wrote.changes[0].at.named("area") or ""
    count = sum(one.get("area") == area for one in _data(day).get("surfaces") or [])
    return {"go": f"area/{quote(area)}?entry={count}#setup"}


def _changes(day: Path, language: str, given: Mapping[str, str]) -> tuple[Change, ...]:
    """Return the changes that a page means: a field, an entry taken out, or what was carried and is confirmed.

    Raises:
        UsageError: it names no place.
    """
    if "take-out" in given:
        at = Address.parse(given["take-out"])
        there = content_at(_data(day), at)
        return () if there is None else (Change(at, there, None),)
    if "choose" in given:
        at = Address.parse(given["choose"])
        there = content_at(_data(day), at)
        return (Change(at, there, _chosen(there, given.get("text", ""))),)
    if "settle" in given:
        there = sent_back(given.get("was", ""))
        return confirming(_data(day), Change(Address.parse(given["settle"]), there, there))
    if "unsettle" in given:
        return (Change(Address.parse(given["unsettle"]), sent_back(given.get("was", "")), None),)
    if "confirm" in given:
        return _confirmed(day, given)
    if "raise" in given:
        sight = seen(day, language)
        codes = still_wanted(sight, given["raise"], given.get("codes", "").split())
        if not codes:
            raise UsageError(sight.say("ncr.there"))
        name, entry = nonconformance_begun(sight, given["raise"], codes)
        return (Change(Address((Entry("nonconformances", (("id", name),)),)), None, entry),)
    change = _change(given)
    if given.get("begin"):
        change = _further(_data(day), change)
    more = (*_nothing_walked(day, change), *_its_gauge(day, change))
    return _both_ends(day, given, change) or (change, *more)


def _both_ends(day: Path, given: Mapping[str, str], change: Change) -> tuple[Change, ...]:
    """Return the changes of both ends of the shift, where both were typed into one field; else none."""
    both = _BOTH.fullmatch(given.get("value", "").strip()) if change.at in _SHIFT else None
    times = () if both is None else zip(_SHIFT, map(clock, both.groups()), strict=True)
    data = _data(day)
    return tuple(Change(at, change.before if at == change.at else content_at(data, at), time) for at, time in times)


def _other_of_shift(day: Path, change: Change) -> Content | None:
    """Return the other end of the shift than the one that is changed."""
    return next(content_at(_data(day), at) for at in _SHIFT if at != change.at)


def _beside(data: Mapping[str, Any], at: Address) -> list[Any]:
    """Return the entries of the list that an entry is begun in."""
    home, step = content_at(data, at.parent) if at.parent.steps else data, at.steps[-1]
    found = home.get(step.of) if isinstance(home, dict) and isinstance(step, Entry) else None
    return found if isinstance(found, list) else []


def _further(data: Mapping[str, Any], change: Change) -> Change:
    """Return a change that begins an entry, told from those that are there and are named alike by what it lacks yet."""
    step = change.at.steps[-1]
    if not isinstance(step, Entry) or not isinstance(change.now, dict) or step.of in _ONCE:
        return change
    return replace(change, at=change.at.parent / without(step, _beside(data, change.at), change.now))


def _twice(data: Mapping[str, Any], change: Change) -> Address | None:
    """Return the place of an entry that is to be begun and is there already; None where it is not."""
    step = change.at.steps[-1]
    there = isinstance(step, Entry) and any(map(step.fits, _beside(data, change.at)))
    return change.at if there and change.now is not None else None


def _there_already(say: Texts, at: Address) -> Answer:
    of = at.steps[-1].of if isinstance(at.steps[-1], Entry) else ""
    link = {"to": f"#{_SHOWN_AT.get(of, of)}", "name": say("write.go-to-it")}
    return Answer("refused", {"refused": [say("write.there-already", where=place_text(say, at))], "link": link})


def _chosen(there: Content | None, name: str) -> list[Any] | None:
    """Return a list with a name more, or without it where it names it already."""
    named = there if isinstance(there, list) else []
    return ([one for one in named if one != name] if name in named else [*named, name]) or None


def _nothing_walked(day: Path, change: Change) -> tuple[Change, ...]:
    """Return that a direction names no location, where it is said that it has no room for one."""
    if change.at.steps[-1] != "no_room" or change.now != "yes":
        return ()
    at = change.at.parent / "locations"
    return (Change(at, None, []),) if content_at(_data(day), at) is None else ()


def _its_gauge(day: Path, change: Change) -> tuple[Change, ...]:
    """Return that the first reading of an entry was taken with the only gauge of its contract; it goes with the last.

    Raises:
        NoGaugeError: there are several, and nothing says which.
    """
    surface, data = change.at.steps[0], _data(day)
    if not any(isinstance(step, Entry) and step.of == "readings" for step in change.at.steps):
        return ()
    profile = content_at(data, Address((surface, "profile")))
    there = profile if isinstance(profile, dict) else {}
    left = change.now is None and {"gauge", "readings"} == there.keys() and _is_last(there["readings"])
    if "gauge" in there and not left:
        return ()
    at, project = Address((surface, "profile", "gauge")), load_project(day.parent / str(data["project"]))
    only = only_gauge(project)
    if change.now is None:
        return (Change(at, only, None),) if left and there["gauge"] == only else ()
    if only is None and gauges_of(project):
        raise NoGaugeError("nothing says which gauge is read")
    return () if only is None else (Change(at, None, only),)


def _is_last(rows: Any) -> bool:
    """Say whether some readings are one row of one reading."""
    return isinstance(rows, list) and len(rows) == 1 and len(rows[0].keys() - {*NO_READING}) == 1


def _data(day: Path) -> dict[str, Any]:
    return parse_yaml(file_now(day), day.name).data


def _confirmed(day: Path, given: Mapping[str, str]) -> tuple[Change, ...]:
    data, surface = _data(day), Address.parse(given.get("surface") or given.get("at", ""))
    if given["confirm"] != "row":
        return tuple(
            change for one in carried(data, surface) if one.part == given["confirm"] for change in one.changes
        )  # fmt: skip
    entry = content_at(data, surface)
    there = entry if isinstance(entry, dict) else {}
    kind = surface.steps[-1].of if isinstance(surface.steps[-1], Entry) else ""
    offers = [one for one in carried(data, Address(surface.steps[:1])) if one.part == kind]
    values = {path.rpartition("/")[2]: text for one in offers for path, text in one.values.items()}
    return tuple(
        Change(Address((*surface.steps, name)), None, text) for name, text in values.items() if name not in there
    )


def _change(given: Mapping[str, str]) -> Change:
    at = Address.parse(given.get("at", ""))
    text = _text(given)
    if given.get("begin"):
        begin = sent_back(given["begin"])
        begun = _begun(begin if isinstance(begin, dict) else {}, text)
        return Change(Address(tuple(_named(step, text) for step in at.steps)), None, begun if text else None)
    now: Content | None = text or None
    if given.get("kind") == "list":
        now = text.replace(",", " ").split() or None
    if given.get("kind") == "names":
        now = [name.strip() for name in text.split(",") if name.strip()] or None
    return Change(at, sent_back(given["was"]) if given.get("was") else None, now)


def _begun(entry: Mapping[str, Any], text: str) -> dict[str, Any]:
    """Return what an entry begins with, the text that was typed in its place.

    Raises:
        UsageError: it holds what no page gives.
    """
    if not all(isinstance(value, str | dict) or _are_names(value) for value in entry.values()):
        raise UsageError("the page sent what it was not given", help_text="load it again")
    return {
        key: _begun(value, text) if isinstance(value, dict) else text if value == NEW else value
        for key, value in entry.items()
    }


def _are_names(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def _text(given: Mapping[str, str]) -> str:
    text, kind = given.get("value", "").strip(), given.get("kind", "text")
    if kind == "number" and text:
        return typed(text, given.get("unit") or None)
    return clock(text) if kind == "clock" else text


def _named(step: Step, text: str) -> Step:
    if isinstance(step, str):
        return step
    return Entry(step.of, tuple((name, text if value == NEW else value) for name, value in step.names))


# What the page says


def _written(day: Path, say: Texts, wrote: Wrote, *, back: bool) -> dict[str, Any]:
    zone = _zone(day)
    time = wrote.at.astimezone(zone).strftime(_SECONDS)
    # that an entry is asked about anew is told last: what was typed comes first
    unlisted = None if back or len(wrote.changes) == 1 else _unlisted(wrote.changes)
    made = sorted(wrote.changes, key=lambda one: one.at.steps[-1] == FLAG)
    what = "; ".join(change_text(say, one) for one in made[:2])
    text = say("margin.taken-back" if back else "margin.written", time=time, what=what or None)
    if unlisted is not None:
        text += " " + say("margin.unlisted", area=unlisted[0], reason=unlisted[1])
    if wrote.set_aside is not None:
        text += " " + say("margin.set-aside", file=wrote.set_aside.name)
    elif wrote.elsewhere:
        text += " " + say("margin.elsewhere-changed")
    beside = () if wrote.look is None or back else wrote.look.beside
    if beside:
        where, found = beside[0].place.location, question_text(sentences(say.language).marked(), beside[0])
        text += " " + say("ask.stands", location=where, what=found)
    return {"text": text, "undo": not back}


def _zone(day: Path) -> ZoneInfo:
    try:
        project = parse_yaml((day.parent / "project.yaml").read_bytes(), "project.yaml").data
        return ZoneInfo(project["project"]["time_zone"])
    except (OSError, LookupError, TypeError, ValueError, ReportgenError):
        return ZoneInfo("UTC")


def over_of(given: Mapping[str, str]) -> dict[str, Content | None]:
    """Return what a person has seen to stand in the way of an undo, and takes back with it.

    Raises:
        UsageError: it is none of that.
    """
    found = sent_back(given["over"]) if given.get("over") else {}
    return found if isinstance(found, dict) else {}


def conflict_view(say: Texts, found: Conflict, given: Mapping[str, str]) -> dict[str, Any]:
    """Return what a page says where a place says something else by now, and what may be done."""
    present = "" if found.present is None else json.dumps(found.present)
    over = over_of(given) | {str(found.change.at): found.present} if "undo" in given else None
    return {
        "over": None if over is None else json.dumps(over), "of": given.get("of", ""),
        "field": given.get("field", ""), "where": place_text(say, found.change.at), "then": shown(found.then),
        "present": shown(found.present), "typed": shown(found.typed), "was": present,
    }  # fmt: skip


def _objection(day: Path, language: str, found: Look, changes: Sequence[Change], given: Mapping[str, str]) -> Answer:
    """Return why an entry is not written: refused by the loader, or asked about first."""
    say, said = texts(language), sentences(language).marked()
    if found.refused:
        return Answer("refused", {"refused": [diagnostic_text(say, one) for one in found.refused]})
    why = list(dict.fromkeys(question_text(said, one) for one in found.asked))
    if found.outside_shift:
        why.append(say("ask.outside-shift"))
    if found.shift is not None:
        why += [say("ask.shift-hours", hours=found.shift.hours)] if found.shift.hours else []
        why += [say("ask.shift-moved", count=found.shift.moved)] if found.shift.moved else []
    shift = f"/shift/{quote(day.stem)}#report" if found.outside_shift else ""
    value = shown(changes[0].now) if changes else ""
    return _asked(given, value, why, shift, other=_other(say, found, changes))


def _asked(given: Mapping[str, str], value: str, why: list[str], shift: str = "", other: str = "") -> Answer:
    number = given.get("kind") in ("number", "clock")
    view = {
        "field": given.get("field", ""),
        "value": value,
        "why": why,
        "number": number,
        "other": other,
        "shift": shift,
    }
    return Answer("asked", view)


def _other(say: Texts, found: Look, changes: Sequence[Change]) -> str:
    """Return what else a question rests on, which may be the slip: the field of the same entry; nothing for none."""
    at = changes[0].at if changes else None
    fields = [
        name for one in found.asked if rests_on(one, changes) for name in (field_of(one), *compared_with(one))
        if name and compared_with(one)
    ]  # fmt: skip
    if at is None or not isinstance(at.steps[-1], str):
        return ""
    block = next((step.of for step in at.steps if isinstance(step, Entry)), "")
    return next((field_text(say, block, name) for name in fields if name != at.steps[-1]), "")


# What is typed and not written yet


def looked_at(day: Path, language: str, given: Mapping[str, str]) -> dict[str, Any]:
    """Return what follows from what a page shows, as typed: value, uncertainty, verdict; nothing for no number yet.

    Raises:
        InputError: the day file cannot be read. UsageError: the place is none.
    """
    say, said = texts(language), sentences(language).marked()
    change = _change(given)
    view: dict[str, Any] = {
        "location": change.at.named("location"),
        "light": None,
        "value": "",
        "text": "",
        "strip": None,
    }
    if change.now is None:
        return view
    try:
        found = look(day, (change, *_its_gauge(day, change)), whole=change.at.named("location") is None)
    except (InputError, NoGaugeError):
        return view
    if found.refused:
        return view
    if change.at.named("spot") is not None:
        return view | _reading(say, said, found, change)
    result = found.result
    if result is not None and hasattr(result, "verdict"):
        view["text"] = _result_text(said, result)
        view["verdict"] = {"state": MARKS[result.verdict], "word": say(f"verdict.{result.verdict}")}
    return view


def _result_text(said: Any, result: Any) -> str:
    if isinstance(result, CheckResult):
        return f"{said.checked(result)}; {said.check_required(result)}"
    kind = next((kind for kind in MEASUREMENTS if isinstance(result, kind.result)), None)
    return "" if kind is None else result_text(said, kind, result)


def _reading(say: Texts, said: Any, found: Look, change: Change) -> dict[str, Any]:
    """Return the location of a reading as typed, and whether its spot wants the other tape."""
    spot = change.at.named("spot")
    task = next((one for one in found.wanted if one.code == READ_OTHER_GRADE.name and one.place.spot == spot), None)
    light: dict[str, Any] = {"spot": spot, "grade": None, "because": ""}
    if task is not None:
        because = why_second(say, said, task, found.findings)
        light |= {"grade": task.facts.wanted.key, "because": because}  # type: ignore[attr-defined] # all with this code have it
    one = found.location
    if one is None or (one.profile is None and one.observed is None):
        return {"light": light}
    return {
        "light": light, "value": one.observed or "" if one.profile is None else say.number(one.profile), "result": one,
        "uncertainty": None if one.expanded_uncertainty is None else say.number(one.expanded_uncertainty),
        "verdict": {"state": MARKS[one.verdict], "word": one.verdict},
        "unit": "" if found.area is None else DISPLAY.get(found.area.unit, found.area.unit),
    }  # fmt: skip
