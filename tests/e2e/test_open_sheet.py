"""The field sheet by the pages: out as a form, in with what it would change shown first, and back."""

import html

import pytest

import reportgen
from tests.unit.browser.site import Site
from tests.unit.intake.small import DAY, PREPARED, PROJECT, Filling, rolls_of

PAGE = "/shift/2026-06-12"
READINGS = {1: ("2.4", "2.2"), 2: ("2.7", ""), 3: ("2.6", ""), 4: ("2.8", ""), 5: ("2.9", ""), 6: ("2.6", "")}


@pytest.fixture
def day(tmp_path):
    (tmp_path / "project.yaml").write_text(PROJECT, "utf-8")
    (tmp_path / "2026-06-12.yaml").write_text(DAY, "utf-8")
    return tmp_path / "2026-06-12.yaml"


@pytest.fixture
def site(day):
    return Site(day.parent).opened()


def filled(site, day):
    """The sheet as the page gives it out, filled in by a program that knows fields alone."""
    from reportgen.sheet import sheet_plan

    answer = site.get(f"{PAGE}/sheet.pdf?paper=letter&area=A-1")
    assert answer.headers["content-type"] == "application/pdf"
    checked = reportgen.check(day)
    plan = sheet_plan(checked.job, paper="letter", evaluation=checked.evaluation, areas=["A-1"])
    filling = Filling(plan).write("surface", 1, "A-1", **PREPARED)
    roll = rolls_of(plan, "A-1")
    filling.readings("A-1", {row: {"x1": x1, "c1": c1} for row, (x1, c1) in READINGS.items()}, roll)
    return filling.filled(answer.content)


def brings(site, data, name="filled.pdf", area=""):
    """Choose a file on the page, and return what the page then shows."""
    answer = site.post(f"/files{PAGE}/sheet", {"area": area}, files={"file": (name, data, "application/octet-stream")})
    assert answer.status_code == 200
    return html.unescape(answer.text)


def sent(shown, overwrite="no"):
    """What the form beside what is shown sends."""
    fields = {name: shown.split(f'name="{name}" value="', 1)[1].split('"', 1)[0] for name in ("sha256", "seen")}
    return {**fields, "overwrite": overwrite}


def test_a_sheet_comes_back_filled_and_is_taken_in_after_it_was_shown(site, day):
    before = day.read_bytes()
    data = filled(site, day)
    assert {one.name for one in day.parent.iterdir()} == {"project.yaml", day.name}
    shown = brings(site, data)
    assert "Nothing is written yet." in shown
    assert day.read_bytes() == before
    answer = site.post(f"{PAGE}/sheet/take", sent(shown))
    assert answer.headers.get("hx-redirect") == PAGE, answer.text
    text = day.read_text("utf-8")
    assert "x1: 2.4, c1: 2.2" in text
    assert text.startswith("# kept: the first line")
    assert "Taken in from filled.pdf" in site.get(PAGE).text
    site.post(f"{PAGE}/write", {"undo": "yes"})
    assert day.read_bytes() == before


def test_what_differs_stays_unless_it_is_said(site, day):
    site.post(f"{PAGE}/sheet/take", sent(brings(site, filled(site, day))))
    table = b"location,spot,x1\n2,a,2.8\n"
    shown = brings(site, table, "later.csv", "A-1")
    assert "Different in the day file" in shown
    assert "came in as 2.8" in shown
    site.post(f"{PAGE}/sheet/take", sent(shown, "yes"))
    assert "{location: 2, spot: a, x1: 2.8}" in day.read_text("utf-8").replace('"', "")


def test_it_is_not_taken_in_over_what_was_written_since_or_where_another_file_was_shown(site, day):
    shown = brings(site, filled(site, day))
    with day.open("a", encoding="utf-8") as stream:
        stream.write("remarks: windy\n")
    before = day.read_bytes()
    assert "changed since" in site.post(f"{PAGE}/sheet/take", sent(shown)).text
    assert "Choose" in site.post(f"{PAGE}/sheet/take", {**sent(shown), "sha256": "0" * 64}).text
    assert day.read_bytes() == before


def test_what_was_taken_in_is_not_put_back_over_what_was_written_since(site, day):
    site.post(f"{PAGE}/sheet/take", sent(brings(site, filled(site, day))))
    with day.open("a", encoding="utf-8") as stream:
        stream.write("remarks: windy\n")
    before = day.read_bytes()
    assert "changed since" in site.post(f"{PAGE}/write", {"undo": "yes"}).text
    assert day.read_bytes() == before


def test_what_is_no_sheet_is_refused(site, day):
    before = day.read_bytes()
    assert "refused" in brings(site, b"%PDF-1.7 nothing")
    assert "refused" in brings(site, b"\0\1\2", "x.csv")
    assert "Choose a filled sheet" in brings(site, b"", "")
    assert site.get(f"{PAGE}/sheet.pdf?paper=a3").status_code == 404
    assert day.read_bytes() == before


@pytest.mark.parametrize(("written", "language", "why"), [
    ("700", "en", "outside what replica tape can read"), ("abc", "en", "is not a reading"),
    ("700", "de", "außerhalb"), ("abc", "de", "ist keine Messung"),
])  # fmt: skip
def test_a_value_that_is_refused_is_listed_with_its_place_and_why(day, written, language, why):
    site = Site(day.parent, language).opened()
    shown = brings(site, f"location;spot;x1\n1;a;2.4\n1;b;{written}\n".encode(), "t.csv", "A-1")
    told = shown[shown.index('id="b-refused"') :].partition("</section>")[0]
    assert f"<span>line 3, {written}: " in told
    assert why in told
    assert "<b>1</b>" in told
