"""Marked content on the canvas: what belongs to which element, what is an artifact, what is refused."""

from __future__ import annotations

import io
import re

import pikepdf
import pytest
from reportlab.lib.utils import ImageReader

from reportgen.pdf.canvas import ReportCanvas, SharedElement, artifact, tagged
from reportgen.pdf.marked_content import UntaggedContent
from tests.unit.pdf.drawn import marks, new_canvas, tree


def read(canvas: ReportCanvas) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(canvas.getpdfdata()))


def test_elements_nest_and_go_on_after_a_child():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "before")
        with tagged(canvas, "Span"):
            canvas.drawString(40, 10, "2½")
        canvas.drawString(60, 10, "after")
    canvas.showPage()
    assert tree(canvas) == [["P", "0.0", ["Span", "0.1"], "0.2"]]
    assert marks(canvas) == ["/P 0", "EMC", "/Span 1", "EMC", "/P 2", "EMC"]


def test_a_mark_around_nothing_is_taken_back():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.setFillColorRGB(1, 0, 0)
        with tagged(canvas, "Span"):
            canvas.drawString(10, 10, "only the child draws")
        canvas.saveState()
        canvas.restoreState()
    with artifact(canvas):
        pass
    canvas.showPage()
    assert tree(canvas) == [["P", ["Span", "0.0"]]]
    assert canvas._doc.Pages.pages[0].stream.count("BDC") == 1


def test_bare_drawing_becomes_an_artifact():
    canvas = new_canvas()
    canvas.line(0, 0, 100, 100)
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "text")
    canvas.rect(0, 0, 10, 10, stroke=0, fill=1)
    canvas.showPage()
    code = canvas._doc.Pages.pages[0].stream
    assert code.count("/Artifact<</Type/Layout>>BDC") == 2
    assert code.count("BDC") == code.count("EMC") == 3


@pytest.mark.parametrize("draw", ["text", "image", "form"])
def test_text_and_images_outside_tags_are_refused(draw):
    from PIL import Image

    canvas = new_canvas()
    if draw == "text":
        canvas.drawString(10, 10, "lost")
    elif draw == "image":
        canvas.drawImage(ImageReader(Image.new("RGB", (1, 1))), 0, 0)
    else:
        canvas.doForm("frame")
    with pytest.raises(UntaggedContent, match="drawn outside every tag and artifact: "):
        canvas.showPage()


def test_artifacts_of_each_kind():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        with artifact(canvas, "Background"):
            canvas.drawString(10, 10, "not read")
            with artifact(canvas, "Footer"):
                canvas.drawString(10, 20, "inside another: still not read")
            with tagged(canvas, "Span") as element:
                assert element is None
                canvas.drawString(10, 30, "a tag inside an artifact is none")
        canvas.drawString(10, 40, "read")
    canvas.showPage()
    assert tree(canvas) == [["P", "0.0"]]
    code = canvas._doc.Pages.pages[0].stream
    assert code.count("/Artifact<</Type/Background>>BDC") == 1
    assert "Footer" not in code


@pytest.mark.parametrize("role", ["Figure", "Formula"])
@pytest.mark.parametrize("alt", [None, "", " "])
def test_figures_need_words(role, alt):
    canvas = new_canvas()
    with pytest.raises(ValueError, match=f"a {role} needs an alternative text"), tagged(canvas, role, alt=alt):
        pass


def test_heading_levels_do_not_skip():
    canvas = new_canvas()
    with pytest.raises(ValueError, match="heading H2 follows H0: a level is skipped"), tagged(canvas, "H2"):
        pass
    for role in ("H1", "H2", "H2", "H1"):
        with tagged(canvas, role):
            canvas.drawString(10, 10, role)
    with pytest.raises(ValueError, match="heading H3 follows H1"), tagged(canvas, "H3"):
        pass


def test_a_page_does_not_end_inside_an_element_with_content():
    canvas = new_canvas()
    canvas.begin("P")
    canvas.drawString(10, 10, "text")
    with pytest.raises(ValueError, match="a page ends inside a mark: /P<</MCID 0>>BDC"):
        canvas.showPage()


def test_containers_go_on_over_pages():
    canvas = new_canvas()
    canvas.begin("Sect")
    for _ in range(2):
        with tagged(canvas, "P"):
            canvas.drawString(10, 10, "text")
        canvas.showPage()
    canvas.end()
    assert tree(canvas) == [["Sect", ["P", "0.0"], ["P", "1.0"]]]
    with pytest.raises(ValueError, match="no element is open"):
        canvas.end()


@pytest.mark.parametrize("options", [{"title": " "}, {"title": ""}, {"lang": ""}, {"lang": None}])
def test_a_tagged_document_has_title_and_language(options):
    with pytest.raises(ValueError, match="a tagged document needs a title and a language"):
        new_canvas(**options)


@pytest.mark.parametrize("font", ["Helvetica", "Times-Bold", "ZapfDingbats"])
def test_standard_fonts_are_refused(font):
    canvas = new_canvas()
    with pytest.raises(ValueError, match=f"font {font} is not embedded"):
        canvas.setFont(font, 10)


def test_links_are_elements_with_words_and_no_border():
    canvas = new_canvas()
    canvas.bookmarkPage("there")
    canvas.translate(10, 20)
    with tagged(canvas, "P"):
        for words in ("to the limits", "to the µm"):
            canvas.begin("Link").alt = words
            canvas.drawString(0, 0, "text")
            canvas.link("there", words, 50, 10)
            canvas.end()
    canvas.showPage()
    assert tree(canvas) == [["P", ["Link", "0.0", "link"], ["Link", "0.1", "link"]]]
    with read(canvas) as pdf:
        annotations = list(pdf.pages[0].Annots)
        assert [str(annotation.Contents) for annotation in annotations] == ["to the limits", "to the µm"]
        assert {int(annotation.F) for annotation in annotations} == {4}
        assert all(list(annotation.Border) == [0, 0, 0] for annotation in annotations)
        assert list(map(float, annotations[0].Rect)) == [10, 20, 60, 30]
        assert annotations[0].Dest[0].objgen == pdf.pages[0].objgen
        numbers = dict(zip(*[iter(pdf.Root.StructTreeRoot.ParentTree.Nums)] * 2, strict=True))
        for annotation in annotations:
            element = numbers[annotation.StructParent]
            assert element.S == "/Link"
            assert list(element.K)[-1].Obj.objgen == annotation.objgen


def test_links_stand_in_the_text_of_a_page_and_in_their_element():
    canvas = new_canvas()
    canvas.bookmarkPage("there")
    with tagged(canvas, "P"), pytest.raises(UntaggedContent, match="a link outside its element: on"):
        canvas.link("there", "on", 1, 1)
    with artifact(canvas), pytest.raises(UntaggedContent, match="a link outside the text of a page: on"):
        canvas.link("there", "on", 1, 1)
    canvas.beginForm("frame")
    with pytest.raises(UntaggedContent, match="a link outside the text of a page"):
        canvas.link("there", "on", 1, 1)


def test_parts_of_a_flowable_share_no_element_where_nothing_is_tagged():
    canvas = new_canvas()
    with artifact(canvas), pytest.raises(ValueError, match="a Table inside an artifact"):
        SharedElement().begin(canvas, "Table")


def test_a_form_is_marked_where_it_is_placed():
    canvas = new_canvas()
    with tagged(canvas, "Figure", alt="a frame"):
        canvas.beginForm("frame", 0, 0, 10, 10)
        canvas.drawString(1, 1, "inside")
        with tagged(canvas, "P") as element:
            assert element is None
            canvas.rect(0, 0, 10, 10)
        canvas.endForm()
        canvas.doForm("frame")
    canvas.showPage()
    assert tree(canvas) == [["Figure", "0.0"]]
    with read(canvas) as pdf:
        (form,) = pdf.pages[0].Resources.XObject.values()
        assert b"BDC" not in form.read_bytes()
        assert pdf.pages[0].Contents.read_bytes().count(b"BDC") == 1


def test_later_text_knows_the_pages_and_keeps_its_place():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.translate(100, 200)
        canvas.later(lambda late: late.drawString(0, 0, f"see {late.page_of('end')}"))
    canvas.showPage()
    with tagged(canvas, "P"):
        canvas.bookmarkPage("end")
        canvas.drawString(10, 10, "end")
    data = canvas.getpdfdata()
    from pypdf import PdfReader

    found = []
    page = PdfReader(io.BytesIO(data)).pages[0]
    text = page.extract_text(visitor_text=lambda text, cm, tm, *_: found.append((text, cm[4:], tm[4:])))
    assert text.strip() == "see 2"
    assert [sum(cm) for text, cm, _ in found if text.strip()] == [300.0]
    assert canvas._doc.Pages.pages[0].stream.count("BDC") == 1


def test_later_text_of_an_unknown_bookmark_is_an_error():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.later(lambda late: late.page_of("nowhere"))
    with pytest.raises(KeyError, match="nowhere"):
        canvas.getpdfdata()


def test_later_text_holds_no_links_tags_or_further_places():
    canvas = new_canvas()
    tries = []

    def draw(late: ReportCanvas) -> None:
        for forbidden in (lambda: late.link("there", "on", 1, 1), lambda: late.later(print)):
            with pytest.raises((UntaggedContent, ValueError), match="page"):
                forbidden()
        tries.append(late.begin("P"))
        late.drawString(0, 0, "text")

    with tagged(canvas, "P"):
        canvas.later(draw)
    canvas.getpdfdata()
    assert tries == [None]


def test_later_text_does_not_go_into_forms():
    canvas = new_canvas()
    canvas.beginForm("frame")
    with pytest.raises(ValueError, match="text that waits for page numbers belongs into a page's content"):
        canvas.later(print)


def test_text_that_looks_like_a_place_is_text():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.later(lambda late: late.drawString(0, 0, "filled"))
        canvas.drawString(0, 20, "%0")
        canvas.drawString(0, 40, "a\n%0\nb")
    from pypdf import PdfReader

    text = PdfReader(io.BytesIO(canvas.getpdfdata())).pages[0].extract_text()
    assert text.count("%0") == 2
    assert text.count("filled") == 1


def test_furniture_is_drawn_below_the_content_of_each_page():
    def furniture(canvas: ReportCanvas, number: int, count: int) -> None:
        with artifact(canvas, "Footer"):
            canvas.drawString(10, 10, f"{number} of {count}")
        canvas.drawString(10, 30, "pagination of no further kind")
        with pytest.raises(ValueError, match="page furniture cannot hold a P"):
            canvas.begin("P")
        with pytest.raises(UntaggedContent, match="a link outside the text"):
            canvas.link("there", "on", 1, 1)

    canvas = new_canvas(furniture=furniture)
    for word in ("one", "two"):
        with tagged(canvas, "P"):
            canvas.drawString(100, 100, word)
        canvas.showPage()
    canvas.getpdfdata()
    for page in canvas._doc.Pages.pages:
        footer, other, text = (page.stream.index(mark) for mark in ("/Footer>>BDC", "/Pagination>>BDC", "/P<</MCID 0"))
        assert footer < other < text
        assert page.stream.count("BDC") == page.stream.count("EMC") == 3


def test_furniture_brings_its_images_and_states():
    from PIL import Image

    def furniture(canvas: ReportCanvas, _number: int, _count: int) -> None:
        canvas.setFillAlpha(0.5)
        canvas.drawImage(ImageReader(Image.new("RGB", (1, 1), "red")), 0, 0)

    canvas = new_canvas(furniture=furniture)
    with tagged(canvas, "Figure", alt="blue"):
        canvas.setFillAlpha(0.25)
        canvas.drawImage(ImageReader(Image.new("RGB", (1, 1), "blue")), 0, 0)
    with read(canvas) as pdf:
        resources = pdf.pages[0].Resources
        assert sorted(image.read_bytes() for image in resources.XObject.values()) == [b"\x00\x00\xff", b"\xff\x00\x00"]
        assert sorted(float(state.ca) for state in resources.ExtGState.values()) == [0.25, 0.5]


def test_bookmarks_have_names_of_their_own():
    canvas = new_canvas()
    canvas.bookmarkPage("a")
    with pytest.raises(ValueError, match="two bookmarks of the same name: a"):
        canvas.bookmarkHorizontal("a", 0, 0)


def test_catalog_and_pages_say_what_tagged_files_must():
    canvas = new_canvas(title="Bericht 2½", lang="de-DE")
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "text")
    with read(canvas) as pdf:
        assert str(pdf.Root.Lang) == "de-DE"
        assert bool(pdf.Root.MarkInfo.Marked)
        assert bool(pdf.Root.ViewerPreferences.DisplayDocTitle)
        assert str(pdf.docinfo["/Title"]) == "Bericht 2½"
        page = pdf.pages[0]
        assert page.Tabs == "/S"
        assert page.StructParents == 0
        assert "/Trans" not in page


def test_outline_of_the_viewer():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "text")
    canvas.bookmarkPage("top")
    canvas.addOutlineEntry("Chapter", "top", 0)
    with read(canvas) as pdf, pdf.open_outline() as outline:
        assert [item.title for item in outline.root] == ["Chapter"]


def test_streams_end_on_a_line_of_their_own():
    """ISO 19005-3 §6.1.7.1, which not every validator looks at."""
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.drawString(10, 10, "text")
    data = canvas.getpdfdata()
    assert data.count(b"endstream") == data.count(b"\nendstream") > 2


def strings(canvas: ReportCanvas) -> list[str]:
    """What each line of a page's code shows: texts, decoded, with the spaces between them."""
    from pypdf import PdfReader
    from pypdf.generic import ContentStream

    reader = PdfReader(io.BytesIO(canvas.getpdfdata()))
    page = reader.pages[0]
    (font,) = page["/Resources"]["/Font"].get_object().values()
    table = dict(re.findall(r"<(\w\w)> <(\w{4})>", font.get_object()["/ToUnicode"].get_data().decode("ascii")))
    widest = {int(code, 16): chr(int(value, 16)) for code, value in table.items()}
    found, current = [], ""
    for operands, operator in ContentStream(page["/Contents"].get_object(), reader).operations:
        if operator == b"Tj":
            data = operands[0].original_bytes
            current += "".join(widest.get(byte, chr(byte)) for byte in data)
        elif operator == b"EMC":
            found.append(current)
            current = ""
    return found


def test_texts_of_one_element_are_kept_apart_by_spaces():
    canvas = new_canvas()
    with tagged(canvas, "P"):
        canvas.drawString(10, 30, "several")
        canvas.drawRightString(90, 30, "words ")
        canvas.line(0, 0, 5, 5)
        text = canvas.beginText(10, 10)
        text.textOut("on")
        canvas.drawText(text)
        canvas.addLiteral("q BT 1 0 0 1 10 5 Tm () Tj ET Q")
        canvas.drawString(10, 0, "lines")
    with tagged(canvas, "P"):
        canvas.drawString(10, 50, "alone")
    with artifact(canvas):
        canvas.drawString(10, 70, "a")
        canvas.drawString(10, 80, "b")
    assert strings(canvas) == ["several words on  lines", "alone", "ab"]


def test_texts_inside_a_form_are_left_as_they_are():
    canvas = new_canvas()
    with tagged(canvas, "Figure", alt="a frame"):
        canvas.drawString(10, 10, "one")
        canvas.beginForm("frame")
        canvas.drawString(1, 1, "two")
        canvas.drawString(1, 2, "three")
        canvas.endForm()
        canvas.drawString(10, 20, "four")
        canvas.doForm("frame")
    assert strings(canvas) == ["one four"]
