"""However tags, artifacts, drawing and page breaks follow each other, marks and structure tree agree."""

from __future__ import annotations

import io
import re

import pikepdf
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.pdf.canvas import ReportCanvas, artifact, tagged
from tests.thorough import repeats

TEXT = st.text("aµ%0()\\ 2½\n", max_size=6)
BARE = st.one_of(st.tuples(st.just("line")), st.tuples(st.just("state")))
WORDS = st.tuples(st.sampled_from(["text", "later"]), TEXT)
INSIDE = st.recursive(  # of an element that holds text
    st.lists(BARE | WORDS, max_size=3),
    lambda inner: st.lists(BARE | WORDS | st.tuples(st.sampled_from(["Span", "P", "artifact"]), inner), max_size=4),
    max_leaves=8,
)
PIECES = st.recursive(  # of an element that holds elements
    st.lists(BARE | st.tuples(st.sampled_from(["P", "LBody", "Figure", "artifact"]), INSIDE), max_size=4),
    lambda inner: st.lists(BARE | st.tuples(st.sampled_from(["Sect", "L", "LI"]), inner), max_size=4),
    max_leaves=8,
)


def draw(canvas: ReportCanvas, pieces: list[tuple]) -> None:
    for kind, *rest in pieces:
        if kind == "text":
            canvas.drawString(10, 10, rest[0])
        elif kind == "later":
            canvas.later(lambda late, words=rest[0]: late.drawString(0, 0, words))
        elif kind == "line":
            canvas.line(0, 0, 10, 10)
        elif kind == "state":
            canvas.setFillColorRGB(0, 0, 0)
        elif kind == "artifact":
            with artifact(canvas):
                draw(canvas, rest[0])
        else:
            with tagged(canvas, kind, alt="words"):
                draw(canvas, rest[0])


@settings(max_examples=repeats(150), deadline=None)
@given(st.lists(PIECES, min_size=1, max_size=3))
def test_marks_and_tree_agree(pages):
    canvas = ReportCanvas(io.BytesIO(), title="Title")
    canvas.begin("Sect")
    for pieces in pages:
        draw(canvas, pieces)
        canvas.showPage()
    canvas.end()
    with pikepdf.open(io.BytesIO(canvas.getpdfdata())) as pdf:
        numbers = pdf.Root.StructTreeRoot.ParentTree.Nums
        owners = {int(key): value for key, value in zip(numbers[::2], numbers[1::2], strict=True)}
        placed = 0
        for index, page in enumerate(pdf.pages):
            marked = check_content(page)
            elements = list(owners.get(index, []))
            assert marked == [(str(element.S), number) for number, element in enumerate(elements)]
            for number, element in enumerate(elements):
                assert (page.objgen, number) in contents_of(element)
            placed += len(marked)
        assert placed == count(pdf.Root.StructTreeRoot.K)


def check_content(page: pikepdf.Page) -> list[tuple[str, int]]:
    """Role and number of each mark, by number; every text and line is inside one mark, and marks do not nest."""
    found, inside = [], False
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name == "BDC":
            assert not inside
            inside = True
            if str(operands[0]) != "/Artifact":
                found.append((str(operands[0]), int(operands[1].MCID)))
        elif name == "EMC":
            assert inside
            inside = False
        elif name in ("Tj", "S", "f", "B", "Do"):
            assert inside
    assert not inside
    return sorted(found, key=lambda mark: mark[1])


def contents_of(element: pikepdf.Dictionary) -> list[tuple[tuple[int, int], int]]:
    """Page and number of each marked content of an element."""
    kids = element.get("/K", [])
    kids = kids if isinstance(kids, pikepdf.Array) else [kids]
    home = element.get("/Pg")
    found = []
    for kid in kids:
        if isinstance(kid, int):
            found.append((home.objgen, kid))
        elif "/MCID" in kid:
            found.append((kid.Pg.objgen, int(kid.MCID)))
    return found


def count(element: pikepdf.Dictionary) -> int:
    """Marked contents of an element and of all below it."""
    kids = element.get("/K", [])
    kids = kids if isinstance(kids, pikepdf.Array) else [kids]
    below = [kid for kid in kids if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]
    assert all(kid.P.objgen == element.objgen for kid in below)
    return len(contents_of(element)) + sum(map(count, below))


@settings(max_examples=repeats(200), deadline=None)
@given(st.text(max_size=30) | st.text(st.sampled_from("a\x1f\ud800\udcff\u202e橋\U0001f642")))
def test_text_strings_come_back(text):
    from reportgen.archival.pdfsyntax import string
    from reportgen.pdf.fonts import storable
    from reportgen.pdf.structure import text_string

    written = text_string(text)
    assert string(text) == written.encode("ascii")
    assert str(pikepdf.Object.parse(written.encode("ascii"))) == storable(text)


@settings(max_examples=repeats(200), deadline=None)
@given(st.text(min_size=1, max_size=20).filter(lambda text: "\0" not in text and text.isprintable()))
def test_names_come_back(text):
    from reportgen.archival.pdfsyntax import name

    written = name(text)
    assert re.fullmatch(rb"/[A-Za-z0-9.+*_#-]*", written)
    assert re.sub(rb"#(..)", lambda code: bytes([int(code[1], 16)]), written[1:]).decode() == text
