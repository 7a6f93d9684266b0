"""A release page verified with the contract folder: what the register has, and what the reports in the folder say."""

import json
import shutil

import pytest

from reportgen.seal import new_identity
from tests.unit.cli.conftest import NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")

TRUST = ("--trust", "keys/i-tern-root.pem")
REPLACED = "supersedes: {revision: 0, reason: a reading was misread}"
KEY = ("--identity", "keys/i-tern.p12")


@pytest.fixture
def page(run, contract):
    """The contract folder with its report, and the release page on its area."""
    (contract / "keys").mkdir()
    new_identity(
        contract / "keys", name="I. Tern", organisation="Body", at=NOW, years=3, passphrase="a passphrase for tests"
    )
    assert run("issue", "day.yaml", *KEY).code == 0
    said = run("release", "A-1", "reports", *KEY, *TRUST, "--index", "i.sqlite", "-o", "page.pdf")
    assert said.code == 0, said.err
    return contract / "page.pdf"


def verified(run, *more):
    said = run("verify", "page.pdf", *TRUST, "--json", *more)
    return said.code, json.loads(said.out)[0]


def revise(run, contract, reading):
    day = contract / "day.yaml"
    text = day.read_text("utf-8").replace("revision: 0,", f"revision: 1, {REPLACED},").replace("x1: 2.9", reading)
    day.write_text(text, "utf-8")
    assert run("issue", "day.yaml", *KEY).code == 0


def test_with_the_contract_folder_a_page_is_held_against_the_report_there(run, contract, page):
    code, alone = verified(run)
    assert (code, alone["overall"], alone["standing"]) == (1, "indeterminate", "unknown")
    code, answer = verified(run, "--register", ".")
    assert (code, answer["overall"], answer["standing"]) == (0, "passed", "current")
    assert [answer["steps"][n]["status"] for n in (7, 10, 11)] == ["passed"] * 3
    (contract / "policy.yaml").write_text("roots: [keys/i-tern-root.pem]\nrequire: [register]\n", "utf-8")
    said = run("verify", "page.pdf", "--policy", "policy.yaml", "--register", ".", "--json")
    assert (said.code, json.loads(said.out)[0]["overall"]) == (0, "passed")


@pytest.mark.parametrize(("reading", "says"), [("x1: 2.8", ""), ("x1: 0.9", "decides `hold`")])
def test_a_revision_in_the_register_supersedes_the_page(run, contract, page, reading, says):
    revise(run, contract, reading)
    code, answer = verified(run, "--register", ".")
    assert (code, answer["standing"]) == (1, "superseded by revision 1")
    assert [one["name"] for one in answer["notices"]] == ["RELEASE_WITHDRAWN"] * bool(says)
    assert says in "".join(one["sentence"] for one in answer["notices"])
    shutil.rmtree(contract / "reports")
    code, answer = verified(run, "--register", ".")
    assert (code, answer["overall"], answer["standing"]) == (1, "indeterminate", "superseded by revision 1")
