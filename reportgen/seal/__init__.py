"""Signing: identities, the signature on a report and the countersignatures after it.

The unsigned file stays, byte for byte, the beginning of the signed one: everything a signature needs is appended.
"""

import reportgen.increments  # noqa: F401 - first: it keeps the network client of pyHanko out
from reportgen.seal.authority import demo_identity, identity_stem, new_identity, protect_identity
from reportgen.seal.identity import Identity, Preflight, load_identity, preflight
from reportgen.seal.renewal import renew_report
from reportgen.seal.signing import Countersigner, countersign, seal_file, seal_report
from reportgen.seal.token import load_token_identity
from reportgen.seal.trusted_time import TimestampService

__all__ = [
    "Countersigner",
    "Identity",
    "Preflight",
    "TimestampService",
    "countersign",
    "demo_identity",
    "identity_stem",
    "load_identity",
    "load_token_identity",
    "new_identity",
    "preflight",
    "protect_identity",
    "renew_report",
    "seal_file",
    "seal_report",
]
