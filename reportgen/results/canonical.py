"""Canonical JSON: sorted keys, no insignificant white space, UTF-8, numbers with exactly the digits printed."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import lru_cache
from json.encoder import encode_basestring
from typing import Any

from reportgen.results.facts import Word


def plain(value: Any) -> Any:
    """Turn frozen results into maps, lists, text, ``Decimal``, ``int``, ``bool`` and ``None``."""
    if isinstance(value, Word):
        return value.key
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    return value


def canonical_json(value: Any) -> bytes:
    """Encode results; the same value gives the same bytes in every process.

    Raises:
        TypeError: for a float or any other type: a binary fraction has no digits of its own.
    """
    parts: list[str] = []
    _append(value, parts)
    return "".join(parts).encode("utf-8")


def _append(value: Any, parts: list[str]) -> None:
    """Append the encoding of a value; one flat list, as an evaluation may hold a million numbers."""
    if isinstance(value, str):
        parts.append(encode_basestring(value))
    elif value is None or isinstance(value, bool | int | Decimal):
        parts.append(_scalar(value))
    elif isinstance(value, list | tuple):
        _append_items(value, parts)
    elif isinstance(value, dict):
        _append_members(sorted((str(key), item) for key, item in value.items()), parts)
    elif isinstance(value, Word):
        parts.append(encode_basestring(value.key))
    elif is_dataclass(value) and not isinstance(value, type):
        _append_members([(name, getattr(value, name)) for name in _sorted_fields(type(value))], parts)
    else:
        raise TypeError(f"{type(value).__name__} has no canonical form")


@lru_cache(maxsize=256)
def _sorted_fields(kind: type) -> tuple[str, ...]:
    return tuple(sorted(field.name for field in fields(kind)))


def _append_items(items: list[Any] | tuple[Any, ...], parts: list[str]) -> None:
    opening = "["
    for item in items:
        parts.append(opening)
        _append(item, parts)
        opening = ","
    parts.append("]" if items else "[]")


def _append_members(members: list[tuple[str, Any]], parts: list[str]) -> None:
    opening = "{"
    for name, item in members:
        parts.append(f"{opening}{encode_basestring(name)}:")
        _append(item, parts)
        opening = ","
    parts.append("}" if members else "{}")


def _scalar(value: Decimal | int | None) -> str:  # bool is an int
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    return _digits(value) if isinstance(value, Decimal) else str(value)


def _digits(number: Decimal) -> str:
    if not number.is_finite():
        raise TypeError(f"{number} has no canonical form")
    text = f"{number:f}"
    return text.lstrip("-") if not text.strip("-0.") else text
