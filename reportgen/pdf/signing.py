"""Where signatures stand on pages, who signs, and what finished pages are."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

Box = tuple[int, float, float, float, float]
"""Page index from 0, then x0, y0, x1, y1 in points from the page's lower left corner."""


@dataclass(frozen=True, slots=True)
class SignerBlock:
    """Who signs, as printed in the block: name, role, organisation, certificate of competence."""

    name: str
    role: str
    organisation: str | None = None
    certificate: str | None = None


@dataclass(frozen=True, slots=True)
class Rendered:
    """The unsigned pages: bytes, number of pages, where the blocks of the signatures lie, page of each finding.

    ``finding_pages`` maps the index of a finding in the evaluation to the page (from 1) that shows it.
    """

    pdf: bytes
    pages: int
    signature_box: Box
    countersign_boxes: tuple[Box, ...] = ()
    finding_pages: Mapping[int, int] = field(default_factory=dict)


BOX_HEIGHT = 60.0
"""Of a box whose texts take a line each; a longer text makes the boxes of its document higher."""
BOX_GAP = 12.0
TITLE_ROOM = 30.0
