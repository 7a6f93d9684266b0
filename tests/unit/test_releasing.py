"""What keeps an area from being said to be released: every fault and every doubt of an audit, and no screening."""

import pytest

from reportgen.audit import PROBLEMS, Problem
from reportgen.errors import UsageError
from reportgen.pipeline.releasing import require_released

RELEASED = {"area": "A", "contract": "HM-1", "state": "released", "standing": "proven", "open_items": None, "file": "1"}


def found(code, **more):
    return [Problem("HM-1", "HM-1-IR-002", code, "", "what was found", (), "passed", **more)]


@pytest.mark.parametrize("code", PROBLEMS)
def test_each_fault_and_doubt_refuses_and_a_screening_or_note_does_not(code):
    if PROBLEMS[code].weight in ("fault", "doubt"):
        with pytest.raises(UsageError, match=f"{code}: what was found"):
            require_released(RELEASED, [], found(code))
    else:
        require_released(RELEASED, [], found(code))


def test_limits_that_a_single_report_has_refuse():
    with pytest.raises(UsageError, match="requirement-changed: what was found"):
        require_released(RELEASED, [], found("requirement-changed", weighs="doubt"))


def test_a_nonconformance_open_on_another_area_does_not_refuse():
    def one(area):
        return Problem("HM-1", "NCR-1", "nonconformance-never-closed", area, "what was found", (), "passed")

    require_released(RELEASED, [], [one("B")])
    for area in ("A", ""):
        with pytest.raises(UsageError, match="never-closed: what was found"):
            require_released(RELEASED, [], [one(area)])
