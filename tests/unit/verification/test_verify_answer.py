"""The answer as data and as text; trusted roots; the manifest; what injected checks may say."""

from __future__ import annotations

import json
import logging
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING, Any

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.serialization import Encoding
from hypothesis import example, given
from hypothesis import strategies as st

from reportgen import certificates
from reportgen.errors import MachineError, UsageError
from reportgen.formats import ManifestEntry, build_manifest, differences, entry_of, read_manifest
from reportgen.formats import manifest as manifests
from reportgen.verification import (
    REASONS,
    Evidence,
    Outcome,
    Reason,
    Signer,
    Step,
    Verification,
    from_plain,
    read_trusted,
    render_verification,
    trust,
    verify_report,
)
from reportgen.verification.revocation import moved
from reportgen.verification.verdict import not_done, step_of
from tests.e2e.tamper.controls import crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

ROOT = "Root of Harbour Works, Harbour Works"
ROOTS = (made.root().certificate,)


def verified(pdf: bytes | None = None, **more: Any) -> Verification:
    asked: dict[str, Any] = {"at": made.LATER, "roots": ROOTS, **made.CHECKS, **more}
    return verify_report(pdf if pdf is not None else made.report(), **asked)


def test_every_step_is_there_once_in_order() -> None:
    for pdf in (made.report(), b"", made.unsigned(), made.report()[:-1]):
        answer = verified(pdf)
        assert [step.number for step in answer.steps] == list(range(1, 13))
        assert all(step.reasons or step.status in {"passed", "not done"} for step in answer.steps)
        assert all(step.details for step in answer.steps if step.status == "not done")


def test_a_genuine_report() -> None:
    answer = verified()
    assert answer.overall == "passed"
    assert answer.reasons == ()
    assert [step.status for step in answer.steps] == ["passed"] * 10 + ["not done"] * 2
    assert answer.sha256 == made.sha256(made.report())
    assert answer.size == len(made.report())
    (signer,) = answer.signers
    assert answer.holds_until == made.inspector().certificate.not_valid_after_utc.isoformat()
    assert signer == Signer(
        field="Inspector",
        kind="inspector",
        subject="Ines Perk, Harbour Works",
        issuer=ROOT,
        fingerprint=made.inspector().fingerprint,
        anchor=certificates.fingerprint(made.root().certificate),
        claimed_time="2026-03-02T14:30:00+00:00",
        proven_time=None,
        timestamp_authority=None,
        revocation="not checked (no data at hand)",
        algorithm="sha256_ecdsa, sha256",
        demonstration=False,
        chain="trusted",
        left_sha256=made.sha256(made.report()),
        bound_by="name",
        issued_by=(made.sha256(made.root().certificate.public_bytes(Encoding.DER)),),
        distinguished_name="O=Harbour Works,CN=Ines Perk",
        unchecked=(f"a revocation list or answer of {ROOT} that is current on 2026-03-05",),
    )


def test_proven_time_and_its_authority() -> None:
    answer = verified(made.sealed(timestamper=made.timestamper(made.AT + timedelta(seconds=9))))
    (signer,) = answer.signers
    assert signer.proven_time == "2026-03-02T14:30:09+00:00"
    assert signer.timestamp_authority == "Harbour Time, Harbour Works"
    text = render_verification(answer, "r.pdf")
    assert "time         2026-03-02T14:30:09+00:00, proven by Harbour Time, Harbour Works" in text


def test_not_passed_without_an_evaluation() -> None:
    answer = verified(recompute=None)
    assert answer.overall == "indeterminate"
    assert answer.reasons == (Reason("NOT_DONE", "step 8 was not done: nothing that evaluates was given"),)


def test_failures_come_first_and_once() -> None:
    steps = (
        step_of(1, [Reason("LAYERS", "l"), Reason("LAYERS", "l")]),
        step_of(2, [Reason("NO_SIGNATURE", "n")]),
        not_done(8, "why"),
    )
    answer = Verification("", 0, "", steps)
    assert answer.reasons == (Reason("NO_SIGNATURE", "n"), Reason("LAYERS", "l"))
    assert answer.overall == "failed"
    assert [step.status for step in steps] == ["indeterminate", "failed", "not done"]
    assert Verification("", 0, "", (step_of(1, [Reason("LAYERS", "l")]),)).overall == "indeterminate"


def test_plain_data_round_trip() -> None:
    for pdf in (made.report(), made.open_report(), b""):
        answer = verified(pdf)
        plain = json.loads(json.dumps(answer.plain()))
        assert from_plain(plain) == answer
        assert plain["overall"] == answer.overall
        assert plain["format"] == 1
        assert [step["title"] for step in plain["steps"]] == [step.title for step in answer.steps]


def test_reasons_have_known_names_and_weights() -> None:
    assert set(REASONS.values()) == {"failed", "indeterminate"}
    with pytest.raises(KeyError):
        assert Reason("OTHER", "x").weight


def test_rendering_shows_verdict_steps_signers_and_what_waits() -> None:
    text = render_verification(verified(made.open_report()), "a\x1b.pdf")
    lines = text.splitlines()
    assert lines[0] == "a\\x1b.pdf: passed"
    first = lines.index(" 1  passed         readable PDF, bounded in time and memory, nothing in it that")
    assert lines[first + 1] == "                   changes its look"
    assert "11  not done       register agrees" in lines
    assert "                   no register was given" in lines
    assert "inspector: Ines Perk, Harbour Works" in lines
    assert "  time         2026-03-02T14:30:00+00:00, claimed, not proven" in lines
    assert "not yet signed: Countersigner-1" in lines
    assert all(len(line) <= 80 for line in lines)
    short = render_verification(verified(), "r.pdf", details=False)
    assert "SHA-256 of" not in short
    assert "no register was given" in short


def test_rendering_names_each_reason() -> None:
    text = render_verification(verified(roots=()), "r.pdf")
    unknown = "NO_CERTIFICATE_CHAIN_FOUND: issuer unknown: the certificate leads to none of"
    assert text.startswith(f"r.pdf: indeterminate\n  {unknown}\n    the trusted roots\n")
    assert "  trust        issuer unknown" in text
    assert " 5  INDETERMINATE" in text
    assert " 4  FAILED" in render_verification(verified(made.report() + b"\n"), "r.pdf")


def test_libraries_log_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    heard: list[str] = []
    listener = logging.Handler()
    listener.emit = lambda record: heard.append(record.name)  # type: ignore[method-assign] # the shortest listener
    logging.getLogger().addHandler(listener)
    try:
        for pdf in (made.report(), made.report()[:-1], made.force_sealed(who=made.engineer())):
            verified(pdf, roots=())
    finally:
        logging.getLogger().removeHandler(listener)
    assert not [name for name in heard if name.startswith("pyhanko")]
    assert capfd.readouterr() == ("", "")


def test_roots_from_bytes_files_and_folders(tmp_path: Path) -> None:
    root = made.root().certificate
    der, pem = (root.public_bytes(form) for form in (serialization.Encoding.DER, serialization.Encoding.PEM))
    (tmp_path / "a.pem").write_bytes(pem)
    (tmp_path / "b.der").write_bytes(der)
    (tmp_path / "notes.txt").write_text("no certificate")
    for one in (root, der, pem, tmp_path / "a.pem", str(tmp_path / "b.der"), tmp_path):
        assert read_trusted([one])[0] == (root,)
    assert read_trusted([root, der])[0] == (root,)
    empty = tmp_path / "empty"
    empty.mkdir()
    (tmp_path / "c.pem").write_text("-----BEGIN nothing")
    for one, sentence in (
        (tmp_path / "none.pem", f"{tmp_path / 'none.pem'} cannot be read: No such file or directory"),
        (empty, f"the folder {empty} holds no certificate files (.cer, .crt, .der, .pem)"),
        (tmp_path / "notes.txt", f"{tmp_path / 'notes.txt'} holds no certificate"),
        (tmp_path / "c.pem", f"{tmp_path / 'c.pem'} holds no certificate"),
        (b"junk", "the trusted root holds no certificate"),
    ):
        with pytest.raises(UsageError) as caught:
            read_trusted([one])
        assert caught.value.message == sentence


def test_an_unknown_word_of_the_library_is_a_general_failure() -> None:
    belief = trust.Trust(ROOTS, made.LATER)
    own = made.inspector().certificate
    (reason,) = trust.chain_reasons("POLICY_PROCESSING_ERROR", (own,), (), belief, made.LATER)
    assert reason.name == "CERTIFICATE_CHAIN_GENERAL_FAILURE"
    (reason,) = trust.chain_reasons("REVOKED_CA_NO_POE", (own,), (), belief, made.LATER)
    assert reason.name == "REVOKED_NO_POE"


@pytest.mark.parametrize(("number", "name"), [(9, "page_text_check"), (10, "rebuild_check"), (11, "register_check")])
def test_injected_checks(number: int, name: str) -> None:
    seen: list[Evidence] = []

    def answering(outcome: Outcome) -> Any:
        def check(evidence: Evidence) -> Outcome:
            seen.append(evidence)
            return outcome

        return check

    def step(outcome: Outcome, pdf: bytes | None = None) -> Step:
        return verified(pdf, **{name: answering(outcome)}).steps[number - 1]

    failing = {9: "PAGE_TEXT_DIFFERS", 10: "PAGES_DIFFER", 11: "REGISTER_DISAGREES"}[number]
    assert step(Outcome("passed", ("agrees",))) == Step(number, "passed", (), ("agrees",))
    assert step(Outcome("failed", ("page 1",))) == Step(number, "failed", (Reason(failing, "page 1"),), ())
    assert step(Outcome("failed")).reasons == (Reason(failing, "they do not agree"),)
    assert step(Outcome("indeterminate", ("older",))).reasons == (Reason("OTHER_RELEASE", "older"),)
    assert step(Outcome("not done", ("no such release",))) == not_done(number, "no such release")
    assert step(Outcome("passed"), b"").details == ("there are no embedded files to compare with",)
    assert seen[0].pdf == made.report()
    assert seen[0].manifest.day == "days/2026-03-02.yaml"
    assert set(seen[0].files) == {*made.INPUTS, "manifest.json"}


@pytest.mark.parametrize("fault", [LookupError("x"), OSError("no such folder"), MachineError("the disk is full")])
@pytest.mark.parametrize(
    ("number", "name"),
    [(8, "recompute"), (9, "page_text_check"), (10, "rebuild_check"), (11, "register_check"), (12, "standing_check")],
)
def test_a_check_that_breaks_off_here_is_not_done_and_never_held_against_the_file(
    number: int, name: str, fault: Exception
) -> None:
    def broken(_: Any) -> Any:
        raise fault

    answer = verified(**{name: broken})
    assert (answer.overall, answer.broke_off) == ("indeterminate", True)
    (reason,) = answer.reasons
    assert reason.name == "NOT_DONE"
    assert reason.sentence.startswith(f"step {number} was not done: it broke off here, through no fault of the file")
    assert from_plain(json.loads(json.dumps(answer.plain()))).broke_off


def test_nothing_passes_without_the_pages_made_again() -> None:
    answer = verified(rebuild_check=None)
    assert (answer.overall, answer.broke_off) == ("indeterminate", False)
    assert answer.reasons == (Reason("NOT_REBUILT", "step 10 was not done: nothing that rebuilds the pages was given"),)
    assert verified(page_text_check=None).reasons[0].name == "NOT_DONE"
    # what failed is not made milder by what was left out
    assert {one.name for one in verified(made.unsigned(), rebuild_check=None).reasons} == {"NO_SIGNATURE"}


@pytest.mark.parametrize(
    ("outcome", "told", "status"),
    [
        (Outcome("passed", ("current",)), "current", "passed"),
        (Outcome("superseded", ("superseded by revision 2",)), "superseded by revision 2", "superseded"),
        (Outcome("not done", ("the register has rows of a later release",)), "unknown", "not done"),
    ],
)
def test_standing_is_told_beside_the_verdict(outcome: Outcome, told: str, status: str) -> None:
    answer = verified(standing_check=lambda _: outcome)
    assert (answer.overall, answer.standing, answer.steps[11].status) == ("passed", told, status)
    assert answer.plain()["standing"] == told
    assert f"standing: {told}" in render_verification(answer, "r.pdf")
    assert verified().standing == "unknown"


def moment_of(answer: Verification) -> datetime:
    assert answer.holds_until is not None
    return datetime.fromisoformat(answer.holds_until)


@pytest.mark.parametrize("stamped", [False, True], ids=["claimed", "timestamped"])
def test_the_verdict_holds_as_long_as_it_says(stamped: bool) -> None:
    report = made.sealed(timestamper=made.timestamper()) if stamped else made.report()
    answer = verified(report)
    assert answer.time == ("proven" if stamped else "claimed")
    until = moment_of(answer)
    assert verified(report, at=until - timedelta(seconds=1)).overall == "passed"
    later = verified(report, at=until + timedelta(seconds=1))
    if stamped:  # the authority's certificate: nothing proves the time any longer
        assert later.time == "claimed"
        until = made.timestamp_authority().certificate.not_valid_after_utc
        assert moment_of(answer) == until
    assert (later.overall, later.holds_until) == ("indeterminate", None)


def test_certificates_without_an_end_hold_to_the_last_second() -> None:
    """RFC 5280, 4.1.2.5: of what has no end that could be known."""
    last = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)
    above = made.certify(made.named("Works"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, end=last)
    who = made.identity_of(made.certify(made.named(made.WHO[1]), made.ec_key(), above, end=last), above)
    for report in (made.sealed(who=who), made.sealed(who=who, timestamper=made.timestamper())):
        for at in (made.LATER, last):
            answer = verified(report, at=at, roots=[above.certificate])
            assert (answer.overall, answer.holds_until) == ("passed", last.isoformat()), answer.reasons


@given(
    st.datetimes(timezones=st.sampled_from([UTC, timezone(timedelta(hours=12)), timezone(-timedelta(hours=12))])),
    st.timedeltas(timedelta(days=-99999), timedelta(days=99999)),
)
@example(datetime(9999, 12, 31, 23, 59, 59, tzinfo=timezone(-timedelta(hours=12))), timedelta(0))
@example(datetime(9999, 12, 31, 23, 59, tzinfo=timezone(timedelta(hours=12))), timedelta(hours=13))
@example(datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=12))), timedelta(0))
def test_a_moment_is_moved_within_the_calendar(moment: datetime, by: timedelta) -> None:
    first, last = datetime(1, 1, 1, tzinfo=UTC), datetime(9999, 12, 31, 23, 59, 59, 999999, tzinfo=UTC)
    room = first - moment, last - moment
    assert (moved(moment, by) - moment, moved(moment, by).tzinfo) == (min(max(by, room[0]), room[1]), UTC)


def test_revocation_is_checked_until_the_date_of_its_data() -> None:
    data = (crl(),)
    answer = verified(crls=data)
    assert answer.revocation == f"checked until {(made.AT - timedelta(days=1)).isoformat()}"
    assert verified().revocation == "not checked"


def test_the_embedded_input_cannot_be_evaluated() -> None:
    def refuse(_: Any) -> bytes:
        raise UsageError("no such edition")

    (reason,) = verified(recompute=refuse).reasons
    assert reason == Reason("INPUT_REFUSED", "the embedded input cannot be evaluated: no such edition")


def test_where_evaluations_differ_is_said() -> None:
    other = made.unsigned(
        files={**made.INPUTS, "evaluation.json": (b'{"areas":[{"mean":1},{"mean":2}],"n":[1]}', "evaluation")}
    )
    again = b'{"areas":[{"mean":1},{"mean":3}],"n":[1,2],"m":0}'
    (reason,) = verified(
        made.sealed(other), recompute=lambda files: replace(made.recompute(files), evaluation=again)
    ).reasons
    assert reason.sentence == "evaluating the embedded input again gives another result (areas[1].mean, m, n)"


def test_manifest_is_canonical_and_read_back() -> None:
    entries = [entry_of("b.yaml", b"1", "day"), entry_of("a.yaml", b"2", "project")]
    entries += [entry_of("evaluation.json", b"{}", "evaluation"), ManifestEntry("p.jpg", "0" * 64, "photo-hash")]
    data = build_manifest(entries, generator="reportgen 1", day="b.yaml")
    assert data.startswith(
        b'{"day":"b.yaml","files":[{"attachment":"a.yaml","name":"a.yaml","role":"project","sha256":"'
    )
    manifest = read_manifest(data)
    assert [entry.name for entry in manifest.files] == ["a.yaml", "b.yaml", "evaluation.json", "p.jpg"]
    assert [entry.name for entry in manifest.embedded()] == ["a.yaml", "b.yaml", "evaluation.json"]
    contents = {"a.yaml": b"2", "b.yaml": b"1", "evaluation.json": b"{}", "manifest.json": data}
    assert differences(manifest, contents) == []
    assert differences(manifest, {"a.yaml": b"x", "c": b"", "evaluation.json": b"{}"}) == [
        "b.yaml is listed in the manifest but not embedded",
        "c is embedded but not listed in the manifest",
        "a.yaml does not have the SHA-256 the manifest records",
    ]


@pytest.mark.parametrize("name", ["", "/a", "../a", "a/../b", "./a", "a//b", "a\\b", "a\0", "a/"])
def test_manifest_names_stay_in_their_folder(name: str) -> None:
    with pytest.raises(ValueError, match="a file name is not a plain relative path"):
        entry_of(name, b"", "csv")


def test_manifest_that_cannot_be_built() -> None:
    day, project = entry_of("d", b"", "day"), entry_of("p", b"", "project")
    evaluation = entry_of("evaluation.json", b"", "evaluation")
    for entries, sentence in (
        ([day, project], "does not list exactly one evaluation file"),
        ([day, day, project, evaluation], "lists a file twice"),
        ([day, project, evaluation, entry_of("manifest.json", b"", "csv")], "lists itself"),
        ([day, project, entry_of("other.json", b"", "evaluation")], "does not name its day file"),
    ):
        with pytest.raises(ValueError, match=sentence):
            build_manifest(entries, generator="g", day="d")


@pytest.mark.parametrize(
    "data",
    [
        b"[" * 100_000,
        b"{}",
        b"[]",
        b'{"day":1,"files":[],"format":1,"generator":"g"}',
        b'{"day":"d","files":[],"format":true,"generator":"g"}',
        b'{"day":"d","day":"d","files":[],"format":1,"generator":"g"}',
        b'{"day":"d","files":[1],"format":1,"generator":"g"}',
        b'{"day":"d","files":[{"name":1,"role":"csv","sha256":"0"}],"format":1,"generator":"g"}',
    ],
)
def test_manifest_of_a_stranger(data: bytes) -> None:
    with pytest.raises(ValueError, match=r"manifest\.json"):
        read_manifest(data)
    assert manifests.FORMAT == 1
