"""The floor every budget is a ratio to: the text of a report on the raw canvas, one embedded font, and 24 bars a page.

``python -m tests.bench.floor LINES.json`` draws the lines of the pages in that file once, as a whole process (cold);
``draw`` is the same in a warm process. Without a file, four pages of 120 pieces of text: the same for every report.
"""

import io
import json
import sys
from pathlib import Path

FONT = Path(__file__).parents[2] / "reportgen" / "pdf" / "data" / "fonts" / "ReportSans-Regular.ttf"
TEXT = [f"location {line % 12} spot a 2.{line % 10} recorded as taken, 2.{line % 10}0 conforms" for line in range(60)]
FIXED = [[piece for line in TEXT for piece in (line, "2.20 conforms")] for _ in range(4)]


def draw(pages: list[list[str]]) -> bytes:
    """Draw A4 pages, each piece of text where a page has room for it; return the PDF."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    if "Floor" not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont("Floor", str(FONT)))
    target = io.BytesIO()
    canvas = Canvas(target, pagesize=(595.28, 841.89), invariant=1, pageCompression=1)
    for pieces in pages:
        canvas.setFont("Floor", 8.5)
        for number, piece in enumerate(pieces):
            column, line = divmod(number, 60)
            canvas.drawString(51 + 60 * column, 790 - 12 * line, piece)
        for bar in range(24):
            canvas.rect(60 + 18 * bar, 40, 14, 3 + bar % 9 * 4, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


if __name__ == "__main__":
    given = json.loads(Path(sys.argv[1]).read_text("utf-8")) if len(sys.argv) > 1 else FIXED
    sys.stdout.buffer.write(draw(given)[:5])
