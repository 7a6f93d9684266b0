"""Two apparatus on one area may use the same names for locations: whatever speaks of one says whose it is."""

import json

from tests.unit.cli.conftest import DAY


def two_pots(contract, first="2.9", second="4.2", name="1"):
    entry = DAY[DAY.index("  - area: A-1") : DAY.index("not_inspected")]
    other = entry.replace("pot 1", "pot 2").replace("2.9", second).replace("location: 1", f"location: {name}")
    other += "    dust: [{location: 1, quantity: 4, size: 2}]\n"
    text = DAY.replace("x1: 2.9", f"x1: {first}").replace("not_inspected", f"{other}not_inspected")
    (contract / "day.yaml").write_text(text, "utf-8")


def test_findings_tasks_and_page_1_name_the_apparatus(run, contract):
    project = (contract / "project.yaml").read_text("utf-8")
    project = project.replace("  time_to_coat:", "  dust: {maximum_quantity: 2}\n  time_to_coat:")
    (contract / "project.yaml").write_text(project, "utf-8")
    two_pots(contract)
    result = json.loads(run("check", "day.yaml", "--json").out)
    named = {(one["code"], one["place"]["location"]) for one in result["findings"] if "location" in one["place"]}
    assert named == {
        ("profile-above-maximum", "1 (pot 2)"), ("walk-out-missing", "1 (pot 2)"), ("dust-above-maximum", "1 (pot 2)"),
    }  # fmt: skip
    assert ("walk-out", "1 (pot 2)") in [
        (one["code"], one["place"]["location"]) for one in result["measure_next"] if "code" in one
    ]
    reasons = result["areas"][0]["reasons"]
    counted = [result["findings"][one["finding"]] for one in reasons]
    assert ("profile-above-maximum", "1 (pot 2)") in {(one["code"], one["place"].get("location")) for one in counted}
    assert "A-1 location 1 (pot 2): profile 4.20 mil" in " ".join(run("check", "day.yaml").out.split())
    assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
    import pypdf

    page = " ".join(pypdf.PdfReader(contract / "draft.pdf").pages[0].extract_text().split())
    assert "A-1 location 1 (pot 2): 4.20 mil" in page


def test_a_name_that_one_apparatus_alone_uses_stays_as_it_is(run, contract):
    two_pots(contract, name="2")
    result = json.loads(run("check", "day.yaml", "--json").out)
    assert {one["place"].get("location") for one in result["findings"] if one["code"] == "profile-above-maximum"} == {
        "2"
    }
