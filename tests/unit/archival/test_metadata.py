"""The XMP packet and the information dictionary."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from xml.etree import ElementTree as ET

import pytest

from reportgen.archival import Metadata
from reportgen.archival.metadata import information, xmp_packet

METADATA = Metadata(
    title="Report <7> & more",
    number="X-7 rev 1",
    issued=datetime.fromisoformat("2026-05-14T16:30:00.123456-03:30"),
    producer="reportgen 0.1",
    author='"A" & Söhne',
    language="en-GB",
)


def texts(packet: bytes) -> dict[str, list[str]]:
    """Every text of the packet by the local name of the property around it."""
    found: dict[str, list[str]] = {}
    start, end = packet.index(b"<x:xmpmeta"), packet.index(b"<?xpacket end")
    for element in ET.fromstring(packet[start:end]).iter():  # noqa: S314  # our own packet
        if element.tag.endswith("}Description"):
            for entry in element:
                name = entry.tag.rpartition("}")[2]
                found.setdefault(name, []).extend(
                    "".join(part.itertext()) for part in (entry.iter() if len(entry) == 0 else entry[0])
                )
    return found


def test_packet_holds_what_was_given():
    found = texts(xmp_packet(METADATA))
    assert found["title"] == ["Report <7> & more"] * 2  # for every language, and for its own
    assert found["creator"] == ['"A" & Söhne']
    assert found["identifier"] == ["X-7 rev 1"]
    assert found["language"] == ["en-GB"]
    assert found["CreateDate"] == found["ModifyDate"] == found["MetadataDate"] == ["2026-05-14T16:30:00-03:30"]
    assert (found["part"], found["conformance"]) == (["3", "1"], ["A"])
    assert "description" not in found
    assert texts(xmp_packet(replace(METADATA, subject="½ <x>")))["description"] == ["½ <x>"] * 2


def test_claims_are_those_asked_for():
    packet = xmp_packet(replace(METADATA, conformance="B", accessible=False))
    assert b"<pdfaid:conformance>B<" in packet
    assert b"pdfuaid" not in packet
    assert b"pdfaExtension" not in packet
    assert b"<pdfaid:conformance>A<" in xmp_packet(replace(METADATA, accessible=False))


def test_packet_is_framed():
    packet = xmp_packet(METADATA)
    assert packet.startswith('<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'.encode())
    assert packet.endswith(b'<?xpacket end="r"?>\n')


def test_information_leaves_out_what_is_empty():
    assert b"/Subject" not in information(METADATA)
    assert b"/Subject (x)" in information(replace(METADATA, subject="x"))


@pytest.mark.parametrize("field", ["title", "number", "producer", "author"])
def test_fields_that_may_not_be_empty(field):
    with pytest.raises(ValueError, match=f"the {field} of a report may not be empty"):
        replace(METADATA, **{field: " "})


@pytest.mark.parametrize("field", ["title", "number", "producer", "author", "subject"])
@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("a\nb\u00a0 c", "a b c"),
        ("a\x00", "a[U+0000]"),
        ("\u202eb", "[U+202E]b"),
        ("a\ud800\udcff", "a[U+D800 0xFF]"),
        ("橋 \U0001f642 \ue000", "橋 \U0001f642 \ue000"),
    ],
)
def test_fields_hold_any_text_on_one_line(field, text, held):
    metadata = replace(METADATA, **{field: text})
    assert getattr(metadata, field) == held
    assert held in xmp_packet(metadata).decode("utf-8")
    assert information(metadata)


@pytest.mark.parametrize("tag", ["", "e", "en_GB", 'en"', "en-", "{text}"])
def test_language_is_a_tag(tag):
    with pytest.raises(ValueError, match="not a language tag"):
        replace(METADATA, language=tag)


def test_accessible_files_are_level_a():
    with pytest.raises(ValueError, match="an accessible file is tagged, and so PDF/A level A"):
        replace(METADATA, conformance="B")


def test_time_needs_an_offset():
    with pytest.raises(ValueError, match="the time of issue needs its offset from UTC"):
        replace(METADATA, issued=datetime.fromisoformat("2026-05-14T16:30:00"))
