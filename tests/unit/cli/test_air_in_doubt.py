"""Oil in the compressed air that a blotter shows after the blasting: the area waits, and page 1 names the test."""

import json

from pypdf import PdfReader

from tests.unit.cli.conftest import DAY, PROJECT

AIR = "  compressed_air: {interval: 8 h, minimum_duration: 1 min}\n  sampling:"
CHECK = '  - {{time: "{}", apparatus: pot 1, duration: 2 min, result: {}}}\n'


def _checked(contract, run, *checks):
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", AIR, 1), encoding="utf-8")
    log = "air_checks:\n" + "".join(CHECK.format(*one) for one in checks)
    (contract / "day.yaml").write_text(DAY + log, encoding="utf-8")
    data = json.loads(run("check", "--json", "day.yaml").out)
    return next(one["decision"] for one in data["areas"] if one["id"] == "A-1")


def test_oil_after_the_blasting_holds_what_was_blasted_since_the_last_clean_test(contract, run):
    before, between, after = ("07:40", "clean"), ("10:35", "clean"), ("10:45", "oil")
    assert _checked(contract, run, before) == "release"
    assert _checked(contract, run, before, between, after) == "release"
    assert _checked(contract, run, before, after) == "hold"
    said = " ".join(run("check", "day.yaml").out.split())
    assert "compressed air perhaps not clean while blasting: pot 1 at 10:45, after blasting: oil" in said
    assert "last clean at 07:40" in said


def test_the_row_of_the_requirement_names_the_test_that_failed_and_that_it_was_clean_again(contract, run):
    assert _checked(contract, run, ("07:20", "oil"), ("07:40", "clean")) == "release"
    assert run("draft", "day.yaml", "-o", "draft.pdf").code == 0
    text = " ".join(" ".join(page.extract_text() for page in PdfReader("draft.pdf").pages).split())
    assert "pot 1 at 07:20: oil; clean at 07:40" in text
    assert "pot 1, 07:40: clean" not in text
