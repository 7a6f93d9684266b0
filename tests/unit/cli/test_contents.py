"""The list of contents of a long report: every page number stands at the end of its line."""

import re

import pypdf

LONG = "K-3-UPSTREAM-SKIN-OF-GATE-2-WEST-SIDE-0A"
"""As long as an id may be."""


def lines_of(page):
    """Texts of a page with their places: by height from the foot, then from the left."""
    found = {}

    def visit(text, matrix, text_matrix, _font, _size):
        if text.strip():
            across, up = matrix[4] + text_matrix[4], matrix[5] + text_matrix[5]
            found.setdefault(round(up), []).append((across, text.strip()))

    page.extract_text(visitor_text=visit)
    return found


def test_whatever_the_ids(run, contract, demo):
    for file in demo.glob("*.yaml"):
        file.write_text(re.sub(r"\bK-3\b", LONG, file.read_text(encoding="utf-8")), encoding="utf-8")
    assert run("draft", demo / "2026-06-09.yaml", "-o", "draft.pdf").code == 0
    reader = pypdf.PdfReader(contract / "draft.pdf")
    listed = [
        line
        for page in reader.pages[:4]
        for line in lines_of(page).values()
        if any(text.startswith(LONG) for _, text in line) and re.fullmatch(r"\d+", line[-1][1])
    ]
    assert len(listed) == 1
    assert listed[0][0][1] == f"{LONG} Sluice gates, gate 2, upstream skin"
    assert listed[0][-1][0] > 500
