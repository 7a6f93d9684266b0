"""An audit opens submittals: a report inside one counts like one that lies loose, each content once."""

import datetime as dt
import hashlib
import shutil
from pathlib import Path

import pytest

from reportgen.audit import Index, Narrowed, Terms, own_key
from reportgen.errors import UsageError
from reportgen.issued import Listed, original_inside
from reportgen.pipeline.asking import audit_query
from reportgen.pipeline.auditing import _Judge, audit
from reportgen.pipeline.filing import examination_checks
from tests.command import run
from tests.demo_archive import Archive, shared_archive


@pytest.fixture(scope="module")
def archive(tmp_path_factory) -> Archive:
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="module")
def enclosed(archive, tmp_path_factory):
    """A folder that holds nothing but a submittal of two reports, and the folder of the contract's reports."""
    folder, reports = tmp_path_factory.mktemp("enclosed"), archive.folder / "BF-04"
    first = sorted(reports.glob("*.pdf"))[:2]
    answer = run(
        "submittal", *first, "--identity", "demo", "--trust", archive.root, "-o", folder / "sent.pdf",
        "--partial", "the first two",
    )  # fmt: skip
    assert answer.returncode == 0, answer.stderr
    return folder, reports


def audited(folder, archive, index, **more):
    return audit(folder, trust=[archive.root], index=index, **more)


def test_reports_inside_a_submittal_count_like_loose_ones(archive, enclosed, tmp_path):
    folder, _ = enclosed
    done = audited(folder, archive, tmp_path / "index.sqlite")
    assert (done.audit.counts, done.audit.reports, done.audit.contracts) == ({"indeterminate": 1}, 2, 1)
    heads, rows, *_ = audit_query(done.index, "areas")
    rows = [row for row in rows if row[heads.index("file")] is not None]
    assert {row[heads.index("file")].partition("/")[0] for row in rows} == {"sent.pdf"}
    assert {row[heads.index("verdict")] for row in rows} == {"passed"}, "whoever sent them proves nothing about them"


def test_a_report_that_lies_loose_too_is_one_report(archive, enclosed, tmp_path):
    folder, reports = enclosed
    beside = shutil.copytree(folder, tmp_path / "beside")
    for path in sorted(reports.glob("*.pdf"))[:3]:
        shutil.copy(path, beside)
    done = audited(beside, archive, tmp_path / "index.sqlite")
    assert done.audit.reports == 3
    assert not done.audit.faults, done.audit.problems
    again = audited(beside, archive, tmp_path / "index.sqlite", at=dt.datetime.fromisoformat(done.audit.verified_at))
    assert (again.taken_over, again.audit) == (4, done.audit)
    (beside / "sent.pdf").unlink()
    assert audited(beside, archive, tmp_path / "index.sqlite").audit.reports == 3
    assert not audit_query(tmp_path / "index.sqlite", "files", Narrowed(value="failed"))[1]


def test_what_a_submittal_alone_holds_fills_no_gap_twice(archive, enclosed, tmp_path):
    folder, reports = enclosed
    beside = shutil.copytree(folder, tmp_path / "beside")
    shutil.copy(sorted(reports.glob("*.pdf"))[3], beside)
    done = audited(beside, archive, tmp_path / "index.sqlite")
    missing = [one.number for one in done.audit.problems if one.code == "number-missing"]
    assert missing == ["BF-04-IR-003"]


def test_an_original_is_taken_out_of_a_submittal_as_it_was_enclosed(archive, enclosed):
    folder, reports = enclosed
    original = min(reports.glob("*.pdf")).read_bytes()
    listed = Listed("BF-04-IR-001.pdf", hashlib.sha256(original).hexdigest(), len(original), "", 0, "")
    checks = examination_checks([archive.root], quick=True)
    assert original_inside((folder / "sent.pdf").read_bytes(), listed, checks) == original


def test_what_changes_or_goes_while_it_is_audited_is_judged_by_nothing(archive, enclosed, tmp_path):
    folder, reports = enclosed
    beside = shutil.copytree(folder, tmp_path / "beside")
    paths = [Path(shutil.copy(path, beside)) for path in sorted(reports.glob("*.pdf"))[2:4]]
    done = audited(beside, archive, tmp_path / "index.sqlite")
    terms = Terms(beside, examination_checks([archive.root], quick=True), "0")
    inside = "sent.pdf/BF-04-IR-001.pdf"
    with Index.read(done.index, key=own_key()) as index:
        judge = _Judge(index, terms)
        assert judge.read(inside) == min(reports.glob("*.pdf")).read_bytes()
        assert judge.read(paths[0].name) == paths[0].read_bytes()
        for change in (lambda path: path.write_bytes(paths[1].read_bytes()), Path.unlink):
            change(paths[0])
            with pytest.raises(UsageError, match=r"was changed while it was audited|cannot be read"):
                _Judge(index, terms).read(paths[0].name)
        (beside / "sent.pdf").unlink()
        with pytest.raises(UsageError, match="was changed while it was audited"):
            _Judge(index, terms).read(inside)
