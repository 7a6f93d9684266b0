"""Ruled tables: where they break, what they cost, what they draw."""

import io

import pytest
from reportlab.platypus.doctemplate import ActionFlowable

from reportgen.charts import Label, Shape, Stroke
from reportgen.pdf.blocks import Facts, Runs, TextBlock
from reportgen.pdf.canvas import ReportCanvas, artifact
from reportgen.pdf.charted import Drawing
from reportgen.pdf.painting import operators, paint
from reportgen.pdf.styles import INK, REGULAR
from reportgen.pdf.tables import Cell, Column, GroupedTable, time_width
from reportgen.pdf.textlines import Run, text_width

COLUMNS = [Column("name", 100), Column("value", 60, "RIGHT", gap=0)]


def table(groups, size=2, **options):
    rows = [[(f"row {group}.{row}", str(row)) for row in range(size)] for group in range(groups)]
    return GroupedTable(COLUMNS, rows, "a table", **options)


def parts(whole, room):
    """Heights and first rows of the parts on pages of ``room`` points each."""
    found, rest = [], [whole]
    while rest:
        current = rest.pop(0)
        if isinstance(current, ActionFlowable):
            continue
        if current.wrap(160, room)[1] <= room:
            found.append(current)
            continue
        pieces = current.split(160, room)
        assert pieces, "a part that cannot be placed"
        found.append(pieces[0])
        rest = [*pieces[1:], *rest]
    return found


def canvas(**options):
    return ReportCanvas(io.BytesIO(), title="T", pagesize=(300, 400), **options)


def test_a_break_falls_between_groups_only_and_every_part_fits():
    whole = table(20, 3)
    broken = parts(whole, 200)
    assert len(broken) > 3
    assert all(part.wrap(160, 200)[1] <= 200 for part in broken)
    assert [part._start for part in broken[1:]] == [part._stop for part in broken[:-1]]
    assert sum(part._stop - part._start for part in broken) == 20


def test_a_single_group_is_not_left_alone_on_the_next_page():
    whole = table(6)
    room = whole.wrap(160, 1000)[1] - 1  # all but the last group would fit
    first, *rest = whole.split(160, room)
    assert first._stop == 4
    assert isinstance(rest[0], ActionFlowable)


def test_what_fits_is_not_broken_and_what_cannot_start_is_moved():
    whole = table(3)
    assert whole.split(160, 500) == [whole]
    assert whole.split(160, 20) == []


def test_heights_asked_for_before_a_heading():
    assert table(2).need() > table(2).total()
    long = table(40)
    assert long.need(2) < long.total()
    assert long.lead(2) < long.lead(3)
    empty = GroupedTable(COLUMNS, [], "nothing")
    assert (empty.total(), empty.lead()) == (0, 0)
    empty.canv = canvas()
    empty.draw()


def test_a_row_taller_than_a_page_goes_on_as_further_rows():
    whole = GroupedTable(COLUMNS, [[("word " * 700, "1")]], "long")
    broken = parts(whole, 640)
    assert len(broken) > 2
    lines = [
        line
        for part in broken
        for group in part._groups[part._start : part._stop]
        for row in group
        for line in row.cells[0].lines
    ]
    assert " ".join(lines).split() == ["word"] * 700
    values = [row.cells[1] for group in whole._groups for row in group]
    assert values[0].lines == ("1",)
    assert set(values[1:]) == {None}


def test_a_row_is_whole_and_where_it_goes_on_says_of_what():
    """A row that a page can hold is never broken; a longer one bears its name again where it goes on."""
    one_page = GroupedTable(COLUMNS, [[("Profile", "word " * 40)]], "one", row_head=True)
    assert len(one_page._groups) == 1
    longer = [("Profile", "word " * 300)]
    whole = GroupedTable(COLUMNS, [longer], "long", row_head=True, again="{} (continued)".format)
    names = ["".join(run.text for run in group[0].cells[0].runs) for group in whole._groups[1:]]
    assert names
    assert set(names) == {"Profile (continued)"}


def drawn_at(whole, width):
    """The heights at which the texts of a table stand, by text."""
    target, found = canvas(), {}
    whole.wrapOn(target, width, 300)
    whole._set, whole._put = spy(whole._set, found), spy_put(whole, found)
    whole.canv = target
    whole.drawOn(target, 0, 10)
    return found


def spy(setting, found):
    return lambda target, cell, top: (found.setdefault(" ".join(cell.lines), top), setting(target, cell, top))


def spy_put(whole, found):
    put = whole._put

    def noted(target, cell, place, top):
        if isinstance(cell, Runs):
            found["".join(run.text for run in cell.runs)] = top
        put(target, cell, place, top)

    return noted


def test_cells_of_a_row_share_their_top_whatever_stands_across():
    """A number stands beside the long id after it; what is too wide further on stands below, and moves nothing."""
    name = "SPAN-17W-18-LOWER-CHORD-NORTH"
    columns = (Column("", 12), Column("id", 60), Column("text", 60), Column("n", 60, gap=0))
    at = drawn_at(GroupedTable(columns, [[("1", name, "chord", "2")]], "ids"), 192)
    assert at["1"] == at[name] > at["chord"] == at["2"]
    end = drawn_at(GroupedTable(columns, [[("1", "A-1", "chord", name)]], "ids"), 192)
    assert end["1"] == end["A-1"] == end["chord"] > end[name]
    runs = Runs([Run(name, "PlexSans", "000000")], 40)
    end = drawn_at(GroupedTable(columns, [[("1", "A-1", "chord", runs)]], "ids"), 192)
    assert end["1"] == end["A-1"] == end["chord"] > end[name]


def test_a_long_text_stands_on_lines_across_the_table_and_a_short_one_in_its_column():
    columns = (Column("name", 60), Column("limit", 100), Column("found", 100, gap=0))

    def found(count):
        cell = Runs([Run("word " * count, "PlexSans", "000000")], 100)
        [[row]] = GroupedTable(columns, [[("A", "b", cell)]], "found")._groups
        return row.cells[2]

    assert found(20).start is None
    assert found(120).start == 60
    assert len(found(120).lines) < 120 / 4 * 0.7


WIDE = (Column("id", 60, face="PlexSans-SemiBold"), Column("text", 120), Column("n", 40, "RIGHT", gap=0))


def test_a_column_takes_room_from_its_neighbours_before_an_id_breaks():
    table = GroupedTable(WIDE, [[("PIER-04-EAST", "lower chord, north face", "1")]], "ids")
    [[row]] = table._groups
    assert row.cells[0].lines == ("PIER-04-EAST",)
    assert not row.cells[0].across
    assert table.columns[0].width > 60
    assert sum(column.width for column in table.columns) == pytest.approx(220)
    assert GroupedTable(WIDE, [[("PIER", "lower chord", "1")]], "ids").columns == WIDE


def test_an_id_wider_than_its_neighbours_can_spare_stands_above_its_row():
    name = "SPAN-17W-18-LOWER-CHORD-NORTH"
    table = GroupedTable(WIDE, [[(name, "lower chord, north face", "1")], [("A-1", "upper chord", "2")]], "ids")
    long, short = (group[0] for group in table._groups)
    assert long.cells[0].lines == (name,)
    assert long.cells[0].across
    assert long.cells[0].size == table.size
    assert long.height > short.height
    assert not short.cells[0].across


def test_a_word_wider_than_the_table_is_set_smaller_and_starts_at_its_edge():
    table = GroupedTable(WIDE, [[("A-1", "W" * 36, "1")]], "ids")
    [[row]] = table._groups
    assert row.cells[1].lines == ("W" * 36,)
    assert (row.cells[1].x, row.cells[1].across) == (0.0, True)
    assert row.cells[1].size < table.size
    assert row.cells[2].lines == ("1",)


def test_cells_may_have_a_face_and_colour_of_their_own():
    whole = GroupedTable(COLUMNS, [[(Cell("bold", face="PlexSans-SemiBold"), Cell("red", ink="b3261e"))]], "styled")
    target = canvas()
    whole.wrapOn(target, 160, 300)
    whole.drawOn(target, 10, 10)
    target.showPage()
    stream = target._doc.Pages.pages[0].stream
    assert "0.7020 0.1490 0.1176 rg" in stream


def test_times_with_a_date_get_room_for_it():
    assert time_width(["06:40", None]) < time_width(["06:40", "2026-06-04 00:20"])


def test_a_text_breaks_between_lines_but_leaves_none_alone():
    block = TextBlock("word " * 60, "body")
    width, height = block.wrap(100, 1000)
    assert width == 100
    assert block.split(100, 12) == []
    first, rest = block.split(100, height / 2)
    assert first.wrap(100, 999)[1] + rest.wrap(100, 999)[1] == pytest.approx(height)
    assert min(len(first.lines), len(rest.lines)) >= 2


def test_facts_break_between_rows_and_inside_a_row_only_when_it_is_very_long():
    facts = Facts([("label", "value")] * 6, 2)
    height = facts.wrap(300, 999)[1]
    assert [len(part.facts) for part in facts.split(300, height * 0.7)] == [4, 2]
    assert facts.split(300, 5) == []
    long = Facts([("label", "word " * 700), ("other", "short")], 2)
    first, rest = long.split(300, 200)
    assert first.facts[0][0] == "label"
    assert rest.facts[0][0] == ""
    assert (first.facts[0][1] + " " + rest.facts[0][1]).split() == ["word"] * 700


def test_a_shape_is_clipped_only_where_it_leaves_its_rectangle():
    line = (("m", (0.0, 5.0)), ("l", (20.0, 5.0)))
    pen = Stroke("000000", 1.0, (2.0, 1.0))
    assert operators(Shape(line, None, pen, (0, 0, 20, 10))).startswith(
        "0.0000 0.0000 0.0000 RG 1.00 w [2.00 1.00] 0 d"
    )
    assert operators(Shape(line, None, pen, (0, 0, 10, 10))).startswith("q 0.00 0.00 10.00 10.00 re W n")
    upright = (("m", (5.0, 0.0)), ("l", (5.0, 30.0)))
    assert operators(Shape(upright, "ffffff", None, (0, 0, 20, 10))).endswith("f\nQ")


def test_labels_are_anchored_and_turned():
    target = canvas()
    labels = [Label(50, 50, "turned", 7, "000000", angle=90.0, anchor="middle"), Label(10, 10, "flat", 7, "000000")]
    with artifact(target):
        paint(target, labels)
    target.showPage()
    assert target._doc.Pages.pages[0].stream.count("Tj") == 2


def test_a_long_cell_across_the_table_takes_the_room_of_its_own_lines():
    told = Runs([Run("word " * 400, REGULAR, INK)], 90.0, size=7.6, leading=9.4)
    columns = [Column("a", 90.0), Column("b", 300.0), Column("c", 90.0)]
    rows = [("one", "two", told), ("three", "four", "five")]
    made = GroupedTable(columns, [[row] for row in rows], "summary", size=7.6, leading=8.0, pad=0.0)
    first = made._groups[0][0]
    (across,) = (each for each in first.cells if isinstance(each, Runs))
    assert first.height >= 9.4 * len(across.lines) + 8.0


def test_a_label_wider_than_its_column_is_not_printed_over_the_next_one():
    facts = Facts([("short", "1"), ("a label that is very much wider than its column", "2"), ("next", "3")], 4)
    facts.wrap(300.0, 800.0)
    assert [[one.label for one in row] for row in facts._rows] == [
        ["short"], ["a label that is very much wider than its column"], ["next"],
    ]  # fmt: skip


def test_lines_lie_beneath_a_drawing_that_fills_its_row_and_it_keeps_off_the_name_above_it():
    """A pale line over the dark one of a limit breaks it on a copy; the tint of the band hid the foot of letters."""
    made, high = [], []

    def marks(height):
        high.append(height)
        return [Shape((("m", (10, 0)), ("l", (10, height))), None, Stroke(INK, 0.9))]

    def row(name):
        made.append(Drawing(60, 12.0, marks, fills=True))
        return (name, made[-1])

    whole = GroupedTable(COLUMNS, [[row("N" * 30)], [row("short")]], "with drawings")
    target = canvas()
    _, total = whole.wrapOn(target, 160, 300)
    whole.drawOn(target, 10, 10)
    code = "\n".join(target._code)
    limit = code.index("0.90 w")
    assert code.index(".5 w") < limit
    assert ".5 w" not in code[limit:]
    tall = [group[0].height for group in whole._groups]
    assert high == [tall[0] - whole.leading - 2.4, tall[1]]
    assert total == whole.head + sum(tall)


def test_no_drawing_that_fills_its_row_runs_through_what_stands_across_below_it():
    high = []
    told = Runs([Run("word " * 150, REGULAR, INK)], 90.0, size=7.6, leading=9.4)
    drawing = Drawing(60, 12.0, lambda height: high.append(height) or [], fills=True)
    columns = [Column("a", 90.0), Column("b", 60.0), Column("c", 90.0)]
    made = GroupedTable(columns, [[("one", drawing, told)]], "summary", size=7.6, leading=9.4, pad=2.0)
    target = canvas()
    made.wrapOn(target, 240, 2000)
    made.drawOn(target, 10, 10)
    (row,) = made._groups[0]
    (across,) = (each for each in row.cells if isinstance(each, Runs))
    assert across.start is not None
    assert high == [pytest.approx(row.height - 9.4 * len(across.lines) - 2.0)]


@pytest.mark.parametrize("length", [4, 12, 24, 40])
def test_a_head_over_columns_is_whole_and_stands_on_no_other(monkeypatch, length):
    """Names of any length that the table has room for: beside each other or one below the other, never broken."""
    names = [("spot " + letter * length) for letter in "ab"]
    columns = [Column("location", 60), *(Column("value", 45, "RIGHT") for _ in range(4))]
    rows = [[("1", "2.5", "2.6", "2.4", "2.3")]]
    drawn = GroupedTable(columns, rows, "t", over=[(1, 2, names[0]), (3, 2, names[1])])
    shown = []
    monkeypatch.setattr("reportgen.pdf.tables.show_text", lambda *told: shown.append(told[1:6]))
    width, height = drawn.wrap(300, 700)
    drawn.drawOn(canvas(), 0, 0)
    over = [(x, x + text_width(text, face, size), y, text) for x, y, text, face, size in shown if text
            and text not in {"location", "value"} and set(text) & {"a", "b"}]  # fmt: skip
    assert {letter * length for letter in "ab"} <= {text.removeprefix("spot ") for *_, text in over}
    assert all(x >= 0 and end <= width and y + 5 <= height for x, end, y, _ in over)
    for x, end, y, text in over:
        assert not any(x < other_end and other < end for other, other_end, at, other_text in over
                       if at == y and other_text != text), "a head stands on another"  # fmt: skip
    lowest = max(y for x, y, text, *_ in shown if text == "value")
    assert min(y for _, _, y, _ in over) >= lowest + 7
