"""Where a day stands: each cause once with its places joined, each thing to do once."""

from dataclasses import replace

from reportgen.measurements.dust.codes import ABOVE_MAXIMUM, MISSING, TAKE_TEST, DustAbove, DustAllowed
from reportgen.results import Evaluation, Place, Task, Word
from reportgen.results.codes import follow_up
from reportgen.results.codes.follow_up import INSPECT_AGAIN, ToClose, Uncovered
from reportgen.results.facts import NOTHING
from reportgen.results.values import ReportIdentity
from reportgen.rules.standing import causes, part_of, standing
from tests.unit.rules.factory import job

ALLOWED = DustAllowed(2)
CLOSE = INSPECT_AGAIN.due(ToClose("N1", Word("disposition", "rework"), "low"), Place("A"))


def stands(*findings, steps=()):
    report = ReportIdentity("R-1", 0, "2026-05-14")
    return standing(job(), Evaluation(report, "conforms", (), findings=findings, measure_next=steps))


def places(found):
    return [(one.finding.code, one.indices, one.places) for one in found]


def test_areas_of_one_cause_are_told_together_where_no_location_is_named():
    found = [MISSING.found(ALLOWED, Place(area)) for area in "AB"] + [MISSING.found(DustAllowed(3), Place("C"))]
    assert places(causes(enumerate(found))) == [
        ("dust-missing", (0, 1), (Place("A"), Place("B"))), ("dust-missing", (2,), (Place("C"),)),
    ]  # fmt: skip


def test_locations_are_told_together_within_an_area():
    above = DustAbove(3, 1, 2)
    found = [ABOVE_MAXIMUM.found(above, Place(area, where)) for area, where in (("A", "1"), ("B", "1"), ("A", "2"))]
    assert places(causes(enumerate(found))) == [
        ("dust-above-maximum", (0, 2), (Place("A", "1"), Place("A", "2"))),
        ("dust-above-maximum", (1,), (Place("B", "1"),)),
    ]


def test_what_differs_in_clause_nonconformance_time_or_spot_is_another_cause():
    one = MISSING.found(ALLOWED, Place("A"))
    others = [replace(one, clause="1"), replace(one, nonconformance="N1")]
    others += [replace(one, place=Place("A", time="06:40")), replace(one, place=Place("A", spot="a"))]
    assert len(causes(enumerate([one, *others, one]))) == 5
    assert causes(enumerate([one, one]))[0].places == (Place("A"),)


def test_to_raise_nonconformances_is_one_thing_to_do():
    found = [
        follow_up.MISSING.found(Uncovered(code), Place(area)) for area, code in (("A", "x"), ("A", "y"), ("B", "x"))
    ]
    ((cause),) = causes(enumerate(found))
    assert (cause.indices, cause.places) == ((0, 1, 2), (Place("A"), Place("B")))


def test_a_failing_code_that_was_only_observed_is_noted():
    above = ABOVE_MAXIMUM.found(DustAbove(3, 1, 2), severity="observation")
    assert part_of(above) == "noted"
    assert [one.finding for one in stands(above).noted] == [above]


def test_what_a_finding_among_the_missing_says_is_not_to_be_done_twice():
    take = TAKE_TEST.due(ALLOWED, Place("A"), count=1)
    elsewhere = TAKE_TEST.due(ALLOWED, Place("B"), count=1)
    said = stands(MISSING.found(ALLOWED, Place("A")), steps=(take, elsewhere, CLOSE))
    assert said.next == (elsewhere, CLOSE)
    assert stands(steps=(take,)).next == (take,)


def test_an_open_nonconformance_is_told_by_what_closes_it():
    raised = follow_up.StillOpen("N1", "R-1", Word("disposition", "rework"))
    said = stands(follow_up.OPEN.found(raised, Place("A")), steps=(CLOSE,))
    assert said.next == (CLOSE,)
    assert (said.wrong, said.out_of_limits, said.missing, said.noted) == ((), (), (), ())


def test_until_when_to_coat_is_a_deadline_and_nothing_to_measure():
    assert stands(steps=(Task("coat-by", Place("A"), NOTHING),)).next == ()
