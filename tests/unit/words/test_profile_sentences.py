"""What is said of the profile, the number of locations and the bounds of what failed: each sentence once."""

from decimal import Decimal

import pytest

from reportgen.results import Stated, Word
from reportgen.results.codes import blasted_again as again
from reportgen.results.codes import profile, ranges, sampling
from reportgen.results.facts import NOTHING, Amount, Place
from reportgen.results.values import Bounded, BudgetLine, Extent, Period, SamplingPart, Towards
from reportgen.rules.standing import part_of
from reportgen.words.sentences import sentences
from tests.unit.words.saying import told

D = Decimal
ENGLISH, GERMAN = sentences(), sentences("de")
COARSE, EXTRA = Word("tape-grade", "coarse"), Word("tape-grade", "extra coarse")
AVERAGE = Word("overlap-rule", "average")
SPOT = Place("A", "1", "a")
AT = Place("A", "1")


def mil(number):
    return Amount(D(number), "mil")


LOW = profile.ProfileJudged(mil("1.85"), ranges.AtLeast(mil("2.0")), rounded=mil("1.8"))
HIGH = profile.ProfileJudged(mil("3.60"), ranges.AtMost(mil("3.5")))
END = profile.ProfileJudged(mil("3.50"), ranges.Below(mil("3.5")))
NEAR = profile.ProfileJudged(mil("2.10"), ranges.AtLeast(mil("2.0")), mil("0.25"), None, mil("0.25"))
BAND = profile.InBand(NEAR.profile, NEAR.limit, Word("guard-band", "conditional pass"), NEAR.expanded, None, NEAR.guard)
NO_U = profile.UncertaintyUnknown(
    mil("3.00"), Word("decision-rule", "guarded"), Word("uncertainty-lacking", "limits-of-error")
)
NEEDS = profile.NoneByTape((profile.OnTape(EXTRA, mil("2.2")),), Word("why", "needs-second"), AVERAGE, COARSE)
BEYOND = profile.NoneByTape((profile.OnTape(COARSE, mil("0.7")),), Word("why", "beyond-grade"), AVERAGE, COARSE)
TWICE = profile.NoneByDepth(
    (profile.ByDepth(mil("2.3")), profile.ByDepth(mil("2.6"))), Word("why", "read-twice"), "ASTM D4417 Method B"
)
FAR_SAID = "3.40 mil lies apart from the other locations (Grubbs' test, G = 1.9992)"
FAR = profile.Outlier(mil("3.40"), D("1.9992"), D("1.8871"), 6, mil("0.10"))
ALL_OF_IT = sampling.Plan(sampling.PerShift(3, 2, 2), (2, 3), 1, 2, 1)
PER_AREA = sampling.Plan(sampling.PerArea(1), each=2, failing=3)
LATE = Period("18:00", "22:00")
PART = sampling.PartShort("pot 1", LATE, 0, 3, sampling.Plan(sampling.PerShift(3, 1)), 1, "18:00")
PART_SEEN = "pot 1, 18:00 to 22:00: no location; 1 location on steel of either period"
PART_NEEDED = (
    "3: 3 locations per shift and apparatus, 1 in use; enter what was blasted before 18:00 and after it as two entries "
    "of the area"
)
SIDES = (Towards("east"), Towards(None, 3))
BEFORE = again.FoundBefore(
    Stated("observed", "profile-above-maximum", HIGH, AT), Stated("required", "profile-above-maximum", HIGH, AT),
    "profile-above-maximum",
)  # fmt: skip

# finding, observed, required, as a check tells it, part of the check
FOUND = [
    (profile.BELOW_MINIMUM.found(LOW, AT), "1.85 mil, rounded 1.8 mil", "at least 2.0 mil",
     "profile 1.85 mil, rounded 1.8 mil; at least 2.0 mil required", "out of limits"),
    (profile.ABOVE_MAXIMUM.found(HIGH, AT), "3.60 mil", "at most 3.5 mil",
     "profile 3.60 mil; at most 3.5 mil required", "out of limits"),
    (profile.ABOVE_MAXIMUM.found(END, AT), "3.50 mil", "below 3.5 mil",
     "profile 3.50 mil; below 3.5 mil required", "out of limits"),
    (profile.IN_GUARD_BAND.found(NEAR, AT), "2.10 mil ± 0.25 mil", "at least 2.0 mil, with a guard band of 0.25 mil",
     ("profile 2.10 mil ± 0.25 mil within the limits, not accepted: at least 2.0 mil, with a guard band "
     "of 0.25 mil"), "missing"),
    (profile.INCONCLUSIVE.found(BAND, AT), "2.10 mil ± 0.25 mil: conditional pass",
     "at least 2.0 mil, with a guard band of 0.25 mil",
     ("no verdict on the profile: 2.10 mil ± 0.25 mil: conditional pass; at least 2.0 mil, with a guard band of "
     "0.25 mil"), "missing"),
    (profile.INCONCLUSIVE.found(NO_U, AT),
     "3.00 mil, uncertainty not known: the gauge's limits of error are not on record",
     "decision rule `guarded` needs an uncertainty",
     ("no verdict on the profile: 3.00 mil, uncertainty not known: the gauge's limits of error are not on record; "
      "decision rule `guarded` needs an uncertainty"), "missing"),
    (profile.SPOTS_MISSING.found(profile.SpotsMissing(1, 2), AT), "1 spot", "2 spots per location",
     "1 spot measured of 2 spots per location", "missing"),
    (profile.SPOTS_TOO_MANY.found(profile.SpotsTooMany(4, 2), AT), "4 spots", "2 spots per location",
     "4 spots; required: 2 spots per location; enter the further ones as a location of their own", "missing"),
    (profile.SPOTS_TOO_MANY.found(profile.SpotsTooMany(3, 2, Amount(Decimal("2.60"), "mil")), AT),
     "3 spots, judged by the first ones: 2.60 mil", "2 spots per location",
     ("3 spots, judged by the first ones: 2.60 mil; required: 2 spots per location; enter the further ones as a "
      "location of their own"), "missing"),
    (profile.SECOND_READING_MISSING.found(NEEDS, SPOT),
     "spot a: extra coarse 2.2 mil; a reading in the window needs a second, on coarse tape",
     "rule for two tape grades: average",
     "spot a: extra coarse 2.2 mil; a reading in the window needs a second, on coarse tape", "missing"),
    (profile.OUTSIDE_GRADE_RANGE.found(BEYOND, SPOT), "spot a: coarse 0.7 mil; the coarse tape cannot show this height",
     "rule for two tape grades: average", "spot a: coarse 0.7 mil; the coarse tape cannot show this height", "missing"),
    (profile.CONTRADICTORY.found(TWICE, SPOT),
     "spot a: depth 2.3 mil, depth 2.6 mil; the spot was read twice with different results", "ASTM D4417 Method B",
     "spot a: depth 2.3 mil, depth 2.6 mil; the spot was read twice with different results", "missing"),
    (profile.SPOTS_DISAGREE.found(profile.SpotsDisagree(mil("0.30"), mil("0.2")), AT), "spots differ by 0.30 mil",
     "at most 0.2 mil", "spots differ by 0.30 mil, at most 0.2 mil allowed", "missing"),
    (profile.OUTLIER.found(FAR, AT), FAR_SAID,
     ("Grubbs' test, two-sided, 5 %: G at most 1.8871 for 6 locations, with the gauge's resolution of 0.10 mil in the "
     "scatter"), FAR_SAID, "noted"),
    (sampling.LOCATIONS_MISSING.found(sampling.AreaShort(1, 3, PER_AREA), AT), "1 location",
     "3: 1 location per area; 2 more for each of 3 failing locations",
     "1 location measured of 3: 1 location per area; 2 more for each of 3 failing locations", "missing"),
    (sampling.LOCATIONS_MISSING.found(PART, AT), PART_SEEN, PART_NEEDED, f"{PART_SEEN} measured of {PART_NEEDED}",
     "missing"),
    (sampling.LOCATIONS_MISSING.found(sampling.PlanUnknown(2, Word("lacking", "size")), AT),
     "2 locations; the size of the area is not stated", "sampling plan of the contract",
     "2 locations; the size of the area is not stated, which the sampling plan of the contract needs", "missing"),
    (sampling.LOCATIONS_MISSING.found(sampling.ChangeNotMeasured("new nozzle", Word("change-side", "after")), AT),
     "location 1 after the change `new nozzle` was not measured", ("a location before and one after a change of the "
     "process"), ("location 1 after the change `new nozzle` was not measured; a location before and one after a change "
     "of the process required"), "missing"),
    (sampling.SURFACE_NOT_MEASURED.found(sampling.Unmeasured("pot 2", "07:00", "09:00", 3), AT),
     "pot 2, blasted 07:00 to 09:00: no location", "at least 3 locations on each surface that was blasted",
     "pot 2, blasted 07:00 to 09:00: no location; at least 3 locations on each surface that was blasted required",
     "missing"),
    (sampling.WALK_OUT_MISSING.found(sampling.NoWalkOut(), AT), "no walk-out",
     "four directions, each until two consecutive locations conform",
     "no walk-out; four directions, each until two consecutive locations conform", "missing"),
    (sampling.WALK_OUT_MISSING.found(sampling.WalkOutOpen(SIDES), AT), "not complete towards east, direction 3",
     "four directions, each until two consecutive locations conform", ("not complete towards east, direction 3; four "
     "directions, each until two consecutive locations conform"), "missing"),
    (again.BLASTED_AGAIN.found(again.Replaced(again.Blasted("pot 1", "08:00", "10:30"),
                                              again.Blasted("pot 1", "11:00", "12:00")), AT),
     "pot 1 08:00 to 10:30; again pot 1 11:00 to 12:00", "The surface is judged as it was last blasted.",
     "pot 1 08:00 to 10:30; again pot 1 11:00 to 12:00", "noted"),
    (again.BLASTED_AGAIN.found(BEFORE, AT), "before that: 3.60 mil, at most 3.5 mil (profile above maximum)",
     "The surface is judged as it was last blasted.", "before that: 3.60 mil, at most 3.5 mil (profile above maximum)",
     "noted"),
]  # fmt: skip


@pytest.mark.parametrize(("found", "observed", "required", "said", "part"), FOUND)
def test_what_is_found(found, observed, required, said, part):
    assert (ENGLISH.observed(found), ENGLISH.required(found), part_of(found)) == (observed, required, part)
    assert told([found]) == [f"A location 1: {said} [{found.code}]"]


NEXT = [
    (profile.READ_OTHER_GRADE.due(profile.OtherGrade(COARSE, Word("why", "needs-second"), COARSE), SPOT),
     "a reading on coarse tape at location 1, spot a", "a reading in the window needs a second, on coarse tape"),
    (profile.READ_SPOT_AGAIN.due(profile.Why(Word("why", "grade-read-twice"), EXTRA), SPOT),
     "location 1, spot a again", "the extra coarse tape was read twice with different results"),
    (profile.MEASURE_LOCATION_AGAIN.due(NOTHING, AT),
     "location 1 again, in a later report with a gauge of smaller error, or a decision on it",
     "its value is nearer to a limit than its uncertainty"),
    (profile.MEASURE_SPOTS.due(profile.MoreSpots(2), AT), "2 more spots at location 1", "the method requires them"),
    (sampling.MEASURE_AREA.due(sampling.MoreOnArea(ALL_OF_IT), AT, count=1), "1 more location",
     ("3 locations per shift and apparatus, 2 in use, 2 periods of 12 h; 2, 3 around the changes of the process; "
     "at least 1 on each surface that was blasted; 2 more for each of 1 failing location")),
    (sampling.MEASURE_PART.due(
        sampling.MoreOnPart("pot 1", LATE, sampling.Plan(sampling.PerSize(3, Amount(D(45), "m2"))), "18:00",
                            sampling.BeginWith(EXTRA, mil("2.8"))), AT, count=3),
     "3 more locations on pot 1, 18:00 to 22:00",
     ("3 for each 45 m² or part; enter what was blasted before 18:00 and after it as two entries of the area; begin "
     "with extra coarse tape: its mid-range is nearest to the middle of the specified range, 2.8 mil")),
    (sampling.MEASURE_AREA.due(sampling.MoreOnArea(sampling.Plan(
        sampling.FirstAndFurther(3, Amount(D(100), "m2"), 2, Amount(D(100), "m2")))), AT, count=2), "2 more locations",
     "3 for the first 100 m², 2 for each further 100 m² or part"),
    (sampling.MEASURE_SURFACE.due(sampling.Unmeasured("pot 1", "13:00", "15:00", 1), AT, count=1),
     "1 more location on pot 1, blasted 13:00 to 15:00", "at least 1 location on each surface that was blasted"),
    (sampling.WALK_OUT.due(sampling.NoWalkOut(), AT),
     "walk-out from location 1: two locations in each of four directions", "its bounds are not known"),
    (sampling.WALK_ON.due(sampling.NextStep(2, SIDES[1]), AT, count=1), "step 2 towards direction 3 from location 1",
     "two consecutive locations must conform"),
]  # fmt: skip


@pytest.mark.parametrize(("step", "what", "why"), NEXT)
def test_what_is_to_be_measured(step, what, why):
    assert (ENGLISH.task(step), ENGLISH.because(step)) == (what, why)


def test_what_is_not_evaluated():
    unknown = sampling.PLAN_UNKNOWN.at(sampling.Lacking(Word("lacking", "weld-length")), Place("A"))
    assert ENGLISH.left_out(unknown) == "sampling of area A: the length of weld or edge of the area is not stated"
    assert ENGLISH.left_out(profile.NOT_MEASURED.at(NOTHING, Place("A"))) == "profile of area A: not measured"
    unseen = profile.NOT_INSPECTED.at(NOTHING, Place("A"))
    assert ENGLISH.left_out(unseen) == "everything: the area was not inspected"


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("as-taken", "the reading stands as taken"),
        ("first-stands", "the first reading stands as taken"),
        ("second-decides", "the second reading decides"),
        ("both-in-window", "both readings lie in the window: their mean"),
        ("other-grade-alone", "the rule takes coarse tape alone for this height"),
        ("grades-disagree", "the two grades disagree about the height: measure the spot again"),
    ],
)
def test_why_a_spot_has_its_profile(key, said):
    came = profile.SpotCame(Word("how", "second-governs"), Word("why", key), COARSE, mil("2.20"))
    assert ENGLISH.say("step", "spot", came) == f"2.20 mil: second governs, {said}"
    assert ENGLISH.say("step", "spot-without", came) == f"no profile: second governs, {said}"


def test_steps_of_a_derivation_and_results_that_are_facts():
    line = BudgetLine(
        Word("component", "shim check"), D("0.05"), Word("distribution", "rectangular"), D("1.732"), D("0.029"),
        None, common=True, source=Word("budget-source", "shim-checks"),
    )  # fmt: skip
    assert ENGLISH.say("step", "budget-line", line) == "shim check: 0.05, rectangular, over 1.732: 0.029"
    assert ENGLISH.shown(line.source) == "shim checks of the shift"
    part = SamplingPart("pot 1", LATE, 3, 2)
    assert ENGLISH.say("step", "sampled", part) == "pot 1, 18:00 to 22:00: 2 of 3"
    reach = Amount(D("0.5"), "m")
    bounds = Bounded("1", (Extent(SIDES[0], reach), Extent(SIDES[1], reach, Word("walk-end", "no-room"))))
    assert ENGLISH.shown(bounds) == "around location 1: east 0.5 m, direction 3 0.5 m (to the edge: no room)"


def test_german_is_built_of_german_parts():
    short = sampling.LOCATIONS_MISSING.found(PART, AT)
    assert GERMAN.observed(short) == (
        "pot 1, 18:00 bis 22:00: keine Messstelle; 1 Messstelle auf Stahl beider Zeiträume"
    )  # fmt: skip
    assert GERMAN.required(profile.BELOW_MINIMUM.found(NEAR, AT)) == (
        "mindestens 2.0 mil, mit einem Sicherheitsband von 0.25 mil"
    )
    assert GERMAN.observed(profile.SECOND_READING_MISSING.found(NEEDS, SPOT)) == (
        "Messpunkt a: extra grob 2.2 mil; ein Messwert im Überlappungsbereich braucht einen zweiten, mit Band der "
        "Sorte grob"
    )
