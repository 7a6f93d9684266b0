"""Whom a report names is the person with the certificate that it pins: a namesake's undoes nothing it left open."""

import datetime as dt
import json
import shutil
from pathlib import Path
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
    """Issue a report, and another in a copy of its folder; each by whom, pinned how. They lie in ``archive``.

    ``apart`` is for one who is not let sign it there: he issues the first report in a folder of his own too, and what
    revises it without being asked whether he may.
    """
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", SECRET)
    shutil.copytree(keys.place, contract, dirs_exist_ok=True)

    def both(first, then, names=("a.pdf", "b.pdf"), *, apart=False):
        (contract / "archive").mkdir()
        revises = "revision: 1" in then[0]
        if apart and revises:
            monkeypatch.setattr("reportgen.pipeline.checking._not_theirs", lambda *_: ())
        for number, (text, who, how) in enumerate((first, then)):
            for place in _CLOCKS:
                at = ISSUED + dt.timedelta(minutes=number)
                monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda at=at: at, raising=False)
            if number and (revises or not apart):
                shutil.copytree(contract / "0", contract / "1")
            vintry = f"name: {INSPECTOR}, role: inspector"
            project = PROJECT.replace(vintry, vintry + keys.pin(how))
            project = project.replace(f"{INSPECTOR}, role", f"{INSPECTOR}, organisation: {BODY}, role")
            place = folder(contract / str(number), project=project, **{f"day-{number}": text})
            if number and apart and not revises:
                folder(place, project=project, **{"day-0": first[0]})
                monkeypatch.chdir(place)
                assert run("issue", "day-0.yaml", "--identity", f"../{who}/a-vintry.p12").code == 0
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
    issued((first, "true", pins[0]), (then, "other", pins[1]), names, apart=True)
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
    issued((FAILED_AND_RAISED, "true", "certificate of true"), (CLOSING, "renewed", ""), apart=True)
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


@pytest.fixture
def site(run, contract, keys, monkeypatch):
    """A folder in which the inspector issued a report that pins the certificate; a later day file is written there."""
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", SECRET)
    shutil.copytree(keys.place, contract, dirs_exist_ok=True)
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: ISSUED, raising=False)

    def later(text, how, first=FAILED_AND_RAISED, *, pinned="certificate of true", engineer=("", ""), takes_over=False):
        def project(pin, of_engineer, more=""):
            named = f"name: {INSPECTOR}, organisation: {BODY}, role: inspector{keys.pin(pin)}{more}"
            told = PROJECT.replace(f"name: {INSPECTOR}, role: inspector", named)
            role = "role: project engineer"
            return told.replace(role, f"{role}, organisation: Parish{keys.pin(of_engineer)}")

        place = folder(contract / "site", project=project(pinned, engineer[0]), **{"day-0": first})
        monkeypatch.chdir(place)
        assert run("issue", "day-0.yaml", "--identity", "../true/a-vintry.p12").code == 0
        named = f", takes_over: {{inspector: {INSPECTOR}, named_by: eng, evidence: letter}}" if takes_over else ""
        folder(place, project=project(how, engineer[1], named), **{"day-1": text})
        return run("check", "day-1.yaml")

    return later


@pytest.mark.parametrize(
    ("pinned", "how", "same"),
    [
        ("certificate of true", "certificate of true", True),
        ("issuer of true", "issuer of true", True),
        ("", "certificate of other", True),
        ("certificate of true", "certificate of other", False),
        ("certificate of true", "certificate of renewed", False),
        ("certificate of true", "issuer of true", False),
        ("issuer of true", "issuer of other", False),
        ("certificate of true", "", False),
    ],
)
@pytest.mark.parametrize(("first", "then"), [(FAILED_AND_RAISED, CLOSING), (FAILED, RELEASING)])
def test_whoever_works_is_whom_the_report_pins(site, first, then, pinned, how, same):
    said = site(then, how, first, pinned=pinned)
    words = " ".join((said.out + said.err).split())
    assert said.code == (0 if same else 1)
    why = f"HD-9-001 states by which certificate {INSPECTOR} signs (`signs_with`)"
    assert (why in words) is (not same and first is FAILED_AND_RAISED)  # else a nonconformance is asked for before


@pytest.mark.parametrize(
    ("engineer", "confirmed"),
    [
        (("", ""), True),
        (("", "certificate of other"), True),
        (("certificate of other", "certificate of other"), True),
        (("certificate of other", "certificate of renewed"), False),
        (("certificate of other", ""), False),
    ],
)
def test_a_renewed_certificate_is_confirmed_by_whom_the_report_pins(site, engineer, confirmed):
    """Who named the inspector successor is nobody, either, by another pin than the earlier report has."""
    said = site(CLOSING, "certificate of renewed", engineer=engineer, takes_over=True)
    assert said.code == (0 if confirmed else 1)
    words = " ".join(said.out.split())
    assert (f"{INSPECTOR} answers for what {INSPECTOR} found in HD-9-001" in words) is confirmed
    assert ("HD-9-001 states by which certificate E. Torrance signs" in words) is not confirmed


@pytest.mark.parametrize("other", ["organisation: Elsewhere, ", ""])
def test_whoever_works_is_of_the_organisation_that_the_report_states(run, site, other):
    """A certificate of that name, of whatever organisation, may sign where none is stated."""
    assert site(CLOSING, "certificate of true").code == 0
    project = Path("project.yaml")
    project.write_text(project.read_text("utf-8").replace(f"organisation: {BODY}, ", other), "utf-8")
    said = run("check", "day-1.yaml")
    why = f"HD-9-001 states of which organisation {INSPECTOR} is, and the project file of HD-9-002 another one, or none"
    assert (said.code, why in " ".join(said.out.split())) == (1, True)


@pytest.mark.parametrize("how", ["certificate of true", "certificate of other", "certificate of renewed", ""])
def test_a_revision_is_signed_by_whom_the_report_pins(run, site, how):
    said = site(REVISING, how, day(1))
    assert (said.code, "JOB253" in said.err) == ((0, False) if how == "certificate of true" else (2, True))
    project = Path("project.yaml")
    project.write_text(project.read_text("utf-8").replace(f"organisation: {BODY}", "organisation: Elsewhere"), "utf-8")
    assert "JOB253" in run("check", "day-1.yaml").err
    assert "JOB253" not in said.err or "states by which certificate A. Vintry signs" in " ".join(said.err.split())


def test_a_registered_revision_by_a_namesake_replaces_nothing(run, contract, issued):
    """Where a register has one all the same, issued by a program that does not ask."""
    issued((day(1), "true", "certificate of true"), (REVISING, "other", "certificate of other"), apart=True)
    asked = ("--register", "1", *TRUST)
    later = run("verify", "1/reports/HD-9-001-r1.pdf", *asked, "--json")
    first = run("verify", "1/reports/HD-9-001.pdf", *asked, "--json")
    answers = [json.loads(said.out)[0] for said in (later, first)]
    assert [one["standing"] for one in answers] == ["unknown", "current"]
    assert [[each["name"] for each in one["notices"]] for one in answers] == [["NOT_ENTITLED"]] * 2
    assert (later.code, first.code) == (1, 0)
    checked = run("register", "check", "1", *TRUST)
    assert (checked.code, "revision-not-entitled" in checked.out) == (1, True)


def test_a_registered_revision_by_the_inspector_stands(run, contract, issued):
    issued((day(1), "true", "certificate of true"), (REVISING, "true", "certificate of true"))
    asked = ("--register", "1", *TRUST)
    later = run("verify", "1/reports/HD-9-001-r1.pdf", *asked, "--json")
    first = run("verify", "1/reports/HD-9-001.pdf", *asked, "--json")
    standing = [json.loads(said.out)[0]["standing"] for said in (later, first)]
    assert standing == ["current", "superseded by revision 1"]
    assert (later.code, first.code, run("register", "check", "1", *TRUST).code) == (0, 1, 0)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("first", "then", "places"),
    [
        (FAILED_AND_RAISED, CLOSING, ["decides", "not entitled"]),
        (FAILED, RELEASING, ["decides", "not entitled"]),
    ],
)
def test_history_says_what_counts(run, contract, issued, name, first, then, places):
    issued((first, "true", "certificate of true"), (then, "other", "certificate of other"), name, apart=True)
    audited(run)
    told = json.loads(run("audit", "query", "area-history", "--area", "B-1", "--index", "i.sqlite", "--json").out)
    assert [one["place"] for one in told["rows"]] == places


@pytest.mark.parametrize("date", [1, 2, 3])
def test_two_files_of_one_number_dispute_each_other_and_a_page(run, contract, issued, date):
    """A page over one of them is no release beside the other, of the same day, of an earlier or of a later one."""
    other = day(date, SMOOTH).replace(f"HD-9-00{date}", "HD-9-001")
    issued((day(2).replace("HD-9-002", "HD-9-001"), "true", ""), (day(3), "true", ""))
    (contract / "archive/b.pdf").unlink()
    key = ("--identity", "true/a-vintry.p12")
    assert run("release", "B-1", "archive", *key, *TRUST, "-o", "page.pdf").code == 0
    folder(contract / "apart", project=(contract / "0/project.yaml").read_text("utf-8"), other=other)
    assert run("issue", "apart/other.yaml", *key).code == 0
    both = ("archive/a.pdf", "apart/reports/HD-9-001.pdf")
    said = run("verify", *both, *TRUST, "--json")
    assert said.code == 1
    assert [[one["name"] for one in each["notices"]] for each in json.loads(said.out)] == [["NUMBER_DISPUTED"]] * 2
    said = run("verify", "page.pdf", *both, *TRUST, "--json")
    page = json.loads(said.out)[0]
    assert page["standing"].startswith("disputed: ")
    assert "RELEASE_WITHDRAWN" in [one["name"] for one in page["notices"]]
    assert run("verify", "page.pdf", both[0], *TRUST).code == 0


@pytest.mark.parametrize(
    ("policy", "who", "how", "weight"),
    [
        ("issuer", "renewed", "certificate of renewed", "note"),
        ("", "renewed", "certificate of renewed", "doubt"),
        ("", "true", "issuer of true", "note"),
        ("", "other", "certificate of other", "doubt"),
    ],
)
def test_a_pin_that_changes_is_no_doubt_of_one_who_is_known(run, contract, keys, issued, policy, who, how, weight):
    """By the verifier's policy, or by the certificate that the report before pins; and then the area is released."""
    other = day(2, "2.7", area="B-2").replace("x1: 2.8", "x1: 2.9")
    issued((day(1), "true", "certificate of true"), (other, who, how))
    trust = TRUST
    if policy:
        people = f"people: {{{INSPECTOR}: {{{getattr(keys, policy)['true']}}}}}"
        (contract / "trust.yaml").write_text(f"roots: [{', '.join(TRUST[1::2])}]\n{people}\n", "utf-8")
        trust = ("--policy", "trust.yaml")
    _, problems, state = audited(run, *trust)
    assert (problems["requirement-changed"]["weight"], state) == (weight, "released")
    assert released(run, *trust) is (weight == "note")
