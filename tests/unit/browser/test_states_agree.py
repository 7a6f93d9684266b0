"""What a page says of the day as a whole, beside what its margin counts."""

import json
import re

import pytest

from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]


@pytest.fixture
def site(contract):
    return Site(contract).opened()


def counted(page):
    """The heading of the margin, and its count."""
    return re.search(r"<h2>(Before you leave[^<]*)</h2><b>(\d+)</b>", page).groups()


def test_what_is_missing_is_not_ready(contract, site):
    limits = '  conditions: {clause: "<clause>", maximum_humidity: 85 %}\n  sampling:'
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", limits), "utf-8")
    shown = site.get("/shift/day").text
    assert int(counted(shown)[1]) > 0
    assert "Ready to issue" not in shown


def test_an_area_that_is_due_and_empty_lacks_something(contract, site):
    (contract / "day.yaml").write_text(re.sub("not_inspected: .*\n", "", DAY), "utf-8")
    due = site.get("/shift/day/area/A-2").text
    assert "Nothing is entered yet of: A-2" in due
    assert counted(due) == ("Before you leave A-2", "1")
    bare = DAY.split("gauge_checks:")[0]
    (contract / "day.yaml").write_text(bare + "surfaces: []\n", "utf-8")
    shown = site.get("/shift/day").text
    assert "Nothing is entered yet of" in shown
    assert counted(shown)[1] != "0"


@pytest.mark.parametrize(
    "begin", ['{"x": 1}', '{"../x": {"y": 1}}', '{"a": [1]}', '{"a": [{}]}', '{"a": null}', "[1]", "3"]
)
def test_a_beginning_that_no_page_gave_is_refused(contract, site, begin):
    before = (contract / "day.yaml").read_bytes()
    given = {"at": "conditions[time=%2A]", "value": "ab", "begin": begin, "field": "f1"}
    answer = site.post("/shift/day/checks/write", given)
    assert answer.status_code < 500
    assert "refused" in answer.text
    assert json.dumps(begin) not in answer.text
    assert (contract / "day.yaml").read_bytes() == before
