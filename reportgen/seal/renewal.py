"""A renewal: validation data and a timestamp over a whole signed file, so that it outlives its certificates."""

from __future__ import annotations

import asyncio
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.misc import PdfReadError
from pyhanko.pdf_utils.reader import PdfFileReader

from reportgen import certificates
from reportgen.errors import SealError
from reportgen.formats.signatories import renewal_field
from reportgen.increments import (
    RevocationData,
    append_renewal,
    needed,
    signing_certificates,
    stored,
)
from reportgen.seal.authorities import ask_authorities

if TYPE_CHECKING:
    from collections.abc import Iterable

    from cryptography import x509
    from pyhanko.sign.timestamps import TimeStamper

_DIGEST = "sha256"
_ROOM = 32768  # hexadecimal digits: a token with its chain


@dataclass(frozen=True, slots=True)
class Renewal:
    """A renewed file, the number of its renewal, what was added to its store, and a clause for each that failed."""

    pdf: bytes
    number: int
    added: RevocationData
    failed: tuple[str, ...] = ()


def renew_report(
    pdf: bytes,
    timestamper: TimeStamper,
    *,
    given: RevocationData | None = None,
    known: Iterable[x509.Certificate] = (),
    ask: bool = False,
) -> Renewal:
    """Return the signed ``pdf`` renewed: validation data for every chain in it, and a timestamp over everything.

    The data is what of ``given`` a chain in the file needs, the certificates among ``known`` that one needs and no
    signature brings, and with ``ask`` what the authorities named in the certificates say.

    Raises ``SealError`` when the file is not one that can be renewed, ``MachineError`` when the service fails.
    """
    try:
        reader = PdfFileReader(io.BytesIO(pdf))
        held, signatures = stored(reader.root), reader.embedded_signatures
        leaves, others = signing_certificates(signatures)
    except (PdfReadError, ValueError, KeyError) as reason:
        raise SealError("this is not a signed report that can be renewed") from reason
    chain = certificates.issuers(leaves, [*others, *known])
    brought = {*leaves, *others}
    lacking = [one for one in chain if one not in brought and not certificates.issued(one, one)]
    extra = RevocationData(certificates=tuple(one.public_bytes(Encoding.DER) for one in lacking))
    asked, failed = ask_authorities(chain) if ask else (RevocationData(), [])
    given = needed(leaves, [*others, *known], given or RevocationData())
    added = RevocationData(
        crls=(*given.crls, *asked.crls),
        ocsps=(*given.ocsps, *asked.ocsps),
        certificates=(*given.certificates, *extra.certificates),
    ).beyond(held)
    number = 1 + sum(str(one.field_name).startswith(renewal_field(0)[:-1]) for one in signatures)
    file = io.BytesIO(pdf)
    prepared = append_renewal(file, number, added, digest=_DIGEST, room=_ROOM)
    prepared.fill(asyncio.run(timestamper.async_timestamp(prepared.digest, _DIGEST)))
    return Renewal(file.getvalue(), number, added, tuple(failed))
