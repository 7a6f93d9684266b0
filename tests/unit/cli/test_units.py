"""A contract speaks one system of units: its files, its field sheet, and the examples in every remedy."""

import io
import re
import sys

import pypdf
import pytest

from tests.unit.cli.test_onsite import answers

UNITS = {
    "mil": {"mil", "°F", "inHg", "psi"},
    "um": {"µm", "°C", "hPa", "kPa"},
}
LIMITS = {"mil": ("2.0 mil", "3.5 mil"), "um": ("50 um", "85 um")}


@pytest.fixture
def started(run, contract):
    """Start a contract whose gauge shows the unit; return its folder."""

    def start(unit):
        low, high = LIMITS[unit]
        given = ["--minimum", low, "--maximum", high, "--unit", unit]
        assert run("new", unit, "--date", "2026-05-04", *answers(), *given).code == 0
        return contract / unit

    return start


@pytest.mark.parametrize("unit", ["mil", "um"])
@pytest.mark.parametrize("shift", ["the first", "the next"])
def test_the_day_file_and_the_field_sheet(run, contract, started, unit, shift):
    folder = started(unit)
    if shift == "the next":
        assert run("new", "--next", f"{unit}/2026-05-04.yaml").code == 0
    day = folder / ("2026-05-04.yaml" if shift == "the first" else "2026-05-05.yaml")
    assert run("sheet", day, "-o", "sheet.pdf").code == 0
    sheet = " ".join(page.extract_text() for page in pypdf.PdfReader(contract / "sheet.pdf").pages)
    other = UNITS["um" if unit == "mil" else "mil"]
    found = set(re.findall(r"(?<!\w)(?:mil|µm|°F|°C|inHg|hPa|psi|kPa)(?!\w)", sheet))
    assert found == UNITS[unit]
    text = day.read_text(encoding="utf-8")
    written = {"mil": {"mil", "degF", "psi"}, "um": {"um", "degC", "kPa"}}
    found = set(re.findall(r"(?<=[0-9] )(?:mil|um|degF|degC|inHg|hPa|psi|kPa)\b", text))
    assert found == written[unit]
    assert not found & other


def test_what_the_contract_states_itself_comes_first(run, contract, started):
    """Mils with degrees Celsius: the project file says so in one place, and everything follows."""
    folder = started("mil")
    project = folder / "project.yaml"
    text = project.read_text(encoding="utf-8")
    assert "Day files and field sheets follow the unit of this margin" in text
    project.write_text(text.replace("5 delta_degF", "3 delta_degC"), encoding="utf-8")
    assert run("sheet", "mil/2026-05-04.yaml", "-o", "sheet.pdf").code == 0
    sheet = " ".join(page.extract_text() for page in pypdf.PdfReader(contract / "sheet.pdf").pages)
    assert set(re.findall(r"(?<!\w)(?:mil|µm|°F|°C|inHg|hPa|psi|kPa)(?!\w)", sheet)) == {"mil", "°C", "hPa", "kPa"}


WRONG = [
    ("project", "minimum: {minimum}", "minimum: 50", {"mil": "`50 mil`", "um": "`50 um`"}),
    ("project", "dew_point_margin: {margin}", "dew_point_margin: 3", {"mil": "`3 delta_degF`", "um": "`3 delta_degC`"}),
    ("project", "# accuracy: <limits of error>", "accuracy: 5", {"mil": "`5 mil`", "um": "`5 um`"}),
    ("project", "name: <name of the area>", "name: web, size: 24", {"mil": "`24 ft2`", "um": "`24 m2`"}),
    ("day", "gauge_checks: []", "gauge_checks: [{time: '06:30', gauge: g1, anvils: clean, preset: 3}]",
     {"mil": "`3 mil`", "um": "`3 um`"}),
    ("day", "conditions: []", "conditions: [{time: '06:30', place: p, air: warm, steel: 9 degC, humidity: 60 %}]",
     {"mil": "`61.5 degF`", "um": "`16.5 degC`"}),
    ("day", "conditions: []", "conditions: [{time: '06:30', place: p, air: 9 degC, steel: 9 degC, wet_bulb: 8 degC}]",
     {"mil": "`pressure: 29.9 inHg`", "um": "`pressure: 1013 hPa`"}),
    ("day", "air_checks: []", "air_checks: [{time: '06:30', apparatus: p, duration: 2 min, result: oil, pressure: 7}]",
     {"mil": "`7 psi`", "um": "`7 kPa`"}),
]  # fmt: skip


@pytest.mark.parametrize("unit", ["mil", "um"])
@pytest.mark.parametrize(("file", "right", "wrong", "example"), WRONG)
def test_the_example_of_a_remedy(run, started, unit, file, right, wrong, example):
    folder = started(unit)
    path = folder / ("project.yaml" if file == "project" else "2026-05-04.yaml")
    margin = {"mil": "5 delta_degF", "um": "3 delta_degC"}[unit]
    text = path.read_text(encoding="utf-8")
    right = right.format(minimum=LIMITS[unit][0], margin=margin)
    assert right in text
    path.write_text(text.replace(right, wrong, 1), encoding="utf-8")
    code, _, err = run("issue", f"{unit}/2026-05-04.yaml", "--identity", "demo")
    said = " ".join(err.split())
    assert code == 2
    assert f"such as {example[unit]}" in said
    assert example["um" if unit == "mil" else "mil"] not in said


def test_where_nothing_says_which_system_both_are_shown(run, contract, monkeypatch):
    out = " ".join(_help(run).split())
    assert "such as 2.0 mil or 50 um" in out
    assert "such as 260 ft2 or 24 m2" in out
    short = [word for word in answers() if word not in ("--minimum", "2.0 mil")]
    assert '--minimum "2.0 mil"' in run("new", "crane", *short).err
    short[short.index("mil")] = "um"
    assert '--minimum "50 um"' in run("new", "crane", *short).err
    asked = []
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)

    metric = {"Lowest": "50 um", "Highest": "90 um", "Unit": "um"}

    def answer(prompt):
        asked.append(prompt)
        return next((text for words, text in metric.items() if prompt.startswith(words)), "")

    monkeypatch.setattr("builtins.input", answer)
    left = [
        part
        for flag, value in zip(short[::2], short[1::2], strict=True)
        for part in (flag, value)
        if flag not in ("--maximum", "--minimum")
    ]
    run("new", "crane2", *left)
    assert next(prompt for prompt in asked if prompt.startswith("Lowest")).endswith("such as 50 um: ")
    assert next(prompt for prompt in asked if prompt.startswith("Limits")).endswith("such as 5 um [left open]: ")


def _help(run):
    import contextlib

    said = io.StringIO()
    with contextlib.redirect_stdout(said), pytest.raises(SystemExit):
        run("new", "--help")
    return said.getvalue()
