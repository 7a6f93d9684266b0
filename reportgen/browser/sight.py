"""A day as a page sees it: the file as written, its evaluation, and the words for both."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from reportgen.browser.contents import as_labelled, diagnostic_text, field_text, place_text, term_text
from reportgen.browser.fields import Field, to_fill_in
from reportgen.browser.questions import question_text, questions
from reportgen.browser.texts import Texts, texts
from reportgen.intake.changes import Entry, address_of
from reportgen.loader.placeholders import places_unfilled
from reportgen.measurements import LOGS, MEASUREMENTS
from reportgen.pipeline.checking import check
from reportgen.pipeline.clock import now
from reportgen.pipeline.looking import DOUBTS
from reportgen.pipeline.writing import issued_as, refuse_gone
from reportgen.results.codes.doubts import ENTRY_UNFINISHED
from reportgen.rules.due import areas_due
from reportgen.words.sentences import Sentences, sentences
from reportgen.words.standing import StandingText
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from reportgen.diagnostics import Diagnostic
    from reportgen.job import Job, Project, UnfinishedEntry
    from reportgen.measurements import Measurement
    from reportgen.pipeline import Checked
    from reportgen.results import Evaluation, Standing
    from reportgen.yamlsource import Loc

MARKS: Final = {
    "conforms": "conforms", "does not conform": "fails", "inconclusive": "open", "not evaluated": "none",
    "release": "conforms", "rework": "fails", "hold": "open",
}  # fmt: skip
"""Verdicts and decisions → the mark of the report that stands for them."""
_ENTERED: Final = ("shift", "checks", "nonconformances", "photos")
"""Pages on which something is entered: of a day that was issued nothing is."""
_PARTS: Final = {
    "blasted": "setup", "apparatus": "setup", "initial_condition": "setup", "photos": "rest", "coated": "rest",
    "replicas": "beside", "process_changes": "beside", "comparison": "beside", "no_reading": "profile",
}  # fmt: skip
"""Fields of an entry of an area → the part of its page where they are typed, unless it is called as they are."""
_ABOUT: Final = dt.timedelta(hours=4)
"""Before and after the shift within which *now* is a time of it; no source: what begins early or ends late."""
_WEATHER: Final = ("specification", "conditions", "clause")
_KEYED: Final = ("people", "instruments", "tape_rolls")
_ON_THE_SHIFT: Final = ("report", "site", "remarks")
_OF_THE_DAY: Final = ("gauge-", "tape-", "film-", "calibration-", "function-", "hold-point-")


def result_text(said: Sentences, kind: Measurement[Any, Any, Any], result: Any) -> str:
    """Return a result beside the fields that it follows from: what is typed there is not said again."""
    group = "follows" if said.knows("follows", kind.key) else "result"
    return said.say(group, kind.key, kind.result_facts(result))


@dataclass(frozen=True)
class Sight:
    """One day file, read and evaluated now; ``sha256`` is that of the file as it was seen."""

    day: Path
    language: str
    data: dict[str, Any]
    sha256: str
    checked: Checked
    at: dt.datetime

    @property
    def job(self) -> Job:
        """Project file and day file, joined."""
        return self.checked.job

    @property
    def project(self) -> Project:
        """The contract."""
        return self.checked.job.project

    @property
    def evaluation(self) -> Evaluation:
        """All results and findings."""
        return self.checked.evaluation

    @cached_property
    def standing(self) -> Standing:
        """Where the day stands."""
        return self.checked.standing

    @property
    def say(self) -> Texts:
        """The words of the pages."""
        return texts(self.language)

    @property
    def said(self) -> Sentences:
        """The sentences of the results."""
        return sentences(self.language).marked()

    @property
    def address(self) -> str:
        """Where the pages of the day begin."""
        return f"/shift/{self.day.stem}"

    @property
    def local(self) -> dt.datetime:
        """The present moment at the site."""
        return self.at.astimezone(ZoneInfo(self.job.clock.zone))

    def head(self, here: str) -> dict[str, Any]:
        """Return what stands at the head of a page of the shift."""
        report = self.job.day.report
        pages = (
            ("contract", "/"), ("shift", self.address), ("checks", f"{self.address}/checks"),
            ("nonconformances", f"{self.address}/nonconformances"), ("photos", f"{self.address}/photos"),
            ("sheet", f"{self.address}/sheet"), ("pages", f"{self.address}/pages"),
        )  # fmt: skip
        return {
            "body": self.project.inspection_body.name,
            "what": self.say(
                "head.report", number=report.number, revision=report.revision, date=self.say.day(report.date)
            ),
            "links": [{"to": to, "name": self.say(f"nav.{name}"), "here": name == here} for name, to in pages],
        }

    def common(self, here: str, area: str | None = None) -> dict[str, Any]:
        """Return what every page of the shift has: head, margin, and what a field needs to be written."""
        offset = self.local.utcoffset() or dt.timedelta()
        return {
            "head": self.head(here), "margin": self.margin(area), "day": self.day.stem, "seen": self.sha256,
            "asks": questions(self.data, self.evaluation, self.said),
            "offset": int(offset.total_seconds() // 60), "runs": self._runs(),
            "closed": self._issued() if here in _ENTERED else None,
        }  # fmt: skip

    def _runs(self) -> bool:
        """Say whether the shift runs about now, so that the clock may be read instead of typed."""
        start, end = self.job.clock.shift()
        return start - _ABOUT <= self.at <= end + _ABOUT

    def _issued(self) -> dict[str, str] | None:
        """Return as what the day was issued, and where a revision is started; None while it can be changed."""
        known = issued_as(self.day, self.data)
        if known is None:
            return None
        number, revision, date = known
        return {"number": number, "revision": revision, "date": date, "to": f"/report/{quote(number)}/{revision}"}

    def next_area(self, area: str | None = None) -> dict[str, str]:
        """Return where one goes on when a page is complete: to the next area due of which nothing is entered yet.

        Where none is due, to the next one of the contract that no report has seen.
        """
        there = {one.id for one in self.evaluation.areas} | set(self.job.begun)
        known = {one.area for job in self.job.earlier for one in job.day.surfaces}
        plans = [plan for structure in self.project.structures for plan in structure.areas]
        order = {plan.id: number for number, plan in enumerate(plans)}
        due = [one.plan for one in areas_due(self.job, self.evaluation, ()) if one.plan.id not in there]
        left = due or [plan for plan in plans if plan.id not in there | known]
        left = [plan for plan in left if plan.id != area]
        left.sort(key=lambda plan: (area is not None and order[plan.id] < order[area], order[plan.id]))
        if not left:
            items = self.margin()["here"]
            where = (
                {"to": items[0]["to"], "name": self.say("shift.go-on", where=items[0]["where"] or None)}
                if items
                else {}
            )
            return where or {"to": self.address, "name": self.say("area.to-shift")}
        name = self.say("area.next", area=left[0].id, name=left[0].name)
        return {"to": f"{self.address}/area/{left[0].id}#setup", "name": name}

    def margin(self, area: str | None = None) -> dict[str, Any]:
        """Return what is missing before one leaves, that of an area first, and what runs out when."""
        told = StandingText(self.language, marked=True).members(self.standing)
        open_texts = [*self._without_reason(), *self._unconfirmed()]
        items = [*map(self._unfinished, self.job.unfinished), *open_texts]
        later = [*self._left()] if self.job.unfilled else []
        items += [self._item(one) for one in (*told["missing"], *told["asked"]) if one["code"] != ENTRY_UNFINISHED.name]
        return {
            "area": area,
            "here": [one for one in items if area is None or area in one["areas"]],
            "elsewhere": [one for one in items if area is not None and area not in one["areas"]],
            "wrong": [*map(self._unread, self.job.unread), *(self._item(one) for one in told["wrong"])],
            "then": [self._item(one) for one in told["next"]],
            "clocks": [self._deadline(one) for one in self.standing.deadlines],
            "later": later,
            "to_fill_in": [*later, *open_texts],
            "count": len(items) + len(later),
            "due": ", ".join(due := self._due(area)),
            "due_count": len(due),
        }

    def _due(self, area: str | None) -> list[str]:
        """Return the areas that are due and of which nothing was entered, where nothing was entered of any.

        Of an area only that one, whatever was entered of others.
        """
        surfaces, missed = self.data.get("surfaces") or [], {one.area for one in self.job.day.not_inspected}
        if area is None and surfaces:
            return []
        entered = {one.get("area") for one in surfaces if isinstance(one, dict)}
        wanted = {one.plan.id for one in areas_due(self.job, self.evaluation, ())}
        if area is not None:  # one that no report has seen is due too
            wanted = {area} - ({one.area for job in self.job.earlier for one in job.day.surfaces} - wanted)
        plans = (plan.id for structure in self.project.structures for plan in structure.areas)
        return [name for name in plans if name in wanted - missed - entered]

    def _unread(self, one: Diagnostic) -> dict[str, Any]:
        line = one.spans[0].line
        where = self.say("state.line", file=Path(one.spans[0].file).name, line=line).removesuffix(":")
        entry = max(
            (each for each in self.job.unfinished if each.line <= line), key=lambda each: each.line, default=None
        )  # fmt: skip
        to = self.address if entry is None else self._to_entry(entry)
        return {"to": to, "where": where, "text": diagnostic_text(self.say, one), "areas": []}

    def _unfinished(self, one: UnfinishedEntry) -> dict[str, Any]:
        """Return what an entry that was begun still lacks, as its page calls it, and where it is gone on with."""
        block = next((part for part in reversed(one.place) if isinstance(part, str)), one.block)
        names = {
            kind: ", ".join(dict.fromkeys(field_text(self.say, block, self._as_read(one, name)) for name in fields))
            or None
            for kind, fields in (("lacks", one.lacks), ("unread", one.unread))
        }  # fmt: skip
        text = self.say("margin.unfinished", absent=", ".join(one.absent) or None, **names).removeprefix("; ")
        where, kind = place_text(self.say, address_of(self.data, one.place)), f"name.{one.block}"
        if one.block != "surfaces" and len(one.place) > 1 and self.say.knows(kind):
            where = f"{self.say(kind)} {where}"
        return {"to": self._to_entry(one), "where": where, "text": text, "areas": list(one.names("area"))}

    def _as_read(self, one: UnfinishedEntry, name: str) -> str:
        """Return a field by its gauge: what touches the steel is the anvils, or the tip of a depth micrometer."""
        if (one.block, name) != ("gauge_checks", "anvils"):
            return name
        gauge = self.project.instruments.get(str(self.data["gauge_checks"][one.place[1]].get("gauge")))
        return "tip" if gauge is not None and gauge.kind == "depth micrometer" else name

    def unfinished_at(self, line: int) -> str | None:
        """Return what the entry that was begun at a line lacks, as the margin says it; None where there is none."""
        found = (self._unfinished(one) for one in self.job.unfinished if one.line == line)
        return next((f"{one['where']}: {one['text']}" for one in found), None)

    def _without_reason(self) -> Iterator[dict[str, Any]]:
        """Yield the areas that are listed as not inspected and whose reason is still to be filled in."""
        lacks = field_text(self.say, "not_inspected", "reason")
        for one in self.job.day.not_inspected:
            if to_fill_in("reason", one.reason):
                to, text = (
                    self.of_area(one.area, "missed"),
                    self.say("margin.unfinished", lacks=lacks, absent=None, unread=None),
                )
                where = f"{one.area}, {self.say('name.not_inspected')}"
                yield {"to": to, "where": where, "text": text, "areas": [one.area]}

    def _unconfirmed(self) -> Iterator[dict[str, Any]]:
        """Yield that the usual limits of the weather, which the project file begins with, are not confirmed yet."""
        limits = self.project.specification.conditions
        if limits is not None and to_fill_in("clause", limits.clause):
            yield {"to": "/terms#weather", "where": "", "text": self.say("margin.unconfirmed"), "areas": []}

    def _left(self) -> Iterator[dict[str, Any]]:
        """Yield what was left for later: placeholders of both files, the terms first, each with its field.

        The reason of an area that was not inspected, and limits of the weather to confirm, are among what is missing.
        """
        name, data = next((file.name, file.data) for file in self.checked.job.files if file.role == "project")
        terms = parse_yaml(data, name).data
        for loc in places_unfilled(terms):
            if loc != _WEATHER:
                at = address_of(terms, loc)
                of = [f"{step.names[0][1]}" for step in at.steps if isinstance(step, Entry)][-1:]
                of = of or [str(loc[1])] * (len(loc) > 2 and loc[0] in _KEYED)
                where = ", ".join((self.say("nav.terms"), *of))
                yield self._left_at(f"/terms#e-{Field(str(at), '').id}", where, term_text(self.say, at))
        for loc in places_unfilled(self.data):
            at = address_of(self.data, loc)
            if loc[0] == "not_taken":
                yield self._left_at(f"{self.address}/sheet", "", self.say("margin.not-taken"))
            elif (loc[0], loc[-1]) != ("not_inspected", "reason"):
                block = next((part for part in reversed(loc[:-1]) if isinstance(part, str)), "report")
                yield self._left_at(
                    self._to_place(loc, str(loc[0]), str(loc[2:3] and loc[2])),
                    place_text(self.say, at.parent), field_text(self.say, block, str(at.steps[-1])),
                )  # fmt: skip

    def _left_at(self, to: str, where: str, what: str) -> dict[str, Any]:
        return {"to": to, "where": where, "text": self.say("margin.to-fill-in", what=what), "areas": []}

    def _to_entry(self, one: UnfinishedEntry) -> str:
        """Return where an unfinished entry is typed."""
        lacks = next((name.partition(".")[0] for name in (*one.unread, *one.lacks)), "")
        return self._to_place(one.place, one.block, lacks)

    def _to_place(self, place: Loc, block: str, lacks: str) -> str:
        """Return where a place of the day file is typed, whose entry is of a block and ``lacks`` a field."""
        if block == "surfaces":
            part = str(place[2]) if len(place) > 2 else _PARTS.get(lacks, "setup")
            entries, index = self.data.get("surfaces") or [], int(place[1])
            area = str(entries[index].get("area", ""))
            number = sum(each.get("area") == area for each in entries[:index]) + 1
            query = f"?entry={number}" if number > 1 else ""
            return f"{self.address}/area/{quote(area)}{query}#{_PARTS.get(part, part)}" if area else self.address
        if block in _ON_THE_SHIFT:
            return f"{self.address}#report"
        page = block if block in {"nonconformances", "photos"} else f"checks#{block}"
        return f"{self.address}/{page}"

    def _item(self, one: dict[str, Any]) -> dict[str, Any]:
        places = one.get("places") or [one.get("place", {})]
        areas = list(dict.fromkeys(place["area"] for place in places if "area" in place))
        names = list(dict.fromkeys(place["location"] for place in places if "location" in place))
        where = [
            ", ".join(areas),
            self.said.say("place", "locations", count=len(names), names=", ".join(names)) if names else "",
        ]
        code = one.get("answers") or one["code"]
        if code in DOUBTS and one.get("findings"):
            one = one | {"sentence": question_text(self.said, self.evaluation.findings[one["findings"][0]])}
        return {
            "to": self._to(code, places[0] if places else {}), "where": " ".join(filter(None, where)),
            "text": as_labelled(self.say, one["sentence"]), "areas": areas,
        }  # fmt: skip

    def _to(self, code: str, place: dict[str, str]) -> str:
        """Return where something that is missing is entered."""
        kind = next((kind for kind in MEASUREMENTS if code in {each.name for each in kind.statements}), None)
        if code.startswith("nonconformance") or code == "failed-earlier":
            return f"{self.address}/nonconformances"
        if kind in LOGS or "area" not in place or (kind is None and code.startswith(_OF_THE_DAY)):
            section = "" if kind is None else f"#{kind.day_key}"
            return f"{self.address}/checks{section or ('#gauge_checks' if code.startswith('gauge') else '')}"
        location = place.get("location", "") if kind is None else ""
        return self.of_area(place["area"], "profile" if kind is None else kind.key, location, place)

    def of_area(self, area: str, part: str = "", location: str = "", place: Mapping[str, str] | None = None) -> str:
        """Return the address of an area, or of a part of it, in the entry that something is about."""
        number = self._entry_number(area, location, (place or {}).get("apparatus"))
        given = {"entry": str(number) if number > 1 else "", "location": location}
        query = urlencode({name: value for name, value in given.items() if value})
        return f"{self.address}/area/{quote(area)}{'?' if query else ''}{query}{'#' if part else ''}{part}"

    def _entry_number(self, area: str, location: str, apparatus: str | None) -> int:
        """Return which entry of an area is meant: by apparatus, by location; else the last."""
        entries = [one for one in self.data.get("surfaces") or [] if one.get("area") == area]
        found = list(enumerate(entries, 1))
        if apparatus is not None:
            found = [each for each in found if each[1].get("apparatus") == apparatus] or found
        if location:
            found = [each for each in found if location in _locations_of(each[1])] or found
        return found[-1][0] if found else 0

    def _deadline(self, one: Any) -> dict[str, Any]:
        minutes = int((one.instant - self.at).total_seconds() // 60)
        near = abs(minutes) < 24 * 60
        text = StandingText(self.language).deadline(one)
        return {
            "text": f"{text}, {self.say.left(minutes)}" if near else text,
            "to": self.of_area(one.area, "rest"),
        }

    def verdict(self, word: str) -> dict[str, str]:
        """Return a verdict or decision with its mark, in the page's language."""
        group = "decision" if word in {"release", "rework", "hold"} else "verdict"
        return {"state": MARKS[word], "word": self.say(f"{group}.{word}")}


def _locations_of(entry: Mapping[str, Any]) -> set[str]:
    rows = (entry.get("profile") or {}).get("readings") or []
    return {str(one.get("location", "")) for one in rows if isinstance(one, dict)}


def seen(day: Path, language: str, at: dt.datetime | None = None) -> Sight:
    """Read and evaluate a day file.

    Raises:
        InputError: it cannot be used. UsageError: it is not there.
    """
    refuse_gone(day)
    moment = at or now()
    checked = check(day, at=moment, typed=True)
    data = next(file.data for file in checked.job.files if file.role == "day")
    return Sight(day, language, parse_yaml(data, day.name).data, hashlib.sha256(data).hexdigest(), checked, moment)
