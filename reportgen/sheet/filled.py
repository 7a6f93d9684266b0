"""A filled-in sheet → the text of its fields and the page of each. Only a confined child process opens the PDF."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from reportgen.errors import UsageError
from reportgen.intake.form import FORM_FIELD, FORM_LIMIT, SheetForm, parse_form
from reportgen.sandbox import confined

SIZE_LIMIT: Final = 64 << 20
_FIELD_LIMIT: Final = 200_000
_TEXT_LIMIT: Final = 4001
"""Characters read of an entry: one more than any may have, so that a longer one is refused and not cut to fit."""
_OFF: Final = frozenset({"", "Off"})
_FLATTENED: Final = "it has no form fields; it was printed to a new PDF, or flattened, or is another file"


@dataclass(frozen=True, slots=True)
class FilledSheet:
    """Form of the sheet, text of each field by name (``Yes`` for a tick), and page of each, from 1."""

    form: SheetForm
    values: dict[str, str]
    pages: dict[str, int]


def read_filled_sheet(data: bytes, name: str) -> FilledSheet:
    """Read the form fields of a PDF; ``name`` is the file's in messages.

    Raises:
        UsageError: not a PDF, damaged, without form fields, or not a field sheet.
    """
    if len(data) > SIZE_LIMIT:
        raise UsageError(f"{name} is larger than {SIZE_LIMIT >> 20} MiB")
    if not data[:1024].lstrip().startswith(b"%PDF"):
        raise UsageError(f"{name} is not a PDF", help_text="name the filled-in sheet, a CSV or an XLSX file")
    plain = json.loads(confined(partial(_fields, data), name))
    if not plain:
        raise UsageError(f"{name}: {_FLATTENED}", help_text="save the filled sheet as a form, or type the readings in")
    values = {field: text for field, (_, text) in plain.items()}
    form = parse_form(values.pop(FORM_FIELD, ""))
    return FilledSheet(form, values, {field: page for field, (page, _) in plain.items()})


def _fields(data: bytes) -> bytes:
    """Return name → [page, text] of every field as JSON; runs in the child."""
    from pypdf import PdfReader

    found: dict[str, tuple[int, str]] = {}
    reader = PdfReader(io.BytesIO(data))
    if reader.is_encrypted:
        raise UsageError("the PDF is encrypted", help_text="save it without a password")
    for number, page in enumerate(reader.pages, 1):
        for reference in page.get("/Annots") or ():
            widget = reference.get_object()
            if widget.get("/Subtype") != "/Widget":
                continue
            if len(found) == _FIELD_LIMIT:
                raise UsageError(f"the PDF has more than {_FIELD_LIMIT:,} form fields")
            name, value = _name_and_value(widget)
            if name:
                found[name] = (number, value)
    return json.dumps(found).encode()


def _name_and_value(widget: Any) -> tuple[str, str]:
    """Return the name and text of a field; a program may have split it into a parent and its widget."""
    field, steps = widget, 0
    while "/T" not in field and "/Parent" in field and steps < 8:
        field, steps = field["/Parent"].get_object(), steps + 1
    value = field.get("/V", widget.get("/V"))
    if value is None and field.get("/FT", widget.get("/FT")) == "/Btn":
        value = widget.get("/AS")
    text = "" if value is None else str(value.get_object() if hasattr(value, "get_object") else value)
    if field.get("/FT", widget.get("/FT")) == "/Btn":
        text = "" if text.lstrip("/") in _OFF else "Yes"
    name = str(field.get("/T", ""))
    return name, text[: FORM_LIMIT + 1 if name == FORM_FIELD else _TEXT_LIMIT]
