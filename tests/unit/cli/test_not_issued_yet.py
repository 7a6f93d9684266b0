"""What the page of the contract counts: a nonconformance is open until the report that closes it is issued."""

import html

from reportgen.browser.contract_views import contract_view
from tests.unit.browser.site import Site
from tests.unit.cli.test_reinspection import contract
from tests.unit.cli.test_revised_since import FAILED, issue
from tests.unit.cli.test_sizes_again import reworked, sized

__all__ = ["contract", "issue"]


def test_a_report_that_is_not_issued_closes_and_releases_nothing_yet(contract, issue):
    issue("day1", sized("5 m2", FAILED))
    (contract / "day2.yaml").write_text(reworked("5 m2"), "utf-8")
    view = contract_view(contract, "en")
    (one,) = view["open"]
    assert (one["id"], one["closing"]) == ("N1", "open until SL-1-002 is issued, which closes it")
    assert view["state"]["more"].startswith(
        "1 nonconformance is open; 1 is closed by a report that is not issued yet. "
    )
    assert "1 may be released, 1 of these by a report that is not issued yet." in view["state"]["more"]
    issue("day2", reworked("5 m2"))
    view = contract_view(contract, "en")
    assert not view["open"]
    assert view["state"]["more"].startswith("No nonconformance is open. ")
    assert view["state"]["more"].endswith(" may be released.")
    (contract / "day2.yaml").write_text(reworked("5 m2") + "remarks: more\n", "utf-8")  # differs; the report stands
    assert not contract_view(contract, "en")["open"]


def test_an_empty_field_among_the_areas_over_time_is_explained(contract, issue):
    """Only where there is one: the day of it has nothing of the area."""
    issue("day1", sized("5 m2", FAILED))
    assert "An empty field: " not in home(contract), "what was not inspected is told as that"
    project = contract / "project.yaml"
    text = project.read_text("utf-8")
    more = text.replace("size: 9 m2}", "size: 9 m2}, {id: A-3, name: rail, size: 2 m2}")
    assert more != text
    project.write_text(more, "utf-8")
    shown = home(contract)
    assert "An empty field: the report of that day says nothing of the area." in shown
    assert '<td><span class="unseen">nothing of this area</span></td>' in shown


def home(folder):
    return html.unescape(Site(folder).opened().get("/").text)
