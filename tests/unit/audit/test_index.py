"""The index: whose it is, what it refuses, what it answers, and its tables for a spreadsheet."""

import contextlib
import csv
import re
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from reportgen.audit import QUESTIONS, Index, Narrowed, ask, audit_of, write_tables
from reportgen.audit.index import FORMAT
from reportgen.errors import MachineError, UsageError
from tests.unit.issued import records as made
from tests.unit.issued.records import area, nonconformance, report, surface

KEY = b"of this user"
UNTIL = "2030-06-01T00:00:00+00:00"


def make(path, **more):
    given = {"key": KEY, "folder": "/a", "fingerprint": "f", "at": "2026-04-01T00:00:00+00:00", **more}
    return Index.make(path, **given)


@pytest.fixture
def kept(tmp_path):
    path = tmp_path / "kept.sqlite"
    with make(path) as index:
        record = report(
            1, areas=[area("A", "3.1")], surfaces=[surface("A", "3.1 3.2")], nonconformances=(nonconformance(),)
        )
        index.store("=1.pdf", made.examined(record))
        index.store("2.pdf", made.examined(None, failed=True))
        audit_of(index)
    return path


def test_what_is_known_stays_known(kept):
    with make(kept) as index:
        assert set(index.known()) == {"=1.pdf", "2.pdf"}


@pytest.mark.parametrize("change", [{"fingerprint": "other"}, {"fresh": True}])
def test_verdicts_by_other_terms_are_not_taken_over(kept, change):
    with make(kept, **change) as index:
        assert index.known() == {}
        assert index.unproven == set(), "nobody altered them"


def test_a_file_that_is_gone_is_forgotten(kept):
    with make(kept) as index:
        index.forget(["=1.pdf"])
        assert set(index.known()) == {"2.pdf"}
        assert audit_of(index).reports == 0


def test_a_copy_whose_original_is_gone_takes_its_place(kept):
    with make(kept) as index:
        record = report(
            1, areas=[area("A", "3.1")], surfaces=[surface("A", "3.1 3.2")], nonconformances=(nonconformance(),)
        )
        index.store("copy.pdf", made.examined(record))
        assert audit_of(index).reports == 1
    with make(kept) as index:
        assert "copy.pdf" in index.known()
        index.forget(["=1.pdf"])
        assert audit_of(index).reports == 1
        assert index.rows("SELECT path FROM reports") == [("copy.pdf",)]


def test_a_folder_may_be_called_anything(tmp_path):
    with make(tmp_path / "quoted.sqlite", folder='/a\'s "b"; --') as index:
        assert index.value("folder") == '/a\'s "b"; --'


def test_the_index_of_another_folder_is_not_used(kept):
    with pytest.raises(UsageError, match="is the index of /a"):
        make(kept, folder="/b")


def test_what_is_no_index_is_refused(tmp_path):
    text = tmp_path / "text.sqlite"
    text.write_text("not a database, and longer than a header of one would have to be", encoding="utf-8")
    with pytest.raises(UsageError, match="is not the index of an audit"):
        make(text)
    with pytest.raises(UsageError, match="is not the index of an audit"):
        Index.read(text, key=KEY)
    with pytest.raises(UsageError, match="there is no index"):
        Index.read(tmp_path / "absent.sqlite", key=KEY)
    with pytest.raises(MachineError, match="cannot be used"):
        make(tmp_path / "absent" / "x.sqlite")


def test_a_database_of_something_else_is_refused(tmp_path):
    path = tmp_path / "other.sqlite"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE meta (key, value)")
    with pytest.raises(UsageError, match="is not the index of an audit"):
        make(path)


NEEDED = {"area-history": Narrowed(area="A"), "recall": Narrowed(gauge="T1")}
"""What a question needs to be asked."""
NONE_HERE = {
    "alike", "conditions", "instruments", "numbers", "papers", "parameters", "photos", "problems", "recall", "screens",
    "submittals", "contracts", "areas",
}  # fmt: skip
"""What reports without a project file and without entries do not tell."""


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_is_answered(kept, name):
    with Index.read(kept, key=KEY) as index:
        heads, rows, _ = ask(index, name, NEEDED.get(name))
        assert heads
        assert rows or name in NONE_HERE
        for one in QUESTIONS[name].by:
            if one not in ("value", "from", "to", "standing"):
                with pytest.raises(UsageError, match="no report in the index has the"):
                    ask(index, name, replace(NEEDED.get(name, Narrowed()), **{one: "no such thing"}))
        if "value" in QUESTIONS[name].by:
            assert ask(index, name, Narrowed(value="no such thing")).rows == []


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_filter_that_does_not_fit_is_refused(kept, name):
    with Index.read(kept, key=KEY) as index:
        misfits = {"contract", "area", "gauge", "number", "inspector", "since", "until", "standing"}
        fitting = {{"from": "since", "to": "until"}.get(one, one) for one in QUESTIONS[name].by}
        for one in sorted(misfits - fitting):
            with pytest.raises(UsageError, match="cannot be narrowed by"):
                ask(index, name, replace(NEEDED.get(name, Narrowed()), **{one: "2026-01-01"}))


def test_an_unknown_question_is_refused(kept):
    with Index.read(kept, key=KEY) as index, pytest.raises(UsageError, match="there is no question `nobody`"):
        ask(index, "nobody")


def test_a_question_cannot_write(kept):
    with Index.read(kept, key=KEY) as index, pytest.raises(sqlite3.OperationalError, match="readonly"):
        index.rows("DELETE FROM files")


def test_tables_for_a_spreadsheet_hold_no_formula(kept, tmp_path):
    with make(kept) as index:
        files, problems = write_tables(audit_of(index), index, tmp_path / "tables")
    rows = list(csv.DictReader(files.read_text(encoding="utf-8").splitlines()))
    assert [row["file"] for row in rows] == ["2.pdf", "'=1.pdf"]
    assert [row["verdict"] for row in rows] == ["failed", "passed"]
    codes = [row["code"] for row in csv.DictReader(problems.read_text(encoding="utf-8").splitlines())]
    assert codes == ["file-failed", "nonconformance-never-closed"]


def test_a_folder_for_tables_that_cannot_be_is_said(kept, tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with make(kept) as index, pytest.raises(MachineError, match="cannot be made"):
        write_tables(audit_of(index), index, tmp_path / "file" / "tables")


def test_the_schema_names_every_table():
    text = (Path(__file__).parents[3] / "reportgen" / "audit" / "schema.sql").read_text(encoding="utf-8")
    with make(Path(":memory:")) as index:
        names = {name for (name,) in index.rows("SELECT name FROM sqlite_master WHERE type = 'table'")}
    assert all(f"CREATE TABLE {name} (" in text for name in names)


def test_the_cost_of_a_file_does_not_grow_with_the_archive():
    """What was kept of a file before is dropped through an index: scanning the table would make the whole quadratic."""
    from reportgen.audit.entering import OF_A_FILE

    with make(Path(":memory:")) as index:
        for table in ("files", *OF_A_FILE):
            plan = index.rows(f"EXPLAIN QUERY PLAN DELETE FROM {table} WHERE path = 'x'")  # noqa: S608 - our own names
            assert all(row[-1].startswith("SEARCH") for row in plan), (table, plan)


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_row_of_an_answer_ends_with_the_verdict_on_its_file(tmp_path, name):
    path = tmp_path / "mixed.sqlite"
    with make(path) as index:
        for n, doubts in ((1, ()), (2, ("NO_CERTIFICATE_CHAIN_FOUND",))):
            record = report(
                n, areas=[area(f"A{n}", "3.1")], surfaces=[surface("A", "3.1 3.2")],
                nonconformances=(nonconformance(f"NC-{n}"),),
            )  # fmt: skip
            index.store(f"{n}.pdf", made.examined(record, doubts=doubts, until=UNTIL))
        audit_of(index)
    with Index.read(path, key=KEY) as index:
        heads, rows, _ = ask(index, name, {**NEEDED, "area-history": Narrowed(area="A1")}.get(name))
    verdict, until = heads.index("verdict"), heads.index("holds_until")
    if name != "repeatability":
        assert heads[-6:] == ["holds_until", "number", "revision", "file", "standing", "verdict"]
    verdicts = [row[verdict] for row in rows]
    assert {row[until] for row in rows if row[verdict] == "passed"} <= {UNTIL}
    assert {row[until] for row in rows if row[verdict] != "passed"} <= {None}
    if not rows or name in NONE_HERE:
        return
    assert name == "area-history" or "indeterminate" in verdicts
    if name != "problems":
        assert "passed" in verdicts
    if "file" in heads:
        expected = {"1.pdf": "passed", "2.pdf": "indeterminate"}
    file = heads.index("file") if "file" in heads else None
    assert file is None or {(row[file], row[verdict]) for row in rows} <= set(expected.items())


def of_format(path, application, version, told=None):
    """Make an index one of another format; those before this one said in their rows which."""
    altered(
        path, "CREATE TABLE IF NOT EXISTS of_another (path)", f"PRAGMA application_id = {application}",
        f"PRAGMA user_version = {version}",
    )  # fmt: skip
    if told is not None:
        altered(path, f"INSERT OR REPLACE INTO meta VALUES ('format', '{told}')")  # noqa: S608 - our own words


def test_an_index_of_an_older_release_is_not_read_and_made_anew(kept):
    of_format(kept, 0, 0, told=15)
    with pytest.raises(UsageError, match="written by an older release"):
        Index.read(kept, key=KEY)
    with make(kept) as index:
        assert not index.altered, "it is as its release left it"
        assert index.known() == {}
        assert ("of_another",) not in index.rows("SELECT name FROM sqlite_master")
        index.store("1.pdf", made.examined(report(1)))
        audit_of(index)
    with Index.read(kept, key=KEY) as index:
        assert index.rows("PRAGMA user_version") == [(FORMAT,)]


def test_an_index_made_anew_is_whole_or_as_before_when_that_is_ended(kept, monkeypatch):
    of_format(kept, 0, 0, told=15)
    monkeypatch.setattr("reportgen.audit.index._schema", lambda: "CREATE TABLE first (x); CREATE TABLE first (x);")
    with pytest.raises(sqlite3.OperationalError):
        make(kept)
    monkeypatch.undo()
    with make(kept) as index:
        assert index.value("folder") == "/a"


def test_an_index_of_a_newer_release_is_refused_and_left_alone(kept):
    of_format(kept, 0x52474958, FORMAT + 1)
    before = kept.read_bytes()
    with pytest.raises(UsageError, match="written by a newer release"):
        Index.read(kept, key=KEY)
    with pytest.raises(UsageError, match="written by a newer release"):
        make(kept)
    assert kept.read_bytes() == before


def test_an_answer_says_whether_its_audit_came_to_its_end(kept):
    with Index.read(kept, key=KEY) as index:
        assert index.value("finished") == "yes"
        before = ask(index, "files")
    with make(kept, at="2026-05-01T00:00:00+00:00") as index:
        index.store("3.pdf", made.examined(report(3)))
    with Index.read(kept, key=KEY) as index:
        assert index.value("finished") == ""
        assert (index.value("answered_at"), ask(index, "files")) == ("2026-04-01T00:00:00+00:00", before)


def altered(path, *statements):
    """What somebody does who can write the file."""
    with contextlib.closing(sqlite3.connect(path)) as database:
        for statement in statements:
            database.execute(statement)
        database.commit()


OF_A_ROW = (
    "UPDATE examined SET told = (SELECT told FROM examined WHERE path = '=1.pdf') WHERE path = '2.pdf'",
    "UPDATE examined SET told = x'00' WHERE path = '2.pdf'",
    "UPDATE examined SET sha256 = 'ab' WHERE path = '2.pdf'",
    "UPDATE examined SET holds_until = '9999' WHERE path = '2.pdf'",
    "UPDATE examined SET broke_off = 1 WHERE path = '2.pdf'",
    "UPDATE examined SET mac = 'text' WHERE path = '2.pdf'",
    "UPDATE examined SET mac = (SELECT mac FROM examined WHERE path = '=1.pdf') WHERE path = '2.pdf'",
    "INSERT OR REPLACE INTO examined SELECT '2.pdf', sha256, holds_until, broke_off, told, mac FROM examined",
)


@pytest.mark.parametrize("statement", OF_A_ROW)
def test_a_row_that_was_altered_is_not_believed(kept, statement):
    altered(kept, statement)
    with make(kept) as index:
        assert set(index.known()) == {"=1.pdf"}
        assert index.unproven == {"2.pdf"}


def test_what_another_user_left_is_not_believed(kept):
    with make(kept, key=b"of another") as index:
        assert index.known() == {}
        assert index.unproven == {"=1.pdf", "2.pdf"}
    with pytest.raises(UsageError, match="is not as an audit of yours left it"):
        Index.read(kept, key=b"of a third")


@pytest.mark.parametrize("fingerprint", ["weaker", "f"])
def test_a_verdict_by_other_terms_is_not_one_by_these(kept, fingerprint):
    """As when a verdict without any list of revocations is to pass for one with them."""
    with contextlib.closing(sqlite3.connect(kept)) as database:
        database.execute("UPDATE meta SET value = ? WHERE key = 'fingerprint'", (fingerprint,))
        database.commit()
    with make(kept, fingerprint="weaker") as index:
        assert index.known() == {}


@pytest.mark.parametrize("statement", [
    "CREATE TRIGGER kind AFTER INSERT ON files BEGIN UPDATE files SET overall = 'passed'; END",
    "CREATE TRIGGER sqlite_stat1 AFTER INSERT ON problems BEGIN DELETE FROM problems; END",
    "ALTER TABLE files ADD COLUMN also",
    'CREATE VIEW "so "" called" AS SELECT * FROM files',
    "DROP TABLE problems",
])  # fmt: skip
def test_tables_that_are_others_than_ours_are_made_anew(kept, statement):
    """Nothing that a table does by itself has a part in what is written into it."""
    with contextlib.closing(sqlite3.connect(kept)) as database:
        if "sqlite_stat1" in statement:
            database.execute("PRAGMA writable_schema = ON")
            database.execute("INSERT INTO sqlite_master VALUES ('trigger', 'sqlite_stat1', 'problems', 0, ?)",
                             (statement,))  # fmt: skip
        else:
            database.execute(statement)
        database.commit()
    with pytest.raises(UsageError, match="is not as an audit of yours left it"):
        Index.read(kept, key=KEY)
    with make(kept) as index:
        assert index.altered
        assert index.known() == {}
        index.store("2.pdf", made.examined(None, failed=True))
        assert [one.code for one in audit_of(index).problems] == ["file-failed"]
    with Index.read(kept, key=KEY) as index:
        assert index.rows("SELECT overall FROM files") == [("failed",)]


def test_what_the_library_itself_notes_is_no_alteration(kept):
    altered(kept, "ANALYZE")
    with Index.read(kept, key=KEY) as index:
        assert ask(index, "files")[1]
    with make(kept) as index:
        assert not index.altered


@pytest.mark.parametrize("statement", [
    "UPDATE files SET overall = 'passed'",
    "UPDATE reports SET verdict = 'conforms', counts = 0",
    "UPDATE nonconformances SET status = 'closed'",
    "UPDATE states SET decision = 'release'",
    "UPDATE meta SET value = '2031-01-01' WHERE key = 'answered_at'",
    "UPDATE meta SET value = '/b' WHERE key = 'folder'",
    "UPDATE meta SET value = '' WHERE key = 'proof'",
    "DELETE FROM problems",
    "DELETE FROM meta WHERE key = 'proof'",
    "INSERT INTO findings VALUES ('2.pdf', 'x', 'x', 'x', 'x')",
    "UPDATE files SET reasons = CAST(x'ff' AS TEXT)",
])  # fmt: skip
def test_an_answer_that_was_altered_is_not_given(kept, statement):
    altered(kept, statement)
    with pytest.raises(UsageError, match=r"is not (as|the index)|has come to its end"):
        Index.read(kept, key=KEY)
    with make(kept, folder="/b" if "'/b'" in statement else "/a") as index:
        assert set(index.known()) == {"=1.pdf", "2.pdf"}, "what was found in the files was not altered"
        assert audit_of(index).counts == {"failed": 1, "passed": 1}


def test_an_index_without_an_answer_says_so(tmp_path):
    path = tmp_path / "i.sqlite"
    with make(path) as index:
        index.store("1.pdf", made.examined(report(1)))
    with pytest.raises(UsageError, match=r"no audit that writes .* has come to its end yet"):
        Index.read(path, key=KEY)


def test_an_audit_that_fails_at_its_end_leaves_the_answer_before(kept):
    def fail():
        with make(kept) as index:
            index.store("3.pdf", made.examined(report(3)))
            index.save()
            index.settle()
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    with Index.read(kept, key=KEY) as index:
        assert len(ask(index, "files")[1]) == 2
    with make(kept) as index:
        assert "3.pdf" in index.known(), "what was examined is kept all the same"


def test_what_others_write_meanwhile_ends_the_audit(kept):
    with make(kept) as index:
        assert index.known()
        altered(kept, OF_A_ROW[0])
        with pytest.raises(MachineError, match="something else than this audit writes"):
            audit_of(index)


def test_a_reader_leaves_nothing_beside_the_index(kept):
    with Index.read(kept, key=KEY) as index:
        assert ask(index, "files")[1]
    assert [path.name for path in kept.parent.iterdir()] == ["kept.sqlite"]


def test_a_disk_that_is_full_is_said_and_no_bug_of_ours(kept):
    def fill():
        with make(kept) as index:
            index.rows("PRAGMA max_page_count = 1")
            for n in range(500):
                index.store(f"{n:04d}.pdf", made.examined(report(n + 1)))

    with pytest.raises(MachineError, match="cannot be used: database or disk is full"):
        fill()


def test_text_of_strangers_is_visible_in_the_index(kept):
    record = report(1, number="X\u202e\n1", areas=[area("A\x00", "3.1")])
    with make(kept, fresh=True) as index:
        index.store("x.pdf", made.examined(record))
        audit_of(index)
        for table in ("files", "reports", "areas"):
            for row in index.rows(f"SELECT * FROM {table}"):  # noqa: S608 - our own names
                assert all(cell.isprintable() for cell in row if isinstance(cell, str))
        assert index.rows("SELECT number FROM reports") == [(r"X\u202e\x0a1",)]


def test_a_number_that_no_index_can_hold_is_no_record():
    from reportgen.formats import plain
    from reportgen.formats.decoding import value_from
    from reportgen.issued.record import ReportRecord

    data = plain(report(1))
    for field, value in (("revision", 10**30), ("number", "9" * 70_000), ("minimum", made.Decimal("1E+999999"))):
        with pytest.raises(ValueError, match="larger than anything a report holds"):
            value_from(ReportRecord, {**data, field: value})


@pytest.mark.parametrize(("name", "taken"), [("CLAIMED_TIME_IN_FUTURE", False), ("PAGES_DIFFER", True)])
def test_what_lay_in_the_future_by_a_slow_clock_is_examined_again(tmp_path, name, taken):
    from dataclasses import replace

    from reportgen.verification import Reason
    from reportgen.verification.verdict import step_of

    whole = made.examined(report(1))
    answer = whole.verification
    early = replace(answer, steps=(*answer.steps[:5], step_of(6, [Reason(name, "by the clock")]), *answer.steps[6:]))
    with make(tmp_path / "early.sqlite") as index:
        index.store("1.pdf", replace(whole, verification=early))
    with make(tmp_path / "early.sqlite", at="2026-04-02T00:00:00+00:00") as index:
        assert set(index.known()) == ({"1.pdf"} if taken else set())


@pytest.mark.parametrize(("day", "taken"), [("02", True), ("03", True), ("01", False)])
def test_what_was_examined_by_a_clock_that_was_put_back_is_examined_again(tmp_path, day, taken):
    with make(tmp_path / "fast.sqlite", at="2026-04-02T00:00:00+00:00") as index:
        index.store("1.pdf", made.examined(report(1)))
    with make(tmp_path / "fast.sqlite", at=f"2026-04-{day}T00:00:00+00:00") as index:
        assert set(index.known()) == ({"1.pdf"} if taken else set())
    with make(tmp_path / "fast.sqlite", at="2026-04-05T00:00:00+00:00") as index:
        assert set(index.known()) == ({"1.pdf"} if taken else set()), "what one audit dropped, no later one takes over"


def scans_of_each_row(index, query):
    """The tables that the plan of a query goes through whole for each row of another, and of which it keeps nothing."""
    given = dict.fromkeys(set(re.findall(r":([a-z_]+)", query)), "")
    plan = index.named(f"EXPLAIN QUERY PLAN {query}", given)[1]
    of_each = {step for step, _, _, told in plan if told.startswith("CORRELATED")}
    found = []
    for step, above, _, told in plan:
        of_each |= {step} if above in of_each else set()
        if above in of_each and told.startswith("SCAN ") and "VIRTUAL" not in told and "(subquery" not in told:
            found.append(told)
    return found


@pytest.mark.parametrize("name", QUESTIONS)
def test_no_question_reads_a_table_anew_for_each_row(kept, name):
    """Ten times the reports then cost about ten times as much; the plan is SQLite's own."""
    with Index.read(kept, key=KEY) as index:
        question = QUESTIONS[name]
        query = question.query.replace("{where}", " AND ".join(["1", *question.by.values()]))
        assert scans_of_each_row(index, query) == []
