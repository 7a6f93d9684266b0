"""A release page is verified as what it is, counted as a paper, and says nothing in an audit, whoever made it."""

import dataclasses
import io
import json
import shutil
from pathlib import Path
from types import SimpleNamespace

import pikepdf
import pytest
from pypdf import PdfReader

from reportgen.audit import Index, audit_of
from reportgen.issued import (
    ClosedItem,
    Examined,
    NotedByAudit,
    ReleaseFile,
    opened_envelope,
    release_file_of,
    released_area,
)
from reportgen.issued.papers import Paper
from reportgen.issued.record import PartRecord, RequirementRecord
from reportgen.pipeline.clock import now
from reportgen.pipeline.release_standing import pages_beside
from reportgen.pipeline.releasing import unsigned_page
from reportgen.seal import demo_identity
from reportgen.seal.signing import seal_file
from reportgen.verification.verdict import not_done
from tests.command import run
from tests.demo_archive import Archive, shared_archive
from tests.outside import needs_program
from tests.unit.issued import records
from tests.unit.verification import signed_material as made


@pytest.fixture(scope="module")
def archive(tmp_path_factory) -> Archive:
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="module")
def page(archive, tmp_path_factory):
    folder = tmp_path_factory.mktemp("page")
    told = run(
        "release", "A-02", archive.folder / "BF-04", "--identity", "demo", "--trust", archive.root,
        "--index", folder / "i.sqlite", "-o", folder / "a-02.pdf",
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    return folder / "a-02.pdf"


@pytest.fixture
def few(archive, tmp_path):
    folder = tmp_path / "few"
    shutil.copytree(archive.folder / "BF-04", folder)
    return folder


def audited(archive, folder, tmp_path):
    return run("audit", folder, "--trust", archive.root, "--index", tmp_path / "index.sqlite", "--json")


def verified(file):
    return json.loads(run("verify", file, "--json").stdout)[0]


def signed_by_a_stranger(page, **changed):
    """Return a page of other data, made as ours is, and signed on the spot."""
    told = release_file_of(opened_envelope(page.read_bytes()))
    released = dataclasses.replace(told.released, **changed)
    identity = demo_identity("M. Forrow", now().replace(microsecond=0))
    at = f"{now():%Y-%m-%dT%H:%M:%SZ}"
    pdf, rendered = unsigned_page(dataclasses.replace(told, released=released, signer="M. Forrow", issued_at=at))
    stream = io.BytesIO(pdf)
    number, *corners = rendered.signature_box
    seal_file(stream, identity, at=now().replace(microsecond=0), location=released.project, box=(number + 1, *corners))
    return stream.getvalue()


def test_a_release_page_is_verified_as_one(page):
    answer = verified(page)
    assert {one["name"] for one in answer["reasons"]} == {"DEMONSTRATION", "NO_CERTIFICATE_CHAIN_FOUND", "NOT_DONE"}
    steps = {one["number"]: one["status"] for one in answer["steps"]}
    assert (steps[7], steps[8], steps[10]) == ("passed", "not done", "passed")
    told = " ".join(run("verify", page).stdout.split())
    assert "This is a release page: its content has not been compared with the data of the day" in told
    assert "it repeats BF-04-IR-003 revision 0; give that report too" in told


@pytest.mark.parametrize(
    ("language", "count", "said"),
    [
        ("en", 0, "finds no fault and no doubt in the contract."),
        ("en", 1, "that concerns this area. 1 fault or doubt about another area is listed below."),
        ("en", 2, "that concerns this area. 2 faults or doubts about other areas are listed below."),
        ("de", 1, "die diese Fläche betreffen. 1 Fehler oder Zweifel zu einer anderen Fläche ist unten aufgeführt."),
        ("de", 2, "die diese Fläche betreffen. 2 Fehler oder Zweifel zu anderen Flächen sind unten aufgeführt."),
    ],
)
def test_faults_of_other_areas_are_counted_where_they_are_listed(page, language, count, said):
    told = release_file_of(opened_envelope(page.read_bytes()))
    open_elsewhere = [NotedByAudit("nonconformance-never-closed", f"NCR-{n} is open") for n in range(count)]
    noted = (*open_elsewhere, NotedByAudit("requirement-changed", "limits differ"))
    pdf, _ = unsigned_page(dataclasses.replace(told, noted=noted, language=language))
    text = " ".join(" ".join(one.extract_text() for one in PdfReader(io.BytesIO(pdf)).pages).split())
    assert said in text
    assert text.count("in the contract.") == (count == 0)


@needs_program("chromium")
def test_a_release_page_is_called_one_by_the_page_that_checks(page, checker):
    found = checker.ask(page.read_bytes())
    assert (found["intact"]["answer"], found["files"]["code"]) == ("yes", "RELEASE_PAGE")
    assert found["head"]["key"] == "demonstration"
    assert "This is a release page and no report" in found["head"]["text"]
    (named,) = found["named"]
    assert named["code"] == "NAMES_AGREE"


def test_an_altered_release_page_fails(page, few, archive, tmp_path):
    data = page.read_bytes()
    (few / "page.pdf").write_bytes(data.replace(b"/Contents <30", b"/Contents <31", 1)[:-1] + b" ")
    assert verified(few / "page.pdf")["overall"] == "failed"
    answer = json.loads(audited(archive, few, tmp_path).stdout)
    assert (answer["files"]["failed"], answer["papers"]) == (1, 0)
    assert answer["by_code"]["file-failed"] == 1


@pytest.mark.parametrize("change", [
    lambda told: told | {"as_of": "2031-01-01"},
    lambda told: told | {"released": told["released"] | {"area": "A-13"}},
    lambda told: told | {"made_with": told["made_with"] | {"other": "all areas are released"}},
    lambda told: told | {"verdict": "released"},
    lambda told: {"format": told["format"], "area": "A-13"},
    lambda told: [told],
], ids=["moment", "area", "library", "member", "little", "list"])  # fmt: skip
def test_a_page_that_its_data_do_not_give_fails(page, tmp_path, change):
    told = release_file_of(opened_envelope(page.read_bytes()))
    text = json.dumps(change(json.loads(_data(page))), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    file = io.BytesIO(made.unsigned(contents={"release.json": text.encode()}))
    seal_file(file, made.inspector(), at=made.AT, location=told.released.project, box=made.BOX)
    (tmp_path / "page.pdf").write_bytes(file.getvalue())
    answer = verified(tmp_path / "page.pdf")
    assert answer["overall"] == "failed"
    assert {one["name"] for one in answer["reasons"]} & {"PAGES_DIFFER", "EMBEDDED_FILES"}


def _data(page):
    with pikepdf.open(page) as pdf:
        return pdf.attachments["release.json"].get_file().read_bytes()


def test_data_of_a_later_format_are_left_open(page, tmp_path):
    text = json.dumps(json.loads(_data(page)) | {"format": 2, "generator": "reportgen 9.9.9"})
    file = io.BytesIO(made.unsigned(contents={"release.json": text.encode()}))
    seal_file(file, made.inspector(), at=made.AT, location="", box=made.BOX)
    (tmp_path / "page.pdf").write_bytes(file.getvalue())
    answer = verified(tmp_path / "page.pdf")
    assert "OTHER_RELEASE" in {one["name"] for one in answer["reasons"]}
    assert not {one["name"] for one in answer["reasons"] if one["name"] == "EMBEDDED_FILES"}


def test_what_holds_more_than_the_data_of_a_release_is_no_release_page(page, tmp_path):
    file = io.BytesIO(made.unsigned(contents={"release.json": _data(page), "manifest.json": b"{}"}))
    seal_file(file, made.inspector(), at=made.AT, location="", box=made.BOX)
    (tmp_path / "page.pdf").write_bytes(file.getvalue())
    answer = verified(tmp_path / "page.pdf")
    assert answer["overall"] == "failed"
    assert "release page" not in run("verify", tmp_path / "page.pdf").stdout


def test_an_audit_counts_release_pages_as_papers_and_the_next_release_is_written(page, few, archive, tmp_path):
    shutil.copy(page, few / "a-02.pdf")
    answer = json.loads(audited(archive, few, tmp_path).stdout)
    assert answer["papers"] == 1
    assert "file-failed" not in answer["by_code"]
    told = run("audit", "query", "papers", tmp_path / "index.sqlite", "--to", "json")
    assert [row["releases"] for row in json.loads(told.stdout)["rows"]] == ["BF-04, A-02"]
    again = run(
        "release", "A-03", few, "--identity", "demo", "--trust", archive.root, "--index", tmp_path / "index.sqlite",
        "-o", tmp_path / "a-03.pdf",
    )  # fmt: skip
    assert again.returncode == 0, again.stderr


def paged(page, *examined):
    """Return what an audit finds of release pages beside reports, in an index in memory."""
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        for n, one in enumerate(examined):
            index.store(f"{n}.pdf", one)
        index.store("page.pdf", page)
        answer = audit_of(index)
    return [(one.code, one.weight, one.sentence) for one in answer.problems if one.code.startswith("release-page")]


def page_on(examined, area="A", **changed):
    record = examined.record
    own = next((one for one in record.areas if one.id == area), record.areas[0])
    one = released_area(record, own, file="0.pdf", sha256=examined.verification.sha256)
    made_by = ("reportgen 0.1.0", "2026-03-31T12:00:00Z", "2026-03-31 12:00:00 UTC")
    said = dataclasses.replace(one, **{"area": area} | changed)
    told = ReleaseFile(*made_by, said, (), (), "", (), "E. Torrance", "engineer", None, "issue", "en", {})
    paper = Paper("HM-1, A", "", ours=True, releases="HM-1, A", released=told)
    other = records.examined(records.report(9)).verification
    steps = (*other.steps[:7], not_done(8, "not compared"), *other.steps[8:10], not_done(11, "-"), not_done(12, "-"))
    answer = dataclasses.replace(other, sha256="e" * 64, steps=steps, required=(*range(1, 9), 10))
    return Examined(answer, paper=paper)


def test_a_proven_page_is_held_against_the_report_it_names():
    first = records.examined(records.report(1, areas=[records.area("A", "3.1")]))
    assert paged(page_on(first), first) == []
    ((code, weight, sentence),) = paged(page_on(first, sha256="f" * 64), first)
    assert (code, weight) == ("release-page-report-absent", "doubt")
    assert "by HM-1-IR-001 revision 0, SHA-256 ffffffffffff…, which is not among the files; another file" in sentence


def test_a_proven_page_whose_area_is_decided_otherwise_by_now_is_told():
    first = records.examined(records.report(1, areas=[records.area("A", "3.1")]))
    later = records.examined(records.report(2, areas=[records.area("A", "1.1", decision="rework")]))
    ((code, weight, sentence),) = paged(page_on(first), first, later)
    assert (code, weight) == ("release-page-overtaken", "doubt")
    assert sentence.endswith("released by HM-1-IR-001 revision 0; by the reports here it is now: to be reworked")


def test_a_page_that_names_a_report_which_does_not_release_the_area_fails():
    first = records.examined(records.report(1, areas=[records.area("A", "3.1")]))
    other = records.examined(records.report(2, areas=[records.area("B", "3.1")]))
    index = Index.make(Path(":memory:"), key=b"k", folder="/a", fingerprint="f", at="2026-04-01T00:00:00+00:00")
    with index:
        for n, one in enumerate((first, other, page_on(other, "A"))):
            index.store(f"{n}.pdf", one)
        (failed,) = [one for one in audit_of(index).problems if one.code == "file-failed"]
    assert "HM-1-IR-002 revision 0, which it names, does not name the area A" in failed.sentence


def beside(page, *reports, register=None, chain=None):
    """Return what verifying a page beside reports says of it."""
    found = {Path("page.pdf"): page} | {Path(f"{n}.pdf"): one for n, one in enumerate(reports, start=1)}
    return pages_beside(found, Examined, register, chain)[Path("page.pdf")]


def area_of(record, decision="release", **more):
    area = records.area("A", "3.1", decision=decision, **more)
    return records.examined(dataclasses.replace(record, areas=(area,)))


FIRST = area_of(records.report(1, requirements=(RequirementRecord("people", "E. Torrance", "engineer, "),)))
SECOND = records.report(2)
OPEN = dataclasses.replace(SECOND, nonconformances=(records.nonconformance(),))
OPEN_ON_NONE = dataclasses.replace(SECOND, nonconformances=(records.nonconformance(area=None),))
OVER = "superseded by the report HM-1-IR-002"


@pytest.mark.parametrize(
    ("later", "standing", "says"),
    [
        (area_of(records.report(1, 1), "rework"), "superseded by revision 1", "decides `rework`"),
        (area_of(records.report(1, 1)), "superseded by revision 1", ""),
        (records.examined(records.report(1, 1)), "superseded by revision 1", "does not decide on the area"),
        (area_of(SECOND, "rework"), OVER, "decides `rework`"),
        (area_of(SECOND, "hold"), OVER, "decides `hold`"),
        (area_of(SECOND, part=PartRecord("4 m2", "9 m2")), OVER, "releases 4 m2 of 9 m2 of it, not the whole"),
        (area_of(OPEN), OVER, "leaves NC-1 on it open"),
        (records.examined(OPEN), OVER, "leaves NC-1 on it open"),
        (records.examined(OPEN_ON_NONE), OVER, "leaves NC-1 on it open"),
        (area_of(SECOND), "unknown", ""),
        (records.examined(SECOND), "unknown", ""),
        (area_of(dataclasses.replace(SECOND, contract="HM-2"), "rework"), "unknown", ""),
        (area_of(dataclasses.replace(SECOND, date="2026-02-01"), "rework"), "unknown", ""),
    ],
)
def test_a_page_is_told_as_overtaken_by_what_came_later(later, standing, says):
    answer = beside(page_on(FIRST), FIRST, later)
    assert (answer.overall, answer.standing) == ("passed", standing)
    assert [one.name for one in answer.notices] == ["RELEASE_WITHDRAWN"] * bool(says)
    assert says in "".join(one.sentence for one in answer.notices)
    alone = beside(page_on(FIRST), later)
    assert (alone.overall, alone.standing) == ("indeterminate", standing)
    assert [one.sentence for one in alone.notices] == [one.sentence.replace("2.pdf", "1.pdf") for one in answer.notices]


def test_what_a_later_report_raised_and_another_closed_leaves_a_page_as_it_is():
    raised = dataclasses.replace(SECOND, nonconformances=(records.nonconformance(raised_in="HM-1-IR-002"),))
    closed = records.nonconformance(status="closed", raised_in="HM-1-IR-002")
    third = records.examined(dataclasses.replace(records.report(3), nonconformances=(closed,)))
    answer = beside(page_on(FIRST), FIRST, records.examined(raised), third)
    assert (answer.standing, answer.notices) == ("unknown", ())


def test_a_page_holds_no_longer_where_the_reports_together_hold_its_area():
    """Raised before the report that releases, and never closed: an audit of these says `hold`."""
    before = records.report(1, nonconformances=(records.nonconformance(),))
    released = area_of(SECOND)
    answer = beside(page_on(released), records.examined(before), released)
    assert answer.standing == "superseded by the reports given with it"
    (notice,) = [one for one in answer.notices if one.name == "RELEASE_WITHDRAWN"]
    assert (notice.name, "area A is on hold; open: NC-1" in notice.sentence) == ("RELEASE_WITHDRAWN", True)


@pytest.mark.parametrize(("as_of", "status", "names"), [
    ("2026-03-31 12:04:00 UTC", "issue", []),
    ("2026-03-31 12:06:00 UTC", "issue", ["TIMES_DISAGREE"]),
    ("2030-01-01 00:00:00 UTC", "issue", ["TIMES_DISAGREE"]),
    ("for ever", "issue", ["TIMES_DISAGREE"]),
    ("2026-03-31 12:00:00 UTC", "demonstration", ["DEMONSTRATION"]),
])  # fmt: skip
def test_a_page_is_of_no_later_moment_than_its_signature_and_says_where_it_is_a_demonstration(as_of, status, names):
    told = page_on(FIRST).told_by_page
    assert [one.name for one in dataclasses.replace(told, as_of=as_of, status=status).own_faults] == names


@pytest.mark.parametrize(("sha256", "register"), [("b" * 64, "passed"), ("0" * 64, "failed")])
def test_the_row_that_a_page_prints_is_one_of_the_register(tmp_path, sha256, register):
    page = page_on(FIRST)
    told = dataclasses.replace(page.told_by_page, register=f"row 2, SHA-256 {sha256}, before HM-1-IR-001")
    page = dataclasses.replace(page, paper=dataclasses.replace(page.paper, released=told))
    report = SimpleNamespace(signed_sha256=FIRST.verification.sha256, unsigned_sha256="", number="HM-1-IR-001")
    row = SimpleNamespace(report=report, sequence=3)
    chain = SimpleNamespace(
        issued={("HM-1-IR-001", 0): row}, unread=None, rebuilt=False, rows=[row], hashes={2: "b" * 64}
    )
    assert beside(page, register=tmp_path, chain=chain).register == register


def test_a_page_invents_no_closed_nonconformance_of_the_report_it_names():
    page = page_on(FIRST)
    invented = ClosedItem("NC-9", "HM-1-IR-001", "HM-1-IR-002", "made up")
    told = dataclasses.replace(page.told_by_page, closed=(invented,))
    answer = beside(dataclasses.replace(page, paper=dataclasses.replace(page.paper, released=told)), FIRST)
    assert (answer.overall, [one.name for one in answer.reasons]) == ("failed", ["RELEASE_DIFFERS"])


def test_what_no_report_says_is_told_to_be_the_word_of_who_signed_the_page():
    """Role, notes, and what another report closed, unless one as well proven says so too."""
    page = page_on(FIRST)
    assert beside(page, FIRST).notices == ()
    item = ClosedItem("NC-1", "HM-1-IR-000", "HM-1-IR-002", "too low")
    noted = (NotedByAudit("requirement-changed", "area A-2 is released too"),)
    changed = {"role": "owner of the works", "noted": noted, "closed": (item,)}
    told = dataclasses.replace(page.told_by_page, **changed)
    page = dataclasses.replace(page, paper=dataclasses.replace(page.paper, released=told))
    (notice,) = beside(page, FIRST).notices
    assert notice.name == "OWN_WORDS"
    assert "that E. Torrance signs as owner of the works" in notice.sentence
    assert "what an audit noted (requirement-changed)" in notice.sentence
    assert "that NC-1 was closed in HM-1-IR-002" in notice.sentence
    closing = dataclasses.replace(
        SECOND, nonconformances=(records.nonconformance(status="closed", raised_in="HM-1-IR-000"),)
    )
    for report, count in ((records.examined(closing), 0), (records.examined(closing, failed=True), 1)):
        (notice,) = beside(page, FIRST, report).notices
        assert notice.sentence.count("NC-1 was closed") == count


def test_what_is_proven_less_or_failed_or_not_entitled_supersedes_no_page():
    revision = dataclasses.replace(records.report(1, 1), areas=(records.area("A", "3.1", decision="rework"),))
    answer = beside(page_on(FIRST), FIRST, records.examined(revision, doubts=("NO_CERTIFICATE_CHAIN_FOUND",)))
    (notice,) = answer.notices
    assert answer.standing == "unknown"
    assert notice.sentence.endswith("decides `rework`; that report is itself proven less, verdict indeterminate")
    answer = beside(page_on(FIRST), FIRST, records.examined(revision, failed=True))
    assert (answer.standing, answer.notices) == ("unknown", ())
    answer = beside(page_on(FIRST), FIRST, records.examined(revision, by="S. Tranger"))
    assert (answer.standing, len(answer.notices)) == ("unknown", 1)


def test_a_page_on_a_report_that_failed_is_not_proven():
    wrong = records.examined(FIRST.record, failed=True)
    answer = beside(page_on(wrong), wrong)
    assert answer.overall == "indeterminate"
    assert "no better proven than HM-1-IR-001 revision 0" in answer.reasons[0].sentence


@pytest.mark.parametrize(("revisions", "sha256", "register", "standing", "name"), [
    ((0,), None, "passed", "current", "NOT_DONE"),
    ((0, 1), None, "passed", "superseded by revision 1", "NOT_DONE"),
    ((0,), "0" * 64, "not done", "unknown", "NOT_DONE"),
    ((), None, "failed", "unknown", "REGISTER_DISAGREES"),
], ids=["known", "revised", "another file", "unknown"])  # fmt: skip
def test_a_register_says_whether_the_report_of_a_page_stands(tmp_path, revisions, sha256, register, standing, name):
    """The folder holds the register alone."""
    report = SimpleNamespace(signed_sha256=sha256 or FIRST.verification.sha256, unsigned_sha256="")
    row = SimpleNamespace(report=report, sequence=2)
    rows = {("HM-1-IR-001", one): row for one in revisions}
    answer = beside(page_on(FIRST), register=tmp_path, chain=SimpleNamespace(issued=rows, unread=None))
    assert (answer.register, answer.standing, answer.reasons[0].name) == (register, standing, name)


def test_a_page_of_a_stranger_is_in_doubt_and_states_nothing(page, few, archive, tmp_path):
    before = json.loads(audited(archive, few, tmp_path).stdout)
    forged = signed_by_a_stranger(page, area="A-13", number="BF-04-IR-099", revision=7, sha256="0" * 64, covered=None)
    (few / "BF-04-IR-099-r7.pdf").write_bytes(forged)
    after = json.loads(audited(archive, few, tmp_path).stdout)
    assert after["by_code"].pop("file-in-doubt") == 1
    assert after["by_code"].pop("papers") == 1
    assert (after["reports"], after["contract_states"]) == (before["reports"], before["contract_states"])
    assert after["by_code"] == before["by_code"]


def test_a_release_page_lies_beside_the_reports_of_a_submittal(page, few, archive, tmp_path):
    """It is not enclosed, and that is said; one that was altered still stops it."""
    for one in sorted(few.glob("*.pdf"))[3:]:
        one.unlink()
    shutil.copy(page, few / "a-02.pdf")
    given = ("submittal", few, "--identity", "demo", "--trust", archive.root, "-o", tmp_path / "out.pdf")
    told = run(*given, "--json")
    assert told.returncode == 0, told.stderr
    assert json.loads(told.stdout)["reports"] == 3
    assert "a-02.pdf is a release page (BF-04, A-02): it decides nothing and is not enclosed" in told.stderr
    (tmp_path / "out.pdf").unlink()
    (few / "a-02.pdf").write_bytes(page.read_bytes().replace(b"/Type /Page", b"/Type /Pige", 1) + b"%")
    assert run(*given).returncode == 2


@pytest.mark.parametrize("command", ["compare", "export"])
def test_who_gives_a_release_page_for_a_report_is_told_which_report_it_names(page, archive, tmp_path, command):
    others = [archive.folder / "BF-04" / "BF-04-IR-001.pdf"] if command == "compare" else ["-o", tmp_path / "o.xlsx"]
    told = " ".join(run(command, page, *others).stderr.split())
    assert "is a release page, of area A-02 of BF-04, and no report" in told
    assert "help: give the report that it names, BF-04-IR-00" in told
