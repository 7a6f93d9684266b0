"""Whatever the decision rule, the spots of a location and the paper: each value stands in one row, and no word breaks.

Tables of locations have the narrowest columns where a location has many spots that were read on two grades.
"""

import json

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.property.test_any_legal_job import built, require_agreement
from tests.thorough import repeats
from tests.unit.rules.factory import DAY, METRIC, PROJECT, SURFACE, changed

RULES = ["simple", "guarded", "banded"]
TEMPLATES = ["a4-en", "letter-en", "a4-de"]
FILMS = ["subtracted", "included"]
KINDS = ["well inside", "in the band", "beyond", "one of two readings", "on two grades"]


def tenths(value, step):
    return f"{value / 10:.1f}" if step == "mil" else str(round(value * 2.54))


def rows_of(kind, location, spots, unit, film):
    """The readings of a location: what its kind says of its last spot, or of all of them."""
    on_film = 20 if film == "included" else 0
    for number, spot in enumerate("abcde"[:spots]):
        values = {"x1": {"in the band": 33, "beyond": 41}.get(kind, 28)}
        if number == spots - 1:
            values = {"one of two readings": {"x1": 23}, "on two grades": {"x1": 23, "c1": 22}}.get(kind, values)
        for roll, value in values.items():
            yield {"location": location, "spot": spot, roll: tenths(value + on_film, unit)}


def files_of(rule, rounding, spots, unit, film, kinds, ids):
    profile = {"decision_rule": rule, "rounding": rounding, "readings_per_location": str(spots)}
    spec = {f"specification.profile.{name}": value for name, value in profile.items()}
    project = changed(PROJECT, (METRIC if unit == "um" else {}) | spec)
    named = [f"{ids}{number}" for number, _ in enumerate(kinds, 1)]
    listed = [row for kind, name in zip(kinds, named, strict=True) for row in rows_of(kind, name, spots, unit, film)]
    surfaces = [
        changed(SURFACE, {"area": area, "profile.readings": listed, "profile.film": film}) for area in ("A", "B")
    ]
    day = changed(DAY, {"surfaces": surfaces})
    return {name: json.dumps(text).encode() for name, text in (("project.yaml", project), ("day.yaml", day))}


@settings(max_examples=repeats(12), deadline=None)
@example("banded", "none", 4, "mil", "subtracted", KINDS[:3], "", "a4-en")
@example("banded", "half-even", 5, "mil", "subtracted", KINDS, "", "a4-en")
@example("banded", "none", 5, "um", "included", KINDS, "W-", "a4-de")
@example("guarded", "none", 4, "um", "included", KINDS, "PIER", "letter-en")
@given(
    st.sampled_from(RULES), st.sampled_from(["none", "half-even"]), st.integers(2, 5), st.sampled_from(["mil", "um"]),
    st.sampled_from(FILMS), st.lists(st.sampled_from(KINDS), min_size=2, max_size=6), st.sampled_from(["", "W-"]),
    st.sampled_from(TEMPLATES),
)  # fmt: skip
def test_each_value_stands_in_its_row(rule, rounding, spots, unit, film, kinds, ids, template):
    pdf, pages, evaluation = built(files_of(rule, rounding, spots, unit, film, kinds, ids), "day.yaml", template)
    require_agreement(pdf, pages, evaluation)
