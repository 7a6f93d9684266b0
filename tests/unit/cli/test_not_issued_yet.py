"""What the page of the contract counts: a nonconformance is open until the report that closes it is issued."""

from reportgen.browser.contract_views import contract_view
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
    assert view["state"]["more"].startswith("0 nonconformances are open. ")
    assert view["state"]["more"].endswith(" may be released.")
    (contract / "day2.yaml").write_text(reworked("5 m2") + "remarks: more\n", "utf-8")  # differs; the report stands
    assert not contract_view(contract, "en")["open"]
