"""A renewal: validation data and a timestamp over a whole signed file, so that it outlives its certificates."""

from __future__ import annotations

import asyncio
import io
from typing import TYPE_CHECKING

from reportgen.increments import append_renewal

if TYPE_CHECKING:
    from pyhanko.sign.timestamps import TimeStamper

    from reportgen.increments import RevocationData

_DIGEST = "sha256"
_ROOM = 32768  # hexadecimal digits: a token with its chain


def renew_report(pdf: bytes, number: int, data: RevocationData, timestamper: TimeStamper) -> bytes:
    """Return the signed ``pdf`` with its renewal ``number``, from 1: ``data``, and a timestamp over everything.

    Raises ``SealError`` when the file is not one that can be renewed, ``MachineError`` when the service fails.
    """
    file = io.BytesIO(pdf)
    prepared = append_renewal(file, number, data, digest=_DIGEST, room=_ROOM)
    prepared.fill(asyncio.run(timestamper.async_timestamp(prepared.digest, _DIGEST)))
    return file.getvalue()
