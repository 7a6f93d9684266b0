"""One file examined in a child process with limits: the verdict of its verification, and its record."""

from __future__ import annotations

import importlib
import json
import logging
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING

from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.errors import UsageError
from reportgen.formats import canonical_json
from reportgen.formats.decoding import value_from
from reportgen.increments.signatories import ENGINEER_FIELD
from reportgen.issued.extraction import Recomputation, record_of
from reportgen.issued.record import ReportRecord
from reportgen.issued.submittal_file import Listed, looks_like_submittal, read_list_of
from reportgen.sandbox import MEMORY, SECONDS, confined
from reportgen.verification import Reason, Step, Verification, from_plain, read_trusted, verify_report
from reportgen.verification.steps import unreadable
from reportgen.verification.verdict import step_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from reportgen.verification import Evidence, Outcome

_NEEDED = (
    "pypdf",
    "scipy.special",
    "pyhanko.sign.diff_analysis",
    "pyhanko.sign.validation",
    "reportgen.words.catalogue",
    "reportgen.verification.replay",
    "reportgen.verification.signatures",
)
"""What a verification imports on its way."""


@dataclass(frozen=True, slots=True)
class Checks:
    """How a file is examined: moment (aware), trusted roots (DER), importable checks of steps 9 and 10, limits."""

    at: dt.datetime
    roots: tuple[bytes, ...] = ()
    page_text_check: Callable[[Evidence], Outcome] | None = None
    rebuild_check: Callable[[Evidence], Outcome] | None = None
    seconds: float = SECONDS
    memory: int = MEMORY


def read_trust(trust: Sequence[Path]) -> tuple[bytes, ...]:
    """Return the certificates in files and folders, as DER; ``UsageError`` where one holds none."""
    return tuple(root.public_bytes(Encoding.DER) for root in read_trusted(trust)[0])


@dataclass(frozen=True, slots=True)
class Examined:
    """Verdict and record of one file; ``record`` is None for what is no report, ``listed`` is for a submittal.

    ``copies`` says of an original inside a submittal whether the copies of its pages there are true.
    """

    verification: Verification
    record: ReportRecord | None = None
    listed: tuple[Listed, ...] = ()
    reference: str | None = None
    copies: Step | None = None

    @property
    def kind(self) -> str:
        """``report``, ``submittal``, or ``other`` for a file that is neither or cannot be read as one."""
        if self.record is not None:
            return "report"
        return "submittal" if self.reference is not None else "other"


def examine(pdf: bytes, name: str, checks: Checks) -> Examined:
    """Verify the file called ``name`` and read its record, in a child process; a bad file never raises."""
    scale = 1 + (len(pdf) >> 25 if looks_like_submittal(pdf) else 0)
    work = partial(_examination, pdf, checks)
    return answered(pdf, name, checks, work, scale)


def answered(pdf: bytes, name: str, checks: Checks, work: Callable[[], bytes], scale: int = 1) -> Examined:
    """Return what ``work`` answers from a child with ``scale`` times the limits; their breach is a reason by name."""
    try:
        answer = confined(work, name, seconds=checks.seconds * scale, memory=checks.memory * scale)
        return examined_from(answer)
    except UsageError as breach:
        return Examined(unreadable(pdf, checks.at, Reason("RESOURCE_LIMIT", breach.message)))
    except (ValueError, KeyError, TypeError):
        reason = Reason("RESOURCE_LIMIT", f"{name} cannot be read: reading it ended with an unusable answer")
        return Examined(unreadable(pdf, checks.at, reason))


def _examination(pdf: bytes, checks: Checks) -> bytes:
    logging.disable()  # what libraries think of a damaged file is in the verdict, not on the terminal
    return render_examined(judged(pdf, checks))


def judged(pdf: bytes, checks: Checks) -> Examined:
    """Verify and read bytes in this process: for a child that has limits."""
    known = Recomputation()
    verification = verify_report(
        pdf,
        at=checks.at,
        roots=checks.roots,
        recompute=known,
        page_text_check=checks.page_text_check,
        rebuild_check=checks.rebuild_check,
    )
    if known.job is None and looks_like_submittal(pdf):
        return _as_submittal(pdf, verification)
    return Examined(verification, record_of(known))


def _as_submittal(pdf: bytes, verification: Verification) -> Examined:
    step, found = read_list_of(pdf)
    others = [signer.field for signer in verification.signers if signer.field != ENGINEER_FIELD]
    if others:
        sentence = f"a submittal is signed in its field {ENGINEER_FIELD}, not in {', '.join(others)}"
        step = step_of(7, [*step.reasons, Reason("SIGNER_NOT_NAMED", sentence)], step.details)
    reference, listed = found or (None, ())
    signers = tuple(replace(signer, kind="engineer") for signer in verification.signers)
    return Examined(replace(verification.with_step(step), signers=signers), None, listed, reference)


def render_examined(examined: Examined) -> bytes:
    """Return an examination as JSON, for the pipe and for an index."""
    told = {name: getattr(examined, name) for name in ("record", "listed", "reference", "copies")}
    verification = json.dumps(examined.verification.plain(), ensure_ascii=False).encode()
    return b'{"verification":%b,"told":%b}' % (verification, canonical_json(told))


def examined_from(data: bytes) -> Examined:
    """Return the examination that ``render_examined`` wrote; ``ValueError``, ``KeyError``, ``TypeError`` otherwise."""
    plain = json.loads(data, parse_float=Decimal)
    told = plain["told"]
    record = value_from(ReportRecord, told["record"]) if "record" in told else None
    listed = tuple(value_from(Listed, row) for row in told["listed"])
    copies = value_from(Step, told["copies"]) if "copies" in told else None
    return Examined(from_plain(plain["verification"]), record, listed, told.get("reference"), copies)


def load_for_examination() -> None:
    """Import and prepare what examining needs, once, so that not each child of this process has to."""
    from reportgen.job import Day, Project

    for module in _NEEDED:
        importlib.import_module(module)
    for model in (Project, Day):
        model.model_rebuild(force=False)
