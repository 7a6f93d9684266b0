"""``new``, ``sheet``, ``intake``, ``schema`` and ``export`` as they are typed; what is written is all or nothing."""

import json
import sys

import pytest

from reportgen.formats.schemas import NAMES

ANSWERS = (
    "--contract AB-12 --name Crane --document D --inspector N.Tern --grade SSPC-SP~10 --minimum 2.0~mil "
    "--maximum 3.5~mil --unit mil --method ASTM~D4417~Method~C --edition 2021 "
    "--overlap-rule average --decision-rule simple --rounding half-even --locations 3"
)  # fmt: skip


def answers() -> list[str]:
    return [word.replace("~", " ") for word in ANSWERS.split()]


def test_a_contract_is_started(run, contract):
    code, out, err = run("new", "crane", "--date", "2026-05-04", *answers())
    assert (code, err) == (0, "")
    assert out.splitlines()[-1] == "next: fill in the project file, then `reportgen check crane/2026-05-04.yaml`"
    assert "wrote crane/project.yaml" in out
    code, out, err = run("new", "crane", "--date", "2026-05-04", *answers())
    assert code == 2
    assert "exists already; nothing was written" in " ".join(err.split())


def test_ctrl_c_leaves_no_half_of_a_contract(run, contract, monkeypatch):
    from reportgen import atomicfile

    write, seen = atomicfile.write_new, []

    def third_time(path, data):
        seen.append(path)
        if len(seen) == 3:
            raise KeyboardInterrupt
        write(path, data)

    monkeypatch.setattr(atomicfile, "write_new", third_time)
    assert run("new", "crane", "--date", "2026-05-04", *answers()).code == 130
    assert [path for path in (contract / "crane").rglob("*") if path.is_file()] == []


def test_questions_are_asked_on_a_terminal(run, contract, monkeypatch):
    asked = []

    def answer(prompt):
        asked.append(prompt)
        if prompt.startswith("Spots"):
            raise EOFError
        return {"Client": "Trust"}.get(prompt.split(" ")[0].rstrip(","), "")

    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", answer)
    code, _, err = run("new", "crane", "--date", "2026-05-04", *answers())
    assert (code, err) == (0, "")
    assert asked[0] == "Client, such as Harbour Trust [left open]: "
    assert asked[-1].startswith("Spots per location, if not as the edition of the method says, such as 2 [left open]")
    assert "Trust" in (contract / "crane" / "project.yaml").read_text(encoding="utf-8")
    asked.clear()
    run("new", "--json", "other", *answers())
    assert asked == []


@pytest.fixture
def typed(monkeypatch):
    """Answer each question, by its first word, with the next of the texts for it, or with Enter; what was asked."""

    def prepare(texts):
        asked = []
        texts = {"Method": ["ASTM D4417 Method C"], "Rounding": ["none"]} | texts

        def answer(prompt):
            asked.append(prompt)
            assert len(asked) < 200, f"asked for ever: {prompt}"
            return (texts.get(prompt.split(" ")[0].rstrip(",")) or [""]).pop(0)

        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr("builtins.input", answer)
        return asked

    return prepare


def test_an_answer_is_checked_when_it_is_given(run, contract, typed):
    """A slip is asked about at once, and what was typed before it is kept."""
    texts = {
        "Number": ["", "AB-12"], "Name": ["Crane", "N. Tern"], "Specification": ["D"], "Grade": ["SSPC-SP 10"],
        "Client": ["Trust"], "Time": ["Europe/Nowhere", "Europe/Olso", "Europe/Oslo"], "Unit": ["mils", "mil"],
        "Lowest": ["50 mil", "2.0", "4.0 mil"], "Highest": ["3.5 mil", "5.0 mil"], "Edition": ["2021"],
        "Rule": ["90 um", "average"], "Decision": ["simple"], "Locations": ["many", "3"],
    }  # fmt: skip
    asked = typed(texts)
    code, _, err = run("new", "crane", "--date", "2026-05-04")
    assert code == 0, err
    said = " ".join(err.split())
    for part in (
        "this has no default, because the contract decides it",
        "`Europe/Nowhere` is not a known time zone; write a name such as `Europe/Oslo`, or `UTC`",
        "`Europe/Olso` is not a known time zone; did you mean `Europe/Oslo`?",
        "`mils` is not a choice for --unit; write one of `mil`, `um`",
        "`50 mil` is outside anything this field can hold",
        "`2.0` has no unit",
        "`minimum` 4.0 mil is not below `maximum` 3.5 mil",
        "`90 um` is not a choice for --overlap-rule; write one of `average`",
        "`many` is not a whole number",
    ):
        assert part in said
    assert "project.yaml:" not in said
    assert sum(prompt.startswith("Client") for prompt in asked) == 1
    text = (contract / "crane" / "project.yaml").read_text(encoding="utf-8")
    assert all(part in text for part in ("client: Trust", "minimum: 4.0 mil", "maximum: 5.0 mil", "Europe/Oslo"))


def test_the_two_rules_are_explained_and_further_areas_are_asked_for(run, contract, typed):
    texts = {
        "Number": ["AB-12"], "Name": ["Crane", "N. Tern"], "Specification": ["D"], "Grade": ["SSPC-SP 10"],
        "Unit": ["mil"], "Lowest": ["2.0 mil"], "Highest": ["3.5 mil"], "Edition": ["2021"], "Rule": ["average"],
        "Decision": ["guarded"], "Locations": ["3"], "First": ["portal"],
        "Its": ["leg 1", "L1", "", "L1", "", "", "24"],
        "Another": ["leg 2", "leg 3", ""], "Size": [""],
    }  # fmt: skip
    typed(texts)
    code, out, err = run("new", "crane", "--date", "2026-05-04")
    said = " ".join(out.split())
    assert code == 0
    for part in ("average: a reading in the overlap of the two grades", "non-averaging: one grade alone counts"):
        assert said.count(part) == 1
    assert "guarded: a value inside the limits by at least U conforms; within them but nearer" in said
    assert "L1" in err


def test_what_was_answered_before_ctrl_c_is_a_command_to_go_on_with(run, contract, monkeypatch):
    def answer(prompt):
        if prompt.startswith("Client"):
            raise KeyboardInterrupt
        return {"Number": "AB 12", "Name": "Crane"}[prompt.split(" ")[0]]

    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", answer)
    code, _, err = run("new", "crane", "--date", "2026-05-04")
    assert code == 130
    assert "to go on with what was answered:\nreportgen new crane --contract 'AB 12' --name Crane\n" in err


def test_further_areas_by_option(run, contract):
    more = ["--further-area", "L2-OUT: leg 2, outside, 260 ft2", "--further-area", "L3: leg 3"]
    assert run("new", "crane", "--date", "2026-05-04", *answers(), *more).code == 0
    text = (contract / "crane" / "project.yaml").read_text("utf-8")
    assert '- {id: L2-OUT, name: "leg 2, outside", size: 260 ft2}\n      - {id: L3, name: leg 3}\n' in text
    code, _, err = run("new", "other", *answers(), "--further-area", "leg 2")
    assert (code, "`leg 2` is no area" in err) == (2, True)


def test_a_folder_that_is_taken_is_said_before_any_question(run, typed):
    asked = typed({})
    code, _, err = run("new", ".", "--date", "2026-05-04")
    assert (code, "project.yaml exists already; nothing was written" in err, asked) == (2, True, [])


def test_limits_in_the_wrong_unit_are_said_of_the_options(run):
    wrong = [word.replace("2.0 mil", "50 mil").replace("3.5 mil", "90 mil") for word in answers()]
    code, _, err = run("new", "crane", "--date", "2026-05-04", *wrong)
    said = " ".join(err.split())
    assert code == 2
    assert "--minimum: `50 mil` is outside" in said
    assert "--maximum: `90 mil` is outside" in said
    assert "project.yaml" not in said


def test_the_next_shift(run, contract):
    code, out, _ = run("new", "--next", "day.yaml", "--date", "2026-05-05")
    assert code == 0
    assert out.startswith("wrote 2026-05-05.yaml\nareas due: ")
    data = json.loads(run("new", "--next", "day.yaml", "--date", "2026-05-06", "--json").out)
    assert data["written"] == ["2026-05-06.yaml"]


def test_new_without_a_folder_or_with_a_wrong_date(run):
    message = "error: name the folder of the new contract\n help: or `--next DAY.yaml` for the next shift\n"
    assert run("new").err == message
    message = "error: `May 4` is not a date\n help: write year-month-day, such as 2026-05-14\n"
    assert run("new", "crane", "--date", "May 4").err == message


def test_a_sheet(run):
    message = "day-sheet.pdf: field sheet of day.yaml, to print, or to fill in and take in\n  again\n"
    assert run("sheet", "day.yaml") == (0, message, "")
    assert json.loads(run("sheet", "day.yaml", "-o", "s.pdf", "--json").out)["file"] == "s.pdf"


def test_typed_lines_come_in(run, contract, monkeypatch):
    import io
    from types import SimpleNamespace

    def typed(text: bytes, *options: str):
        monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(text), isatty=lambda: False))
        return run("intake", "-", "--into", "day.yaml", *options)

    before = (contract / "day.yaml").read_bytes()
    code, out, _ = typed(b"A-1 2 a x1 2.7\nA-1 1 a x1 2.8\nA-1 3 a x1 99\n", "--dry-run")
    assert code == 1
    assert out.startswith("day.yaml: 1 value would be added, 3 there already\n\nAdded\n")
    assert "stays `2.9`; came in as `2.8` (--overwrite takes it)" in " ".join(out.split())
    assert "\nNot taken\n" in out
    assert (contract / "day.yaml").read_bytes() == before
    code, out, _ = typed(b"A-1 1 a x1 2.8\nA-1 2 a x1 2.7\nA-1 3 a x1 2.6\n", "--overwrite")
    assert code == 0
    assert out.startswith("day.yaml: 2 values added, ")
    assert "now `2.8`, was `2.9`" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    data = json.loads(typed(b"A-1 1 a x1 2.8\n", "--json").out)
    assert data["already"] >= 1
    assert "data" not in data
    table = contract / "more.csv"
    table.write_text("area,location,spot,roll,reading\nA-1,4,a,x1,2.5\n", encoding="utf-8")
    assert run("intake", "more.csv", "--into", "day.yaml").code == 0


def test_schema(run):
    assert json.loads(run("schema", "day").out)["type"] == "object"
    for name in NAMES:
        schema = json.loads(run("schema", name, "--format", "1").out)
        assert schema["$id"] == f"urn:reportgen:schema:{name}:1"
    wrong = run("schema", "dy")
    assert wrong.err.startswith("error: `dy` cannot be chosen for ")
    assert wrong.err.endswith("did you mean `day`?\n")
    later = "error: `day` has no format 2 in this release\n help: there is 1\n"
    assert run("schema", "day", "--format", "2").err == later


def test_a_day_file_of_a_later_format_stops_there(run, contract):
    day = contract / "day.yaml"
    day.write_text("format: 2\n" + day.read_text("utf-8").replace("surfaces:", "steel:"), encoding="utf-8")
    said = run("check", "day.yaml")
    assert said.code == 2
    assert said.err.startswith(
        "error[JOB115]: the file is of format 2; reportgen 0.1.0 reads format 1\n --> day.yaml:1:9"
    )
    assert said.err.count("error[") == 1
    day.write_text(
        day.read_text("utf-8").replace("format: 2", "format: 1").replace("steel:", "surfaces:"), encoding="utf-8"
    )
    assert run("check", "day.yaml").err.count("error[") == 0


def test_export(run, contract, monkeypatch):
    assert run("export", "day.yaml", "--to", "json") == (0, "wrote day-export.json\n", "")
    code, out, _ = run("export", "day.yaml", "--to", "csv", "-o", "tables")
    assert code == 0
    assert all(line.startswith("wrote tables/") for line in out.splitlines())
    assert json.loads(run("export", "day.yaml", "--to", "csv", "--table", "readings", "-o", "r.csv", "--json").out) == {
        "format": 1,
        "written": ["r.csv"],
    }
    message = "error: there is no table `x`\n help: without --table all are written\n"
    assert run("export", "day.yaml", "--to", "csv", "--table", "x").err == message
    message = "error: `tables` exists already and is never overwritten; nothing was written\n"
    assert run("export", "day.yaml", "--to", "csv", "-o", "tables").err == message
    (contract / "file").touch()
    assert run("export", "day.yaml", "--to", "csv", "-o", "file/tables").code in (2, 4)

    monkeypatch.setattr("reportgen.atomicfile.sync_folder", lambda _: (_ for _ in ()).throw(KeyboardInterrupt))
    assert run("export", "day.yaml", "--to", "csv", "-o", "half").code == 130
    left = list((contract / "half").iterdir()) if (contract / "half").exists() else []
    assert len(left) <= 1, "only the file that was complete when the key was pressed"


@pytest.mark.parametrize("command", [["draft", "day.yaml", "-o", "x.pdf"], ["check", "day.yaml"]])
def test_nothing_is_wider_than_eighty_columns(run, command):
    assert all(len(line) <= 80 for line in run(*command).out.splitlines())
