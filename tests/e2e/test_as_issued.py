"""A day held against what was issued before it, by command: earlier days, and the report that a revision replaces."""

import json
import shutil

import pytest
from pypdf import PdfReader

from reportgen.archival import read_attachments
from reportgen.issued import Recomputation
from reportgen.pipeline import check
from tests.e2e.conftest import PASSPHRASE, Tool, trusted
from tests.footbridge import (
    CLOSED,
    COLLEAGUE,
    CONTRACTORS,
    FIRST_BLASTING,
    INSPECTOR,
    OPEN,
    ROUGH,
    SMOOTH,
    day,
    folder,
)

SECRET = {"REPORTGEN_PASSPHRASE": PASSPHRASE}


@pytest.fixture(scope="module")
def failed_once(tmp_path_factory, signers):
    """A folder in which the first day was issued: its area failed, and NCR-001 is open."""
    place = tmp_path_factory.mktemp("failed") / "hd"
    folder(place, one=day(1, SMOOTH, raised=OPEN), two=day(2, reinspects=False))
    issued(place, "one", signers[INSPECTOR])
    return place


@pytest.fixture
def failed(failed_once, tmp_path):
    """A copy of that folder."""
    return shutil.copytree(failed_once, tmp_path / "hd")


def issued(place, name, signer, code=0):
    result = Tool(place)("issue", f"{name}.yaml", "--identity", signer, code=code, env=SECRET)
    return " ".join(result.stderr.split())


def checked(place, name, code):
    return " ".join(Tool(place)("check", f"{name}.yaml", code=code).stderr.split())


def decisions(result):
    return {area["id"]: area["decision"] for area in json.loads(result.stdout)["areas"]}


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
    result = Tool(failed)("check", "two.yaml", "--json", code=1)
    assert decisions(result) == {"B-1": "hold"}
    warned = " ".join(result.stderr.split())
    said = refused(failed, "two", signers[INSPECTOR])
    for told, severity in ((warned, "warning"), (said, "error")):
        assert told.count(f"{severity}[JOB25") == 1
        assert f"{severity}[JOB251]: the earlier day `one.yaml` {what}" in told
        assert "HD-9-001 revision 0 was signed on" in told
        assert "restore it as issued, from `reports/HD-9-001.pdf`" in told
        assert "or issue a revision of HD-9-001 first" in told


def test_an_earlier_day_restored_from_the_report_is_as_issued(failed, signers):
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
    assert "warning[JOB250]: the earlier day `one.yaml` cannot be loaded" in checked(place, "two", 1)
    assert "error[JOB250]" in refused(place, "two", signers[INSPECTOR])


@pytest.mark.parametrize("command", ["sheet", "draft", "new --next"])
def test_what_rests_on_an_edited_day_is_on_hold_wherever_it_is_told(failed, command):
    """The draft on its pages; the next day has the area due again."""
    one = failed / "one.yaml"
    one.write_text(one.read_text(encoding="utf-8").replace(OPEN, "").replace("nonconformances:", ""), encoding="utf-8")
    named = ("two.yaml",) if command == "new --next" else ("two.yaml", "-o", "out.pdf")
    result = Tool(failed)(*command.split(), *named)
    assert "warning[JOB251]: the earlier day `one.yaml` is not as issued" in " ".join(result.stderr.split())
    if command == "new --next":
        assert "areas due: B-1" in result.stdout
    if command == "draft":
        text = " ".join("".join(page.extract_text() for page in PdfReader(failed / "out.pdf").pages).split())
        assert "`one.yaml` is not as it was issued" in text


# --- the project file


@pytest.fixture(scope="session")
def bridge(tmp_path_factory, signers):
    """Two reports of other days: the first area failed and no nonconformance was written, the second one conforms."""
    place = folder(tmp_path_factory.mktemp("as-issued") / "hd", one=day(1, SMOOTH), two=day(2, LOW, area="B-2"))
    issued(place, "one", signers[INSPECTOR])
    issued(place, "two", signers[INSPECTOR])
    return place


@pytest.fixture
def contract(bridge, tmp_path):
    """A copy of that folder."""
    return shutil.copytree(bridge, tmp_path / "hd")


def third(place, area, **more):
    """The day file of a day that measures the steel of an earlier one again."""
    since = {"B-1": "2026-05-04", "B-2": "2026-05-05"}[area]
    blasted = f'{{start: "{since}T08:00:00Z", end: "{since}T10:00:00Z", abrasive: steel grit}}'
    (place / "three.yaml").write_text(day(3, area=area, blasted=blasted, **more), encoding="utf-8")


def edited(place, *pairs):
    project = place / "project.yaml"
    text = project.read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    project.write_text(text, encoding="utf-8")


LOW = "2.2, c1: 2.1"
"""Readings of a location that conforms to 2.0 mil and not to 2.5 mil."""
RELAXED = ("minimum: 2.0 mil", "minimum: 1.0 mil")
TIGHTENED = ("minimum: 2.0 mil", "minimum: 2.5 mil")
RESIZED = ("name: north half, size: 12 m2", "name: north half, size: 900 m2")
REMOVED = (f"  vintry: {{name: {INSPECTOR}, role: inspector}}\n", "")


@pytest.mark.parametrize("changes", [[RELAXED], [RESIZED], [REMOVED], [RELAXED, REMOVED]])
def test_a_failure_that_was_reported_stays_one_whatever_becomes_of_the_project_file(contract, signers, changes):
    edited(contract, *changes)
    who = "sandrel" if REMOVED in changes else "vintry"
    third(contract, "B-1", inspector=who)
    result = Tool(contract)("check", "three.yaml", "--json", code=1)
    assert "JOB25" not in result.stderr
    assert decisions(result) == {"B-1": "hold"}
    assert [one["code"] for one in json.loads(result.stdout)["findings"]] == ["failed-earlier"]
    issued(contract, "three", signers[COLLEAGUE if who == "sandrel" else INSPECTOR])
    held = read_attachments((contract / "reports" / "HD-9-003.pdf").read_bytes())
    assert (
        held["HD-9-001-r0.yaml"]
        == read_attachments((contract / "reports" / "HD-9-001.pdf").read_bytes())["project.yaml"]
    )
    for source in ("reports/HD-9-003.pdf", "three.yaml"):
        out = contract / f"{source[:3]}.json"
        Tool(contract)("export", source, "--to", "json", "-o", out)
        assert "failed-earlier" in out.read_text(encoding="utf-8")
    explained = Tool(contract)("explain", "three.yaml", "--area", "B-1").stdout
    assert "profile below minimum of HD-9-001" in " ".join(explained.split())


def test_steel_that_was_released_is_judged_anew_only_by_what_is_measured_under_a_later_limit(contract, signers):
    edited(contract, TIGHTENED)
    third(contract, "B-2")
    assert decisions(Tool(contract)("check", "three.yaml", "--json")) == {"B-2": "release"}
    issued(contract, "three", signers[INSPECTOR])


def test_a_later_change_holds_for_a_revision_of_an_earlier_report(contract, signers):
    edited(contract, TIGHTENED)
    (contract / "two.yaml").write_text(day(2, LOW, area="B-2", revision=1), encoding="utf-8")
    assert decisions(Tool(contract)("check", "two.yaml", "--json", code=1)) == {"B-2": "rework"}
    issued(contract, "two", signers[INSPECTOR])
    third(contract, "B-2")
    assert decisions(Tool(contract)("check", "three.yaml", "--json", code=1)) == {"B-2": "hold"}


def test_the_next_day_has_due_what_the_report_left_to_do(contract):
    edited(contract, RELAXED)
    assert "areas due: B-1" in Tool(contract)("new", "--next", "one.yaml", "--date", "2026-05-07").stdout


def away(report):
    report.rename(report.parent.parent.parent / report.name)


def broken(report):
    data = bytearray(report.read_bytes())
    data[len(data) // 2] ^= 1
    report.write_bytes(data)


@pytest.mark.parametrize(("fault", "what"), [(away, "is not there"), (broken, "is not the file that was registered")])
def test_where_no_report_holds_the_former_project_file_nothing_rests_on_it(contract, signers, fault, what):
    kept = (contract / "reports" / "HD-9-001.pdf").read_bytes()
    for report in (contract / "reports").iterdir():
        fault(report)
    third(contract, "B-1")
    assert "JOB25" not in checked(contract, "three", 1)
    edited(contract, RELAXED, REMOVED)
    third(contract, "B-1", inspector="sandrel")
    result = Tool(contract)("check", "three.yaml", "--json", code=1)
    assert decisions(result) == {"B-1": "hold"}
    for said in (" ".join(result.stderr.split()), refused(contract, "three", signers[COLLEAGUE])):
        assert said.count("[JOB25") == 1
        assert "`project.yaml` is not as issued: HD-9-001 revision 0 was signed on" in said
        assert f"with another content, and `reports/HD-9-001.pdf` {what}" in said
        assert "put `reports/HD-9-001.pdf` back as it was issued" in said
    (contract / "reports" / "HD-9-001.pdf").write_bytes(kept)
    assert "JOB25" not in checked(contract, "three", 1)
    edited(contract, ("minimum: 1.0 mil", "minimum: 1.1 mil"))
    (contract / "reports" / "HD-9-001.pdf").unlink()
    (contract / "reports" / "HD-9-002.pdf").write_bytes(b"")
    (contract / "project-as-signed.yaml").write_bytes(read_attachments(kept)["project.yaml"])
    assert "JOB25" not in checked(contract, "three", 1)


def test_another_project_file_of_the_contract_does_not_pass_over_what_was_reported(contract, signers):
    other = contract / "later.yaml"
    other.write_text((contract / "project.yaml").read_text(encoding="utf-8").replace(*RELAXED), encoding="utf-8")
    third(contract, "B-1")
    three = contract / "three.yaml"
    three.write_text(three.read_text(encoding="utf-8").replace("project.yaml", "later.yaml"), encoding="utf-8")
    for said in (checked(contract, "three", 1), refused(contract, "three", signers[INSPECTOR])):
        assert "the earlier day `one.yaml` is passed over: it names `project.yaml`, and this day `later.yaml`" in said
        assert "name `project.yaml` here too" in said


def test_a_day_that_is_gone_with_its_report_keeps_today_back(contract, signers):
    away(contract / "reports" / "HD-9-001.pdf")
    (contract / "one.yaml").unlink()
    third(contract, "B-1")
    for said in (checked(contract, "three", 1), refused(contract, "three", signers[INSPECTOR])):
        assert "the earlier day `HD-9-001` is missing" in said
        assert "and `reports/HD-9-001.pdf` is not there" in said


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda one: one.unlink(), "is missing"),
        (lambda one: one.write_text(day(1, area="B-2"), encoding="utf-8"), "is not as issued"),
        (lambda one: one.write_text(day(1), encoding="utf-8"), "is not as issued"),
    ],
)
def test_what_an_old_report_left_open_is_not_lost_with_its_day_file(contract, signers, change, what):
    """Three weeks later: what failed holds its area until it is blasted again, which needs that report to be seen."""
    three = contract / "three.yaml"
    blasted_again = day(3).replace("date: 2026-05-06", "date: 2026-05-25")
    three.write_text(blasted_again.replace("apparatus: pot 1", "apparatus: pot 2"), encoding="utf-8")
    assert "JOB25" not in checked(contract, "three", 1)
    as_issued = (contract / "one.yaml").read_bytes()
    change(contract / "one.yaml")
    result = Tool(contract)("check", "three.yaml", "--json", code=1)
    assert decisions(result) == {"B-1": "hold"}
    for said in (" ".join(result.stderr.split()), refused(contract, "three", signers[INSPECTOR])):
        assert f"JOB251]: the earlier day `one.yaml` {what}: HD-9-001 revision 0 was signed on" in said
    three.write_text(blasted_again, encoding="utf-8")
    assert f"JOB251]: the earlier day `one.yaml` {what}" in checked(contract, "three", 1)
    (contract / "one.yaml").write_bytes(as_issued)
    result = Tool(contract)("check", "three.yaml", "--json")
    assert ("JOB25" in result.stderr, decisions(result)) == (False, {"B-1": "release"})
    issued(contract, "three", signers[INSPECTOR])


def test_another_project_file_passes_over_no_old_report_that_left_something_open(contract):
    (contract / "later.yaml").write_bytes((contract / "project.yaml").read_bytes())
    for pot in ("pot 2", "pot 1"):
        text = day(3).replace("project.yaml", "later.yaml").replace("pot 1", pot)
        (contract / "three.yaml").write_text(text.replace("date: 2026-05-06", "date: 2026-05-25"), encoding="utf-8")
        assert "the earlier day `one.yaml` is passed over" in checked(contract, "three", 1)


def test_a_contract_whose_days_are_as_issued_is_checked_without_opening_its_reports(contract, monkeypatch):
    """Nor is a report evaluated again whose day file is gone, and which names no area of the day."""
    opened, evaluated = [], []
    monkeypatch.setattr("reportgen.archival.read_attachments", lambda pdf: opened.append(pdf) or read_attachments(pdf))
    monkeypatch.setattr("reportgen.issued.Recomputation", lambda: evaluated.append(1) or Recomputation())
    third(contract, "B-1")
    check(contract / "three.yaml")
    assert (opened, evaluated) == ([], [])
    (contract / "two.yaml").unlink()
    check(contract / "three.yaml")
    assert (len(opened), evaluated) == (1, [])
    (contract / "one.yaml").unlink()
    check(contract / "three.yaml")
    assert (len(opened), len(evaluated)) == (3, 1)


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


@pytest.mark.parametrize("fault", [away, broken])
def test_a_revision_needs_the_report_that_it_replaces(contract, signers, fault):
    fault(contract / "reports" / "HD-9-001.pdf")
    (contract / "one.yaml").write_text(day(1, SMOOTH, revision=1, inspector="maddock"), encoding="utf-8")
    for said in (checked(contract, "one", 2), refused(contract, "one", signers[CONTRACTORS])):
        assert (
            "error[JOB254]: HD-9-001 revision 1 replaces a report that is not at hand: `reports/HD-9-001.pdf`" in said
        )
        assert "put `reports/HD-9-001.pdf` back" in said


# --- who undoes what a report found


def named_later(place, who):
    """A project file that does not have somebody; the file as it was is returned, for when it names them."""
    path = place / "project.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text("".join(line for line in text.splitlines(keepends=True) if who not in line), encoding="utf-8")
    return text


def test_who_was_named_after_the_report_that_raised_it_does_not_close_it(tmp_path, signers):
    """A revision of that report, by its own inspector, names the colleague: then he does."""
    place = folder(tmp_path / "hd", one=day(1, SMOOTH, raised=OPEN))
    whole = named_later(place, COLLEAGUE)
    issued(place, "one", signers[INSPECTOR])
    (place / "project.yaml").write_text(whole, encoding="utf-8")
    again = day(2, raised=CLOSED, reinspects=True, inspector="sandrel")
    (place / "two.yaml").write_text(again, encoding="utf-8")
    said = Tool(place)("check", "two.yaml", code=1).stdout
    why = f"{COLLEAGUE}, who inspected in HD-9-002, is not named in HD-9-001 in the role or the organisation of its "
    assert why in " ".join(said.split())
    assert decisions(Tool(place)("check", "two.yaml", "--json", code=1)) == {"B-1": "hold"}
    (place / "one-r1.yaml").write_text(day(1, SMOOTH, raised=OPEN, revision=1), encoding="utf-8")
    issued(place, "one-r1", signers[INSPECTOR])
    assert decisions(Tool(place)("check", "two.yaml", "--json", code=0)) == {"B-1": "release"}
    issued(place, "two", signers[COLLEAGUE])


def test_who_was_given_another_role_since_does_not_close_it(failed):
    text = day(2, raised=CLOSED, reinspects=True, inspector="maddock")
    (failed / "two.yaml").write_text(text, encoding="utf-8")
    project = (failed / "project.yaml").read_text(encoding="utf-8")
    changed = project.replace("role: contractor's inspector, organisation: Pellworth", "role: inspector")
    (failed / "project.yaml").write_text(changed, encoding="utf-8")
    assert decisions(Tool(failed)("check", "two.yaml", "--json", code=1)) == {"B-1": "hold"}


@pytest.mark.parametrize("second", [SMOOTH, "2.4"])
@pytest.mark.parametrize(("who", "decision"), [("maddock", "hold"), ("sandrel", "release")])
def test_what_a_report_found_is_undone_only_by_whom_it_names(tmp_path, second, who, decision):
    """No nonconformance was raised: steel that failed and is blasted again; a location that owes a reading."""
    failing = second == SMOOTH
    one, two = day(1, second), day(2, inspector=who)
    if not failing:  # the same steel is entered again, with all its locations
        two = day(2, inspector=who, blasted=FIRST_BLASTING)
    place = folder(tmp_path / "hd", one=one, two=two)
    assert decisions(Tool(place)("check", "one.yaml", "--json", code=1)) == {"B-1": "rework" if failing else "hold"}
    code = 0 if decision == "release" else 1
    result = Tool(place)("check", "two.yaml", "--json", code=code)
    assert decisions(result) == {"B-1": decision}
    told = {one["code"] for one in json.loads(result.stdout)["findings"]}
    expected = {"failed-earlier" if failing else "left-open-earlier"}
    assert told & {"failed-earlier", "left-open-earlier"} == (set() if decision == "release" else expected)


# --- the register

SECOND_BLASTING = FIRST_BLASTING.replace("05-04", "05-05")
"""That of the second day file, as a later one enters its steel again."""


@pytest.mark.parametrize("fault", ["lost", "empty", "cut short"])
def test_a_signed_report_that_the_register_does_not_have_keeps_today_back(tmp_path, signers, fault):
    """With the day file gone, or made good after it was signed; `register rebuild` mends it."""
    place = folder(tmp_path / "hd", zero=day(1, area="B-2"), one=day(2, SMOOTH), two=day(3, blasted=SECOND_BLASTING))
    issued(place, "zero", signers[INSPECTOR])
    register = place / "register.jsonl"
    before = register.read_bytes()
    issued(place, "one", signers[INSPECTOR])
    (place / "one.yaml").write_text(day(2), encoding="utf-8")
    whole = register.read_bytes()
    register.unlink() if fault == "lost" else register.write_bytes(before if fault == "cut short" else b"")
    result = Tool(place)("check", "two.yaml", "--json", code=1)
    assert decisions(result) == {"B-1": "hold"}
    said = refused(place, "two", signers[INSPECTOR])
    for told in (" ".join(result.stderr.split()), said):
        assert "JOB251]: `register.jsonl` does not have" in told
        assert "HD-9-002 revision 0 (`reports/HD-9-002.pdf`), signed and in this folder" in told
        assert "run `reportgen register rebuild" in told
    Tool(place)("register", "rebuild", ".", "--trust", trusted(signers)[0].parent, code=0)
    assert "the earlier day `one.yaml` is not as issued" in refused(place, "two", signers[INSPECTOR])
    assert len(whole.splitlines()) <= len(register.read_bytes().splitlines()) + 1
    (place / "one.yaml").write_text(day(2, SMOOTH), encoding="utf-8")
    assert "JOB25" not in issued(place, "two", signers[INSPECTOR])


def test_a_copy_of_a_registered_report_and_a_draft_are_no_lost_reports(failed, signers):
    reports = failed / "reports"
    shutil.copy(reports / "HD-9-001.pdf", reports / "copy.pdf")
    Tool(failed)("draft", "two.yaml", "-o", "reports/two-draft.pdf")
    (reports / "letter.pdf").write_bytes(b"%PDF-1.4\n")
    assert "JOB25" not in issued(failed, "two", signers[INSPECTOR])


# --- one date


@pytest.mark.parametrize(("shift", "decision"), [("07:00", "hold"), ("06:30", "hold")])
def test_a_report_of_the_same_date_issued_before_stands_whatever_its_number(tmp_path, signers, shift, decision):
    """The higher number was issued first and has the steel failing; the lower enters it with other readings."""
    first = day(9, SMOOTH).replace("2026-05-012", "2026-05-04")
    second = day(1).replace('start: "07:00"', f'start: "{shift}"')
    place = folder(tmp_path / "hd", first=first, second=second)
    assert decisions(Tool(place)("check", "second.yaml", "--json")) == {"B-1": "release"}
    issued(place, "first", signers[INSPECTOR])
    assert decisions(Tool(place)("check", "second.yaml", "--json", code=1)) == {"B-1": decision}
    issued(place, "second", signers[INSPECTOR])
    again = day(1, blasted='{start: "10:30", end: "12:00", abrasive: steel grit}', revision=1).replace("10:2", "12:2")
    (place / "again.yaml").write_text(again, encoding="utf-8")
    assert decisions(Tool(place)("check", "again.yaml", "--json")) == {"B-1": "release"}
