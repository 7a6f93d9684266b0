"""What ``verify`` and ``audit query`` say to somebody who did nothing wrong and holds another file than was issued."""

import datetime as dt
import io
import json
from unittest import mock

import pikepdf
import pytest

from tests.unit.cli.conftest import NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")

REPORT = "reports/SL-1-001.pdf"
TRUST = ("--trust", "keys/i-tern-root.pem")


@pytest.fixture
def issued(run, contract):
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    return contract / REPORT


def said_of(run, data, contract):
    (contract / "other.pdf").write_bytes(data)
    return " ".join(run("verify", "other.pdf", *TRUST).out.split())


def saved(report, **options):
    kept = io.BytesIO()
    with pikepdf.open(report) as pdf:
        pdf.save(kept, **options)
    return kept.getvalue()


@pytest.mark.parametrize("strength", [4, 6])
def test_a_file_that_opens_without_a_password_is_encrypted_all_the_same(run, issued, contract, strength):
    lock = pikepdf.Encryption(owner="owner", user="", R=strength)
    said = said_of(run, saved(issued, encryption=lock), contract)
    assert "other.pdf: indeterminate because the file is encrypted [ENCRYPTED] standing" in said


@pytest.mark.parametrize(
    "options", [{}, {"linearize": True}, {"object_stream_mode": pikepdf.ObjectStreamMode.generate}]
)
def test_a_file_that_another_program_wrote_anew_is_said_to_be_that(run, issued, contract, options):
    said = said_of(run, saved(issued, **options), contract)
    told = "the file was written anew by another program, cut off or altered; ask for the file as it was issued"
    assert f"other.pdf: failed because a signature does not lie where it says it does: {told}" in said
    assert "do NOT follow" not in said


@pytest.mark.filterwarnings("ignore:Copying pages")
def test_pages_printed_again_hold_nothing_that_could_follow(run, issued, contract):
    with pikepdf.open(issued) as pdf, pikepdf.new() as printed:
        printed.pages.extend(pdf.pages)
        for page in printed.pages:
            if "/Annots" in page:
                del page["/Annots"]
        kept = io.BytesIO()
        printed.save(kept)
    said = said_of(run, kept.getvalue(), contract)
    assert "[NO_SIGNATURE]" in said
    assert "results follow from the readings cannot be told: nothing is embedded in the file." in said
    assert "do NOT follow" not in said


def test_a_question_takes_the_folder_or_the_index_that_its_audit_names(run, issued, contract):
    shown = run("audit", "reports", *TRUST, "--processes", "1")
    index = shown.out.split("index: ", 1)[1].splitlines()[0]
    by_folder = run("audit", "query", "areas", "reports")
    assert (by_folder.code, "A-1" in by_folder.out) == (0, True)
    assert run("audit", "query", "areas", index) == by_folder == run("audit", "query", "areas", "--index", index)


def test_what_had_not_happened_when_it_was_issued_contradicts_it(run, issued, contract, monkeypatch):
    issued.unlink()
    (contract / "register.jsonl").unlink()
    early = NOW.replace(minute=6)
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace('"14:30"', '"15:07"'), "utf-8")
    for place in ("issuing", "verifying"):
        monkeypatch.setattr(f"reportgen.pipeline.{place}.now", lambda: early, raising=False)
    with mock.patch("reportgen.loader.assembly.check_not_ahead"):
        assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    (answer,) = json.loads(run("verify", REPORT, *TRUST, "--json").out)
    (reason,) = answer["reasons"]
    assert (answer["overall"], reason["name"]) == ("failed", "TIMES_DISAGREE")
    assert reason["sentence"] == (
        "the day holds what had not happened when it was issued: 15:07 on 2026-05-04 lies after the moment of issue, "
        "15:06 on 2026-05-04"
    )
    assert dt.datetime.fromisoformat(answer["signers"][0]["claimed_time"]) == early
