"""A verification in sentences: who signed and when, was it changed, do the numbers follow; then the steps."""

import json
from dataclasses import replace

import pytest

from reportgen.cli.verification_text import render_proof
from reportgen.issued import Examined
from reportgen.verification import Changed, Notice, Reason, Signer, Step, Verification, from_plain, render_verification
from reportgen.verification.verdict import broken_off

SIGNER = Signer(
    field="Inspector", kind="inspector", subject="I. Tern, Body", issuer="Root", fingerprint="AA", anchor="BB",
    claimed_time="2026-05-04T15:10:00+00:00", proven_time=None, timestamp_authority=None, revocation="not checked",
    algorithm="sha256", demonstration=False, chain="trusted",
)  # fmt: skip

FOLLOW = "The results follow from the readings that are embedded in it"
AGAIN = ", and the pages, made again from what is embedded, come out the same"


def answer(*, signers=(SIGNER,), unfilled=(), unproven=(), **given) -> Verification:
    """An answer whose steps passed, but for those given by their number as ``s8="failed"``."""
    names = {"failed": ("EVALUATION_DIFFERS",), "indeterminate": ("LAYERS",)}
    steps = []
    for number in range(1, 13):
        status = given.get(f"s{number}", "passed" if number < 11 else "not done")
        reasons = tuple(Reason(name, f"step {number} is in doubt") for name in names.get(status, ()))
        details = ("why not",) if status == "not done" else ("detail",)
        steps.append(Step(number, status, reasons, details, unproven if number == 10 else ()))
    return Verification(
        "ab", 1, "2026-06-01T00:00:00+00:00", tuple(steps), signers, unfilled, versions=(("reportgen", "1"),)
    )


def test_what_has_changed_since_is_told_once_and_the_verdict_stays():
    notice = Notice("OLD_RULES", "issued under rules long replaced", (Changed("verdict", "conforms", "inconclusive"),))
    whole = answer()
    noticed = whole.with_step(replace(whole.steps[7], notices=(notice,)))
    said = render_proof(noticed, "r.pdf")
    assert said.startswith("r.pdf: passed\n")
    assert said.count("  note: issued under rules long replaced [OLD_RULES]\n") == said.count("OLD_RULES") == 1
    assert "OLD_RULES: issued under rules long replaced" in render_verification(noticed, "r.pdf")
    assert noticed.overall == "passed"
    assert from_plain(json.loads(json.dumps(noticed.plain()))) == noticed
    assert noticed.plain()["notices"][0]["places"] == [{"place": "verdict", "then": "conforms", "now": "inconclusive"}]


def test_passed():
    assert (
        render_proof(answer(), "r.pdf")
        == """\
r.pdf: passed
  standing: unknown; time: claimed; revocation: not checked

  Signed by I. Tern, Body (inspector), with a certificate you trust, at
  2026-05-04T15:10:00+00:00, a time that is claimed, not proven.
  Unchanged since it was signed.
  The results follow from the readings that are embedded in it, and the pages,
  made again from what is embedded, come out the same.

 1  passed         readable PDF, bounded in time and memory, nothing in it that
                   changes its look
 2  passed         signatures present
 3  passed         each signature intact
 4  passed         the last signature covers the entire file; nothing but
                   signing was done to the pages
 5  passed         signers: named by the job; chain to a trusted root, validity,
                   key usage, revocation where known
 6  passed         issued, at a time on which report and signatures agree
 7  passed         embedded files complete, hashes as recorded; number, revision
                   and signers as in the job
 8  passed         embedded input re-evaluated gives the embedded evaluation
 9  passed         text on the pages agrees with the evaluation
10  passed         rebuilt pages are identical
11  not done       register agrees
                   why not
12  not done       whether a later revision stands in its place
                   why not"""
    )


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"s3": "failed"}, "Changed: it is not, byte for byte, what was signed."),
        ({"s4": "failed"}, "Changed: it is not, byte for byte, what was signed."),
        ({"s3": "not done"}, "Whether it was changed cannot be told."),
        ({"s7": "failed"}, "Whether the results follow from the readings cannot be told: step 7 is in doubt."),
        ({"s8": "failed"}, "The results do NOT follow from the readings that are embedded in it."),
        ({"s9": "failed"}, "The results follow from the readings, but the pages are not the ones that print them."),
        ({"s10": "failed"}, "The results follow from the readings, but the pages are not the ones that print them."),
        ({"s9": "not done", "s10": "not done"}, f"{FOLLOW}."),
        ({"s10": "not done"}, f"{FOLLOW}, and the text of the pages agrees with them."),
        (
            {"s10": "passed"},
            f"{FOLLOW}{AGAIN}.",
        ),
        (
            {"s10": "passed", "unproven": ("what the picture shows was not compared",)},
            f"{FOLLOW}{AGAIN}, but for what the pictures on them show.",
        ),
        ({"s8": "not done"}, "Whether the results follow from the readings cannot be told."),
    ],
)
def test_sentences(given, sentence):
    assert f" {sentence} " in " ".join(render_proof(answer(**given), "r.pdf").split())


def test_what_was_not_compared_stands_under_the_verdict():
    why = "what the picture shows was not compared"
    assert render_proof(answer(s10="passed", unproven=(why,)), "r.pdf").startswith(
        f"r.pdf: passed\n  but {why}\n  standing: "
    )
    assert render_proof(answer(), "r.pdf").startswith("r.pdf: passed\n  standing: ")
    left_out = render_proof(answer(s10="not done"), "r.pdf")
    assert left_out.startswith("r.pdf: indeterminate\n  because step 10 was not done: why not [NOT_REBUILT]\n")
    assert "but the pages" not in render_proof(answer(s3="failed"), "r.pdf").split("\n\n")[0]


def test_reasons_are_said_once_and_in_colour_where_wanted():
    text = render_proof(answer(s8="failed"), "r.pdf", colour=True)
    assert text.startswith("r.pdf: \x1b[31mfailed\x1b[0m\n  because step 8 is in doubt [EVALUATION_DIFFERS]\n  sta")
    assert text.count("EVALUATION_DIFFERS") == 1
    assert render_proof(answer(s5="indeterminate"), "a\x1b.pdf").startswith("a\\x1b.pdf: indeterminate\n")


def test_who_signed_and_who_has_not():
    from dataclasses import replace

    other = replace(
        SIGNER,
        anchor=None,
        chain="unknown",
        proven_time="2026-05-04T15:11:00+00:00",
        timestamp_authority="Harbour Time",
    )
    text = render_proof(answer(signers=(other,), unfilled=("Countersigner-1",)), "r.pdf")
    said = " ".join(text.split())
    assert (
        "Signed by I. Tern, Body (inspector), with a certificate that nobody you trust has issued, at "
        "2026-05-04T15:11:00+00:00, proven by Harbour Time."
    ) in said
    assert "\n  Not yet signed: Countersigner-1.\n" in text


def test_a_file_that_could_not_be_opened():
    bare = Verification("ab", 1, "now", (Step(1, "failed", (Reason("FORMAT_FAILURE", "it is no PDF"),)),))
    text = render_proof(bare, "r.pdf")
    assert "\n  Whether it was changed cannot be told.\n" in text


@pytest.fixture
def asked(monkeypatch):
    """Answers without opening a file."""
    monkeypatch.setattr(
        "reportgen.pipeline.verifying.examined_file",
        lambda path, _: Examined(answer(s8="failed" if "bad" in path.name else "passed")),
    )


@pytest.mark.parametrize(
    ("status", "told", "code"),
    [("passed", "current", 0), ("superseded", "superseded by revision 2", 1), ("not done", "no register", 0)],
)
def test_a_superseded_report_ends_the_command_with_findings(run, monkeypatch, status, told, code):
    said = answer().with_step(Step(12, status, (), (told,)))
    monkeypatch.setattr("reportgen.pipeline.verifying.examined_file", lambda *_: Examined(said))
    assert run("verify", "r.pdf")[0] == code


def test_a_fault_of_ours_ends_the_command_with_its_own_code(run, monkeypatch):
    whole = answer()
    broken = whole.with_step(broken_off(9, OSError("no such folder")))
    answers = {"good.pdf": whole, "broken.pdf": broken, "bad.pdf": answer(s8="failed")}
    monkeypatch.setattr("reportgen.pipeline.verifying.examined_file", lambda path, _: Examined(answers[path.name]))
    code, out, _ = run("verify", "broken.pdf")
    assert code == 4
    assert out.startswith("broken.pdf: indeterminate\n  because step 9 was not done: it broke off here")
    assert run("verify", "bad.pdf", "broken.pdf")[0] == 4
    assert run("verify", "good.pdf")[0] == 0


def test_the_command(run, asked):
    code, out, err = run("verify", "good.pdf", "bad.pdf")
    assert (code, err) == (1, "")
    assert out.startswith("good.pdf: passed\n")
    assert "\n\nbad.pdf: failed\n" in out
    code, out, _ = run("verify", "--details", "good.pdf")
    assert code == 0
    assert "detail" in out
    code, out, _ = run("verify", "--json", "good.pdf")
    assert json.loads(out)[0]["file"] == "good.pdf"
