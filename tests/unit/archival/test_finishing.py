"""The last step: which files it takes, and what it makes of them."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import datetime

import pikepdf
import pytest
from reportlab.pdfgen.canvas import Canvas

from reportgen.archival import Attachment, Metadata, make_archival, read_attachments, written_attachment
from reportgen.pdf.canvas import tagged
from tests.unit.pdf.drawn import new_canvas

METADATA = Metadata("T", "7", datetime.fromisoformat("2026-05-14T16:30:00+02:00"), "reportgen", "A")
REFUSED = re.escape("not a file that reportgen.pdf wrote, or changed since")
ONE = Attachment("a.csv", b"1\n", "text/csv", "Source", "one")


def page() -> bytes:
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "text")
    data: bytes = canvas.getpdfdata()
    return data


def test_pages_stay_as_they_are():
    before, after = page(), make_archival(page(), metadata=METADATA, attachments=[ONE])
    with pikepdf.open(io.BytesIO(before)) as one, pikepdf.open(io.BytesIO(after)) as other:
        assert one.pages[0].Contents.read_bytes() == other.pages[0].Contents.read_bytes()
        kept = set(one.Root.keys())
        assert set(other.Root.keys()) - kept == {"/Metadata", "/OutputIntents", "/Names", "/AF"}
        assert not kept - set(other.Root.keys())
    assert after.startswith(before[: before.index(b"/Title") - 20])


def test_without_attachments_there_is_no_list_of_them():
    with pikepdf.open(io.BytesIO(make_archival(page(), metadata=METADATA))) as pdf:
        assert "/Names" not in pdf.Root
        assert "/AF" not in pdf.Root


def test_result_is_one_revision_and_not_finished_twice():
    data = make_archival(page(), metadata=METADATA)
    assert data.count(b"%%EOF") == data.count(b"startxref") == 1
    again = make_archival(page(), metadata=METADATA, attachments=[ONE])
    with pytest.raises(ValueError, match=REFUSED):
        make_archival(again, metadata=METADATA)


def test_input_that_the_layout_did_not_write():
    target = io.BytesIO()
    canvas = Canvas(target)
    canvas.drawString(10, 10, "text")
    canvas.save()
    for data in (target.getvalue(), b"", page()[:-1], page() + b"\n", page().replace(b"/Catalog", b"/Katalog1")):
        with pytest.raises(ValueError, match=REFUSED):
            make_archival(data, metadata=METADATA)


@pytest.mark.parametrize("old", [b"/Size ", b"/Root ", b"/Info "])
def test_trailer_that_does_not_fit(old):
    data = page()
    at = data.rindex(old)
    with pytest.raises(ValueError, match=REFUSED):
        make_archival(data[:at] + old + b"1" + data[at + len(old) :], metadata=METADATA)


def test_catalog_that_is_not_where_it_belongs():
    data = page()
    with pytest.raises(ValueError, match=REFUSED):
        make_archival(data.replace(b"/Type /Catalog", b"/Type /AF/Cata"), metadata=METADATA)


def test_names_are_unique():
    with pytest.raises(ValueError, match="out of order, or twice"):
        make_archival(page(), metadata=METADATA, attachments=[ONE, replace(ONE, data=b"2")])


def test_level_a_needs_tags():
    bare = page().replace(b"/StructTreeRoot ", b"/StrangeTreeRoot")  # as long as before
    with pytest.raises(ValueError, match="pages without tags can be PDF/A of level B at most"):
        make_archival(bare, metadata=replace(METADATA, accessible=False))
    assert make_archival(bare, metadata=replace(METADATA, accessible=False, conformance="B"))


def test_order_of_the_attachments_does_not_matter():
    other = Attachment("b.json", b"{}", "application/json", "Data", "two")
    one = make_archival(page(), metadata=METADATA, attachments=[ONE, other])
    assert one == make_archival(page(), metadata=METADATA, attachments=[other, ONE])


def test_identifier_follows_content():
    identifiers = set()
    for metadata, files in ((METADATA, []), (METADATA, [ONE]), (replace(METADATA, number="8"), [])):
        with pikepdf.open(io.BytesIO(make_archival(page(), metadata=metadata, attachments=files))) as pdf:
            identifiers.add(bytes(pdf.trailer.ID[0]))
    assert len(identifiers) == 3


TWO = Attachment("b (µ).json", b"{}" * 400, "application/json", "Data", "two")


def test_what_was_written_is_found_without_a_parser():
    data = make_archival(page(), metadata=METADATA, attachments=[ONE, TWO])
    parsed = read_attachments(data)
    assert (
        {name: written_attachment(data, name) for name in parsed} == parsed == {ONE.name: ONE.data, TWO.name: TWO.data}
    )
    assert written_attachment(data, "c.csv") is None


@pytest.mark.parametrize(("old", "new"), [
    (b"<</Type/Filespec/F(a.csv)", b"<</Type/Filespec/F(c.csv)"), (b"/EF<</F ", b"/EF<</X "),
    (b"<</Type/EmbeddedFile/S", b"<</Type/EmbeddedFill/S"), (b"/CheckSum<", b"/CheckSum<0"),
    (b"/Size 2/", b"/Size 1/"), (b"stream\nx\x9c", b"stream\nx\x9d"), (b"/CheckSum<B", b"/CheckSum<C"),
    (b"%%EOF", b"%PDF-"),
])  # fmt: skip
def test_what_is_not_plainly_as_written_is_left_to_the_parser(old, new):
    data = make_archival(page(), metadata=METADATA, attachments=[ONE])
    assert old in data
    assert written_attachment(data.replace(old, new), ONE.name) is None
