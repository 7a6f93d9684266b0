"""The file of a submittal: pages, then each original as it comes from disk, then the signature; in bounded memory."""

from __future__ import annotations

import hashlib
import os
import secrets
from dataclasses import dataclass
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from reportgen import atomicfile
from reportgen.archival import MIME_TYPES, Attachment, Metadata, write_archival
from reportgen.errors import UsageError
from reportgen.issued import SUBMITTAL_NAME, read_list, shown_name
from reportgen.names import full_title
from reportgen.submittal.pages.document import render_submittal
from reportgen.words.filing import filing_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path
    from typing import BinaryIO

    from reportgen.issued import Listed
    from reportgen.pdf.signing import Rendered
    from reportgen.seal import Identity
    from reportgen.submittal.pages.model import Submittal


@dataclass(frozen=True, slots=True)
class Source:
    """Where an original lies, and the SHA-256 under which it was verified."""

    path: Path
    sha256: str


def write_submittal(
    content: Submittal,
    listed: bytes,
    sources: Sequence[Source],
    identity: Identity,
    out: Path,
    *,
    proven: Callable[[Path], None],
) -> tuple[int, str]:
    """Write the signed submittal to ``out``, which must not exist; return its pages and its SHA-256.

    ``proven`` gets the path of the finished file before it has its name, and raises what is wrong with it.

    Raises:
        UsageError: an original changed since it was verified, or ``out`` exists. SealError, MachineError: as named.
        Nothing is left behind.
    """
    from reportgen.seal import seal_file

    by_hash = {source.sha256: source.path for source in sources}
    part = out.with_name(f".{out.name}.{os.getpid()}.{secrets.token_hex(4)}.part")
    try:
        try:
            with part.open("x+b") as stream:
                rendered = write_unsigned(content, listed, partial(_original, by_hash), stream)
                page, *corners = rendered.signature_box
                seal_file(
                    stream,
                    identity,
                    at=content.at,
                    location=content.body,
                    box=(page + 1, corners[0], corners[1], corners[2], corners[3]),
                )
                stream.flush()
                os.fsync(stream.fileno())
                stream.seek(0)
                digest = hashlib.file_digest(stream, "sha256").hexdigest()
            proven(part)
            atomicfile.publish(part, out)
            atomicfile.sync_folder(out.parent)
        except FileExistsError:
            raise _taken(out) from None
        except OSError as error:
            raise atomicfile.refusal(error, out) from error
    finally:
        part.unlink(missing_ok=True)
    return rendered.pages, digest


def write_unsigned(
    content: Submittal, listed: bytes, original: Callable[[Listed], bytes], stream: BinaryIO
) -> Rendered:
    """Write pages, originals and list to ``stream``; the same arguments give the same bytes.

    ``original`` returns the bytes of an original that the list names.
    """
    originals = {one.file: one for one in read_list(listed).reports}
    rendered = render_submittal(content, lambda file: original(originals[file]))
    metadata = Metadata(
        title=f"{filing_words(content.language)('submittal.title')}, {content.reference}",
        number=content.reference,
        issued=content.at,
        producer=f"reportgen {content.version}",
        author=content.signer.organisation or content.signer.name,
        subject=f"{content.project}, contract {content.contract}",
        language=content.language,
    )
    sources = (  # in the order of their names, each read when it is its turn
        Attachment(
            one.file, original(one), MIME_TYPES[".pdf"], "Source",
            f"{full_title(one)}, {one.date}, SHA-256 {one.sha256}",
        )
        for _, one in sorted(originals.items())
    )  # fmt: skip
    data = Attachment(SUBMITTAL_NAME, listed, MIME_TYPES[".json"], "Data", "list of the originals with their SHA-256")
    write_archival(rendered.pdf, stream, metadata=metadata, attachments=chain(sources, [data]))
    return rendered


def _original(by_hash: dict[str, Path], listed: Listed) -> bytes:
    path = by_hash[listed.sha256]
    try:
        with path.open("rb") as stream:
            data = stream.read(listed.size + 1)
    except OSError as error:
        raise UsageError(f"{shown_name(path)} cannot be read any more; nothing was written") from error
    if hashlib.sha256(data).hexdigest() != listed.sha256:
        raise UsageError(f"{shown_name(path)} was changed while the submittal was made; nothing was written")
    return data


def refuse_taken(out: Path) -> None:
    """Refuse to write where a file is already: at once, and not only after every report was verified."""
    if out.exists():
        raise _taken(out)


def _taken(out: Path) -> UsageError:
    return UsageError(f"`{shown_name(out)}` exists already and is never overwritten; nothing was written")
