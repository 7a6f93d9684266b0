"""What several files of one report say alike an audit tells once, naming them all."""

import json

import pytest

from tests.unit.cli.test_reinspection import CLEAN, contract, report

__all__ = ["contract"]


@pytest.mark.parametrize("copies", [1, 2])
def test_steel_coated_without_release_is_told_once_of_two_files_of_its_report(run, contract, copies):
    (contract / "reports").mkdir()
    (contract / "day1.yaml").write_text(report(1, reading="4.2", tests=f'{CLEAN}    coated: "13:00"\n'), "utf-8")
    for number in range(copies):
        (contract / f"out{number}").mkdir()
        assert run("issue", "day1.yaml", "--identity", "demo", "-o", f"out{number}/one.pdf").code == 0
        (contract / f"out{number}" / "one.pdf").rename(contract / "reports" / f"{number}.pdf")
        for left in contract.glob("**/register*"):
            left.unlink()
    said = run("audit", "reports", "--processes", "1", "--index", "i.sqlite", "--json")
    told = [one for one in json.loads(said.out)["problems"] if one["code"] == "coated-while-not-released"]
    assert [(one["sentence"], len(one["files"])) for one in told] == [("SL-1-001, area A-1: coated 13:00", copies)]
