"""Release, nonconformances, what is carried forward and what closes it."""

from dataclasses import replace

import pytest

from reportgen.measurements import CODES
from reportgen.results import AreaResult, Counted, LeftOut, NonconformanceState, Place, Word
from reportgen.results.codes.equipment import TAPE_EXPIRED, TAPE_UNCHECKED, TapeExpired, TapeRollNamed
from reportgen.results.codes.follow_up import (
    BRING_EVIDENCE,
    HAVE_DECIDED,
    INSPECT_AGAIN,
    ClosedOnPaper,
    LeftOpen,
    StillOpen,
    ToClose,
    Uncovered,
)
from reportgen.results.facts import NOTHING
from reportgen.rules.release import acceptance, area_verdict, decision, reasons, report_verdict
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import GOOD, codes, evaluated, finding, job, surface

SAID = sentences()
REWORK = Word("disposition", "rework")
LOW = "1 a x1 1.6; 1 b x1 1.6"
SPEC = {"specification.profile.overlap_rule": "single-grade"}


def _ncr(**values):
    record = {
        "id": "NCR-1", "area": "A", "findings": ["profile-below-minimum"], "description": "Low profile.",
        "disposition": "rework", "decided_by": "ann", "status": "open",
    }  # fmt: skip
    return {**record, **values}


def _low(*records, surfaces=None, earlier=(), text=LOW, day=None):
    changes = {"nonconformances": list(records), **(day or {})}
    return evaluated(text, spec=SPEC, day=changes, surfaces=surfaces, earlier=earlier)


def _earlier(*records, number="R-0", date="2026-05-13", text=LOW, **given):
    day = {"report.number": number, "report.date": date, "nonconformances": list(records), **given.pop("day", {})}
    return job(text, spec=SPEC, day=day, **given)


def test_a_failing_finding_needs_a_nonconformance():
    evaluation = _low()
    assert codes(evaluation) == ["profile-below-minimum", "walk-out-missing", "nonconformance-missing"]
    found = finding(evaluation, "nonconformance-missing")
    assert (found.facts, found.place, found.severity) == (
        Uncovered("profile-below-minimum"), Place("A"), "observation",
    )  # fmt: skip
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("does not conform", "rework")
    assert evaluation.areas[0].reasons == (Counted(0), Counted(1), Counted(2))
    assert SAID.reasons(evaluation, evaluation.areas[0]) == [
        "profile-below-minimum, location 1: 1.60 mil ± 0.25 mil", "walk-out-missing, location 1: no walk-out",
        "nonconformance-missing: no nonconformance covers profile below minimum",
    ]  # fmt: skip


@pytest.mark.parametrize("area", ["A", None])
def test_a_nonconformance_covers_findings_of_its_area_or_of_all(area):
    record = _ncr(area=area)
    evaluation = _low({name: value for name, value in record.items() if value is not None})
    assert finding(evaluation, "profile-below-minimum").nonconformance == "NCR-1"
    assert "nonconformance-missing" not in codes(evaluation)
    state = evaluation.nonconformances[0]
    assert (state.status, state.raised_in) == ("open", "R-1")
    assert [(one.code, one.area, one.location) for one in state.original] == [("profile-below-minimum", "A", "1")]
    assert list(map(SAID.seen, state.original)) == ["location 1: 1.60 mil ± 0.25 mil (profile-below-minimum)"]


@pytest.mark.parametrize("record", [_ncr(area="B"), _ncr(findings=["dew-point-margin"])])
def test_a_nonconformance_about_something_else_does_not_cover(record):
    assert "nonconformance-missing" in codes(_low(record))


def test_the_record_of_the_area_comes_before_one_for_all():
    whole = {name: value for name, value in _ncr(id="NCR-0").items() if name != "area"}
    assert finding(_low(whole, _ncr()), "profile-below-minimum").nonconformance == "NCR-1"


def test_an_open_nonconformance_is_a_finding_with_its_next_step():
    evaluation = _low(_ncr(corrective_action="New nozzle."))
    found = finding(evaluation, "nonconformance-open")
    assert found.facts == StillOpen("NCR-1", "R-1", REWORK)
    assert (found.place, found.nonconformance) == (Place("A"), "NCR-1")
    close = ToClose("NCR-1", REWORK, "Low profile", "New nozzle.")
    assert evaluation.measure_next[-1] == INSPECT_AGAIN.due(close, Place("A"))


def test_what_a_whole_area_was_found_to_be_is_kept_without_a_location():
    log = [{"time": "06:45", "place": "span", "air": "20 degC", "humidity": "90 %", "steel": "19 degC"}]
    spec = {**SPEC, "specification.conditions": {"maximum_humidity": "85 %"}}
    records = [_ncr(findings=["humidity-above-maximum"])]
    evaluation = evaluated(GOOD, spec=spec, day={"conditions": log, "nonconformances": records})
    (seen,) = evaluation.nonconformances[0].original
    assert SAID.seen(seen) == "06:45, span: relative humidity 90 % while blasting (humidity-above-maximum)"
    assert SAID.because(evaluation.measure_next[-1]) == "Low profile"


def test_accepted_as_it_is():
    record = _ncr(disposition="use-as-is", status="closed", evidence="Letter 7.", decided_by="eng")
    evaluation = _low(record)
    (area,) = evaluation.areas
    assert area.verdict == "does not conform"
    assert area.decision == "hold"  # the bounds of the failing area are not known
    assert area.reasons[0] == Counted(0, accepted=True)
    assert (
        SAID.reasons(evaluation, area)[0]
        == "profile-below-minimum, location 1: 1.60 mil ± 0.25 mil (accepted under NCR-1)"
    )
    both = _ncr(**{**record, "findings": ["profile-below-minimum", "walk-out-missing"]})
    (released,) = _low(both).areas
    assert (released.verdict, released.decision) == ("does not conform", "release")


def test_a_rejected_area_stays_rework():
    record = _ncr(disposition="reject", status="closed", evidence="Letter 8.")
    evaluation = _low(record)
    assert evaluation.areas[0].decision == "rework"
    assert "nonconformance-open" not in codes(evaluation)


def test_a_decision_still_open_asks_for_its_evidence():
    for who, code in (("eng", BRING_EVIDENCE), ("ann", HAVE_DECIDED)):
        evaluation = _low(_ncr(disposition="use-as-is", decided_by=who))
        close = ToClose("NCR-1", Word("disposition", "use-as-is"), "Low profile")
        assert code.due(close, Place("A")) in evaluation.measure_next
        assert evaluation.areas[0].decision == "rework"


def test_who_may_be_the_inspector_or_the_contractors_man_does_not_accept():
    people = {
        "people.other": {"name": "Amos Inspector", "role": "resident engineer"},
        "people.qc": {"name": "Q. Maddock", "role": "quality control", "organisation": "Contractor Ltd"},
        "people.short": {"name": "Maddock", "role": "engineer"},
        "people.own": {"name": "R. Maddock", "role": "engineer", "organisation": "Client"},
        "people.german": {"name": "G. Holm", "role": "Beschichtungsprüferin", "organisation": "Client"},
    }
    for who, accepted in (("other", False), ("short", False), ("own", True), ("german", False)):
        record = _ncr(
            disposition="use-as-is", status="closed", evidence="Letter 7.", decided_by=who,
            findings=["profile-below-minimum", "walk-out-missing"],
        )  # fmt: skip
        (area,) = evaluated(LOW, spec=SPEC | people, day={"nonconformances": [record]}).areas
        assert (area.decision == "release") is accepted


def test_carried_forward_until_a_re_inspection_passes():
    first = _earlier(_ncr())
    carried = evaluated(GOOD, spec=SPEC, surfaces=[surface(area="B")], earlier=(first,))
    (state,) = carried.nonconformances
    assert (state.id, state.status, state.raised_in) == ("NCR-1", "open", "R-0")
    assert list(map(SAID.seen, state.original)) == ["location 1: 1.60 mil ± 0.25 mil (profile-below-minimum)"]
    assert finding(carried, "nonconformance-open").area == "A"
    assert carried.areas[0].decision == "release"

    again = [surface(reinspects=["NCR-1"])]
    passed = evaluated(GOOD, spec=SPEC, surfaces=again, earlier=(first,))
    (state,) = passed.nonconformances
    assert (state.status, state.evidence, state.closed_by) == ("closed", None, "R-1")
    assert state.original
    assert codes(passed) == []
    assert passed.areas[0].decision == "release"

    failed = evaluated(LOW, spec=SPEC, surfaces=again, earlier=(first,))
    assert failed.nonconformances[0].status == "open"
    assert finding(failed, "profile-below-minimum").nonconformance == "NCR-1"
    assert "nonconformance-missing" not in codes(failed)


def test_a_re_inspection_with_something_missing_closes_nothing():
    again = [surface(reinspects=["NCR-1"])]
    half = evaluated("1 a x1 3.1", spec=SPEC, surfaces=again, earlier=(_earlier(_ncr()),))
    assert half.nonconformances[0].status == "open"
    unchecked = {"gauge_checks": []}  # every location conforms, but nothing shows that the gauge did
    open_ = evaluated(GOOD, spec=SPEC, surfaces=again, earlier=(_earlier(_ncr()),), day=unchecked)
    assert [one.verdict for one in open_.areas[0].locations] == ["conforms"]
    assert open_.nonconformances[0].status == "open"


def test_without_a_re_inspection_an_area_with_an_open_one_is_held():
    evaluation = evaluated(GOOD, spec=SPEC, earlier=(_earlier(_ncr()),))
    assert (evaluation.areas[0].verdict, evaluation.areas[0].decision) == ("conforms", "hold")


def test_a_rework_cannot_be_written_closed():
    first = _earlier(_ncr())
    claimed = _ncr(status="closed", evidence="Looks fine.", raised_in="R-0")
    evaluation = evaluated(GOOD, spec=SPEC, day={"nonconformances": [claimed]}, earlier=(first,))
    assert evaluation.nonconformances[0].status == "open"
    assert finding(evaluation, "nonconformance-open").facts == ClosedOnPaper("NCR-1", REWORK)


def test_closed_earlier_is_not_carried_on():
    first, second = (
        _earlier(_ncr(), date="2026-05-12"),
        _earlier(number="R-0B", date="2026-05-13", text=GOOD, surfaces=[surface(reinspects=["NCR-1"])]),
    )
    evaluation = evaluated(GOOD, spec=SPEC, earlier=(first, second))
    assert evaluation.nonconformances == ()
    named = _ncr(status="closed", evidence="Six locations.", raised_in="R-0")
    repeated = evaluated(GOOD, spec=SPEC, day={"nonconformances": [named]}, earlier=(first, second))
    (state,) = repeated.nonconformances
    assert (state.status, state.evidence, state.raised_in) == ("closed", "Six locations.", "R-0")


def test_of_several_revisions_the_last_counts_and_never_the_reports_own():
    old, new = (
        _earlier(_ncr()),
        _earlier(_ncr(disposition="reject", status="closed", evidence="x"), day={"report.revision": "1"}),
    )
    assert evaluated(GOOD, spec=SPEC, earlier=(old, new)).nonconformances == ()
    assert evaluated(GOOD, spec=SPEC, earlier=(new, old)).nonconformances == ()
    own = _earlier(_ncr(), number="R-1", date="2026-05-14")
    assert evaluated(GOOD, spec=SPEC, earlier=(own,)).nonconformances == ()


def test_raised_in_a_report_that_is_not_at_hand():
    evaluation = evaluated(GOOD, spec=SPEC, day={"nonconformances": [_ncr(raised_in="R-9")]})
    (state,) = evaluation.nonconformances
    assert (state.raised_in, state.original) == ("R-9", ())


def test_re_inspecting_what_nobody_raised_changes_nothing():
    assert codes(evaluated(GOOD, spec=SPEC, surfaces=[surface(reinspects=["NCR-7"])])) == []


def test_a_nonconformance_of_the_whole_report():
    record = {name: value for name, value in _ncr(findings=["certificate-expired"]).items() if name != "area"}
    evaluation = _low(record, text=GOOD)
    assert finding(evaluation, "nonconformance-open").area is None
    assert evaluation.measure_next[-1].area == ""
    assert evaluation.areas[0].decision == "hold"


def test_an_area_that_was_not_inspected():
    evaluation = evaluated(day={"not_inspected": [{"area": "B", "reason": "no scaffold"}]})
    inspected, left = evaluation.areas
    assert (left.verdict, left.decision, left.reasons) == ("not evaluated", "hold", ())
    assert (left.not_inspected, inspected.not_inspected) == ("no scaffold", None)
    assert SAID.reasons(evaluation, left) == ["not inspected: no scaffold"]
    assert (left.structure, left.name, left.unit) == ("S", "area B", "mil")
    assert (left.required_locations, left.n_locations, left.n_spots) == (None, 0, 0)
    assert left.not_evaluated == (LeftOut("area-not-inspected", Place("B"), NOTHING),)
    assert (inspected.verdict, evaluation.verdict) == ("conforms", "conforms")


@pytest.mark.parametrize(
    ("second", "verdict"),
    [(GOOD, "conforms"), ("1 a x1 2.9", "inconclusive"), (LOW, "does not conform")],
)
def test_the_report_is_as_good_as_its_worst_area(second, verdict):
    surfaces = [surface(), surface(area="B")]
    assert evaluated(GOOD, second, spec=SPEC, surfaces=surfaces).verdict == verdict


def test_a_report_without_inspected_areas_is_not_evaluated():
    evaluation = evaluated(surfaces=[], day={"not_inspected": [{"area": "A", "reason": "rain"}]})
    assert evaluation.verdict == "not evaluated"


def test_every_finding_that_counts_is_a_reason_and_a_long_list_is_cut_where_it_is_read():
    many = tuple(TAPE_EXPIRED.found(TapeExpired(str(n), "1", "2026-05-04", "2026-05-03")) for n in range(14))
    assert reasons(enumerate(many), acceptance(())) == tuple(map(Counted, range(14)))
    evaluation = replace(evaluated(), findings=many)
    area = replace(evaluation.areas[0], reasons=reasons(enumerate(many), acceptance(())))
    assert len(SAID.reasons(evaluation, area)) == 13
    assert SAID.reasons(evaluation, area)[-1] == "and 2 more"
    assert reasons([(0, TAPE_UNCHECKED.found(TapeRollNamed("x1")))], acceptance(())) == ()


def test_every_code_has_meaning_rule_and_remedy():
    assert len(CODES) >= 33
    for name in CODES:
        assert name == name.lower(), name
        said = SAID.explained(name)
        assert set(said) == {"meaning", "rule", "remedy"}
        assert all(text.endswith(".") for text in said.values()), name


# Decisions that let steel stay as it is


def _found(code, name="NCR-1", area="A", facts=NOTHING):
    return replace(CODES[code].found(facts, Place(area)), nonconformance=name)


def _state(disposition, status="closed", area="A", name="NCR-1"):
    return NonconformanceState(name, area, (), "", disposition, "eng", status, "R-1")


@pytest.mark.parametrize(
    ("code", "disposition", "accepted"),
    [
        ("profile-below-minimum", "use-as-is", True),
        ("profile-below-minimum", "repair", True),
        ("profile-below-minimum", "rework", False),
        ("profile-below-minimum", "reject", False),
        ("profile-in-guard-band", "use-as-is", True),
        ("profile-in-guard-band", "repair", True),  # it is of the steel
        ("spots-missing", "use-as-is", True),
        ("spots-missing", "repair", False),  # a repair brings nothing that was not measured
        ("entry-doubtful", "use-as-is", False),  # there is nothing in it to decide on
        ("entry-doubtful", "repair", False),
    ],
)
def test_what_a_closed_decision_lets_stand(code, disposition, accepted):
    assert acceptance([_state(disposition)])(_found(code)) is accepted
    assert acceptance([_state(disposition, area=None)])(_found(code)) is accepted
    assert not acceptance([_state(disposition, status="open")])(_found(code))
    assert not acceptance([_state(disposition, area="B")])(_found(code))
    assert not acceptance([_state(disposition, name="NCR-2")])(_found(code))
    assert not acceptance([_state(disposition)])(_found(code, name=None))
    assert not acceptance([])(_found(code))


@pytest.mark.parametrize(("left", "accepted"), [("profile-in-guard-band", True), ("spots-missing", False)])
def test_what_was_left_open_earlier_is_repaired_as_what_it_is(left, accepted):
    facts = LeftOpen(left, "R-0", "2026-05-13", "pot 1", "07:00", "09:00")
    assert acceptance([_state("repair")])(_found("left-open-earlier", facts=facts)) is accepted
    assert acceptance([_state("use-as-is")])(_found("left-open-earlier", facts=facts))


FAILS, HOLDS, NOTES = "profile-below-minimum", "spots-missing", "gauge-drift"


@pytest.mark.parametrize(
    ("verdict", "found", "accepted", "decided"),
    [
        ("conforms", [], [], "release"), ("inconclusive", [], [], "hold"), ("not evaluated", [], [], "hold"),
        ("does not conform", [FAILS], [], "rework"), ("does not conform", [FAILS], [FAILS], "release"),
        ("does not conform", [FAILS, HOLDS], [FAILS], "hold"),
        ("does not conform", [FAILS, HOLDS], [HOLDS], "rework"),
        ("inconclusive", [HOLDS], [], "hold"), ("inconclusive", [HOLDS], [HOLDS], "release"),
        ("inconclusive", [HOLDS, "profile-in-guard-band"], [HOLDS], "hold"),
        ("inconclusive", [NOTES], [NOTES], "hold"),  # nothing was open that was decided
    ],
)  # fmt: skip
def test_what_is_recommended(verdict, found, accepted, decided):
    findings = [_found(code) for code in found]
    assert decision(verdict, findings, lambda one: one.code in accepted) == decided


@pytest.mark.parametrize("code", sorted(name for name, one in CODES.items() if one.effect == "defers"))
def test_what_defers_holds_a_conforming_area_until_it_is_accepted(code):
    assert decision("conforms", [_found(code)], lambda _: False) == "hold"
    assert decision("conforms", [_found(code)], lambda _: True) == "release"


@pytest.mark.parametrize(
    ("effects", "verdicts", "verdict"),
    [
        (set(), ["conforms", "conforms"], "conforms"), (set(), [], "inconclusive"),
        (set(), ["conforms", "inconclusive"], "inconclusive"), ({"holds"}, ["conforms"], "inconclusive"),
        ({"fails"}, ["conforms"], "does not conform"), ({"fails", "holds"}, [], "does not conform"),
        ({"holds"}, ["does not conform"], "does not conform"), ({"none", "defers"}, ["conforms"], "conforms"),
    ],
)  # fmt: skip
def test_an_area_conforms_where_everything_does(effects, verdicts, verdict):
    (one,) = evaluated().areas[0].locations
    assert area_verdict([replace(one, verdict=each) for each in verdicts], effects) == verdict
    walked = replace(one, verdict="does not conform", walk_out="9")
    assert area_verdict([walked, *(replace(one, verdict=each) for each in verdicts)], effects) == verdict


@pytest.mark.parametrize(
    ("areas", "verdict"),
    [
        ([("conforms", "release")], "conforms"),
        ([("conforms", "release"), ("conforms", "hold")], "inconclusive"),  # as for an open nonconformance
        ([("does not conform", "release")], "does not conform"),
        ([("conforms", "hold"), ("does not conform", "rework")], "does not conform"),
        ([("conforms", "release"), ("not evaluated", "hold")], "conforms"),
        ([("not evaluated", "hold")], "not evaluated"),
    ],
)
def test_a_report_conforms_where_each_area_does_and_none_is_on_hold(areas, verdict):
    area = evaluated().areas[0]
    several = [replace(area, verdict=one, decision=decided) for one, decided in areas]
    assert report_verdict(several) == verdict


# Of an area as a whole


def _area(verdict, decided):
    return AreaResult("A", "S", "area A", verdict, decided, "mil", None, 1, 2)


def test_an_area_that_fails_and_is_on_hold_fails_the_report():
    """It is no more in doubt for what is missing beside it."""
    assert report_verdict([_area("does not conform", "hold")]) == "does not conform"
    assert report_verdict([_area("conforms", "hold")]) == "inconclusive"
    assert report_verdict([_area("conforms", "release")]) == "conforms"


def test_an_area_is_not_called_unmeasured_for_a_surface_that_is():
    """One of its two surfaces was measured: the other one lacks its locations, which is told as that."""
    second = surface(apparatus="pot 2")
    del second["profile"]
    of = {len(several): evaluated(surfaces=several).areas[0] for several in ([second], [surface(), second])}
    assert [one.code for one in of[1].not_evaluated].count("profile-not-measured") == 1
    assert "profile-not-measured" not in [one.code for one in of[2].not_evaluated]


def test_an_area_stands_at_its_own_place_whatever_that_of_its_structure():
    spec = {"structures.0.place": "hall", "structures.0.areas.0.place": "yard"}
    assert evaluated(spec=spec).areas[0].place == "yard"
    assert evaluated(spec={"structures.0.place": "hall"}).areas[0].place == "hall"
