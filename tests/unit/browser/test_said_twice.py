"""What is entered of an area that was listed as not inspected, and beside an entry that is there already."""

import io
import json
import re

import pytest
from PIL import Image

from reportgen.browser.area_views import area_view
from reportgen.browser.changing import entered, photo_added
from reportgen.browser.contract_views import contract_view
from reportgen.browser.shift_views import shift_view
from reportgen.browser.sight import seen
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

LISTED = DAY.replace(
    "not_inspected: [{area: A-2, reason: scaffold not released}]\n",
    "not_inspected:  # at seven\n  - {area: A-2, reason: <reason why it was not inspected>}\n",
)
BEGUN = {"at": "surfaces[area=A-2]/apparatus", "value": "pot 1"}


def data_of(day):
    return parse_yaml(day.read_bytes(), "day.yaml").data


@pytest.mark.parametrize("text", [LISTED, DAY])
def test_the_first_entry_of_an_area_takes_it_out_of_those_not_inspected(contract, text):
    day = contract / "day.yaml"
    day.write_text(text, "utf-8")
    answer = entered(day, "en", BEGUN | {"inspected": "yes"}, None)
    assert answer.what == "wrote"
    assert (data_of(day)["surfaces"][1], data_of(day)["not_inspected"]) == ({"area": "A-2", "apparatus": "pot 1"}, [])
    assert entered(day, "en", {"undo": "yes"}, answer.wrote).what == "wrote"
    assert day.read_bytes().decode() == text
    more = (
        BEGUN, {"at": "surfaces[area=A-2]/initial_condition", "value": "B"},
        {"at": "surfaces[area=A-2]/blasted/start", "value": "1100", "kind": "clock"},
        {"at": "surfaces[area=A-2]/blasted/end", "value": "1200", "kind": "clock"},
        {"at": "surfaces[area=A-2]/blasted/abrasive", "value": "steel grit"},
    )  # fmt: skip
    assert [entered(day, "en", one | {"inspected": "yes"}, None).what for one in more] == ["wrote"] * len(more)
    assert [one.area for one in seen(day, "en").job.day.surfaces] == ["A-1", "A-2"]


def test_a_reason_that_somebody_wrote_is_not_taken_out_unasked(contract):
    day = contract / "day.yaml"
    asked = entered(day, "en", BEGUN | {"field": "f"}, None)
    assert (asked.what, asked.view["send"]) == ("listed", {**BEGUN, "field": "f", "inspected": "yes"})
    assert asked.view["why"][0].startswith("A-2 is listed as not inspected: scaffold not released.")
    assert day.read_text("utf-8") == DAY
    photo = io.BytesIO()
    Image.new("RGB", (8, 8)).save(photo, "JPEG")
    given = {"surface": "surfaces[area=A-2]", "caption": "the scaffold"}
    assert photo_added(day, "en", photo.getvalue(), "a.jpg", given).what == "listed"
    assert day.read_text("utf-8") == DAY
    wrote = entered(day, "en", asked.view["send"], None)
    assert (
        "A-2 is no longer listed as not inspected; the reason taken out was: scaffold not released."
        in (wrote.view["text"])
    )


@pytest.mark.parametrize("reason", ["scaffold not released", None])
def test_nothing_is_wanted_of_an_area_that_was_not_inspected_for_a_reason(contract, reason):
    day = contract / "day.yaml"
    day.write_text(DAY if reason else LISTED, "utf-8")
    page = Site(contract).opened().get("/shift/day/area/A-2").text
    assert bool(re.search(" data-wanted", page)) is (reason is None)


def test_a_reason_that_is_still_to_be_filled_in_is_no_reason(contract):
    day = contract / "day.yaml"
    day.write_text(LISTED, "utf-8")
    view = area_view(day, "en", "A-2")
    assert (view["not_inspected"].value, view["not_inspected"].wanted) == ("", True)
    missing = [one for one in view["margin"]["here"] if one["to"] == "/shift/day/area/A-2#missed"]
    assert [(one["where"], one["text"]) for one in missing] == [("A-2, not inspected", "still lacks: reason")]
    assert "<reason" not in str(shift_view(day, "en"))
    given = {"at": view["not_inspected"].at, "was": view["not_inspected"].was, "value": "rain"}
    assert entered(day, "en", given, None).what == "wrote"
    assert data_of(day)["not_inspected"] == [{"area": "A-2", "reason": "rain"}]


CONTRACT = "  time_to_coat: {clause"
DUST = '    dust:\n      - {location: 1, quantity: 4, size: 2, time: "09:10"}  # by the ladder\n'


def begun(day, at, key, value, **more):
    given = {"at": f"{at}[{key}=%2A]", "value": value, "begin": json.dumps({key: "*"})}
    return entered(day, "en", given | more, None)


def test_a_second_test_at_a_location_is_a_row_of_its_own(contract):
    day, project = contract / "day.yaml", contract / "project.yaml"
    limit = '  dust: {clause: "2.4", maximum_quantity: 2, maximum_size: 2}\n' + CONTRACT
    project.write_text(project.read_text("utf-8").replace(CONTRACT, limit), "utf-8")
    text = DAY.replace("not_inspected", f"{DUST}not_inspected")
    day.write_text(text, "utf-8")
    at = "surfaces[area=A-1]/dust"
    answer = begun(day, at, "location", "1")
    assert answer.what == "wrote"
    (part,) = [one for one in area_view(day, "en", "A-1")["tests"] if one["key"] == "dust"]
    first, second = part["rows"]
    assert (first["result"] is None, second["result"]) == (False, None)
    again = begun(day, at, "location", "1")  # that was begun already
    assert (again.what, again.view["link"]["to"]) == ("refused", "#dust")
    for name, value, kind in (("quantity", "1", "text"), ("size", "1", "text"), ("time", "0930", "clock")):
        (part,) = [one for one in area_view(day, "en", "A-1")["tests"] if one["key"] == "dust"]
        (own,) = [one for one in part["rows"][1]["fields"] if one.at.endswith(f"/{name}")]
        assert entered(day, "en", {"at": own.at, "value": value, "kind": kind}, None).what == "wrote"
    first, second = data_of(day)["surfaces"][0]["dust"]
    assert (first["quantity"], second) == ("4", {"location": "1", "quantity": "1", "size": "1", "time": "09:30"})
    assert begun(day, at, "location", "1").what == "wrote"  # and a third
    assert "# by the ladder" in day.read_text("utf-8")


def test_a_second_hold_point_of_a_step_is_a_row_of_its_own(contract):
    day = contract / "day.yaml"
    first = 'hold_points: [{step: primer approval, asked: "12:00", released: "12:30", areas: [A-1]}]\n'
    day.write_text(DAY + first, "utf-8")
    answer = begun(day, "hold_points", "step", "primer approval")
    assert answer.what == "wrote"
    assert data_of(day)["hold_points"][1] == {"step": "primer approval"}
    own = f"{answer.wrote.changes[0].at}/asked"
    assert entered(day, "en", {"at": own, "value": "1300", "kind": "clock"}, None).what == "wrote"
    assert [one.get("asked") for one in data_of(day)["hold_points"]] == ["12:00", "13:00"]


def test_a_photo_that_is_there_already_is_said_to_be_there(contract):
    day, data = contract / "day.yaml", io.BytesIO()
    Image.new("RGB", (8, 8)).save(data, "JPEG")
    twice = [photo_added(day, "en", data.getvalue(), "a.jpg", {"surface": "surfaces[area=A-1]"}) for _ in range(2)]
    assert [one.what for one in twice] == ["wrote", "refused"]
    assert twice[1].view["refused"] == ["A-1, photos/a.jpg: there is one already. Nothing was written."]


def test_what_cannot_be_taken_is_said_without_holes_and_leads_to_its_field(contract):
    day = contract / "day.yaml"
    day.write_text(DAY.replace("not_inspected", '    coated: "13:"\nnot_inspected'), "utf-8")
    view = area_view(day, "en", "A-1")
    (item,), (wrong,) = view["margin"]["here"], view["margin"]["wrong"]
    assert (item["where"], item["text"]) == ("A-1", "cannot be taken as it stands: coated at")
    assert item["to"] == wrong["to"] == "/shift/day/area/A-1#rest"
    assert wrong["where"] == "day.yaml, line 15"
    assert "A-1: cannot be taken as it stands: coated at" in view["reasons"]
    assert "surfaces[0]" not in str(view["reasons"])


def test_a_day_that_cannot_be_read_is_no_contract_without_a_shift(contract):
    (contract / "day.yaml").write_text(DAY.replace("  - area: A-1", "  - area: A-1: x"), "utf-8")
    assert contract_view(contract, "en")["state"]["head"].startswith("day.yaml cannot be read.")
