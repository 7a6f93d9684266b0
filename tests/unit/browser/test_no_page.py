"""Where a page cannot be shown: what is wrong and what to do, in a frame that leads on."""

import re

import pytest

from reportgen.browser.changing import entered
from reportgen.errors import MachineError, UsageError
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

TWICE = DAY.replace("x1: 2.9}]", "x1: 2.9}, {location: 1, spot: a, x1: 2.8}]")
GONE = [("en", "`day.yaml` is gone", "put it back"), ("de", "`day.yaml` ist nicht mehr da", "zurücklegen")]


def leads_on(page):
    """The pages of the folder that a page leads on to."""
    return re.findall(r'<a class="do" href="([^"]*)"', page)


@pytest.mark.parametrize(
    ("language", "told", "remedy"),
    [("en", "the day file has 2 entries", "in a text editor"), ("de", "die Tagesdatei hat 2", "in einem Texteditor")],
)
def test_a_row_that_is_there_twice_keeps_the_frame_and_says_what_to_do(contract, language, told, remedy):
    (contract / "day.yaml").write_text(TWICE, "utf-8")
    answer = Site(contract, language).opened().get("/shift/day/area/A-1")
    assert answer.status_code == 422
    assert told in answer.text
    assert remedy in answer.text
    assert leads_on(answer.text) == ["/", "/shift/day"]


@pytest.mark.parametrize(("language", "told", "remedy"), GONE)
@pytest.mark.parametrize("page", ["", "/area/A-1", "/checks", "/pages", "/sheet"])
def test_a_day_file_that_was_removed_is_said_to_be_gone(contract, language, told, remedy, page):
    site = Site(contract, language).opened()
    (contract / "day.yaml").unlink()
    answer = site.get(f"/shift/day{page}")
    assert told in answer.text
    assert remedy in answer.text
    assert leads_on(answer.text)[0] == "/"


@pytest.mark.parametrize(("language", "told", "remedy"), GONE)
@pytest.mark.parametrize(
    "given",
    [
        {"at": "surfaces[area=A-1]/apparatus", "value": "pot 2", "was": '"pot 1"'},
        {"at": "surfaces[area=A-1]/profile/readings[location=2,spot=a]/x1", "value": "2.8", "kind": "number"},
        {"take-out": "surfaces[area=A-1]"}, {"settle": "surfaces[area=A-1]/apparatus", "was": '"pot 1"'},
        {"raise": "A-1", "codes": "x"},
    ],
)  # fmt: skip
def test_what_is_typed_after_that_is_no_fault_of_ours(contract, language, told, remedy, given):
    site = Site(contract, language).opened()
    (contract / "day.yaml").unlink()
    answer = site.post("/shift/day/area/A-1/write", given)
    assert answer.status_code == 200
    assert told in answer.text
    assert remedy in answer.text


def test_taking_back_says_so_too(contract):
    day = contract / "day.yaml"
    wrote = entered(day, "en", {"at": "surfaces[area=A-1]/remarks", "value": "dry"}, None).wrote
    day.unlink()
    with pytest.raises(UsageError, match="is gone"):
        entered(day, "en", {"undo": "yes"}, wrote)


def test_a_folder_that_cannot_be_written_keeps_the_frame_of_the_pages(contract, monkeypatch):
    def refused(_):
        raise MachineError("cannot write `register.jsonl`", help_text="ask for the right to write there")

    monkeypatch.setattr("reportgen.pipeline.preparing.prepare", refused)
    answer = Site(contract).opened().get("/shift/day/pages")
    assert answer.status_code == 200
    assert "cannot write `register.jsonl`: ask for the right to write there" in answer.text
    assert '<a href="/shift/day"' in answer.text


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "Nonconformances, entry 1, still lacks: what is wrong"),
        ("de", "Abweichungen, Eintrag 1: Es fehlt noch:"),
    ],
)
def test_what_an_entry_lacks_is_said_in_the_words_of_its_page(contract, language, told):
    lacking = (
        "nonconformances: [{id: N-1, area: A-1, findings: [x], disposition: rework, decided_by: ines, status: open}]"
    )
    (contract / "day.yaml").write_text(f"{DAY}{lacking}\n", "utf-8")
    page = Site(contract, language).opened().get("/shift/day/pages").text
    assert told in page
    assert "missing field `description`" not in page
