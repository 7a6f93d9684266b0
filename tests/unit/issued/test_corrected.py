"""A formula corrected since: the old edition gives what it gave, and the readers of its reports are told."""

import datetime as dt
from dataclasses import replace
from fractions import Fraction

from reportgen.issued.corrected import notices
from reportgen.metrology.contamination import salt_density
from reportgen.rules import evaluate
from reportgen.rules.editions import EDITIONS, FIRST, NEWEST, RULES_EDITION
from reportgen.units import Quantity
from reportgen.verification import Changed
from tests.unit.measurements.test_salts import SALTS, _salt
from tests.unit.rules.factory import job, surface

ISSUED = dt.datetime(2026, 6, 9, 12, tzinfo=dt.UTC)


def doubled(*measured):
    """The formula of a release to come: what was printed until then was half of what it should be."""
    density = salt_density(*measured)
    return Quantity(2 * Fraction(density.exact), density.unit)


def editions(date):
    return replace(FIRST, succeeded=dt.date.fromisoformat(date)), replace(FIRST, number=2, salt_density=doubled)


def salted(maximum="50 mg/m2"):
    limit = {**SALTS, "maximum": maximum}
    return job(spec={"specification.soluble_salts": limit}, surfaces=[surface(salts=[_salt(), _salt(location="2")])])


def told(given, date, issued=ISSUED):
    old, new = editions(date)
    return notices(given, evaluate(given, at=issued, edition=old), old, issued, new)


def test_each_edition_gives_its_own_numbers():
    old, new = editions("2026-07-01")
    given = salted()
    assert [str(one.density) for one in evaluate(given, edition=old).salts] == ["12.0", "12.0"]
    assert [str(one.density) for one in evaluate(given, edition=new).salts] == ["24.0", "24.0"]
    assert NEWEST is EDITIONS[RULES_EDITION]
    assert list(EDITIONS) == list(range(1, RULES_EDITION + 1))
    assert all((one.succeeded is None) == (one is NEWEST) for one in EDITIONS.values())


def test_nothing_is_said_where_no_verdict_changes():
    assert told(salted(), "2026-07-01") == ()


def test_a_verdict_that_is_another_since_is_named_with_both_values():
    (notice,) = told(salted("20 mg/m2"), "2026-07-01")
    assert notice.name == "SINCE_CORRECTED"
    assert Changed("salts[A 2].verdict", "conforms", "does not conform") in notice.places
    assert Changed("areas[A].verdict", "conforms", "does not conform") in notice.places
    assert notice.sentence.startswith(
        "the rules were corrected on 2026-07-01, after edition 1: areas[A].decision is `rework` by edition 2,"
        " not `release`, and 4 other places differ"
    )


def test_rules_long_replaced_are_named_a_year_after():
    assert told(salted(), "2025-06-09") == ()
    (notice,) = told(salted(), "2025-06-08")
    assert (notice.name, notice.places) == ("OLD_RULES", ())
    assert notice.sentence == (
        "issued on 2026-06-09 under edition 1 of the rules, which had been replaced more than a year before,"
        " on 2025-06-08"
    )


def test_of_the_newest_edition_nothing_is_said():
    given = salted("20 mg/m2")
    assert notices(given, evaluate(given), NEWEST, ISSUED) == ()
