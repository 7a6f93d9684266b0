"""What happens at one place never changes what is found of steel at another."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.thorough import repeats
from tests.unit.rules.factory import GOOD, evaluated, surface

STRUCTURES = [
    {"id": name, "name": name, "place": f"{name} side", "areas": [{"id": area, "name": area} for area in areas]}
    for name, areas in (("north", ["A", "C"]), ("south", ["B"]))
]
SPEC = {
    "structures": STRUCTURES,
    "specification.conditions": {"dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "interval": "2 h"},
    "specification.time_to_coat": {"maximum": "6 h"},
}
READING = st.fixed_dictionaries(
    {
        "time": st.integers(6, 16).map(lambda hour: f"{hour:02d}:30"),
        "humidity": st.sampled_from(["50 %", "84 %", "90 %"]),
        "steel": st.sampled_from(["18 degC", "12 degC", "50 degC"]),
        "where": st.sampled_from(["north side", "SOUTH  side", "north", "B", ["A"], ["A", "B"], ["C", "B"]]),
    }
)


def _log(readings):
    where = ("place", "areas")
    return [
        {"air": "20 degC", **{key: value for key, value in one.items() if key != "where"},
         where[isinstance(one["where"], list)]: one["where"]}
        for one in readings
    ]  # fmt: skip


def _found(readings, area):
    records = [surface(area=one, coated="13:00") for one in "ABC"]
    evaluation = evaluated(GOOD, GOOD, GOOD, spec=SPEC, day={"conditions": _log(readings)}, surfaces=records)
    decision = next(one.decision for one in evaluation.areas if one.id == area)
    about = [(one.code, one.facts) for one in evaluation.findings if one.area == area]
    return decision, [one for one in about if not one[0].startswith("nonconformance")]


COVERS = {
    "A": {"north side", "north"}, "B": {"SOUTH  side", "B"}, "C": {"north side", "north"},
}  # fmt: skip


def _of(area, readings):
    return [
        one for one in readings
        if (area in one["where"] if isinstance(one["where"], list) else one["where"] in COVERS[area])
    ]  # fmt: skip


@settings(max_examples=repeats(60), deadline=None)
@given(st.lists(READING, max_size=7), st.sampled_from("ABC"))
def test_readings_elsewhere_change_nothing(readings, area):
    own = _of(area, readings)
    decision, about = _found(readings, area)
    alone, about_alone = _found(own, area)
    if own or not readings:
        assert (decision, about) == (alone, about_alone)
    else:  # without its own readings the area is on hold, whatever was read elsewhere
        assert (decision, about[0][0]) == ("hold", "conditions-missing")
        assert {code for code, _ in about} == {"conditions-missing", "coated-without-release"}
