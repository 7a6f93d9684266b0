"""Damaged reports verified as strangers' files are: in a confined child, whose end is not that of a test run."""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.issued.examination import load_for_examination
from reportgen.sandbox import confined
from reportgen.verification import verify_report
from tests.e2e.tamper.ranges import flipped
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Sequence

Flip = tuple[int, int]


def overall(pdf: bytes, root: bytes) -> str:
    """Return the verdict on a file as it is."""
    return confined(partial(_overall, pdf, root), "the file", load=load_for_examination).decode()


def overall_with(report: bytes, root: bytes, flips: Sequence[Flip]) -> dict[Flip, str]:
    """Return the verdict for each bit turned by itself, by byte and bit; where a child ended, why."""
    try:
        told = confined(partial(_overall_with, report, root, flips), "a flipped bit", load=load_for_examination)
    except UsageError as ended:
        if len(flips) == 1:
            return {flips[0]: ended.message}
        return {key: told for one in flips for key, told in overall_with(report, root, [one]).items()}
    return dict(zip(flips, json.loads(told), strict=True))


def _overall(pdf: bytes, root: bytes) -> bytes:
    return verify_report(pdf, at=made.LATER, roots=[root], **made.CHECKS).overall.encode()


def _overall_with(report: bytes, root: bytes, flips: Sequence[Flip]) -> bytes:
    return json.dumps([_overall(flipped(report, *flip), root).decode() for flip in flips]).encode()
