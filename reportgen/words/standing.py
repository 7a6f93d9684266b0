"""Where a day stands, in sentences: an entry for each cause, its places before it, its code in brackets after it."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from reportgen.results import Cause, Deadline, LeftOut, Place, Task
from reportgen.results.codes.blasted_again import BLASTED_AGAIN
from reportgen.words.catalogue import LANGUAGE
from reportgen.words.sentences import members_of, sentences

if TYPE_CHECKING:
    from reportgen.results import Standing


class StandingText:
    """The sentences of a standing in one language; ``marked``, numbers in them have its decimal mark, as on a page."""

    def __init__(self, language: str = LANGUAGE, *, marked: bool = False) -> None:
        said = sentences(language)
        self._said = said.marked() if marked else said

    def cause(self, one: Cause) -> str:
        """Return findings of one cause as an entry."""
        return f"{self._places(one)}{self._told(one)} [{one.finding.code}]"

    def asked(self, task: Task) -> str:
        """Return what to write where steel may have been blasted again, or washed."""
        return f"{task.area}: {self._said.task(task)} [{task.answers or BLASTED_AGAIN.name}]"

    def task(self, step: Task) -> str:
        """Return a thing to do as an entry: with its reason, or the code of a finding that is told nowhere else."""
        area = f"{step.area}: " if step.area else ""
        if self._said.knows("told", step.code):
            return f"{area}{self._to_do(step)} [{step.answers}]"
        return f"{area}{self._to_do(step)}"

    def deadline(self, one: Deadline) -> str:
        """Return until when to coat."""
        return self._said.say("deadline", "coat-by", area=one.area, until=one.coat_by)

    def left_out(self, gap: LeftOut) -> str:
        """Return what no rule evaluated."""
        return self._said.left_out(gap)

    def members(self, standing: Standing) -> dict[str, Any]:
        """Return a standing for a program: its data, with a sentence each. What is absent is left out."""
        return {
            field.name: [
                {name: value for name, value in self._member(one).items() if value not in (None, {}, "")}
                for one in getattr(standing, field.name)
            ]
            for field in fields(standing)
        }

    def _member(self, one: Cause | Task | Deadline | LeftOut) -> dict[str, Any]:
        if isinstance(one, Cause):
            finding = one.finding
            return {
                "code": finding.code, "severity": finding.severity, "clause": finding.clause, "findings": one.indices,
                "nonconformance": finding.nonconformance, "places": [_given(place) for place in one.places],
                "sentence": self._told(one),
            }  # fmt: skip
        if isinstance(one, Deadline):
            instant = one.instant.isoformat()
            return {"area": one.area, "coat_by": one.coat_by, "instant": instant, "sentence": self.deadline(one)}
        if isinstance(one, Task):
            return {
                "code": one.code, "place": _given(one.place), "count": one.count, "answers": one.answers,
                "apparatus": one.apparatus, "sentence": self._to_do(one),
            }  # fmt: skip
        return {"code": one.code, "place": _given(one.place), "sentence": self.left_out(one)}

    def _told(self, one: Cause) -> str:
        """Return what is told of a cause, without its places: the clause and the nonconformance that covers it, too."""
        finding = one.finding
        clause = f" ({self._said.say('place', 'clause', clause=finding.clause)})" if finding.clause else ""
        covered = f", {finding.nonconformance}" if finding.nonconformance else ""
        return f"{self._said.told(finding)}{clause}{covered}{self._too_late(one.primed)}"

    def _to_do(self, step: Task) -> str:
        task = self._said.task(step) + self._too_late(getattr(step, "primed", None))
        if self._said.knows("told", step.code):
            return self._said.say("told", step.code, step.facts, step.place, task=task)
        return f"{task} ({self._said.because(step)})"

    def _too_late(self, primed: str | None) -> str:
        """Return what becomes of what nobody can measure any more, as the steel was primed."""
        return "" if primed is None else f"; {self._said.say('too-late', 'primed', time=primed)}"

    def _places(self, one: Cause) -> str:
        """Return areas and locations; before a sentence that begins with a time they end in a comma."""
        areas = ", ".join(dict.fromkeys(place.area for place in one.places if place.area))
        names = list(dict.fromkeys(place.location for place in one.places if place.location))
        where = self._said.say("place", "locations", count=len(names), names=", ".join(names)) if names else ""
        both = " ".join(part for part in (areas, where) if part)
        said, time = self._said.told(one.finding), one.places[0].time
        return f"{both}{', ' if said.startswith(f'{time}, ') else ': '}" if both else ""


def _given(place: Place) -> dict[str, str]:
    return {name: value for name, value in members_of(place).items() if value is not None}
