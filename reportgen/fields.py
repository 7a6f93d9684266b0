"""Field types of the job files: each reads the text of one YAML scalar and refuses everything else.

Every scalar reaches the models as text, so that a value keeps the digits the inspector wrote. A refusal is a
``PydanticCustomError`` whose type is the diagnostic's code and whose context may carry ``help``.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import PurePosixPath
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError, core_schema

from reportgen.diagnostics import Phrase
from reportgen.errors import QuantityError
from reportgen.names import names_nobody
from reportgen.units import EXAMPLES, SPELLINGS, Kind, Quantity, UnitSystem, parse_number, parse_quantity

T = TypeVar("T")

PLACEHOLDER = "JOB128"
"""Code of an entry that holds a text in angle brackets, to be replaced."""
_PLACEHOLDER = re.compile(r"<[^<>]+>\Z")
_FREE_TEXT = ("text", "a name")

_IDENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}\Z")
_REPORT_NUMBER = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,39}\Z")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z", re.ASCII)
_CLOCK = re.compile(r"([01]\d|2[0-3]):[0-5]\d\Z", re.ASCII)
_INSTANT = re.compile(r"\d{4}-\d{2}-\d{2}[T ]([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?(Z|[+-]\d{2}:\d{2})\Z", re.ASCII)
_DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}

TEXT_LIMIT = 4000
WORD_LIMIT = 60
NAME_LIMIT = 120
LINE_LIMIT = 1000


class Model(BaseModel):
    """Base of all job models: no unknown field, no coercion, immutable."""

    model_config = ConfigDict(
        extra="forbid", strict=True, frozen=True, allow_inf_nan=False, arbitrary_types_allowed=True, defer_build=True
    )


class Pending(str):
    """Stands in the data of a file for what is still to be entered there, or cannot be taken as it stands.

    It has a form that the field takes, so that the rest of the entry can be read; empty where nothing need stand.
    """

    __slots__ = ()


def refusal(
    code: str, message: str, help_text: str | None = None, lacks: tuple[str | tuple[str | int, ...], ...] = ()
) -> PydanticCustomError:  # fmt: skip
    """Build the error a field type raises: a diagnostic code, a sentence and the remedy.

    ``lacks`` names the fields that are merely missing, where nothing else is wrong, by name or by path; `ITSELF` is the
    entry as a whole.
    """
    return PydanticCustomError(code, "{message}", {"message": message, "help": help_text, "lacks": lacks})


def check_above_zero(record: object, *names: str) -> None:
    """Refuse an error, an uncertainty or a step of 0: nothing is exact, and U would be told without it."""
    for name in names:
        value = getattr(record, name)
        if value is not None and value.exact <= 0:
            help_text = "copy it from the certificate or the contract, or leave it out"
            raise refusal("JOB131", f"`{name}` is {value}: nothing is exact", help_text)


def refuse_no_areas(values: object) -> object:
    """Refuse an entry whose list of areas names none: left out it is about all, and an empty one is a slip."""
    if isinstance(values, dict) and values.get("areas") == []:
        help_text = "name them, or leave `areas` out where it is about all"
        raise refusal("JOB114", "`areas` names no area", help_text, ("areas",))
    return values


def check_area_rate(first: Quantity | None, further: Quantity | None) -> None:
    """Refuse further steps of an area rate without a first one, or in another unit: round numbers do not convert."""
    if further is None:
        return
    if first is None:
        raise refusal("JOB151", "`further_area` goes on after `first_area`, which is missing", "state `first_area` too")
    if first.unit != further.unit:
        raise refusal(
            "JOB151",
            f"`first_area` {first} and `further_area` {further} are in two units",
            f"write both as the contract does, in {first.unit} or in {further.unit}",
        )


ITSELF = ""
"""Stands among what an entry lacks for the entry itself: there is nothing in it yet."""


checked_whole = model_validator(mode="after")
"""Decorates a model's check of several fields together; what it returns is the model."""


def is_placeholder(text: str) -> bool:
    """Return whether a text stands wholly in angle brackets: what somebody is still to replace."""
    return _PLACEHOLDER.match(text.strip()) is not None


def _is_read(value: Any) -> bool:
    """Whether the model that knows its kind has read a value before, or it stands in for text that is not there."""
    return isinstance(value, Quantity) or (isinstance(value, Pending) and is_placeholder(value))


def _from_text(read: Callable[..., T], wanted: str, code: str) -> Callable[..., T]:
    """Wrap a reader of text so that a map, a list or an empty entry gets one clear refusal.

    What the reader itself refuses as no quantity has the ``code``.
    """

    def validate(value: Any, *context: Any) -> T:
        if _is_read(value):
            return value  # type: ignore[no-any-return] # of the type that the field takes
        if not isinstance(value, str):
            kind = "a list" if isinstance(value, list) else "a block of fields"
            raise refusal("JOB121", f"expected {wanted}, got {kind}")
        text = value.strip()
        if not text:
            raise refusal("JOB120", f"the entry is empty; expected {wanted}", lacks=(ITSELF,))
        if text[0] == "<" and is_placeholder(text) and wanted not in _FREE_TEXT:
            raise refusal(PLACEHOLDER, f"`{text}` is still to be filled in", f"write {wanted} here", (ITSELF,))
        try:
            return read(text, *context)
        except QuantityError as error:
            raise refusal(code, error.message, error.help_text) from None

    return validate


def _text(limit: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) > limit:
            pattern = "the text has {count} characters; at most {limit} fit"
            raise refusal("JOB122", Phrase(pattern, count=str(len(text)), limit=str(limit)), "shorten it")
        longest = max(text.split(), key=len)
        if len(longest) > WORD_LIMIT:
            raise refusal(
                "JOB122", f"the word `{longest[:20]}…` has {len(longest)} characters; at most {WORD_LIMIT} fit"
            )
        return text

    return read


def _named(text: str) -> str:
    found = _text(NAME_LIMIT)(text)
    if names_nobody(found):
        help_text = "name who or what it was; leave the field empty until that is known"
        raise refusal(PLACEHOLDER, f"`{text}` names nobody and nothing", help_text, (ITSELF,))
    return found


def _line(text: str) -> str:
    if len(text) <= LINE_LIMIT and text.isprintable():
        return text
    raise refusal("JOB122", f"the text is no line of at most {LINE_LIMIT:,} characters", "write it on one line")


def may_be_id(text: str) -> bool:
    """Say whether a text is written as an id: letters, digits, ``.``, ``_`` and ``-``, at most 40."""
    return _IDENT.match(text) is not None


def _ident(text: str) -> str:
    if may_be_id(text):
        return text
    raise refusal("JOB123", f"`{text}` cannot be an id", "use letters, digits, `.`, `_` and `-`, at most 40, no spaces")


def _sha256(text: str) -> str:
    digits = text.replace(":", "").lower()
    if re.fullmatch(r"[0-9a-f]{64}", digits):
        return digits
    raise refusal("JOB153", f"`{text[:20]}` is no SHA-256", "write its 64 hexadecimal digits, with or without colons")


def _report_number(text: str) -> str:
    if _REPORT_NUMBER.match(text) and not text.endswith(".") and text.split(".", maxsplit=1)[0] not in _DEVICES:
        return text
    raise refusal(
        "JOB123",
        f"`{text}` cannot be a report number",
        "use capital letters, digits, `.` and `-`, at most 40; it also names the file",
    )


def _number_pattern(text: str) -> str:
    if re.fullmatch(r"[A-Z0-9][A-Z0-9.-]*#{1,9}[A-Z0-9.-]*", text) and len(text) <= 40:
        return text
    raise refusal(
        "JOB123",
        f"`{text}` is not a pattern of report numbers",
        "write the fixed part and one run of `#`, such as `AB-12-###`",
    )


def _date(text: str) -> dt.date:
    if _DATE.match(text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            raise refusal("JOB124", f"`{text}` is not a day of the calendar") from None
    raise refusal("JOB124", Phrase("`{text}` is not a date", text=text), "write year-month-day, such as `2026-05-14`")


def parse_clock(text: str) -> dt.time | dt.datetime:
    """Read ``HH:MM``, or a date, time and offset.

    Raises:
        QuantityError: for anything else, saying what to write.
    """
    if _CLOCK.match(text):
        return dt.time.fromisoformat(text)
    if _INSTANT.match(text):
        try:
            return dt.datetime.fromisoformat(text)
        except ValueError:
            raise QuantityError(f"`{text}` is not a day of the calendar") from None
    raise QuantityError(
        Phrase("`{text}` is not a time", text=text),
        help_text='write `"06:40"`, or with date and offset `2026-05-15T00:20+02:00`',
    )


def _whole(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if re.fullmatch(r"[0-9]{1,6}", text) and low <= int(text) <= high:
            return int(text)
        pattern = "`{text}` is not a whole number from {low} to {high}"
        raise refusal("JOB126", Phrase(pattern, text=text, low=str(low), high=str(high)))

    return read


def _format(text: str) -> int:
    if text != "1":  # a later one is told before anything else is
        raise refusal("JOB126", f"`{text}` is no format of this file", "write `format: 1`, or leave it out")
    return 1


def _yes_no(text: str) -> bool:
    if text in {"yes", "true"}:
        return True
    if text in {"no", "false"}:
        return False
    raise refusal("JOB127", f"`{text}` is neither yes nor no", "write `yes` or `no`")


def _quantity(kind: Kind, bounds: str, examples: tuple[str, ...]) -> Callable[[str, UnitSystem | None], Quantity]:
    """Reader of a quantity of ``kind`` between bounds that no honest entry leaves; it is given the contract's units.

    ``bounds`` reads ``unit low high, unit low high``: round numbers for every unit of the kind, so that no entry has to
    be converted, which would load the unit library for a file that needs no conversion.
    """
    ranges: dict[str, tuple[Quantity, Quantity]] = {}
    for entry in bounds.split(", "):
        unit, low, high = entry.split(" ")
        ranges[unit] = (Quantity(Decimal(low), unit), Quantity(Decimal(high), unit))

    def read(text: str, units: UnitSystem | None) -> Quantity:
        quantity = parse_quantity(text, kind, such_as=units.such_as(kind, examples) if units else examples)
        low, high = ranges[quantity.unit]
        if low.exact <= quantity.exact <= high.exact:
            return quantity
        pattern = "`{text}` is outside anything this field can hold ({low} to {high})"
        message = Phrase(pattern, text=text, low=str(low), high=str(high))
        raise refusal("JOB131", message, "check the number and the unit")

    return read


def _already_read(text: str) -> Quantity:
    """Refuse text that the model's own validator could not read, because the kind of instrument is unknown."""
    raise refusal("JOB130", f"`{text}` cannot be read without a known `kind`")


def _relative_path(text: str) -> PurePosixPath:
    path = PurePosixPath(text)
    if "\\" in text or ":" in text:
        raise refusal("JOB140", f"`{text}` is not a path of this folder", "write it with `/`, without a drive letter")
    if path.is_absolute() or ".." in path.parts:
        raise refusal("JOB140", f"`{text}` points outside the folder", "name a file inside the folder of the day file")
    return path


class _Reader:
    """A reader and its JSON Schema, handed to pydantic as they are.

    Its own markers for this also build, and never use, a schema of the type that is read: more than half of the work.
    """

    def __init__(self, validate: Callable[..., Any], schema: dict[str, Any], *, in_units: bool) -> None:
        self._validate = validate
        self._schema = schema
        self._in_units = in_units

    def __get_pydantic_core_schema__(self, _source: Any, _handler: Any) -> core_schema.CoreSchema:
        if not self._in_units:
            return core_schema.no_info_plain_validator_function(self._validate)
        validate = self._validate
        return core_schema.with_info_plain_validator_function(lambda value, told: validate(value, told.context))

    def __get_pydantic_json_schema__(self, _core: Any, _handler: Any) -> dict[str, Any]:
        return self._schema.copy()


def _typed(
    wanted: str, read: Callable[..., Any], pattern: str | None = None, *examples: str, in_units: bool = False,
    code: str = "JOB130",
) -> tuple[_Reader]:  # fmt: skip
    """Bundle a reader with its JSON Schema: what an editor shows and checks."""
    schema: dict[str, Any] = {"type": ["string", "number", "integer", "boolean"], "description": wanted}
    if pattern:
        schema |= {"type": "string", "pattern": pattern}
    if examples:
        schema["examples"] = list(examples)
    return (_Reader(_from_text(read, wanted, code), schema, in_units=in_units),)


def _quantity_field(kind: Kind, bounds: str, *examples: str) -> Any:
    examples = examples or EXAMPLES[kind]
    units = "|".join(re.escape(unit) for unit in SPELLINGS[kind])
    pattern = rf"^\s*[+-]?[0-9]{{1,9}}(\.[0-9]{{1,9}})?\s?({units})\s*$"
    article = "an" if kind[0] in "aeiou" else "a"
    said = f"{article} {kind} with its unit"
    return _typed(said, _quantity(kind, bounds, examples), pattern, *examples, in_units=True)


Text = Annotated[str, *_typed("text", _text(TEXT_LIMIT))]
Name = Annotated[str, *_typed("a name", _text(NAME_LIMIT))]
Named = Annotated[str, *_typed("a name", _named)]
"""A name by which something is known to be somebody's, or made with something: words that name nobody are none."""
Line = Annotated[str, *_typed("a line of text", _line)]
"""What no page prints: a path, or the subject of a certificate; its words may be of any length."""
Ident = Annotated[str, *_typed("an id", _ident)]
ReportNumber = Annotated[str, *_typed("a report number", _report_number)]
Sha256 = Annotated[
    str,
    *_typed("a SHA-256", _sha256, r"^\s*(([0-9A-Fa-f]{2}:){31}[0-9A-Fa-f]{2}|[0-9A-Fa-f]{64})\s*$", f"{0x1F2E:064x}"),
]
ReportNumberPattern = Annotated[str, *_typed("a pattern of report numbers", _number_pattern, None, "AB-12-###")]
Date = Annotated[dt.date, *_typed("a date", _date, r"^\d{4}-\d{2}-\d{2}$", "2026-05-14")]
Clock = Annotated[dt.time | dt.datetime, *_typed("a time", parse_clock, None, "06:40", code="JOB125")]
Format = Annotated[int, *_typed("format of the file", _format, None, "1")]
Count = Annotated[int, *_typed("a whole number", _whole(1, 999_999), None, "3")]
Rating = Annotated[int, *_typed("a rating from 0 to 5", _whole(0, 5), None, "2")]
Revision = Annotated[int, *_typed("a revision number", _whole(0, 999), None, "0")]
Number = Annotated[Decimal, *_typed("a number", parse_number)]
YesNo = Annotated[bool, *_typed("yes or no", _yes_no)]
RelativePath = Annotated[PurePosixPath, *_typed("a path inside the folder", _relative_path)]

Height = Annotated[Quantity, *_quantity_field("height", "mil -10 40, um -250 1000, mm -0.25 1", "2.2 mil", "55 um")]
ProfileLimit = Annotated[Quantity, *_quantity_field("height", "mil 0.1 20, um 2.5 500, mm 0.0025 0.5")]
ProfileScatter = Annotated[Quantity, *_quantity_field("height", "mil 0.001 5, um 0.02 125, mm 0.00002 0.125")]
Length = Annotated[Quantity, *_quantity_field("length", "m 0 1e5, cm 0 1e7, mm 0 1e8, ft 0 330000, in 0 4000000")]
Area = Annotated[Quantity, *_quantity_field("area", "m2 0 1e6, cm2 0 1e10, mm2 0 1e12, ft2 0 1.1e7, in2 0 1.6e9")]
SizeDone = Annotated[
    Quantity, *_quantity_field("area", "m2 0.0001 1e6, cm2 1 1e10, mm2 100 1e12, ft2 0.001 1.1e7, in2 0.1 1.6e9")
]
Volume = Annotated[Quantity, *_quantity_field("volume", "ml 0.1 1000, l 0.0001 1")]
VolumeError = Annotated[Quantity, *_quantity_field("volume", "ml 0.001 100, l 0.000001 0.1")]
Temperature = Annotated[Quantity, *_quantity_field("temperature", "degC -60 120, degF -76 248")]
Margin = Annotated[Quantity, *_quantity_field("temperature difference", "delta_degC 0 30, delta_degF 0 54")]
Percent = Annotated[Quantity, *_quantity_field("share", "% 0 100, ppm 0 1e6")]
Duration = Annotated[Quantity, *_quantity_field("time", "h 0 8784, min 0 527040, s 0 31622400, d 0 366")]
Pressure = Annotated[
    Quantity,
    *_quantity_field(
        "pressure",
        "hPa 500 1100, kPa 50 110, MPa 0.05 0.11, bar 0.5 1.1, psi 7.25 16, inHg 14.7 32.5",
    ),
]
AirPressure = Annotated[
    Quantity,
    *_quantity_field(
        "pressure", "hPa 0 20000, kPa 0 2000, MPa 0 2, bar 0 20, psi 0 300, inHg 0 600", "100 psi", "700 kPa"
    ),
]
ArealDensity = Annotated[Quantity, *_quantity_field("areal density", "mg/m2 0 10000, ug/cm2 0 1000")]
AnyQuantity = Annotated[Quantity, *_typed("a quantity", _already_read)]
Conductivity = Annotated[Quantity, *_quantity_field("conductivity", "uS/cm 0 200000, mS/m 0 20000")]
NumberConfirmed = Annotated[
    YesNo, Field(description="yes: looked at again; a number that counts on, such as 12345, stands there")
]
Confirmed = Annotated[YesNo, Field(description="yes: looked at again; a value that is unlikely here is true")]
DecisionRule = Annotated[
    Literal["simple", "guarded", "banded"],
    Field(description="how the uncertainty of a value enters its verdict; without it a value is judged as it is"),
]
Clause = Annotated[str | None, Field(description="clause of the specification that states this requirement")]
