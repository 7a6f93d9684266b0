"""The text of pages, in the order in which it was written: read here with two libraries that must agree."""

import io
import zlib
from types import SimpleNamespace

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from reportgen.verification import Evidence, pageread
from reportgen.verification.embedded_files import check_injected

TABLE = b"2 beginbfchar\n<01> <0041>\n<02> <D835DC00>\nendbfchar\n1 beginbfchar\n<03> <00660069>\nendbfchar"
"""Code 1 is A, 2 a letter outside the first plane, 3 two letters in one glyph."""
OTHER = b"2 beginbfchar\n<01> <0042>\n<02> <0043>\nendbfchar"


def page_with(content: bytes, *, table: bytes | None = TABLE, kind: Name = Name.TrueType, **more: bytes) -> bytes:
    """One page with fonts /F and /G, a picture /I, and forms by name, each with or without resources of its own."""
    pdf = pikepdf.new()
    pdf.add_blank_page()
    fonts = Dictionary(F=_font(pdf, table, kind), G=_font(pdf, OTHER, Name.TrueType))
    drawn = Dictionary(I=pdf.make_stream(b"\x00", Type=Name.XObject, Subtype=Name.Image))
    for name, body in more.items():
        form = pdf.make_stream(body, Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 9, 9]))
        if name.startswith("own"):
            form.Resources = Dictionary(Font=Dictionary(F=fonts.G))
        drawn[Name("/" + name)] = pdf.make_indirect(form)
    pdf.pages[0].Resources = Dictionary(Font=fonts, XObject=drawn)
    pdf.pages[0].Contents = pdf.make_stream(content)
    target = io.BytesIO()
    pdf.save(target)
    return target.getvalue()


def _font(pdf: pikepdf.Pdf, table: bytes | None, kind: Name) -> pikepdf.Object:
    font = pdf.make_indirect(Dictionary(Type=Name.Font, Subtype=kind, BaseFont=Name.X, FirstChar=1, LastChar=3))
    font.Widths = Array([600, 600, 600])
    if table is not None:
        font.ToUnicode = pdf.make_stream(table)
    return font


def words(content: bytes, **more: bytes) -> list[str]:
    (text,) = pageread.page_texts(page_with(content, **more))
    return text.split()


@pytest.fixture
def alone(monkeypatch):
    """Without the other reader: what is read must have been read here."""
    page = SimpleNamespace(extract_text=lambda: "by another")
    monkeypatch.setattr("pypdf.PdfReader", lambda _file: SimpleNamespace(pages=[page]))


@pytest.mark.parametrize(("content", "expected"), [
    (b"BT /F 9 Tf (\x01) Tj (\x03) Tj ET", ["Afi"]),
    (b"BT /F 9 Tf (\x01) Tj /G 9 Tf (\x01) Tj /F 9 Tf (\x01) Tj ET", ["ABA"]),
    (b"BT /F 9 Tf (\x02) Tj 0 -9 Td (\x01) Tj 0 -9 TD (\x03) Tj T* (\x01) Tj ET", ["\U0001d400", "A", "fi", "A"]),
    (b"BT /F 9 Tf 9 TL (\x01) ' 0 0 (\x03) \" ET", ["A", "fi"]),
    (b"BT /F 9 Tf [(\x01) -20 (\x01) -900 (\x03)] TJ ET", ["AA", "fi"]),
    (b"BT /F 9 Tf 1 0 0 1 9 9 Tm (\x01) Tj ET BT /F 9 Tf (\x01) Tj ET /I Do", ["A", "A"]),
    (b"/G 9 Tf q /F 9 Tf BT (\x01) Tj ET Q BT (\x02) Tj ET", ["A", "C"]),
    (b"/F 9 Tf BT (\x01) Tj ET /own Do /lent Do BT (\x03) Tj ET", ["A", "B", "A", "fi"]),
])  # fmt: skip
def test_text_in_its_order(alone, content, expected):
    forms = {"own": b"BT /F 9 Tf (\x01) Tj ET", "lent": b"BT /F 9 Tf (\x01) Tj ET"}
    assert words(content, **forms) == expected


def test_content_is_told_from_head_and_foot(alone):
    head = b"/Artifact <</Type /Pagination>> BDC BT /F 9 Tf (\x01) Tj ET /Span BMC BT (\x02) Tj ET EMC EMC "
    page = page_with(head + b"/P <</MCID 0>> BDC BT /F 9 Tf (\x03) Tj ET EMC")
    assert len(pageread.page_texts(page)[0].split()) == 3
    assert pageread.page_texts(page, content_only=True)[0].split() == ["fi"]
    unmatched = page_with(b"EMC BT /F 9 Tf (\x03) Tj ET")
    assert pageread.page_texts(unmatched, content_only=True) == ["by another"]


def test_a_font_that_stands_in_the_resources_itself_is_not_taken_for_another(alone):
    """Direct objects have no number to know them by."""
    pdf = pikepdf.open(io.BytesIO(page_with(b"/F 9 Tf BT (\x01) Tj ET /G 9 Tf BT (\x01) Tj ET")))
    fonts = pdf.pages[0].Resources.Font
    for name in ("/F", "/G"):
        fonts[name] = Dictionary(fonts[name])
    target = io.BytesIO()
    pdf.save(target)
    assert pageread.page_texts(target.getvalue())[0].split() == ["A", "B"]


@pytest.mark.parametrize("given", [
    page_with(b"BT /F 9 Tf (\x04) Tj ET"),
    page_with(b"BT (\x01) Tj ET"),
    page_with(b"BT /H 9 Tf (\x01) Tj ET"),
    page_with(b"BT /F 9 Tf (\x01) Tj ET", table=None),
    page_with(b"BT /F 9 Tf (\x01) Tj ET", table=b"1 beginbfrange\n<01> <03> <0041>\nendbfrange"),
    page_with(b"BT /F 9 Tf (\x01) Tj ET", table=b"1 beginbfchar\n<01> <D835>\nendbfchar"),
    page_with(b"BT /F 9 Tf (\x01) Tj ET", kind=Name.Type0),
    page_with(b"Q BT /F 9 Tf (\x01) Tj ET"),
    page_with(b"BT /F 9 Tf Tj ET"),
    page_with(b"/again Do", again=b"/again Do"),
    page_with(b"/absent Do"),
    b"%PDF-1.7\n",
])  # fmt: skip
def test_pages_of_other_makers_are_left_to_the_other_reader(alone, given):
    assert pageread.page_texts(given) == ["by another"]


def test_the_other_reader_reads():
    given = page_with(b"BT /F 9 Tf (\x02\x01) Tj ET", table=b"1 beginbfrange\n<01> <02> <0041>\nendbfrange")
    assert pageread.page_texts(given) == ["BA"]


def frames_in(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return pageread.drawn_frames(opened.pages[0])


@pytest.mark.parametrize("read", [pageread.drawn_pictures, frames_in])
def test_content_that_cannot_be_unpacked_is_a_fault_of_the_file(read):
    """A deflate stream that is sound up to a block of no known type."""
    packer = zlib.compressobj()
    packed = packer.compress(b"BT /F 9 Tf (\x01) Tj ET ") + packer.flush(zlib.Z_SYNC_FLUSH) + b"\x07\xff\xff"
    pdf = pikepdf.open(io.BytesIO(page_with(b"")))
    pdf.pages[0].Contents = pikepdf.Stream(pdf, packed, Filter=Name.FlateDecode)
    target = io.BytesIO()
    pdf.save(target, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    with pytest.raises(pageread.ContentError, match="damaged"):
        read(target.getvalue())
    outcome, _ = check_injected(
        9, Evidence(target.getvalue(), {}, None), lambda one: read(one.pdf), name="PAGES_DIFFER", absent=""
    )
    assert (outcome.status, outcome.broke_off) == ("failed", False)
