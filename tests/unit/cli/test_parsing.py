"""Wrong command lines get one sentence and the nearest name; help fits eighty columns; paths of either system."""

import argparse

import pytest

from reportgen.cli.commands import build_parser
from reportgen.cli.parsing import parse_path, shell_lines

COMMANDS = next(
    list(action.choices) for action in build_parser()._actions if isinstance(action, argparse._SubParsersAction)
)


LOOK = "`reportgen {} --help` shows what it takes, with an example"


@pytest.mark.parametrize(
    ("line", "message", "help_text"),
    [
        ("check day.yaml --jsno", "`reportgen check` has no option `--jsno`", "did you mean `--json`?"),
        ("check --wach=1 day.yaml", "`reportgen check` has no option `--wach`", "did you mean `--watch`?"),
        ("issue day.yaml --identiy demo", "`reportgen issue` has no option `--identiy`", "did you mean `--identity`?"),
        ("check day.yaml -q", "`reportgen check` has no option `-q`", LOOK.format("check")),
        ("--vrsion", "`reportgen` has no option `--vrsion`", "did you mean `--version`?"),
        ("chekc", "there is no command `chekc`", "did you mean `check`?"),
        ("export day.yaml --to xls", "`xls` cannot be chosen for --to", "did you mean `xlsx`?"),
        ("export day.yaml --to paper", "`paper` cannot be chosen for --to", "choose csv or xlsx or json"),
        (
            "audit query open archive --as-of 2026-13-01",
            "reportgen audit: argument --as-of: `2026-13-01` is no date; write it as\n  2026-05-04",
            LOOK.format("audit"),
        ),
        (
            "history archive --area A --from May",
            "reportgen history: argument --from: `May` is no date; write it as\n  2026-05-04",
            LOOK.format("history"),
        ),
        ("export day.yaml --to csv -o out.json", "`out.json` is not to hold csv", "leave out `--to csv`, or rename it"),
        ("export day.yaml -o out.csv", "`out.csv` can hold one table only", "name it: --table; or --to csv"),
        ("draft day.yaml b.yaml", "`b.yaml` is more than `reportgen draft` takes", LOOK.format("draft")),
        ("check", "reportgen check: the following arguments are required: DAY.yaml", LOOK.format("check")),
        (
            "identity new keys --years many",
            "reportgen identity: argument --years: invalid int value: 'many'",
            LOOK.format("identity"),
        ),
    ],
)
def test_what_is_wrong_with_a_command_line(run, line, message, help_text):
    assert run(*line.split()) == (2, "", f"error: {message}\n help: {help_text}\n")


def test_no_command_shows_the_help_and_an_unknown_one_lists_them(run):
    code, out, _ = run()
    assert code == 2
    assert out.startswith("usage: reportgen ")
    assert run("frobnicate").err.startswith("error: there is no command `frobnicate`\n help: the commands are new, ")


def test_a_mistake_on_the_command_line_is_data_where_data_is_wanted(run):
    import json

    code, out, err = run("check", "--json", "--wtach")
    assert (code, err) == (2, "")
    assert json.loads(out)["help"] == "did you mean `--watch`?"


def test_words_after_two_dashes_are_names(run):
    assert run("check", "--", "--odd.yaml").code == 2


@pytest.mark.parametrize("command", COMMANDS)
def test_help_fits_eighty_columns_and_has_an_example(capsys, monkeypatch, command):
    monkeypatch.setenv("COLUMNS", "200")
    with pytest.raises(SystemExit):
        build_parser([command]).parse_args([command, "--help"])
    text = capsys.readouterr().out
    assert [line for line in text.splitlines() if len(line) > 80] == []
    assert f"example:\n  reportgen {command}" in text
    assert "exit codes: 0 done; 1 done, with findings; 2 wrong input;\n            3 a bug of ours" in text


def test_the_help_of_all_fits_too(run):
    assert all(len(line) <= 80 for line in run().out.splitlines())


def test_an_example_goes_on_before_an_option():
    assert shell_lines("reportgen check day.yaml") == "  reportgen check day.yaml"
    wide = shell_lines("reportgen submittal " + "x" * 50 + " --identity engineer.p12 -o out.pdf")
    assert wide == f"  reportgen submittal {'x' * 50} \\\n      --identity engineer.p12 -o out.pdf"


def test_backslashes_lead_where_slashes_would(contract, monkeypatch, run):
    (contract / "days").mkdir()
    (contract / "days" / "one.yaml").write_text("x: 1\n", encoding="utf-8")
    monkeypatch.chdir(contract)
    assert parse_path(r"days\one.yaml").exists()
    assert parse_path(r"days\new.pdf").parent.name == "days"
    assert str(parse_path(r"nowhere\new.pdf")) == r"nowhere\new.pdf"
    (contract / r"a\b.yaml").write_text("x: 1\n", encoding="utf-8")
    assert str(parse_path(r"a\b.yaml")) == r"a\b.yaml"
    monkeypatch.setattr("reportgen.cli.parsing._WINDOWS", True)
    assert str(parse_path(r"days\one.yaml")) == r"days\one.yaml"


def test_a_day_named_with_backslashes_is_checked(run, contract):
    (contract / "week").mkdir()
    for name in ("project.yaml", "day.yaml"):
        (contract / name).rename(contract / "week" / name)
    assert run("check", r"week\day.yaml").code == 0


@pytest.mark.parametrize(
    "line",
    ["audit query --index i.sqlite areas archive", "audit query areas --area A archive --index i.sqlite"],
)
def test_options_stand_anywhere_among_what_a_command_takes(line):
    options = build_parser(line.split()).parse_args(line.split())
    assert options.what == ["query", "areas", "archive"]
    assert options.index.name == "i.sqlite"
