"""The looks of the photos on the pages of a report, for a comparison across reports."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.verification.pageread import drawn_pictures

if TYPE_CHECKING:
    from reportgen.issued.extraction import Recomputation
    from reportgen.issued.record import ReportRecord


def with_looks(record: ReportRecord, pdf: bytes, known: Recomputation) -> ReportRecord:
    """Return a record with the look of each photo, as the pages show it; as it is where they show others, or none."""
    job, evaluation = known.job, known.evaluation
    if not record.photos or job is None or evaluation is None:
        return record
    surfaces = [one for area in evaluation.areas for one in job.day.surfaces if one.area == area.id]
    order = [(str(surface.area), str(photo.file)) for surface in surfaces for photo in surface.photos]
    try:
        looks = [_look(jpeg) for jpeg in _photos(pdf, len(order))]
    except (ValueError, OSError, LookupError, TypeError, AttributeError):  # of a file that its verification objects to
        return record
    by_photo = dict(zip(order, looks, strict=True)) if looks else {}
    return replace(
        record, photos=tuple(replace(one, look=by_photo.get((one.area, one.file), "")) for one in record.photos)
    )


def _photos(pdf: bytes, count: int) -> list[bytes]:
    """Return the photos on the pages, without a logo at the head of each; none where there are more or fewer."""
    pages = drawn_pictures(pdf)
    for skipped in (0, 1):
        drawn = [picture for page in pages for picture in page[skipped:]]
        if len(drawn) == count:
            return drawn
    return []


def _look(jpeg: bytes) -> str:
    from PIL import Image

    from reportgen.screens.pictures import look_of

    with Image.open(io.BytesIO(jpeg), formats=["JPEG"]) as image:
        image.draft("L", (128, 128))
        return look_of(image)
