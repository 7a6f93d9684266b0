"""What a report left on an area is not lost where a project file renames or drops that area."""

import json
import shutil

import pytest

from tests.e2e.conftest import PASSPHRASE, Tool
from tests.footbridge import FIRST_BLASTING, INSPECTOR, OPEN, PROJECT, SMOOTH, day, folder

RENAMED = PROJECT.replace("{id: B-1,", "{id: B-01,")
AGAIN = day(2, area="B-01", blasted=FIRST_BLASTING)
"""The very steel of the first day, under the new name of its area."""


@pytest.fixture(scope="module")
def issued_once(tmp_path_factory, signers):
    """Folders in which the first day was issued, by how it was left: failed, failed and raised, conforming."""
    places = {}
    for how, one in {"failed": day(1, SMOOTH), "raised": day(1, SMOOTH, raised=OPEN), "good": day(1)}.items():
        places[how] = folder(tmp_path_factory.mktemp(how) / "hd", one=one)
        given = ("--identity", signers[INSPECTOR])
        Tool(places[how])("issue", "one.yaml", *given, env={"REPORTGEN_PASSPHRASE": PASSPHRASE})
    return places


@pytest.fixture
def left(issued_once, tmp_path):
    return lambda how: shutil.copytree(issued_once[how], tmp_path / how)


def checked(place, code):
    result = Tool(place)("check", "two.yaml", "--json", code=code)
    said = json.loads(result.stdout)
    found = [(one["code"], one["place"].get("area"), one["facts"]) for one in said["findings"]]
    return {one["id"]: one["decision"] for one in said["areas"]}, found, " ".join(result.stderr.split())


@pytest.mark.parametrize("command", ["check", "draft", "sheet", "new --next"])
def test_an_area_that_failed_and_left_the_project_file_is_owed(left, command):
    place = folder(left("failed"), project=RENAMED, two=day(2, area="B-2"))
    more = {"draft": ("-o", "out.pdf"), "sheet": ("-o", "out.pdf")}.get(command, ())
    said = Tool(place)(*command.split(), "two.yaml", *more).stdout
    assert "areas due: B-1\n" in said or command != "new --next"
    ((_, area, facts),) = [one for one in checked(place, 0)[1] if one[0] == "failed-earlier"]
    assert (area, facts["why"]["failed"]["report"]) == ("B-1", "HD-9-001")
    said = " ".join(Tool(place)("check", "two.yaml").stdout.split())
    put_back = "and the area is no longer in the project file: put it back there, under its former id"
    assert put_back in said
    if command == "new --next":
        (text,) = [path.read_text("utf-8") for path in place.glob("2026-*.yaml")]
        assert put_back in " ".join(text.replace("\n#", " ").split())


@pytest.mark.parametrize("how", ["failed", "raised", "good"])
def test_its_steel_under_the_new_name_is_asked_about(left, how):
    place = folder(left(how), project=RENAMED, two=AGAIN)
    decisions, found, _ = checked(place, 1)
    assert decisions == {"B-01": "hold"}
    assert [(area, facts["area"]) for code, area, facts in found if code == "steel-doubtful"] == [("B-01", "B-1")]
    confirmed = AGAIN.replace("abrasive: steel grit}", "abrasive: steel grit, confirmed: yes}")
    decisions, found, _ = checked(folder(place, two=confirmed, project=RENAMED), 0)
    assert decisions == {"B-01": "release"}
    assert "steel-confirmed" in [code for code, _, _ in found]


@pytest.mark.parametrize("again", [AGAIN, day(2, area="B-2")])
@pytest.mark.parametrize("contract", ["HD-9", "HD 9", "hd-9"])
def test_a_second_project_file_of_the_contract_passes_over_no_area_that_it_renames(left, again, contract):
    other = RENAMED.replace("contract: HD-9", f"contract: {contract}, report_numbers: HD-9-###")
    place = folder(left("raised"), later=other, two=again.replace("project.yaml", "later.yaml"))
    decisions, _, said = checked(place, 1)
    assert set(decisions.values()) == {"hold"}
    assert "JOB251]: the earlier day `one.yaml` is passed over: it names `project.yaml`" in said


def test_other_times_are_other_steel(left):
    place = folder(left("good"), two=day(2, area="B-2"))
    decisions, found, _ = checked(place, 0)
    assert decisions == {"B-2": "release"}
    assert not [code for code, _, _ in found if code.startswith("steel-")]


@pytest.mark.parametrize(("start", "end"), [("08:01", "10:00"), ("08:30", "09:30"), ("09:59", "11:00")])
@pytest.mark.parametrize("confirmed", ["", ", confirmed: yes"])
def test_any_of_its_time_is_asked_about(left, start, end, confirmed):
    blasted = f'{{start: "2026-05-04T{start}:00Z", end: "2026-05-04T{end}:00Z", abrasive: steel grit{confirmed}}}'
    place = folder(left("failed"), two=day(2, area="B-2", blasted=blasted))
    decisions, found, _ = checked(place, 0 if confirmed else 1)
    assert decisions == {"B-2": "release" if confirmed else "hold"}
    code = "steel-confirmed" if confirmed else "steel-doubtful"
    assert [facts["area"] for name, _, facts in found if name == code] == ["B-1"]


@pytest.mark.parametrize(("start", "end"), [("07:00", "08:00"), ("10:00", "11:00")])
def test_what_ends_as_the_other_begins_is_other_steel(left, start, end):
    blasted = f'{{start: "2026-05-04T{start}:00Z", end: "2026-05-04T{end}:00Z", abrasive: steel grit}}'
    _, found, _ = checked(folder(left("failed"), two=day(2, area="B-2", blasted=blasted)), 0)
    assert not [code for code, _, _ in found if code.startswith("steel-")]
