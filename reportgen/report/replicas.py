"""The record of replicas: a label to affix each piece of tape to, with its area, location, spot, roll and reading."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.charts.drawing import Stroke, disc, rectangle
from reportgen.pdf.blocks import SECTION_HEIGHT, SectionTitle, running_text, write
from reportgen.pdf.canvas import tagged
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.painting import operators
from reportgen.pdf.styles import BOLD, INK, LABEL, MUTED, REGULAR, SMALL
from reportgen.pdf.textlines import one_line, text_width
from reportgen.words.numbers import digits

if TYPE_CHECKING:
    from reportgen.report.context import Context

_MM = 72 / 25.4
_GAP = 8.0
_DATA = 74.0  # beside the label, or more: what is written on it would be covered by the tape
_INSET, _END = 7.0, 5.0


class PieceOfTape(NamedTuple):
    """One piece of tape."""

    area: str
    location: str
    spot: str
    roll: str
    reading: str


def has_replicas(context: Context) -> bool:
    """Whether any reading was taken on replica tape."""
    return any(reading.roll is not None for readings in context.job.readings for reading in readings)


def replicas_section(context: Context) -> list[Flowable]:
    """A label for each reading on tape, in rows, in the order of the file; nothing where no tape was used."""
    words = context.words
    if not has_replicas(context):
        return []
    label = context.template.replica_label
    wide, high = float(label.width.in_unit("mm")) * _MM, float(label.height.in_unit("mm")) * _MM
    circle = float(label.circle.in_unit("mm")) * _MM
    pieces = [
        PieceOfTape(surface.area, words("location", location=one.location), one.spot, one.roll, digits(one.value))
        for surface, readings in zip(context.job.day.surfaces, context.job.readings, strict=True)
        for one in readings
        if one.roll is not None
    ]
    longest = max(text_width(text, face, size) for piece in pieces for text, size, face, _ in _texts(context, piece))
    per_row = max(1, int(context.width // (wide + max(_DATA, _INSET + longest + _END))))
    rows = [
        LabelRow(context, pieces[start : start + per_row], (wide, high), circle, per_row)
        for start in range(0, len(pieces), per_row)
    ]
    title = SectionTitle(words("replica.title"), "replicas", note=words("replica.count", count=len(pieces)))
    explained = running_text(words("replica.explained"), "muted", before=2)
    return [CondPageBreak(SECTION_HEIGHT + 2 * high + 60), title, explained, *rows]


def _texts(context: Context, piece: PieceOfTape) -> tuple[tuple[str, float, str, str], ...]:
    """What stands beside a label: text, size, face, colour of each line."""
    words = context.words
    return (
        (piece.area, SMALL, BOLD, INK),
        (piece.location, SMALL, REGULAR, INK),
        (words("replica.spot", spot=piece.spot, roll=piece.roll), LABEL, REGULAR, INK),
        (words("replica.reading", reading=piece.reading), LABEL, REGULAR, INK),
    )


class LabelRow(Flowable):  # type: ignore[misc] # reportlab has no types
    """Labels side by side at their real size, each with the data of its tape at its right."""

    def __init__(
        self, context: Context, pieces: list[PieceOfTape], label: tuple[float, float], circle: float, per_row: int
    ) -> None:
        super().__init__()
        self.context, self.pieces = context, pieces
        self.label, self.circle, self.per_row = label, circle, per_row
        self.spaceBefore = _GAP

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """The whole width, one label high."""
        self.width, self.height = aW, self.label[1]
        return self.width, self.height

    def draw(self) -> None:
        """Each label with the round of its tape, and its texts."""
        canvas: Any = self.canv
        wide, high = self.label
        frame = rectangle(0, 0, wide, high, None, Stroke(MUTED, 0.5))
        tape = disc(wide / 2, high / 2, self.circle / 2, None, Stroke(MUTED, 0.5, (1.5, 1.5)))
        outline = f"{operators(frame)}\n{operators(tape)}"
        pitch = self.width / self.per_row
        for index, piece in enumerate(self.pieces):
            x = index * pitch
            canvas.addLiteral(f"q 1 0 0 1 {x:.2f} 0 cm {outline} Q")
            texts = _texts(self.context, piece)
            step = min(13.0, (high - 8) / len(texts))
            with tagged(canvas, "P"):
                for number, (text, size, face, ink) in enumerate(texts):
                    y = high - 4 - step * (number + 0.75)
                    fitted = one_line(text, face, size, pitch - wide - _INSET - _END)
                    write(canvas, x + wide + _INSET, y, text, fitted, ink, face=face)
