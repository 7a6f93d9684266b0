"""What the page of an area asks of steel that is blasted again."""

import pytest

from reportgen.browser.area_views import area_view
from reportgen.browser.fields import Field
from tests.unit.cli.conftest import DAY, contract

__all__ = ["contract"]

ASKED = {
    "en": "size blasted again: all that failed, or a part of it",
    "de": "erneut gestrahlte Größe: alles, was nicht entsprach, oder ein Teil davon",
}


def sizes(contract, language, more):
    day = contract / "day.yaml"
    again = DAY[DAY.index("  - area: A-1") : DAY.index("not_inspected")].replace("pot 1", "pot 2")
    again = again.replace('"08:00", end: "10:30"', '"11:00", end: "12:00"').replace(
        "    profile:", f"{more}    profile:"
    )
    day.write_text(DAY.replace("not_inspected", f"{again}not_inspected"), "utf-8")
    found = every(area_view(day, language, "A-1", "pot 2"))
    return [one for one in found if "cleaned" in one.at and one.kind == "number"]


def every(view):
    """Every field of a view, however deep."""
    if isinstance(view, Field):
        yield view
    elif isinstance(view, dict):
        for one in view.values():
            yield from every(one)
    elif isinstance(view, list | tuple):
        for one in view:
            yield from every(one)


@pytest.mark.parametrize("language", ["en", "de"])
def test_how_much_was_blasted_again_is_asked(contract, language):
    again = "    blasted_again: [pot 1]\n"
    (asked,) = sizes(contract, language, again)
    assert (asked.wanted, asked.label) == (True, ASKED[language])
    (told,) = sizes(contract, language, f"{again}    cleaned: 2 m2\n")
    assert (told.wanted, told.value) == (False, "2")
    (other,) = sizes(contract, language, "")
    assert (other.wanted, other.label == ASKED[language]) == (False, False)
