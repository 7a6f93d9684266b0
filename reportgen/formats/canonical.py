"""Canonical JSON: sorted keys, no insignificant white space, UTF-8, numbers with exactly the digits printed.

A member without a value is left out; there is no ``null``.
"""

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import lru_cache
from json.encoder import encode_basestring
from typing import Any, Final

from reportgen.results.facts import Value, Word
from reportgen.words.numbers import digits
from reportgen.words.told import told

EVERY_MEMBER: Final[frozenset[str]] = frozenset()


class FormatSpan(Value):
    """The formats in which a member is written: from ``since`` on, and no longer from ``until`` on where it ended."""

    since: int = 1
    until: int | None = None


def not_in(number: int, spans: Mapping[str, FormatSpan]) -> frozenset[str]:
    """Return the members, as ``AreaResult.mean``, that a format does not have; what has no span is in every format.

    >>> sorted(not_in(1, {"AreaResult.skewness": FormatSpan(since=2), "AreaResult.mode": FormatSpan(until=2)}))
    ['AreaResult.skewness']
    """
    return frozenset(
        member
        for member, span in spans.items()
        if number < span.since or (span.until is not None and number >= span.until)
    )


def plain(value: Any) -> Any:
    """Turn frozen results into maps, lists, text, ``Decimal``, ``int`` and ``bool``; what has no value is left out."""
    if isinstance(value, Word):
        return value.key
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if is_dataclass(value) and not isinstance(value, type):
        value = {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, dict):
        return {str(name): plain(item) for name, item in value.items() if item is not None}
    return value


def require_whole_characters(name: str, data: bytes) -> None:
    """Raise ``ValueError`` where a text in the JSON file ``name`` holds half of a character, which no file can hold.

    Of what is no JSON, whoever reads it speaks.
    """
    if not name.endswith(".json") or (b"\\ud" not in data.lower() and b"\xed" not in data):
        return
    try:
        json.dumps(json.loads(data), ensure_ascii=False).encode()
    except UnicodeEncodeError as half:
        raise ValueError(told("half-a-character", file=name)) from half
    except (ValueError, RecursionError):
        return


def canonical_json(value: Any, without: frozenset[str] = EVERY_MEMBER) -> bytes:
    """Encode results; the same value gives the same bytes in every process. ``without`` as from ``not_in``.

    Raises:
        TypeError: for a float or any other type, as a binary fraction has no digits of its own; for None elsewhere than
            in a member.
    """
    parts: list[str] = []
    _append(value, parts, without)
    return "".join(parts).encode("utf-8")


def _append(value: Any, parts: list[str], without: frozenset[str]) -> None:
    """Append the encoding of a value; one flat list, as an evaluation may hold a million numbers."""
    if isinstance(value, str | Word):
        parts.append(encode_basestring(value if isinstance(value, str) else value.key))
    elif isinstance(value, bool):
        parts.append("true" if value else "false")
    elif isinstance(value, int | Decimal):
        parts.append(digits(_finite(value)))
    elif isinstance(value, list | tuple):
        opening = "["
        for item in value:
            parts.append(opening)
            _append(item, parts, without)
            opening = ","
        parts.append("]" if value else "[]")
    else:
        _append_members(value, parts, without)


def _finite(number: int | Decimal) -> int | Decimal:
    if isinstance(number, Decimal) and not number.is_finite():
        raise TypeError(f"{number} has no canonical form")
    return number


def _append_members(value: Any, parts: list[str], without: frozenset[str]) -> None:
    if isinstance(value, dict):
        members = sorted((str(key), item) for key, item in value.items())
    elif is_dataclass(value) and not isinstance(value, type):
        members = [(name, getattr(value, name)) for name in _sorted_fields(type(value), without)]
    else:
        raise TypeError(f"{type(value).__name__} has no canonical form")
    opening = "{"
    for name, item in members:
        if item is not None:
            parts.append(f"{opening}{encode_basestring(name)}:")
            _append(item, parts, without)
            opening = ","
    parts.append("}" if opening == "," else "{}")


@lru_cache(maxsize=512)
def _sorted_fields(kind: type, without: frozenset[str]) -> tuple[str, ...]:
    return tuple(sorted(field.name for field in fields(kind) if f"{kind.__name__}.{field.name}" not in without))
