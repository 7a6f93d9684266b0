"""The audit of an archive with known faults, run as a user runs it."""

import contextlib
import csv
import datetime as dt
import hashlib
import io
import json
import os
import platform
import re
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
import time
import zlib
from functools import partial
from pathlib import Path

import pytest
import yaml

from reportgen.audit import QUESTIONS, Narrowed, Task, Terms, run_task
from reportgen.audit.examining import contents_from
from reportgen.issued import Checks
from reportgen.job.project import Repeatability
from reportgen.pipeline.asking import audit_query
from reportgen.pipeline.auditing import audit
from reportgen.pipeline.workers import Spread
from tests.command import run
from tests.demo_archive import Archive, Seeded, by_a_stranger, made_once, shared_archive
from tests.outside import needs_program
from tests.saving import saved_attachments
from tests.verapdf import needs_verapdf, verapdf

AT = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
COMMAND = (sys.executable, "-c", "from reportgen.cli import main; raise SystemExit(main())")


@pytest.fixture(scope="session")
def archive(tmp_path_factory) -> Archive:
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="session")
def audited(archive, tmp_path_factory):
    def settle(place):
        done = audit(
            archive.folder,
            trust=[archive.root],
            index=place / "index.sqlite",
            spread=Spread(2),
            tables=place / "tables",
            report=place / "audit.pdf",
        )
        return done, place

    return made_once(tmp_path_factory, "audited", settle)


@pytest.fixture
def few(archive, tmp_path) -> Path:
    """Three reports of the contract without faults, in a folder of their own."""
    folder = tmp_path / "few"
    folder.mkdir()
    for path in sorted((archive.folder / "BF-04").glob("*.pdf"))[:3]:
        shutil.copy(path, folder)
    return folder


def test_every_seeded_fault_is_found_and_nothing_else(archive, audited):
    done, _ = audited
    found = {Seeded(one.code, one.contract, one.number, one.area) for one in done.audit.problems}
    assert found == set(archive.seeded)
    assert done.audit.counts == {"failed": 2, "passed": archive.reports - 2}
    assert {one.code for one in archive.seeded} >= {
        "number-missing", "number-duplicate", "superseded-in-use",
        "nonconformance-never-closed", "coated-while-not-released", "instrument-past-calibration", "readings-alike",
        "digits-heaped", "spread-narrow", "file-failed",
    }  # fmt: skip


def test_the_number_of_processes_changes_nothing(archive, few, tmp_path):
    shutil.copy(archive.folder / "BF-01" / "BF-01-IR-008.pdf", few)
    settle = partial(audit, few, trust=[archive.root], at=AT)
    one = settle(index=tmp_path / "1.sqlite", spread=Spread(1)).audit
    assert settle(index=tmp_path / "2.sqlite", spread=Spread(2)).audit == one
    assert one.problems


def test_questions_are_answered_from_the_index(audited):
    done, _ = audited
    heads, rows, *_ = audit_query(done.index, "history", Narrowed(number="BF-03-IR-009"))
    assert [dict(zip(heads, row, strict=True))["revision"] for row in rows] == [0, 1]
    heads, rows, *_ = audit_query(done.index, "open")
    told = [dict(zip(heads, row, strict=True)) for row in rows]
    assert [row["number"] for row in told if row["kind"] == "nonconformance"] == ["BF-03-IR-012"]


def test_the_repeatability_of_a_contract_is_printed_as_its_project_file_takes_it(audited):
    done, _ = audited
    answer = run("audit", "query", "repeatability", "--value", "BF-04", "--index", done.index)
    assert "verdict: passed" in answer.stdout.replace("\n  ", " ")
    block = yaml.safe_load(answer.stdout[answer.stdout.index("    repeatability:") :])["repeatability"]
    stated = Repeatability.model_validate({name: str(value) for name, value in block.items()})
    assert stated.degrees_of_freedom >= 20
    assert stated.value.unit in {"mil", "um"}


def test_the_report_is_an_archival_file_with_the_answer_inside(audited):
    from pypdf import PdfReader

    from reportgen.archival import read_attachments

    done, place = audited
    pdf = (place / "audit.pdf").read_bytes()
    answer = json.loads(read_attachments(pdf)["audit.json"])
    assert answer["by_code"] == done.audit.by_code()
    text = "\n".join(page.extract_text() for page in PdfReader(place / "audit.pdf").pages)
    assert "screening, not proof" in text
    assert "BF-01-IR-006" in text
    assert "pdfaid:part>3<" in pdf.decode("latin-1")
    rows = (place / "tables" / "files.csv").read_text(encoding="utf-8").count("\n") - 1
    assert rows == sum(done.audit.counts.values())


@needs_program("pdfdetach")
@needs_program("pdftk")
def test_the_answer_is_saved_by_common_tools(audited, tmp_path):
    assert set(saved_attachments(audited[1] / "audit.pdf", tmp_path)) == {"audit.json"}


@needs_verapdf
def test_the_reference_validator_finds_the_report_archival(audited):
    path = audited[1] / "audit.pdf"
    assert verapdf([path], "3a") == {path: []}


def test_the_command_says_what_is_wrong_and_ends_with_findings(archive, tmp_path):
    folder = tmp_path / "BF-01"
    folder.mkdir()
    for place in (5, 7, 8):
        shutil.copy(archive.folder / "BF-01" / f"BF-01-IR-00{place}.pdf", folder)
    result = run("audit", folder, "--trust", archive.root, cwd=tmp_path)
    assert result.returncode == 1, result.stderr
    assert "number-missing (fault, 5): a report number below the highest one has no report" in result.stdout
    assert "  there is no BF-01-IR-006, although a higher number of BF-01 was issued" in result.stdout
    assert result.stderr == "", "no bar and no library speaks in a pipe"
    again = run("audit", folder, "--trust", archive.root, "--json", cwd=tmp_path)
    assert json.loads(again.stdout)["files"] == {"failed": 1, "passed": 2}
    rows = run("audit", "query", "contracts", folder, "--json")
    assert json.loads(rows.stdout)["rows"][0]["contract"] == "BF-01"
    assert rows.returncode == 0


def test_a_clean_folder_ends_without_findings(archive, few, tmp_path):
    """With the text of the pages compared, and the answer as a PDF."""
    result = run("audit", few, "--trust", archive.root, "-o", tmp_path / "o.pdf", cwd=tmp_path)
    assert (tmp_path / "o.pdf").read_bytes().startswith(b"%PDF-")
    assert result.returncode == 0, result.stdout + result.stderr
    assert "3 files, 3 passed; 3 reports of 1 contract\n" in result.stdout


def test_the_questions_are_listed(tmp_path):
    result = run("audit", "query", cwd=tmp_path)
    assert result.returncode == 0
    assert [line.partition(":")[0] for line in result.stdout.splitlines() if line[0] != " "] == list(QUESTIONS)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["audit", "absent"], "absent is not a folder"),
        (["audit", "query", "open"], "a query needs the name of one question, and the folder"),
        (["audit", "query", "open", "more", "other"], "a query needs the name of one question, and the folder"),
        (["audit", "query", "open", "more", "--index", "x"], "there is no index x"),
        (["audit", "query", "nobody", "--index", "absent.sqlite"], "there is no index absent.sqlite"),
        (["audit", ".", ".."], "an audit is of one folder"),
        (["audit", ".", "--processes", "0"], "invalid"),
    ],
)
def test_what_cannot_be_audited_is_said_in_one_sentence(arguments, sentence, tmp_path):
    result = run(*arguments, cwd=tmp_path)
    assert result.returncode == 2
    assert sentence in result.stderr
    assert "Traceback" not in result.stderr


def test_a_poisonous_file_costs_only_itself(archive, few, tmp_path):
    """Not a PDF, empty, a bomb of nested arrays, a device: each has its verdict, the sound ones keep theirs."""
    (few / "text.pdf").write_text("not a PDF", encoding="utf-8")
    (few / "empty.pdf").write_bytes(b"")
    (few / "nested.pdf").write_bytes(b"%PDF-1.7\n1 0 obj\n" + b"[" * 2_000_000 + b"\nendobj\nstartxref\n9\n%%EOF\n")
    os.mkfifo(few / "pipe.pdf")
    done = audit(few, trust=[archive.root], index=tmp_path / "i.sqlite", spread=Spread(2)).audit
    verdicts = {one.path: (one.overall, [name for name, _ in one.reasons]) for one in done.files_with_reasons}
    assert done.counts["passed"] == 3
    assert verdicts["text.pdf"] == ("failed", ["FORMAT_FAILURE"])
    assert verdicts["empty.pdf"] == ("failed", ["FORMAT_FAILURE"])
    assert verdicts["nested.pdf"][0] in {"failed", "indeterminate"}
    assert verdicts["pipe.pdf"] == ("indeterminate", ["RESOURCE_LIMIT"])
    assert {one.code for one in done.problems} <= {"file-failed", "file-in-doubt"}


def hungry(_):
    """What a file that unpacks without end does to a check."""
    bytearray(4 << 30)


@pytest.mark.parametrize(
    ("limit", "sentence"),
    [
        ({"seconds": 0.01}, "takes longer to read than 0.01 s"),
        ({"page_text_check": hungry}, "it needs more memory than it is given"),
    ],
)
def test_a_file_that_breaks_the_limits_says_which(few, limit, sentence):
    checks = Checks(dt.datetime.now(dt.UTC), **limit)
    path = min(few.glob("*.pdf")).name
    answer = contents_from(run_task(Terms(few, checks, "0"), Task(path))[1])[0].verification
    assert answer.overall == "indeterminate"
    (reason,) = answer.reasons
    assert reason.name == "RESOURCE_LIMIT"
    assert sentence in reason.sentence
    assert path in reason.sentence


def test_a_killed_audit_goes_on_where_it_was(archive, tmp_path):
    """The process is killed once it has kept some verdicts; the next run examines only the others."""
    index, folder = tmp_path / "i.sqlite", archive.folder / "BF-01"
    total = len(list(folder.glob("*.pdf")))
    code = (
        "import reportgen.audit.index as index; index._EVERY = 1\n"
        "from pathlib import Path; from reportgen.pipeline.auditing import *\n"
        f"audit(Path({str(folder)!r}), trust=[Path({str(archive.root)!r})], index=Path({str(index)!r}),"
        " spread=Spread(1))"
    )
    child = subprocess.Popen([sys.executable, "-c", code])
    try:
        deadline = time.monotonic() + 60
        while _kept(index) < 5 and time.monotonic() < deadline:
            time.sleep(0.05)
    finally:
        child.send_signal(signal.SIGKILL)
        child.wait()
    kept = _kept(index)
    assert 5 <= kept < total
    done = audit(folder, trust=[archive.root], index=index, spread=Spread(2))
    assert done.taken_over == kept
    assert sum(done.audit.counts.values()) == total


def _kept(index: Path) -> int:
    if not index.exists():
        return 0
    try:
        with sqlite3.connect(f"file:{index}?mode=ro", uri=True) as database:
            return database.execute("SELECT COUNT(*) FROM examined").fetchone()[0]
    except sqlite3.OperationalError:
        return 0
    finally:
        database.close()


def test_a_changed_file_is_examined_again_and_a_removed_one_forgotten(archive, few, tmp_path):
    settle = partial(audit, few, trust=[archive.root], index=tmp_path / "i.sqlite", spread=Spread(1))
    assert settle().taken_over == 0
    first, second, _ = sorted(few.glob("*.pdf"))
    data = bytearray(first.read_bytes())
    data[data.index(b"stream\n") + 40] ^= 1
    times = first.stat()
    first.write_bytes(data)
    os.utime(first, ns=(times.st_atime_ns, times.st_mtime_ns))
    second.unlink()
    again = settle()
    assert again.taken_over == 1
    assert again.audit.counts == {"failed": 1, "passed": 1}
    assert settle(fresh=True).taken_over == 0


@pytest.mark.thorough
@pytest.mark.enable_socket
@pytest.mark.filterwarnings("ignore")
def test_a_cluster_of_two_workers_gives_the_same_answer(archive, tmp_path):
    import distributed

    folder = tmp_path / "part"
    folder.mkdir()
    for path in sorted((archive.folder / "BF-02").glob("BF-02-IR-00[5-7]*.pdf")):
        shutil.copy(path, folder)
    settle = partial(audit, folder, trust=[archive.root], at=AT)
    here = settle(index=tmp_path / "here.sqlite", spread=Spread(1)).audit
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        address = cluster.scheduler_address
        there = settle(index=tmp_path / "there.sqlite", spread=Spread(scheduler=address)).audit
    assert here == there
    assert here.problems


@pytest.mark.enable_socket
@pytest.mark.filterwarnings("ignore")
def test_a_scheduler_that_is_not_there_is_said(few, tmp_path, monkeypatch):
    from reportgen.audit import workers
    from reportgen.errors import MachineError

    monkeypatch.setattr(workers, "_PATIENCE", "1s")
    with pytest.raises(MachineError, match="cannot be reached"):
        list(workers.finished_on_cluster(str, [1], "tcp://127.0.0.1:9"))


def test_a_scheduler_without_dask_is_said(monkeypatch):
    from reportgen.audit import finished_on_cluster
    from reportgen.errors import UsageError

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UsageError, match=r"needs dask\.distributed"):
        list(finished_on_cluster(str, [1], "tcp://127.0.0.1:9"))


# --- names that are no text

NAMES = (
    (b"bad\xff.pdf", r"bad\xff.pdf"),
    (b"two\nlines.pdf", r"two\x0alines.pdf"),
    (rb"two\x0alines.pdf", r"two\\x0alines.pdf"),
    ("page \u202efdp.exe.pdf".encode(), r"page \u202efdp.exe.pdf"),
    ("\u05e9\u05dc \u6f22\u5b57 \U0001f600.pdf".encode(), "\u05e9\u05dc \u6f22\u5b57 \U0001f600.pdf"),
    (b"\x1b[31mred\x07.pdf", r"\x1b[31mred\x07.pdf"),
    ("nothing\u3164 \u00a0.pdf".encode(), r"nothing\u3164 \u00a0.pdf"),
    (b"=1+1.pdf", "=1+1.pdf"),
    (b"\xfe" * 240 + b".pdf", r"\xfe" * 240 + ".pdf"),
    ("\ufffe\u2028.pdf".encode(), r"\ufffe\u2028.pdf"),
)  # fmt: skip
needs_any_name = pytest.mark.skipif(sys.platform in {"win32", "darwin"}, reason="the file system takes only text")


@pytest.fixture
def oddly_named(archive, tmp_path) -> Path:
    """Genuine reports and files that are no PDF under odd names, in a folder whose own name is no text."""
    folder = tmp_path / os.fsdecode(b"arch\xfeive\n")
    folder.mkdir()
    sound = min((archive.folder / "BF-04").glob("*.pdf"))
    for name, _ in NAMES:
        (folder / os.fsdecode(b"junk " + name)).write_bytes(b"no PDF")
        shutil.copy(sound, folder / os.fsdecode(name))
    return folder


@needs_any_name
def test_no_name_of_a_file_ends_an_audit_and_each_is_shown_in_one_visible_way(archive, oddly_named, tmp_path):
    outputs = ["-o", b"audit\xff.pdf", "--csv", b"tables\xff", "--index", b"index\xff.sqlite"]
    terms = ["--trust", archive.root, *outputs, "--processes", "2"]
    said = run("audit", oddly_named, *terms, cwd=tmp_path)
    assert said.returncode == 1, said.stderr
    assert said.stderr == ""
    shown = {f"junk {shown}" for _, shown in NAMES}
    lines = said.stdout.split("\n")
    assert {line.strip().split(": the file")[0] for line in lines if "the file does not begin" in line} == shown
    assert {character for line in lines for character in line if not character.isprintable()} == set()
    again = run("audit", oddly_named, *outputs[4:], "--json", cwd=tmp_path)
    assert again.returncode == 1
    assert again.stdout.isascii()
    assert {row["file"] for row in json.loads(again.stdout)["files_not_passed"]} >= shown
    rows = json.loads(run("audit", "query", "files", *outputs[4:], "--json", cwd=tmp_path).stdout)["rows"]
    assert {row["file"] for row in rows} == shown | {name for _, name in NAMES}
    table = (tmp_path / os.fsdecode(b"tables\xff") / "files.csv").read_text(encoding="utf-8")
    assert {row["file"].removeprefix("'") for row in csv.DictReader(io.StringIO(table))} == {
        row["file"] for row in rows
    }
    assert all(line.isprintable() for line in table.split("\n"))


@needs_any_name
def test_the_pages_of_an_audit_show_every_name(archive, oddly_named, tmp_path):
    """Letters that the typeface lacks stand there as their code points."""
    from pypdf import PdfReader

    from reportgen.pdf.fonts import drawable

    report = tmp_path / "audit.pdf"
    audit(oddly_named, trust=[archive.root], index=tmp_path / "i.sqlite", report=report)
    text = "".join(page.extract_text() for page in PdfReader(report).pages)
    flat = "".join(text.split())
    for _, shown in NAMES:
        assert "".join(drawable(f"junk {shown}").split()) in flat
    assert "U+6F22U+5B57" in flat
    assert "Folder arch\\xfeive\\x0a" in text


@needs_any_name
def test_an_audit_of_odd_names_goes_on_where_it_was(archive, oddly_named, tmp_path):
    settle = partial(audit, oddly_named, trust=[archive.root], index=tmp_path / "i.sqlite")
    first = settle(spread=Spread(2))
    second = settle(spread=Spread(1))
    assert second.taken_over == sum(first.audit.counts.values()), "every file, second copies of a content too"
    assert (second.audit.counts, second.audit.problems) == (first.audit.counts, first.audit.problems)


def test_a_folder_that_cannot_be_listed_is_said_and_does_not_end_the_audit(archive, few, tmp_path, monkeypatch):
    (few / "closed").mkdir()
    real = os.scandir

    def refusing(path):
        if str(path).endswith("closed"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", refusing)
    done = audit(few, trust=[archive.root], index=tmp_path / "i.sqlite", spread=Spread(1)).audit
    (problem,) = done.problems
    assert (problem.code, problem.files) == ("file-in-doubt", ("closed/",))
    assert problem.sentence == "closed/: the folder closed/ cannot be listed: Permission denied"
    assert done.counts == {"indeterminate": 1, "passed": 3}


def test_a_report_that_exists_is_refused_before_anything_is_examined(few, tmp_path):
    (tmp_path / "o.pdf").write_bytes(b"mine")
    result = run("audit", few, "-o", tmp_path / "o.pdf", cwd=tmp_path)
    assert result.returncode == 2
    assert "exists already and is never overwritten; nothing was examined" in " ".join(result.stderr.split())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["few", "o.pdf"]
    result = run("audit", few, "-o", tmp_path / "absent" / "o.pdf", cwd=tmp_path)
    assert "cannot be written: no such folder" in " ".join(result.stderr.split())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("revision", b"1" + b"0" * 30),
        ("number", rb'"BF-04-IR-\u202e\u6f22\n\u001b[31m"'),
        ("number", rb'"\ud800"'),
    ],
)
def test_what_a_forged_report_claims_ends_no_audit(archive, few, tmp_path, field, value):
    """Well signed by somebody; the evaluation inside states what no report can."""

    def forge(evaluation):
        start = evaluation.index(b'"report":')
        changed = re.sub(rb'("%b"):("[^"]*"|[0-9]+)' % field.encode(), lambda found: b"%b:%b" % (found[1], value),
                         evaluation[start:], count=1)  # fmt: skip
        assert changed != evaluation[start:]
        return evaluation[:start] + changed

    (forged,) = by_a_stranger(tmp_path, "BF-04", [(12, 0)], forge)
    shutil.copy(forged, few / "forged.pdf")
    arguments = ["--trust", archive.root, "-o", tmp_path / "o.pdf", "--csv", tmp_path / "t"]
    result = run("audit", few, *arguments, "--index", tmp_path / "i.sqlite", "--json", cwd=tmp_path)
    assert result.returncode == 1, result.stderr
    answer = json.loads(result.stdout)
    assert answer["files"].pop("passed") == 3
    (other,) = answer["files_not_passed"]
    assert other["file"] == "forged.pdf"
    told = run("audit", few, *arguments[:3], "--index", tmp_path / "i.sqlite", cwd=tmp_path).stdout
    assert told.replace("\n", "").isprintable()


# --- an index in the hands of others


def altered(index: Path, statement: str, values: tuple[object, ...] = ()) -> None:
    with contextlib.closing(sqlite3.connect(index)) as database:
        database.execute(statement, values)
        database.commit()


def test_the_index_is_this_users_alone_and_not_in_the_current_folder(archive, few, tmp_path):
    result = run("audit", few, "--trust", archive.root, cwd=tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["few"]
    index = Path(re.search(r"^index: (.*)$", result.stdout, re.MULTILINE)[1])
    assert index.is_relative_to(os.environ["XDG_STATE_HOME"])
    if os.name != "nt":
        modes = [stat.S_IMODE(path.stat().st_mode) for path in (index, index.parent, index.parent.parent)]
        assert modes == [0o600, 0o700, 0o700]
        assert stat.S_IMODE((index.parent.parent / "audit.key").stat().st_mode) == 0o600
    assert run("audit", "query", "files", "few", "--json", cwd=tmp_path).returncode == 0
    assert run("audit", few, "--trust", archive.root, cwd=tmp_path).stdout.count("taken over") == 1


def test_a_verdict_that_was_written_into_the_index_is_not_believed(archive, few, tmp_path):
    """A report altered, and an index that says it passed: by its own user's hand, and by somebody else's audit."""
    index, first = tmp_path / "i.sqlite", min(few.glob("*.pdf"))
    settle = partial(audit, few, trust=[archive.root], index=index, spread=Spread(1))
    settle()
    with contextlib.closing(sqlite3.connect(index)) as database:
        genuine = database.execute("SELECT told FROM examined WHERE path = ?", (first.name,)).fetchone()[0]
    data = bytearray(first.read_bytes())
    data[data.index(b"stream\n") + 40] ^= 1
    first.write_bytes(data)
    assert settle().audit.counts == {"failed": 1, "passed": 2}
    told = json.loads(zlib.decompress(genuine))
    told["verification"]["sha256"] = hashlib.sha256(data).hexdigest()
    forged = zlib.compress(json.dumps(told).encode())
    altered(index, "UPDATE examined SET told = ?, holds_until = '9999' WHERE path = ?", (forged, first.name))
    altered(index, "UPDATE files SET overall = 'passed', reasons = '[]'")
    asked = run("audit", "query", "files", "--index", index)
    assert (asked.returncode, asked.stdout) == (2, "")
    assert "is not as an audit of yours left it" in " ".join(asked.stderr.split())
    result = run("audit", few, "--trust", archive.root, "--index", index, "--json")
    again = json.loads(result.stdout)
    assert (again["files"], again["not_believed"]) == ({"failed": 1, "passed": 2}, [first.name])
    assert "not_believed" not in json.loads(
        run("audit", few, "--trust", archive.root, "--index", index, "--json").stdout
    )
    handed_over = {"XDG_STATE_HOME": str(tmp_path / "of another")}
    said = run("audit", few, "--trust", archive.root, "--index", index, env=handed_over)
    assert "3 files examined again: the index holds verdicts that no audit of this user left there" in said.stdout
    assert "taken over" not in said.stdout


def test_an_index_of_the_users_own_making_changes_nothing_that_an_audit_writes(archive, few, tmp_path):
    """A trigger that makes every verdict a passed one as it is written."""
    index, first = tmp_path / "i.sqlite", min(few.glob("*.pdf"))
    first.write_bytes(first.read_bytes()[:-200])
    settle = partial(audit, few, trust=[archive.root], index=index, spread=Spread(1))
    before = settle()
    altered(index, "CREATE TRIGGER kind AFTER INSERT ON files BEGIN UPDATE files SET overall = 'passed'; END")
    again = settle()
    assert (again.audit.counts, again.taken_over) == ({"failed": 1, "passed": 2}, 0)
    assert again.audit.problems == before.audit.problems
    assert len(again.not_believed) == 3


# --- two audits on one index


def started(folder, index, archive, *options):
    """An audit at work, which keeps every verdict at once."""
    code = "import reportgen.audit.index as index; index._EVERY = 1; " + COMMAND[-1]
    command = ["audit", folder, "--index", index, "--trust", archive.root, *options]
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, command)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def until(wanted):
    deadline = time.monotonic() + 60
    while not wanted():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def test_a_second_audit_is_told_who_holds_the_index_and_a_reader_is_answered(archive, tmp_path):
    index = tmp_path / "i.sqlite"
    lock = tmp_path / "i.sqlite.lock"
    folder = archive.folder / "BF-01"
    first = started(folder, index, archive, "--processes", "1")
    try:
        until(lambda: lock.exists() and lock.read_bytes() and _kept(index))
        began = time.monotonic()
        second = run("audit", folder, "--index", index)
        assert time.monotonic() - began < 20
        assert first.poll() is None, "the first one was still at work"
        assert second.returncode == 4
        told = " ".join(second.stderr.split())
        assert f"another audit is writing {index}: process {first.pid} on {platform.node()} since 20" in told
        assert "Traceback" not in told
        asked = run("audit", "query", "files", "--index", index)
        assert asked.returncode == 2
        assert "has come to its end yet" in " ".join(asked.stderr.split())
    finally:
        _, err = first.communicate(timeout=120)
    assert (first.returncode, err) == (1, ""), "it noticed nothing of the others"
    assert not lock.exists()
    assert run("audit", "query", "files", "--index", index).stderr == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["i.sqlite"], "a finished index is one file"


def test_a_killed_audit_leaves_no_lock_and_no_worker(archive, tmp_path):
    index = tmp_path / "i.sqlite"
    killed = started(archive.folder, index, archive, "--processes", "2")
    lock = tmp_path / "i.sqlite.lock"
    until(lambda: lock.exists() and lock.read_bytes() and _children(killed.pid))
    workers = _children(killed.pid)
    killed.kill()
    killed.communicate()
    until(lambda: not any(Path(f"/proc/{worker}").exists() for worker in workers))
    assert lock.exists(), "its file is still there, and locks nothing"
    folder = archive.folder / "BF-04"
    other = run("audit", folder, "--trust", archive.root, "--index", index)
    assert "is the index of" in " ".join(other.stderr.split()), "that of another folder: it got past the lock"
    assert not lock.exists()


def _children(pid):
    found = []
    for one in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            fields = one.read_text().rsplit(")", 1)[1].split()
            found += [int(one.parent.name)] if int(fields[1]) == pid and fields[0] != "Z" else []
    return found


# --- a stranger's files in the folder


@pytest.fixture(scope="session")
def forged(tmp_path_factory) -> Path:
    """Of the contract with an open nonconformance: revisions 9 of the reports that name it, and a further report."""
    return made_once(
        tmp_path_factory, "stranger", lambda place: by_a_stranger(place, "BF-03", [(11, 9), (12, 9), (13, 0)])[0].parent
    )


def test_a_strangers_revision_erases_no_fault(archive, forged, tmp_path):
    """The same names, another certificate: what the genuine reports show stays, and each row says by what proof."""
    folder = tmp_path / "BF-03"
    shutil.copytree(archive.folder / "BF-03", folder)
    genuine = run("audit", folder, "--trust", archive.root, "--json", cwd=tmp_path)
    faults = {(one["code"], one["sentence"]) for one in json.loads(genuine.stdout)["problems"]}
    assert "nonconformance-never-closed" in {code for code, _ in faults}
    before = states(tmp_path)
    assert before["A-21"][0] != "release"
    for path in forged.glob("*.pdf"):
        shutil.copy(path, folder / f"z-{path.name}")
    mixed = run("audit", folder, "--trust", archive.root, "--json", cwd=tmp_path)
    problems = json.loads(mixed.stdout)["problems"]
    assert faults <= {(one["code"], one["sentence"]) for one in problems}
    added = [one for one in problems if (one["code"], one["sentence"]) not in faults]
    assert {one["verdict"] for one in added} == {"indeterminate"}
    assert {(one["code"], one["number"]) for one in added if one["weight"] == "fault"} == {
        ("revision-less-proven", "BF-03-IR-011"),
        ("revision-less-proven", "BF-03-IR-012"),
    }
    rows = run("audit", "query", "history", folder, "--value", "BF-03-IR-011", "--json", cwd=tmp_path)
    assert [
        (row["revision"], row["place"], row["file"], row["verdict"]) for row in json.loads(rows.stdout)["rows"]
    ] == [
        (0, "decides", "BF-03-IR-011.pdf", "passed"),
        (9, "set aside", "z-BF-03-IR-011-r9.pdf", "indeterminate"),
    ]
    assert states(tmp_path) == before


def states(place):
    said = run("audit", "query", "areas", "BF-03", "--json", cwd=place)
    return {
        row["area"]: (row["decision"], row["file"], row["verdict"])
        for row in json.loads(said.stdout)["rows"]
        if "decision" in row
    }
