import copy

import pytest

from reportgen.report.record import record_title, render_record
from reportgen.verification.verdict import Step
from reportgen.words.catalogue import catalogue
from reportgen.words.told import plain_told, told
from tests.golden.pages import texts_of

TITLES = {number: catalogue("en")(f"record.step.{number}") for number in range(1, 13)}
DETAILS = {
    1: (told("hash-of-file", sha256="d" * 64), told("size-of-file", size=4711)),
    7: tuple(
        told("file-hashed", file=name, role=role, sha256=digit * 64)
        for name, role, digit in (
            ("2026-06-09.yaml", "day", "a"),
            ("evaluation.json", "evaluation", "b"),
            ("photos/one.jpg", "photo-hash", "c"),
        )
    ),
    12: (told("superseded-by-revision", revision=2),),
}
STATUS = {10: "not done", 11: "not done", 12: "superseded"}
PASSED = {
    "format": 1, "overall": "passed", "reasons": [], "notices": [], "sha256": "d" * 64, "size": 4711,
    "verified_at": "2026-06-10T08:15:00+00:00",
    "standing": "superseded by revision 2", "time": "claimed", "revocation": "not checked",
    "holds_until": "2029-06-09T17:00:00+00:00",
    "steps": [
        {
            **plain_told(Step(number, STATUS.get(number, "passed"), (), DETAILS.get(number, ()))),
            "title": title,
        }
        for number, title in TITLES.items()
    ],
    "signers": [
        {
            "field": "Inspector", "kind": "inspector", "subject": "R. Hethe", "issuer": "Marrow Root",
            "fingerprint": "AA:BB", "anchor": "Marrow Root", "claimed_time": "2026-06-09T17:00:00Z",
            "proven_time": None, "timestamp_authority": None, "revocation": "good", "algorithm": "ecdsa",
            "demonstration": False, "chain": "trusted",
        }
    ],
    "unfilled_fields": [], "versions": {"reportgen": "0.1.0", "pikepdf": "10"},
}  # fmt: skip


def changed(**fields):
    return {**copy.deepcopy(PASSED), **fields}


def page(plain, name="report.pdf", **style):
    [text] = texts_of(render_record(plain, name, **style))
    return text


def test_answer_hash_time_signer_steps_and_files_stand_on_one_page():
    text = page(PASSED)
    for part in (
        "Verification record", "of the file report.pdf", "Passed: the file is as it was signed",
        "No step found anything wrong.", "d" * 64, "2026-06-10 08:15:00 UTC; 4711 bytes", "reportgen 0.1.0, pikepdf 10",
        "superseded by revision 2", "2029-06-09 17:00:00 UTC", "R. Hethe (inspector)",
        "trusted through Marrow Root", "not proven", "SHA-256 AABB", "revocation: good",
        "3 files, listed below", "2026-06-09.yaml day file " + "a" * 64, "evaluation.json evaluation " + "b" * 64,
        "and the hash of 1 photo kept outside", "It does not mean that the readings are true",
        "End of record, report.pdf",
    ):  # fmt: skip
        assert part in text, part
    assert [f"{number} {title} " in text for number, title in TITLES.items()] == [True] * 12
    assert text.count("d" * 64) == 1
    assert text.count("not done") == 2


def test_who_verified_is_the_program_where_nobody_is_named_and_what_it_trusted_stands_beside():
    fingerprint = ":".join(["AB"] * 32)
    signer = {**PASSED["signers"][0], "anchor": fingerprint, "fingerprint": fingerprint}
    text = page(changed(signers=[signer]))
    assert "Verified by" in text
    assert "the program beside; no person is named" in text
    assert f"certificate {' '.join(['ABABABAB'] * 8)}, named by whoever verified" in text
    stranger = {**PASSED["signers"][0], "chain": "unknown"}
    assert "no authority to which a signature leads" in page(changed(signers=[stranger]))
    assert "the policy whose SHA-256 stands above" in page(changed(policy_sha256="e" * 64))
    assert "keine Person ist genannt" in page(PASSED, language="de")


@pytest.mark.parametrize(
    ("overall", "headline"), [("failed", "Failed: this file does not prove"), ("indeterminate", "Indeterminate: ")]
)
def test_reasons_are_sentences_under_the_answer(overall, headline):
    text = page(changed(overall=overall, reasons=[{"name": "HASH_FAILURE", "sentence": "a byte was changed"}]))
    assert headline in text
    assert "A byte was changed." in text
    assert "HASH_FAILURE" not in text


def test_a_file_without_signatures_and_files_has_a_record_too():
    steps = [plain_told(Step(number, "passed")) for number in TITLES]
    text = page(changed(signers=[], steps=steps, versions={}, overall="failed", standing="unknown"))
    assert "The file holds no signature that could be read." in text
    assert "Files in it" not in text


def test_proven_missing_and_awaited_signatures():
    proven = {**PASSED["signers"][0], "proven_time": "2026-06-09T17:01:00+00:00", "timestamp_authority": "Tick"}
    untimed = {**PASSED["signers"][0], "claimed_time": None, "anchor": None, "chain": "unknown"}
    text = page(changed(signers=[proven, untimed], unfilled_fields=["Countersigner-1"]))
    for part in (
        "17:01:00 UTC, proven by Tick",
        "not stated",
        "issued by no authority that is trusted",
        "not yet signed Countersigner-1",
    ):
        assert part in text, part


def test_names_of_strangers_are_printed_whatever_they_hold():
    stranger = {**PASSED["signers"][0], "subject": "李\n<b>\u202e\U0001f600"}
    text = page(changed(signers=[stranger]), name="報.pdf")
    assert "[U+674E]" in text
    assert "<b>[U+202E U+1F600] (inspector)" in " ".join(text.split())
    assert record_title("報.pdf") == "Verification record, [U+5831].pdf"


def test_a_record_in_german_has_german_steps_and_states():
    text = page(changed(revocation_until="2026-06-09T08:00:00+00:00"), language="de")
    for part in ("ersetzt durch Revision 2", "behauptet, nicht bewiesen", "geprüft bis 2026-06-09 08:00:00 UTC"):
        assert part in text, part
    assert not [title for title in TITLES.values() if title in text]
    assert "das Register stimmt überein" in text


def test_what_has_changed_since_stands_under_the_verdict():
    notice = {"name": "SINCE_CORRECTED", "sentence": "the rules were corrected on 2027-03-01", "places": []}
    for language, head in (("en", "Note"), ("de", "Hinweis")):
        text = page(changed(notices=[notice]), language=language)
        assert text.index(f"{head}: the rules were corrected on 2027-03-01.") < text.index("d" * 64)


def test_many_details_are_counted():
    steps = copy.deepcopy(PASSED["steps"])
    steps[8]["details"] = [f"detail {number}" for number in range(9)]
    text = page(changed(steps=steps))
    assert "detail 2; and 6 more" in text
    assert "detail 3" not in text


@pytest.mark.parametrize("style", [{"page": "letter"}, {"language": "de"}, {"page": "letter", "language": "de"}])
def test_one_page_in_every_size_and_language(style):
    assert "report.pdf" in page(PASSED, **style)


def test_the_same_record_is_the_same_bytes():
    assert render_record(PASSED, "report.pdf") == render_record(PASSED, "report.pdf")
    with pytest.raises(KeyError):
        render_record({"overall": "passed"}, "report.pdf")
