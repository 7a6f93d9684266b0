"""A report that does not enter a surface never releases it, whatever else it enters and however many follow."""

import datetime as dt
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.pipeline import check
from tests.thorough import repeats
from tests.unit.cli.test_reinspection import CLEAN, LIMITS, PROJECT, report
from tests.unit.cli.test_reinspection_apart import beside

LEFT = st.sampled_from(["", "1.1", "2.2", "4.2"])
"""What pot 2 leaves: nothing measured, a reading outside the range of the grade, one of two, one out of limits."""
LATER = st.lists(
    st.tuples(st.integers(0, 6), st.sampled_from(["pot 1", "pot 3"]), st.sampled_from(["07:00", "09:00", "10:00"])),
    min_size=1, max_size=3,
)  # fmt: skip
"""Later reports: days after, apparatus, beginning of its blasting."""


def _decision(days):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        project = PROJECT.replace("people:", LIMITS).replace("maximum: 8 h", "maximum: 480 h")
        (folder / "project.yaml").write_text(project, "utf-8")
        for number, text in enumerate(days, 1):
            (folder / f"day{number}.yaml").write_text(text, "utf-8")
        (area, *_) = check(folder / f"day{len(days)}.yaml").evaluation.areas
        return area.decision


@settings(max_examples=repeats(25), deadline=None)
@given(LEFT, LATER)
def test_a_report_without_a_surface_never_releases_it(reading, later):
    days, date = [beside(report(1), reading=reading)], dt.date(2026, 5, 4)
    untimed = CLEAN.replace(', time: "10:40"', "")
    for number, (after, apparatus, start) in enumerate(later, 2):
        date += dt.timedelta(days=after)
        blasted = (start, f"{int(start[:2]) + 1:02}:00")
        day = report(number, blasted, tests=untimed, **{"date: 2026-05-04": f"date: {date}"})
        days.append(day.replace("apparatus: pot 1", f"apparatus: {apparatus}"))
        assert _decision(days) != "release"
