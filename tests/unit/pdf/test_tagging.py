"""Flowables that carry their tags: over page breaks, in lists and groups, with links and bookmarks."""

from __future__ import annotations

import io

import pytest
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, KeepTogether, PageBreak, PageTemplate, Paragraph, Spacer

from reportgen.pdf import tagging
from reportgen.pdf.canvas import artifact
from reportgen.pdf.marked_content import UntaggedContent
from reportgen.pdf.tagging import LayoutTable, PageReference, Tagged, canvas_maker, group, heading, tagged_list
from tests.unit.pdf.drawn import elements, laid_out, marks, new_canvas, style, tree

LONG = " ".join(["word"] * 300)  # several pages of 60 points


def test_paragraph_over_pages_stays_one_element():
    canvas = laid_out([Tagged(Paragraph(LONG, style()), "P", lang="en-GB", bookmark="top")], height=60)
    (paragraph,) = tree(canvas)
    assert len(canvas._doc.Pages.pages) > 2
    assert paragraph == ["P", *(f"{page}.0" for page in range(len(canvas._doc.Pages.pages)))]
    assert elements(canvas, "P")[0].lang == "en-GB"
    assert canvas.page_of("top") == 1


@pytest.mark.parametrize("alignment", [0, 1, 2, 4])
@pytest.mark.parametrize(
    "text", ["plain words " * 12, "some <b>bold</b> words " * 8, 'and <a href="#x">a link</a> ' * 8]
)
def test_lines_of_a_paragraph_end_in_a_space(alignment, text):
    canvas = laid_out([Tagged(Paragraph(text, style(alignment=alignment)), "P", bookmark="x")])
    data = canvas._doc.Pages.pages[0].stream
    lines = data.count("T*")
    assert lines > 1
    assert data.count(" ) Tj T*") == lines


def test_wrapper_measures_and_keeps_as_the_flowable():
    paragraph = Paragraph("text", style(spaceBefore=3, spaceAfter=4, keepWithNext=1))
    wrapped = Tagged(paragraph, "P")
    assert (wrapped.getSpaceBefore(), wrapped.getSpaceAfter(), wrapped.getKeepWithNext()) == (3, 4, True)
    canvas = new_canvas()
    assert wrapped.wrapOn(canvas, 100, 100) == paragraph.wrapOn(canvas, 100, 100)
    assert wrapped.minWidth() == paragraph.minWidth()
    assert wrapped.identity().startswith("<Tagged <Paragraph")
    assert "text" in wrapped.identity(20)


def test_what_does_not_fit_does_not_split():
    wrapped = Tagged(Paragraph("text", style()), "P")
    canvas = new_canvas()
    wrapped.wrapOn(canvas, 100, 5)
    assert wrapped.splitOn(canvas, 100, 5) == []


@pytest.mark.parametrize(("alignment", "left"), [("LEFT", 0), ("CENTER", 100), ("RIGHT", 200)])
def test_figure_says_where_it_stands(alignment, left):
    figure = LayoutTable(
        [[""]], colWidths=[100], rowHeights=[50], hAlign=alignment, style=[("BOX", (0, 0), (0, 0), 1, "red")]
    )
    canvas = laid_out([Tagged(figure, "Figure", alt="a box")])
    (element,) = elements(canvas, "Figure")
    assert element.alt == "a box"
    assert element.attributes == f"/O/Layout/BBox[{left:.2f} 250.00 {left + 100:.2f} 300.00]/Placement/Block"


def test_figure_without_words_is_refused():
    with pytest.raises(ValueError, match="a Figure needs an alternative text"):
        Tagged(Spacer(1, 1), "Figure")


def test_headings_are_escaped_and_enter_the_outline():
    story = [
        heading("A < B & C", style(), 1),
        heading("Second", style(), 2, bookmark="second"),
        heading("Hidden", style(), 2, outline=False),
    ]
    canvas = laid_out(story)
    assert tree(canvas) == [["H1", "0.0"], ["H2", "0.1"], ["H2", "0.2"]]
    outline = canvas._doc.Outlines
    assert sorted(outline.destinationnamestotitles.values()) == ["A < B & C", "Second"]
    assert canvas.page_of("second") == 1


def test_headings_of_the_same_text_lead_to_their_own_places():
    canvas = laid_out([heading("Same", style(), 1), PageBreak(), heading("Same", style(), 1)])
    places = [canvas.page_of(name) for name in canvas._doc.Outlines.destinationnamestotitles]
    assert sorted(places) == [1, 2]


def test_group_holds_its_flowables_over_pages():
    story = [*group("Sect", [Tagged(Paragraph(LONG, style()), "P"), Tagged(Paragraph("end", style()), "P")])]
    canvas = laid_out([*story, Tagged(Paragraph("after", style()), "P")], height=60)
    assert [entry[0] for entry in tree(canvas)] == ["Sect", "P"]
    assert [entry[0] for entry in tree(canvas)[0][1:]] == ["P", "P"]


def test_group_takes_no_room_and_keeps_headings_with_what_follows():
    def page_of_heading(wrap):
        title = heading("Title", style(keepWithNext=1), 1)
        body = Tagged(Paragraph("several lines " * 30, style()), "P")
        canvas = laid_out([Tagged(Paragraph("first " * 130, style()), "P"), title, *wrap([body])], height=120)
        return elements(canvas, "H1")[0].kids[0].page

    assert page_of_heading(list) == page_of_heading(lambda kept: group("Sect", kept)) == 1  # not left alone on page 0
    plain = laid_out([Spacer(1, 40), *group("Div", [Tagged(Paragraph("x", style(spaceBefore=6)), "P")])])
    same = laid_out([Spacer(1, 40), Tagged(Paragraph("x", style(spaceBefore=6)), "P")])

    def without_marks(canvas):
        return canvas._doc.Pages.pages[0].stream.replace("q\n1 0 0 1 0 260 cm\nQ\n", "")

    assert [line for line in without_marks(plain).splitlines() if "Tm" in line] == [
        line for line in without_marks(same).splitlines() if "Tm" in line
    ]


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


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('before <a href="#x">link</a> after', ["P", "0.0", ["Link", "0.1", "link"], "0.2"]),
        ('<a href="#x">link</a> after', ["P", ["Link", "0.0", "link"], "0.1"]),
        ('before <a href="#x">link</a>', ["P", "0.0", ["Link", "0.1", "link"]]),
        ('<a href="#x">all of it</a>', ["P", ["Link", "0.0", "link"]]),
        ('<a href="#x">all <b>of</b> it</a>', ["P", ["Link", "0.0", "link"]]),
        ('<a href="#x">a</a><a href="#x">b</a>', ["P", ["Link", "0.0", "link"], ["Link", "0.1", "link"]]),
    ],
)
def test_links_of_a_paragraph(text, expected):
    canvas = laid_out([Tagged(Paragraph(text, style()), "P", bookmark="x")])
    assert tree(canvas) == [expected]
    opened = [mark for mark in marks(canvas) if mark != "EMC"]
    assert len(opened) == sum("." in kid for kid in str(expected).split(","))


def test_words_of_links_go_into_their_annotations():
    text = f'see <a href="#x">the <b>second</b> part</a> and <a href="https://example.org">{"long " * 40}</a>'
    canvas = laid_out([Tagged(Paragraph(text, style()), "P", bookmark="x")])
    first, second = elements(canvas, "Link")
    assert first.alt == "the second part"
    assert second.alt == "long " * 40
    names = [name for name in canvas._doc.idToObject if name.startswith("Annot.")]
    words = [canvas._doc.idToObject[name].dict["Contents"] for name in names]
    assert words[0] == "(the second part)"
    assert set(words[1:]) == {f"({'long ' * 40})"}
    assert len(words) > 2  # one per line, all of one element
    assert [type(kid).__name__ for kid in second.kids].count("Annotation") == len(words) - 1


def test_links_in_list_items():
    item = Paragraph('see <a href="#x">there</a>.', style(bulletFontName="PlexSans"), bulletText="•")
    canvas = laid_out([Tagged(Paragraph("x", style()), "P", bookmark="x"), *tagged_list([item])])
    assert tree(canvas)[1] == ["L", ["LI", ["Lbl", "0.1"], ["LBody", "0.2", ["Link", "0.3", "link"], "0.4"]]]


def test_split_paragraph_keeps_the_words_of_its_links():
    text = LONG + ' <a href="#x">the <b>end</b></a> ' + LONG
    canvas = laid_out([Tagged(Paragraph(text, style()), "P", bookmark="x")], height=60)
    assert [link.alt for link in elements(canvas, "Link")] == ["the end"]
    assert elements(canvas, "Link")[0].kids[0].page > 0


def test_page_reference_is_a_link_with_the_number():
    reference = {"font": "PlexSans", "size": 9, "width": 40}
    story = [
        Tagged(PageReference("end", **reference, prefix="p. ", title="to the end"), "P"),
        Tagged(PageReference("end", **reference, align="right", color="red"), "P"),
        PageBreak(),
        Tagged(Paragraph("end", style()), "P", bookmark="end"),
    ]
    canvas = laid_out(story)
    assert tree(canvas)[:2] == [["P", ["Link", "0.0", "link"]], ["P", ["Link", "0.1", "link"]]]
    assert [link.alt for link in elements(canvas, "Link")] == ["to the end", "end"]
    code = canvas._doc.Pages.pages[0].stream
    assert code.count("Tj") == 2
    assert "1 0 0 rg" in code


def test_page_reference_needs_a_bookmark_and_its_canvas():
    reference = PageReference("nowhere", font="PlexSans", size=9, width=40)
    with pytest.raises(KeyError, match="nowhere"):
        laid_out([Tagged(reference, "P")])
    with pytest.raises(TypeError, match="page references need a ReportCanvas"):
        reference.drawOn(Canvas(io.BytesIO()), 0, 0)


def test_untagged_canvas_gets_the_same_drawing():
    def story():
        return [
            heading("Title", style(), 1, bookmark="title"),
            *group("Sect", [Tagged(Paragraph("text", style()), "P")]),
            *tagged_list([Paragraph("item", style(bulletFontName="PlexSans"), bulletText="•")]),
            Tagged(PageReference("title", font="PlexSans", size=9, width=40), "P"),
        ]

    with_tags, without = laid_out(story()), laid_out(story(), tagged=False)

    def text(canvas):
        """Without the spaces at line ends that only a reader of tags needs."""
        code = canvas._doc.Pages.pages[0].stream.replace(" ) Tj", ") Tj")
        return [line for line in code.splitlines() if "Tj" in line]

    assert text(with_tags) == text(without)
    assert "BDC" not in without._doc.Pages.pages[0].stream


def test_plain_canvas_draws_wrapped_flowables():
    template = BaseDocTemplate(io.BytesIO())
    template.addPageTemplates([PageTemplate("page", [Frame(0, 0, 300, 300)])])
    template.build([Tagged(Paragraph("text", style()), "P"), *group("Div", []), *tagged_list([Spacer(1, 1)])])
    assert template.page == 1


def test_a_flowable_without_tag_is_found():
    with pytest.raises(UntaggedContent, match="drawn outside every tag"):
        laid_out([Paragraph("lost", style())])


def test_template_passes_its_furniture_and_language():
    seen = []
    maker = canvas_maker(title="T", lang="fr", furniture=lambda *call: seen.append(call[1:]))
    template = BaseDocTemplate(io.BytesIO())
    template.addPageTemplates([PageTemplate("page", [Frame(0, 0, 300, 300)])])
    template.build(
        [Tagged(Paragraph("a", style()), "P"), PageBreak(), Tagged(Paragraph("b", style()), "P")], canvasmaker=maker
    )
    assert seen == [(1, 2), (2, 2)]


def test_a_story_can_be_built_twice():
    """The element of a flowable belongs to the canvas it was drawn on."""
    paragraph = Tagged(Paragraph("text", style()), "P")
    first, second = (new_canvas() for _ in range(2))
    for canvas in (first, second):
        paragraph.wrapOn(canvas, 100, 100)
        paragraph.drawOn(canvas, 0, 0)
        canvas.showPage()
        assert tree(canvas) == [["P", "0.0"]]


def test_wrapped_flowable_inside_an_artifact_is_not_read():
    canvas = new_canvas()
    paragraph = Tagged(Paragraph("text", style()), "P")
    paragraph.wrapOn(canvas, 100, 100)
    with artifact(canvas):
        paragraph.drawOn(canvas, 0, 0)
    canvas.showPage()
    assert tree(canvas) == []


def test_public_names_exist():
    assert [name for name in tagging.__all__ if not hasattr(tagging, name)] == []
