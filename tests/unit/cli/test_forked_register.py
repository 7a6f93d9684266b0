"""A contract folder that was copied, in which both copies went on: seen from the reports alone."""

import json
import shutil

import pytest

pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.mark.parametrize("again", [True, False])
def test_two_copies_of_a_folder_that_went_on(run, contract, monkeypatch, again):
    """Each report follows the first; or, where one folder held all, the one before."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", *key).code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    copy = shutil.copytree(contract, contract.parent / "copy") if again else contract
    for number, folder in ((2, contract), (3, copy)):
        monkeypatch.chdir(folder)
        (folder / f"next-{number}.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{number}"), "utf-8")
        said = run("issue", f"next-{number}.yaml", *key)
        assert said.code == 0, said.err
        if folder != contract:
            shutil.copy(folder / "reports" / f"SL-1-00{number}.pdf", contract / "reports")
    trust = ("--trust", contract / "keys" / "i-tern-root.pem")
    told = json.loads(run("audit", contract / "reports", *trust, "--index", contract / "a.sqlite", "--json").out)
    forked = [one["sentence"] for one in told["problems"] if one["code"] == "register-forked"]
    sentence = (
        "SL-1-002 revision 0 and SL-1-003 revision 0 were each issued as the next after row 2 of the same register"
    )
    assert forked == ([sentence] if again else [])
