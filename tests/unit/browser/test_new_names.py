"""Names of apparatus and abrasives that a shift does not know yet: what is asked about, and what is raised once."""

import re
import shutil

import pytest
import yaml

from reportgen.browser.questions import new_name
from reportgen.intake.changes import Address, Change, Entry
from tests import footbridge
from tests.conftest import JOBS
from tests.unit.browser.site import Site

KNOWN = {"surfaces": [{"area": "G-1", "apparatus": "pot 1", "blasted": {"abrasive": "grit 40"}}]}


def begun(subject, name):
    return Change(Address((Entry("air_checks", ((subject, name),)),)), None, {subject: name})


@pytest.mark.parametrize(
    ("data", "change", "asked"),
    [
        (KNOWN, begun("apparatus", "700"), ("700", ["pot 1"])),
        ({}, begun("apparatus", "6,5"), ("6,5", [])),
        (KNOWN, begun("apparatus", "pot 2"), ("pot 2", ["pot 1"])),
        (KNOWN, begun("apparatus", "pot 1"), None),
        ({}, begun("apparatus", "pot 2"), None),
        (KNOWN, begun("abrasive", "grit 80"), ("grit 80", ["grit 40"])),
        (KNOWN, Change(Address.parse("surfaces[area=G-2]/apparatus"), None, "700"), ("700", ["pot 1"])),
        (KNOWN, Change(Address.parse("surfaces[area=G-2]/apparatus"), None, "pot 2"), None),
        (KNOWN, Change(Address.parse("surfaces[area=G-2]/remarks"), None, "700"), None),
    ],
)
def test_a_number_is_no_name_unasked_and_a_new_name_is_asked_about_where_checks_begin(data, change, asked):
    assert new_name(data, change) == asked


def test_what_was_raised_meanwhile_is_not_raised_again(tmp_path):
    folder = shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")
    day, page = folder / "2026-06-09.yaml", "/shift/2026-06-09/nonconformances"
    day.write_text(re.sub(r"\nnonconformances:\n(  .*\n)+", "\n", day.read_text("utf-8")), "utf-8")
    site = Site(folder).opened()
    sent = re.search(r"\"raise\": \"(?P<area>[^\"]*)\", \"codes\": \"(?P<codes>[^\"]*)\"", site.get(page).text)
    given = {"raise": sent["area"], "codes": sent["codes"]}
    site.post(f"{page}/write", given)
    assert "There is one already" in site.post(f"{page}/write", given).text
    assert len(yaml.safe_load(day.read_text("utf-8"))["nonconformances"]) == 1


def test_a_number_that_a_later_day_has_is_not_given_again(tmp_path):
    folder = footbridge.folder(
        tmp_path / "hd", one=footbridge.day(1, footbridge.SMOOTH), two=footbridge.day(2, raised=footbridge.OPEN)
    )
    site, page = Site(folder).opened(), "/shift/one/nonconformances"
    sent = re.search(r"\"raise\": \"(?P<area>[^\"]*)\", \"codes\": \"(?P<codes>[^\"]*)\"", site.get(page).text)
    site.post(f"{page}/write", {"raise": sent["area"], "codes": sent["codes"]})
    (raised,) = yaml.safe_load((folder / "one.yaml").read_text("utf-8"))["nonconformances"]
    assert raised["id"] == "NCR-002"
