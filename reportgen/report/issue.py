"""What the issuing of a report adds to its job and evaluation, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from datetime import datetime

    from reportgen.pdf.signing import SignerBlock
    from reportgen.results.omitted import Omitted

Status = Literal["draft", "issue", "demonstration"]


class EmbeddedFile(NamedTuple):
    """A file embedded in the report (or a photo whose hash is kept): path, role, SHA-256 in hexadecimal.

    ``attachment`` is the name under which it is embedded; empty for a photo, and where it is the path.
    """

    name: str
    role: str
    sha256: str
    attachment: str = ""


class RegisterHead(NamedTuple):
    """The last entry of the register before this report: sequence number and hash in hexadecimal."""

    sequence: int
    hash: str


@dataclass(frozen=True, slots=True)
class Issue:
    """Status, time and evidence of one issue of a report. ``at`` is aware; nothing here reads a clock.

    ``signer`` is None for a draft that nobody will sign. ``register_head`` is None when there is no earlier entry or
    the report is not registered. ``countersigners`` get a block and a box each, in this order. ``certificate`` is the
    SHA-256 of the signer's, ``replaces`` that of the report, as it was issued, in whose place this one stands;
    ``omitted`` is what this one leaves out of that.
    """

    status: Status
    at: datetime
    signer: SignerBlock | None
    evaluation_sha256: str
    files: tuple[EmbeddedFile, ...] = ()
    version: str = ""
    register_head: RegisterHead | None = None
    countersigners: tuple[SignerBlock, ...] = ()
    certificate: str | None = None
    replaces: str | None = None
    omitted: Omitted | None = None
