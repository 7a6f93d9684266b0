"""A certifying signature on a file on disk, appended where it lies: for files too large to hold in memory."""

# mypy: disable-error-code="no-untyped-call"
# the PDF library does not annotate the constructors of its objects

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING, BinaryIO

from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfReadError
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.signers.cms_embedder import PdfCMSEmbedder, SigIOSetup, SigMDPSetup, SigObjSetup
from pyhanko.sign.signers.pdf_byterange import SignatureObject

from reportgen.errors import SealError
from reportgen.seal.fields import Box, SignatureField, place_fields
from reportgen.seal.identity import Identity, require_signing_certificate, require_valid_at
from reportgen.seal.signing import _ESIC, _room, _value, _words

if TYPE_CHECKING:
    from datetime import datetime

ENGINEER_FIELD = "Engineer"


def seal_file(file: BinaryIO, identity: Identity, *, at: datetime, reason: str, location: str, box: Box) -> None:
    """Append a certifying signature to the unsigned PDF in ``file`` (open for reading and writing).

    As ``seal_report`` without countersigners: nothing may change afterwards (DocMDP P=1), and what was there stays,
    byte for byte, the beginning. Memory does not grow with the file.
    Raises ``SealError`` when identity, dates or pages do not allow a signature; the file is then not to be used.
    """
    require_signing_certificate(identity.certificate)
    require_valid_at(identity, at)
    try:
        writer = _UpdateOnDisk(file, at)
    except (PdfReadError, ValueError, KeyError) as fault:
        raise SealError("this is not a PDF that can be signed") from fault
    place_fields(writer, [SignatureField(ENGINEER_FIELD, f"Signature of {identity.name}", box)])
    writer.register_extension(_ESIC)
    steps = PdfCMSEmbedder().write_cms(ENGINEER_FIELD, writer, existing_fields_only=True)
    next(steps)
    placeholder = SignatureObject(
        subfilter=SigSeedSubFilter.PADES,
        name=identity.name,
        bytes_reserved=_room(identity, None),
        **_words(at, reason, location),
    )
    certify = SigMDPSetup(md_algorithm=identity.digest, certify=True, docmdp_perms=MDPPerm.NO_CHANGES)
    steps.send(SigObjSetup(sig_placeholder=placeholder, mdp_setup=certify))
    prepared, _ = steps.send(SigIOSetup(md_algorithm=identity.digest, in_place=True))
    steps.send(_value(identity, prepared.document_digest, None))


class _UpdateOnDisk(IncrementalPdfFileWriter):
    """An incremental update in place, with the same care for identifier and metadata as that of a report."""

    def __init__(self, file: BinaryIO, at: datetime) -> None:
        file.seek(0)
        digest = hashlib.sha256()
        while part := file.read(1 << 20):
            digest.update(part)
        digest.update(at.isoformat().encode())
        super().__init__(file)
        first = self._document_id[0]
        self._document_id = generic.ArrayObject([first, generic.ByteStringObject(digest.digest()[:16])])

    def _update_meta(self) -> None:
        """Write no metadata: what the archival room wrote is what gets signed."""
