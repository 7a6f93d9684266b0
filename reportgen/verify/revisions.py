"""What each appended revision changed: only filling a field that the first signature provided for is permitted."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from reportgen.verify.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature


def revision_faults(reader: PdfFileReader, signatures: Sequence[EmbeddedPdfSignature]) -> list[Reason]:
    """Return what is not permitted in the revisions after the first signature; ``signatures`` in order of revision."""
    by_revision: dict[int, list[EmbeddedPdfSignature]] = {}
    for signature in signatures:
        by_revision.setdefault(signature.signed_revision, []).append(signature)
    faults = []
    for revision in range(signatures[0].signed_revision + 1, reader.total_revisions):
        made = by_revision.get(revision, [])
        if len(made) != 1:
            faults.append(_changed("a revision after the first signature is not a signature"))
        else:
            faults += _signing_only(reader, revision, made[0])
    if len(by_revision.get(signatures[0].signed_revision, [])) != 1:
        faults.append(Reason("SIGNATURE_COUNT", "two signatures were made in one revision"))
    return faults


def _changed(sentence: str) -> Reason:
    return Reason("CHANGED_AFTER_SIGNING", sentence)


def _signing_only(reader: PdfFileReader, revision: int, signature: EmbeddedPdfSignature) -> list[Reason]:
    """Return what the revision changed beyond putting one signature into one field that was there and empty."""
    before, after = reader.get_historical_resolver(revision - 1), reader.get_historical_resolver(revision)
    field = signature.sig_field.container_ref
    value = signature.sig_field.raw_get("/V").reference
    permitted = {_number(field), _number(value), _number(_table(reader, revision))}
    touched = {_number(reference) for reference in reader.xrefs.explicit_refs_in_revision(revision)}
    faults = []
    if touched - permitted or reader.xrefs.refs_freed_in_revision(revision):
        faults.append(_changed(f"the revision of the signature in {signature.field_name} changed other objects"))
    if _exists(before, value):
        faults.append(_changed(f"the signature in {signature.field_name} took the place of another object"))
    if not _filled_only(before, after, field):
        faults.append(_changed(f"the field {signature.field_name} was not provided for by the first signature"))
    if any(_written(before.trailer_view, key) != _written(after.trailer_view, key) for key in ("/Root", "/Info")):
        faults.append(_changed("the catalog or the document information was exchanged"))
    return faults


def _table(reader: PdfFileReader, revision: int) -> Any:
    return reader.xrefs.get_xref_container_info(revision).stream_ref


def _number(reference: Any) -> tuple[int, int] | None:
    return (reference.idnum, reference.generation) if reference is not None else None


def _exists(resolver: Any, reference: Any) -> bool:
    from pyhanko.pdf_utils import generic

    try:
        return not isinstance(resolver.get_object(reference), generic.NullObject)
    except Exception:  # noqa: BLE001 - the library's kinds vary; what cannot be fetched was not there
        return False


def _filled_only(before: Any, after: Any, field: Any) -> bool:
    """Say whether the field was there, empty, before, and differs now only by its value."""
    if not _exists(before, field):
        return False
    old, new = before.get_object(field), after.get_object(field)
    if "/V" in old or set(new) - set(old) != {"/V"} or set(old) - set(new):
        return False
    return all(_written(old, key) == _written(new, key) for key in old)


def _written(container: Any, key: str) -> bytes:
    if key not in container:
        return b""
    stream = io.BytesIO()
    container.raw_get(key).write_to_stream(stream, None)
    return stream.getvalue()
