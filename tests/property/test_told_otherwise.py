"""A day with every kind of number, told in other units, another order, twice, or with the film: judged alike.

And what is entered beside it (another apparatus, place or period) never releases what it does not cover.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.thorough import repeats
from tests.unit.rules.factory import DAY, PROJECT, changed, evaluated, surface

SHARED = settings(max_examples=repeats(20), deadline=None)

# A day as told: spec and day as in the files, and the readings of each surface


@dataclass
class Told:
    """What the two files say."""

    spec: dict
    day: dict
    surfaces: list
    readings: list
    roll: str = "x1"

    def evaluated(self):
        texts = ("; ".join(" ".join(row) for row in rows) for rows in self.readings)
        return evaluated(*texts, spec=self.spec, day=self.day, surfaces=self.surfaces)


def _tenths(low, high):
    return st.integers(low, high).map(lambda tenths: Decimal(tenths) / 10)


LOCATIONS = st.lists(st.lists(_tenths(17, 39), min_size=2, max_size=3), min_size=1, max_size=4)
RULES = st.sampled_from(["simple", "guarded", "banded"])
READING = st.fixed_dictionaries({
    "air": _tenths(90, 320), "humidity": st.integers(60, 90), "apart": _tenths(-40, 60), "warmest": st.booleans(),
})  # fmt: skip
SALT = st.fixed_dictionaries({
    "rise": _tenths(20, 110), "chloride": st.integers(30, 70), "named": st.booleans(), "errors": st.booleans(),
})  # fmt: skip
ABRASIVE = st.fixed_dictionaries({"conductivity": st.integers(180, 320), "named": st.booleans()})
DUST = st.tuples(st.integers(0, 4), st.integers(0, 4))
CHECKED = st.sampled_from(["h1", "t1", "k1"])
CHECK = st.tuples(CHECKED, st.integers(-40, 40), st.integers(0, 59))
INSTRUMENTS = {
    "h1": {"kind": "hygrometer", "serial": "2", "accuracy": "3 %", "temperature_accuracy": "0.5 delta_degC"},
    "t1": {"kind": "surface thermometer", "serial": "3", "accuracy": "0.5 delta_degC", "resolution": "0.1 delta_degC"},
    "k1": {"kind": "conductivity meter", "serial": "4", "accuracy": "2 uS/cm", "resolution": "0.1 uS/cm"},
}  # fmt: skip
CONDITIONS = {
    "dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "minimum_steel": "10 degC",
    "maximum_steel": "35 degC", "minimum_air": "10 degC", "maximum_air": "30 degC", "interval": "4 h",
}  # fmt: skip


def _project(draw):
    rule = draw(RULES)
    ruled = {"decision_rule": rule}
    kind = draw(st.sampled_from(["mixed salts by conductivity", "sodium chloride by conductivity", "chloride"]))
    stated = draw(st.sampled_from([{}, {"precision": "6 mg/m2"}]))
    limits = draw(st.tuples(_tenths(18, 26), _tenths(28, 38)))
    scatter = draw(st.sampled_from([
        None, {"value": "0.15 mil", "degrees_of_freedom": "60", "source": "reports of the contract"},
    ]))  # fmt: skip
    agreement = draw(st.sampled_from([None, "0.3 mil", "1.0 mil"]))
    profile = {
        **PROJECT["specification"]["profile"], "overlap_rule": "single-grade", "minimum": f"{limits[0]} mil",
        "maximum": f"{limits[1]} mil", "rounding": "none", "location_value": draw(st.sampled_from(["mean", "maximum"])),
        **({"repeatability": scatter} if scatter else {}), **({"agreement_tolerance": agreement} if agreement else {}),
        **ruled,
    }  # fmt: skip
    spec = {
        "specification.profile": profile,
        "specification.sampling": {
            "plan": "area-rate", "locations": "1", "first_area": "200 ft2", "further_area": "100 ft2",
            "further_locations": "1",
        },
        "specification.surface_preparation.maximum_staining": "5 %",
        "specification.conditions": {**CONDITIONS, **ruled},
        "specification.soluble_salts": {"maximum": "50 mg/m2", "expressed_as": kind, "tests": "2", **stated, **ruled},
        "specification.dust": {"maximum_quantity": "2", "maximum_size": "2"},
        "specification.abrasive": {"maximum_conductivity": "250 uS/cm", "conductivity_precision": "20 uS/cm", **ruled},
        "specification.time_to_coat": {"maximum": "4 h"},
        "instruments.g1.shim_accuracy": draw(st.sampled_from(["0.01 mil", "0.1 mil"])),
        "structures.0.areas.0.size": f"{draw(st.integers(150, 450))} ft2",
    }  # fmt: skip
    return kind, {**spec, **{f"instruments.{name}": one for name, one in INSTRUMENTS.items()}}


def _conditions(readings):
    return [
        {
            "time": f"{hour:02}:{10 + hour}", "air": f"{one['air']} degC", "humidity": f"{one['humidity']} %",
            "steel": f"{one['air'] + one['apart']} degC", "instruments": ["h1", "t1"], "confirmed": "yes",
            **({"steel_warmest": f"{one['air'] + one['apart'] + 2} degC"} if one["warmest"] else {}),
        }
        for hour, one in enumerate(readings, 6)
    ]  # fmt: skip


def _salts(tests, kind):
    found = []
    for number, one in enumerate(tests, 1):
        named = {"instrument": "k1"} if one["named"] else {}
        if kind == "chloride":
            values = {"chloride": f"{one['chloride']} mg/m2"}
        else:
            values = {"area": "12.5 cm2", "volume": "15 ml", "blank": "2.1 uS/cm",
                      "sample": f"{one['rise'] + Decimal('2.1')} uS/cm"}  # fmt: skip
            values |= {"volume_error": "0.5 ml", "area_error": "0.3 cm2"} if one["errors"] else {}
        found.append({"location": str(number), "time": f"09:{20 + number}", "confirmed": "yes", **values, **named})
    return found


def _function_checks(checks):
    """What each instrument shows of its reference, in tenths off."""
    reference = {"h1": "75.3 %", "t1": "20.0 degC", "k1": "100.0 uS/cm"}
    tolerance = {"h1": "3 %", "t1": "0.5 delta_degC", "k1": "2 uS/cm"}
    found = []
    for name, tenths, minute in checks:
        number, unit = reference[name].split()
        by = {"h1": tenths, "t1": Decimal(tenths) / 5, "k1": tenths}[name]
        found.append({
            "time": f"10:{minute:02}", "instrument": name, "reference": reference[name],
            "shown": f"{Decimal(number) + Decimal(by) / 10} {unit}", "tolerance": tolerance[name], "confirmed": "yes",
        })  # fmt: skip
    return found


def _rows(locations, roll, first=1):
    return [
        [str(number), chr(97 + spot), roll, str(value)]
        for number, spots in enumerate(locations, first) for spot, value in enumerate(spots)
    ]  # fmt: skip


def _read_by_micrometer(spec, day):
    """The same numbers off a depth micrometer: no tape, no film, no roll; its checks are made on a flat plate."""
    profile = {key: value for key, value in spec["specification.profile"].items() if key != "overlap_rule"}
    checks = [
        {"time": one["time"], "gauge": "g1", "tip": "clean", "zero": "0.0 mil", "shim": "3.0 mil",
         "shim_reading": day[f"gauge_checks.{index}.shim_reading"], "confirmed": "yes"}
        for index, one in enumerate(DAY["gauge_checks"])
    ]  # fmt: skip
    changes = {"specification.profile": profile | {"method": "ASTM D4417 Method B"}}
    changes |= {"instruments.g1.kind": "depth micrometer", "tape_rolls": {}}
    kept = {key: value for key, value in day.items() if not key.startswith(("gauge_checks.", "tape_checks."))}
    return spec | changes, kept | {"gauge_checks": checks, "tape_checks": []}


@st.composite
def days(draw, *, gauges=("tape", "micrometer")):
    """A day of two surfaces on one area, with every kind of number, most of them near their limits."""
    kind, spec = _project(draw)
    gauge = draw(st.sampled_from(gauges))
    roll = {"tape": "x1", "micrometer": "-"}[gauge]
    salts = draw(st.lists(SALT, max_size=3))
    abrasive = draw(st.lists(ABRASIVE, max_size=3))
    dust = draw(st.lists(DUST, max_size=2))
    shown = draw(st.one_of(*(st.tuples(_tenths(30 - off, 30 + off), _tenths(30 - off, 30 + off)) for off in (1, 1, 4))))
    surfaces, readings = [], []
    for number in range(draw(st.integers(1, 2))):
        locations = draw(LOCATIONS)
        surfaces.append(
            surface(
                apparatus=f"pot {number + 1}", coated=draw(st.sampled_from([None, "12:50", "13:10"])),
                cleanliness__staining=f"{draw(st.integers(3, 7))} %", salts=_salts(salts, kind) if not number else [],
                cleaned=f"{draw(st.integers(80, 200))} ft2", blasted__pressure="700 kPa",
                dust=[{"location": str(n), "quantity": str(q), "size": str(s)} for n, (q, s) in enumerate(dust, 1)],
            )
        )  # fmt: skip
        readings.append(_rows(locations, roll))
    day = {
        "conditions": _conditions(draw(st.lists(READING, min_size=1, max_size=3))),
        "abrasive_checks": [
            {
                "time": f"06:{number:02}", "abrasive": "grit 1", "conductivity": f"{one['conductivity']} uS/cm",
                **({"instrument": "k1"} if one["named"] else {}),
            }
            for number, one in enumerate(abrasive, 20)
        ],
        "function_checks": _function_checks(draw(st.lists(CHECK, max_size=3, unique_by=lambda one: one[2]))),
        **{f"gauge_checks.{index}.shim_reading": f"{value} mil" for index, value in enumerate(shown)},
        **{f"gauge_checks.{index}.confirmed": "yes" for index in (0, 1)},
        "tape_checks.0.confirmed": "yes",
    }  # fmt: skip
    if gauge == "micrometer":
        spec, day = _read_by_micrometer(spec, day)
    return Told(spec, day, surfaces, readings, roll)


def _judged_alike(one, other):
    first, second = _found(one.evaluated()), _found(other.evaluated())
    assert first[0] == second[0]
    for left, right in zip(first[1:], second[1:], strict=True):
        assert left ^ right == set()


def _found(evaluation, *, by_area=None):
    """Everything that is judged: verdicts, decisions, findings with their severity, what to do."""
    findings = {
        (one.code, one.severity, one.place) for one in evaluation.findings
        if one.code != "entry-confirmed" and (by_area is None or one.area == by_area)
    }  # fmt: skip
    areas = [one for one in evaluation.areas if by_area is None or one.id == by_area]
    judged = {
        (area.id, area.verdict, area.decision, area.required_locations, area.effective_degrees_of_freedom)
        for area in areas
    }  # fmt: skip
    located = {(one.id, one.apparatus, one.verdict, one.band, one.side) for area in areas for one in area.locations}
    if by_area is not None:
        return judged, located, findings
    todo = {(one.code, one.place, one.answers) for one in evaluation.measure_next}
    others = {
        ("conditions", one.time, one.verdict, one.probability_of_conformity) for one in evaluation.conditions
    } | {
        ("salts", one.location, one.verdict, one.probability_of_conformity) for one in evaluation.salts
    } | {
        ("abrasive", one.time, one.verdict, one.probability_of_conformity) for one in evaluation.abrasive
    } | {("check", one.subject, one.time, one.verdict) for one in evaluation.checks}  # fmt: skip
    return evaluation.verdict, judged, located, findings, todo, others


# Units

OTHER = {
    "mil": ("um", "25.4", 0), "degC": ("degF", "1.8", 32), "delta_degC": ("delta_degF", "1.8", 0),
    "ft2": ("m2", "0.09290304", 0), "cm2": ("mm2", "100", 0), "ml": ("l", "0.001", 0), "uS/cm": ("mS/m", "0.1", 0),
    "mg/m2": ("ug/cm2", "0.1", 0), "h": ("min", "60", 0), "kPa": ("MPa", "0.001", 0),
}  # fmt: skip
"""1 in = 25.4 mm, 1 ft = 0.3048 m, °F = 1.8 °C + 32: exact by definition; the others are powers of ten."""
TOGETHER = {"delta_degC": "degC"}
ALL = {"mil", "ft2"}
"""A gauge reads in one unit, and a plan states its steps in one."""
KINDS = st.sets(st.sampled_from(sorted(set(OTHER) - set(TOGETHER))), min_size=4)
_QUANTITY = re.compile(r"(-?[0-9.]+) (\S+)")


def _in_other_units(node, units, one=lambda: True):
    """Write numbers with a unit in the other unit of their kind, those of ALL, and of the rest each that ``one`` says.

    The film is 2.0 mil or 50 µm by its pre-set.
    """
    if isinstance(node, dict):
        found = {key: _in_other_units(value, units, one) for key, value in node.items()}
        if "mil" in units:
            found |= {"preset": "-50 um"} if "preset" in found else {}
            found |= {"unit": "um"} if found.get("unit") == "mil" else {}
        return found
    if isinstance(node, list):
        return [_in_other_units(each, units, one) for each in node]
    match = _QUANTITY.fullmatch(node)
    if match is None or TOGETHER.get(match[2], match[2]) not in units or not (match[2] in ALL or one()):
        return node
    unit, scale, offset = OTHER[match[2]]
    return f"{Decimal(match[1]) * Decimal(scale) + offset} {unit}"


def _in_micrometres(readings):
    return [[[*row[:3], str(Decimal(row[3]) * Decimal("25.4"))] for row in rows] for rows in readings]


@SHARED
@given(days(), KINDS, st.randoms(use_true_random=False), st.booleans())
def test_units_change_no_verdict(told, units, chance, every):
    """Numbers of some kinds, in both files, written in another unit: every one, or some beside others that are not."""

    def one():
        return every or chance.random() < 0.5

    spec = _in_other_units(changed(PROJECT, told.spec), units, one)  # whole: what the factory brings is changed too
    day = _in_other_units(_day_of(told), units, one)
    readings = told.readings
    if "mil" in units:
        readings = _in_micrometres(readings)
    other = Told(spec, day, _in_other_units(told.surfaces, units, one), readings)
    _judged_alike(told, other)


CHECKED_FIELDS = ("preset", "zero", "shim", "shim_reading")
_AT_REST = st.sampled_from([Decimal(tenths) / 10 for tenths in (-3, -2, -1, 0, 1, 2, 3)] + [Decimal("5.0")])


@st.composite
def checks_of_a_gauge(draw):
    """A gauge that shows mils or micrometres, on tape or by depth, with two checks whose numbers are in mils."""
    micrometre, tape = draw(st.booleans()), draw(st.booleans())
    unit, accuracy, step = ("um", "5 um", "1 um") if micrometre else ("mil", "0.2 mil", "0.1 mil")
    spec = {
        "instruments.g1.unit": unit, "instruments.g1.accuracy": draw(st.sampled_from([accuracy, None])),
        "instruments.g1.resolution": step, "specification.profile.decision_rule": draw(RULES),
    }  # fmt: skip
    if not tape:
        spec |= {
            "specification.profile.method": "ASTM D4417 Method B", "specification.profile.overlap_rule": None,
            "specification.profile.edition": "2014", "specification.profile.readings_per_location": None,
            "instruments.g1.kind": "depth micrometer", "tape_rolls": {},
        }  # fmt: skip
    if micrometre:
        spec |= {"specification.profile.minimum": "50 um", "specification.profile.maximum": "90 um"}
    dial = draw(st.sampled_from(["-2.0", "3.0"])) if tape else "0.0"
    name, clean = ("preset", "anvils") if tape else ("zero", "tip")
    checks = [
        {
            "time": time, "gauge": "g1", clean: "clean", name: f"{Decimal(dial) + draw(_AT_REST)} mil",
            "shim": "3.0 mil", "shim_reading": f"{Decimal('3.0') + draw(_AT_REST)} mil", "confirmed": "yes",
        }
        for time in ("06:30", "17:00")
    ]  # fmt: skip
    roll = "x1" if tape else "-"
    values = ["70", "75"] if micrometre else ["2.8", "2.9"]
    rows = [[str(place), spot, roll, value] for place in (1, 2) for spot, value in zip("ab", values, strict=True)]
    return spec, checks, rows


@SHARED
@given(checks_of_a_gauge(), st.sets(st.sampled_from(CHECKED_FIELDS), min_size=1))
def test_a_gauge_check_in_another_unit_is_the_same_check(told, written_otherwise):
    """Whatever the gauge shows: each number of its checks may be written in mils or in micrometres."""
    spec, checks, rows = told
    other = [
        {
            key: _in_other_units(value, {"mil"}) if key in written_otherwise and isinstance(value, str) else value
            for key, value in check.items()
        }
        for check in checks
    ]  # fmt: skip
    first, second = (
        evaluated("; ".join(" ".join(row) for row in rows), spec=spec, day={"gauge_checks": one, "tape_checks": []})
        for one in (checks, other)
    )
    assert _found(first) == _found(second)
    for one, same in zip(first.areas, second.areas, strict=True):
        assert (one.expanded_uncertainty, one.budget) == (same.expanded_uncertainty, same.budget)
        assert [at.expanded_uncertainty for at in one.locations] == [at.expanded_uncertainty for at in same.locations]
        assert any(at.verdict != "not evaluated" for at in one.locations)


# Order, entries made twice, film


def _shuffled(node, shuffle):
    """Change the order of every list of entries."""
    if isinstance(node, dict):
        return {key: _shuffled(value, shuffle) for key, value in node.items()}
    return shuffle([_shuffled(one, shuffle) for one in node]) if isinstance(node, list) else node


def _day_of(told):
    """Return the whole day of the factory as told, without the surfaces."""
    return {key: value for key, value in changed(DAY, told.day).items() if key != "surfaces"}


@SHARED
@given(days(), st.randoms(use_true_random=False))
def test_order_changes_no_verdict(told, chance):
    """Of surfaces, their rows, tests, and every log of the day; of spots that are too many, the first ones count."""
    needed = int(told.spec["specification.profile"].get("readings_per_location", "1"))

    def shuffle(entries):
        return chance.sample(entries, len(entries))

    surfaces, readings = zip(*shuffle(list(zip(told.surfaces, told.readings, strict=True))), strict=True)
    surfaces = [_shuffled(one, shuffle) for one in surfaces]
    other = Told(
        told.spec,
        _shuffled(_day_of(told), shuffle),
        surfaces,
        [_as_taken(rows, shuffle(rows), needed) for rows in readings],
    )
    _judged_alike(told, other)


def _as_taken(rows, shuffled, needed):
    """Return rows in another order, those of a location with more spots than it needs one after the other as taken."""
    spots = {}
    for location, spot, *_ in rows:
        spots.setdefault(location, set()).add(spot)
    taken = {location: iter([row for row in rows if row[0] == location]) for location in spots}
    return [next(taken[row[0]]) if len(spots[row[0]]) > needed else row for row in shuffled]


@SHARED
@given(days(), st.randoms(use_true_random=False))
def test_an_entry_made_twice_changes_no_verdict(told, chance):
    """Readings of the conditions, checks, rows of readings. Tests that are counted are refused twice by the loader."""

    def twice(entries):
        return [one for each in entries for one in [each] * chance.choice([1, 2])]

    day = {name: twice(value) if isinstance(value, list) else value for name, value in _day_of(told).items()}
    other = Told(told.spec, day, told.surfaces, [twice(rows) for rows in told.readings])
    _judged_alike(told, other)


@SHARED
@given(days(gauges=["tape"]), st.booleans())
def test_the_form_of_the_film_changes_no_verdict(told, metric):
    """Readings less the film, or with it, by the pre-set of the gauge: 2.0 mil, or 50 µm."""
    spec, day = changed(PROJECT, told.spec), _day_of(told)
    surfaces, readings = told.surfaces, told.readings
    film = Decimal("2.0")
    if metric:
        spec, day, surfaces = (_in_other_units(one, {"mil"}) for one in (spec, day, surfaces))
        readings, film = _in_micrometres(readings), Decimal(50)
        spec["instruments"]["g1"]["resolution"] = "0.02 um"  # 50 µm are no multiple of 2.54 µm
    shown = {f"gauge_checks.{index}.preset": "0 um" if metric else "0.0 mil" for index in (0, 1)}
    with_film = [[[*row[:3], str(Decimal(row[3]) + film)] for row in rows] for rows in readings]
    included = [changed(one, {"profile.film": "included"}) for one in surfaces]
    other = Told(spec, changed(day, shown), included, with_film)
    _judged_alike(Told(spec, day, surfaces, readings), other)


# What is entered beside it

PLACES = [
    {"id": "N", "name": "north", "place": "north side", "areas": [{"id": "A", "name": "A", "size": "300 ft2"}]},
    {"id": "S", "name": "south", "place": "south side", "areas": [{"id": "B", "name": "B", "size": "300 ft2"}]},
]
EACH = {"specification.sampling": {"plan": "per-shift-and-apparatus", "locations": "1"}, "structures": PLACES}
EVEN = st.lists(st.sampled_from([["2.7", "2.7"], ["2.8", "2.8", "2.8"], ["2.6", "2.9"]]), min_size=1, max_size=6)


@st.composite
def held(draw):
    """A day of one or two apparatus on one area at one of two places, with its readings of the conditions there."""
    told = draw(days())
    spec = {key: value for key, value in told.spec.items() if not key.startswith("structures")}
    stated = {key: value for key, value in spec["specification.conditions"].items() if key != "interval"}
    drop = draw(st.sets(st.sampled_from(["conditions", "soluble_salts", "dust", "abrasive"])))
    spec |= {f"specification.{name}": None for name in drop} | EACH
    if "conditions" not in drop:
        spec["specification.conditions"] = draw(st.sampled_from([stated, {**stated, "interval": "4 h"}]))
    late = {"gauge_checks.1.time": "22:30"}
    if "gauge_checks" in told.day:
        late = {"gauge_checks": [told.day["gauge_checks"][0], told.day["gauge_checks"][1] | {"time": "22:30"}]}
    day = {**told.day, "report.shift": {"start": "06:00", "end": "23:00"}, **late}
    day["conditions"] = [
        {key: value for key, value in one.items() if key != "place"} | {"place": "north side"}
        for one in told.day["conditions"][: draw(st.integers(0, 3))]
    ]  # fmt: skip
    surfaces = [changed(one, {"cleanliness": None} if draw(st.integers(0, 9)) == 0 else {}) for one in told.surfaces]
    return Told(spec, day, surfaces, told.readings, told.roll)


def _with(told, entry, rows, log=()):
    day = {**told.day, "conditions": [*told.day["conditions"], *log]}
    return Told(told.spec, day, [*told.surfaces, entry], [*told.readings, rows])


def _area(told):
    return next(one for one in told.evaluated().areas if one.id == "A")


@SHARED
@given(held(), EVEN, st.sampled_from(["apparatus", "period"]))
def test_another_apparatus_or_period_never_releases_an_area(told, even, what):
    """Well blasted steel of the same area beside that on hold, after it. Salts and dust are counted by the area."""
    times = {"start": "09:30", "end": "10:30"} if what == "apparatus" else {"start": "18:30", "end": "20:00"}
    name = "pot 9" if what == "apparatus" else "pot 1"
    entry = surface(apparatus=name, blasted={**times, "abrasive": "grit 1"}, cleanliness__staining="1 %")
    before, after = _area(told), _area(_with(told, entry, _rows(even, told.roll, first=11)))
    assert before.decision == "release" or after.decision != "release"
    for one, later in zip(before.locations, after.locations, strict=False):  # those of the entry come last
        assert one.verdict == "conforms" or later.verdict != "conforms"


SOUND = {
    **EACH, "specification.conditions": {**CONDITIONS, "decision_rule": "guarded"},
    "specification.soluble_salts": {
        "maximum": "50 mg/m2", "expressed_as": "chloride", "tests": "1", "precision": "6 mg/m2",
        "decision_rule": "guarded",
    },
    "specification.dust": {"maximum_quantity": "2", "maximum_size": "2"},
    "specification.surface_preparation.maximum_staining": "5 %", "specification.time_to_coat": {"maximum": "4 h"},
    **{f"instruments.{name}": one for name, one in INSTRUMENTS.items()},
}  # fmt: skip
WEATHER = {
    "air": "20 degC", "humidity": "50 %", "steel": "20 degC", "steel_warmest": "21 degC", "place": "north side",
    "instruments": ["h1", "t1"],
}  # fmt: skip
TESTED = {
    "salts": [{"location": "1", "time": "09:20", "chloride": "5 mg/m2", "instrument": "k1"}],
    "dust": [{"location": "1", "quantity": "1", "size": "1"}],
}  # fmt: skip
OBSTACLES = {
    "nothing": {},
    "not measured": {"rows": []},
    "a reading too few": {"rows": [["1", "a", "x1", "2.8"]]},
    "too low": {"rows": [["1", "a", "x1", "1.2"], ["1", "b", "x1", "1.2"]]},
    "in the guard band": {"rows": [["1", "a", "x1", "2.0"], ["1", "b", "x1", "2.1"]]},
    "out of the range of the tape": {"rows": [["1", "a", "x1", "4.8"], ["1", "b", "x1", "2.8"]]},
    "no grade": {"entry": {"cleanliness": None}},
    "stained": {"entry": {"cleanliness__staining": "9 %"}},
    "primed too late": {"entry": {"coated": "14:30"}},
    "too humid": {"weather": {"humidity": "95 %"}},
    "nearly too humid": {"weather": {"humidity": "84 %"}},
    "read elsewhere": {"weather": {"place": "south side"}},
    "salt": {"entry": {"salts": [TESTED["salts"][0] | {"chloride": "60 mg/m2"}]}},
    "nearly too much salt": {"entry": {"salts": [TESTED["salts"][0] | {"chloride": "47 mg/m2"}]}},
    "no test of salt": {"entry": {"salts": []}},
    "dust": {"entry": {"dust": [{"location": "1", "quantity": "4", "size": "1"}]}},
    "gauge off": {"day": {"gauge_checks.1.shim_reading": "3.9 mil", "gauge_checks.1.confirmed": "yes"}},
}
"""What alone holds an area, or has it blasted again, that would be released."""


def _almost(rule, obstacle):
    """A sound day of one apparatus on one area, but for one thing."""
    changes = OBSTACLES[obstacle]
    profile = {**PROJECT["specification"]["profile"], "overlap_rule": "single-grade", "decision_rule": rule}
    spec = {**SOUND, "specification.profile": profile}
    log = [{"time": time, **WEATHER, **changes.get("weather", {})} for time in ("06:40", "10:20", "12:20", "16:00")]
    day = {"conditions": log, **changes.get("day", {})}
    entry = surface(**{"cleanliness__staining": "2 %", "coated": "12:00", **TESTED, **changes.get("entry", {})})
    return Told(spec, day, [entry], [changes.get("rows", [["1", "a", "x1", "2.8"], ["1", "b", "x1", "2.7"]])])


@pytest.mark.parametrize("obstacle", OBSTACLES)
@pytest.mark.parametrize("beside", ["apparatus", "period", "place"])
def test_what_alone_holds_an_area_is_not_settled_by_steel_beside_it(obstacle, beside):
    """Sound steel of another apparatus, of a later period, or of another area at another place; and it alone holds."""
    told = _almost("guarded", obstacle)
    clean = {"cleanliness__staining": "1 %"}

    def tested(time):
        return TESTED | {"salts": [TESTED["salts"][0] | {"time": time}]}

    def own(time):  # where nothing lacks, steel that is blasted later has to have tests of its own
        return tested(time) if obstacle == "nothing" else {}

    if beside == "apparatus":
        blasted = {"start": "09:30", "end": "10:30", "abrasive": "grit 1"}
        other = surface(apparatus="pot 9", coated="12:10", blasted=blasted, **clean, **own("11:10"))
    elif beside == "period":
        blasted = {"start": "12:30", "end": "13:30", "abrasive": "grit 1"}
        other = surface(coated="15:30", blasted=blasted, **clean, **own("13:40"))
    else:
        other = surface(area="B", apparatus="pot 9", coated="12:10", **tested("11:10"), **clean)
    later = _with(told, other, [["11", "a", "x1", "2.7"], ["11", "b", "x1", "2.8"]])
    later.day["conditions"] = later.day["conditions"] + [
        {"time": time, **WEATHER, "place": "south side"} for time in ("07:40", "11:20", "14:00") if beside == "place"
    ]
    held_for = {"nothing": {"release"}}.get(obstacle, {"hold", "rework"})
    assert _area(told).decision in held_for
    assert _area(later).decision in held_for


@SHARED
@given(held(), EVEN)
def test_what_happens_at_another_place_changes_nothing(told, even):
    """An area of another place, its conditions, salts and dust among it: not one finding of the first is another."""
    log = [{
        "time": time, "place": "south side", "air": "20 degC", "humidity": "40 %", "steel": "20 degC",
        "instruments": ["h1", "t1"], "confirmed": "yes",
    } for time in ("06:05", "08:05", "12:00")]  # fmt: skip
    tests = {
        "dust": [{"location": "1", "quantity": "0", "size": "0"}],
        "salts": [{"location": str(number), "chloride": "1 mg/m2", "confirmed": "yes"} for number in (1, 2)],
    }
    blasted = {"start": "07:00", "end": "09:00", "abrasive": "grit 9"}  # what was tested is another's
    entry = surface(area="B", apparatus="pot 9", coated="12:30", blasted=blasted, **tests)
    alone, beside = told.evaluated(), _with(told, entry, _rows(even, told.roll), log).evaluated()
    silent = not told.day["conditions"] and told.spec["specification.conditions"] is not None
    if silent:  # then it is said another way that no reading covers it
        assert _area(told).decision == next(one.decision for one in beside.areas if one.id == "A") != "release"
    else:
        assert _found(alone, by_area="A") == _found(beside, by_area="A")
