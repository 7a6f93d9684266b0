"""The floor every budget is a ratio to: the text and bars of a typical report on the raw canvas, one embedded font.

Run as a script it draws the four pages once (cold); ``draw`` is the same in a warm process.
"""

import io
import sys
from pathlib import Path

FONTS = Path(__file__).parents[2] / "reportgen" / "layout" / "data" / "fonts"


def draw(pages: int = 4) -> bytes:
    """Draw ``pages`` A4 pages: 60 lines of text and 24 bars each; return the PDF."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    if "Floor" not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont("Floor", str(next(iter(sorted(FONTS.glob("*Regular.ttf")))))))
    target = io.BytesIO()
    canvas = Canvas(target, pagesize=(595.28, 841.89), invariant=1, pageCompression=1)
    for page in range(pages):
        canvas.setFont("Floor", 9)
        for line in range(60):
            canvas.drawString(
                51, 790 - 12 * line, f"location {line % 12} spot a 2.{line % 10} recorded as taken 2.{page}0"
            )
            canvas.drawRightString(540, 790 - 12 * line, f"2.{line % 10}0 conforms")
        for bar in range(24):
            canvas.rect(60 + 18 * bar, 40, 14, 3 + bar % 9 * 4, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


if __name__ == "__main__":
    sys.stdout.buffer.write(draw()[:5])
