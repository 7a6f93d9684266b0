"""Plain data against a model: the model, or everything that is wrong with its shape, in words of the file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, Final, TypeVar, Union, get_args, get_origin

from pydantic import ValidationError

from reportgen.diagnostics import Phrase, closest, one_of
from reportgen.fields import PLACEHOLDER, Model, is_placeholder

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic_core import ErrorDetails

    from reportgen.units import UnitSystem

Loc = tuple[int | str, ...]
M = TypeVar("M", bound=Model)

_TAGS: Final = {"inline", "csv"}
_FIELDS_LISTED: Final = 14


@dataclass(frozen=True, slots=True)
class ShapeProblem:
    """One thing wrong with the shape: its place in the data, whether the key is meant, code, sentence, remedy.

    ``lacks`` are the places of what is merely missing, where nothing is wrong.
    """

    loc: Loc
    code: str
    message: str
    help_text: str | None = None
    at_key: bool = False
    lacks: tuple[Loc, ...] = ()


def validated(model: type[M], data: Mapping[str, Any], units: UnitSystem | None = None) -> M | tuple[ShapeProblem, ...]:
    """Return the model for ``data`` (dict, list and str, as read from YAML), or every problem with its shape.

    ``units`` are those of the contract, for the examples that the remedies give.
    """
    try:
        return model.model_validate(data, context=units)
    except ValidationError as failure:
        return tuple(_problem(model, detail) for detail in failure.errors(include_url=False))


def place_name(loc: Loc) -> str:
    """Return a place the way a person writes it: ``surfaces[1].profile``."""
    name = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in loc)
    return name.removeprefix(".")


def _missing(loc: Loc) -> str:
    if len(loc) == 1:
        return f"missing field `{loc[0]}`"
    return Phrase("missing field `{field}` in `{place}`", field=str(loc[-1]), place=place_name(loc[:-1]))


def _problem(model: type[Model], detail: ErrorDetails) -> ShapeProblem:
    # the names of alternatives are not in the file
    place = detail["loc"]
    loc = tuple(
        part for before, part in zip(("", *place), place, strict=False) if before != "readings" or part not in _TAGS
    )
    at_key = bool(loc) and loc[-1] == "[key]"
    loc = loc[:-1] if at_key else loc
    kind, context = detail["type"], detail.get("ctx") or {}
    if kind.startswith("JOB"):
        return _refused(loc, detail, at_key=at_key)
    inside = f" in `{place_name(loc[:-1])}`" if len(loc) > 1 else ""
    if kind == "missing":
        return ShapeProblem(loc[:-1], "JOB111", _missing(loc), f"add `{loc[-1]}:`", at_key=True, lacks=(loc,))
    if kind == "extra_forbidden":
        message, help_text = f"unknown field `{loc[-1]}`{inside}", _meant_field(model, loc)
        return ShapeProblem(loc, "JOB110", message, help_text, at_key=True)
    if kind == "literal_error":
        return _not_a_choice(loc, detail)
    if kind in {"too_short", "too_long"}:
        bound, needed, limit = {
            "too_short": ("at least", "needed", context.get("min_length")),
            "too_long": ("at most", "possible", context.get("max_length")),
        }[kind]
        entries = "entry" if limit == 1 else "entries"
        counted = f"`{place_name(loc)}` has {context.get('actual_length')} entries"
        counted = f"{counted}; {bound} {limit} {entries} {needed}"
        return ShapeProblem(loc, "JOB114", counted, at_key=True, lacks=_lacking(loc, detail["input"] or ""))
    return _wrong_shape(loc, kind, detail["input"])


def _refused(loc: Loc, detail: ErrorDetails, *, at_key: bool) -> ShapeProblem:
    """Return what a field type or a check of a whole entry refused."""
    context = detail.get("ctx") or {}
    paths = (one if isinstance(one, tuple) else tuple(filter(None, [one])) for one in context.get("lacks", ()))
    lacks = tuple((*loc, *path) for path in paths)
    at_key = at_key or isinstance(detail["input"], dict)
    return ShapeProblem(loc, detail["type"], context["message"], context.get("help"), at_key, lacks)


def _meant_field(model: type[Model], loc: Loc) -> str:
    """Return the field that an unknown one probably means, or those that its block has."""
    name = str(loc[-1])
    for part in loc[:-1]:  # ids and indexes stay in their block
        if isinstance(part, str) and part in model.model_fields:
            model = _model_in(model.model_fields[part].annotation) or model
    fields = list(model.model_fields)
    words = set(re.split(r"[_ -]", name.lower()))
    # `air_temperature` means `air`
    meant = closest(name, fields) or next((field for field in fields if field in words), None)
    if meant:
        return f"did you mean `{meant}`?"
    listed = ", ".join(f"`{field}`" for field in fields[:_FIELDS_LISTED])
    return f"fields here: {listed}" + (", …" if len(fields) > _FIELDS_LISTED else "")


def holds_blocks(model: type[Model], loc: Loc) -> bool:
    """Return whether a block of fields stands at a place of a model, or a list of them; False of what it does not know.

    >>> from reportgen.job import Day
    >>> holds_blocks(Day, ("surfaces", 0, "salts")), holds_blocks(Day, ("hold_points", 0, "areas"))
    (True, False)
    """
    inside: type[Model] | None = model
    for part in loc:
        if isinstance(part, str):
            known = None if inside is None else inside.model_fields.get(part)
            inside = None if known is None else _model_in(known.annotation)
    return inside is not None


def _model_in(annotation: Any) -> type[Model] | None:
    if isinstance(annotation, type) and issubclass(annotation, Model):
        return annotation
    if get_origin(annotation) in (Annotated, Union, UnionType, list, dict):
        found = (_model_in(part) for part in get_args(annotation))
        return next((model for model in found if model is not None), None)
    return None


def _not_a_choice(loc: Loc, detail: ErrorDetails) -> ShapeProblem:
    choices = re.findall(r"'([^']*)'", str((detail.get("ctx") or {}).get("expected", "")))
    got = detail["input"]
    listed = one_of(choices)
    if not isinstance(got, str) or not got.strip():
        return ShapeProblem(loc, "JOB112", f"`{loc[-1]}` {_shape_of(got)}", listed, lacks=_lacking(loc, got))
    if is_placeholder(got):
        return ShapeProblem(loc, PLACEHOLDER, f"`{got}` is still to be filled in", listed, lacks=(loc,))
    meant = closest(got, choices)
    help_text = Phrase("did you mean `{meant}`? {listed}", meant=meant, listed=listed) if meant else listed
    # an entry of a list has no name of its own
    named = next((part for part in reversed(loc) if isinstance(part, str)), loc[-1])
    message = Phrase("`{got}` is not a choice for `{field}`", got=got, field=str(named))
    return ShapeProblem(loc, "JOB112", message, help_text)


def _shape_of(value: Any) -> str:
    if isinstance(value, str):
        return "is text" if value.strip() else "is empty"
    return "is a list" if isinstance(value, list) else "is a block of fields"


def _wrong_shape(loc: Loc, kind: str, got: Any) -> ShapeProblem:
    wanted, example = {
        "list_type": ("a list", "begin each entry with `- `"),
        "dict_type": ("a block of fields", "write `id: {field: value, …}` on each line"),
        "string_type": ("text", None),
    }.get(kind, ("a block of fields", "write `field: value` on each line, indented"))
    empty = isinstance(got, str) and not got.strip()
    name = f"`{place_name(loc)}`" if loc else "the file"
    message = f"{name} {_shape_of(got)}; expected {wanted}"
    help_text = "leave the field out, or fill it in" if empty else example
    return ShapeProblem(loc, "JOB113", message, help_text, lacks=_lacking(loc, got))


def _lacking(loc: Loc, got: Any) -> tuple[Loc, ...]:
    """Return the place itself where nothing stands there yet."""
    return (loc,) if isinstance(got, str) and (not got.strip() or is_placeholder(got)) else ()


def salvaged(model: type[M], data: Mapping[str, Any]) -> M | None:
    """Return the model of what is left when every wrong field is taken out, or None when too little is left.

    Entries of lists keep their index: a wrong one takes its whole list along. Meant for checks that should still run
    on the good part of a file, never for a result.
    """
    rest: Any = data
    while True:
        outcome = validated(model, rest)
        if not isinstance(outcome, tuple):
            return outcome
        for problem in outcome:
            loc = problem.loc
            while loc and isinstance(loc[-1], int):  # to the nearest field around it
                loc = loc[:-1]
            if not loc:
                return None
            rest = _without(rest, loc)


def _without(data: Any, loc: Loc) -> Any:
    """Return a copy of ``data`` without the field at ``loc``."""
    first, rest = loc[0], loc[1:]
    if isinstance(first, int):
        return [_without(item, rest) if index == first else item for index, item in enumerate(data)]
    if first not in data:
        return data  # gone with what surrounded it
    if not rest:
        return {key: value for key, value in data.items() if key != first}
    return data | {first: _without(data[first], rest)}
