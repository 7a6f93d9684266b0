"""The structure tree and its form in the file."""

from __future__ import annotations

import pytest

from reportgen.pdf.structure import Annotation, Content, Element, StructureTree, text_string


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("plain", "(plain)"),
        ("a (b) \\ c", r"(a \(b\) \\ c)"),
        ("", "()"),
        ("2½", "<FEFF003200BD>"),
        ("line\nfeed", "<FEFF" + "line\nfeed".encode("utf-16-be").hex().upper() + ">"),
        ("\U0001d11e", "<FEFFD834DD1E>"),
    ],
)
def test_text_strings(text, expected):
    assert text_string(text) == expected


def test_tree_is_walked_in_reading_order():
    root = Element("Document", None)
    first, second = root.child("Sect"), root.child("P")
    inner = first.child("H1")
    inner.kids.append(Content(0, 0))
    assert list(root.walk()) == [root, first, inner, second]


def test_a_sibling_is_read_before():
    root = Element("Document", None)
    body = root.child("LBody")
    label = body.sibling_before("Lbl")
    assert root.kids == [label, body]
    with pytest.raises(ValueError, match="the root has no siblings"):
        root.sibling_before("P")


def test_bodies_of_elements():
    element = Element("P", None, number=9)
    pages = [21, 22]
    assert element.body(8, pages) == "<</S/P/P 8 0 R>>"
    element.kids.append(Content(1, 4))
    assert element.body(8, pages) == "<</S/P/P 8 0 R/Pg 22 0 R/K 4>>"
    element.kids.append(Content(0, 2))
    link = element.child("Link")
    link.number = 10
    expected = "<</S/P/P 8 0 R/Pg 22 0 R/K[4 <</Type/MCR/Pg 21 0 R/MCID 2>> 10 0 R]>>"
    assert element.body(8, pages) == expected
    link.kids.append(Annotation(1, 30))
    assert link.body(9, pages) == "<</S/Link/P 9 0 R/K[<</Type/OBJR/Pg 22 0 R/Obj 30 0 R>>]>>"


def test_words_of_elements():
    element = Element("Figure", None, alt="3 bars, µm", attributes="/O/Layout")
    expected = f"<</S/Figure/P 1 0 R/A<</O/Layout>>/Alt{text_string('3 bars, µm')}>>"
    assert element.body(1, []) == expected


def test_parent_tree_names_the_element_of_each_content_and_annotation():
    tree = StructureTree()
    paragraph, link = tree.root.child("P"), tree.root.child("Link")
    tree.pages = [[paragraph, paragraph], [], [link]]
    assert tree.annotation_key(link) == 1_000_000
    written = dict(tree.objects(5, 50, [11, 12, 13]))
    assert list(written) == [50, 51, 52, 5]
    assert written[50] == b"<</S/Document/P 5 0 R/K[51 0 R 52 0 R]>>"
    assert written[5] == (
        b"<</Type/StructTreeRoot/K 50 0 R/ParentTree<</Nums[0[51 0 R 51 0 R]\n2[52 0 R]\n1000000 52 0 R]>>"
        b"/ParentTreeNextKey 1000001>>"
    )
