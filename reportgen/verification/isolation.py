"""A stranger's file, opened only in a child process with limits on memory, time, files and descriptors.

The parent reads bytes and a verdict as JSON, never the PDF. The child inherits what is injected, judges and ends.
"""

from __future__ import annotations

import json
import os
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.errors import UsageError
from reportgen.sandbox import Limits, answer_of_child, available_mode
from reportgen.verification import trust
from reportgen.verification.steps import unreadable, verify_report
from reportgen.verification.verdict import Reason, Verification, from_plain

if TYPE_CHECKING:
    from datetime import datetime

    from reportgen.sandbox import Mode

_NOT_LIMITED = "this platform has no limits on memory: only the time was bounded, in a child process"


def verify_file(
    path: Path, *, at: datetime, limits: Limits | None = None, mode: Mode | None = None, **injected: Any
) -> Verification:
    """Return the verdict on the file at ``path``, reached in a child process; see ``verify_report`` for ``injected``.

    Raises ``UsageError`` when the file cannot be read or is too large, or a root is unusable. Where no child can be
    forked the injected callables must be importable, and step 1 says that memory was not limited.
    """
    path, limits = Path(path), limits or Limits()
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(descriptor, "rb") as stream:
            if not path.is_file():
                raise UsageError(f"{path} is not a file")
            pdf = stream.read(limits.input_bytes + 1)
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason
    if len(pdf) > limits.input_bytes:
        raise UsageError(f"{path} is larger than {limits.input_bytes >> 20} MiB")
    return verify_bytes(pdf, at=at, limits=limits, mode=mode, **injected)


def verify_bytes(
    pdf: bytes, *, at: datetime, limits: Limits | None = None, mode: Mode | None = None, **injected: Any
) -> Verification:
    """Return the verdict on bytes, reached in a child process; as ``verify_file``."""
    roots, injected["notices"] = trust.read_trusted(injected.get("roots", ()))
    injected["roots"] = tuple(root.public_bytes(Encoding.DER) for root in roots)
    mode = mode or available_mode()
    answer, in_time = answer_of_child(partial(_verdict, pdf, at, injected), limits or Limits(), mode)
    if in_time:
        try:
            verification = from_plain(json.loads(answer))
        except (ValueError, KeyError, TypeError):
            ended = "reading the file ended the process that read it"
            verification = unreadable(pdf, at, Reason("RESOURCE_LIMIT", ended))
    else:
        late = "reading the file takes longer than it is given"
        verification = unreadable(pdf, at, Reason("RESOURCE_LIMIT", late))
    if mode == "fork":
        return verification
    first, *others = verification.steps
    noted = replace(first, details=(*first.details, _NOT_LIMITED))
    return replace(verification, steps=(noted, *others))


def _verdict(pdf: bytes, at: datetime, injected: dict[str, Any]) -> bytes:
    """Return the verdict as JSON; in the child anything unexpected, memory included, is the file's fault."""
    try:
        answer = verify_report(pdf, at=at, **injected)
    except MemoryError:
        answer = unreadable(pdf, at, Reason("RESOURCE_LIMIT", "reading the file needs more memory than it is given"))
    except RecursionError:
        answer = unreadable(pdf, at, Reason("FORMAT_FAILURE", "the file's structure is nested without end"))
    return json.dumps(answer.plain()).encode()
