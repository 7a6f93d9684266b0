"""Plain JSON back to frozen values, held against the types of their fields; others are passed over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from decimal import Decimal
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")

LONGEST = 1 << 16
"""Characters of the longest text in a value; a job's longest has four thousand."""
_MOST_DIGITS = 40
_MOST_BITS = 63


def value_from(kind: type[T], data: Any) -> T:
    """Return the frozen value whose ``plain`` form is ``data`` (JSON with ``Decimal`` numbers).

    A member that is not there has its default, or no value where it need not have one.

    Raises:
        KeyError, TypeError, ValueError: when ``data`` is not that, or larger than anything a report holds: whole
        numbers of more than 63 bits, numbers of more than forty digits, texts longer than ``LONGEST``.
    """
    value: T = _value(kind, data)
    return value


@cache
def _members(kind: type) -> tuple[dict[str, Any], dict[str, None]]:
    """Return the types of the members of a dataclass, and which have no value where they are not there."""
    hints = get_type_hints(kind)
    bare = [field.name for field in fields(kind) if field.default is field.default_factory is MISSING]
    return hints, {name: None for name in bare if NoneType in get_args(hints[name])}


def _value(hint: Any, data: Any) -> Any:
    if is_dataclass(hint) and isinstance(hint, type):
        return _object(hint, data)
    origin, inner = get_origin(hint), [one for one in get_args(hint) if one is not NoneType]
    if origin in (Union, UnionType):
        return None if data is None else _value(inner[0], data)
    if origin is Mapping:
        return {_value(str, name): _value(inner[1], item) for name, item in data.items()}
    if origin is tuple:
        return tuple(_value(inner[0], item) for item in data)
    return data if hint is Any else _scalar(hint, data)


def _object(kind: type, data: Any) -> Any:
    if not isinstance(data, Mapping):
        raise TypeError(f"members of {kind.__name__} expected")
    hints, absent = _members(kind)
    return kind(**(absent | {name: _value(hint, data[name]) for name, hint in hints.items() if name in data}))


def _scalar(hint: Any, data: Any) -> Any:
    if get_origin(hint) is Literal:
        if data not in get_args(hint):
            raise ValueError("not one of the words that are known here")
        return data
    if isinstance(data, bool) is not (hint is bool):
        raise TypeError(f"{hint.__name__} expected")
    if hint is Decimal and isinstance(data, int | Decimal):
        number = Decimal(data)
        _, digits, exponent = number.as_tuple()
        if not isinstance(exponent, int) or len(digits) > _MOST_DIGITS or abs(exponent) > _MOST_DIGITS:
            raise ValueError("larger than anything a report holds")
        return number
    if not isinstance(data, hint):
        raise TypeError(f"{hint.__name__} expected")
    if (len(data) > LONGEST) if isinstance(data, str) else (data.bit_length() > _MOST_BITS):
        raise ValueError("larger than anything a report holds")
    return data
