"""No number is shown with an exponent: an uncertainty of two digits may be hundreds of a unit."""

from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.browser.profile_views import _value
from reportgen.browser.texts import texts
from reportgen.cli.check_text import _area_line
from tests.golden import sample_evaluation as sample

AREA = sample.evaluation(2, 3).areas[0]


@pytest.mark.parametrize(("uncertainty", "told"), [("1.4E+2", "140"), ("33", "33"), ("0.45", "0.45")])
def test_uncertainties_are_written_in_full(uncertainty, told):
    location = replace(AREA.locations[0], profile=Decimal("2.1E+2"), expanded_uncertainty=Decimal(uncertainty))
    assert _value(texts("en"), location) == f"210 ± {told}"
    area = replace(AREA, mean=Decimal("2.1E+2"), expanded_uncertainty=Decimal(uncertainty))
    assert f"mean 210 mil ± {told}" in _area_line(area, False, colour=False)
