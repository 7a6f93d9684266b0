"""What keeps an area from being said to be released: every fault and every doubt of an audit, and no screening."""

import pytest

from reportgen.audit import PROBLEMS, Problem
from reportgen.errors import UsageError
from reportgen.issued import OF_ITS_AREA
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


@pytest.mark.parametrize("code", sorted(OF_ITS_AREA))
def test_what_speaks_against_another_area_alone_does_not_refuse(code):
    def one(area):
        return Problem("HM-1", "HM-1-IR-002", code, area, "what was found", (), "passed")

    require_released(RELEASED, [], [one("B")])
    for area in ("A", ""):
        with pytest.raises(UsageError, match=f"{code}: what was found"):
            require_released(RELEASED, [], [one(area)])


@pytest.mark.parametrize("code", ["readings-alike", "photo-again", "two-places", "number-duplicate", "not-compared"])
def test_what_may_speak_against_more_than_the_area_it_names_refuses(code):
    with pytest.raises(UsageError, match=f"{code}: what was found"):
        require_released(RELEASED, [], [Problem("HM-1", "HM-1-IR-002", code, "B", "what was found", (), "passed")])
