"""What no screen could see is named, in every language, also where no screen points anywhere."""

import pytest

from reportgen.audit import audit_of
from reportgen.audit.screening import unseen_told
from reportgen.words.told import said
from tests.unit.audit.test_index import make
from tests.unit.issued import records as made
from tests.unit.issued.records import report


@pytest.mark.parametrize(
    ("language", "end", "weather", "contract"),
    [
        (
            "en",
            "left out after the newest one here",
            "no two reports with enough rows",
            "under another contract number",
        ),
        (
            "de",
            "die nach dem neuesten hier fehlen",
            "keine zwei Berichte mit genug",
            "unter einer anderen Vertragsnummer",
        ),
    ],
)
def test_reports_left_out_at_the_end_and_weather_that_is_not_there_are_named(
    tmp_path, language, end, weather, contract
):
    with make(tmp_path / "index.sqlite") as index:
        for place in (1, 2):
            index.store(f"{place}.pdf", made.examined(report(place)))
        told = said(unseen_told(audit_of(index).screens), language)
    assert end in told
    assert weather in told
    assert contract in told
