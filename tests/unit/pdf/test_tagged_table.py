"""Tables as elements: heads and scopes, spans, page breaks, cells with more than text."""

from __future__ import annotations

import pytest
from reportlab.platypus import Paragraph, Spacer

from reportgen.pdf.marked_content import UntaggedContent
from reportgen.pdf.tagging import LayoutTable, Tagged, TaggedTable
from tests.unit.pdf.drawn import elements, laid_out, marks, style, tree


def test_head_and_body():
    table = TaggedTable([["area", "mean"], ["A1", "2.4"], ["A2", ""]], header_columns=1, summary="Means (mil)")
    canvas = laid_out([table])
    assert tree(canvas) == [
        [
            "Table",
            ["THead", ["TR", ["TH", "0.0"], ["TH", "0.1"]]],
            ["TBody", ["TR", ["TH", "0.2"], ["TD", "0.3"]], ["TR", ["TH", "0.4"], ["TD"]]],
        ]
    ]
    scopes = [cell.attributes for cell in elements(canvas, "TH")]
    assert scopes == ["/O/Table/Scope/Column"] * 2 + ["/O/Table/Scope/Row"] * 2
    assert elements(canvas, "Table")[0].attributes == "/O/Table/Summary(Means \\(mil\\))"


def test_table_without_head_rows():
    canvas = laid_out([TaggedTable([["number", "7"]], header_rows=0, header_columns=1)])
    assert tree(canvas) == [["Table", ["TBody", ["TR", ["TH", "0.0"], ["TD", "0.1"]]]]]


def test_every_table_has_a_header():
    with pytest.raises(ValueError, match="a table needs a header row or a header column"):
        TaggedTable([["a"]], header_rows=0)


@pytest.mark.parametrize("header_rows", [1, 2])
def test_table_over_pages_stays_one_element(header_rows):
    rows = [[f"head {row}", "x"] for row in range(header_rows)] + [[str(row), "x"] for row in range(20)]
    canvas = laid_out([TaggedTable(rows, header_rows=header_rows)], height=100)
    pages = len(canvas._doc.Pages.pages)
    assert pages > 3
    ((_, head, body),) = tree(canvas)
    assert len(head) == 1 + header_rows
    assert len(body) == 1 + 20
    for page in range(1, pages):
        assert marks(canvas, page)[:2] == ["/Artifact", "EMC"]  # the repeated head
        code = canvas._doc.Pages.pages[page].stream
        assert code.count("/Pagination>>BDC") == header_rows


def test_head_that_does_not_repeat():
    rows = [["head"]] + [[str(row)] for row in range(10)]
    canvas = laid_out([TaggedTable(rows, repeatRows=0)], height=100)
    ((_, head, body),) = tree(canvas)
    assert (len(head), len(body)) == (2, 11)
    assert "Pagination" not in "".join(page.stream for page in canvas._doc.Pages.pages)


def test_spans():
    table = TaggedTable(
        [["a", "b", ""], ["", "c", "d"], ["e", "f", "g"]],
        header_rows=2,
        style=[("SPAN", (1, 0), (2, 0)), ("SPAN", (0, 0), (0, 1))],
    )
    canvas = laid_out([table])
    assert [cell.attributes.partition("Column")[2] for cell in elements(canvas, "TH")] == [
        "/RowSpan 2",
        "/ColSpan 2",
        "",
        "",
    ]
    assert [len(row.kids) for row in elements(canvas, "TR")] == [2, 2, 3]
    block = TaggedTable([["h", "h"], ["x", ""], ["", ""]], style=[("SPAN", (0, 1), (1, 2))])
    assert elements(laid_out([block]), "TD")[0].attributes == "/O/Table/ColSpan 2/RowSpan 2"


def test_cells_hold_flowables_and_tagged_flowables():
    rows = [
        ["head"],
        [Paragraph("plain", style())],
        [[Tagged(Paragraph("one", style()), "P"), Tagged(Spacer(5, 5), "Figure", alt="a mark")]],
    ]
    canvas = laid_out([TaggedTable(rows, colWidths=[100])])
    assert tree(canvas)[0][2] == ["TBody", ["TR", ["TD", "0.1"]], ["TR", ["TD", ["P", "0.2"], ["Figure"]]]]


def test_linked_cells():
    links = [("HREF", (0, 1), (0, 1), "https://example.org"), ("DESTINATION", (0, 2), (0, 2), "top")]
    table = TaggedTable([["head"], ["site"], ["top"]], style=links)
    canvas = laid_out([Tagged(Paragraph("x", style()), "P", bookmark="top"), table])
    link = ["TR", ["TD", ["Link", "0.2", "link"]]]
    assert tree(canvas)[1][2][:2] == ["TBody", link]
    assert [element.alt for element in elements(canvas, "Link")] == ["site", "top"]


def test_lines_and_backgrounds_are_decoration():
    table = TaggedTable(
        [["head"], ["x"]], style=[("BACKGROUND", (0, 0), (0, 0), "red"), ("BOX", (0, 0), (0, -1), 1, "red")]
    )
    code = laid_out([table])._doc.Pages.pages[0].stream
    assert code.count("/Artifact<</Type/Layout>>BDC") == 2


def test_cells_are_set_in_the_reports_face_unless_told_otherwise():
    table = TaggedTable([["head"], ["x"]], style=[("FONTNAME", (0, 0), (-1, 0), "PlexSans-SemiBold")])
    canvas = laid_out([table])
    assert list(canvas._doc.fontMapping) == ["PlexSans-SemiBold", "PlexSans"]
    with pytest.raises(ValueError, match="font Helvetica is not embedded"):
        laid_out([TaggedTable([["head"]], style=[("FONTNAME", (0, 0), (-1, -1), "Helvetica")])])


def test_drawing_without_tags_is_the_same():
    rows = [["head", "x"]] + [[str(row), ""] for row in range(10)]
    with_tags = laid_out([TaggedTable(rows)], height=100)
    without = laid_out([TaggedTable(rows)], height=100, tagged=False)
    for one, other in zip(with_tags._doc.Pages.pages, without._doc.Pages.pages, strict=True):
        assert [line for line in one.stream.splitlines() if "Tj" in line] == [
            line for line in other.stream.splitlines() if "Tj" in line
        ]


def test_layout_tables_leave_no_trace():
    cells = [["left", Tagged(Paragraph("right", style()), "P")], ["", Spacer(1, 1)]]
    assert tree(laid_out([LayoutTable(cells, colWidths=[100, 100])])) == [["P", "0.0"], ["P", "0.1"]]
    long = [[Tagged(Paragraph(str(row), style()), "P")] for row in range(20)]
    canvas = laid_out([LayoutTable(long, colWidths=[100], style=[("TOPPADDING", (0, 0), (-1, -1), 5)])], height=100)
    assert len(tree(canvas)) == 20


def test_untagged_text_in_a_layout_table_is_found():
    with pytest.raises(UntaggedContent):
        laid_out([LayoutTable([[Paragraph("lost", style())]], colWidths=[100])])


def test_a_table_can_be_drawn_on_two_canvases():
    rows = [["head"], ["x"]]
    table = TaggedTable(rows)
    assert tree(laid_out([table])) == tree(laid_out([table]))


def test_part_that_only_repeats_the_head_adds_nothing():
    whole = TaggedTable([["head"], ["x"]])
    rest = TaggedTable([["head"]], renderCB=whole._renderCB, repeatRows=1, cellStyles=whole._cellStyles[:1])
    canvas = laid_out([whole, rest, Tagged(Paragraph("after", style()), "P")])
    assert [entry[0] for entry in tree(canvas)] == ["Table", "P"]
    assert len(elements(canvas, "TR")) == 2
