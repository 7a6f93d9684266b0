"""The record of a verification as an archival page."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from reportgen.pipeline.building import GENERATOR

if TYPE_CHECKING:
    from reportgen.verification import Verification


def verification_record(verification: Verification, name: str, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the record of a verification as a PDF/A file, tagged; the same arguments give the same bytes.

    ``name`` is the name of the file that was verified; ``page`` is ``A4`` or ``letter``. UsageError for a language
    without a catalogue.
    """
    from reportgen.archival import Metadata, make_archival
    from reportgen.report.record import record_title, render_record

    pages = render_record(verification.plain(), name, page=page, language=language)
    metadata = Metadata(
        title=record_title(name, language),
        number=f"SHA-256 {verification.sha256}",
        issued=dt.datetime.fromisoformat(verification.verified_at),
        producer=GENERATOR,
        author=GENERATOR,
        subject=f"verification of the file with SHA-256 {verification.sha256}",
        language=language,
    )
    return make_archival(pages, metadata=metadata)
