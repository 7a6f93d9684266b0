"""A report speaks of what had happened when it was signed: no later time, and nothing late that was not late yet."""

import datetime as dt
import json

import pytest

from tests.unit.cli.conftest import DAY

EVENING = "2026-05-04T14:40:00Z"
"""Within the shift of the day: the last recorded time is 14:30, the shift ends at 15:00."""


def issued(run, contract, text, at=EVENING):
    (contract / "day.yaml").write_text(text, "utf-8")
    return run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf", "--at", at)


def with_(old, new):
    assert old in DAY
    return DAY.replace(old, new)


@pytest.mark.parametrize(
    ("text", "line", "lies"),
    [
        (with_("    profile:", '    coated: "14:50"\n    profile:'), 14, "14:50 on 2026-05-04"),
        (with_('"14:30"', '"14:41"'), 5, "14:41 on 2026-05-04"),
        (with_("x1: 2.9}", 'x1: 2.9, time: "14:45"}'), 14, "14:45 on 2026-05-04"),
        (with_("staining: 2 %", 'staining: 2 %, time: "14:55"'), 13, "14:55 on 2026-05-04"),
    ],
)
def test_a_recorded_time_that_lies_ahead_is_not_signed(run, contract, text, line, lies):
    code, _, err = issued(run, contract, text)
    assert code == 2
    assert f"{lies} lies after the moment of issue, 14:40 on 2026-05-04" in " ".join(err.split())
    assert f"day.yaml:{line}:" in err
    assert "it goes into a revision or the next report" in " ".join(err.split())
    assert not (contract / "demo.pdf").exists()
    assert issued(run, contract, text, "2026-05-04T15:10:00Z").code == 0
    assert run("draft", "day.yaml", "-o", "draft.pdf", "--at", EVENING).code == 0


def test_a_report_of_a_day_to_come_is_not_signed(run, contract):
    code, _, err = issued(run, contract, DAY.replace("2026-05-04", "2026-05-05"))
    assert code == 2
    assert err.count("JOB226") == 1
    assert "the shift begins at 07:00 on 2026-05-05, after the moment of issue" in " ".join(err.split())


def test_the_present_moment_decides_without_a_stated_one(run, contract, monkeypatch, tmp_path):
    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: dt.datetime(2026, 5, 4, 14, 0, tzinfo=dt.UTC))
    code, _, err = run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf")
    assert code == 2
    assert "14:30 on 2026-05-04 lies after the moment of issue, 14:00 on 2026-05-04" in " ".join(err.split())


def test_steel_whose_time_is_still_running_is_not_called_late(run, contract):
    """Bare steel with a limit of 14:45, in a shift that goes on until 15:00, signed at 14:40."""
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace("maximum: 8 h", "maximum: 255 min"), "utf-8")
    for at, late in ((EVENING, False), ("2026-05-04T14:46:00Z", True), ("2026-05-04T19:00:00Z", True)):
        assert issued(run, contract, DAY, at).code == 0
        verified = json.loads(run("verify", "demo.pdf", "--json").out)
        steps = {step["number"]: step["status"] for step in verified[0]["steps"]}
        assert (steps[8], steps[10]) == ("passed", "passed")
        evaluation = _evaluation(contract / "demo.pdf")
        codes = [one["code"] for one in evaluation["findings"]]
        assert ("coating-overdue" in codes) is late
        assert (evaluation["areas"][0]["decision"] == "release") is not late


def _evaluation(pdf):
    from reportgen.archival import read_attachments

    return json.loads(read_attachments(pdf.read_bytes())["evaluation.json"])
