"""Objects of another PDF in the one that is being written: what a copied page draws with."""

from __future__ import annotations

import zlib
from hashlib import sha256
from typing import TYPE_CHECKING, Any

import pikepdf
from reportlab.pdfbase import pdfdoc

from reportgen.copies import pieces

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from reportgen.copies import Drawing


class Imported:
    """Objects of other PDFs in this one, each once: what two originals have alike is shared.

    Pages must have a fingerprint: that is refused to what refers to itself, which would be followed without end here.
    """

    def __init__(self) -> None:
        self._names: dict[tuple[int, int], str] = {}
        self._source: Drawing | None = None

    def form(self, canvas: Any, drawing: Drawing, page: int) -> str:
        """Keep a page as a form XObject, and return the name by which the canvas shows it."""
        if drawing is not self._source:
            self._source, self._names = drawing, {}
        edges = " ".join(f"{edge:.4f}" for edge in drawing.box(page)).encode()
        parts = [b"<</Type/XObject/Subtype/Form/BBox[%b]/Resources " % edges]
        parts += self._inline(canvas, drawing.resources(page))
        form = _Copied([*parts, b"/Filter/FlateDecode"], zlib.compress(drawing.content(page)))
        name = f"copy{form.digest()}"
        canvas.keep(pdfdoc.xObjectName(name), form)
        return name

    def _inline(self, canvas: Any, value: Any) -> list[Any]:
        """Return the value written out, with references to the objects it shares with others.

        An object of its own is kept once; of two alike the first.
        """

        def shared(inner: Any) -> list[Any]:
            if not isinstance(inner, pikepdf.Object) or inner.objgen == (0, 0):
                return self._inline(canvas, inner)
            name = self._names.get(inner.objgen)
            if name is None:
                parts = self._inline(canvas, inner)
                stream = isinstance(inner, pikepdf.Stream)
                kept = _Copied(parts[:-1], inner.read_raw_bytes()) if stream else _Copied(parts)
                name = self._names[inner.objgen] = f"kept.{kept.digest()}"
                canvas.keep(name, kept)
            return [pdfdoc.PDFObjectReference(name)]

        flat: list[Any] = []
        for piece in pieces(value, shared):
            flat += piece if isinstance(piece, list) else [piece]
        return flat


class _Copied(pdfdoc.PDFObject):  # type: ignore[misc]  # reportlab has no types
    """An object of another file: its text in pieces, references among them, and the bytes of a stream if it is one.

    Of a stream ``parts`` are its dictionary but for the closing brackets.
    """

    __RefOnly__ = 1

    def __init__(self, parts: Sequence[Any], stream: bytes | None = None) -> None:
        self._parts, self._stream = parts, stream

    def _written(self, shown: Callable[[Any], bytes]) -> Iterator[bytes]:
        for part in self._parts:
            yield part if isinstance(part, bytes) else shown(part)
        if self._stream is not None:
            yield b"/Length %d>>\nstream\n" % len(self._stream)
            yield self._stream
            yield b"\nendstream"

    def digest(self) -> str:
        """Return a hash of the object and of all it refers to."""
        digest = sha256()
        for part in self._written(lambda reference: reference.name.encode()):
            digest.update(part)
        return digest.hexdigest()

    def format(self, document: Any) -> bytes:
        """The object as it stands in the file."""
        return b"".join(self._written(lambda reference: reference.format(document)))
