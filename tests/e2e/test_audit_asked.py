"""What an auditor asks of an index: narrowed questions, recall, histories, a release; as text, workbook and page."""

import base64
import datetime as dt
import hashlib
import io
import json
import re
import shutil
from html.parser import HTMLParser

import openpyxl
import pytest

from reportgen.pipeline.auditing import audit
from reportgen.pipeline.workers import Spread
from tests.command import run
from tests.demo_archive import made_once, shared_archive

ENDS = ["holds_until", "number", "revision", "file", "standing", "verdict"]


@pytest.fixture(scope="session")
def archive(tmp_path_factory):
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="session")
def answered(archive, tmp_path_factory):
    """The index of the demo archive, with everything it answers as a workbook and as a page, in both languages."""

    def settle(place):
        for language in ("en", "de"):
            audit(
                archive.folder,
                trust=[archive.root],
                index=place / "index.sqlite",
                spread=Spread(2),
                answers=[place / f"{language}.xlsx", place / f"{language}.html"],
                language=language,
            )
        return place

    return made_once(tmp_path_factory, "answered", settle)


@pytest.fixture
def asked(answered):
    def ask(question, *options, code=0):
        answer = run("audit", "query", question, "--index", answered / "index.sqlite", *options, "--json")
        assert answer.returncode == code, answer.stderr
        return json.loads(answer.stdout)["rows"] if code == 0 else " ".join(answer.stdout.split())

    return ask


def test_filters_combine_and_a_misfit_or_a_slip_is_an_error(asked):
    rows = asked("area-history", "--area", "A-02", "--contract", "BF-01")
    assert [(row["date"], row["decision"], row["number"]) for row in rows] == [
        ("2025-03-04", "hold", "BF-01-IR-001"),
        ("2025-03-06", "release", "BF-01-IR-003"),
    ]
    assert len(asked("area-history", "--area", "A-02", "--contract", "BF-01", "--from", "2025-03-05")) == 1
    assert asked("area-history", "--area", "A-02", "--contract", "BF-01", "--to", "2025-03-01") == []
    assert "cannot be narrowed by --gauge" in asked("open", "--gauge", "BF-01-T1", code=2)
    assert "is `BF-01` meant?" in asked("areas", "--contract", "BF-1", code=2)
    assert "needs --gauge" in asked("recall", code=2)
    assert "there is no time from" in asked("photos", "--from", "2025-03-05", "--to", "2025-03-01", code=2)


def test_areas_are_those_that_the_contract_lists_and_numbers_those_that_were_issued(asked):
    rows = asked("areas", "--contract", "BF-01")
    assert len(rows) == 25
    assert {row["state"] for row in rows} == {"released", "hold", "not inspected"}
    assert list(rows[0])[-6:] == ENDS
    (numbers,) = asked("numbers", "--contract", "BF-01")
    assert (numbers["issued"], numbers["here"], numbers["missing"]) == (12, 10, "BF-01-IR-006, BF-01-IR-008")
    assert "BF-01/BF-01-IR-008.pdf" in numbers["failed"]


def test_what_is_open_has_its_age_at_a_date(asked):
    rows = asked("open", "--contract", "BF-03", "--as-of", "2025-04-18")
    (one,) = [row for row in rows if row["kind"] == "nonconformance"]
    assert (one["id"], one["raised"], one["age"], one["number"]) == ("NC-2", "2025-03-18", 31, "BF-03-IR-012")


def test_a_recall_names_each_area_a_gauge_touched_and_the_error_that_changes_its_verdict(asked):
    rows = asked("recall", "--gauge", "BF-03-T3", "--from", "2025-03-04", "--to", "2025-03-05")
    assert [(row["area"], row["number"]) for row in rows] == [
        ("A-01", "BF-03-IR-001"), ("A-02", "BF-03-IR-001"), ("A-03", "BF-03-IR-002"), ("A-04", "BF-03-IR-002"),
    ]  # fmt: skip
    assert all(float(row["gauge_error"]) > 0 and row["gauge_unit"] == "mil" for row in rows)
    assert all(row["would_be"] != row["result"] for row in rows)
    assert {row["error_tried"] for row in asked("recall", "--gauge", "BF-03-T3")} == {"2.5"}, "in every row"


def test_a_recall_on_the_screen_is_read_in_the_language_asked_for(archive, tmp_path):
    audit(archive.folder / "BF-04", trust=[archive.root], index=tmp_path / "i.sqlite")
    given = ("audit", "query", "recall", "--gauge", "BF-04-T1", "--to", "2025-03-06", "--index", tmp_path / "i.sqlite")
    expected = {
        "en": ("gauge: BF-04-T1; contract: BF-04; area: ", r"gauge error: \d\.\d"),
        "de": ("Messgerät: BF-04-T1; Vertrag: BF-04; Fläche: ", r"Gerätefehler: \d,\d"),
    }
    for language, (start, decimal) in expected.items():
        told = run(*given, "--language", language).stdout
        assert told.startswith(start)
        assert re.search(decimal, " ".join(told.split()))
        assert max(map(len, told.splitlines())) <= 80


def test_a_recall_says_which_file_it_could_not_evaluate_again(archive, tmp_path):
    folder = tmp_path / "few"
    folder.mkdir()
    for path in sorted((archive.folder / "BF-04").glob("*.pdf"))[:2]:
        shutil.copy(path, folder)
    audit(folder, trust=[archive.root], index=tmp_path / "i.sqlite")
    gone, changed = sorted(folder.iterdir())
    gone.unlink()
    changed.write_bytes(changed.read_bytes() + b"%")
    answer = run("audit", "query", "recall", "--gauge", "BF-04-T1", "--index", tmp_path / "i.sqlite", "--json")
    told = json.loads(answer.stdout)
    assert len(told["rows"]) == 4
    assert not any("gauge_error" in row for row in told["rows"])
    assert f"{gone.name} is not where it was audited" in " ".join(told["below"])
    assert f"{changed.name} is another file than was audited" in " ".join(told["below"])


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_workbook_has_a_sheet_a_question_with_true_numbers_and_dates(answered, language):
    book = openpyxl.load_workbook(answered / f"{language}.xlsx")
    sheet = book["Areas" if language == "en" else "Flächen"]
    heads, *rows = sheet.iter_rows(values_only=True)
    mean, since = ("mean", "since") if language == "en" else ("Mittel", "seit")
    released = [dict(zip(heads, row, strict=True)) for row in rows if row[heads.index(mean)] is not None]
    assert all(isinstance(row[mean], float) and isinstance(row[since], dt.datetime) for row in released)
    states = {row[heads.index("state" if language == "en" else "Zustand")] for row in rows}
    assert ("not inspected" if language == "en" else "nicht geprüft") in states
    assert all(cell.data_type != "f" for one in book for row in one for cell in row)


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.policy, self.inline, self._within, self.outside = "", {"style": "", "script": ""}, "", []

    def handle_starttag(self, tag, attrs):
        told = dict(attrs)
        if told.get("http-equiv") == "Content-Security-Policy":
            self.policy = told["content"]
        self._within = tag if tag in self.inline else ""
        self.outside += [value for name, value in attrs if name in ("src", "href") and not value.startswith("#")]

    def handle_data(self, data):
        if self._within:
            self.inline[self._within] += data

    def handle_endtag(self, _tag):
        self._within = ""


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_page_stands_alone_and_runs_nothing_but_its_own(answered, language):
    text = (answered / f"{language}.html").read_text("utf-8")
    page = Page()
    page.feed(text)
    assert page.outside == []
    assert "default-src 'none'" in page.policy
    for name, content in page.inline.items():
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{name}-src 'sha256-{digest}'" in page.policy
    assert ("25 areas" if language == "en" else "25 Flächen") in text
    assert not re.search(r"\son\w+=", text), "no handler in an attribute"


def test_what_strangers_wrote_is_text_on_the_page():
    from reportgen.export import PageWords, Section, Table, render_html

    evil = "<script>alert(1)</script> & \"'"
    table = Table("t", (evil,), ((evil,),))
    words = PageWords("en", "contents", "rows with", "{rows} rows", "nothing", "{rows} in {file}")
    text = render_html(evil, [evil], [Section(evil, evil, table)], words).decode()
    assert "<script>alert" not in text
    assert text.count("&lt;script&gt;alert(1)") >= 5
    long = Table("t", ("n",), tuple((number,) for number in range(5001)))
    told = render_html("x", [], [Section("x", "x", long, "x-t.csv")], words).decode()
    assert "5001 in x-t.csv" in told
    assert "<td" not in told


def test_an_answer_is_written_as_a_table(asked, answered, tmp_path):
    index = answered / "index.sqlite"
    for kind in ("csv", "xlsx", "html"):
        out = tmp_path / f"open.{kind}"
        assert run("audit", "query", "open", "--index", index, "-o", out).returncode == 0
        assert out.stat().st_size > 500
    assert run("audit", "query", "open", "--index", index, "--to", "csv", cwd=tmp_path).returncode == 2, "it is there"
    book = openpyxl.load_workbook(io.BytesIO((tmp_path / "open.xlsx").read_bytes()))
    assert book["Open"].max_row == len(asked("open")) + 1
    told = run("audit", "query", "areas", "--index", index, "--to", "json")
    assert json.loads(told.stdout)["rows"] == asked("areas")


def test_the_command_writes_workbook_page_and_pages_at_once(archive, tmp_path):
    few = tmp_path / "few"
    few.mkdir()
    for path in sorted((archive.folder / "BF-04").glob("*.pdf"))[:3]:
        shutil.copy(path, few)
    written = [tmp_path / name for name in ("a.xlsx", "a.html", "a.pdf")]
    told = run(
        "audit", few, "--trust", archive.root, "--index", tmp_path / "i.sqlite",
        "--xlsx", written[0], "--html", written[1], "-o", written[2],
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert all(one.stat().st_size > 1000 for one in written)
    alike = run("audit", "query", "alike", "--index", tmp_path / "i.sqlite", "-o", tmp_path / "alike.xlsx")
    assert alike.returncode == 0, alike.stderr


def test_an_index_is_exported_with_all_tables_of_all_reports(answered, tmp_path):
    answer = run("export", answered / "index.sqlite", "-o", tmp_path / "all.xlsx")
    assert answer.returncode == 0, answer.stderr
    book = openpyxl.load_workbook(tmp_path / "all.xlsx")
    heads, *rows = book["files"].iter_rows(values_only=True)
    given = [row for row in rows if row[heads.index("data given")] == "yes"]
    assert len(given) == 53
    assert {row[heads.index("place among its number")] for row in given} >= {"decides", "superseded", "disputed"}


@pytest.mark.parametrize(("thing", "name"), [("--area", "A-02"), ("--gauge", "BF-04-T1"), ("--number", "BF-02-IR-006")])
@pytest.mark.parametrize("language", ["en", "de"])
def test_a_history_is_told_as_pages_and_tables(answered, tmp_path, thing, name, language):
    index = answered / "index.sqlite"
    more = ("--contract", "BF-04", "--to", "2025-03-06") if thing != "--number" else ()  # each report is tried anew
    for kind in ("pdf", "html", "xlsx"):
        out = tmp_path / f"h.{kind}"
        told = run("history", index, thing, name, *more, "-o", out, "--language", language)
        assert told.returncode == 0, told.stderr
        assert out.stat().st_size > 1000
    data = json.loads(run("history", index, thing, name, *more, "--json").stdout)
    first = next(value for key, value in data.items() if key != "format")
    assert first["rows"]
    if thing == "--gauge":
        assert any(row.get("gauge_error") for row in data["recall"]["rows"]), "how large an error changes a verdict"


def test_a_folder_and_its_index_may_both_be_named_and_another_folder_may_not(answered, archive, tmp_path):
    index = answered / "index.sqlite"
    both = run("audit", "query", "areas", archive.folder, "--index", index, "--json")
    assert json.loads(both.stdout) == json.loads(run("audit", "query", "areas", "--index", index, "--json").stdout)
    other = run("audit", "query", "areas", tmp_path, "--index", index)
    assert other.returncode == 2
    assert "is the index of" in other.stderr


def test_an_answer_is_written_as_data_by_the_name_of_the_file(answered, tmp_path):
    index, out = answered / "index.sqlite", tmp_path / "areas.json"
    for more in ((), ("--to", "json")):
        assert run("audit", "query", "areas", "--index", index, "-o", out, *more).returncode == 0
        assert json.loads(out.read_text())["rows"]
        out.unlink()
    wrong = run("audit", "query", "areas", "--index", index, "-o", out, "--to", "csv")
    assert (wrong.returncode, out.exists()) == (2, False)


def test_a_history_is_of_one_thing(answered):
    told = run("history", answered / "index.sqlite", "--area", "A-02", "--number", "BF-02-IR-006")
    assert told.returncode == 2
    assert "a history is of one area" in told.stderr


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_release_is_a_signed_page_of_a_proven_one_with_nothing_open(archive, tmp_path, language):
    folder, out = archive.folder / "BF-04", tmp_path / "release.pdf"
    told = run(
        "release", "A-02", folder, "--identity", "demo", "--trust", archive.root, "--index", tmp_path / "i.sqlite",
        "-o", out, "--language", language, "--json",
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    data = json.loads(told.stdout)
    assert (data["number"], data["revision"]) == ("BF-04-IR-003", 0)
    assert data["report_sha256"] == hashlib.sha256((folder / "BF-04-IR-003.pdf").read_bytes()).hexdigest()
    assert b"/ByteRange" in out.read_bytes()


@pytest.mark.parametrize(
    ("area", "why"),
    [("A-13", "is not released: hold"), ("A-25", "is not released: not inspected"), ("A-99", "has the area `A-99`")],
)
def test_nothing_else_is_said_to_be_released(archive, tmp_path, area, why):
    out = tmp_path / "release.pdf"
    told = run(
        "release", area, archive.folder / "BF-01", "--identity", "demo", "--trust", archive.root,
        "--index", tmp_path / "i.sqlite", "-o", out,
    )  # fmt: skip
    assert (told.returncode, out.exists()) == (2, False)
    assert why in " ".join(told.stderr.split())


def test_a_release_of_which_nothing_proves_the_report_is_none(archive, tmp_path):
    told = run(
        "release", "A-02", archive.folder / "BF-04", "--identity", "demo", "--index", tmp_path / "i.sqlite",
        "-o", tmp_path / "r.pdf",
    )  # fmt: skip
    assert told.returncode == 2
    assert not (tmp_path / "r.pdf").exists()


def refused(archive, folder, tmp_path, area="A-02", *options):
    out = tmp_path / "release.pdf"
    told = run(
        "release", area, folder, "--identity", "demo", "--trust", archive.root, "--index", tmp_path / "i.sqlite",
        "-o", out, *options,
    )  # fmt: skip
    assert (told.returncode, out.exists()) == (2, False)
    return " ".join(told.stderr.split())


def test_an_area_of_a_contract_that_lacks_a_number_is_not_said_to_be_released(archive, tmp_path):
    folder = tmp_path / "few"
    shutil.copytree(archive.folder / "BF-04", folder)
    (folder / "BF-04-IR-007.pdf").unlink()
    assert "number-missing: there is no BF-04-IR-007" in refused(archive, folder, tmp_path)


def test_an_area_of_a_contract_with_a_copied_sheet_is_not_said_to_be_released(archive, tmp_path):
    why = refused(archive, archive.folder / "BF-01", tmp_path)
    assert "readings-alike: " in why
    assert "number-missing: there is no BF-01-IR-006" in why
