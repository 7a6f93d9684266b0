"""The index: whose it is, what it refuses, what it answers, and its tables for a spreadsheet."""

import csv
from pathlib import Path

import pytest

from reportgen.audit import QUESTIONS, Index, ask, audit_of, write_tables
from reportgen.errors import MachineError, UsageError
from tests.unit.issued import records as made
from tests.unit.issued.records import area, nonconformance, report, surface


def make(path, **more):
    given = {"folder": "/a", "fingerprint": "f", "at": "2026-04-01T00:00:00+00:00", **more}
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
        assert index.rows("SELECT * FROM sequences") == []


def test_a_file_that_is_gone_is_forgotten(kept):
    with make(kept) as index:
        index.forget(["=1.pdf"])
        assert set(index.known()) == {"2.pdf"}
        assert audit_of(index).reports == 0


def test_a_copy_whose_original_is_gone_is_examined_again(kept):
    with make(kept) as index:
        record = report(
            1, areas=[area("A", "3.1")], surfaces=[surface("A", "3.1 3.2")], nonconformances=(nonconformance(),)
        )
        index.store("copy.pdf", made.examined(record))
        audit_of(index)
        assert "copy.pdf" not in index.known()


def test_the_index_of_another_folder_is_not_used(kept):
    with pytest.raises(UsageError, match="is the index of /a"):
        make(kept, folder="/b")


def test_what_is_no_index_is_refused(tmp_path):
    text = tmp_path / "text.sqlite"
    text.write_text("not a database, and longer than a header of one would have to be", encoding="utf-8")
    with pytest.raises(UsageError, match="is not the index of an audit"):
        make(text)
    with pytest.raises(UsageError, match="is not the index of an audit"):
        Index.read(text)
    with pytest.raises(UsageError, match="there is no index"):
        Index.read(tmp_path / "absent.sqlite")
    with pytest.raises(MachineError, match="cannot be used"):
        make(tmp_path / "absent" / "x.sqlite")


def test_a_database_of_something_else_is_refused(tmp_path):
    import sqlite3

    path = tmp_path / "other.sqlite"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE meta (key, value)")
    with pytest.raises(UsageError, match="is not the index of an audit"):
        make(path)


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_is_answered(kept, name):
    with Index.read(kept) as index:
        heads, rows, _ = ask(index, name)
        assert heads
        assert rows
        _, none, _ = ask(index, name, "no such thing")
        assert none == []


def test_an_unknown_question_is_refused(kept):
    with Index.read(kept) as index, pytest.raises(UsageError, match="there is no question `nobody`"):
        ask(index, "nobody")


def test_a_question_cannot_write(kept):
    import sqlite3

    with Index.read(kept) as index, pytest.raises(sqlite3.OperationalError, match="readonly"):
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
    from reportgen.audit.index import _OF_A_FILE

    with make(Path(":memory:")) as index:
        for table in ("files", *_OF_A_FILE):
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
            index.store(f"{n}.pdf", made.examined(record, doubts=doubts))
        audit_of(index)
    with Index.read(path) as index:
        heads, rows, _ = ask(index, name)
    assert heads[-1] == "verdict"
    verdicts = [row[-1] for row in rows]
    assert "indeterminate" in verdicts
    if name != "problems":
        assert "passed" in verdicts
    if "file" in heads:
        expected = {"1.pdf": "passed", "2.pdf": "indeterminate"}
        assert all(expected[row[heads.index("file")]] == row[-1] for row in rows)


def test_an_index_of_another_release_is_not_read_and_made_anew(kept):
    import sqlite3

    for format_of, sentence in (("1", "written by an older release"), ("99", "written by a newer release")):
        with sqlite3.connect(kept) as database:
            database.execute("UPDATE meta SET value = ? WHERE key = 'format'", (format_of,))
            database.execute("CREATE TABLE IF NOT EXISTS of_old (path)")
        database.close()
        with pytest.raises(UsageError, match=sentence):
            Index.read(kept)
        with make(kept) as index:
            assert index.known() == {}
            assert ("of_old",) not in index.rows("SELECT name FROM sqlite_master")


def test_an_answer_says_whether_its_audit_came_to_its_end(kept):
    from reportgen.pipeline.auditing import audit_query

    assert audit_query(kept, "open").finished
    with make(kept) as index:
        index.store("3.pdf", made.examined(report(3)))
    assert not audit_query(kept, "open").finished


def test_a_reader_leaves_nothing_beside_the_index(kept):
    with Index.read(kept) as index:
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
