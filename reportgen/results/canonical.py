"""Canonical JSON: sorted keys, no insignificant white space, UTF-8, numbers with exactly the digits printed."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any


def plain(value: Any) -> Any:
    """Turn frozen results into maps, lists, text, ``Decimal``, ``int``, ``bool`` and ``None``."""
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
    return _encoded(plain(value)).encode("utf-8")


def _encoded(value: Any) -> str:
    if isinstance(value, Decimal):
        return _digits(value)
    if value is None or isinstance(value, bool | int | str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list):
        return "[" + ",".join(_encoded(item) for item in value) + "]"
    if isinstance(value, dict):
        members = (f"{json.dumps(key, ensure_ascii=False)}:{_encoded(value[key])}" for key in sorted(value))
        return "{" + ",".join(members) + "}"
    raise TypeError(f"{type(value).__name__} has no canonical form")


def _digits(number: Decimal) -> str:
    if not number.is_finite():
        raise TypeError(f"{number} has no canonical form")
    text = f"{number:f}"
    return text.lstrip("-") if not text.strip("-0.") else text
