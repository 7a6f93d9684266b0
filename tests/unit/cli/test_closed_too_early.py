"""What a report says is closed, and is refused, counts no more in a later report than what it leaves open."""

import io
import json

import pypdf
import pytest

from tests.footbridge import CLOSED, OPEN, PROJECT, ROUGH, SMOOTH, day, folder

SAID = {"closed": CLOSED, "open": OPEN.replace("status: open", "status: open, raised_in: HD-9-001")}
FIRST = '{start: "2026-05-04T08:00:00Z", end: "2026-05-04T10:00:00Z", abrasive: steel grit}'


def checked(run, place, name):
    said = json.loads(run("check", place / name, "--json").out)
    (state,) = said["nonconformances"]
    return [one["decision"] for one in said["areas"]], state["status"], state.get("evidence")


@pytest.mark.parametrize("said", SAID)
@pytest.mark.parametrize("second", ["failed", "not reworked"])
def test_a_refused_closing_takes_no_effect_later(run, tmp_path, said, second):
    again = {"failed": {"second": SMOOTH}, "not reworked": {"second": ROUGH, "blasted": FIRST}}[second]
    place = folder(
        tmp_path / "hd",
        one=day(1, SMOOTH, raised=OPEN),
        two=day(2, raised=SAID[said], reinspects=True, **again),
        three=day(3),
    )
    decisions, status, evidence = checked(run, place, "two.yaml")
    assert (decisions == ["release"], status, evidence) == (False, "open", None)
    assert checked(run, place, "three.yaml") == (["hold"], "open", None)


def test_the_evidence_of_a_refused_closing_is_not_that_of_the_next(run, tmp_path):
    place = folder(
        tmp_path / "hd",
        one=day(1, SMOOTH, raised=OPEN),
        two=day(2, SMOOTH, raised=CLOSED, reinspects=True),
        three=day(3, reinspects=True),
    )
    assert checked(run, place, "three.yaml") == (["release"], "closed", None)
    for name, told in (("two", False), ("three", False)):
        assert run("draft", place / f"{name}.yaml", "-o", tmp_path / f"{name}.pdf").code == 0
        pages = pypdf.PdfReader(io.BytesIO((tmp_path / f"{name}.pdf").read_bytes())).pages
        assert ("measured again" in " ".join(page.extract_text() for page in pages)) is told
    folder(place, three=day(3, raised=CLOSED.replace("measured again", "all good now"), reinspects=True))
    assert checked(run, place, "three.yaml") == (["release"], "closed", "all good now")


@pytest.mark.parametrize("by", ["vintry", "maddock"])
def test_a_refused_decision_counts_for_no_area_later(run, tmp_path, by):
    """The inspector, or the contractor, accepts; then the engineer does, where the steel is not inspected."""
    accepted = CLOSED.replace("disposition: rework", "disposition: use-as-is").replace("vintry", by)
    place = folder(
        tmp_path / "hd",
        one=day(1, SMOOTH, raised=OPEN),
        two=day(2, raised=accepted, blasted=FIRST, area="B-1"),
        three=day(3, raised=accepted.replace(f"decided_by: {by}", "decided_by: eng"), area="B-2"),
        project=PROJECT,
    )
    assert checked(run, place, "two.yaml")[1:] == ("open", None)
    assert checked(run, place, "three.yaml")[1:] == ("open", None)


@pytest.mark.parametrize("by", ["vintry", "maddock"])
def test_what_was_carried_out_is_named_and_not_what_was_refused_meanwhile(run, tmp_path, by):
    accepted = CLOSED.replace("disposition: rework", "disposition: use-as-is").replace("vintry", by)
    place = folder(
        tmp_path / "hd",
        one=day(1, SMOOTH, raised=OPEN),
        two=day(2, raised=accepted, area="B-2"),
        three=day(3, reinspects=True),
        project=PROJECT,
    )
    (raised,) = json.loads(run("check", place / "one.yaml", "--json").out)["nonconformances"]
    (state,) = json.loads(run("check", place / "three.yaml", "--json").out)["nonconformances"]
    assert (raised["disposition"], state["disposition"], state["status"]) == ("rework", "rework", "closed")
    assert state["decided_by"] == raised["decided_by"]


def test_readings_at_one_minute_that_nobody_made_since_the_blasting(run, tmp_path):
    rows = "".join(
        f'        - {{location: {n}, spot: {s}, time: "10:01", x1: 2.8}}\n' for n in range(4, 32) for s in "ab"
    )
    text = day(1).replace('time: "10:2', 'time: "10:01", x: "').replace("readings:\n", "readings:\n" + rows)
    text = "\n".join(line.split(', x: "')[0] + ", x1: 2.8}" if ', x: "' in line else line for line in text.splitlines())
    place = folder(tmp_path / "hd", one=text)
    found = [one["code"] for one in json.loads(run("check", place / "one.yaml", "--json").out)["findings"]]
    assert "readings-too-fast" in found
    folder(place, one=text.replace("10:01", "10:20"))
    found = [one["code"] for one in json.loads(run("check", place / "one.yaml", "--json").out)["findings"]]
    assert "readings-too-fast" not in found
