"""Whom a report names is the person with the certificate that it pins: a namesake's undoes nothing it left open."""

import datetime as dt
import json
import shutil
from typing import NamedTuple

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import pkcs12

from reportgen.seal import authority, new_identity
from tests.footbridge import BODY, CLOSED, INSPECTOR, OPEN, PROJECT, SMOOTH, day, folder
from tests.unit.cli.conftest import _CLOCKS

ISSUED = dt.datetime(2026, 5, 7, 8, tzinfo=dt.UTC)
SECRET = "a passphrase for tests"
FAILED, FAILED_AND_RAISED = day(1, SMOOTH), day(1, SMOOTH, raised=OPEN)
CLOSING, RELEASING, REVISING = day(2, raised=CLOSED, reinspects=True), day(2), day(1, "2.7", revision=1)
TRUST = ("--trust", "true/a-vintry-root.pem", "--trust", "other/a-vintry-root.pem")
SUBJECT = f"O={BODY},CN={INSPECTOR}"


class Keys(NamedTuple):
    """The folder of the identities, and how a project file pins each: by certificate, and by issuer and subject."""

    place: object
    certificate: dict
    issuer: dict

    def pin(self, how):
        """The entry of a person for ``certificate of WHOM`` or ``issuer of WHOM``; nothing for nobody."""
        if not how:
            return ""
        kind, _, whom = how.partition(" of ")
        return f", signs_with: {{{getattr(self, kind)[whom]}}}"


@pytest.fixture(scope="module")
def keys(tmp_path_factory):
    """The inspector, a namesake whom another authority certified, and the inspector's renewed certificate."""
    place, begin = tmp_path_factory.mktemp("keys"), ISSUED - dt.timedelta(days=30)
    for name in ("true", "other", "renewed"):
        (place / name).mkdir()
    for name in ("true", "other"):
        new_identity(place / name, name=INSPECTOR, organisation=BODY, at=begin, years=2, passphrase=SECRET)
    key, root, _ = pkcs12.load_key_and_certificates((place / "true/a-vintry-root.p12").read_bytes(), SECRET.encode())
    own = rsa.generate_private_key(public_exponent=65537, key_size=2048)
    name = authority._distinguished(INSPECTOR, BODY)
    end = begin + dt.timedelta(days=700)
    renewed = authority._certificate(name, own, begin, end, issuer=(root, key))
    (place / "renewed/a-vintry.p12").write_bytes(authority.protected(INSPECTOR, own, renewed, [root], SECRET))
    pins, issuers = {}, {}
    for whom in ("true", "other", "renewed"):
        data = (place / whom / "a-vintry.p12").read_bytes()
        _, certificate, (above, *_) = pkcs12.load_key_and_certificates(data, SECRET.encode())
        pins[whom] = f"certificate: {fingerprint(certificate)}"
        issuers[whom] = f"issuer: {fingerprint(above)}, subject: '{SUBJECT}'"
    return Keys(place, pins, issuers)


def fingerprint(certificate: x509.Certificate) -> str:
    return certificate.fingerprint(hashes.SHA256()).hex()


@pytest.fixture
def issued(run, contract, keys, monkeypatch):
    """Issue a report, and another in a copy of its folder; each by whom, pinned how. They lie in ``archive``."""
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", SECRET)
    shutil.copytree(keys.place, contract, dirs_exist_ok=True)

    def both(first, then, names=("a.pdf", "b.pdf")):
        (contract / "archive").mkdir()
        for number, (text, who, how) in enumerate((first, then)):
            for place in _CLOCKS:
                at = ISSUED + dt.timedelta(minutes=number)
                monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda at=at: at, raising=False)
            if number:
                shutil.copytree(contract / "0", contract / "1")
            vintry = f"name: {INSPECTOR}, role: inspector"
            project = PROJECT.replace(vintry, vintry + keys.pin(how))
            project = project.replace(f"{INSPECTOR}, role", f"{INSPECTOR}, organisation: {BODY}, role")
            place = folder(contract / str(number), project=project, **{f"day-{number}": text})
            before = set(place.glob("reports/*.pdf"))
            monkeypatch.chdir(place)
            said = run("issue", f"day-{number}.yaml", "--identity", f"../{who}/a-vintry.p12")
            assert said.code == 0, said.err
            monkeypatch.chdir(contract)
            (new,) = set(place.glob("reports/*.pdf")) - before
            shutil.copy(new, contract / "archive" / names[number])

    return both


def audited(run, *trust):
    said = run("audit", "archive", *(trust or TRUST), "--index", "i.sqlite", "--json")
    problems = {one["code"]: one for one in json.loads(said.out)["problems"]}
    rows = json.loads(run("audit", "query", "areas", "--index", "i.sqlite", "--json").out)["rows"]
    return said.code, problems, next(one["state"] for one in rows if one["area"] == "B-1")


def released(run, *trust):
    key = ("--identity", "true/a-vintry.p12")
    return run("release", "B-1", "archive", *key, *(trust or TRUST), "--index", "i.sqlite", "-o", "page.pdf").code == 0


def submitted(run, *trust):
    """What is told on the way, and how many areas are released by it."""
    said = run("submittal", "archive", "--identity", "true/a-vintry.p12", *(trust or TRUST), "-o", "s.pdf")
    assert said.code == 0, said.err
    return " ".join((said.out + said.err).split())


NAMES = [("a.pdf", "b.pdf"), ("b.pdf", "a.pdf")]
BY_ISSUER, BY_CERTIFICATE = ("issuer of true", "issuer of other"), ("certificate of true", "certificate of other")
LEFT_OUT = [("certificate of true", ""), ("issuer of true", "")]
UNDOING = {
    "closing-not-entitled": (FAILED_AND_RAISED, CLOSING),
    "release-not-entitled": (FAILED, RELEASING),
    "revision-not-entitled": (day(1), REVISING),
}


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize(
    ("code", "pins"),
    [
        *(("closing-not-entitled", pins) for pins in (BY_ISSUER, BY_CERTIFICATE, *LEFT_OUT)),
        ("release-not-entitled", BY_ISSUER),
        ("release-not-entitled", LEFT_OUT[0]),
        ("revision-not-entitled", BY_ISSUER),
        ("revision-not-entitled", LEFT_OUT[0]),
    ],
)
def test_a_namesake_undoes_nothing(run, contract, issued, names, code, pins):
    (first, then), revises = UNDOING[code], "revision" in code
    issued((first, "true", pins[0]), (then, "other", pins[1]), names)
    answers = json.loads(run("verify", "archive/a.pdf", "archive/b.pdf", *TRUST, "--json").out)
    assert [one["overall"] for one in answers] == ["passed", "passed"]
    barred = [one["name"] for answer in answers for one in answer["notices"] if one["name"] == "NOT_ENTITLED"]
    assert len(barred) == (2 if revises else 0)
    status, problems, state = audited(run)
    assert (status, problems[code]["weight"], state) == (1, "fault", "released" if revises else "rework")
    assert problems[code]["files"] == [names[1], names[0]]
    assert problems[code]["sentence"].endswith("; one of that name is named there, with another certificate")
    assert not released(run)
    assert ("revision 0 does not name its signer" if revises else "may not") in submitted(run)
    rows = json.loads(run("audit", "query", "parameters", "--index", "i.sqlite", "--json").out)["rows"]
    assert revises or INSPECTOR in [one["field"] for one in rows]


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize(
    ("code", "who", "pins"),
    [
        ("closing-not-entitled", "renewed", ("issuer of true", "issuer of true")),
        ("release-not-entitled", "renewed", ("issuer of true", "issuer of true")),
        ("revision-not-entitled", "renewed", ("issuer of true", "issuer of true")),
        ("closing-not-entitled", "true", ("certificate of true", "certificate of true")),
        ("closing-not-entitled", "renewed", ("", "")),
        ("closing-not-entitled", "other", ("", "")),
        ("revision-not-entitled", "other", ("", "certificate of other")),
    ],
)
def test_the_inspector_undoes_it(run, contract, issued, names, code, who, pins):
    """Renewed under the issuer pinned; the same; by another certificate where the report pins none."""
    first, then = UNDOING[code]
    issued((first, "true", pins[0]), (then, who, pins[1]), names)
    status, problems, state = audited(run)
    assert problems.keys() <= {"issued-late", "several-certificates"}
    assert ("several-certificates" in problems) is (who != "true")
    assert (status, state) == (0, "released")
    assert released(run)
    said = submitted(run)
    assert "may not" not in said
    assert "does not name" not in said


@pytest.mark.parametrize("pinned", ["certificate of true", "issuer of true"])
def test_a_pin_of_the_policy_stands_above(run, contract, keys, issued, pinned):
    """Whoever verifies says by which authority the inspector is certified: then a report's own pin says no more."""
    issued((FAILED_AND_RAISED, "true", "certificate of true"), (CLOSING, "renewed", ""))
    assert "closing-not-entitled" in audited(run)[1]
    kind, _, whom = pinned.partition(" of ")
    people = f"people: {{{INSPECTOR}: {{{getattr(keys, kind)[whom]}}}}}"
    (contract / "trust.yaml").write_text(f"roots: [{', '.join(TRUST[1::2])}]\n{people}\n", "utf-8")
    _, problems, state = audited(run, "--policy", "trust.yaml")
    if kind == "certificate":
        assert ("file-failed" in problems, state) == (True, "rework")
    else:
        assert ("closing-not-entitled" in problems, state) == (False, "released")


@pytest.mark.parametrize("names", NAMES)
@pytest.mark.parametrize(
    ("pins", "told"),
    [
        (("certificate of true", "issuer of true"), f"certificates named for people ({INSPECTOR})"),
        (("certificate of true", ""), f"certificates named for people ({INSPECTOR} removed)"),
        (("", "certificate of true"), None),
        (("issuer of true", "issuer of true"), None),
    ],
)
def test_a_pin_that_changes_is_told(run, contract, issued, names, pins, told):
    issued((day(1), "true", pins[0]), (day(2), "true", pins[1]), names)
    _, problems, state = audited(run)
    assert state == "released"
    assert ("requirement-changed" in problems) is (told is not None)
    assert told is None or told in problems["requirement-changed"]["sentence"]
    assert told is None or told in submitted(run)
