"""A day held against what was issued before it, by command: earlier days, and the report that a revision replaces."""

import pytest

from tests.e2e.conftest import PASSPHRASE, Tool
from tests.footbridge import BODY, COLLEAGUE, CONTRACTORS, INSPECTOR, OPEN, ROUGH, SMOOTH, day, folder

SECRET = {"REPORTGEN_PASSPHRASE": PASSPHRASE}


@pytest.fixture(scope="session")
def signers(tmp_path_factory):
    place = tmp_path_factory.mktemp("signers")
    run = Tool(place)
    for name, body in ((INSPECTOR, BODY), (COLLEAGUE, BODY), (CONTRACTORS, "Pellworth")):
        run("identity", "new", "made", "--name", name, "--organisation", body, env=SECRET)
    return {
        name: place / "made" / f"{name.replace('. ', '-').lower()}.p12" for name in (INSPECTOR, COLLEAGUE, CONTRACTORS)
    }


@pytest.fixture
def failed(tmp_path, signers):
    """A folder in which the first day was issued: its area failed, and NCR-001 is open."""
    place = folder(tmp_path / "hd", one=day(1, SMOOTH, raised=OPEN), two=day(2, reinspects=False))
    issued(place, "one", signers[INSPECTOR])
    return place


def issued(place, name, signer, code=0):
    result = Tool(place)("issue", f"{name}.yaml", "--identity", signer, code=code, env=SECRET)
    return " ".join(result.stderr.split())


def checked(place, name, code):
    return " ".join(Tool(place)("check", f"{name}.yaml", code=code).stderr.split())


def refused(place, name, signer):
    """What `issue` says when it refuses; nothing is registered or written by that."""
    kept = {path: path.read_bytes() for path in sorted(place.rglob("*")) if path.is_file()}
    said = issued(place, name, signer, code=2)
    left = {path: path.read_bytes() for path in sorted(place.rglob("*")) if path.is_file()}
    assert left == kept
    return said


# --- earlier days


def test_a_day_upon_an_earlier_one_as_issued_is_issued(failed, signers):
    assert "JOB25" not in checked(failed, "two", 1)
    assert "JOB25" not in issued(failed, "two", signers[INSPECTOR])


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda text: text + "bogus: 1\n", "is not as issued"),
        (lambda text: text.replace(OPEN, "").replace("nonconformances:", ""), "is not as issued"),
        (lambda text: text.replace(SMOOTH, ROUGH).replace("status: open", "status: open, evidence: none"), "is not as"),
        (lambda _: day(1, area="B-2"), "is not as issued"),
        (lambda _: None, "is missing"),
    ],
)
def test_an_earlier_day_that_is_not_as_issued_keeps_today_back(failed, signers, change, what):
    one = failed / "one.yaml"
    text = change(one.read_text(encoding="utf-8"))
    one.unlink() if text is None else one.write_text(text, encoding="utf-8")
    warned = " ".join(Tool(failed)("check", "two.yaml", "--json", code=checks(text)).stderr.split())
    said = refused(failed, "two", signers[INSPECTOR])
    for told, severity in ((warned, "warning"), (said, "error")):
        assert told.count(f"{severity}[JOB25") == 1
        assert f"{severity}[JOB251]: the earlier day `one.yaml` {what}" in told
        assert "HD-9-001 revision 0 was signed on" in told
        assert "restore it as issued, from `reports/HD-9-001.pdf`" in told
        assert "or issue a revision of HD-9-001 first" in told


def checks(text):
    """Exit code of `check`: only a nonconformance that is still carried forward holds the area by itself."""
    return 1 if text is not None and "evidence: none" in text else 0


def test_an_earlier_day_restored_from_the_report_is_as_issued(failed, signers):
    from reportgen.archival import read_attachments

    one = failed / "one.yaml"
    one.write_text(one.read_text(encoding="utf-8") + "# a note\n", encoding="utf-8")
    refused(failed, "two", signers[INSPECTOR])
    one.write_bytes(read_attachments((failed / "reports" / "HD-9-001.pdf").read_bytes())["one.yaml"])
    assert "JOB25" not in issued(failed, "two", signers[INSPECTOR])


def test_a_revision_of_an_earlier_day_is_to_be_issued_before_a_day_rests_on_it(failed, signers):
    (failed / "one-r1.yaml").write_text(day(1, SMOOTH, raised=OPEN, revision=1), encoding="utf-8")
    said = refused(failed, "two", signers[INSPECTOR])
    assert "revision 1 of HD-9-001 was not issued, only revision 0" in said
    issued(failed, "one-r1", signers[INSPECTOR])
    assert "JOB25" not in issued(failed, "two", signers[INSPECTOR])


def test_an_earlier_day_under_another_name_is_the_same_day(failed, signers):
    (failed / "one.yaml").rename(failed / "first.yaml")
    assert "JOB25" not in issued(failed, "two", signers[INSPECTOR])


def test_an_earlier_day_that_was_never_issued_and_cannot_be_read_keeps_today_back(tmp_path, signers):
    place = folder(tmp_path / "hd", one=day(1, SMOOTH, raised=OPEN) + "bogus: 1\n", two=day(2))
    assert "warning[JOB250]: the earlier day `one.yaml` cannot be loaded" in checked(place, "two", 0)
    assert "error[JOB250]" in refused(place, "two", signers[INSPECTOR])


# --- the report that a revision replaces


def test_a_revision_says_what_becomes_of_an_open_nonconformance(failed, signers):
    """Silence is no answer, in a file beside the first or in its place."""
    for name in ("one-r1", "one"):
        (failed / f"{name}.yaml").write_text(day(1, revision=1), encoding="utf-8")
        for said in (checked(failed, name, 2), refused(failed, name, signers[INSPECTOR])):
            assert "error[JOB252]: HD-9-001 revision 1 says nothing of NCR-001 on area B-1, which" in said
            assert "list it under `nonconformances`, still open, or closed" in said
        (failed / "one-r1.yaml").unlink(missing_ok=True)
    (failed / "one.yaml").write_text(day(1, revision=1, raised=OPEN), encoding="utf-8")
    assert issued(failed, "one", signers[INSPECTOR]) == ""


def test_a_revision_of_what_is_not_issued_is_held_against_the_day_file_beside_it(tmp_path):
    place = folder(tmp_path / "hd", one=day(1, SMOOTH, raised=OPEN), r1=day(1, revision=1))
    assert "error[JOB252]: HD-9-001 revision 1 says nothing of NCR-001" in checked(place, "r1", 2)


@pytest.mark.parametrize(("who", "name"), [("maddock", CONTRACTORS), ("sandrel", COLLEAGUE)])
def test_a_revision_is_signed_by_an_inspector_of_the_report_it_replaces(failed, signers, who, name):
    (failed / "r1.yaml").write_text(day(1, SMOOTH, revision=1, raised=OPEN, inspector=who), encoding="utf-8")
    if who == "sandrel":
        issued(failed, "r1", signers[name])
        return
    said = refused(failed, "r1", signers[name])
    assert f"error[JOB253]: {name} may not sign HD-9-001 revision 1" in said
    assert f"in the role or the organisation of its inspector, {INSPECTOR}" in said
