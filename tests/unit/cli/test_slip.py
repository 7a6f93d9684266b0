"""``slip``: one area that may be primed, signed before the report; and what becomes of it when the report is issued."""

import datetime as dt
import io
import json
import re
import shutil
import sys
from dataclasses import replace

import pikepdf
import pytest
from pypdf import PdfReader, PdfWriter

from reportgen.issued import Recomputation
from reportgen.verification.embedded_files import check_evaluation, check_files
from reportgen.verification.forbidden_content import Opened
from tests.unit.cli.conftest import _CLOCKS

pytestmark = pytest.mark.usefixtures("stopped_clock")

NOON = dt.datetime(2026, 5, 4, 11, 40, tzinfo=dt.UTC)
SLIP = "reports/slips/SL-1-001-A-1-0504114000.pdf"
LATE_CHECK = '  - {time: "14:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}\n'


EARLY_CHECK = LATE_CHECK.replace("14:30", "11:30")


@pytest.fixture
def signer(run, contract):
    """An identity of the inspector, in a policy that knows its root."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    return "keys/i-tern.p12"


@pytest.fixture
def at(monkeypatch):
    """Set the present moment."""

    def become(moment):
        for place in _CLOCKS:
            monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: moment, raising=False)

    return become


@pytest.fixture
def noon(contract, at):
    """The day as it is at noon: what comes later is not entered yet."""
    day = contract / "day.yaml"
    noon = LATE_CHECK.replace("14:30", "11:30")  # nothing is released on a gauge that was not checked after its use
    text = day.read_text("utf-8").replace(LATE_CHECK, noon + LATE_CHECK)
    assert noon in text
    day.write_text(text.replace(LATE_CHECK, ""), "utf-8")
    at(NOON)
    return day, text


def verified(run, name, *more):
    code, out, _ = run("verify", name, "--trust", "keys/i-tern-root.pem", "--json", *more)
    told = json.loads(out)
    return code, told[0] if isinstance(told, list) else told


def said(answer, step=8):
    return " ".join(next(one for one in answer["steps"] if one["number"] == step)["details"])


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


READ = '  - {time: "%s", air: 18 degC, humidity: %s %%, steel: 18 degC}\n'


@pytest.mark.parametrize(
    ("rows", "refused"),
    [
        ([("07:50", 40), ("11:20", 40)], None),
        ([("07:50", 40), ("11:20", 95)], "do not allow priming, as last read at 11:20 on 2026-05-04"),
        ([("07:50", 40), ("11:00", 95), ("11:20", 40)], None),
        ([("07:30", 40)], "were last read at 07:30 on 2026-05-04, and are to be read every 4 h"),
        ([("07:50", 40), ("11:20", 40), ("11:20", 95)], "do not allow priming, as last read at 11:20"),
        ([("07:50", 40), ("11:20", 95), ("11:20", 40)], "do not allow priming, as last read at 11:20"),
    ],
)
def test_no_slip_is_signed_on_conditions_that_fail_or_were_read_long_ago(run, contract, noon, signer, rows, refused):
    project = (contract / "project.yaml").read_text("utf-8")
    limits = "  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %, interval: 4 h}\n  sampling:"
    (contract / "project.yaml").write_text(project.replace("  sampling:", limits), "utf-8")
    log = "conditions:\n" + "".join(READ % each for each in rows)
    (contract / "day.yaml").write_text(noon[0].read_text("utf-8").replace("surfaces:", f"{log}surfaces:"), "utf-8")
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert (code, (contract / SLIP).exists()) == ((0, True) if refused is None else (2, False))
    assert (refused or "") in " ".join(err.split())


def test_a_slip_says_of_one_area_that_it_may_be_primed(run, contract, noon, signer):
    code, out, _ = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert code == 0
    assert "release slip of A-1 for SL-1-001 revision 0, registered" in " ".join(out.split())
    page = PdfReader(contract / SLIP).pages[0]
    assert float(page.mediabox.height) < float(page.mediabox.width)
    text = text_of(contract / SLIP)
    for part in (
        "Release slip", "for the report SL-1-001", "A-1: recommended for release, to be primed.", "Sluice, gate",
        "Prime by 2026-05-04 18:30 UTC; after that this slip is void.",
        "slip of A-1, 2026-05-04 11:40 UTC", "No. SL-1-001-A-1-0504114000", "Steel; times of 2026-05-04, UTC",
        "This slip supports a decision",
        "1 of 1", "1: 2.90 conforms", "I. Tern",
        "No acceptance of any other area", "Measure the conditions again before priming",
    ):  # fmt: skip
        assert part in text, part
    code, answer = verified(run, SLIP, "--register", ".")
    assert (answer["overall"], answer["reasons"]) == ("passed", [])
    assert said(answer, 9) == "area A-1 agrees"
    assert json.loads((contract / "register.jsonl").read_text("utf-8"))["event"] == "slip"


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        ("x1: 2.9", "x1: 1.2", "A-1 is not released"),
        ("observed: SSPC-SP 10", "observed: SSPC-SP 6", "A-1 is not released"),
        ("blasted: {", 'coated: "11:35"\n    blasted: {', "A-1 is primed already"),
    ],
    ids=["low", "grade", "primed"],
)
def test_no_slip_for_an_area_that_is_not_to_be_primed_on_it(run, contract, noon, signer, before, after, why):
    day, _ = noon
    day.write_text(day.read_text("utf-8").replace(before, after), "utf-8")
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert (code, why in err) == (2, True)
    assert not (contract / SLIP).exists()
    assert not (contract / "register.jsonl").exists()


def test_no_slip_of_what_is_not_inspected_or_unknown_nor_by_a_demonstration(run, noon, signer):
    assert "A-2 is not released" in run("slip", "day.yaml", "A-2", "--identity", signer).err
    assert (
        "`Z-9` is no area of this day; released are `A-1`" in run("slip", "day.yaml", "Z-9", "--identity", signer).err
    )
    assert "takes an identity of the inspector" in run("slip", "day.yaml", "A-1", "--identity", "demo").err


def test_no_slip_after_the_time_to_coat(run, noon, signer, at):
    at(dt.datetime(2026, 5, 4, 18, 45, tzinfo=dt.UTC))
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert (code, "A-1 was to be primed by 18:30, which is past" in err) == (2, True)


def test_no_slip_after_the_time_of_the_part_that_was_blasted_first(run, noon, signer, at):
    day, _ = noon
    text = day.read_text("utf-8")
    entry = text[text.index("  - area: A-1") : text.index("not_inspected")]
    first = entry.replace("apparatus:", "cleaned: 6 m2\n    apparatus:", 1)
    second = first.replace("location: 1,", "location: 2,").replace(
        'start: "08:00", end: "10:30"', 'start: "10:35", end: "11:00"'
    )
    day.write_text(text.replace(entry, first + second), "utf-8")
    at(dt.datetime(2026, 5, 4, 18, 45, tzinfo=dt.UTC))
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert (code, "A-1 was to be primed by 18:30, which is past" in err) == (2, True), err


def test_the_report_holds_the_slip_and_they_agree(run, contract, noon, signer, at):
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    report = contract / "reports" / "SL-1-001.pdf"
    issued = report.read_bytes()
    held = {name: data[0] for name, data in PdfReader(report).attachments.items()}
    assert "signed 11:40, upheld by this report (SL-1-001-A-1-0504114000)" in text_of(report)
    assert held["SL-1-001-A-1-0504114000.pdf"] == (contract / SLIP).read_bytes()
    assert "reports/slips/SL-1-001-A-1-0504114000.pdf" in text_of(report).replace(" ", "")
    _, answer = verified(run, "reports/SL-1-001.pdf", "--register", ".")
    assert (answer["overall"], answer["reasons"]) == ("passed", [])
    told = "of A-1, signed 2026-05-04 11:40+00:00, passed, agrees: steel, limits, readings, conditions, tests,"
    told = f"elease slip SL-1-001-A-1-0504114000 {told}"
    assert told in said(answer)
    assert answer["notices"] == []
    trust = ("--trust", "keys/i-tern-root.pem", "--register", ".")
    assert told in " ".join(run("verify", "reports/SL-1-001.pdf", *trust).out.split())
    slip = verified(run, SLIP, "--register", ".")[1]
    assert slip["standing"].startswith("superseded by the report SL-1-001")
    assert slip["notices"] == []
    told = " ".join(run("verify", SLIP, *trust).out.split())
    assert "release slip SL-1-001-A-1-0504114000 of A-1: the report SL-1-001 revision 0 agrees" in told
    report.unlink()
    told = " ".join(run("verify", SLIP, *trust).out.split())
    assert "the report SL-1-001 revision 0 is not in the folder as it was issued; ask what it says" in told
    report.write_bytes(issued)
    assert run("register", "check", ".").code == 0


@pytest.mark.parametrize(
    ("before", "after", "what", "decides"),
    [
        ("x1: 2.9", "x1: 1.2", "the area is not released, the readings", "`hold`, on other readings"),
        ("x1: 2.9", "x1: 2.8", "the readings", "`release`, on other readings"),
        ('start: "08:00", end: "10:30"', 'start: "08:00", end: "11:00"', "what was blasted, in which condition",
         "`release`, on other steel"),
        ("initial_condition: B", "initial_condition: C", "what was blasted, in which condition",
         "`release`, on other steel"),
        ("observed: SSPC-SP 10", "observed: SSPC-SP 5", "the cleanliness", "`release`, on other cleanliness"),
        (EARLY_CHECK, EARLY_CHECK.replace("reading: 3.0", "reading: 3.9"),
         "the area is not released, the checks of the gauge or the tape",
         "`hold`, on other checks of the gauge or the tape"),
        (LATE_CHECK, LATE_CHECK.replace("reading: 3.0", "reading: 3.9"),
         "the area is not released, the checks of the gauge or the tape",
         "`hold`, on other checks of the gauge or the tape"),
    ],
    ids=["held", "reading", "steel", "received", "grade", "check", "later check"],
)  # fmt: skip
def test_a_slip_that_the_report_does_not_uphold_is_told(run, contract, noon, signer, at, before, after, what, decides):
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole.replace(before, after), "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    assert "slip-not-upheld" in run("check", "day.yaml", "--json").out
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    report = text_of(contract / "reports" / "SL-1-001.pdf")
    assert "Release slip not upheld" in report
    assert what in report
    _, answer = verified(run, "reports/SL-1-001.pdf", "--register", ".")
    assert answer["overall"] == "passed"
    assert "is not upheld, as found" in said(answer)
    page = " ".join(PdfReader(contract / "reports" / "SL-1-001.pdf").pages[0].extract_text().split())
    held = "Tell whoever holds the slip for A-1, signed 11:40, that it is void: do not prime, or stop"
    assert (held if "release" not in decides else "Tell whoever holds the slip for A-1 that it is void") in page
    assert "at once" in page
    (notice,) = answer["notices"]
    assert notice["name"] == "SLIP_NOT_UPHELD"
    assert f"this report decides {decides}; tell whoever holds the slip not to prime" in notice["sentence"]
    slip = verified(run, SLIP, "--register", ".")[1]
    (notice,) = slip["notices"]
    assert slip["overall"] == "passed"
    assert f"does not uphold this slip: it decides {decides}; tell" in notice["sentence"]
    for file in (SLIP, "reports/SL-1-001.pdf"):
        told = " ".join(run("verify", file, "--trust", "keys/i-tern-root.pem", "--register", ".").out.split())
        assert "to prime, or to stop [SLIP_NOT_UPHELD]" in told
    audited = json.loads(run("audit", "reports", "--trust", "keys/i-tern-root.pem", "--json").out)
    assert "slip-contradicted" in {one["code"] for one in audited["problems"]}


def test_a_slip_cannot_be_hidden(run, contract, noon, signer, at):
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    (contract / SLIP).rename(contract / "away.pdf")
    code, _, err = run("issue", "day.yaml", "--identity", signer)
    assert code == 2
    assert "a release slip of A-1 was signed for this report" in " ".join(err.split())
    assert run("register", "check", ".").code != 0
    (contract / "away.pdf").rename(contract / SLIP)
    assert run("issue", "day.yaml", "--identity", signer).code == 0


@pytest.fixture
def beside(contract):
    """A folder beside the contract's, with one in it."""
    (found := contract.parent / f"{contract.name}-out").mkdir()
    (found / "deeper" / "still").mkdir(parents=True)
    return found


def elsewhere(contract, beside, how):
    """Return where a slip is asked for outside its folder, as it is written on the command line."""
    (contract / "link").symlink_to(beside / "deeper", target_is_directory=True)
    return {
        "outside": f"../{beside.name}/a.pdf", "absolute": str(beside / "a.pdf"), "by a link": "link/a.pdf",
        "above a link": "link/../a.pdf", "a roundabout way": f"../{beside.name}/../{beside.name}/a.pdf",
        "backslash": "a\\b.pdf", "as the first outside": "reports/slips/SL-1-001-slip-outside-1.pdf",
    }[how]  # fmt: skip


@pytest.mark.skipif(sys.platform == "win32", reason="links, and a backslash in a name")
@pytest.mark.parametrize(
    "how", ["outside", "absolute", "by a link", "above a link", "a roundabout way", "backslash", "as the first outside"]
)
@pytest.mark.parametrize("linked", [False, True], ids=["", "contract by a link"])
def test_a_slip_that_lies_elsewhere_is_held_under_a_plain_name(run, contract, beside, noon, signer, at, how, linked):
    day, whole = noon
    if linked:
        (beside / "deeper" / "still" / "contract").symlink_to(contract, target_is_directory=True)
    days = str(beside / "deeper" / "still" / "contract" / "day.yaml") if linked else "day.yaml"
    where = elsewhere(contract, beside, how)
    if how == "as the first outside":
        (contract / "reports" / "slips").mkdir(parents=True)
        assert run("slip", days, "A-1", "--identity", signer, "-o", str(beside / "z.pdf")).code == 0
    assert run("slip", days, "A-1", "--identity", signer, "-o", where).code == 0
    slip = (contract / where).read_bytes()
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    code, _, err = run("issue", days, "--identity", signer)
    assert (code, "Traceback" in err) == (0, False), err
    held = PdfReader(contract / "reports" / "SL-1-001.pdf").attachments
    assert [data[0] for name, data in held.items() if data[0] == slip], sorted(held)
    _, answer = verified(run, "reports/SL-1-001.pdf", "--register", ".")
    assert (answer["overall"], answer["reasons"]) == ("passed", [])
    assert len(re.findall(r"release slip \S+ of A-1", said(answer))) == (2 if how == "as the first outside" else 1)
    assert run("register", "check", ".").code == 0


def test_a_slip_that_was_moved_or_changed_is_told_and_may_be_put_among_the_slips(
    run, contract, beside, noon, signer, at
):
    day, whole = noon
    out = f"../{beside.name}/a.pdf"
    assert run("slip", "day.yaml", "A-1", "--identity", signer, "-o", out).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    slip = (contract / out).read_bytes()
    for change in (
        lambda: (contract / out).write_bytes(slip[:-300]),
        (contract / out).unlink,
        lambda: shutil.rmtree(beside),
    ):
        change()
        code, _, err = run("issue", "day.yaml", "--identity", signer)
        told = " ".join(err.split())
        assert (code, "Traceback" in told) == (2, False)
        assert f"a release slip of A-1 was signed for this report, and `{out}` is not" in told
        assert "there or into the folder `reports/slips`" in told
    put = contract / "reports" / "slips" / "by another name.pdf"
    put.parent.mkdir(parents=True)
    put.write_bytes(slip)
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    assert verified(run, "reports/SL-1-001.pdf", "--register", ".")[1]["overall"] == "passed"


def test_a_report_that_does_not_own_up_to_its_slip_fails(run, contract, noon, signer, at, monkeypatch):
    """Made by another program: the slip in its evidence disagrees, and no finding says so."""
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole.replace("x1: 2.9", "x1: 2.8"), "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    with monkeypatch.context() as other:
        other.setattr(sys.modules["reportgen.rules.evaluate"], "told_released", lambda *_: iter(()))
        assert run("issue", "day.yaml", "--identity", signer).code == 0
    code, answer = verified(run, "reports/SL-1-001.pdf")
    assert (code, answer["overall"]) == (1, "failed")
    assert "EVALUATION_DIFFERS" in {one["name"] for one in answer["reasons"]}


def test_a_slip_that_was_changed_fails_in_the_evidence_too(run, contract, noon, signer, at, monkeypatch):
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    signed = (contract / SLIP).read_bytes()
    forged = signed[:12] + bytes([signed[12] ^ 1]) + signed[13:]  # in the comment behind the first line
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    with monkeypatch.context() as other:
        other.setattr("reportgen.pipeline.as_issued.Folder.signed", lambda *_: forged)
        assert run("issue", "day.yaml", "--identity", signer).code == 0
    code, answer = verified(run, "reports/SL-1-001.pdf")
    assert (code, answer["overall"]) == (1, "failed")
    assert any(one["sentence"].startswith(f"{SLIP}: ") for one in answer["reasons"])


def test_a_slip_that_holds_nothing_is_told_by_what_it_lacks(run, contract, noon, signer, at, monkeypatch):
    """A page of paper, scanned, where the slip was: what is missing has its name, in the folder and inside a report."""
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    blank, scan = PdfWriter(), io.BytesIO()
    blank.add_blank_page(width=595, height=842)
    blank.write(scan)
    told = f"{SLIP} cannot be read as a release slip: it holds no manifest.json"
    with monkeypatch.context() as other:
        other.setattr("reportgen.pipeline.as_issued.Folder.signed", lambda *_: scan.getvalue())
        code, _, err = run("issue", "day.yaml", "--identity", signer)
    assert (code, told in " ".join(err.split())) == (2, True)
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    report = (contract / "reports/SL-1-001.pdf").read_bytes()
    with pikepdf.open(io.BytesIO(report)) as opened:
        evidence, _ = check_files(report, Opened(opened), None)
    for lacking, why in ((SLIP, told), ("manifest.json", "it holds no manifest.json")):
        files = {**evidence.files, SLIP: scan.getvalue()} if lacking == SLIP else dict(evidence.files)
        if lacking != SLIP:
            del files[lacking]
        step, _ = check_evaluation(replace(evidence, files=files), Recomputation())
        assert [one.sentence for one in step.reasons] == [f"the embedded input cannot be evaluated: {why}"]


def test_an_audit_takes_a_slip_for_no_report(run, contract, noon, signer, at):
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    found = json.loads(run("audit", "reports", "--trust", "keys/i-tern-root.pem", "--json").out)
    assert found["reports"] == 1
    assert [one for one in found["problems"] if "slip" in str(one)] == []


def issued_with_its_slip(run, noon, signer, at):
    """A slip at noon and its report in the afternoon."""
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    assert run("issue", "day.yaml", "--identity", signer).code == 0


def test_a_lost_register_is_rebuilt_with_its_slips_to_the_byte(run, contract, noon, signer, at):
    issued_with_its_slip(run, noon, signer, at)
    register = contract / "register.jsonl"
    before = register.read_bytes()
    register.unlink()
    said = run("register", "rebuild", ".", "--trust", "keys/i-tern-root.pem")
    assert (said.code, said.out) == (0, "register of . rebuilt: 1 report, 1 release slip, 0 rows kept\n")
    assert register.read_bytes() == before
    code, out, _ = run("register", "check", ".", "--report", SLIP)
    assert (code, "no problems" in out) == (0, True), out


def test_without_the_slip_its_row_is_lost_and_said_to_be(run, contract, noon, signer, at):
    issued_with_its_slip(run, noon, signer, at)
    (contract / "register.jsonl").unlink()
    (contract / SLIP).unlink()
    code, out, _ = run("register", "rebuild", ".", "--trust", "keys/i-tern-root.pem")
    assert code == 0
    assert "the rows before SL-1-001 revision 0, up to row 1, are not as they were" in " ".join(out.split())


def test_a_register_of_slips_alone_is_said_to_be_one(run, contract, noon, signer, at):
    """In the middle of a shift; and a slip that stands upon a row which nobody has any more."""
    for minutes in (0, 10):
        at(NOON + dt.timedelta(minutes=minutes))
        said = run("slip", "day.yaml", "A-1", "--identity", signer)
        assert said.code == 0, said.err
    (contract / "register.jsonl").unlink()
    (contract / SLIP).unlink()
    code, out, _ = run("register", "rebuild", ".", "--trust", "keys/i-tern-root.pem", "--language", "de")
    assert code == 0
    assert " ".join(out.split()) == (
        "Register von . wiederhergestellt: 0 Berichte, 1 Freigabeschein, 0 Zeilen behalten"
        " der Freigabeschein von A-1 für SL-1-001: Die Zeilen davor, bis Zeile 1, sind nicht wie zuvor"
    )


def test_a_slip_that_the_register_never_had_is_named(run, contract, noon, signer, at):
    issued_with_its_slip(run, noon, signer, at)
    register = contract / "register.jsonl"
    register.write_bytes(b"")
    code, out, _ = run("register", "check", ".")
    told = " ".join(out.split())
    assert code == 1
    assert "was issued when the register had 1 row, now it has 0: its end was cut off" in told
    assert (
        "the release slip of A-1 for SL-1-001 (`reports/slips/SL-1-001-A-1-0504114000.pdf`) is signed but not in the"
        in told
    )


@pytest.mark.parametrize(("hours", "named"), [(23, False), (25, True)])
def test_a_slip_whose_report_is_never_issued_is_named_after_a_day(run, noon, signer, at, hours, named):
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    at(NOON + dt.timedelta(hours=hours))
    code, out, _ = run("register", "check", ".")
    told = " ".join(out.split())
    assert (code, "and its report SL-1-001 was never issued [slip-unreported]" in told) == (int(named), named), told


@pytest.mark.parametrize(("profile", "upheld"), [("x1: 1.2", False), ("x1: 2.9", True)], ids=["held", "released"])
def test_a_slip_is_held_against_the_report_beside_it_that_does_not_list_it(
    run, contract, noon, signer, at, tmp_path, profile, upheld
):
    """The folder was copied before the slip; the report of the copy knows of none. No register is given."""
    _, whole = noon
    copy = shutil.copytree(contract, tmp_path / "copy")
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    (copy / "day.yaml").write_text(whole.replace("x1: 2.9", profile), "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    assert run("issue", copy / "day.yaml", "--identity", signer).code == 0
    given = tmp_path / "given"
    given.mkdir()
    slip, report = (shutil.copy(file, given) for file in (contract / SLIP, copy / "reports" / "SL-1-001.pdf"))
    answers = json.loads(run("verify", slip, report, "--trust", "keys/i-tern-root.pem", "--json").out)
    assert [one["overall"] for one in answers] == ["passed", "passed"]
    assert said(answers[0], 12).startswith("no register was given, but the report of its shift was")
    assert ("revision 0 agrees" if upheld else "revision 0 does not uphold it") in said(answers[0], 12)
    told = [[one["sentence"] for one in answer["notices"] if one["name"] == "SLIP_NOT_UPHELD"] for answer in answers]
    if upheld:
        assert told == [[], []]
    else:
        assert "SL-1-001 revision 0 does not uphold this slip: it decides `hold`, on other readings; tell" in told[0][0]
        assert "which this report does not list, is not upheld: the report decides `hold`" in told[1][0]
    audited = json.loads(run("audit", given, "--trust", "keys/i-tern-root.pem", "--json").out)
    codes = {one["code"]: one["sentence"] for one in audited["problems"]}
    assert ("slip-contradicted" in codes) is not upheld
    assert "were each issued first, upon an empty register" in codes["register-forked"]
    forked = [[one["sentence"] for one in answer["notices"] if one["name"] == "REGISTER_FORKED"] for answer in answers]
    assert all("were each issued first, upon an empty register" in one[0] for one in forked)


def test_a_slip_alone_among_other_files_says_so(run, contract, noon, signer, at):
    issued_with_its_slip(run, noon, signer, at)
    slip, report = json.loads(
        run("verify", SLIP, "reports/SL-1-001.pdf", "--trust", "keys/i-tern-root.pem", "--json").out
    )
    assert "SL-1-001 revision 0 agrees" in said(slip, 12)
    assert (slip["notices"], report["notices"]) == ([], [])


def test_a_submittal_passes_over_slips_that_lie_beside_the_reports(run, contract, noon, signer, at):
    """By the documented example on `reports`: each report encloses its slips already; an altered one ends it."""
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    day.write_text(whole, "utf-8")
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    trust = ("--identity", signer, "--trust", "keys/i-tern-root.pem")

    def submitted(out):
        code, _, said = run("submittal", "reports", *trust, "-o", out)
        return code, " ".join(said.split())

    slip = contract / SLIP
    code, said = submitted("none.pdf")
    assert (code, "there is no report to submit" in said) == (2, True)
    assert run("issue", "day.yaml", "--identity", signer).code == 0
    code, said = submitted("all.pdf")
    assert (code, len(PdfReader(contract / "all.pdf").attachments)) == (0, 2)
    assert f"{SLIP} is a release slip of area A-1 for SL-1-001: it is not enclosed; SL-1-001 r0 encloses it" in said
    (contract / "reports" / "SL-1-001.pdf").rename(contract / "kept.pdf")
    slip.rename(contract / "slip.pdf")
    code, said = run("submittal", "kept.pdf", "slip.pdf", *trust, "-o", "loose.pdf")[::2]
    assert (code, "SL-1-001 r0 encloses it" in " ".join(said.split())) == (0, True)
    data = bytearray((contract / "slip.pdf").read_bytes())
    data[data.index(b"stream\n") + 40] ^= 1
    (contract / "slip.pdf").write_bytes(data)
    code, said = run("submittal", "kept.pdf", "slip.pdf", *trust, "-o", "altered.pdf")[::2]
    assert (code, "slip.pdf does not verify" in said) == (2, True)


def test_steel_primed_on_a_slip_is_not_said_to_be_coated_without_release(run, contract, noon, signer, at):
    """The last check of the gauge fails: the area is held; whoever primed did so on the inspector's word."""
    day, whole = noon
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    failed = whole.replace(LATE_CHECK, LATE_CHECK.replace("shim_reading: 3.0", "shim_reading: 3.9"))
    assert failed != whole
    at(dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC))
    for coated, noted in (("11:41", False), ("11:39", True)):
        day.write_text(failed.replace("blasted: {", f'coated: "{coated}"\n    blasted: {{'), "utf-8")
        answer = json.loads(run("check", "day.yaml", "--json").out)
        assert answer["areas"][0]["decision"] != "release"
        codes = {one["code"] for one in answer["findings"]}
        assert "slip-not-upheld" in codes
        assert ("coated-without-release" in codes) is noted


def test_a_slip_is_of_its_shift(run, contract, noon, signer, at):
    """Of a contract without a time to prime: not signed days later, and void in large type when the shift ends."""
    project = contract / "project.yaml"
    project.write_text(re.sub(r"  time_to_coat.*\n", "", project.read_text("utf-8")), "utf-8")
    at(dt.datetime(2026, 5, 7, 9, 0, tzinfo=dt.UTC))
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", signer)
    assert code == 2
    assert "the shift ended at 15:00 on 2026-05-04: a slip is signed while it lasts" in err
    at(NOON)
    assert run("slip", "day.yaml", "A-1", "--identity", signer).code == 0
    void = "The contract states no time to prime by; this slip is void when the shift ends, 2026-05-04 15:00 UTC."
    assert void in text_of(contract / SLIP)
