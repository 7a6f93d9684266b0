"""The colours of the report, as ``rrggbb``, in charts and pages alike. White paper, one ink."""

from __future__ import annotations

INK = "16202a"
MUTED = "1f2933"
HAIRLINE = "cfd6dc"
PANEL = "f4f6f7"
BAND = "dfeaf0"
DATA = "2f6f8f"
CONFORMS = "1d6b57"
FAILS = "b3261e"
OPEN = "9a6a00"
PAPER = "ffffff"

VERDICT_COLOUR = {
    "conforms": CONFORMS, "does not conform": FAILS, "inconclusive": OPEN, "not evaluated": OPEN, "accepted": INK,
}  # fmt: skip
"""Colour of each verdict; its shape says the same again (`verdict_mark`)."""
