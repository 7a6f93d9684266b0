"""A file written part by part is the one that is made in memory; marks of an embedded PDF do not show through."""

import datetime as dt
import io
import os
import zlib

import pytest

from reportgen.archival import Attachment, Metadata, make_archival, read_attachments, write_archival
from reportgen.archival.finishing import cut_and_packed
from reportgen.pdf.page import Furniture, build_pages, geometry


@pytest.fixture(scope="module")
def pages():
    furniture = Furniture(geometry("A4"), "left", "right", "footer", lambda page, pages: f"{page} of {pages}")
    from reportgen.pdf.blocks import running_text

    story = [running_text("text")]
    return build_pages(story, furniture, title="t", language="en", first_page_foot=0, finish_first_page=lambda _: None)[
        0
    ]


METADATA = Metadata("Title", "S-1", dt.datetime(2026, 3, 1, tzinfo=dt.UTC), "tool", "somebody")


def attached(name, data):
    return Attachment(name, data, "application/pdf", "Source", "told")


def test_the_parts_make_the_same_file_as_the_whole(pages):
    files = [attached("a.pdf", b"one" * 100), attached("b.pdf", b"two" * 100)]
    out = io.BytesIO()
    write_archival(pages, out, metadata=METADATA, attachments=iter(files))
    assert out.getvalue() == make_archival(pages, metadata=METADATA, attachments=files)


def test_files_out_of_order_or_twice_are_refused(pages):
    for names in (("b.pdf", "a.pdf"), ("a.pdf", "a.pdf")):
        with pytest.raises(ValueError, match="out of order, or twice"):
            write_archival(pages, io.BytesIO(), metadata=METADATA, attachments=[attached(name, b"x") for name in names])


def test_marks_between_what_cannot_be_packed_do_not_show_through(pages):
    noise = os.urandom(200_000)
    marks = b"\n/ByteRange [0 1 2 3]\nstartxref\n12\n%%EOF\ntrailer\n"
    data = noise[:100_000] + marks + noise[100_000:]
    assert b"startxref" in zlib.compress(data)
    packed = cut_and_packed(data)
    assert zlib.decompress(packed) == data
    assert not any(mark in packed for mark in (b"ByteRange", b"startxref", b"%%EOF", b"trailer"))
    out = io.BytesIO()
    write_archival(pages, out, metadata=METADATA, attachments=[attached("a.pdf", data)])
    assert out.getvalue().count(b"startxref") == 1
    assert read_attachments(out.getvalue()) == {"a.pdf": data}
