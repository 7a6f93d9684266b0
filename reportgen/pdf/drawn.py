"""Content of pages whose words come from strangers and from the command line, made fit for the report's faces."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

from reportgen.pdf.fonts import drawable

T = TypeVar("T")


def drawn(content: T) -> T:
    """Return frozen values of the same kind with every text in them as the faces can draw it."""
    return cast("T", _drawn(content))


def _drawn(value: Any) -> Any:
    if isinstance(value, str):
        return drawable(value)
    if isinstance(value, tuple):
        made = map(_drawn, value)
        return type(value)._make(made) if hasattr(value, "_make") else tuple(made)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{field.name: _drawn(getattr(value, field.name)) for field in fields(value)})
    return value
