"""The text of each page and the roles of the structure, compared with what was looked at and stored.

``REPORTGEN_UPDATE_GOLDEN=1 python -m pytest tests/golden`` stores what there is now: read the difference, look at the
pages, commit.
"""

import textwrap

import pytest

from tests.golden.demo import STORED, UPDATING, document, lasting

TEXT = STORED / "2026-06-09.txt"
ROLES = STORED / "2026-06-09-roles.txt"
ADVICE = "look at the page, then store it with REPORTGEN_UPDATE_GOLDEN=1"


def pages_now():
    return [lasting(page.extract_text()) for page in document().pages]


def pages_stored():
    parts = TEXT.read_text("utf-8").split("== page ")
    return [" ".join(part.partition("==\n")[2].split()) for part in parts[1:]]


def roles_now():
    """The structure tree, a role a line, indented by depth; neighbours that are alike stand once with their number."""
    tree = document().trailer["/Root"]["/StructTreeRoot"]["/K"]
    return "\n".join(_lines(tree, 0)) + "\n"


def _lines(node, depth):
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        blocks = [lines for kid in node if (lines := _lines(kid, depth))]
        found = []
        index = 0
        while index < len(blocks):
            same = index
            while same + 1 < len(blocks) and blocks[same + 1] == blocks[index]:
                same += 1
            first, *rest = blocks[index]
            count = same - index + 1
            found += [f"{first} x{count}" if count > 1 else first, *rest]
            index = same + 1
        return found
    if isinstance(node, dict) and "/S" in node:
        return ["  " * depth + str(node["/S"])[1:], *_lines(node.get("/K", []), depth + 1)]
    return []


def test_each_page_says_what_was_stored():
    now = pages_now()
    if UPDATING:
        wrapped = (
            f"== page {number} ==\n{textwrap.fill(page, 110, break_long_words=False, break_on_hyphens=False)}\n"
            for number, page in enumerate(now, start=1)
        )
        STORED.mkdir(exist_ok=True)
        TEXT.write_text("\n".join(wrapped), "utf-8", newline="\n")
    stored = pages_stored()
    assert len(now) == len(stored), ADVICE
    for number, (page, expected) in enumerate(zip(now, stored, strict=True), start=1):
        # readers differ in where they put spaces, so spaces are compared only by their places between words of ours
        assert page.replace(" ", "") == expected.replace(" ", ""), f"page {number}: {ADVICE}\n{page}\n{expected}"


def test_the_structure_has_the_roles_that_were_stored():
    now = roles_now()
    if UPDATING:
        ROLES.write_text(now, "utf-8", newline="\n")
    assert now.splitlines() == ROLES.read_text("utf-8").splitlines(), ADVICE


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("made by reportgen 0.1.0 evaluation " + "ab" * 32, "made by reportgen <version> evaluation <SHA-256>"),
        ("SHA-256 of the evaluation 72f173de71153fbc…45edac06", "SHA-256 of the evaluation <SHA-256>"),
        ("Run reportgen verify on  this file", "Run reportgen verify on this file"),
    ],
)
def test_only_hashes_and_versions_may_change_unseen(text, kept):
    assert lasting(text) == kept
