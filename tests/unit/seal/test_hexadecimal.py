"""Strings of hexadecimal digits read in one step are what the signature library reads digit by digit."""

import io

import pytest
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.misc import PdfError

from reportgen.increments.fields import digit_by_digit, read_hexadecimal

SPELLED = (
    b"<>",
    b"<00>",
    b"<feFF00410042>",
    b"<EFBBBF41>",
    b"<c3>",
    b"<" + b"30820a0b" * 5000 + b">",
    b"<" + b"0" * 127 + b">",
    b"<" + b"0" * 128 + b">",
    b"<414>",
    b"< 41 42\n43 >",
    b"<41%42>\n43>",
    b"<4G>",
    b"<41<42>>",
    b"<41",
    b"<" + b"41" * 200_000,
    b"<" + b"41" * 200_000 + b">",
)


def told(read, data: bytes, before: bytes) -> tuple:
    """What a reader answers of what stands after ``before``, and where it leaves off; or how it refuses."""
    stream = io.BytesIO(before + data + b" /Next 1")
    stream.seek(len(before))
    try:
        found = read(stream)
    except PdfError as refusal:
        return type(refusal), str(refusal)
    return type(found), found.original_bytes, found, stream.tell()


@pytest.mark.parametrize("before", [b"", b"/ID ["], ids=["at the beginning", "later"])
@pytest.mark.parametrize("data", SPELLED, ids=range(len(SPELLED)))
def test_it_is_what_the_library_reads(data: bytes, before: bytes) -> None:
    assert told(read_hexadecimal, data, before) == told(digit_by_digit, data, before)


def test_the_library_reads_the_value_of_a_signature_so() -> None:
    assert digit_by_digit is not read_hexadecimal
    assert generic.read_hex_string_from_stream is read_hexadecimal
    stream = io.BytesIO(b"<</Contents <" + b"00" * 9000 + b">>>")
    read = []
    stream.read = lambda size=-1, whole=stream.read: read.append(size) or whole(size)
    found = generic.read_object(stream, generic.Reference(1, 0))
    assert found["/Contents"].original_bytes == bytes(9000)
    assert len(read) < 100
