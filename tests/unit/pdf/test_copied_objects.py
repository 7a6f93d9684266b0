"""Pages of other files in this one: each object once, and nothing of the other file's structure."""

import io

import pikepdf
from pypdf import PdfReader

from reportgen.copies import Drawing
from reportgen.pdf.canvas import ReportCanvas, tagged
from reportgen.pdf.copied_objects import Imported


def source(program: bytes, *texts: bytes) -> Drawing:
    """A file whose pages share one font, its program behind two references, and belong to a structure tree."""
    pdf = pikepdf.new()
    descriptor = pdf.make_indirect(pikepdf.Dictionary(FontFile2=pdf.make_stream(program), StructParent=3))
    font = pdf.make_indirect(pikepdf.Dictionary(F1=pikepdf.Dictionary(FontDescriptor=descriptor, Widths=[0.5, 600])))
    for text in texts:
        page = pdf.add_blank_page(page_size=(200, 300))
        page.obj.Contents = pdf.make_stream(b"/P <</MCID 0>> BDC BT /F1 12 Tf (" + text + b") Tj ET EMC")
        page.obj.Resources = pikepdf.Dictionary(Font=font, Properties=pikepdf.Dictionary(P0=pikepdf.Dictionary()))
    out = io.BytesIO()
    pdf.save(out)
    return Drawing(out.getvalue())


def drawn(*drawings: Drawing) -> pikepdf.Pdf:
    """A file with a page for each page of the drawings."""
    out = io.BytesIO()
    canvas = ReportCanvas(out, title="Copies")
    imported = Imported()
    for drawing in drawings:
        for page in range(len(drawing)):
            name = imported.form(canvas, drawing, page)
            with tagged(canvas, "Figure", alt="a copy"):
                canvas.addLiteral("q 1 1 1 rg 0 0 200 300 re f Q")
                canvas.doForm(name)
            canvas.showPage()
    canvas.save()
    PdfReader(io.BytesIO(out.getvalue()), strict=True)
    return pikepdf.open(io.BytesIO(out.getvalue()))


def test_what_pages_share_is_kept_once_also_across_files():
    one, alike, other = source(b"glyphs", b"a", b"b"), source(b"glyphs", b"c"), source(b"other glyphs", b"a")
    pdf = drawn(one, alike, other)
    programs = [thing.read_bytes() for thing in pdf.objects if isinstance(thing, pikepdf.Stream)]
    assert programs.count(b"glyphs") == 1
    assert programs.count(b"other glyphs") == 1
    out = io.BytesIO()
    pdf.save(out)
    copies = Drawing(out.getvalue())
    originals = [one.fingerprint(0), one.fingerprint(1), alike.fingerprint(0), other.fingerprint(0)]
    assert [copies.copied(page) for page in range(4)] == originals
    assert len(set(originals)) == 4


def test_nothing_of_the_other_structure_comes_along():
    pdf = drawn(source(b"glyphs", b"a"))
    things = [thing for thing in pdf.objects if isinstance(thing, pikepdf.Dictionary | pikepdf.Stream)]
    keys = {key for thing in things if thing.get("/Type") != "/Page" for key in thing}
    assert not keys & {"/StructParent", "/StructParents", "/Properties", "/MCID"}
    forms = [thing for thing in pdf.objects if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Form"]
    assert [b"BDC" in form.read_bytes() for form in forms] == [False]
