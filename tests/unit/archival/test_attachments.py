"""Embedded files: what is refused when they are written, and when they are read from a stranger's file."""

from __future__ import annotations

import io
import zlib
from datetime import UTC, datetime

import pikepdf
import pytest

from reportgen.archival import MIME_TYPES, Attachment, read_attachments
from reportgen.archival.attachments import embedded_file, file_specification, name_key

DAY = Attachment("day.yaml", b"abc", "application/yaml", "Source", "Day (µm)")


@pytest.mark.parametrize(
    "name",
    ["", "/etc/x", "../x", "a/../b", "a/b", "a//b", "a/", "a\\b", "C:x", "a\nb", ".", "a/./b", "x" * 201, "a\x7fb"],
)
def test_names_are_plain_relative_paths(name):
    with pytest.raises(ValueError, match="not a plain name of a file"):
        Attachment(name, b"", "text/csv", "Source", "")


@pytest.mark.parametrize("name", ["a.yaml", "2026-05-14 µm.csv", "..x..", "x" * 200])
def test_names_that_are(name):
    assert Attachment(name, b"", "text/csv", "Source", "").name == name


@pytest.mark.parametrize("mime", ["", "yaml", "text/", "Text/CSV", "text/csv; charset=utf-8"])
def test_mime_types(mime):
    with pytest.raises(ValueError, match="not a MIME type"):
        Attachment("a", b"", mime, "Source", "")


def test_relationships():
    with pytest.raises(ValueError, match="not a relationship of ISO 19005-3: 'Input'"):
        Attachment("a", b"", "text/csv", "Input", "")  # type: ignore[arg-type]


@pytest.mark.parametrize("mime", MIME_TYPES.values())
def test_known_types_are_types(mime):
    assert Attachment("a", b"", mime, "Source", "").mime == mime


def test_objects_of_a_file():
    """The checksum is that of RFC 1321's test suite (appendix A.5)."""
    packed = zlib.compress(b"abc")
    assert embedded_file(DAY, datetime(2026, 5, 14, tzinfo=UTC)) == (
        b"<</Type/EmbeddedFile/Subtype/application#2Fyaml/Params<</Size 3/CheckSum<900150983CD24FB0D6963F7D28E17F72>"
        b"/CreationDate(D:20260514000000+00'00')/ModDate(D:20260514000000+00'00')>>/Filter/FlateDecode"
        b"/Length %d>>\nstream\n%b\nendstream" % (len(packed), packed)
    )
    assert file_specification(DAY, 7) == (
        b"<</Type/Filespec/F(day.yaml)/UF(day.yaml)/Desc<FEFF00440061007900200028"
        b"00B5006D0029>/AFRelationship/Source/EF<</F 7 0 R/UF 7 0 R>>>>"
    )


def test_order_of_the_name_tree():
    names = [Attachment(name, b"", "text/csv", "Source", "") for name in ("b", "µ", "a-z", "Z")]
    assert [one.name for one in sorted(names, key=name_key)] == ["Z", "a-z", "b", "µ"]


def with_files(*entries: tuple[str, bytes], change=lambda _pdf, _specification: None, kids: bool = False) -> bytes:
    """A file of another maker, with files embedded as given, after a change to the last of them."""
    pdf = pikepdf.new()
    names = []
    for name, data in entries:
        stream = pdf.make_stream(b"")
        stream.write(zlib.compress(data), filter=pikepdf.Name.FlateDecode)
        specification = pikepdf.Dictionary(Type=pikepdf.Name.Filespec, UF=name, EF=pikepdf.Dictionary(F=stream))
        change(pdf, specification)
        names += [name, pdf.make_indirect(specification)]
    tree = pikepdf.Dictionary(Names=pikepdf.Array(names))
    if kids:
        tree = pikepdf.Dictionary(Kids=[pdf.make_indirect(tree)])
    pdf.Root.Names = pikepdf.Dictionary(EmbeddedFiles=tree)
    target = io.BytesIO()
    pdf.save(target, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    return target.getvalue()


@pytest.mark.parametrize("kids", [False, True])
def test_files_of_other_makers_are_read(kids):
    assert read_attachments(with_files(("../../x", b"1" * 50), ("µ", b""), kids=kids)) == {
        "../../x": b"1" * 50,
        "µ": b"",
    }


def test_file_without_filter_is_read():
    def bare(pdf, specification):
        specification.EF.F = pdf.make_stream(b"plain")

    assert read_attachments(with_files(("a", b""), change=bare)) == {"a": b"plain"}


def test_a_file_without_embedded_files():
    pdf, target = pikepdf.new(), io.BytesIO()
    pdf.add_blank_page()
    pdf.save(target)
    assert read_attachments(target.getvalue()) == {}


def test_no_more_is_unpacked_than_the_limit():
    bomb = with_files(("a", b"\0" * 1000), ("b", b"\0" * 1000))
    with pytest.raises(ValueError, match="the embedded files are larger than the limit"):
        read_attachments(bomb, largest_total=1999)
    assert len(read_attachments(bomb, largest_total=2000)) == 2
    plain = with_files(("a", b""), change=lambda pdf, entry: setattr(entry.EF, "F", pdf.make_stream(b"12345")))
    with pytest.raises(ValueError, match="the embedded files are larger than the limit"):
        read_attachments(plain, largest_total=4)


def test_a_bomb_is_not_unpacked():
    import tracemalloc

    bomb = with_files(("a", bytes(50 << 20)))
    read_attachments(with_files())  # loads the library
    tracemalloc.start()
    with pytest.raises(ValueError, match="the embedded files are larger than the limit"):
        read_attachments(bomb, largest_total=1000)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 5 << 20


def _packed_as(*filters: str, **entries: object):
    def change(_pdf, specification):
        specification.EF.F.write(b"61>", filter=[pikepdf.Name(name) for name in filters])
        for key, value in entries.items():
            specification.EF.F[f"/{key}"] = value

    return change


def _damaged(_pdf, specification):
    specification.EF.F.write(b"not packed", filter=pikepdf.Name.FlateDecode)


def _cut(_pdf, specification):
    specification.EF.F.write(zlib.compress(b"1" * 100)[:-6], filter=pikepdf.Name.FlateDecode)


def _parameters(**entries: object):
    def change(_pdf, specification):
        specification.EF.F.Params = pikepdf.Dictionary(**entries)

    return change


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (_packed_as("/ASCIIHexDecode"), "an embedded file is packed in an unusual way"),
        (_packed_as("/FlateDecode", "/FlateDecode"), "an embedded file is packed in an unusual way"),
        (_packed_as("/FlateDecode", DecodeParms=pikepdf.Dictionary(Predictor=12)), "packed in an unusual way"),
        (_damaged, "an embedded file cannot be unpacked"),
        (_cut, "an embedded file is cut short"),
        (_parameters(Size=6), "an embedded file does not have its recorded size"),
        (_parameters(CheckSum=pikepdf.String(b"\x00" * 16)), "an embedded file does not have its recorded checksum"),
        (lambda _pdf, entry: entry.__delitem__("/EF"), "an embedded file has no content"),
        (lambda _pdf, entry: entry.EF.__setitem__("/F", pikepdf.Array()), "an embedded file has no content"),
    ],
)
def test_what_is_refused(change, message):
    with pytest.raises(ValueError, match=message):
        read_attachments(with_files(("a", b"12345"), change=change))


def test_recorded_size_and_checksum_that_agree():
    from hashlib import md5

    digest = md5(b"12345", usedforsecurity=False).digest()
    change = _parameters(Size=5, CheckSum=pikepdf.String(digest))
    assert read_attachments(with_files(("a", b"12345"), change=change)) == {"a": b"12345"}


def test_a_name_used_twice_is_refused():
    with pytest.raises(ValueError, match="two embedded files have the same name"):
        read_attachments(with_files(("a", b"1"), ("a", b"2")))


def test_a_tree_without_end_is_refused():
    def loop(pdf):
        node = pdf.make_indirect(pikepdf.Dictionary())
        node.Kids = pikepdf.Array([node])
        pdf.Root.Names = pikepdf.Dictionary(EmbeddedFiles=node)

    pdf, target = pikepdf.new(), io.BytesIO()
    loop(pdf)
    pdf.save(target)
    with pytest.raises(ValueError, match="the list of embedded files has no end"):
        read_attachments(target.getvalue())


@pytest.mark.parametrize("entry", [pikepdf.Array([1]), pikepdf.Array(["a"]), pikepdf.Dictionary(), 7])
def test_a_tree_that_is_none_is_refused(entry):
    pdf, target = pikepdf.new(), io.BytesIO()
    pdf.Root.Names = pikepdf.Dictionary(EmbeddedFiles=pikepdf.Dictionary(Names=entry))
    pdf.save(target)
    with pytest.raises(ValueError, match="embedded files"):
        read_attachments(target.getvalue())


@pytest.mark.parametrize("data", [b"", b"not a PDF", b"%PDF-1.7\n%%EOF\n"])
def test_what_is_no_pdf_is_refused(data):
    with pytest.raises(ValueError, match="the list of embedded files cannot be read"):
        read_attachments(data)
