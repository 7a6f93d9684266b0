"""What is carried from one area to the next: how it was worked and measured, never what was found."""

import pytest

from reportgen.intake.carried import carried
from reportgen.intake.changes import changed, surface_at
from reportgen.yamlsource import DayText

DAY = """\
surfaces:
  - area: G-5
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "07:00", end: "09:00", abrasive: "garnet, lot 7", nozzle: 10 mm, pressure: 7 bar}
    cleanliness: {observed: Sa 2½, staining: 2 %}
    profile:
      gauge: g2
      film: included
      readings:
        - {location: 1, spot: a, x1: 2.8}
    salts:
      - {location: 2, area: 12.5 cm2, volume: 3 ml, blank: 1.4 uS/cm, sample: 9.1 uS/cm, instrument: k2}
    dust:
      - {location: 1, quantity: 1, size: 2}
  - area: G-6
    apparatus: pot 2
    initial_condition: <condition>
    profile: {gauge: g3}
  - area: G-7
    blasted: {start: "09:30"}
"""


def parts(area, text=DAY, **more):
    return {one.part: one for one in carried(DayText(text.encode(), "day.yaml").data, surface_at(area), **more)}


def test_the_entry_before_on_the_same_apparatus_is_asked():
    first = parts("G-7", apparatus="Pot 1")
    assert {one.origin for one in first.values()} == {"G-5"}
    assert {part: dict(one.values) for part, one in first.items()} == {
        "blasting": {
            "apparatus": "pot 1", "blasted/abrasive": "garnet, lot 7", "blasted/nozzle": "10 mm",
            "blasted/pressure": "7 bar",
        },
        "condition": {"initial_condition": "C"},
        "profile": {"profile/gauge": "g2", "profile/film": "included"},
        "salts": {"salts/area": "12.5 cm2", "salts/volume": "3 ml", "salts/instrument": "k2"},
    }  # fmt: skip
    assert first["salts"].changes == ()
    assert {part: one.origin for part, one in parts("G-7").items()} == {"blasting": "G-6", "profile": "G-6"}
    assert parts("G-5") == {}
    assert parts("G-9", apparatus="pot 3") == {}


def test_one_press_writes_a_part_beside_what_stands_there():
    text = DayText(DAY.encode(), "day.yaml")
    for change in parts("G-7", apparatus="pot 1")["blasting"].changes:
        changed(text, change)
    assert text.encoded().decode() == DAY.replace(
        '    blasted: {start: "09:30"}\n',
        '    blasted: {start: "09:30", abrasive: "garnet, lot 7", nozzle: 10 mm, pressure: 7 bar}\n'
        "    apparatus: pot 1\n",
    )


@pytest.mark.parametrize(
    ("line", "gone"),
    [
        ("apparatus: pot 1", "apparatus"),
        ("initial_condition: D", "initial_condition"),
        ("profile: {gauge: g3}", "film"),
    ],
)
def test_what_the_surface_says_itself_is_not_carried(line, gone):
    found = parts("G-7", f"{DAY}    {line}\n", apparatus="pot 1")
    assert found
    assert not [name for one in found.values() for name in one.values if name.split("/")[-1] == gone]
