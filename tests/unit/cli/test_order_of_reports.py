"""Reports of one date follow each other by their shifts, and by number only within one, also beyond nine."""

import json

import pytest

from tests.unit.cli.test_closing import words_of
from tests.unit.cli.test_reinspection import contract, report

__all__ = ["contract"]

EARLY, LATE = 'shift: {start: "06:00", end: "11:00"}', 'shift: {start: "11:00", end: "19:00"}'
SHIFT = 'shift: {start: "07:00", end: "15:00"}'


def shifted(text, shift, blasted, read):
    text = (
        text.replace(SHIFT, shift)
        .replace('time: "10:40"', f'time: "{read}"')
        .replace("x1: 2.9}", f'x1: 2.9, time: "{read}"}}')
    )
    return text.replace("x1: 4.2}", f'x1: 4.2, time: "{read}"}}').replace('"07:00", end: "09:00"', blasted)


MORNING = shifted(report(3), EARLY, '"07:00", end: "09:00"', "10:40")
EVENING = shifted(report(2, reading="4.2"), LATE, '"11:30", end: "13:00"', "14:20")


@pytest.mark.parametrize(
    "days",
    [
        (MORNING, EVENING),
        (
            report(1).replace("SL-1-001", "SL-1-9"),
            report(1, ("10:00", "11:00"), reading="4.2").replace("SL-1-001", "SL-1-10"),
        ),
    ],
)
def test_what_failed_last_is_not_released_by_the_number_of_what_was_before(run, contract, days):
    (contract / "reports").mkdir()
    for number, text in enumerate(days):
        (contract / f"day{number}.yaml").write_text(
            text.replace('time: "10:40"', 'time: "11:40"') if "SL-1-10" in text else text, "utf-8"
        )
        said = run("issue", f"day{number}.yaml", "--identity", "demo", "-o", f"reports/day{number}.pdf")
        assert said.code == 0, said.err
    assert run("audit", "reports", "--processes", "1", "--index", "i.sqlite").code == 1
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert {row["area"]: row["decision"] for row in rows}["A-1"] == "rework"
    run("submittal", "reports", "--identity", "demo", "-o", "s.pdf", "--processes", "1")
    assert "A-1 Sluice, gate rework" in words_of(contract / "s.pdf")
