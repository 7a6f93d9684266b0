"""What a contract may want in print: off unless the template asks for it; printed, it is verified as all else."""

import json

import pytest
from pypdf import PdfReader

from reportgen.job.template import Template

pytestmark = pytest.mark.usefixtures("stopped_clock")

ASKED = {
    "replicas": ("Replica record", r"location 1"), "readings": ("Readings as entered", "2.9"),
    "derivation": ("How each value came about", "Derivation, A-1"),
}  # fmt: skip


def issued(run, contract, sections):
    """Text of a report that was issued with these sections, and how its verification answers."""
    (contract / "own.yaml").write_text(f"sections: [{', '.join(sections)}]\n", "utf-8")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    answer = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--template", "own.yaml")
    assert answer.code == 0, answer.err
    text = " ".join(page.extract_text() for page in PdfReader(contract / "reports/SL-1-001.pdf").pages)
    told = json.loads(run("verify", "reports/SL-1-001.pdf", "--trust", "keys/i-tern-root.pem", "--json").out)
    return " ".join(text.split()), told[0] if isinstance(told, list) else told


def test_nothing_of_it_is_printed_unless_it_is_asked_for(run, contract):
    text, _ = issued(run, contract, Template().sections)
    assert not any(title in text for title, _ in ASKED.values())


@pytest.mark.parametrize("wanted", [*([one] for one in ASKED), list(ASKED)], ids=" ".join)
def test_it_is_printed_where_it_is_asked_for_and_verified(run, contract, wanted):
    standard = Template().sections
    text, answer = issued(run, contract, [*standard[:-1], *wanted, standard[-1]])
    for name, (title, content) in ASKED.items():
        assert (title in text) == (name in wanted)
        assert name not in wanted or content in text
    outcomes = {step["number"]: step["status"] for step in answer["steps"]}
    assert {outcomes[number] for number in (7, 8, 9, 10)} == {"passed"}
