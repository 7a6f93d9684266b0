"""A job and its evaluation, written by hand: the pages can be tested without loading or evaluating anything.

Invented people, places and numbers. The evaluation is not computed from the readings; only its shape matters here.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
from dataclasses import replace
from decimal import Decimal
from typing import Any

from reportgen.job import Day, Job, Original, Project, Reading, SiteClock, SourceFile
from reportgen.job.template import Template
from reportgen.measurements.air import AirResult
from reportgen.measurements.cleanliness import CleanlinessResult
from reportgen.measurements.conditions import ConditionResult
from reportgen.measurements.dust import DustResult
from reportgen.measurements.salts import SaltResult
from reportgen.pdf.signing import SignerBlock
from reportgen.report.issue import EmbeddedFile, Issue, RegisterHead
from reportgen.results import (
    AreaResult,
    BudgetLine,
    CheckResult,
    CoatingTime,
    Counted,
    Evaluation,
    Finding,
    LocationResult,
    NonconformanceState,
    Place,
    ReportIdentity,
    RuleApplied,
    SpotReading,
    SpotResult,
    Task,
    Word,
)
from reportgen.results.codes import rules
from reportgen.results.codes.equipment import (
    CALIBRATION,
    EXPIRY_NOT_STATED,
    GAUGE,
    GAUGE_MOVED,
    TAPE,
    Calibration,
    GaugeChecked,
    GaugeDue,
    GaugeMoved,
    GaugeSeen,
    InstrumentNamed,
    LimitsOfError,
    TapeChecked,
    TapeRollNamed,
    UnusedTapeRange,
)
from reportgen.results.codes.profile import BELOW_MINIMUM, MEASURE_SPOTS, MoreSpots, ProfileJudged
from reportgen.results.codes.ranges import AtLeast, Between
from reportgen.results.codes.sampling import WALK_OUT, WALK_OUT_MISSING, NoWalkOut
from reportgen.results.facts import NOTHING, Amount

D = Decimal

PROJECT: dict[str, Any] = {
    "project": {
        "name": "Marrowmere aqueduct, recoating of the trough",
        "contract": "MM-31",
        "client": "Marrowmere Waterworks",
        "contractor": "Lowfold Blastworks",
        "site": "Marrowmere, east bank",
        "time_zone": "UTC",
    },
    "inspection_body": {"name": "Hethe and Pike Inspection", "address": "2 Sluice Row, Marrowmere"},
    "specification": {
        "document": "MM-31 Section 7, revision 1",
        "surface_preparation": {"clause": "7.2", "grade": "SSPC-SP 10", "maximum_staining": "5 %"},
        "profile": {
            "clause": "7.3",
            "minimum": "2.0 mil",
            "maximum": "3.5 mil",
            "method": "ASTM D4417 Method C",
            "edition": "2021",
            "overlap_rule": "average",
            "readings_per_location": "2",
            "decision_rule": "simple",
            "rounding": "half-even",
        },
        "sampling": {"clause": "7.3.2", "plan": "per-shift-and-apparatus", "locations": "3"},
        "conditions": {
            "clause": "7.1",
            "dew_point_margin": "3 delta_degC",
            "maximum_humidity": "85 %",
            "minimum_steel": "5 degC",
            "interval": "4 h",
        },
        "soluble_salts": {
            "clause": "7.4",
            "maximum": "50 mg/m2",
            "expressed_as": "mixed salts by conductivity",
        },
        "dust": {"clause": "7.5", "maximum_quantity": "2", "maximum_size": "2"},
        "compressed_air": {"clause": "7.6", "interval": "5 h"},
        "time_to_coat": {"clause": "7.7", "maximum": "6 h"},
    },
    "people": {
        "hethe": {
            "name": "R. Hethe",
            "role": "inspector",
            "certificate": "level 3 / 8810",
            "certificate_expires": "2027-05-31",
            "organisation": "Hethe and Pike Inspection",
        },
        "orme": {"name": "T. Orme", "role": "quality control", "organisation": "Lowfold Blastworks"},
    },
    "instruments": {
        "g1": {
            "kind": "thickness gauge",
            "serial": "TG-4410",
            "unit": "mil",
            "resolution": "0.1 mil",
            "accuracy": "0.2 mil",
            "certificate": "C-26-311",
            "calibrated": "2026-01-20",
            "calibration_due": "2027-01-20",
        },
        "h1": {"kind": "hygrometer", "serial": "HY-12", "accuracy": "3 %", "calibrated": "2026-02-02"},
        "t1": {"kind": "surface thermometer", "serial": "ST-90", "accuracy": "0.5 delta_degC"},
    },
    "tape_rolls": {
        "c1": {"grade": "coarse", "lot": "3071", "expires": "2027-06-30"},
        "x1": {"grade": "extra coarse", "lot": "2214", "expires": "2027-09-30"},
    },
    "template": "a4-en",
}

NAMES = ("north face, bay 1", "north face, bay 2", "soffit, bay 1", "south face, bay 1", "south face, bay 2")


def _location_value(area: int, location: int) -> Decimal:
    """Profiles between 1.6 and 3.3 mil that look like a day's work; the second area fails at two places."""
    steps = (7, 11, 9, 13, 5, 10, 12, 8, 6, 9, 14, 11)
    value = D("2.0") + D(steps[(area * 5 + location * 3) % 12]) / 10 * D("0.9") - D("0.3")
    if area == 1 and location in {2, 3}:
        value = D("1.60") + D(location) / 20
    return value.quantize(D("0.01"))


def _spot(profile: Decimal, area: int, location: int, letter: str) -> SpotResult:
    low, high = profile - D("0.2"), profile + D("0.2")
    if (area + location) % 3 == 0:
        extra, coarse = high.quantize(D("0.1")), low.quantize(D("0.1"))
        readings = (SpotReading("x1", "extra coarse", extra, extra), SpotReading("c1", "coarse", coarse, coarse))
        return SpotResult(letter, profile, "averaged", readings)
    only = profile.quantize(D("0.1"))
    return SpotResult(letter, profile, "recorded-as-taken", (SpotReading("x1", "extra coarse", only, only),))


def _location(area: int, location: int) -> LocationResult:
    profile = _location_value(area, location)
    fails = profile < D("2.0")
    spots = tuple(
        _spot(profile + shift, area, location, letter) for letter, shift in (("a", D("-0.10")), ("b", D("0.10")))
    )
    return LocationResult(
        id=str(location + 1),
        profile=profile,
        compared=profile.quantize(D("0.1")),
        verdict="does not conform" if fails else "conforms",
        spots=spots,
        expanded_uncertainty=D("0.33"),
        coverage_factor=D("2.0"),
        side="below" if fails else None,
    )


BUDGET = (
    BudgetLine(
        Word("component", "gauge accuracy"),
        D("0.20"),
        Word("distribution", "rectangular"),
        D("1.732"),
        D("0.115"),
        None,
        common=True,
        source=Word("budget-source", "calibration-certificate"),
    ),
    BudgetLine(
        Word("component", "gauge resolution"),
        D("0.05"),
        Word("distribution", "rectangular"),
        D("1.732"),
        D("0.029"),
        None,
        common=False,
        source=Word("budget-source", "last-digit"),
    ),
    BudgetLine(
        Word("component", "film thickness"),
        D("0.08"),
        Word("distribution", "rectangular"),
        D("1.732"),
        D("0.046"),
        None,
        common=True,
        source=Word("citation", "iso-8503-5"),
    ),
    BudgetLine(
        Word("component", "repeatability"),
        D("0.15"),
        Word("distribution", "normal"),
        D("1.414"),
        D("0.106"),
        7,
        common=False,
        source=Word("budget-source", "type-a"),
    ),
)


def area_result(index: int, area_id: str, name: str, locations: int) -> AreaResult:
    """One area; the second one does not conform."""
    judged = tuple(_location(index, location) for location in range(locations))
    fails = any(location.verdict == "does not conform" for location in judged)
    values = [location.profile for location in judged if location.profile is not None]
    mean = (sum(values) / len(values)).quantize(D("0.01")) if values else None
    return AreaResult(
        id=area_id,
        structure="Trough",
        name=name,
        verdict="does not conform" if fails else ("conforms" if judged else "not evaluated"),
        decision="rework" if fails else ("release" if judged else "hold"),
        unit="mil",
        required_locations=3,
        n_locations=locations,
        n_spots=2 * locations,
        mean=mean,
        standard_deviation=D("0.31") if values else None,
        minimum=min(values, default=None),
        maximum=max(values, default=None),
        expanded_uncertainty=D("0.28") if values else None,
        coverage_factor=D("2.1") if values else None,
        effective_degrees_of_freedom=11 if values else None,
        locations=judged,
        budget=BUDGET,
        reasons=(Counted(0), Counted(1)) if fails else (),
    )


def _surface(area_id: str, index: int, *, photos: bool) -> dict[str, Any]:
    surface: dict[str, Any] = {
        "area": area_id,
        "apparatus": f"pot {1 + index % 2}",
        "initial_condition": "C",
        "blasted": {
            "start": f"{7 + index % 4:02d}:00",
            "end": f"{8 + index % 4:02d}:40",
            "abrasive": "steel grit GL-40, lot 11",
        },
        "cleanliness": {"observed": "SSPC-SP 10", "staining": "3 %"},
        "profile": {"gauge": "g1", "film": "subtracted", "readings": [{"location": "1", "spot": "a", "x1": "2.4"}]},
        "dust": [{"location": "1", "quantity": "1", "size": "2"}],
        "coated": f"{12 + index % 3:02d}:10",
    }
    if photos and index < 2:
        surface["photos"] = [
            {"file": f"photos/{area_id}-{number}.jpg", "caption": caption, "location": str(number), "time": "11:20"}
            for number, caption in ((1, "Steel after blasting, light from the left"), (2, "Replica on the web"))
        ]
    return surface


def job(areas: int = 5, locations: int = 8, *, prefix: str = "TR-", photos: bool = True) -> Job:
    """A day of ``areas`` areas with ``locations`` locations of two spots each."""
    ids = [f"{prefix}{index + 1}" for index in range(areas)]
    plans = [{"id": each, "name": NAMES[index % 5], "size": "24 m2"} for index, each in enumerate(ids)]
    extra = {"id": f"{prefix}900", "name": "outlet chamber"}
    structures = [{"id": "trough", "name": "Trough", "drawing": "MM-31-S-02", "areas": [*plans, extra]}]
    project = Project.model_validate(PROJECT | {"structures": structures})
    day = Day.model_validate(_day(ids, extra["id"], photos=photos))
    readings = tuple(
        tuple(_reading(spot, location, index) for location in _locations(index, locations) for spot in location.spots)
        for index in range(areas)
    )
    flat = tuple(tuple(reading for spot in area for reading in spot) for area in readings)
    drawn = {f"photos/{ids[index]}-{n}.jpg": picture(index, n) for index in range(min(2, areas)) for n in (1, 2)}
    pictures = {name: original(name, data) for name, data in drawn.items()}
    if photos and areas > 1:
        del pictures[f"photos/{ids[1]}-2.jpg"]
    return Job(
        project=project,
        day=day,
        readings=flat,
        files=(SourceFile("project.yaml", "project", b""), SourceFile("2026-06-03.yaml", "day", b"")),
        clock=SiteClock(dt.date(2026, 6, 3), dt.time(6), dt.time(18), "UTC"),
        photos=pictures if photos else {},
    )


def _locations(index: int, count: int) -> list[LocationResult]:
    return [_location(index, location) for location in range(count)]


def _reading(spot: SpotResult, location: LocationResult, index: int) -> list[Reading]:
    line = 40 + index * 20 + int(location.id)
    return [Reading(location.id, spot.id, each.roll, each.gross, line=line) for each in spot.readings]


def _day(ids: list[str], unseen: str, *, photos: bool) -> dict[str, Any]:
    return {
        "project": "project.yaml",
        "report": {
            "number": "MM-31-IR-007",
            "revision": "0",
            "date": "2026-06-03",
            "shift": {"start": "06:00", "end": "18:00"},
            "inspector": "hethe",
            "present": ["T. Orme"],
        },
        "conditions": [
            {"time": time, "place": "trough", "air": air, "humidity": humidity, "steel": steel}
            for time, air, humidity, steel in (
                ("06:40", "14.5 degC", "71 %", "13.5 degC"),
                ("10:30", "19.0 degC", "58 %", "18.5 degC"),
                ("14:20", "21.5 degC", "52 %", "22.0 degC"),
            )
        ],
        "surfaces": [_surface(each, index, photos=photos) for index, each in enumerate(ids)],
        "not_inspected": [{"area": unseen, "reason": "scaffold not handed over"}],
        "nonconformances": [
            {
                "id": "NCR-004",
                "area": ids[1],
                "findings": ["profile-below-minimum"],
                "description": "Two locations below 2.0 mil; worn nozzle suspected.",
                "disposition": "rework",
                "decided_by": "hethe",
                "corrective_action": "Nozzle replaced; blast again on 4 June.",
                "status": "open",
            }
        ]
        if len(ids) > 1
        else [],
        "remarks": "Waterworks visited at 11:00.",
    }


def original(name: str, data: bytes) -> Original:
    """The original of a picture that is held in memory."""
    return Original(name, hashlib.sha256(data).hexdigest(), lambda: data)


def picture(index: int, number: int) -> bytes:
    """A drawn picture as JPEG, wider than tall, with a gradient and a few rivets."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (900, 640), (150 + 10 * index, 152, 158))
    pen = ImageDraw.Draw(image)
    for x in range(60, 900, 120):
        pen.ellipse((x, 120 + 40 * number, x + 34, 154 + 40 * number), fill=(96, 98, 104))
    pen.rectangle((0, 470, 900, 640), fill=(118, 121, 128))
    target = io.BytesIO()
    image.save(target, "JPEG", quality=80)
    return target.getvalue()


def evaluation(areas: int = 5, locations: int = 8, *, prefix: str = "TR-") -> Evaluation:
    """Results that go with `job` of the same arguments."""
    ids = [f"{prefix}{index + 1}" for index in range(areas)]
    results = tuple(area_result(index, each, NAMES[index % 5], locations) for index, each in enumerate(ids))
    failing = ids[1] if areas > 1 and locations > 2 else None
    verdict: Any = "does not conform" if failing else ("conforms" if areas else "not evaluated")
    return Evaluation(
        report=ReportIdentity("MM-31-IR-007", 0, "2026-06-03"),
        verdict=verdict,
        areas=results,
        conditions=CONDITIONS,
        salts=tuple(
            SaltResult(each, "2", D("9.0"), "conforms", "mixed salts by conductivity", D("8.2")) for each in ids[:2]
        ),
        dust=tuple(DustResult(each, "1", 1, 2, "conforms") for each in ids),
        air=(AirResult("pot 2", "06:55", "clean", D("1"), "min", "conforms"),),
        cleanliness=tuple(CleanlinessResult(each, "SSPC-SP 10", "SSPC-SP 10", D(3), D(5), "conforms") for each in ids),
        checks=CHECKS,
        coating_times=tuple(CoatingTime(each, D("4.5"), D(6), "conforms") for each in ids),
        nonconformances=_nonconformances(failing),
        findings=_findings(failing),
        measure_next=_next(failing),
        rules=RULES,
        not_evaluated=(EXPIRY_NOT_STATED.at(TapeRollNamed("c1")),),
    )


CONDITIONS = (
    ConditionResult("06:40", "trough", D("71"), D("9.3"), D("4.2"), "conforms", D("14.5"), D("13.5")),
    ConditionResult(
        "10:30", "trough", D("58"), D("10.6"), D("7.9"), "conforms", D("19.0"), D("18.5"), during=("blasting",)
    ),
    ConditionResult(
        "14:20", "trough", D("52"), D("11.3"), D("10.7"), "conforms", D("21.5"), D("22.0"), during=("coating",)
    ),
)


def mil(number: str) -> Amount:
    """A profile, a thickness."""
    return Amount(D(number), "mil")


def _gauge_check(time: str, reading: str) -> CheckResult:
    seen = GaugeSeen(Word("anvils", "clean"), mil("-2.0"), mil("3.0"), mil(reading))
    return GAUGE.of("TG-4410", GaugeChecked(seen, GaugeDue(mil("2.0"), LimitsOfError(mil("0.2")))), "conforms", time)


HYGROMETER = InstrumentNamed("HY-12", Word("instrument-kind", "hygrometer"), "12")
CHECKS = (
    _gauge_check("06:30", "3.0"),
    _gauge_check("16:20", "3.1"),
    TAPE.of("x1", TapeChecked(mil("5.6"), UnusedTapeRange(mil("5"), mil("6"))), "conforms", "06:35"),
    CALIBRATION.of("HY-12", Calibration(HYGROMETER, "2026-06-03", "2026-05-30"), "inconclusive"),
)
RANGE = Between(D("2.0"), mil("3.5"))
RULES = (
    RuleApplied(
        "profile", rules.PROFILE_REQUIRED.of(rules.ProfileRequired(RANGE, "ASTM D4417 Method C", "2021")),
        "ASTM D4417 Method C, 2021", None, "not read",
    ),
    RuleApplied("two-tape-grades", rules.OVERLAP["average"].of(NOTHING), "contract", "7.3"),
    RuleApplied("area", rules.EVERY_LOCATION.of(NOTHING), "SSPC-PA 17", "App. B"),
    RuleApplied("uncertainty", rules.UNCERTAINTY.of(NOTHING), "JCGM 100"),
)  # fmt: skip


def _nonconformances(failing: str | None) -> tuple[NonconformanceState, ...]:
    if failing is None:
        return ()
    return (
        NonconformanceState(
            id="NCR-004",
            area=failing,
            findings=("profile-below-minimum",),
            description="Two locations below 2.0 mil; worn nozzle suspected.",
            disposition="rework",
            decided_by="hethe",
            status="open",
            raised_in="MM-31-IR-007",
            corrective_action="Nozzle replaced; blast again on 4 June.",
            original=_below(failing),
        ),
    )


def _findings(failing: str | None) -> tuple[Finding, ...]:
    drift = GAUGE_MOVED.found(GaugeMoved("TG-4410", mil("0.3"), "06:30", mil("0.2")), Place(time="16:20"))
    if failing is None:
        return (drift,)
    return (*_below(failing), WALK_OUT_MISSING.found(NoWalkOut(), Place(failing, "3"), clause="App. B"), drift)


def _below(failing: str) -> tuple[Finding, ...]:
    """The first two findings: locations 3 and 4."""
    low = (BELOW_MINIMUM.found(ProfileJudged(mil(seen), AtLeast(mil("2.0"))), Place(failing, location), clause="7.3")
           for location, seen in (("3", "1.70"), ("4", "1.75")))  # fmt: skip
    return tuple(replace(one, nonconformance="NCR-004") for one in low)


def _next(failing: str | None) -> tuple[Task, ...]:
    if failing is None:
        return ()
    return (WALK_OUT.due(NOTHING, Place(failing, "3")), MEASURE_SPOTS.due(MoreSpots(1), Place(failing, "4"), count=1))


ISSUE = Issue(
    status="demonstration",
    at=dt.datetime(2026, 6, 3, 17, 42, tzinfo=dt.UTC),
    signer=SignerBlock("R. Hethe", "inspector", "Hethe and Pike Inspection", "level 3 / 8810"),
    evaluation_sha256="7c1e04b9" * 8,
    files=(
        EmbeddedFile("project.yaml", "project", "a1" * 32),
        EmbeddedFile("2026-06-03.yaml", "day", "b2" * 32),
        EmbeddedFile("evaluation.json", "evaluation", "7c1e04b9" * 8),
    ),
    version="0.1.0",
    register_head=RegisterHead(6, "5d22" * 16),
)

DRAFT = replace(ISSUE, status="draft", register_head=None)

TEMPLATE = Template()
