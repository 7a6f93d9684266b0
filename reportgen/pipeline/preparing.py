"""Look, then sign: the very bytes to be signed are built once, shown page by page, and signed as they were shown.

They state the moment for which they were built, and so does the signature: it is at most half an hour old when it is
made. What they rest on is looked at again then, and nothing is built a second time.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import struct
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Final

from reportgen.errors import InputError, SealError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.issuing import (
    BUILDING,
    SIGNING,
    Readied,
    entered,
    fit_for_issue,
    fit_to_sign,
    in_step,
    ready,
    register_of,
)
from reportgen.sandbox import confined

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from reportgen.formats import Head
    from reportgen.increments import RevocationData
    from reportgen.job import Job
    from reportgen.pipeline.issuing import Written
    from reportgen.seal import Identity, TimestampService

HOLDS_FOR: Final = dt.timedelta(minutes=30)
_NARROWEST, _WIDEST = 100, 4000
_LENGTH: Final = struct.Struct(">I")


class StaleError(UsageError):
    """The day has changed since its pages were looked at, or that was too long ago: they are to be looked at again."""


def _silent(_: str) -> None:
    """What begins is told to nobody."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """The report as it will be signed, on everything it rests on.

    ``at`` is its time of issue, ``inputs`` the SHA-256 of every input file by name, ``sha256`` that of the unsigned
    bytes: as long as it is the same, what was seen is what is signed.
    """

    day: Path
    at: dt.datetime
    sha256: str
    inputs: Mapping[str, str]
    readied: Readied

    @property
    def pdf(self) -> bytes:
        """The unsigned file."""
        return self.readied.built.pdf

    @property
    def number(self) -> str:
        """The number of the report."""
        return str(self.readied.checked.job.day.report.number)

    @property
    def revision(self) -> int:
        """Its revision."""
        return self.readied.checked.job.day.report.revision

    @property
    def verdict(self) -> str:
        """What will be signed."""
        return self.readied.checked.evaluation.verdict

    @property
    def signer(self) -> str:
        """The name of the inspector, whose identity it takes."""
        return str(self.readied.checked.job.inspector.name)

    @property
    def pages(self) -> int:
        """How many pages there are to look at."""
        return self.readied.built.rendered.pages

    @property
    def head(self) -> Head | None:
        """The register's head that it is built upon."""
        return self.readied.terms.head

    @property
    def certificate(self) -> str | None:
        """The SHA-256 of the certificate that its pages name, where one was known."""
        return self.readied.terms.certificate

    @property
    def until(self) -> dt.datetime:
        """When it is to be looked at again."""
        return self.at + HOLDS_FOR


def prepare(
    day: Path,
    *,
    at: dt.datetime | None = None,
    template: str | None = None,
    certificate: str | None = None,
    tell: Callable[[str], None] = _silent,
) -> Prepared:
    """Build the report that is to be signed; no report and no row of the register is written.

    ``certificate`` is the pin of the one it will be signed with, which the pages state; by default that by which the
    project file names its inspector, if it does.

    Raises:
        InputError, UsageError, MachineError: as ``issue``: everything that stands in the way of issuing is said now.
    """
    moment = at or now()
    checked = fit_for_issue(day, moment)
    inspector = checked.job.inspector
    pin = inspector.signs_with.pin if inspector.signs_with else None
    known = certificate or (pin.certificate if pin is not None else None)
    with register_of(day, checked) as register:
        moment, checked = in_step(register, moment, checked, None if at else partial(fit_for_issue, day))
        tell(BUILDING)
        readied = ready(checked, register, moment, template=template, certificate=known)
    return Prepared(day, moment, hashlib.sha256(readied.built.pdf).hexdigest(), _inputs(checked.job), readied)


def issue_prepared(
    prepared: Prepared,
    identity: Identity,
    *,
    at: dt.datetime | None = None,
    timestamper: TimestampService | None = None,
    revocation: RevocationData | None = None,
    tell: Callable[[str], None] = _silent,
) -> Written:
    """Sign the bytes that were prepared, and enter the report in the register.

    Raises:
        StaleError: an input or the register's head is another by now, or 30 minutes have passed.
        SealError, UsageError, MachineError: as ``issue``, and where the pages name another certificate.
    """
    from reportgen.certificates import pin_of

    readied, moment = prepared.readied, at or now()
    if not prepared.at <= moment <= prepared.until:
        raise _stale(prepared, "they were built more than half an hour ago")
    notices = fit_to_sign(readied.checked, identity, prepared.at)
    if prepared.certificate not in (None, pin_of(identity.certificate)):
        raise SealError(
            f"the pages state that {prepared.signer} signs with another certificate",
            help_text="look at the pages again with this identity, or sign with the one they state",
        )
    with register_of(prepared.day, readied.checked) as register:
        if register.head != prepared.head:
            raise _stale(prepared, "another report was issued meanwhile")
        try:
            again = fit_for_issue(prepared.day, prepared.at)
        except InputError:
            raise _stale(prepared, "the day cannot be issued as it is now") from None
        present = _inputs(again.job)
        changed = sorted(
            name for name in {*present, *prepared.inputs} if present.get(name) != prepared.inputs.get(name)
        )
        if changed:
            raise _stale(prepared, f"another content by now: {', '.join(changed)}")
        tell(SIGNING)
        written = entered(
            readied, register, identity, prepared.day, timestamper=timestamper, revocation=revocation
        )  # fmt: skip
        return replace(written, notices=(*notices, *register.notices))


def _inputs(job: Job) -> dict[str, str]:
    return {file.name: file.sha256 for file in job.files}


def _stale(prepared: Prepared, why: str) -> StaleError:
    return StaleError(
        f"{prepared.number} has changed since you looked ({why}); nothing was signed",
        help_text="look at the pages again",
    )


def page_images(
    pdf: bytes, pages: Sequence[int] | None = None, *, width: int = 1240, name: str = "the report"
) -> list[bytes]:
    """Return pages of a PDF, numbered from 0 (None: all), as PNG ``width`` pixels wide; drawn in a confined child.

    ``name`` is the file's in messages.

    Raises:
        UsageError: the file cannot be drawn, or has no such page. MachineError: there can be no child.
    """
    asked = None if pages is None else tuple(pages)
    wide = max(_NARROWEST, min(width, _WIDEST))
    answer = confined(partial(_drawn, pdf, asked, wide), name, load=load_for_drawing)
    found = []
    while answer:
        (size,) = _LENGTH.unpack_from(answer)
        found.append(answer[_LENGTH.size : _LENGTH.size + size])
        answer = answer[_LENGTH.size + size :]
    return found


def load_for_drawing() -> None:
    """Import what draws pages: a child can open nothing of it."""
    import pypdfium2  # noqa: F401 - loaded for the children
    from PIL import Image

    Image.preinit()


def _drawn(pdf: bytes, pages: tuple[int, ...] | None, width: int) -> bytes:
    """Draw pages in the child: each PNG behind its length."""
    import pypdfium2

    drawn = []
    document = pypdfium2.PdfDocument(pdf)
    for number in range(len(document)) if pages is None else pages:
        if not 0 <= number < len(document):
            raise UsageError(f"there is no page {number + 1}: the file has {len(document)}")
        page = document[number]
        file = io.BytesIO()
        page.render(scale=width / page.get_width()).to_pil().save(file, "PNG", compress_level=3)
        drawn.append(_LENGTH.pack(file.tell()) + file.getvalue())
        page.close()
    return b"".join(drawn)
