"""Copies of one issue in which what nobody signs is written otherwise: it counts once, and stops nothing."""

import json
import shutil

import pytest

from reportgen.seal import new_identity
from tests.copies_otherwise import LESS_PROVEN, OTHERWISE, lower_case
from tests.unit.cli.conftest import NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")

TRUST = ("--trust", "keys/i-tern-root.pem")
KEY = ("--identity", "keys/i-tern.p12")
REPORT = "reports/SL-1-001.pdf"


@pytest.fixture
def report(run, contract):
    """The contract folder with a report, and an archive with that alone."""
    (contract / "keys").mkdir()
    new_identity(
        contract / "keys", name="I. Tern", organisation="Body", at=NOW, years=3, passphrase="a passphrase for tests"
    )
    assert run("issue", "day.yaml", *KEY).code == 0
    (contract / "archive").mkdir()
    return shutil.copy(contract / REPORT, contract / "archive")


def audited(run, *more):
    said = run("audit", "archive", *TRUST, "--index", "i.sqlite", "--json", *more)
    found = json.loads(said.out)
    return said.code, {one["code"]: one for one in found["problems"]}, found


def verified(run, *files, more=()):
    said = run("verify", *files, *TRUST, "--json", *more)
    return json.loads(said.out)


@pytest.mark.parametrize("copied", [*OTHERWISE, *LESS_PROVEN])
def test_a_copy_counts_once_and_stops_no_release(run, contract, report, copied):
    data = (contract / REPORT).read_bytes()
    other = copied(data)
    assert other != data
    (contract / "archive/copy.pdf").write_bytes(other)
    (alone,) = verified(run, "archive/copy.pdf")
    assert alone["overall"] == ("indeterminate" if copied in LESS_PROVEN else "passed"), alone["reasons"]
    code, problems, found = audited(run)
    assert code == 0, problems
    assert problems.keys() == {"copy-written-otherwise"}
    assert problems["copy-written-otherwise"]["weight"] == "note"
    assert sorted(problems["copy-written-otherwise"]["files"]) == ["SL-1-001.pdf", "copy.pdf"]
    assert found["reports"] == 1
    said = run("release", "A-1", "archive", *KEY, *TRUST, "--index", "i.sqlite", "-o", "page.pdf")
    assert said.code == 0, said.err
    said = run("submittal", "archive", *KEY, *TRUST, "-o", "s.pdf")
    assert said.code == 0, said.err
