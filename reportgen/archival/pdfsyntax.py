"""The few forms of PDF syntax that archival objects need (ISO 32000-1 §7.3)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.pdf.fonts import storable

if TYPE_CHECKING:
    from datetime import datetime

_PLAIN_IN_NAMES = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.+*")


def name(text: str) -> bytes:
    """A name object.

    >>> name("text/csv")
    b'/text#2Fcsv'
    """
    return b"/" + b"".join([b"%c" % byte if byte in _PLAIN_IN_NAMES else b"#%02X" % byte for byte in text.encode()])


def string(text: str) -> bytes:
    """A text string: literal where it is plain ASCII, else UTF-16 in hexadecimal.

    >>> string("Report (1)"), string("2½")
    (b'(Report \\\\(1\\\\))', b'<FEFF003200BD>')
    """
    if text.isascii() and text.isprintable():
        return b"(" + text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)").encode() + b")"
    return b"<FEFF" + storable(text).encode("utf-16-be").hex().upper().encode() + b">"


def date(moment: datetime) -> bytes:
    """A date string with offset, to the second; ``moment`` must know its offset (ValueError).

    >>> from datetime import datetime
    >>> date(datetime.fromisoformat("2026-05-14T16:30:00+02:00"))
    b"(D:20260514163000+02'00')"
    """
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError(f"a time without its offset from UTC: {moment}")
    minutes = round(offset.total_seconds() / 60)
    sign, minutes = ("-", -minutes) if minutes < 0 else ("+", minutes)
    return f"(D:{moment:%Y%m%d%H%M%S}{sign}{minutes // 60:02d}'{minutes % 60:02d}')".encode()


def stream(entries: bytes, content: bytes) -> bytes:
    """A stream object with the given dictionary entries, ``/Length`` added."""
    return b"<<%b/Length %d>>\nstream\n%b\nendstream" % (entries, len(content), content)
