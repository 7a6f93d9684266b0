"""The contract: where things stand, and a new one by form."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from starlette.responses import RedirectResponse
from starlette.routing import Route

from reportgen.browser.contents import choice_text, objection_text, refused_text
from reportgen.browser.contract_views import contract_view
from reportgen.browser.desk import go_to, typed
from reportgen.browser.head_views import date_of
from reportgen.diagnostics import Phrase, with_remedy
from reportgen.errors import ReportgenError, UsageError
from reportgen.pipeline.looking import typed as number

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from starlette.requests import Request
    from starlette.responses import Response

    from reportgen.browser.desk import Desk
    from reportgen.browser.texts import Texts
    from reportgen.starter import FurtherArea

GROUPS: Final = {
    "contract": ("contract", "name", "client", "contractor", "site", "time_zone"),
    "inspection": ("inspection_body", "address", "inspector"),
    "terms": (
        "document", "grade", "unit", "method", "edition", "comparator_grade", "minimum", "maximum", "overlap_rule",
        "decision_rule", "rounding", "locations", "readings_per_location", "location_value",
        "conditions_clause",
    ),
    "instruments": (
        "gauge_serial", "gauge_accuracy", "hygrometer_serial", "thermometer_serial", "coarse_lot", "extra_coarse_lot",
    ),
    "steel": ("structure", "area", "area_id", "area_size"),
}  # fmt: skip
"""Questions of a new contract by the part of the form in which they stand."""
_LONG: Final = frozenset({"name", "address", "document", "area", "site", "method"})
_NUMBERS: Final = frozenset({"minimum", "maximum", "gauge_accuracy", "area_size"})
_EXPLAINED: Final = (
    "method",
    "overlap_rule",
    "decision_rule",
    "rounding",
    "edition",
    "locations",
    "readings_per_location",
    "location_value",
    "conditions_clause",
)
_BESIDE: Final = {
    "minimum": ("maximum",), "maximum": ("minimum",), "edition": ("method",), "method": ("edition",),
    "unit": ("minimum", "maximum", "gauge_accuracy", "area_size"), "area_id": ("further",),
}  # fmt: skip
"""Answers that may have been wrong beside another one: where that made them right, nothing is said of them any more."""


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of the contract."""

    async def home(_: Request) -> Response:
        view = await desk.workers.quick(contract_view, desk.folder, desk.say.language)
        if view["new"]:
            return RedirectResponse(view["begin"], 303)
        desk.contract_language = view.pop("language")
        head = {"body": view.pop("body"), "what": view.pop("what"), "links": _home_links(desk)}
        return desk.page("home.html", {**view, "head": head, "note": desk.noted()})

    async def new(_: Request) -> Response:
        if (desk.folder / "project.yaml").exists():
            return RedirectResponse("/", 303)
        today = await desk.workers.quick(_today)
        return desk.page("new.html", {"head": _head(desk), "groups": _asked(desk), "date": today})

    async def one_answer(request: Request) -> Response:
        given = await typed(request)
        view = await answered_view(desk, request.query_params.get("asked", ""), given)
        return desk.page("answered.html", view)

    async def begin(request: Request) -> Response:
        given = await typed(request)
        refused = await _refused_as_a_whole(desk, given)
        return desk.page("refused.html", {"refused": refused}) if refused else go_to("/")

    return [
        Route("/", home, methods=["GET"]),
        Route("/new", new, methods=["GET"]),
        Route("/new", begin, methods=["POST"]),
        Route("/new/field", one_answer, methods=["POST"]),
    ]


def _home_links(desk: Desk) -> list[dict[str, Any]]:
    pages = (("contract", "/"), ("terms", "/terms"), ("file", "/file"), ("audit", "/audit"))
    return [{"to": to, "name": desk.say(f"nav.{name}"), "here": name == "contract"} for name, to in pages]


def _head(desk: Desk) -> dict[str, Any]:
    links = [{"to": "/new", "name": desk.say("new.title"), "here": True}]
    return {"body": "reportgen", "what": desk.folder.name, "links": links}


def _asked(desk: Desk) -> list[dict[str, Any]]:
    """Return the questions as the form asks them."""
    from reportgen.references import method_kind
    from reportgen.starter import GAUGES, QUESTIONS, asked_with

    known = {question.key: question for question in QUESTIONS}

    def shown(key: str) -> dict[str, Any]:
        question = known[key]
        return {
            "key": key, "words": desk.say(f"question.{key}"),
            "may_be_open": question.may_be_open and key not in _EXPLAINED[:-1],
            "choices": [(one, method_kind(one) or "", choice_text(desk.say, key, one)) for one in question.choices],
            "not_of": " ".join(kind for kind in GAUGES if kind not in asked_with(key)),
            "usual": question.usual or "", "long": key in _LONG,
            "example": desk.say("new.or").join(question.examples),
            "note": _note(desk, key, {}),
        }  # fmt: skip

    return [{"key": group, "questions": [shown(key) for key in keys]} for group, keys in GROUPS.items()]


async def answered_view(desk: Desk, key: str, given: Mapping[str, str]) -> dict[str, Any]:
    """Return what is said of an answer of the form when it is left, and which others are right beside it now."""
    beside = [one for one in _BESIDE.get(key, ()) if given.get(one) and not await _refused(desk, one, given)]
    right = [{"key": one, "note": _note(desk, one, given)} for one in beside]
    refused = await _refused(desk, key, given)
    return {"refused": [refused] if refused else [], "note": _note(desk, key, given), "right": right}


def _note(desk: Desk, key: str, given: Mapping[str, str]) -> str:
    """Return what stands below a question: what it means, and what it asks for beside itself."""
    from reportgen.starter import OF_EDITION, edition_unknown

    if key in ("method", "edition") and edition_unknown(given):
        of = {name: given[name].strip() for name in ("method", "edition")}
        what = desk.say("new.and").join(desk.say(f"question.{one}") for one in OF_EDITION)
        return desk.say("new.edition-unknown", **of, what=what)
    return desk.say(f"explained.{key}") if key in _EXPLAINED else ""


async def _refused(desk: Desk, key: str, given: Mapping[str, str]) -> str:
    """Return why an answer of the form cannot stand; empty when it can."""
    why = refused_text(desk.say, key, given.get(key))
    if why is not None:
        return why
    if not given.get(key, "").strip() and await desk.workers.quick(is_missing, key, given):
        return desk.say("new.needed")
    return _by_labels(desk.say, objection_text(desk.say, await desk.workers.quick(refusal_of_answer, key, given)))


async def _refused_as_a_whole(desk: Desk, given: Mapping[str, str]) -> list[str]:
    """Begin the contract that a form describes; return what stands against it, empty when it was begun."""
    refused = _objections(desk, given)
    if refused:
        return refused
    try:
        await desk.workers.quick(begun, desk.folder, given)
    except ReportgenError as error:
        return [_by_labels(desk.say, desk.told(error))]
    return []


_ASKED_AS: Final = re.compile(r"--([a-z-]+)|`([a-z_]+)`")


def _by_labels(say: Texts, text: str) -> str:
    """Return a sentence about answers with options of the command, and fields, called as the form asks for them."""

    def label(found: re.Match[str]) -> str:
        key = f"question.{(found[1] or found[2]).replace('-', '_')}"
        return say("write.field", name=say(key)) if say.knows(key) else found[0]

    return _ASKED_AS.sub(label, text)


def _objections(desk: Desk, given: Mapping[str, str]) -> list[str]:
    """Return what stands against a form as a whole: texts that cannot stand, else what is still to be answered."""
    why = (refused_text(desk.say, key, text) for key, text in given.items())
    if refused := [text for text in why if text is not None]:
        return refused
    missing = _missing(desk, given)
    return [desk.say("new.missing", what=", ".join(missing))] if missing else []


def _missing(desk: Desk, given: Mapping[str, str]) -> list[str]:
    """Return the questions that only the contract can answer and that were left open, as the form asks them."""
    from reportgen.starter import missing

    return [desk.say(f"question.{one.key}") for one in missing(_answers(given))]


def _today() -> str:
    from reportgen.pipeline import now

    return now().date().isoformat()


def is_missing(key: str, given: Mapping[str, str]) -> bool:
    """Say whether a question is one that only the contract can answer, and that the form leaves open."""
    from reportgen.starter import missing

    return any(one.key == key for one in missing(_answers(given)))


def refusal_of_answer(key: str, given: Mapping[str, str]) -> str:
    """Return in words what is wrong with an answer of the form, with the others in it; empty when it can stand."""
    from reportgen.pipeline.onsite import answer_refused

    if key == "further":
        return refusal_of_areas(given)
    answers = _answers(given)
    answer = answers.pop(key, "")
    if not answer:
        return ""
    return answer_refused(key, answer, answers, date=date_of(given)) or ""


def refusal_of_areas(given: Mapping[str, str]) -> str:
    """Return in words what is wrong with the further areas of the form; empty when they can stand."""
    from reportgen.pipeline.onsite import area_refused

    answers, before = _answers(given), list[Any]()
    try:
        for area in _further(given):
            refused = area_refused(area, answers, before, date=date_of(given))
            if refused is not None:
                return Phrase("{area}: {refused}", area=area.id, refused=refused)
            before.append(area)
    except UsageError as error:
        return with_remedy(error.message, error.help_text)
    return ""


def _answers(given: Mapping[str, str]) -> dict[str, str]:
    """Return the answers to the questions, without what else the form asks; a comma is a decimal mark in a number.

    What the method does not ask is not on the form, whatever was typed there before.
    """
    from reportgen.starter import is_asked

    own = (name for name, value in given.items() if value.strip() and name not in ("date", "further"))
    found = {name: given[name].strip() for name in own if is_asked(name, given)}
    return {name: number(value) if name in _NUMBERS else value for name, value in found.items()}


def _further(given: Mapping[str, str]) -> list[FurtherArea]:
    from reportgen.starter import further_area

    found = [further_area(line) for line in given.get("further", "").splitlines() if line.strip()]
    return [one if one.size is None else replace(one, size=number(one.size)) for one in found]


def begun(folder: Path, given: Mapping[str, str]) -> list[str]:
    """Write the files of a new contract; return their names.

    Raises:
        UsageError, InputError, QuantityError: an answer that is missing or cannot be used. MachineError: the disk.
    """
    from reportgen.pipeline.onsite import start_contract

    written = start_contract(folder, _answers(given), date=date_of(given), further=_further(given))
    return [path.name for path in written]
