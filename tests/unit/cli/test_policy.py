"""The policy of whoever verifies, and pins in the project file, through every command that goes by them."""

import hashlib
import json
import shutil

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.audit import PROBLEMS
from reportgen.seal import new_identity
from tests.unit.cli.conftest import NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")

REPORT = "reports/SL-1-001.pdf"
LACKING = "a revocation list or answer of Root of Body, Body that is current on 2026-05-04"


def sha256(file):
    """The SHA-256 of a certificate file, by another library than ours."""
    data = x509.load_pem_x509_certificate(file.read_bytes()).public_bytes(Encoding.DER)
    return hashlib.sha256(data).hexdigest()


@pytest.fixture(scope="module")
def made_once(tmp_path_factory):
    """Identities of the inspector, of a namesake whom another authority certified, and of her by another name."""
    place = tmp_path_factory.mktemp("identities")
    for folder, name in (("keys", "I. Tern"), ("others", "I. Tern"), ("married", "I. Tern-Falk")):
        (place / folder).mkdir()
        wanted = {"organisation": "Body", "at": NOW, "years": 3, "passphrase": "a passphrase for tests"}
        new_identity(place / folder, name=name, **wanted)
    return place


@pytest.fixture
def keys(run, contract, made_once):
    """The contract folder with these identities."""
    shutil.copytree(made_once, contract, dirs_exist_ok=True)
    return contract


@pytest.fixture
def sent(run, keys):
    """A submittal signed by the namesake."""
    assert run("issue", "day.yaml", "--identity", "others/i-tern.p12").code == 0
    assert run("submittal", REPORT, *policy(keys, ""), "--identity", "others/i-tern.p12", "-o", "out.pdf").code == 0
    return keys / "out.pdf"


def pin(run, where):
    file = where if where.endswith(".p12") else f"{where}/i-tern.p12"
    return json.loads(run("identity", "show", "--json", file).out)["signs_with"]["certificate"]


def pinned(contract, entry):
    """Let the project file pin the inspector's certificate."""
    project = contract / "project.yaml"
    ines = "ines: {name: I. Tern, role: inspector"
    project.write_text(project.read_text("utf-8").replace(ines, f"{ines}, signs_with: {entry}"), "utf-8")


def policy(contract, text, name="trust.yaml", root="keys/i-tern-root.pem, others/i-tern-root.pem"):
    (contract / name).write_text(f"roots: [{root}]\n{text}", "utf-8")
    return "--policy", name


def verified(run, *arguments):
    code, out, _ = run("verify", "--json", REPORT, *arguments)
    (answer,) = json.loads(out)
    return code, answer, [reason["name"] for reason in answer["reasons"]]


def test_the_pin_that_is_shown_is_the_certificate_s(run, keys):
    told = json.loads(run("identity", "show", "--json", "keys/i-tern.p12").out)
    assert told["signs_with"]["certificate"] == told["fingerprint"].replace(":", "").lower()
    assert told["issued_by"] == {"issuer": sha256(keys / "keys/i-tern-root.pem"), "subject": "O=Body,CN=I. Tern"}
    shown = run("identity", "show", "keys/i-tern.p12").out
    assert f"\n  certificate: {told['signs_with']['certificate']}\n" in shown
    assert shown.endswith(f"  issuer: {told['issued_by']['issuer']}\n  subject: O=Body,CN=I. Tern\n")


def test_a_policy_is_gone_by_and_told(run, keys):
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    given = policy(keys, f"people:\n  ines: {{certificate: {pin(run, 'keys')}}}\n")
    code, answer, reasons = verified(run, *given)
    assert (code, reasons) == (0, [])
    assert answer["policy_sha256"] == hashlib.sha256((keys / "trust.yaml").read_bytes()).hexdigest()
    assert answer["signers"][0]["bound_by"] == "policy"
    said = " ".join(run("verify", REPORT, *given).out.split())
    assert "; the policy names this certificate." in said
    assert f"By the policy with the SHA-256 {answer['policy_sha256']}." in said


@pytest.mark.parametrize("by", ["ines", "i.  TERN", "issuer"])
def test_a_namesake_fails_by_the_policy_and_by_nothing_else(run, keys, by):
    assert run("issue", "day.yaml", "--identity", "others/i-tern.p12").code == 0
    assert verified(run, *policy(keys, ""))[2] == []
    entry = f"certificate: {pin(run, 'keys')}"
    if by == "issuer":
        entry, by = f"issuer: {sha256(keys / 'keys/i-tern-root.pem')}, subject: 'O=Body,CN=I. Tern'", "ines"
    code, _, reasons = verified(run, *policy(keys, f"people:\n  {by}: {{{entry}}}\n"))
    assert (code, reasons) == (1, ["SIGNER_NOT_PINNED"])


def test_the_project_file_s_pin_binds_who_issues(run, keys):
    pinned(keys, f"{{certificate: {pin(run, 'keys')}}}")
    refused = run("issue", "day.yaml", "--identity", "others/i-tern.p12")
    said = " ".join(refused.err.split())
    assert refused.code == 2
    assert "this identity is not that of the inspector: the SHA-256 of its certificate is" in said
    assert f"enter `signs_with: {{certificate: {pin(run, 'others')}}}` there" in said
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    _, answer, reasons = verified(run, *policy(keys, ""))
    assert (reasons, answer["signers"][0]["bound_by"]) == ([], "project")


@pytest.mark.parametrize(("subject", "same"), [("CN=I. Tern,O=Body", True), ("O=Other,CN=I. Tern", False)])
def test_a_subject_in_another_order_is_told_as_that(run, keys, subject, same):
    pinned(keys, f"{{issuer: {sha256(keys / 'keys/i-tern-root.pem')}, subject: '{subject}'}}")
    refused = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    said = " ".join(refused.err.split())
    assert refused.code == 2
    assert f"its certificate is that of `O=Body,CN=I. Tern`, not of `{subject}`" in said
    assert ("the parts are the same" in said) is same


def test_a_name_that_was_changed_needs_a_pin(run, keys):
    married = "married/i-tern-falk.p12"
    assert run("issue", "day.yaml", "--identity", married).code == 2
    entry = json.loads(run("identity", "show", "--json", married).out)["issued_by"]
    pinned(keys, f"{{issuer: {entry['issuer']}, subject: '{entry['subject']}'}}")
    issued = run("issue", "day.yaml", "--identity", married)
    said = " ".join(issued.err.split())
    assert issued.code == 0
    assert "the certificate names `I. Tern-Falk`, not `I. Tern`: only the project file says" in said
    assert f"`people: {{I. Tern: {{certificate: {pin(run, 'married/i-tern-falk.p12')}}}}}`" in said
    # that file is the signer's own word: only whoever verifies can say that both names are one person's
    given = policy(keys, "", "alone.yaml", root="married/i-tern-falk-root.pem")
    code, answer, reasons = verified(run, *given)
    assert (code, answer["overall"], reasons) == (1, "indeterminate", ["SIGNER_NOT_NAMED"])
    assert "the certificate names `I. Tern-Falk`, not `I. Tern`; the report's own project file" in str(
        answer["reasons"]
    )
    people = f"people: {{I. Tern: {{certificate: {pin(run, 'married/i-tern-falk.p12')}}}}}\n"
    given = policy(keys, people, "pinned.yaml", root="married/i-tern-falk-root.pem")
    assert verified(run, *given)[::2] == (0, [])


def many_signed(run, keys, *days):
    """Issue a report of each (identity, name of the inspector) and return the folder that holds them."""
    archive = keys / "archive"
    archive.mkdir()
    for number, (identity, name) in enumerate(days, start=1):
        here = keys / f"contract-{number}"
        here.mkdir()
        for file in keys.glob("*.yaml"):
            shutil.copy(file, here)
        day, project = here / "day.yaml", here / "project.yaml"
        day.write_text(day.read_text("utf-8").replace("SL-1-001", f"SL-{number}-001"), "utf-8")
        entry = f"{{name: {name}, signs_with: {{certificate: {pin(run, identity)}}}, role: inspector"
        project.write_text(project.read_text("utf-8").replace("{name: I. Tern, role: inspector", entry), "utf-8")
        assert run("issue", day, "--identity", identity).code == 0
        shutil.copy(next((here / "reports").glob("*.pdf")), archive)
    return archive


def test_an_audit_asks_about_people_as_reports_name_them(run, keys):
    days = [("keys/i-tern.p12", "I. Tern"), ("married/i-tern-falk.p12", "I. Tern"), ("keys/i-tern.p12", "\u0406. Tern")]
    archive = many_signed(run, keys, *days)
    given = policy(keys, "", root="keys/i-tern-root.pem, married/i-tern-falk-root.pem")
    told = json.loads(run("audit", archive, *given, "--index", "a.sqlite", "--json").out)
    found = {one["code"]: one["sentence"] for one in told["problems"]}
    assert "I. Tern signs with 2 certificates" in found["several-certificates"]
    assert "(I. Tern-Falk, Body; SL-2-001.pdf)" in found["several-certificates"]
    shared = "signs for I. Tern (SL-1-001.pdf), \u0406<U+0406>. Tern (SL-3-001.pdf)"
    assert shared in found["shared-certificate"]
    both = "`I. Tern` (SL-1-001.pdf) and `\u0406<U+0406>. Tern` (SL-3-001.pdf) look alike"
    assert both in found["names-look-alike"]


def test_a_file_that_was_not_read_has_no_hash(run, keys):
    (keys / "archive").mkdir()
    with (keys / "archive" / "large.pdf").open("wb") as stream:
        stream.truncate(257 << 20)  # without a byte of it on the disk
    told = json.loads(run("audit", "archive", *policy(keys, ""), "--index", "a.sqlite", "--json").out)
    (file,) = told["files_not_passed"]
    assert file["reasons"][0]["name"] == "RESOURCE_LIMIT"
    assert "sha256" not in file


def test_the_report_prints_and_states_the_certificate(run, keys):
    from reportgen.archival import read_attachments
    from reportgen.verification.pageread import page_texts

    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    pdf = (keys / REPORT).read_bytes()
    assert pin(run, "keys") in "".join("".join(page_texts(pdf)).split())
    assert json.loads(read_attachments(pdf)["issue.json"])["certificate"] == pin(run, "keys")
    assert run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf").code == 0
    assert "certificate" not in json.loads(read_attachments((keys / "demo.pdf").read_bytes())["issue.json"])


@pytest.mark.parametrize(
    ("required", "step", "why"),
    [
        (
            "revocation",
            5,
            f"the policy requires that revocation is checked, and this is missing: {LACKING}",
        ),
        ("timestamp", 6, "the policy requires that a trusted authority proves the time of each signature"),
        ("register", 11, "the policy requires that the register is compared, and it was not"),
    ],
)
def test_what_a_policy_requires(run, keys, required, step, why):
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    given = policy(keys, f"require: [{required}]\n")
    code, answer, reasons = verified(run, *given)
    assert (code, answer["overall"], reasons) == (1, "indeterminate", ["REQUIRED"])
    found = [(one["name"], one["sentence"]) for one in answer["steps"][step - 1]["reasons"]]
    assert found == [("REQUIRED", why)]
    if required == "register":
        assert verified(run, *given, "--register", ".")[0] == 0


def test_confinement_is_required_where_there_is_none(run, keys, monkeypatch):
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    given = policy(keys, "require: [confinement]\n")
    assert verified(run, *given)[0] == 0
    monkeypatch.setattr("reportgen.issued.examination.is_confined", lambda: False)
    code, answer, reasons = verified(run, *given)
    assert (code, reasons) == (1, ["REQUIRED"])
    assert any(text.startswith("not confined: ") for text in answer["steps"][0]["details"])


def test_revocation_data_of_a_policy_are_used(run, keys):
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    from reportgen.seal.identity import open_store

    _, key, root, _ = open_store(keys / "keys/i-tern-root.p12", "a passphrase for tests")
    leaf = open_store(keys / "keys/i-tern.p12", "a passphrase for tests")[2]
    moment = leaf.not_valid_before_utc
    builder = x509.CertificateRevocationListBuilder(root.subject, moment, moment.replace(year=2027))
    for name, listed in (("none", ()), ("her", (leaf,))):
        made_list = builder
        for one in listed:
            entry = x509.RevokedCertificateBuilder(one.serial_number, moment).build()
            made_list = made_list.add_revoked_certificate(entry)
        (keys / f"{name}.crl").write_bytes(made_list.sign(key, hashes.SHA256()).public_bytes(Encoding.PEM))
    assert verified(run, *policy(keys, "crls: [none.crl]\nrequire: [revocation]\n"))[2] == []
    code, answer, reasons = verified(run, *policy(keys, "crls: [her.crl]\n"))
    assert (code, answer["overall"]) == (1, "indeterminate")
    assert "REVOKED_NO_POE" in reasons


def test_a_list_of_the_first_version_is_refused_in_a_sentence_wherever_one_is_given(run, keys):
    """It has no extensions, and so does not say of which certificates and reasons it is: RFC 5280, 5.1.2.1."""
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    from asn1crypto import crl

    from reportgen.seal.identity import open_store

    _, key, root, _ = open_store(keys / "keys/i-tern-root.p12", "a passphrase for tests")
    begin = root.not_valid_before_utc
    builder = x509.CertificateRevocationListBuilder(root.subject, begin, begin.replace(year=begin.year + 1))
    held = crl.CertificateList.load(builder.sign(key, hashes.SHA256()).public_bytes(Encoding.DER))
    held["tbs_cert_list"]["version"] = 0
    (keys / "one.crl").write_bytes(held.dump(force=True))
    report = next((keys / "reports").glob("*.pdf"))
    given, signed = policy(keys, "crls: [one.crl]\n"), ("--identity", "keys/i-tern.p12")
    for command in (
        ("verify", report, *given),
        ("audit", "reports", *given, "--index", "a.sqlite"),
        ("submittal", "reports", *given, "--identity", "demo", "-o", "s.pdf"),
        ("issue", "day.yaml", *signed, "--crl", "one.crl", "-o", "again.pdf"),
        ("renew", report, "--due", "12months", "--crl", "one.crl"),
    ):
        said = run(*command)
        assert (command[0], said.code) == (command[0], 2), said.err
        assert "one.crl cannot be used: it is a list of version 1" in " ".join(said.err.split())


def test_audit_and_submittal_go_by_it(run, keys):
    assert run("issue", "day.yaml", "--identity", "others/i-tern.p12").code == 0
    given = policy(keys, f"people:\n  ines: {{certificate: {pin(run, 'keys')}}}\n", "pinned.yaml")
    told = json.loads(run("audit", "reports", *given, "--index", "a.sqlite", "--json").out)
    assert told["files"] == {"failed": 1}
    assert told["policy_sha256"] == hashlib.sha256((keys / "pinned.yaml").read_bytes()).hexdigest()
    told = json.loads(run("audit", "reports", *policy(keys, ""), "--index", "a.sqlite", "--json").out)
    assert told["files"] == {"passed": 1}
    refused = run("submittal", "reports", *given, "--identity", "demo", "-o", "s.pdf")
    assert refused.code != 0
    assert "signs with another certificate" in " ".join(refused.err.split())
    enclosed = run("submittal", REPORT, *policy(keys, ""), "--identity", "others/i-tern.p12", "-o", "sent.pdf")
    assert enclosed.code == 0, enclosed.err
    assert run("verify", "sent.pdf", *policy(keys, "")).code == 0
    other = policy(keys, f"people:\n  sender: {{certificate: {pin(run, 'keys')}}}\n")
    (answer,) = json.loads(run("verify", "--json", "sent.pdf", *other).out)
    assert [reason["name"] for reason in answer["reasons"]] == ["SIGNER_NOT_PINNED"]


@pytest.mark.parametrize(
    ("people", "reasons"),
    [
        ("{I. Tern: OTHERS}", []),
        ("{I. Tern: KEYS}", ["SIGNER_NOT_PINNED"]),
        ("{'i.  TERN': KEYS}", ["SIGNER_NOT_PINNED"]),
        ("{sender: OTHERS, I. Tern: KEYS}", ["SIGNER_NOT_PINNED"]),
        ("{sender: KEYS, I. Tern: OTHERS}", ["SIGNER_NOT_PINNED"]),
        ("{sender: OTHERS, I. Tern: OTHERS}", []),
        ("{A. Nother: KEYS}", []),
    ],
)
def test_a_sender_is_pinned_by_name_too(run, keys, sent, people, reasons):
    entry = people
    for folder in ("keys", "others"):
        entry = entry.replace(folder.upper(), f"{{certificate: {pin(run, folder)}}}")
    shutil.copy(sent, keys / "sent.pdf")
    (answer,) = json.loads(run("verify", "--json", "sent.pdf", *policy(keys, f"people: {entry}\n")).out)
    assert [reason["name"] for reason in answer["steps"][4]["reasons"]] == reasons


def test_an_audit_reports_one_person_with_two_certificates(run, keys):
    assert PROBLEMS["several-certificates"].weight == "screening"
    archive = keys / "archive"
    archive.mkdir()
    for number, folder in ((1, "keys"), (2, "others")):
        here = keys / f"contract-{number}"
        here.mkdir()
        for file in keys.glob("*.yaml"):
            shutil.copy(file, here)
        day = here / "day.yaml"
        day.write_text(day.read_text("utf-8").replace("SL-1-001", f"SL-{number}-001"), "utf-8")
        assert run("issue", day, "--identity", f"{folder}/i-tern.p12").code == 0
        shutil.copy(next((here / "reports").glob("*.pdf")), archive)
    told = json.loads(run("audit", archive, *policy(keys, ""), "--index", "a.sqlite", "--json").out)
    (found,) = [one for one in told["problems"] if one["code"] == "several-certificates"]
    assert "I. Tern signs with 2 certificates" in found["sentence"]
    assert "(I. Tern, Body; SL-1-001.pdf)" in found["sentence"]
    assert all(pin(run, folder) in found["sentence"] for folder in ("keys", "others"))


def pinning(digit):
    return f"{{certificate: {digit * 64}}}"


WRONG = [
    ("people: {ines: {}}", "a pin names one certificate, or an issuer and a subject"),
    ("people: {ines: {certificate: abc}}", "`abc` is no SHA-256"),
    ("people: {ines: {issuer: " + "a" * 64 + "}}", "a pin names one certificate, or an issuer and a subject"),
    (f"people: {{I. Tern: {pinning('a')}, i. TERN: {pinning('b')}}}", "`I. Tern` and `i. TERN` are one name"),
    ("require: [luck]", "`luck` is not a choice for `require`"),
    ("not_rebuilt: perhaps", "perhaps"),
    ("trusted: yes", "unknown field `trusted`"),
    ("crls: [none.crl]", "none.crl cannot be read: No such file or directory"),
    ("ocsps: [project.yaml]", "project.yaml cannot be used: it is no answer about revocation that can be read"),
    ("roots: []\nroots: []", "roots"),
]


@pytest.mark.parametrize(("text", "said"), WRONG, ids=[text[:20] for text, _ in WRONG])
def test_what_is_wrong_in_a_policy_is_said_with_its_place(run, keys, text, said):
    (keys / "trust.yaml").write_text(f"{text}\n", "utf-8")
    refused = run("verify", "day.yaml", "--policy", "trust.yaml")
    assert refused.code == 2
    assert said in " ".join(refused.err.split())
    assert "trust.yaml" in refused.err or "cannot be read" in refused.err or "cannot be used" in refused.err


def test_roots_are_named_in_one_place(run, keys):
    refused = run("verify", "day.yaml", *policy(keys, ""), "--trust", "keys/i-tern-root.pem")
    assert refused.code == 2
    assert "a policy names its roots itself" in refused.err
