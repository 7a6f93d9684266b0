"""Something appended to a signed report: as a proper revision, as a crafted table, as plain bytes."""

from __future__ import annotations

import functools
import io
import re
import zipfile
from typing import TYPE_CHECKING, Any

from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.generic import pdf_name, pdf_string
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from tests.e2e.tamper.rows import LATER_REVISION, NOT_FOUND, Row, failed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Edit = Callable[[IncrementalPdfFileWriter], None]


class _Update(IncrementalPdfFileWriter):
    """Changes nothing but what the row says, and numbers new objects without a gap."""

    def __init__(self, stream: io.BytesIO) -> None:
        super().__init__(stream)
        self._lastobj_id -= 1

    def _update_meta(self) -> None:
        pass


def appended(pdf: bytes, edit: Edit) -> bytes:
    """Return ``pdf`` with one more revision that holds what ``edit`` changed."""
    writer = _Update(io.BytesIO(pdf))
    edit(writer)
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


def dictionary(**entries: Any) -> generic.DictionaryObject:
    return generic.DictionaryObject({pdf_name(f"/{key}"): value for key, value in entries.items()})


def name(text: str) -> generic.NameObject:
    return pdf_name(f"/{text}")


def numbers(*values: float) -> generic.ArrayObject:
    return generic.ArrayObject(generic.FloatObject(str(value)) for value in values)


def page(writer: Any) -> Any:
    return writer.root["/Pages"]["/Kids"].raw_get(0)


def _set(where: Callable[[Any], Any], key: str, value: Callable[[Any], Any]) -> Edit:
    def edit(writer: Any) -> None:
        target = where(writer)
        target[pdf_name(f"/{key}")] = value(writer)
        writer.update_container(target)

    return edit


def _delete(where: Callable[[Any], Any], key: str) -> Edit:
    def edit(writer: Any) -> None:
        target = where(writer)
        del target[f"/{key}"]
        writer.update_container(target)

    return edit


def root(writer: Any) -> Any:
    return writer.root


def first_page(writer: Any) -> Any:
    return page(writer).get_object()


def form(writer: Any) -> Any:
    return writer.root["/AcroForm"]


def field(writer: Any) -> Any:
    return form(writer)["/Fields"][0]


def stream(content: bytes, **entries: Any) -> Callable[[Any], Any]:
    return lambda writer: writer.add_object(generic.StreamObject(dictionary(**entries), stream_data=content))


def annotation(kind: str, **entries: Any) -> Edit:
    def edit(writer: Any) -> None:
        extra = {key: value(writer) if callable(value) else value for key, value in entries.items()}
        thing = dictionary(Type=name("Annot"), Subtype=name(kind), Rect=numbers(60, 680, 400, 720), **extra)
        writer.register_annotation(page(writer), writer.add_object(thing))

    return edit


def _text_field(writer: Any) -> None:
    thing = dictionary(
        Type=name("Annot"),
        Subtype=name("Widget"),
        Rect=numbers(60, 680, 400, 720),
        FT=name("Tx"),
        T=pdf_string("remark"),
    )
    reference = writer.add_object(thing)
    writer.register_annotation(page(writer), reference)
    form(writer)["/Fields"].append(reference)
    writer.update_container(form(writer)["/Fields"])


def _signature_field(writer: Any) -> None:
    from pyhanko.sign.fields import SigFieldSpec, append_signature_field

    append_signature_field(writer, SigFieldSpec("Later", box=(60, 600, 200, 640)))


def _new_content(writer: Any) -> None:
    first_page(writer)[pdf_name("/Contents")] = stream(b"BT /F1 12 Tf 72 700 Td (does not conform) Tj ET")(writer)
    writer.mark_update(page(writer))


def _another_page(writer: Any) -> None:
    box = generic.ArrayObject(first_page(writer)["/MediaBox"])
    new = dictionary(Type=name("Page"), MediaBox=box, Resources=dictionary())
    writer.insert_page(new)


def _dropped_page(writer: Any) -> None:
    pages = writer.root["/Pages"]
    pages["/Kids"] = generic.ArrayObject([])
    pages["/Count"] = generic.NumberObject(0)
    writer.update_container(pages)


def _files(writer: Any) -> Any:
    return writer.root["/Names"]["/EmbeddedFiles"]["/Names"]


def _swapped_file(writer: Any) -> None:
    specification = _files(writer)[1]
    specification["/EF"]["/F"] = stream(b'{"verdict":"does not conform"}', Type=name("EmbeddedFile"))(writer)
    writer.update_container(specification)


def _added_file(writer: Any) -> None:
    content = stream(b"more", Type=name("EmbeddedFile"))(writer)
    specification = dictionary(Type=name("Filespec"), F=pdf_string("z"), UF=pdf_string("z"), EF=dictionary(F=content))
    _files(writer).extend([pdf_string("z"), writer.add_object(specification)])
    writer.update_container(_files(writer))


def _title(writer: Any) -> None:
    info = writer.trailer["/Info"]
    info[pdf_name("/Title")] = pdf_string("Another report")
    writer.update_container(info)


def _layers(writer: Any) -> Any:
    group = writer.add_object(dictionary(Type=name("OCG"), Name=pdf_string("cover")))
    return dictionary(OCGs=generic.ArrayObject([group]), D=dictionary(OFF=generic.ArrayObject([group])))


def _script(code: str = "app.alert(1)") -> generic.DictionaryObject:
    return dictionary(S=name("JavaScript"), JS=pdf_string(code))


def _security_store(writer: Any) -> Any:
    return writer.add_object(dictionary(Certs=generic.ArrayObject([stream(b"junk")(writer)])))


def _appearance(writer: Any) -> Any:
    box = {"Type": name("XObject"), "Subtype": name("Form"), "BBox": numbers(0, 0, 340, 40)}
    return dictionary(N=stream(b"1 g 0 0 340 40 re f", **box)(writer))


def _edits() -> Iterator[tuple[str, Edit, str]]:
    """Yield what was appended, how, and the reasons beyond the change itself."""
    yield "page content exchanged", _new_content, "ORPHAN_OBJECTS"
    yield "page added", _another_page, ""
    yield "page removed", _dropped_page, "FORMAT_FAILURE"
    yield "page turned", _set(first_page, "Rotate", lambda _: generic.NumberObject(180)), ""
    yield "page cropped", _set(first_page, "CropBox", lambda _: numbers(0, 0, 50, 50)), ""
    yield (
        "font exchanged",
        _set(lambda w: first_page(w)["/Resources"]["/Font"]["/F1"], "BaseFont", lambda _: name("Symbol")),
        "",
    )
    yield "embedded file exchanged", _swapped_file, "EMBEDDED_FILES"
    yield "embedded file added", _added_file, "EMBEDDED_FILES"
    yield "script on opening", _set(root, "OpenAction", lambda _: _script()), "ACTIVE_CONTENT"
    yield "script on a page", _set(first_page, "AA", lambda _: dictionary(O=_script())), "ACTIVE_CONTENT"
    yield "named script", _set(lambda w: w.root["/Names"], "JavaScript", lambda _: dictionary()), "ACTIVE_CONTENT"
    yield "XFA form", _set(form, "XFA", stream(b"<xdp/>")), "ACTIVE_CONTENT"
    yield "program to start", _set(root, "OpenAction", lambda _: dictionary(S=name("Launch"))), "ACTIVE_CONTENT"
    yield "overlay of text", annotation("FreeText", Contents=pdf_string("conforms"), AP=_appearance), "ANNOTATIONS"
    yield "stamp", annotation("Stamp", AP=_appearance), "ANNOTATIONS"
    yield "white rectangle", annotation("Square", AP=_appearance), "ANNOTATIONS"
    yield "note", annotation("Text", Contents=pdf_string("see over")), "ANNOTATIONS"
    yield "redaction", annotation("Redact"), "ANNOTATIONS"
    yield "link", annotation("Link"), "ANNOTATIONS"
    yield "text field", _text_field, ""
    yield "empty signature field", _signature_field, ""
    yield "field moved", _set(field, "Rect", lambda _: numbers(0, 0, 500, 700)), ""
    yield "field renamed", _set(field, "T", lambda _: pdf_string("Owner")), "SIGNER_NOT_NAMED"
    yield "field given an appearance", _set(field, "AP", _appearance), "ORPHAN_OBJECTS"
    yield "field hidden", _set(field, "F", lambda _: generic.NumberObject(2)), ""
    yield (
        "appearances to be redrawn",
        _set(form, "NeedAppearances", lambda _: generic.BooleanObject(True)),
        "",
    )
    yield "title", _title, ""
    yield (
        "metadata",
        _set(root, "Metadata", stream(b"<x/>", Type=name("Metadata"), Subtype=name("XML"))),
        "ORPHAN_OBJECTS",
    )
    yield "marked as tagged", _set(root, "MarkInfo", lambda _: dictionary(Marked=generic.BooleanObject(True))), ""
    yield "layers", _set(root, "OCProperties", _layers), "LAYERS"
    yield "junk for long-term validation", _set(root, "DSS", _security_store), "CHANGED_AFTER_SIGNING"
    yield "page labels", _set(root, "PageLabels", lambda _: dictionary(Nums=generic.ArrayObject())), ""
    yield "viewer preferences", _set(root, "ViewerPreferences", lambda _: dictionary()), ""
    yield "an object nothing refers to", lambda writer: writer.add_object(pdf_string("x")), "ORPHAN_OBJECTS"


def rows() -> Iterator[Row]:
    bases = (("", made.report), (" while countersignatures are awaited", made.open_report))
    for suffix, base in bases:
        for what, edit, more in _edits():
            build = functools.partial(_build, base, edit)
            yield failed(what + suffix, build, f"CHANGED_AFTER_SIGNING {more}", why=LATER_REVISION)
    for what, edit, more in list(_edits())[:2]:
        build = functools.partial(_build, made.complete_report, edit)
        yield failed(f"{what} after all signatures", build, f"CHANGED_AFTER_SIGNING {more}", why=LATER_REVISION)
    yield failed(
        "a new table without the information",
        _build_table_only,
        "CHANGED_AFTER_SIGNING ORPHAN_OBJECTS",
        why=LATER_REVISION,
    )
    yield from _removed()
    yield from _plain_bytes()


def _two_reports() -> bytes:
    return made.report() + made.sealed(made.unsigned(count=2))


def _build(base: Callable[[], bytes], edit: Edit) -> bytes:
    return appended(base(), edit)


def _build_table_only() -> bytes:
    report = made.report()
    size, catalog = re.findall(rb"/Size (\d+)", report)[-1], re.findall(rb"/Root (\d+ 0 R)", report)[-1]
    start = re.findall(rb"startxref\s+(\d+)", report)[-1]
    table = b"xref\n0 0\ntrailer\n<< /Size %b /Root %b /Prev %b >>\nstartxref\n%d\n%%%%EOF\n"
    return report + table % (size, catalog, start, len(report))


def _removed() -> Iterator[Row]:
    """Yield reports whose signature was taken out of use by a later revision."""
    empty = generic.ArrayObject
    gone = "CHANGED_AFTER_SIGNING SIGNATURE_COUNT"
    found = {"pdfsig": "valid", "why": "it also finds signatures that are not in the form, only on a page"}
    lost = {"pdfsig": "none", "why": NOT_FOUND}
    removals: tuple[tuple[str, Edit, str, dict[str, Any]], ...] = (
        ("field taken out of the form", _set(form, "Fields", lambda _: empty()), "ANNOTATIONS", found),
        ("form taken out of the catalog", _delete(root, "AcroForm"), "ANNOTATIONS ORPHAN_OBJECTS", found),
        ("signature taken out of its field", _delete(field, "V"), "", lost),
    )
    for what, edit, more, opinion in removals:
        yield failed(what, functools.partial(_build, made.report, edit), f"{gone} {more}", **opinion)
    unlisted = _delete(root, "Perms")
    yield failed(
        "certification taken out of the catalog",
        functools.partial(_build, made.report, unlisted),
        "CHANGED_AFTER_SIGNING",
        why=LATER_REVISION,
    )


def _plain_bytes() -> Iterator[Row]:
    def archive() -> bytes:
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as file:
            file.writestr("other.txt", "another report")
        return packed.getvalue()

    beyond = "BYTES_AFTER_END CHANGED_AFTER_SIGNING"
    after: tuple[tuple[str, Callable[[], bytes], str], ...] = (
        ("line ends after the end", lambda: b"\n\n\n", beyond),
        ("one line end after the end", lambda: b"\n", beyond),
        ("a blank after the end", lambda: b" ", beyond),
        ("zeros after the end", lambda: b"\0" * 100, f"{beyond} ORPHAN_OBJECTS"),
        ("text after the end", lambda: b"conforms", f"{beyond} ORPHAN_OBJECTS"),
        ("a comment after the end", lambda: b"% conforms\n", f"{beyond} ORPHAN_OBJECTS"),
        ("an archive after the end", archive, f"{beyond} ORPHAN_OBJECTS"),
        ("a second end of file", lambda: b"%%EOF\n", "FORMAT_FAILURE CHANGED_AFTER_SIGNING"),
        ("megabytes before the end of file", lambda: b"\0" * (1 << 20) + b"\n%%EOF\n", "FORMAT_FAILURE"),
    )
    for what, tail, reasons in after:
        yield failed(what, lambda tail=tail: made.report() + tail(), reasons, why=LATER_REVISION)
    yield failed(
        "another PDF after it", lambda: made.report() + made.pages(), "FORMAT_FAILURE", pdfsig="none", why=NOT_FOUND
    )
    yield failed("another signed report after it", _two_reports, "FORMAT_FAILURE", pdfsig="invalid")
    yield failed("bytes before the beginning", lambda: b"\n\n" + made.report(), "FORMAT_FAILURE", pdfsig="invalid")
    yield failed("last byte cut off", lambda: made.report()[:-1], "UNCOVERED_BYTES SIGNATURE_COUNT", pdfsig="invalid")
    yield failed(
        "end of file cut off",
        lambda: made.report()[:-6],
        "BYTES_AFTER_END FORMAT_FAILURE UNCOVERED_BYTES",
        pdfsig="invalid",
    )
    yield failed(
        "half of it",
        lambda: made.report()[: len(made.report()) // 2],
        "BYTES_AFTER_END FORMAT_FAILURE",
        pdfsig="none",
        why=NOT_FOUND,
    )
    yield failed("nothing", lambda: b"", "FORMAT_FAILURE", pdfsig="none", why=NOT_FOUND)
