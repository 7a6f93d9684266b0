"""Flowables that carry their tags: over page breaks, in lists and groups, with bookmarks and page references."""

from __future__ import annotations

import pytest
from reportlab.platypus import KeepTogether, PageBreak, Paragraph, Spacer

from reportgen.pdf.blocks import title_text
from reportgen.pdf.marked_content import UntaggedContent
from reportgen.pdf.tagging import PageReference, Tagged, group, tagged_list
from tests.unit.pdf.drawn import elements, laid_out, new_canvas, style, tree

LONG = " ".join(["word"] * 300)  # several pages of 60 points


def test_paragraph_over_pages_stays_one_element():
    canvas = laid_out([Tagged(Paragraph(LONG, style()), "P", bookmark="top")], height=60)
    (paragraph,) = tree(canvas)
    assert len(canvas._doc.Pages.pages) > 2
    assert paragraph == ["P", *(f"{page}.0" for page in range(len(canvas._doc.Pages.pages)))]
    assert canvas.page_of("top") == 1


@pytest.mark.parametrize("alignment", [0, 1, 2, 4])
@pytest.mark.parametrize("text", ["plain words " * 12, "some <b>bold</b> words " * 8])
def test_lines_of_a_paragraph_end_in_a_space(alignment, text):
    canvas = laid_out([Tagged(Paragraph(text, style(alignment=alignment)), "P", bookmark="x")])
    data = canvas._doc.Pages.pages[0].stream
    lines = data.count("T*")
    assert lines > 1
    assert data.count(" ) Tj T*") == lines


def test_what_does_not_fit_does_not_split():
    wrapped = Tagged(Paragraph("text", style()), "P")
    canvas = new_canvas()
    wrapped.wrapOn(canvas, 100, 5)
    assert wrapped.splitOn(canvas, 100, 5) == []


def test_figure_without_words_is_refused():
    with pytest.raises(ValueError, match="a Figure needs an alternative text"):
        Tagged(Spacer(1, 1), "Figure")


def test_group_holds_its_flowables_over_pages():
    story = [*group("Sect", [Tagged(Paragraph(LONG, style()), "P"), Tagged(Paragraph("end", style()), "P")])]
    canvas = laid_out([*story, Tagged(Paragraph("after", style()), "P")], height=60)
    assert [entry[0] for entry in tree(canvas)] == ["Sect", "P"]
    assert [entry[0] for entry in tree(canvas)[0][1:]] == ["P", "P"]


def test_kept_together_flowables_are_tagged_as_they_are_drawn():
    parts = [Tagged(Paragraph("one", style()), "P"), Tagged(Paragraph("two", style()), "P")]
    assert tree(laid_out([KeepTogether(parts)])) == [["P", "0.0"], ["P", "0.1"]]


def test_list_items_have_label_and_body():
    items = [
        Paragraph("one", style(bulletFontName="PlexSans"), bulletText="1."),
        Paragraph("without a label", style()),
        Spacer(1, 1),
    ]
    canvas = laid_out(tagged_list(items, numbering="Decimal"))
    assert tree(canvas) == [
        ["L", ["LI", ["Lbl", "0.0"], ["LBody", "0.1"]], ["LI", ["LBody", "0.2"]], ["LI", ["LBody"]]]
    ]
    assert elements(canvas, "L")[0].attributes == "/O/List/ListNumbering/Decimal"


def test_list_item_over_pages_stays_one_item():
    item = Paragraph(LONG, style(bulletFontName="PlexSans"), bulletText="•")
    canvas = laid_out(tagged_list([item]), height=60)
    (_, (_, label, body)) = tree(canvas)[0]
    assert label == ["Lbl", "0.0"]
    assert body == ["LBody", "0.1", *(f"{page}.0" for page in range(1, len(canvas._doc.Pages.pages)))]


def test_a_flowable_without_tag_is_found():
    with pytest.raises(UntaggedContent, match="drawn outside every tag"):
        laid_out([Paragraph("lost", style())])


def test_a_story_can_be_built_twice():
    """The element of a flowable belongs to the canvas it was drawn on."""
    paragraph = Tagged(Paragraph("text", style()), "P")
    first, second = (new_canvas() for _ in range(2))
    for canvas in (first, second):
        paragraph.wrapOn(canvas, 100, 100)
        paragraph.drawOn(canvas, 0, 0)
        canvas.showPage()
        assert tree(canvas) == [["P", "0.0"]]


def test_wrapper_measures_as_the_flowable():
    paragraph = Paragraph("text", style(spaceBefore=3, spaceAfter=4))
    wrapped = Tagged(paragraph, "P")
    assert (wrapped.getSpaceBefore(), wrapped.getSpaceAfter()) == (3, 4)
    canvas = new_canvas()
    assert wrapped.wrapOn(canvas, 100, 100) == paragraph.wrapOn(canvas, 100, 100)


def test_figure_says_where_it_stands():
    canvas = laid_out([Tagged(Spacer(100, 50), "Figure", alt="a box")])
    (element,) = elements(canvas, "Figure")
    assert element.alt == "a box"
    assert element.attributes == "/O/Layout/BBox[0.00 250.00 100.00 300.00]/Placement/Block"


def test_headings_are_plain_text_and_enter_the_outline():
    story = [
        title_text("A < B & C", "title", 1, bookmark="first"),
        title_text("Second", "section", 2, bookmark="second"),
        title_text("Hidden", "section", 2, bookmark="third", outline=False),
    ]
    canvas = laid_out(story)
    assert tree(canvas) == [["H1", "0.0"], ["H2", "0.1"], ["H2", "0.2"]]
    outline = canvas._doc.Outlines
    assert sorted(outline.destinationnamestotitles.values()) == ["A < B & C", "Second"]
    assert canvas.page_of("second") == 1


def test_headings_of_the_same_text_lead_to_their_own_places():
    same = [title_text("Same", "title", 1, bookmark=name) for name in "ab"]
    canvas = laid_out([same[0], PageBreak(), same[1]])
    places = [canvas.page_of(name) for name in canvas._doc.Outlines.destinationnamestotitles]
    assert sorted(places) == [1, 2]


def test_group_takes_no_room():
    def texts(story):
        code = laid_out([Spacer(1, 40), *story])._doc.Pages.pages[0].stream
        return [line for line in code.splitlines() if "Tm" in line]

    one = [Tagged(Paragraph("x", style(spaceBefore=6)), "P")]
    assert texts(group("Div", one)) == texts(one) != []


def test_page_reference_is_a_link_with_the_number():
    story = [
        Tagged(PageReference("end", width=40, title="to the end"), "P"),
        PageBreak(),
        Tagged(Paragraph("end", style()), "P", bookmark="end"),
    ]
    canvas = laid_out(story)
    assert tree(canvas)[0] == ["P", ["Link", "0.0", "link"]]
    assert [link.alt for link in elements(canvas, "Link")] == ["to the end"]
    code = canvas._doc.Pages.pages[0].stream
    assert code.count("Tj") == 1


def test_page_reference_needs_a_bookmark():
    with pytest.raises(KeyError, match="nowhere"):
        laid_out([Tagged(PageReference("nowhere", width=40, title="on"), "P")])
