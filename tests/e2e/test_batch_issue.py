"""Many day files issued at once: each as if alone, and one that fails costs only itself."""

import datetime as dt
import json
import shutil

import pytest

from reportgen.errors import UsageError
from reportgen.pipeline.batch import Order, issue_demonstrations, issue_registered
from reportgen.pipeline.workers import Spread
from tests import command
from tests.conftest import JOBS

DAYS = [JOBS / "quarrowmere" / f"2026-06-{day}.yaml" for day in ("08", "09")]
PASSPHRASE = "a passphrase for tests"


def run(*arguments, cwd=None):
    return command.run(*arguments, cwd=cwd, env={"REPORTGEN_PASSPHRASE": PASSPHRASE})


@pytest.fixture
def contract(tmp_path):
    """A contract of its own with two days."""

    def make(name):
        folder = tmp_path / name
        shutil.copytree(JOBS / "quarrowmere", folder)
        for path in folder.glob("2026-06-1*.yaml"):
            path.unlink()
        return folder

    return make


def test_a_broken_day_costs_only_itself(tmp_path):
    broken = tmp_path / "broken.yaml"
    broken.write_text("report: 7\n", encoding="utf-8")
    out = tmp_path / "out"
    out.mkdir()
    arguments = ["--identity", "demo", "--processes", 2, "--at", "2026-06-09T18:00:00Z", "-o", out, "--json"]
    result = run("issue", DAYS[0], broken, DAYS[1], *arguments)
    assert result.returncode == 2, result.stderr
    answers = json.loads(result.stdout)["reports"]
    assert [one.get("number") for one in answers] == ["QW-14-IR-001", None, "QW-14-IR-002"], "in the order given"
    assert "error" in answers[1]
    assert sorted(path.name for path in out.iterdir()) == [
        "quarrowmere-2026-06-08-demonstration.pdf",
        "quarrowmere-2026-06-09-demonstration.pdf",
    ]


def test_registered_reports_of_two_contracts_go_beside_each_other(contract, tmp_path):
    from reportgen.pipeline import check_register_of
    from reportgen.seal import new_identity

    at = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    keys = tmp_path / "keys"
    keys.mkdir()
    made = new_identity(
        keys, name="D. Rusketh", organisation="Ostrel Surface Inspection", at=at, years=5, passphrase=PASSPHRASE
    )
    folders = [contract("one"), contract("two")]
    days = [folder / f"2026-06-{day}.yaml" for day in ("08", "09") for folder in folders]
    result = run("issue", *days, "--identity", made.signer_file, "--processes", 2)
    assert result.returncode == 0, result.stderr
    assert result.stdout.count("QW-14-IR-001 revision 0, conforms") == 2
    assert result.stdout.count("QW-14-IR-002 revision 0") == 2
    for folder in folders:
        assert len(list((folder / "reports").glob("*.pdf"))) == 2
        assert check_register_of(folder) == []
    again = run("issue", *days[:2], "--identity", made.signer_file)
    assert again.returncode == 2
    assert "QW-14-IR-001 revision 0 was already issued" in again.stderr


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["-o", "absent.pdf"], "for several day files -o names a folder that exists"),
        (["--timestamp", "http://127.0.0.1/"], "a demonstration takes no timestamp"),
    ],
)
def test_what_a_batch_cannot_do_is_said(arguments, sentence, tmp_path):
    result = run("issue", *DAYS, "--identity", "demo", *arguments, cwd=tmp_path)
    assert result.returncode == 2
    assert sentence in " ".join(result.stderr.split())
    assert list(tmp_path.iterdir()) == []


def test_a_day_named_twice_is_refused(tmp_path):
    with pytest.raises(UsageError, match="named twice"):
        issue_demonstrations([DAYS[0], DAYS[0]], Order(tmp_path), Spread(1))


def test_no_key_goes_to_a_cluster():
    with pytest.raises(UsageError, match="a signer's key is not sent to a cluster"):
        issue_registered(DAYS, None, Order(), Spread(scheduler="tcp://127.0.0.1:9"))
