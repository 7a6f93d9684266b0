"""``issue``, ``countersign``, ``register``, ``identity`` as they are typed: files, tokens, timestamps."""

import datetime as dt
import json
import os
import re

import pytest
from asn1crypto import tsp
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, pkcs12

from tests.outside import needs_program
from tests.unit.cli.conftest import NOW
from tests.unit.seal.test_seal_token import MODULE, PIN, put  # noqa: F401 - a fixture
from tests.unit.seal.test_seal_trusted_time import REPLY, service  # noqa: F401 - a fixture
from tests.unit.verification import signed_material as made

pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.fixture
def keys(run, contract):
    """Identities of the inspector and of an engineer."""
    for name in ("I. Tern", "E. Falk"):
        assert run("identity", "new", "keys", "--name", name, "--organisation", "Body").code == 0
    return contract / "keys"


@pytest.fixture
def two_signers(contract):
    """The engineer is to sign after the inspector."""
    project, day = contract / "project.yaml", contract / "day.yaml"
    people = "people: {falk: {name: E. Falk, role: engineer}, "
    project.write_text(project.read_text(encoding="utf-8").replace("people: {", people), encoding="utf-8")
    text = day.read_text(encoding="utf-8").replace("inspector: ines}", "inspector: ines, countersigners: [falk]}")
    day.write_text(text, encoding="utf-8")


def test_an_identity_is_made_and_shown(run):
    code, out, err = run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[:4] == [
        "sign with        keys/i-tern.p12   (private, until 2029-05-04)",
        "lock away        keys/i-tern-root.p12   (private: it makes signers)",
        "hand to auditors keys/i-tern-root.pem",
        "                 and tell them its fingerprint by another way:",
    ]
    fingerprint = r"\s+([0-9A-F]{2}:){16}\n\s+([0-9A-F]{2}:){15}[0-9A-F]{2}"
    assert re.fullmatch(fingerprint, "\n".join(lines[4:]))
    code, out, _ = run("identity", "show", "keys/i-tern.p12")
    assert code == 0
    assert out.startswith(
        "subject      I. Tern, Body\n"
        "issuer       Root of Body, Body\n"
        "valid from   2026-05-04\nvalid until  2029-05-04\nfingerprint  "
    )
    assert all(len(line) <= 80 for line in out.splitlines())
    data = json.loads(run("identity", "show", "--json", "keys/i-tern.p12").out)
    assert data["subject"] == "I. Tern, Body"
    assert data["fingerprint"].count(":") == 31
    made_again = run("identity", "new", "--json", "more", "--name", "A. Other", "--organisation", "Body")
    assert json.loads(made_again.out)["signer"] == "more/a-other.p12"
    refused = run("identity", "new", "keys", "--name", "I. Tern")
    assert refused == (2, "", "error: a new identity needs --name and --organisation\n")


def test_a_report_is_issued_and_registered(run, keys, contract):
    code, out, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert (code, err) == (0, "")
    assert out == (
        "reports/SL-1-001.pdf: SL-1-001 revision 0, issued, 3 pages\n"
        "Conforms: 1 of 1 inspected areas may be released; A-2 not inspected.\n"
    )
    trust = ("--trust", "keys/i-tern-root.pem")
    assert run("register", "check", ".", *trust) == (0, "register of .: no problems\n", "")
    code, out, err = run("register", "check", ".")
    assert (code, out) == (0, "register of .: no problems\n")
    assert err.startswith("note: no authority is trusted here")
    assert json.loads(run("register", "check", "--json", ".").out) == {"format": 1, "problems": []}
    (contract / "register.jsonl").unlink()
    code, out, _ = run("register", "check", ".")
    assert code == 1
    assert out.endswith("register of .: 1 problem\n")
    assert " [register-missing]" in " ".join(out.split())
    code, out, err = run("register", "rebuild", ".", *trust)
    assert (code, err) == (0, "")
    assert out.startswith("register of . rebuilt: 1 report, 0 rows kept\n")
    assert json.loads(run("register", "check", "--json", ".").out) == {"format": 1, "problems": []}


def test_a_number_that_was_issued_names_the_moment_of_its_issue(run, keys, monkeypatch):
    """Not the date of the report: that may be days before."""
    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: NOW + dt.timedelta(days=2))
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    code, _, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert code == 2
    assert "SL-1-001 revision 0 was already issued on 2026-05-06 at 15:10 UTC as" in " ".join(err.split())


def test_a_signer_whose_name_no_certificate_holds_is_said_with_its_place(run, contract):
    long = "Maximiliane Theodora Augusta Wilhelmine von und zu Ostrelhagen-Rusketh"
    assert len(long) > 64
    project = contract / "project.yaml"
    project.write_text(project.read_text(encoding="utf-8").replace("I. Tern", long), encoding="utf-8")
    code, _, err = run("issue", "day.yaml", "--identity", "demo")
    said = " ".join(err.split())
    assert code == 2
    assert f"the name of `ines`, who signs, has {len(long)} characters; a certificate holds 64" in said
    assert "project.yaml:10:" in said
    draft = run("draft", "day.yaml", "-o", "draft.pdf")
    assert (draft.code, "warning[JOB219]" in draft.err) == (0, True)


def test_a_rebuilt_register_as_data(run, keys, contract):
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    register = contract / "register.jsonl"
    register.write_bytes(register.read_bytes().splitlines(keepends=True)[0])
    code, out, _ = run("register", "rebuild", "--json", ".", "--trust", "keys/i-tern-root.pem")
    assert code == 0
    assert json.loads(out)["reports"] == 1


def test_an_identity_with_a_doubt_is_noted(run, keys, monkeypatch):
    from reportgen.seal import Preflight

    monkeypatch.setattr(
        "reportgen.seal.preflight", lambda *_, **__: Preflight(("the certificate ends in 3 days; " * 4,))
    )
    code, _, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert code == 0
    assert err.startswith("note: the certificate ends in 3 days; ")
    assert all(len(line) <= 80 for line in err.splitlines())


def test_a_demonstration(run, contract):
    code, out, err = run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf", "--at", "2026-05-04T15:00:00Z")
    assert (code, err) == (0, "")
    assert " ".join(out.split()).startswith(
        "demo.pdf: SL-1-001 revision 0, demonstration, not valid for issue and not registered, 3 pages Conforms: "
    )
    data = json.loads(run("issue", "--json", "day.yaml", "--identity", "demo", "-o", "demo.pdf").out)
    assert data["status"] == "demonstration, not valid for issue and not registered"
    assert (data["number"], data["pages"], data["verdict"]) == ("SL-1-001", 3, "conforms")


def test_times_that_are_not_for_this(run, keys):
    message = "error: --at is for drafts and demonstrations\n help: an issued report bears the time of issue\n"
    at = ("--at", "2026-05-04T15:00:00Z")
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12", *at) == (2, "", message)
    message = (
        "error: a demonstration takes no timestamp and no revocation data\n"
        " help: leave --timestamp, --crl and --ocsp out\n"
    )
    assert run("issue", "day.yaml", "--identity", "demo", "--timestamp", "http://x") == (2, "", message)


def test_a_further_signature(run, keys, two_signers):
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    sign = ("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o")
    assert run(*sign, "both.pdf") == (0, "both.pdf: signed by E. Falk; the earlier signatures stand\n", "")
    assert json.loads(run(*sign, "again.pdf", "--json").out) == {"format": 1, "file": "again.pdf", "signer": "E. Falk"}


def test_nobody_but_the_person_named_countersigns(run, keys, two_signers, contract):
    run("identity", "new", "keys", "--name", "A. Other", "--organisation", "Body")
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    for who, name in (("a-other", "A. Other"), ("i-tern", "I. Tern")):
        code, out, err = run("countersign", "reports/SL-1-001.pdf", "--identity", f"keys/{who}.p12", "-o", "both.pdf")
        assert (code, out) == (2, "")
        said = f"error: this report awaits nobody with this identity: the certificate names `{name}`, not `E. Falk`"
        assert " ".join(err.split()).startswith(said)
        assert err.endswith(" help: to sign: E. Falk (engineer); each with an identity in that name\n")
        assert not (contract / "both.pdf").exists()


def pin_of(run, file):
    return json.loads(run("identity", "show", "--json", file).out)["signs_with"]["certificate"]


def trusting(contract, people):
    """A policy that trusts the root of the tests and pins people."""
    (contract / "trust.yaml").write_text(f"roots: [keys/i-tern-root.pem]\n{people}\n", "utf-8")
    return ("countersign", "reports/SL-1-001.pdf", "--policy", "trust.yaml", "-o", "both.pdf", "--identity")


@pytest.fixture
def waiting(run, keys, two_signers):
    """A report that awaits the engineer, and the pins of two who could sign."""
    assert run("identity", "new", "others", "--name", "E. Falk", "--organisation", "Body").code == 0
    assert run("identity", "new", "keys", "--name", "E. Falk-Marsh", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    return {name: pin_of(run, f"{name}.p12") for name in ("keys/e-falk", "others/e-falk", "keys/e-falk-marsh")}


def test_whom_the_policy_pins_to_another_certificate_signs_nothing(run, waiting, contract, monkeypatch):
    """The name fits; whoever countersigns by a policy goes by it, and nothing has to be taken away again."""
    sign = trusting(contract, f"people: {{falk: {{certificate: {waiting['others/e-falk']}}}}}")
    monkeypatch.setattr("reportgen.atomicfile.write_new", lambda *_: pytest.fail("it was written"))
    code, out, err = run(*sign, "keys/e-falk.p12")
    said = " ".join(err.split())
    assert (code, out) == (2, "")
    assert "error: this report awaits nobody with this identity: by the policy E. Falk signs with another" in said
    assert f"is {waiting['keys/e-falk']}, not {waiting['others/e-falk']}" in said
    assert not (contract / "both.pdf").exists()


@pytest.mark.parametrize("who", ["keys/e-falk", "keys/e-falk-marsh"])
def test_whom_the_policy_pins_signs_under_whatever_name(run, waiting, contract, who):
    sign = trusting(contract, f"people: {{falk: {{certificate: {waiting[who]}}}}}")
    code, out, err = run(*sign, f"{who}.p12")
    assert (code, err) == (0, "")
    assert "the earlier signatures stand" in out
    answer = json.loads(run("verify", "both.pdf", "--policy", "trust.yaml", "--json").out)[0]
    assert [(one["kind"], one["bound_by"]) for one in answer["signers"]] == [
        ("inspector", "name"), ("countersigner", "policy"),
    ]  # fmt: skip
    assert not {reason["name"] for reason in answer["reasons"]} & {"SIGNER_NOT_NAMED", "SIGNER_NOT_PINNED"}


@pytest.mark.parametrize(
    ("people", "told"),
    [
        ("people: {falk: {certificate: 12}}", "trust.yaml:2:"),
        ("people: [falk", "trust.yaml:2:"),
        ("pepole: {}", "trust.yaml:2:"),
        (None, "policy: "),
    ],
    ids=["no pin", "no YAML", "no such entry", "no file"],
)
def test_a_policy_that_is_none_is_one_error_and_nothing_is_signed(run, waiting, contract, people, told):
    sign = trusting(contract, people or "")
    if people is None:
        (contract / "trust.yaml").unlink()
    code, out, err = run(*sign, "keys/e-falk.p12")
    assert (code, out) == (2, "")
    assert told in err
    assert err.count("error") == 1
    assert "Traceback" not in err
    assert not (contract / "both.pdf").exists()


def test_the_field_is_that_of_the_person_whatever_is_empty(run, keys, two_signers, contract):
    from reportgen.pipeline import verify

    edit(contract / "project.yaml", "people: {", "people: {marsh: {name: O. Marsh, role: owner}, ")
    edit(contract / "day.yaml", "countersigners: [falk]", "countersigners: [marsh, falk]")
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert run("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o", "one.pdf").code == 0
    answer = verify(contract / "one.pdf")
    assert [(signer.field, signer.kind) for signer in answer.signers] == [
        ("Inspector", "inspector"),
        ("Countersigner-2", "countersigner"),
    ]
    assert answer.unfilled_fields == ("Countersigner-1",)
    refused = run("countersign", "one.pdf", "--identity", "keys/e-falk.p12", "-o", "two.pdf")
    assert refused.code == 2
    assert "to sign: O. Marsh (owner)" in " ".join(refused.err.split())


def test_the_organisation_of_a_countersigner_is_compared(run, keys, two_signers, contract):
    edit(contract / "project.yaml", "name: E. Falk,", "name: E. Falk, organisation: Weir Board,")
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    refused = run("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o", "both.pdf")
    assert refused.code == 2
    assert "the certificate names the organisation `Body`, not `Weir Board`" in " ".join(refused.err.split())


def test_one_certificate_does_not_sign_for_two_people_of_a_name(run, keys, two_signers, contract):
    edit(contract / "project.yaml", "name: E. Falk", "name: I. Tern")
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    code, _, err = run("countersign", "reports/SL-1-001.pdf", "--identity", "keys/i-tern.p12", "-o", "both.pdf")
    assert code == 2
    assert "in Inspector and Countersigner-1 were made with one key" in " ".join(err.split())
    assert not (contract / "both.pdf").exists()


def test_one_person_under_two_certificates_is_noted(run, keys, two_signers, contract):
    """Both signatures are those that the job asks for; that nobody else looked at it is for the reader to know."""
    edit(contract / "project.yaml", "name: E. Falk,", "name: I. Tern, organisation: Weir Board,")
    run("identity", "new", "owner", "--name", "I. Tern", "--organisation", "Weir Board")
    run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    trust = ("--trust", "keys/i-tern-root.pem", "--trust", "owner/i-tern-root.pem")
    one = run("verify", "reports/SL-1-001.pdf", *trust)
    assert (one.code, "Note:" in one.out) == (0, False)
    signed = run("countersign", "reports/SL-1-001.pdf", "--identity", "owner/i-tern.p12", "-o", "both.pdf")
    assert signed.code == 0
    code, out, _ = run("verify", "both.pdf", *trust)
    assert code == 0
    noted = "I. Tern signed as inspector and as engineer (Weir Board): by the name, one person in 2 roles"
    assert f"Note: {noted}." in " ".join(out.split())
    (answer,) = json.loads(run("verify", "--json", "both.pdf", *trust).out)
    assert noted in next(step for step in answer["steps"] if step["number"] == 5)["details"]


@pytest.fixture
def careless(monkeypatch):
    """A signer whose tool checks nothing of what it signs."""
    from reportgen.seal import Preflight

    monkeypatch.setattr("reportgen.seal.preflight", lambda *_, **__: Preflight())
    monkeypatch.setattr("reportgen.pipeline.issuing._require_sound", lambda *_, **__: None)


def test_a_report_signed_by_another_passes_nowhere(run, keys, careless, contract):
    trust = ("--trust", "keys/e-falk-root.pem")
    assert run("issue", "day.yaml", "--identity", "keys/e-falk.p12").code == 0
    code, out, _ = run("verify", "reports/SL-1-001.pdf", *trust)
    said = " ".join(out.split())
    assert code == 1
    assert said.startswith(
        "reports/SL-1-001.pdf: indeterminate because the signature in Inspector is not that of the person the report "
        "names: the certificate names `E. Falk`, not `I. Tern` [SIGNER_NOT_NAMED] "
        "standing: unknown; time: claimed; revocation: not checked "
        "Signed by E. Falk, Body (NOT the person whom the report names), with a certificate you trust, "
    )
    (answer,) = json.loads(run("verify", "--json", "reports/SL-1-001.pdf", *trust).out)
    assert [step["status"] for step in answer["steps"][3:5]] == ["passed", "indeterminate"]
    assert answer["signatories"] == [{"field": "Inspector", "role": "inspector", "name": "I. Tern", "id": "ines"}]
    assert answer["signers"][0]["kind"] == "not named"
    refused = run("submittal", "reports", *trust, "--identity", "demo", "-o", "submittal.pdf")
    assert refused.code == 2
    assert "is not that of the person the report names" in " ".join(refused.err.split())
    assert run("audit", "reports", *trust, "--index", "a.sqlite", "-o", "a.pdf", "--csv", "tables").code == 1
    assert ",indeterminate,report," in (contract / "tables" / "files.csv").read_text(encoding="utf-8")
    assert run("countersign", "reports/SL-1-001.pdf", "--identity", "keys/i-tern.p12", "-o", "both.pdf").code == 2


def test_what_the_signer_changes_while_signing_is_not_called_identical(run, keys, careless, monkeypatch):
    from pyhanko.pdf_utils.generic import NumberObject, pdf_name

    from reportgen.increments import writing

    class Turning(writing.SigMDPSetup):
        def apply(self, value, writer):
            super().apply(value, writer)
            page = writer.root["/Pages"]["/Kids"][0]
            page[pdf_name("/Rotate")] = NumberObject(180)
            writer.update_container(page)

    with monkeypatch.context() as changed:
        changed.setattr(writing, "SigMDPSetup", Turning)
        assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    code, out, _ = run("verify", "reports/SL-1-001.pdf", "--trust", "keys/i-tern-root.pem")
    assert code == 1
    assert " ".join(out.split()).startswith(
        "reports/SL-1-001.pdf: failed because the revision of the signature in Inspector is not as signing writes it: "
        "Page (object "
    )
    assert "Changed: it is not, byte for byte, what was signed." in out


def test_a_field_away_from_its_block_is_not_called_identical(run, keys, careless, monkeypatch):
    from reportgen.pipeline import building

    def moved(built):
        return [(page, left, bottom - 50, right, top - 50) for page, left, bottom, right, top in boxes(built)]

    boxes = building.signature_boxes
    with monkeypatch.context() as changed:
        changed.setattr("reportgen.pipeline.issuing.signature_boxes", moved)
        assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    code, out, _ = run("verify", "reports/SL-1-001.pdf", "--trust", "keys/i-tern-root.pem")
    assert code == 1
    assert "do not lie on the signature blocks of the pages [PAGES_DIFFER]" in " ".join(out.split())


def test_our_own_check_stops_what_signing_should_not_have_written(run, keys, contract, monkeypatch):
    from reportgen.seal import Preflight

    monkeypatch.setattr("reportgen.seal.preflight", lambda *_, **__: Preflight())
    code, _, err = run("issue", "day.yaml", "--identity", "keys/e-falk.p12")
    assert code == 3
    assert "SIGNER_NOT_NAMED" in err
    assert not list((contract / "reports").glob("*.pdf"))


def test_a_chain_that_no_verifier_believes_is_the_identitys_fault(run, contract):
    """Its root permits no authority below it, and one stands there."""
    name = made.named("I. Tern", "Body")
    above = made.certify(made.named("Above", "Body"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, length=0)
    below = made.certify(made.named("Below", "Body"), made.ec_key(), above, ca=True, key_usage=made.AUTHORITY)
    signer = made.certify(name, made.ec_key(), below)
    chain = [below.certificate, above.certificate]
    kept = BestAvailableEncryption(os.environ["REPORTGEN_PASSPHRASE"].encode())
    stored = pkcs12.serialize_key_and_certificates(b"x", signer.key, signer.certificate, chain, kept)
    (contract / "chain.p12").write_bytes(stored)
    code, out, err = run("issue", "day.yaml", "--identity", "chain.p12")
    assert (code, out) == (2, "")
    assert "Above, Body permits 0 authorities below it, not 1; nothing was issued" in " ".join(err.split())
    assert not list(contract.glob("reports/*.pdf"))


@pytest.mark.parametrize("template", ["a4-en", "a4-de", "letter-en"])
def test_names_and_papers_that_hold(run, contract, template):
    """Letters apart in one place and composed in the other, capitals, and a certificate of an authority with more."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, Encoding, pkcs12

    oid = x509.NameOID
    subject = x509.Name(
        [
            x509.NameAttribute(kind, value)
            for kind, value in (
                (oid.COUNTRY_NAME, "DE"), (oid.ORGANIZATION_NAME, "Wehr und Schleuse"),
                (oid.ORGANIZATIONAL_UNIT_NAME, "Beschichtung"), (oid.SERIAL_NUMBER, "PNO-17"),
                (oid.GIVEN_NAME, "Zo\u00eb"), (oid.SURNAME, "Wei\u00df"), (oid.COMMON_NAME, "Zoe\u0308 WEISS"),
            )
        ]
    )  # fmt: skip
    pair = made.certify(subject, made.rsa_key(), made.root())
    lock = BestAvailableEncryption(b"a passphrase for tests")
    chain = [made.root().certificate]
    (contract / "zoe.p12").write_bytes(
        pkcs12.serialize_key_and_certificates(b"z", pair.key, pair.certificate, chain, lock)
    )
    (contract / "root.pem").write_bytes(chain[0].public_bytes(Encoding.PEM))
    edit(contract / "project.yaml", "name: I. Tern,", "name: Zo\u00eb Wei\u00df, organisation: WEHR UND SCHLEUSE,")
    code, _, err = run("issue", "day.yaml", "--identity", "zoe.p12", "--template", template)
    assert (code, err) == (0, "")
    code, out, _ = run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem", "--register", ".", "--details")
    assert code == 0, out
    assert "not done" not in out


def edit(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
def test_a_time_that_is_proven(run, keys, two_signers, contract, service):  # noqa: F811 - the fixture
    def answer(query: bytes):
        stamper = made.timestamper(NOW + dt.timedelta(seconds=2))
        return 200, REPLY, stamper.request_tsa_response(tsp.TimeStampReq.load(query)).dump()

    authority = contract / "time.pem"
    authority.write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    url = service(answer)
    code, _, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--timestamp", url)
    assert (code, err) == (0, "")
    trust = [
        word for name in ("keys/i-tern-root.pem", "keys/e-falk-root.pem", "time.pem") for word in ("--trust", name)
    ]
    said = " ".join(run("verify", "reports/SL-1-001.pdf", *trust).out.split())
    assert "a certificate you trust, at 2026-05-04T15:10:02+00:00, proven by Harbour Time, Harbour Works." in said
    sign = ("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o", "both.pdf")
    assert run(*sign, "--timestamp", url).code == 0
    said = " ".join(run("verify", "both.pdf", *trust).out.split())
    assert said.count("proven by Harbour Time") == 2


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
@pytest.mark.parametrize("off", [dt.timedelta(days=-400), dt.timedelta(minutes=-6), dt.timedelta(days=2)])
def test_a_service_of_another_time_issues_nothing(run, keys, two_signers, contract, service, off):  # noqa: F811
    stamper = made.timestamper(NOW + off)
    url = service(lambda query: (200, REPLY, stamper.request_tsa_response(tsp.TimeStampReq.load(query)).dump()))
    code, out, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--timestamp", url)
    assert (code, out) == (4, "")
    said = " ".join(err.split())
    assert f"the timestamp service says that it is {NOW + off:%Y-%m-%d %H:%M}" in said
    assert "; nothing was issued" in said
    assert "help: set the clock of this machine, use another service, or sign without a timestamp" in said
    assert not list(contract.rglob("SL-1-001*"))
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0, "the number is still free"
    sign = ("countersign", "reports/SL-1-001.pdf", "--identity", "keys/e-falk.p12", "-o", "both.pdf")
    assert run(*sign, "--timestamp", url).code == 4
    assert not (contract / "both.pdf").exists()


@pytest.mark.allow_hosts(["127.0.0.1"])
@pytest.mark.enable_socket
def test_a_service_that_fails_leaves_nothing(run, keys, contract, service):  # noqa: F811 - the fixture
    url = service(lambda _: (503, "text/plain", b""))
    code, out, err = run("issue", "day.yaml", "--identity", "keys/i-tern.p12", "--timestamp", url)
    assert (code, out) == (4, "")
    assert "answers 503 Service Unavailable" in " ".join(err.split())
    assert err.endswith(" help: sign without a timestamp, or later\n")
    assert not list(contract.rglob("SL-1-001*"))
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0, "the number is still free"


@needs_program("softhsm2-util")
def test_a_key_that_never_leaves_its_token(run, contract, put):  # noqa: F811 - the fixture
    put("work", ("signing", made.certify(made.named("I. Tern"), made.ec_key(), made.root())), issuers=(made.root(),))
    pin = contract / "pin"
    pin.write_text(PIN + "\n", encoding="utf-8")
    pin.chmod(0o600)
    uri = f"pkcs11:token=work;object=signing?module-path={MODULE}"
    code, _, err = run("issue", "day.yaml", "--identity", uri, "--passphrase-file", "pin")
    assert (code, err) == (0, "")
    root = contract / "root.pem"
    root.write_bytes(made.root().certificate.public_bytes(serialization.Encoding.PEM))
    assert run("verify", "reports/SL-1-001.pdf", "--trust", "root.pem").code == 0


def test_codes_and_areas_are_explained(run, demo):
    code, out, _ = run("explain", "dew-point-margin")
    assert code == 0
    assert out.startswith("code:    dew-point-margin\nmeaning: The steel was too near to the dew point")
    assert json.loads(run("explain", "--json", "JOB110").out)["code"] == "JOB110"
    assert run("explain", "JOB999").err == (
        "error: `JOB999` is no code of this program\n help: a day file is explained with --area ID\n"
    )
    assert "did you mean `dew-point-margin`?" in run("explain", "dew-point-margins").err
    code, out, _ = run("explain", demo / "2026-06-09.yaml", "--area", "K-3")
    assert code == 0
    assert all(len(line) <= 80 for line in out.splitlines())
    assert out.startswith("  1  ")
    steps = json.loads(run("explain", "--json", "day.yaml", "--area", "A-1").out)["steps"]
    assert [one["what"]["code"] for one in steps[:2]] == ["at-spot", "at-location"]
    assert steps[0]["what"]["place"]["location"] == "1"
