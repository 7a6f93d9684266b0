"""What the page of an area offers for steel that was washed: the nonconformance that says so, raised today too."""

import pytest

from reportgen.browser.area_views import area_view
from tests.unit.browser.test_rework_fields import every
from tests.unit.cli.conftest import PROJECT, contract
from tests.unit.cli.test_reinspection import LIMITS, NEXT, OLD, SALTY, raised, report
from tests.unit.cli.test_tested_before import SALTS, TIMED

__all__ = ["contract"]


def offered(contract, first, second):
    (contract / "project.yaml").write_text(PROJECT.replace("people:", LIMITS), "utf-8")
    (contract / "day.yaml").unlink()
    for number, text in enumerate((first, second), start=1):
        (contract / f"day{number}.yaml").write_text(text, "utf-8")
    fields = every(area_view(contract / "day2.yaml", "en", "A-1", "pot 1"))
    return [name for one in fields if "reinspects" in one.at for name, _ in one.options]


@pytest.mark.parametrize(
    ("before", "here", "names"),
    [
        (raised(SALTS), "", ["N1"]),
        ("", raised(SALTS), ["N1"]),
        ("", raised("stain-above-limit"), []),  # blasted again, and found here
    ],
)
def test_which_nonconformance_the_new_test_is_to_close(contract, before, here, names):
    again = report(2, OLD, tests=TIMED, reading='2.9, time: "10:30"', more=here, **NEXT)
    assert offered(contract, report(1, tests=SALTY, more=before), again) == names


@pytest.mark.parametrize(("before", "asked"), [(raised(SALTS), {"washed", "dust_removed"}), ("", set())])
def test_when_it_was_washed_is_asked_where_something_was_found_before(contract, before, asked):
    again = report(2, OLD, tests=TIMED, reading='2.9, time: "10:30"', **NEXT)
    offered(contract, report(1, tests=SALTY, more=before), again)
    fields = every(area_view(contract / "day2.yaml", "en", "A-1", "pot 1"))
    assert {one.at.rpartition("/")[2] for one in fields} & {"washed", "dust_removed"} == asked
