"""How a file stands, in one word: for tables of many files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

if TYPE_CHECKING:
    from reportgen.verification import Verification

HowProven = Literal["proven", "open", "doubtful", "failed"]
"""``open``: nothing but trust, revocation or time is undecided."""

_OPEN: Final = frozenset({
    "NO_CERTIFICATE_CHAIN_FOUND", "CERTIFICATE_CHAIN_GENERAL_FAILURE", "REVOKED_NO_POE", "OUT_OF_BOUNDS_NO_POE",
    "TRY_LATER",
})  # fmt: skip


def how_proven(verification: Verification) -> HowProven:
    """Return how well a file is proven."""
    if verification.overall == "passed":
        return "proven"
    if verification.overall == "failed":
        return "failed"
    return "open" if {one.name for one in verification.reasons} <= _OPEN else "doubtful"
