"""One day of the demo contracts, built anew: what the stored pages are compared with."""

from __future__ import annotations

import io
import os
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pypdf import PdfReader

from tests.build_samples import DAYS, issue_time

if TYPE_CHECKING:
    from reportgen.pipeline.building import Built

DAY = next(day for day in DAYS if day.stem == "2026-06-09")
STORED = Path(__file__).parent / "stored"
UPDATING = os.environ.get("REPORTGEN_UPDATE_GOLDEN") == "1"

_CHANGING = (
    (re.compile(r"\b[0-9a-f]{64}\b"), "<SHA-256>"),
    (re.compile(r"\b[0-9a-f]{8,16}…[0-9a-f]{8}\b"), "<SHA-256>"),
    (re.compile(r"\breportgen \d[\w.+-]*"), "reportgen <version>"),
)


@cache
def built() -> Built:
    """The unsigned file of the day, as a demonstration."""
    from reportgen.loader.template import load_template
    from reportgen.pipeline import check
    from reportgen.pipeline.building import Terms, build

    checked = check(DAY)
    template = load_template(checked.job.project.template or "a4-en")
    return build(checked, Terms("demonstration", issue_time(DAY), template))


def document() -> PdfReader:
    """The same, opened by pypdf."""
    return PdfReader(io.BytesIO(built().pdf))


def lasting(text: str) -> str:
    """Text without what changes from release to release: hashes and versions; white space as single spaces."""
    text = " ".join(text.split())
    for pattern, name in _CHANGING:
        text = pattern.sub(name, text)
    return text
