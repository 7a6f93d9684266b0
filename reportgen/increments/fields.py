"""Signature fields as the pages need them: a transparent widget over a block that the page itself draws.

The widget is what PDF/A-3 asks of an annotation (ISO 19005-3, 6.3: print flag, normal appearance only) and, in a tagged
file, a Form element of the structure tree (ISO 14289-1, 7.18.4); clause numbers from memory.
"""

# mypy: disable-error-code="no-untyped-call"
# the PDF library does not annotate the constructors of its objects

from __future__ import annotations

import binascii
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, BinaryIO, Final

from reportgen.errors import SealError
from reportgen.formats import ENGINEER_FIELD, INSPECTOR_FIELD
from reportgen.lean_import import network_client_left_out

with network_client_left_out():  # the first import of the library in every process: whoever uses it imports this room
    import pyhanko.sign.timestamps
    import pyhanko.sign.validation  # noqa: F401 - for its effect
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.generic import TextStringEncoding, TextStringObject, pdf_name

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

Box = tuple[int, float, float, float, float]
"""Page number from 1, then left, bottom, right, top in points from the page's lower left corner."""

_PRINT_AND_LOCKED = 4 | 128
_APPEND_ONLY = 3  # signatures exist, append only: ISO 32000-1, table 219
_MARKS = ("þÿ", "ÿþ", "ï»¿")
"""Letters that in one byte each are the byte-order marks of UTF-16 and UTF-8: ISO 32000-2, clause 7.9.2.2."""
_FIRST, _MOST = 128, 1 << 18
"""Bytes in which the end of a string is looked for: of a short one, then of any."""

digit_by_digit: Final = getattr(generic, "read_hex_string_from_stream", None)
"""The library's own way to read a string of hexadecimal digits; None of a release that has it elsewhere."""


def read_hexadecimal(stream: BinaryIO) -> Any:
    """Return the string of hexadecimal digits that begins here, as the library does, but in one step.

    The value of a signature has tens of thousands of digits, and is read several times. Whatever holds anything but
    digits, or an odd number of them, is the library's to read or refuse.
    """
    start, held = stream.tell(), b""
    for size in (_FIRST, _MOST):
        held += stream.read(size)
        digits, end, _ = held.partition(b">")
        if end:
            try:
                value = binascii.unhexlify(digits[1:])
            except binascii.Error:
                break
            stream.seek(start + len(digits) + 1)
            return generic.pdf_string(value)
    stream.seek(start)
    return digit_by_digit(stream) if digit_by_digit else None


if digit_by_digit:
    generic.read_hex_string_from_stream = read_hexadecimal


@dataclass(frozen=True, slots=True)
class SignatureField:
    """One signature field to place: its name in the file, what a screen reader says, and where it lies."""

    name: str
    description: str
    box: Box


def described(field: str, role: str, name: str) -> str:
    """Return what a screen reader says of the ``field`` of the person with this role and name."""
    if field == INSPECTOR_FIELD:
        return f"Signature of the inspector, {name}"
    if field == ENGINEER_FIELD:
        return f"Signature of {name}"
    return f"Countersignature of the {role}, {name}"


def text_string(text: str) -> TextStringObject:
    """Return a text to be written so that it reads the same again; one that begins like a mark goes in UTF-16."""
    held = TextStringObject(text)
    if text.startswith(_MARKS):
        held.force_output_encoding = TextStringEncoding.UTF16BE
    return held


def place_fields(writer: IncrementalPdfFileWriter, fields: Sequence[SignatureField]) -> None:
    """Append empty signature fields to the file that ``writer`` updates.

    Raises ``SealError`` when the file already has a form, a name is used twice, or a box lies off its page.
    """
    if "/AcroForm" in writer.root:
        raise SealError("the pages already hold form fields; a report is signed once, from its unsigned pages")
    if len({field.name for field in fields}) != len(fields):
        raise SealError("two signature fields have the same name")
    references = generic.ArrayObject(_place(writer, field) for field in fields)
    form = generic.DictionaryObject(
        {pdf_name("/Fields"): references, pdf_name("/SigFlags"): generic.NumberObject(_APPEND_ONLY)}
    )
    writer.root[pdf_name("/AcroForm")] = writer.add_object(form)
    writer.update_root()


def place_invisible_field(writer: IncrementalPdfFileWriter, name: str, description: str) -> None:
    """Append an empty signature field without a size, on no page, to the form of the file that ``writer`` updates."""
    field = generic.DictionaryObject(
        {
            pdf_name("/Type"): pdf_name("/Annot"),
            pdf_name("/Subtype"): pdf_name("/Widget"),
            pdf_name("/FT"): pdf_name("/Sig"),
            pdf_name("/T"): text_string(name),
            pdf_name("/TU"): text_string(description),
            pdf_name("/F"): generic.NumberObject(_PRINT_AND_LOCKED),
            pdf_name("/Rect"): generic.ArrayObject([generic.NumberObject(0)] * 4),
        }
    )
    try:
        listed = writer.root["/AcroForm"]["/Fields"]
    except KeyError as lack:
        raise SealError("only a signed report can be renewed") from lack
    listed.append(writer.add_object(field))
    writer.update_container(listed)


def _place(writer: IncrementalPdfFileWriter, field: SignatureField) -> generic.IndirectObject:
    number, left, bottom, right, top = field.box
    count = int(writer.root["/Pages"]["/Count"])
    if not 1 <= number <= count:
        raise SealError(f"a signature field is asked for on page {number} of {count}")
    page: generic.IndirectObject = writer.find_page_for_modification(number - 1)[0]
    holder = page.get_object()
    while "/MediaBox" not in holder:
        holder = holder["/Parent"]
    x0, y0, x1, y1 = (float(corner) for corner in holder["/MediaBox"])
    if not (x0 <= left < right <= x1 and y0 <= bottom < top <= y1):
        raise SealError(f"the signature field {field.name} does not lie on its page")
    # what is written gives the appearance too
    left, bottom, right, top = (round(corner, 3) for corner in (left, bottom, right, top))
    appearance = generic.StreamObject(
        {
            pdf_name("/Type"): pdf_name("/XObject"),
            pdf_name("/Subtype"): pdf_name("/Form"),
            pdf_name("/BBox"): _numbers(0, 0, right - left, top - bottom),
            pdf_name("/Resources"): generic.DictionaryObject(),
        },
        stream_data=b"",
    )
    normal = generic.DictionaryObject({pdf_name("/N"): writer.add_object(appearance)})
    widget = generic.DictionaryObject(
        {
            pdf_name("/Type"): pdf_name("/Annot"),
            pdf_name("/Subtype"): pdf_name("/Widget"),
            pdf_name("/FT"): pdf_name("/Sig"),
            pdf_name("/T"): text_string(field.name),
            pdf_name("/TU"): text_string(field.description),
            pdf_name("/F"): generic.NumberObject(_PRINT_AND_LOCKED),
            pdf_name("/Rect"): _numbers(left, bottom, right, top),
            pdf_name("/P"): page,
            pdf_name("/AP"): normal,
        }
    )
    reference = writer.add_object(widget)
    writer.register_annotation(page, reference)
    _tag(writer, widget, reference, page, field.description)
    return reference


def _numbers(*values: float) -> generic.ArrayObject:
    return generic.ArrayObject(generic.FloatObject(f"{value:.3f}") for value in values)


def _tag(
    writer: IncrementalPdfFileWriter,
    widget: generic.DictionaryObject,
    reference: generic.IndirectObject,
    page: generic.IndirectObject,
    description: str,
) -> None:
    """Hang the widget into the structure tree of a tagged file as a Form element; an untagged file is left as it is."""
    root_reference = _raw(writer.root, "/StructTreeRoot")
    if root_reference is None:
        return
    tree = root_reference.get_object()
    # above every key of the parent tree: the stated next key is not trusted to be so
    stated = int(tree["/ParentTreeNextKey"]) if "/ParentTreeNextKey" in tree else 0
    used = _keys(tree["/ParentTree"]) if "/ParentTree" in tree else []
    key = max([stated, *(number + 1 for number in used)])
    parent_reference, parent = _document_element(tree, root_reference)
    widget_in_tree = generic.DictionaryObject(
        {pdf_name("/Type"): pdf_name("/OBJR"), pdf_name("/Obj"): reference, pdf_name("/Pg"): page}
    )
    element = writer.add_object(
        generic.DictionaryObject(
            {
                pdf_name("/Type"): pdf_name("/StructElem"),
                pdf_name("/S"): pdf_name("/Form"),
                pdf_name("/P"): parent_reference,
                pdf_name("/Pg"): page,
                pdf_name("/Alt"): text_string(description),
                pdf_name("/K"): widget_in_tree,
            }
        )
    )
    widget[pdf_name("/StructParent")] = generic.NumberObject(key)
    kids = _raw(parent, "/K")
    listed = kids.get_object() if kids is not None else None
    if isinstance(listed, generic.ArrayObject):
        listed.append(element)
        writer.update_container(listed)
    else:
        parent[pdf_name("/K")] = generic.ArrayObject([element] if kids is None else [kids, element])
        writer.update_container(parent)
    _extend_parent_tree(writer, tree, key, element)
    tree[pdf_name("/ParentTreeNextKey")] = generic.NumberObject(key + 1)
    writer.mark_update(root_reference)


def _raw(container: Any, key: str) -> Any:
    try:
        return container.raw_get(key)
    except KeyError:
        return None


def _keys(node: Any) -> list[int]:
    found = [int(number) for number in list(_entries(node, "/Nums"))[::2]]
    for kid in _entries(node, "/Kids"):
        found += _keys(kid.get_object())
    return found


def _entries(node: Any, key: str) -> Any:
    """Return the array at ``key``, reference resolved (the library's ``get`` does not), or nothing."""
    try:
        return node[key]
    except KeyError:
        return ()


def _document_element(tree: Any, root_reference: Any) -> tuple[Any, Any]:
    """Return the single element below the root (the document), or the root itself where there are several."""
    kids = _raw(tree, "/K")
    resolved = kids.get_object() if kids is not None else None
    if isinstance(resolved, generic.ArrayObject) and len(resolved) == 1:
        kids = resolved.raw_get(0)
        resolved = kids.get_object()
    if isinstance(resolved, generic.DictionaryObject) and isinstance(kids, generic.IndirectObject):
        return kids, resolved
    return root_reference, tree


def _extend_parent_tree(writer: IncrementalPdfFileWriter, tree: Any, key: int, element: Any) -> None:
    pair = [generic.NumberObject(key), element]
    if "/ParentTree" not in tree:
        numbers = generic.DictionaryObject({pdf_name("/Nums"): generic.ArrayObject(pair)})
        tree[pdf_name("/ParentTree")] = writer.add_object(numbers)
        return
    node = tree["/ParentTree"]
    if "/Kids" in node:
        limits = generic.ArrayObject([generic.NumberObject(key)] * 2)
        leaf = generic.DictionaryObject({pdf_name("/Limits"): limits, pdf_name("/Nums"): generic.ArrayObject(pair)})
        grown, more = node["/Kids"], [writer.add_object(leaf)]
    else:
        grown, more = node["/Nums"], pair
    grown.extend(more)
    writer.update_container(grown)
