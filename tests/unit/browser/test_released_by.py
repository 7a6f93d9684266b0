"""Who released a hold point and cannot be told is asked about on the page, at the field, and confirmed there."""

import pytest

from reportgen.yamlsource import parse_yaml
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

STEPS = "  hold_points: [{step: surface preparation, before: coating}]\n  sampling:"
POINT = '\nhold_points: [{step: surface preparation, asked: "10:40", released: "10:45", by: Kim Varrow}]\n'


@pytest.fixture
def site(contract):
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", STEPS, 1), "utf-8")
    (contract / "day.yaml").write_text(DAY + POINT, "utf-8")
    return Site(contract).opened()


def test_it_is_asked_at_the_field_and_confirmed_there(contract, site):
    page = site.get("/shift/day/checks").text
    assert "Is Kim Varrow right?" in page
    assert "surface preparation: said to be released at 10:45 by Kim Varrow" in page
    asked = page[page.index("Is Kim Varrow right?") :]
    assert 'inputmode="decimal"' not in asked[: asked.index("</button>")]
    at = "hold_points[step=surface%20preparation,asked=10%3A40]/by"
    site.post("/shift/day/checks/write", {"settle": at, "was": '"Kim Varrow"'})
    (point,) = parse_yaml((contract / "day.yaml").read_bytes(), "day.yaml").data["hold_points"]
    assert (point["by"], point["confirmed"]) == ("Kim Varrow", "yes")
    assert "Is Kim Varrow right?" not in site.get("/shift/day/checks").text
