"""Validation data of every chain in a file; and its renewal, that and a timestamp over all, to outlive certificates."""

from __future__ import annotations

import asyncio
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.misc import PdfReadError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.general import extract_certificate_info

from reportgen import certificates
from reportgen.errors import SealError
from reportgen.increments import RevocationData, append_renewal, needed, signing_certificates, stored
from reportgen.results.signatories import renewal_field
from reportgen.seal.authorities import ask_authorities

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from pyhanko.sign.timestamps import TimeStamper

    from reportgen.seal.identity import Identity

_DIGEST = "sha256"
_ROOM = 32768  # hexadecimal digits: a token with its chain


@dataclass(frozen=True, slots=True)
class Renewal:
    """A renewed file, the number of its renewal, what was added to its store, and a clause for each that failed."""

    pdf: bytes
    number: int
    added: RevocationData
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Involved:
    """Whose chains a signature is to be believed by: the certificates that sign and stamp, with it and before it in the
    file, what comes with them, and what the file holds of their state; ``stamping`` is that of a service asked before.
    """

    leaves: tuple[x509.Certificate, ...]
    others: tuple[x509.Certificate, ...]
    held: RevocationData
    stamping: tuple[x509.Certificate, ...] = ()


def involved(identity: Identity, timestamper: TimeStamper | None = None, pdf: bytes | None = None) -> Involved:
    """Return whose chains are involved where ``identity`` signs ``pdf`` (None: unsigned pages), stamped by a service.

    Raises ``SealError`` where the file is not a signed one, ``MachineError`` when the service fails.
    """
    leaves, others = [identity.certificate], [*identity.chain]
    held = RevocationData()
    if pdf is not None:
        held, before, brought = stored_and_signed(pdf)
        leaves, others = [*before, *leaves], [*brought, *others]
    stamping: list[x509.Certificate] = []
    if timestamper is not None:  # which certificate will stamp the signature, only a timestamp tells
        token = asyncio.run(timestamper.async_dummy_response(identity.digest))
        signed = extract_certificate_info(token["content"])
        stamping = [x509.load_der_x509_certificate(signed.signer_cert.dump())]
        others += [x509.load_der_x509_certificate(one.dump()) for one in signed.other_certs]
    return Involved((*leaves, *stamping), tuple(others), held, tuple(stamping))


def stored_and_signed(pdf: bytes) -> tuple[RevocationData, list[x509.Certificate], list[x509.Certificate]]:
    """Return what the store of a signed file holds, the certificates that signed and stamped it, what these bring.

    Raises ``SealError`` where it is not a signed file that can be read.
    """
    try:
        reader = PdfFileReader(io.BytesIO(pdf))
        return stored(reader.root), *signing_certificates(reader.embedded_signatures)
    except (PdfReadError, ValueError, KeyError) as reason:
        raise SealError("this is not a signed report that can be added to") from reason


def data_for(
    leaves: Sequence[x509.Certificate],
    others: Sequence[x509.Certificate],
    *,
    given: RevocationData | None = None,
    known: Iterable[x509.Certificate] = (),
    held: RevocationData | None = None,
    ask: bool = False,
    by_list: Collection[x509.Certificate] = (),
    seconds: float = 20.0,
) -> tuple[RevocationData, list[str]]:
    """Return what a file is to hold, beyond what is ``held``, of every chain from ``leaves``; a clause for who fails.

    This is what of ``given`` a chain needs, the certificates among ``known`` that one needs and neither ``others``,
    which signatures bring, nor the file has, and with ``ask`` what the authorities say that the certificates name, of
    those ``by_list`` only lists.
    """
    held, given = held or RevocationData(), given or RevocationData()
    pool = [*others, *(x509.load_der_x509_certificate(one) for one in held.certificates)]
    everyone = [*pool, *known]
    own = needed(leaves, everyone, given)
    chain = certificates.issuers(leaves, [*everyone, *map(x509.load_der_x509_certificate, own.certificates)])
    lacking = [one for one in chain if one not in {*leaves, *pool}]
    asked, failed = ask_authorities(chain, by_list=by_list, seconds=seconds) if ask else (RevocationData(), [])
    found = RevocationData(
        crls=(*own.crls, *asked.crls),
        ocsps=(*own.ocsps, *asked.ocsps),
        certificates=tuple(one.public_bytes(Encoding.DER) for one in lacking),
    )
    return found.beyond(held), failed


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
    held, leaves, others = stored_and_signed(pdf)
    added, failed = data_for(leaves, others, known=known, given=given, held=held, ask=ask)
    signatures = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    number = 1 + sum(str(one.field_name).startswith(renewal_field(0)[:-1]) for one in signatures)
    file = io.BytesIO(pdf)
    prepared = append_renewal(file, number, revocation=added, digest=_DIGEST, room=_ROOM)
    prepared.fill(asyncio.run(timestamper.async_timestamp(prepared.digest, _DIGEST)))
    return Renewal(file.getvalue(), number, added, tuple(failed))
