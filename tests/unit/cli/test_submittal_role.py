"""In which role a submittal is signed on the command line: as said, else as its reports name the signer."""

import pytest
from pypdf import PdfReader

pytestmark = pytest.mark.usefixtures("stopped_clock")
TRUST = ("--trust", "keys/i-tern-root.pem")


@pytest.fixture
def issued(run, contract):
    """A report of the contract, and an engineer of whom its project file knows nothing."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    assert run("identity", "new", "others", "--name", "Nöra Vessery", "--organisation", "Board").code == 0
    return "others/noera-vessery.p12"


def cover(contract, name):
    return " ".join(PdfReader(contract / name).pages[0].extract_text().split())


def test_who_signs_is_in_the_role_that_the_reports_name(run, contract, issued):
    made = run("submittal", "reports", "--identity", "keys/i-tern.p12", *TRUST, "-o", "s.pdf")
    assert made.code == 0, made.err
    assert "project engineer" not in cover(contract, "s.pdf").lower()
    assert "inspector" in cover(contract, "s.pdf")


def test_whom_no_report_names_is_asked_for_the_role(run, contract, issued):
    refused = run("submittal", "reports", "--identity", issued, *TRUST, "-o", "s.pdf")
    assert refused.code == 2
    assert "the reports do not say in which role Nöra Vessery signs" in " ".join(refused.err.split())
    assert "--role" in refused.err
    assert not (contract / "s.pdf").exists()
    said = run("submittal", "reports", "--identity", issued, *TRUST, "-o", "s.pdf", "--role", "owner's engineer")
    assert said.code == 0, said.err
    assert "owner's engineer" in cover(contract, "s.pdf").replace("’", "'")
