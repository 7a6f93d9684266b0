"""A report in a language whose catalogue is a draft, from the command line: made by a template, and verified."""

import pytest

pytestmark = pytest.mark.usefixtures("stopped_clock")


def test_it_is_issued_and_verified_as_any_other(run, contract):
    (contract / "ours.yaml").write_text("language: es\n", "utf-8")
    assert run("issue", "day.yaml", "--identity", "demo", "--template", "./ours.yaml", "-o", "demo.pdf").code == 0
    out = run("verify", "demo.pdf").out
    assert out.startswith("demo.pdf: indeterminate")
    assert "DIFFERS" not in out
    assert run("check", "day.yaml", "--json", "--language", "fr").out.count("`es`") == 1
