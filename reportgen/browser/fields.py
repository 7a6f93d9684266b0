"""One field of a page: a place of the day file, what stands there, and how it is typed."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, Literal

from reportgen.errors import UsageError
from reportgen.fields import is_placeholder
from reportgen.intake.changes import Address, Entry, content_at
from reportgen.loader.placeholders import FREE_TEXT, IN_FREE_TEXT, NOT_TAKEN
from reportgen.units import DISPLAY

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.intake.changes import Content

Kind = Literal["number", "text", "long", "clock", "choice", "several", "list", "names"]
NEW: Final = "*"
"""What stands in an address for the value that is typed into the field, where that names the entry."""
_CLOCK: Final = re.compile(r"(\d{1,2})[:.]?(\d{2})\Z")
_WITH_UNIT: Final = re.compile(r"(\S+) (\S+)\Z")


@dataclass(frozen=True, slots=True)
class Field:
    """A field: address, label, text as shown, what stands in the file (``was``, opaque), unit as shown and as written.

    ``wanted`` is what still has to be entered, ``lit`` what the rule for two grades asks for just now, with ``why``.
    ``origin`` names the area from which its text is carried: it does not stand in the file. ``begin`` is what an
    entry begins with that is named by the field.
    """

    at: str
    label: str
    value: str = ""
    was: str = ""
    unit: str = ""
    kind: Kind = "text"
    options: tuple[tuple[str, str], ...] = ()
    wanted: bool = False
    lit: bool = False
    why: str = ""
    origin: str = ""
    ask: str = ""
    begin: str = ""
    wide: bool = False
    bare: bool = False
    """Whether the file has the number alone, as of readings, and the unit is merely shown."""
    grade: str = ""
    """Grade of the tape that it is read on."""
    same: tuple[str, str] | None = None
    """A text that one press enters, and what the press says: the grade as specified."""

    @property
    def id(self) -> str:
        """Its name on the page, the same each time it is drawn."""
        return "f" + hashlib.sha256(self.at.encode()).hexdigest()[:12]

    @property
    def chosen(self) -> tuple[str, ...]:
        """Which of its options stand in the file, where several may."""
        return tuple(json.loads(self.was)) if self.was else ()

    @property
    def shown_unit(self) -> str:
        """The unit as it is printed."""
        return DISPLAY.get(self.unit, self.unit)

    @property
    def written_unit(self) -> str:
        """The unit that is put into the file."""
        return "" if self.bare else self.unit


def field(
    data: Mapping[str, Any], at: Address, label: str, *, unit: str = "", kind: Kind = "text", **more: Any
) -> Field:  # fmt: skip
    """Return a field with what stands at its place; with the unit that is written there, where it has another.

    What is still to be filled in shows nothing, and is wanted.
    """
    raw = content_at(data, at)
    own = Field(str(at), label, unit=unit, kind=kind, was="" if raw is None else json.dumps(raw), **more)
    if raw is None:
        return own
    if to_fill_in(str(at.steps[-1]), raw):
        return replace(own, wanted=True)
    text = ", ".join(map(str, raw)) if isinstance(raw, list) else str(raw)
    found = _WITH_UNIT.match(text) if unit else None
    text, written = (text, unit) if found is None else found.groups()
    options = own.options
    if (
        options and not isinstance(raw, list) and text not in {value for value, _ in options}
    ):  # whatever stands in the file is shown
        options = (*options, (text, text))
    return replace(own, value=text, unit=written, options=options, wanted=False)


def to_fill_in(name: str, content: Content | None) -> bool:
    """Say whether what stands in a field called ``name`` is still to be replaced, as `check` says."""
    if name in FREE_TEXT:
        return content in (*IN_FREE_TEXT, NOT_TAKEN)
    return isinstance(content, str) and is_placeholder(content)


def carried_over(one: Field, value: str, origin: str) -> Field:
    """Return a field that shows what the area before has, where nothing is written."""
    if one.value:
        return one
    found = _WITH_UNIT.match(value) if one.unit else None
    text, unit = (value, one.unit) if found is None else found.groups()
    return replace(one, value=text, unit=unit, origin=origin)


def beginning(at: Address, names: Mapping[str, str], label: str, key: str, **more: Any) -> Field:
    """Return the field that begins an entry: ``key`` is the name that is typed, ``names`` those that are known."""
    known = tuple((name, value) for name, value in names.items() if name not in ("instruments", "gauge", "instrument"))
    step = Entry(str(at.steps[-1]), ((key, NEW), *known))
    begin = json.dumps({key: NEW, **{name: _listed(name, value) for name, value in names.items()}})
    return Field(str(Address((*at.steps[:-1], step))), label, begin=begin, **more)


def _listed(name: str, value: str) -> Content:
    return value.split() if name == "instruments" else value


def sent_back(text: str) -> Any:
    """Return what a page was given to send back.

    Raises:
        UsageError: it is none of that.
    """
    try:
        return json.loads(text)
    except ValueError:
        raise UsageError("the page sent what it was not given", help_text="load it again") from None


def choices(values: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return options that are called as they are written."""
    return tuple((value, value) for value in values)


def clock(text: str) -> str:
    """Return a time as the day file has it, from ``640``, ``6.40`` or ``06:40``; anything else as it was typed.

    >>> [clock("640"), clock("6.40"), clock("2330"), clock("soon")]
    ['06:40', '06:40', '23:30', 'soon']
    """
    found = _CLOCK.match(text.strip())
    return f"{int(found[1]):02d}:{found[2]}" if found else text.strip()


def section(key: str, title: str, fields: list[Field], note: str = "", **more: Any) -> dict[str, Any]:
    """Return a part of a page: its fields, and its mark: entered, whatever came of it; something missing; nothing."""
    state = "none" if not any(one.was for one in fields) else "open" if any(one.wanted for one in fields) else "entered"
    return {"key": key, "title": title, "note": note, "fields": fields, "state": state, "confirm": [], **more}


def row(at: Address, fields: list[Field], result: Any, carried_count: int = 0) -> dict[str, Any]:
    """Return one entry of a list as fields, with its result and what takes it out again."""
    last = at.steps[-1]
    names = ", ".join(value for _, value in last.names if value) if isinstance(last, Entry) else ""
    unfinished = any(one.wanted or one.origin for one in fields)
    return {
        "at": str(at), "name": names, "fields": fields, "result": result, "carried": carried_count, "open": unfinished,
    }  # fmt: skip
