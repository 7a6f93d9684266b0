"""Trust in a signer's own certificate, through the commands: one that stands alone, one that an authority issued."""

import datetime as dt
import json

import pytest
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.seal.protection import protected
from tests.unit.cli.conftest import NOW
from tests.unit.verification import signed_material as made

pytestmark = pytest.mark.usefixtures("stopped_clock")

REPORT = "reports/SL-1-001.pdf"
LIFE = {"begin": NOW - dt.timedelta(days=30), "end": NOW + dt.timedelta(days=700)}
ROOT = made.certify(made.named("Root of Body"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY, **LIFE)
ALONE = made.certify(made.named("I. Tern", "Body"), made.ec_key(), None, **LIFE)
BELOW = made.certify(made.named("I. Tern", "Body"), made.ec_key(), ROOT, **LIFE)


@pytest.fixture
def issued(run, contract):
    """Issue with an identity that holds nothing but the signer's certificate, and write that for whoever verifies."""

    def issue(pair):
        secret = "a passphrase for tests"
        (contract / "alone.p12").write_bytes(protected("I. Tern", pair.key, pair.certificate, [], secret))
        for name, one in (("signer.pem", pair), ("root.pem", ROOT)):
            (contract / name).write_bytes(one.certificate.public_bytes(Encoding.PEM))
        return run("issue", "day.yaml", "--identity", "alone.p12")

    return issue


def test_a_certificate_that_stands_alone_is_trusted_as_itself_and_said_to_be(run, issued, contract):
    assert issued(ALONE).code == 0
    shown = run("verify", REPORT, "--trust", "signer.pem")
    said = " ".join(shown.out.split())
    assert shown.code == 0
    assert "with this very certificate, which you trust and no authority issued, at" in said
    assert "; the name in it is its holder's own word." in said
    told = " ".join(run("verify", REPORT, "--trust", "signer.pem", "--details").out.split())
    assert "with no authority above it; revocation not possible" in told
    assert "trust this very certificate, no authority" in told
    assert run("verify", REPORT, "--trust", "root.pem").code == 1
    assert run("verify", REPORT, "--trust", "signer.pem", "--record", "record.pdf").code == 0
    from reportgen.verification.pageread import page_texts

    text = " ".join(" ".join(page_texts((contract / "record.pdf").read_bytes())).split())
    assert "no authority: this very certificate is trusted" in text


def test_it_can_be_pinned_and_revocation_of_it_cannot_be_had(run, issued, contract):
    assert issued(ALONE).code == 0
    pin = json.loads(run("identity", "show", "--json", "alone.p12").out)["signs_with"]["certificate"]
    entry = f"people: {{ines: {{certificate: {pin}}}}}\n"
    (contract / "trust.yaml").write_text(f"roots: [signer.pem]\n{entry}", "utf-8")
    said = " ".join(run("verify", REPORT, "--policy", "trust.yaml").out.split())
    assert "; the policy names this certificate." in said
    (contract / "trust.yaml").write_text(f"roots: [signer.pem]\n{entry}require: [revocation]\n", "utf-8")
    (answer,) = json.loads(run("verify", "--json", REPORT, "--policy", "trust.yaml").out)
    assert [reason["name"] for reason in answer["reasons"]] == ["REQUIRED"]


def test_a_certificate_that_an_authority_issued_is_not_trusted_in_its_place(run, issued):
    shown = issued(BELOW)
    assert shown.code == 0, "it signs without its issuer's certificate, with a warning"
    assert "offline verification needs it" in shown.err + shown.out
    shown = run("verify", REPORT, "--trust", "signer.pem")
    said = " ".join(shown.out.split())
    assert (shown.code, "[NO_CERTIFICATE_CHAIN_FOUND]" in said) == (1, True)
    assert (
        "the trusted certificate of I. Tern, Body is left out, for it is no authority's: trust that of Root of Body,"
        " Harbour Works, who issued it and can revoke it, and pin the signer's in a policy (`people`)"
    ) in said
    assert run("verify", REPORT, "--trust", "root.pem").code == 0
    assert run("verify", REPORT, "--trust", "root.pem", "--trust", "signer.pem").code == 0


@pytest.mark.parametrize(("pair", "trusted"), [(ALONE, "signer.pem"), (BELOW, "root.pem")], ids=["alone", "below"])
def test_a_submittal_is_signed_with_either(run, issued, pair, trusted):
    assert issued(pair).code == 0
    filed = run("submittal", REPORT, "--identity", "alone.p12", "--trust", trusted, "-o", "submittal.pdf")
    assert filed.code == 0, filed.err
    assert run("verify", "submittal.pdf", "--trust", trusted).code == 0
