"""What is missing of steel that is primed already is not asked to be measured on it, on page 1 and in the check."""

import pytest

from reportgen.job.template import Template
from reportgen.report.actions import actions
from reportgen.report.context import Context
from reportgen.rules import evaluate
from reportgen.rules.standing import standing
from reportgen.words.catalogue import catalogue
from reportgen.words.standing import StandingText
from tests.golden import sample_evaluation as sample
from tests.unit.rules.factory import GOOD, job, surface

IN_WINDOW = "1 a x1 2.5; 1 b x1 2.9"
LATE = (
    "primed 12:50 and no longer to be measured: enter it if it was taken before the primer; else record who decided "
    "to coat, and have it decided"
)
SALTS = {"clause": "5", "maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity"}
DUST = {"clause": "6", "maximum_quantity": "2"}
LATER = {"start": "10:00", "end": "11:30", "abrasive": "grit 1"}


def told(*texts, surfaces, spec=None, language="en", **day):
    """What page 1 asks for, with by when, and what the check says is missing or to be done."""
    made = job(*texts, surfaces=surfaces, spec=spec, day=day)
    evaluation = evaluate(made)
    context = Context(made, evaluation, sample.ISSUE, Template(), catalogue(language), 500.0, 700.0, None, {})
    text, found = StandingText(language), standing(made, evaluation)
    listed = [*map(text.cause, found.missing), *map(text.task, found.next)]
    return [(one.what, one.when) for one in actions(context)], listed


MISSING = {
    "second reading": ([IN_WINDOW], {}, {}, "A reading on coarse tape at location 1, spot a"),
    "location": ([GOOD], {}, {"specification.sampling.locations": "2"}, "1 more location"),
    "salts": ([GOOD], {}, {"specification.soluble_salts": SALTS}, "1 salt test"),
    "dust": ([GOOD], {}, {"specification.dust": DUST}, "A dust-tape test"),
    "grade": ([GOOD], {"cleanliness": None}, {}, "The grade of cleanliness"),
}


@pytest.mark.parametrize(("texts", "entry", "spec", "what"), MISSING.values(), ids=MISSING)
def test_what_is_missing_of_primed_steel_is_entered_or_decided(texts, entry, spec, what):
    done, listed = told(*texts, surfaces=[surface(coated="12:50", **entry)], spec=spec)
    ((asked, when),) = [one for one in done if LATE in one[0]]
    assert asked.lower().startswith(what.lower()), asked
    assert asked.endswith(f"; {LATE}")
    assert when == "no date stated"
    assert len([one for one in listed if LATE in one]) == 1
    bare, listed = told(*texts, surfaces=[surface(**entry)], spec=spec)
    assert (asked.removesuffix(f"; {LATE}"), "before primer") in bare
    assert not [one for one in (*listed, *(one for one, _ in bare)) if "no longer" in one]


@pytest.mark.parametrize(("first", "second", "late"), [("12:50", None, True), (None, "12:50", False)])
def test_of_an_area_in_parts_the_part_counts_that_lacks_it(first, second, late):
    parts = [surface(coated=first, cleaned="20 m2"),
             surface(apparatus="pot 2", blasted=LATER, coated=second, cleaned="20 m2")]  # fmt: skip
    done, listed = told(IN_WINDOW, "2 a x1 3.1; 2 b x1 2.9", surfaces=parts)
    (asked,) = (one for one in done if one[0].startswith("A reading on coarse tape"))
    assert (LATE in asked[0], asked[1]) == (late, "no date stated" if late else "before primer")
    assert any(LATE in one for one in listed) == late


def test_areas_that_lack_the_same_are_told_apart_where_one_is_primed():
    both = [surface(coated="12:50"), surface(area="B", blasted=LATER)]
    _, listed = told(GOOD, GOOD, surfaces=both, spec={"specification.soluble_salts": SALTS})
    about = sorted((one[:3], LATE in one) for one in listed if "soluble salts: no test" in one)
    assert about == [("A: ", True), ("B: ", False)]


def test_what_is_not_measured_on_the_steel_is_asked_for_as_ever():
    """Unused tape of the roll is measured on the anvil."""
    done, listed = told(GOOD, surfaces=[surface(coated="12:50")], tape_checks=[])
    assert not [one for one in (*listed, *(one for one, _ in done)) if "no longer" in one]
    assert [one for one, _ in done if "tape" in one]
    assert [one for one in listed if "tape" in one]


def test_of_steel_to_be_reworked_what_is_decided_is_said_elsewhere_and_all_that_is_missing_at_once():
    done, _ = told(
        "1 a x1 4.4; 1 b x1 4.4", surfaces=[surface(coated="12:50")], spec={"specification.dust": DUST},
    )  # fmt: skip
    late = [one for one, _ in done if "no longer" in one]
    assert [one.partition(" primed ")[2] for one in late] == [
        "12:50 and no longer measurable: enter it if taken before"
    ]
    assert [one for one, _ in done if one.startswith("Prepare again and inspect, or have it decided")]


def test_it_is_said_in_german():
    done, listed = told(IN_WINDOW, surfaces=[surface(coated="12:50")], language="de")
    late = (
        "grundiert 12:50 und nicht mehr messbar: eintragen, wenn es vor der Grundierung aufgenommen wurde; sonst "
        "eintragen, wer die Grundierung entschieden hat, und entscheiden lassen"
    )
    assert [one for one, _ in done if one.endswith(f"; {late}")]
    assert [one for one in listed if late in one]
