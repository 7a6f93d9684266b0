"""Copies of one report that others signed under the same name: told by certificate, and never chosen by file name."""

import datetime as dt
import itertools
import json
from pathlib import Path

import pikepdf
import pytest
from asn1crypto import algos, cms, tsp
from cryptography.hazmat.primitives import serialization

from reportgen.increments import PreparedRevision
from reportgen.pipeline import preparing
from reportgen.seal import load_identity, signing
from tests.copies_otherwise import lower_case, value_of, without_stamp
from tests.e2e.tamper.ranges import revalued
from tests.unit.cli.conftest import _CLOCKS, NOW
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verification import signed_material as made

pytestmark = pytest.mark.usefixtures("stopped_clock")

REPORT = "reports/SL-1-001.pdf"
TRUST = ("--trust", "keys/i-tern-root.pem", "--trust", "keys/e-falk-root.pem", "--trust", "others/e-falk-root.pem")
KEY = ("--identity", "keys/i-tern.p12")
NAMES = list(itertools.permutations(["a.pdf", "z.pdf"]))


@pytest.fixture
def waiting(run, contract):
    """A report that awaits E. Falk, of which name there are two, each with a certificate."""
    project, day = contract / "project.yaml", contract / "day.yaml"
    people = "people: {falk: {name: E. Falk, role: engineer}, "
    project.write_text(project.read_text("utf-8").replace("people: {", people), "utf-8")
    text = day.read_text("utf-8").replace("inspector: ines}", "inspector: ines, countersigners: [falk]}")
    day.write_text(text, "utf-8")
    for folder, name in (("keys", "I. Tern"), ("keys", "E. Falk"), ("others", "E. Falk")):
        assert run("identity", "new", folder, "--name", name, "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", *KEY).code == 0
    (contract / "archive").mkdir()
    return contract / REPORT


def countersigned(run, names):
    """The two countersigned copies, at one moment, under the names given; returns the pins by file."""
    pins = {}
    for folder, name in zip(("keys", "others"), names, strict=True):
        key = f"{folder}/e-falk.p12"
        assert run("countersign", REPORT, "--identity", key, "-o", f"archive/{name}").code == 0
        pins[name] = json.loads(run("identity", "show", "--json", key).out)["signs_with"]["certificate"]
    return pins


def enclosed(path):
    with pikepdf.open(path) as pdf:
        return json.loads(pdf.attachments["submittal.json"].get_file().read_bytes())["reports"]


@pytest.mark.parametrize("names", NAMES)
def test_a_submittal_encloses_both_and_says_which_certificates_they_are(run, contract, waiting, names):
    pins = countersigned(run, names)
    said = run("submittal", "archive", *KEY, "--role", "inspector", *TRUST, "-o", "s.pdf")
    assert said.code == 0, said.err
    told = " ".join(said.err.split())
    assert "is left out" not in told
    assert all(pin in told for pin in pins.values())
    assert "which of them is that person's, the files do not say" in told
    rows = enclosed("s.pdf")
    first, second = (one["sha256"] for one in rows)
    assert first < second, "the same one speaks, whatever the files are called"
    (answer,) = json.loads(run("verify", "s.pdf", *TRUST, "--json").out)
    assert (answer["overall"], answer["reasons"]) == ("passed", [])


@pytest.mark.parametrize("names", NAMES)
def test_an_audit_and_verify_name_each_certificate_with_its_file(run, contract, waiting, names):
    pins = countersigned(run, names)
    said = run("audit", "archive", *TRUST, "--index", "i.sqlite", "--json")
    found = json.loads(said.out)
    assert found["reports"] == 1
    problems = {one["code"]: one for one in found["problems"]}
    assert "copy-written-otherwise" not in problems
    own = problems["copy-signed-apart"]
    assert (own["weight"], own["files"]) == ("doubt", ["a.pdf", "z.pdf"])
    assert all(f"SHA-256 {pin} in {file}" in own["sentence"] for file, pin in pins.items())
    kept = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"][0]["file"]
    by_hash = min((contract / "archive").glob("*.pdf"), key=lambda one: made.sha256(one.read_bytes()))
    assert kept == by_hash.name
    answers = json.loads(run("verify", "archive/a.pdf", "archive/z.pdf", *TRUST, "--json").out)
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["SIGNED_BY_ANOTHER"]] * 2
    assert all(pin in one["notices"][0]["sentence"] for one in answers for pin in pins.values())


def test_of_the_two_a_pin_leaves_one(run, contract, waiting):
    """Whoever knows the person says so, and nothing has to be told any more."""
    pins = countersigned(run, ("a.pdf", "z.pdf"))
    roots = TRUST[1::2]
    people = f"people: {{falk: {{certificate: {pins['z.pdf']}}}}}"
    (contract / "trust.yaml").write_text(f"roots: [{', '.join(roots)}]\n{people}\n", "utf-8")
    said = run("audit", "archive", "--policy", "trust.yaml", "--index", "i.sqlite", "--json")
    problems = {one["code"]: one for one in json.loads(said.out)["problems"]}
    assert problems.keys() == {"file-failed"}
    assert problems["file-failed"]["files"] == ["a.pdf"]


def test_copies_countersigned_by_one_certificate_are_plain(run, contract, waiting):
    for name in ("a.pdf", "z.pdf"):
        key = ("--identity", "keys/e-falk.p12")
        assert run("countersign", REPORT, *key, "-o", f"archive/{name}").code == 0
    said = run("audit", "archive", *TRUST, "--index", "i.sqlite", "--json")
    codes = {one["code"] for one in json.loads(said.out)["problems"]}
    assert "copy-signed-apart" not in codes


def by_another(identity):
    """Somebody else's signature over the very bytes that the first covers."""

    def changed(pdf):
        return revalued(
            pdf, lambda digest: bytes(signing._value(identity(), PreparedRevision(digest, None), None).dump())
        )

    return changed


def of_zeros(pdf):
    return revalued(pdf, lambda _: b"")


def namesake():
    return load_identity(Path("more/i-tern.p12"), "a passphrase for tests")


@pytest.mark.parametrize(
    ("changed", "status", "says"),
    [
        (by_another(made.inspector), "failed", "its first signature is made with the certificate"),
        (by_another(namesake), "failed", "its first signature is made with the certificate"),
        (of_zeros, "not done", "its first signature cannot be looked at"),
    ],
    ids=["stranger", "namesake", "zeros"],
)
def test_the_pages_under_another_signature_are_no_copy(run, contract, waiting, changed, status, says):
    assert run("identity", "new", "more", "--name", "I. Tern", "--organisation", "Body").code == 0
    trust = (*TRUST, "--trust", "more/i-tern-root.pem")
    (contract / "other.pdf").write_bytes(changed(waiting.read_bytes()))
    (answer,) = json.loads(run("verify", "other.pdf", *trust, "--register", ".", "--json").out)
    assert (answer["overall"], answer["standing"], answer["notices"]) == ("failed", "unknown", [])
    step = answer["steps"][10]
    (sentence,) = [one["sentence"] for one in step["reasons"]] or step["details"]
    assert (step["number"], step["status"]) == (11, status)
    assert says in sentence
    assert "it is no copy" in sentence
    (contract / "copy.pdf").write_bytes(lower_case(waiting.read_bytes()))
    (copy,) = json.loads(run("verify", "copy.pdf", *trust, "--register", ".", "--json").out)
    assert (copy["overall"], [one["name"] for one in copy["notices"]]) == ("passed", ["WRITTEN_OTHERWISE"])


def test_where_the_pages_state_no_certificate_the_register_knows_its_file_alone(run, contract, waiting):
    """Of a namesake's nothing else tells: by itself it passes."""
    text = (contract / "day.yaml").read_text("utf-8").replace("SL-1-001", "SL-1-002")
    (contract / "next.yaml").write_text(text.replace(", countersigners: [falk]", ""), "utf-8")
    assert run("identity", "new", "more", "--name", "I. Tern", "--organisation", "Body").code == 0
    prepared = preparing.prepare(contract / "next.yaml", at=NOW)
    own = load_identity(contract / "keys/i-tern.p12", "a passphrase for tests")
    preparing.issue_prepared(prepared, own, at=NOW)
    genuine = contract / "reports/SL-1-002.pdf"
    (contract / "other.pdf").write_bytes(by_another(namesake)(genuine.read_bytes()))
    trust = (*TRUST, "--trust", "more/i-tern-root.pem")
    assert [one["overall"] for one in json.loads(run("verify", "other.pdf", *trust, "--json").out)] == ["passed"]
    answers = json.loads(run("verify", genuine, "other.pdf", *trust, "--register", ".", "--json").out)
    assert [one["overall"] for one in answers] == ["passed", "failed"]
    assert [one["name"] for one in answers[1]["reasons"]] == ["REGISTER_DISAGREES"]
    assert "and the pages state none" in answers[1]["reasons"][0]["sentence"]


@pytest.mark.parametrize("names", NAMES)
def test_of_equal_copies_that_counts_which_the_register_has(run, contract, waiting, names):
    genuine, copy = names
    (contract / "archive" / genuine).write_bytes(waiting.read_bytes())
    (contract / "archive" / copy).write_bytes(lower_case(waiting.read_bytes()))
    said = run("audit", "archive", *TRUST, "--register", ".", "--index", "i.sqlite", "--json")
    assert {one["code"] for one in json.loads(said.out)["problems"]} >= {"copy-written-otherwise"}
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert rows[0]["file"] == genuine
    said = run("submittal", "archive", *KEY, "--role", "inspector", *TRUST, "--register", ".", "-o", "s.pdf")
    assert said.code == 0, said.err
    assert [one["sha256"] for one in enclosed("s.pdf")] == [made.sha256(waiting.read_bytes())]
    assert f"{copy} is left out: it is a copy, and nobody signs what differs" in " ".join(said.err.split())


@pytest.fixture
def timed(contract, service):  # noqa: F811 - the fixture
    """What asks for a timestamp, and whom to trust for it."""
    (contract / "time.pem").write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))

    def answer(query):
        return 200, REPLY, made.timestamper(NOW).request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    return ("--timestamp", service(answer)), (*TRUST, "--trust", "time.pem")


def of_last(change, pdf):
    """The file with the value of its last signature changed."""
    start = pdf.rindex(b"/Contents <")
    return pdf[:start] + change(pdf[start:])


def stamped_later(pdf):
    """The file with a later timestamp in the place of that on its first signature."""
    value = value_of(pdf)
    (signer,) = value["content"]["signer_infos"]
    digest = algos.DigestAlgorithm({"algorithm": "sha256"})
    imprint = {"hash_algorithm": digest, "hashed_message": bytes.fromhex(made.sha256(signer["signature"].native))}
    query = tsp.TimeStampReq({"version": 1, "message_imprint": imprint, "cert_req": True})
    reply = made.timestamper(NOW + dt.timedelta(minutes=10)).request_tsa_response(query)
    signer["unsigned_attrs"][0]["values"] = cms.SetOfContentInfo([reply["time_stamp_token"]])
    return revalued(pdf, lambda _: value.dump(force=True))


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
@pytest.mark.parametrize("names", NAMES)
def test_a_countersigners_timestamp_taken_off_is_noted(run, contract, waiting, timed, names):
    ask, trust = timed
    whole, without = (contract / "archive" / name for name in names)
    assert run("countersign", REPORT, "--identity", "keys/e-falk.p12", *ask, "-o", whole).code == 0
    without.write_bytes(of_last(without_stamp, whole.read_bytes()))
    said = run("audit", "archive", *trust, "--index", "i.sqlite", "--json")
    problems = [one for one in json.loads(said.out)["problems"] if one["code"] == "copy-written-otherwise"]
    assert [one["files"] for one in problems] == [[without.name, whole.name]]
    answers = json.loads(run("verify", whole, without, *trust, "--json").out)
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["WRITTEN_OTHERWISE"]] * 2


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
@pytest.mark.parametrize("names", NAMES)
def test_the_earlier_proven_time_counts(run, contract, waiting, timed, names, monkeypatch):
    ask, trust = timed
    text = (contract / "day.yaml").read_text("utf-8").replace("SL-1-001", "SL-1-002")
    (contract / "next.yaml").write_text(text.replace(", countersigners: [falk]", ""), "utf-8")
    assert run("issue", "next.yaml", *KEY, *ask).code == 0
    early, late = (contract / "archive" / name for name in names)
    early.write_bytes((contract / "reports/SL-1-002.pdf").read_bytes())
    late.write_bytes(stamped_later(early.read_bytes()))
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: NOW + dt.timedelta(hours=1), raising=False)
    answers = json.loads(run("verify", early, late, *trust, "--json").out)
    assert [one["signers"][0]["proven_time"][11:16] for one in answers] == ["15:10", "15:20"]
    said = run("audit", "archive", *trust, "--index", "i.sqlite", "--json")
    assert "copy-written-otherwise" in {one["code"] for one in json.loads(said.out)["problems"]}
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    assert rows[0]["file"] == early.name
    said = run("submittal", "archive", *KEY, *trust, "-o", "s.pdf")
    assert said.code == 0, said.err
    assert [one["sha256"] for one in enclosed("s.pdf")] == [made.sha256(early.read_bytes())]


def test_a_release_page_beside_copies_signed_apart_is_disputed(run, contract, waiting):
    """Which of the two the client signed may be what the release rests on: `release` makes no page of them."""
    countersigned(run, ("a.pdf", "z.pdf"))
    (contract / "alone").mkdir()
    (contract / "alone" / "a.pdf").write_bytes((contract / "archive" / "a.pdf").read_bytes())
    said = run("release", "A-1", "alone", "--identity", "keys/e-falk.p12", *TRUST, "-o", "page.pdf")
    assert said.code == 0, said.err
    for copies, code, standing in ((["a.pdf"], 0, "unknown"), (["a.pdf", "z.pdf"], 1, "disputed: of SL-1-001")):
        said = run("verify", "page.pdf", *[f"archive/{one}" for one in copies], *TRUST)
        assert said.code == code
        assert f"standing: {standing}" in " ".join(said.out.split())
