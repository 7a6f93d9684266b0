"""The list of originals inside a submittal, and what it says of each. Written by `submittal`, read by anyone."""

from __future__ import annotations

import hashlib
import json
import re
import zlib
from collections.abc import Mapping  # noqa: TC003 - `value_from` asks for the types of fields
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from reportgen.formats import OtherReleaseError, canonical_json, is_later, require_whole_characters
from reportgen.formats.decoding import value_from
from reportgen.issued.completeness import RegisterRead  # noqa: TC001 - likewise
from reportgen.verification.embedded_files import attachments, content_of
from reportgen.verification.forbidden_content import open_strictly
from reportgen.verification.verdict import Reason, Step, step_of
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pikepdf

SUBMITTAL_NAME = "submittal.json"
FORMAT = 1
_LONGEST_LIST = 32 << 20
_MOST_NODES = 10_000
_LARGEST_ORIGINAL = 256 << 20
_NAME = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,60}(-r\d{1,4})?(-[0-9a-f]{8})?\.pdf")


@dataclass(frozen=True, slots=True)
class Listed:
    """One original in a submittal: its name there, SHA-256 and size, which report it is.

    ``copied_pages`` is how many of its pages are also shown as copies; those of all originals end the submittal.
    ``doubts`` are the names of the reasons why it did not pass to whoever sent it, ``later_doubts`` those of them that
    are about none but a later signature, ``notices`` what has changed since it was issued. ``registered_as`` is the
    path that its row of the register states, where that is no usual one and another original proves it.
    """

    file: str
    sha256: str
    size: int
    number: str
    revision: int
    date: str
    copied_pages: int = 0
    doubts: tuple[str, ...] = ()
    later_doubts: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    registered_as: str | None = None


@dataclass(frozen=True, slots=True)
class Cover:
    """What the cover says that follows from no original: who sends it to whom, and how its pages are made.

    ``partial`` is why reports were left out, where the sender says so; ``registers`` are those of the contract that the
    reports were held against, with what they have and the submittal does not.
    """

    signer: str
    role: str
    organisation: str | None
    recipient: str
    remarks: str
    status: Literal["issue", "demonstration"]
    page: Literal["A4", "letter"]
    language: str
    partial: str | None = None
    registers: tuple[RegisterRead, ...] | None = None


@dataclass(frozen=True, slots=True)
class SubmittalList:
    """The list: written by which program, when (UTC), under which number or title, the originals, and the cover.

    ``made_with`` are the versions of the libraries that decide how pages come out.
    """

    generator: str
    issued_at: str
    reference: str
    reports: tuple[Listed, ...]
    cover: Cover
    made_with: Mapping[str, str]
    format: int = FORMAT

    def require_known(self) -> None:
        """Raise ``OtherReleaseError`` for a list of a later format."""
        if self.format > FORMAT:
            raise _later(self.format, self.generator)


def render_list(told: SubmittalList) -> bytes:
    """Return the list as canonical JSON."""
    return canonical_json(told)


def read_list(data: bytes) -> SubmittalList:
    """Return the list; ``ValueError`` with one sentence for anything that is not one.

    Of a list of a later format the originals with their hashes are read; ``OtherReleaseError`` where they cannot be.
    """
    plain: Any = None
    require_whole_characters(SUBMITTAL_NAME, data)
    try:
        plain = json.loads(data)
        found = value_from(SubmittalList, plain)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as reason:
        if isinstance(plain, dict) and is_later(plain.get("format"), FORMAT):
            raise _later(plain["format"], str(plain.get("generator", ""))) from reason
        raise ValueError(told("list-is-none", file=SUBMITTAL_NAME)) from reason
    listed = found.reports
    names = [one.file for one in listed]
    if len(set(names)) != len(names) or not all(map(_NAME.fullmatch, names)):
        raise ValueError(told("list-of-odd-names", file=SUBMITTAL_NAME))
    if any(one.copied_pages < 0 for one in listed):
        raise ValueError(told("list-is-none", file=SUBMITTAL_NAME))
    if found.format <= FORMAT and canonical_json(found) != data:
        raise ValueError(told("list-written-oddly", file=SUBMITTAL_NAME))
    return found


def _later(number: int, generator: str) -> OtherReleaseError:
    return OtherReleaseError(told("format-of", number=number, file=SUBMITTAL_NAME), generator)


def looks_like_submittal(pdf: bytes) -> bool:
    """Say whether the bytes name a list of originals: a hint that decides limits and nothing else."""
    return b"(" + SUBMITTAL_NAME.encode() + b")" in pdf


def read_list_of(pdf: bytes) -> tuple[Step, tuple[str, tuple[Listed, ...]] | None]:
    """Return step 7 for a submittal, whether its originals are all there and as listed, and the list."""
    opened, faults = open_strictly(pdf)
    if opened is None:
        return step_of(7, faults), None
    try:
        streams = _streams(opened.pdf)
        found = _list_in(streams)
        expected = {one.file: one for one in found.reports}
        wrong = [told("original-not-embedded", file=name) for name in sorted(expected.keys() - streams)]
        wrong += [told("original-not-listed", file=name) for name in sorted(streams.keys() - expected)]
        for name in sorted(expected.keys() & streams):
            one = expected[name]
            data = _content(streams[name], name, min(one.size, _LARGEST_ORIGINAL))
            if len(data) != one.size or hashlib.sha256(data).hexdigest() != one.sha256:
                wrong.append(told("original-hash-otherwise", file=name))
    except OtherReleaseError as later:
        return step_of(7, [Reason("OTHER_RELEASE", words_of(later))]), None
    except ValueError as reason:
        return step_of(7, [Reason("EMBEDDED_FILES", words_of(reason))]), None
    reasons = [Reason("EMBEDDED_FILES", sentence) for sentence in wrong]
    try:
        found.require_known()
    except OtherReleaseError as later:
        reasons.append(Reason("OTHER_RELEASE", words_of(later)))
    details = [told("original-hashed", file=one.file, sha256=one.sha256, size=one.size) for one in found.reports]
    return step_of(7, reasons, details), (found.reference, found.reports)


def opened_envelope(pdf: bytes) -> pikepdf.Pdf:
    """Return a submittal opened, its pages and originals still to be read; ``ValueError`` when it cannot be."""
    opened, faults = open_strictly(pdf)
    if opened is None:
        raise ValueError(faults[0].sentence)
    return opened.pdf


def list_of(opened: pikepdf.Pdf) -> SubmittalList:
    """Return the list inside a submittal; ``ValueError`` with one sentence where there is none."""
    return _list_in(_streams(opened))


def _list_in(streams: dict[str, Any]) -> SubmittalList:
    """Return the list among embedded files, and take it from them."""
    return read_list(_content(streams.pop(SUBMITTAL_NAME, None), SUBMITTAL_NAME, _LONGEST_LIST))


def originals_of(opened: pikepdf.Pdf, listed: Iterable[Listed]) -> Iterator[bytes]:
    """Yield the bytes of each original; ``ValueError`` with one sentence when they cannot be had."""
    streams = _streams(opened)
    for one in listed:
        data = _content(streams.get(one.file), one.file, min(one.size, _LARGEST_ORIGINAL))
        if hashlib.sha256(data).hexdigest() != one.sha256:
            raise ValueError(told("original-hash-otherwise", file=one.file))
        yield data


def _streams(pdf: pikepdf.Pdf) -> dict[str, Any]:
    """Return the embedded file streams by name, none of them unpacked."""
    return {name: content_of(name, one) for name, one in attachments(pdf, most_nodes=_MOST_NODES).items()}


def _content(stream: Any, name: str, most: int) -> bytes:
    """Return what a Flate stream holds, at most ``most`` bytes of it and one more."""
    import pikepdf

    if not isinstance(stream, pikepdf.Stream):
        raise ValueError(told("original-without-content", file=name))  # noqa: TRY004 - a fault of the file, not of the caller
    if str(stream.get("/Filter")) != "/FlateDecode" or "/DecodeParms" in stream:
        raise ValueError(told("original-packed-oddly", file=name))
    try:
        return zlib.decompressobj().decompress(stream.read_raw_bytes(), most + 1)
    except zlib.error as reason:
        raise ValueError(told("original-not-unpacked", file=name)) from reason
