"""Plain JSON back to frozen values, held against the types of their fields; others are passed over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
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
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _value(hint: Any, data: Any) -> Any:
    if is_dataclass(hint) and isinstance(hint, type):
        if not isinstance(data, Mapping):
            raise TypeError(f"members of {hint.__name__} expected")
        hints = _hints(hint)
        return hint(**{field.name: _member(field, hints[field.name], data) for field in fields(hint)})
    if hint is Any:
        return data
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        inner = next(one for one in get_args(hint) if one is not NoneType)
        return None if data is None else _value(inner, data)
    if origin is Mapping:
        return {_value(str, name): _value(get_args(hint)[1], item) for name, item in data.items()}
    if origin is tuple:
        return tuple(_value(get_args(hint)[0], item) for item in data)
    return _scalar(hint, data)


def _member(field: Field[Any], hint: Any, data: Any) -> Any:
    if field.name in data:
        return _value(hint, data[field.name])
    if field.default is not MISSING:
        return field.default
    if field.default_factory is not MISSING:
        return field.default_factory()
    return None if NoneType in get_args(hint) else _value(hint, data[field.name])


def _scalar(hint: Any, data: Any) -> Any:
    if get_origin(hint) is Literal:
        if data not in get_args(hint):
            raise ValueError("not one of the words that are known here")
        return data
    if hint is Decimal and isinstance(data, int | Decimal) and not isinstance(data, bool):
        return _measured(Decimal(data))
    if not isinstance(data, hint) or (hint is int and isinstance(data, bool)):
        raise TypeError(f"{hint.__name__} expected")
    if (len(data) > LONGEST) if isinstance(data, str) else (data.bit_length() > _MOST_BITS):
        raise ValueError("larger than anything a report holds")
    return data


def _measured(number: Decimal) -> Decimal:
    _, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int) or len(digits) > _MOST_DIGITS or abs(exponent) > _MOST_DIGITS:
        raise ValueError("larger than anything a report holds")
    return number
