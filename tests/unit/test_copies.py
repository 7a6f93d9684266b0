"""What a page draws, told apart from its tags; and when a page is plainly a copy."""

import io

import pikepdf
import pytest

from reportgen.copies import Drawing

FONT = b"BT /F1 12 Tf (release) Tj ET"
SHOWN = b"0.5 0 0 0.5 10 20 cm q 1 1 1 rg 0 0 200 300 re f Q /X Do"


def page_of(pdf, content, *, resources=None, box=(0, 0, 200, 300), **entries):
    page = pdf.add_blank_page(page_size=(200, 300))
    page.obj.MediaBox = pikepdf.Array(box)
    page.obj.Contents = pdf.make_stream(content)
    page.obj.Resources = resources if resources is not None else pikepdf.Dictionary()
    for key, value in entries.items():
        page.obj[f"/{key}"] = value
    return page


def drawing_of(content=FONT, **options) -> Drawing:
    pdf = pikepdf.new()
    page_of(pdf, content, **options)
    return saved(pdf)


def saved(pdf) -> Drawing:
    out = io.BytesIO()
    pdf.save(out)
    return Drawing(out.getvalue())


def font(pdf, name):
    program = pdf.make_indirect(pdf.make_stream(b"the program of " + name))
    return pikepdf.Dictionary(Font=pikepdf.Dictionary(F1=pikepdf.Dictionary(FontFile2=program)))


def copy_of(content=FONT, *, around=SHOWN, box=(0, 0, 200, 300), **form) -> Drawing:
    """The file of a page that shows ``content`` as the form X, by the content ``around``."""
    pdf = pikepdf.new()
    entries = {"Subtype": pikepdf.Name.Form, "BBox": pikepdf.Array(box), "Resources": pikepdf.Dictionary(), **form}
    inner = pdf.make_indirect(pdf.make_stream(content, **entries))
    page_of(pdf, around, resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(X=inner)))
    return saved(pdf)


def test_marks_are_no_part_of_a_drawing():
    plain, tagged = drawing_of(), drawing_of(b"/P <</MCID 3>> BDC " + FONT + b" EMC /Artifact BMC EMC /Here MP")
    assert tagged.content(0) == plain.content(0)
    assert tagged.fingerprint(0) == plain.fingerprint(0)


def test_everything_else_is():
    pdf = pikepdf.new()
    for name in (b"one", b"other", b"one"):
        page_of(pdf, FONT, resources=font(pdf, name))
    one, other, same = (saved(pdf).fingerprint(page) for page in range(3))
    assert one == same
    assert one != other
    different = {
        drawing_of().fingerprint(0),
        drawing_of(FONT.replace(b"release", b"rework ")).fingerprint(0),
        drawing_of(FONT.replace(b"12", b"12.5")).fingerprint(0),
        drawing_of(box=(0, 0, 200, 299)).fingerprint(0),
        drawing_of(resources=pikepdf.Dictionary(ExtGState=pikepdf.Dictionary(G=True))).fingerprint(0),
        drawing_of(resources=pikepdf.Dictionary(ExtGState=pikepdf.Dictionary(G=False))).fingerprint(0),
        drawing_of(resources=pikepdf.Dictionary(ExtGState=pikepdf.Dictionary(G=pikepdf.Array([1, 2])))).fingerprint(0),
        drawing_of(resources=pikepdf.Dictionary(ExtGState=pikepdf.Dictionary(G=pikepdf.Array([12])))).fingerprint(0),
        one,
        other,
    }
    assert len(different) == 10


def test_a_copy_has_the_fingerprint_of_its_original():
    assert copy_of().copied(0) == drawing_of().fingerprint(0)
    assert copy_of(FONT.replace(b"release", b"rework ")).copied(0) != drawing_of().fingerprint(0)
    assert copy_of(around=b"q BT (COPY) Tj ET " + SHOWN + b" Q q 1 0 0 1 0 5 cm Q").copied(0) is not None


@pytest.mark.parametrize(
    "around",
    [
        pytest.param(SHOWN + b" BT (no) Tj ET", id="something over it"),
        pytest.param(SHOWN + b" 0 0 9 9 re f", id="a patch over it"),
        pytest.param(b"/X Do", id="no ground"),
        pytest.param(SHOWN.replace(b"1 1 1 rg", b"1 0.9 1 rg"), id="another ground"),
        pytest.param(SHOWN.replace(b"200 300", b"200 200"), id="ground that leaves a part open"),
        pytest.param(b"0 0 9 9 re W n " + SHOWN, id="clipped"),
        pytest.param(b"/G gs " + SHOWN, id="in another state"),
        pytest.param(SHOWN.replace(b"/X", b"/Y"), id="nothing of that name"),
        pytest.param(FONT, id="no form at all"),
        pytest.param(b"", id="empty"),
    ],
)
def test_a_page_that_is_not_plainly_a_copy(around):
    assert copy_of(around=around).copied(0) is None


def test_a_turned_form_or_an_image_is_not_plainly_a_copy():
    assert copy_of(Matrix=pikepdf.Array([0, 1, 1, 0, 0, 0])).copied(0) is None
    assert copy_of(Subtype=pikepdf.Name.Image).copied(0) is None


@pytest.mark.parametrize("entries", [{"Rotate": 90}, {"UserUnit": 2}])
def test_a_turned_or_enlarged_page_is_not_copied(entries):
    with pytest.raises(ValueError, match="its page 1 is turned or enlarged"):
        drawing_of(**entries).box(0)


def test_what_is_no_pdf_or_too_deep_is_refused():
    with pytest.raises(ValueError, match="not a PDF"):
        Drawing(b"%PDF-1.7 and no more")
    nested = pikepdf.Array()
    for _ in range(60):
        nested = pikepdf.Array([nested])
    with pytest.raises(ValueError, match="nested in an unusual way"):
        drawing_of(resources=pikepdf.Dictionary(ColorSpace=nested)).fingerprint(0)


def test_a_circle_of_references_is_refused():
    pdf = pikepdf.new()
    one = pdf.make_indirect(pikepdf.Dictionary())
    one.Other = pdf.make_indirect(pikepdf.Dictionary(Back=one))
    page_of(pdf, FONT, resources=pikepdf.Dictionary(ExtGState=one))
    with pytest.raises(ValueError, match="nested in an unusual way"):
        saved(pdf).fingerprint(0)
