"""Tables whose rows and cells are tagged, over as many pages as they take."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportlab.platypus import Table

from reportgen.pdf.canvas import SharedElement, is_tagged, tagged
from reportgen.pdf.fonts import FONT_NAMES
from reportgen.pdf.structure import Element, text_string

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.pdf.canvas import ReportCanvas

# reportlab's cells start out in a standard font, which is never embedded
_REPORT_FACE = [("FONTNAME", (0, 0), (-1, -1), FONT_NAMES[0])]


class TaggedTable(Table):  # type: ignore[misc]  # reportlab has no types
    """A platypus Table whose rows and cells are tagged; survives splitting over pages as one Table element.

    The first ``header_rows`` rows are TH with scope Column, the first ``header_columns`` columns TH with scope Row.
    Header rows repeat on each page (``repeatRows`` is ``header_rows`` unless given); the repeats are artifacts.
    Strings are set in PlexSans unless the style says otherwise. A cell may hold strings, flowables, or `Tagged`
    flowables, which become children of the cell. ``summary`` describes the table for a screen reader.
    Spans become ColSpan and RowSpan. ``href`` and ``destination`` cell styles become Link elements.
    Every table needs a header: ValueError when both counts are 0.
    """

    def __init__(
        self,
        data: Sequence[Sequence[Any]],
        colWidths: Any = None,  # noqa: N803  # reportlab's names
        rowHeights: Any = None,  # noqa: N803
        style: Any = None,
        *,
        header_rows: int = 1,
        header_columns: int = 0,
        summary: str | None = None,
        **options: Any,
    ) -> None:
        is_part = isinstance(options.get("renderCB"), _TableTags)
        if not is_part:
            if header_rows < 1 and header_columns < 1:
                raise ValueError("a table needs a header row or a header column")
            options["renderCB"] = _TableTags(header_rows, header_columns, summary)
            options.setdefault("repeatRows", header_rows)
        super().__init__(data, colWidths, rowHeights, **options)
        if not is_part:
            self.setStyle(_REPORT_FACE)
        if style:
            self.setStyle(style)

    def _drawCell(self, cellval: Any, cellstyle: Any, pos: Any, size: Any) -> None:  # noqa: N802  # reportlab's name
        if cellval != "":  # an empty string would be marked content without content
            super()._drawCell(cellval, cellstyle, pos, size)


class LayoutTable(Table):  # type: ignore[misc]  # reportlab has no types
    """A Table used only to place things side by side: no Table tag; its `Tagged` cells keep theirs, in row order.

    A non-empty string in a cell becomes a P; an untagged flowable in a cell must be decoration only.
    """

    def __init__(self, data: Sequence[Sequence[Any]], *args: Any, **options: Any) -> None:
        style = options.pop("style", None)
        super().__init__(data, *args, **options)
        if options.get("cellStyles") is None:
            self.setStyle(_REPORT_FACE)
        if style:
            self.setStyle(style)

    def _drawCell(self, cellval: Any, cellstyle: Any, pos: Any, size: Any) -> None:  # noqa: N802  # reportlab's name
        if not isinstance(cellval, str):
            super()._drawCell(cellval, cellstyle, pos, size)
        elif cellval:
            with tagged(self.canv, "P"):
                super()._drawCell(cellval, cellstyle, pos, size)


class _TableTags:
    """What a Table calls while it draws; shared by the parts of a split table, so that they stay one element."""

    def __init__(self, header_rows: int, header_columns: int, summary: str | None) -> None:
        self.header_rows, self.header_columns, self.summary = header_rows, header_columns, summary
        self._table = SharedElement()
        self._repeats = 0  # rows at the top of this part that were read on an earlier page
        self._first_body_row = header_rows
        self._active = False  # on a tagged canvas, outside artifacts
        self._repeating = False
        self._section = Element("", None)  # THead or TBody
        self._section_open = False
        self._link_open = False

    def __call__(self, table: Any, event: str, *details: Any) -> None:
        """One of reportlab's events; backgrounds and lines need nothing: bare drawing becomes an artifact."""
        if event == "startTable":
            self._active = is_tagged(table.canv)
        step = _STEPS.get(event) if self._active else None
        if step is not None:
            step(self, table, *details)

    def start_table(self, table: Any) -> None:
        """The Table element, new or gone on with."""
        element, is_new = self._table.begin(table.canv, "Table")
        if is_new:
            self._section = Element("", None)
            if self.summary:
                element.attributes = f"/O/Table/Summary{text_string(self.summary)}"
        self._repeats = 0 if is_new else table.repeatRows
        self._first_body_row = self.header_rows if is_new else self._repeats

    def end_table(self, table: Any) -> None:
        """End of this part of the table."""
        if self._section_open:
            table.canv.end()
            self._section_open = False
        table.canv.end()

    def start_row(self, table: Any, row: int) -> None:
        """A row of the head or the body; a repeated one is an artifact."""
        if row < self._repeats:
            self._repeating = True
            table.canv.begin_artifact("Pagination")
        else:
            self._open_section(table.canv, "THead" if row < self._first_body_row else "TBody")
            table.canv.begin("TR")

    def _open_section(self, canvas: ReportCanvas, role: Any) -> None:
        if self._section_open:
            if self._section.role == role:
                return
            canvas.end()
        if self._section.role == role:
            canvas.reopen(self._section)
        else:
            section = canvas.begin(role)
            self._section = section if section is not None else self._section
        self._section_open = True

    def end_row(self, table: Any) -> None:
        """End of a row."""
        if self._repeating:
            self._repeating = False
            table.canv.end_artifact()
        else:
            table.canv.end()

    def start_cell(self, table: Any, row: int, column: int, value: Any, style: Any, *_geometry: Any) -> None:
        """TH with its scope, or TD; a linked cell holds a Link."""
        if self._repeating:
            return
        canvas = table.canv
        is_column_head = row < self._first_body_row
        if is_column_head or column < self.header_columns:
            cell = canvas.begin("TH")
            attributes = f"/Scope/{'Column' if is_column_head else 'Row'}"
        else:
            cell = canvas.begin("TD")
            attributes = ""
        if table._spanCmds:  # noqa: SLF001  # reportlab has no accessor
            attributes += _span(table._spanRanges[column, row])  # noqa: SLF001
        if attributes:
            cell.attributes = f"/O/Table{attributes}"
        self._link_open = bool(style.href or style.destination)
        if self._link_open:
            canvas.begin("Link").alt = str(value)

    def end_cell(self, table: Any) -> None:
        """End of a cell."""
        if self._repeating:
            return
        if self._link_open:
            table.canv.end()
        table.canv.end()


_STEPS: dict[str, Any] = {
    "startTable": _TableTags.start_table,
    "endTable": _TableTags.end_table,
    "startRow": _TableTags.start_row,
    "endRow": _TableTags.end_row,
    "startCell": _TableTags.start_cell,
    "endCell": _TableTags.end_cell,
}


def _span(cells: tuple[int, int, int, int]) -> str:
    """ColSpan and RowSpan of a cell that covers first column, first row to last column, last row."""
    columns, rows = cells[2] - cells[0] + 1, cells[3] - cells[1] + 1
    return (f"/ColSpan {columns}" if columns > 1 else "") + (f"/RowSpan {rows}" if rows > 1 else "")
