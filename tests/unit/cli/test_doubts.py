"""Slips of an inspector's thumb, through the command line: asked about, and not released before they are answered."""

import json

import pytest

from tests.unit.cli.conftest import DAY as SMALL
from tests.unit.cli.conftest import PROJECT

DAY = "2026-06-08.yaml"
SALTS = "area: 12.5 cm2, volume: 3 ml, blank: 1.8 uS/cm, sample: 8.1"
SLIPS = [
    (
        "steel: 14.5 degC",
        "steel: 85 degC",
        "K-1, K-2, 10:30, gate hall: steel 85 °C, 69.5 °C from the air",
        ["K-1", "K-2"],
    ),
    ("17.0 degC, humidity: 61", "55 degC, humidity: 61", "10:20, weir bridge: air 55 °C", ["G-1", "G-2", "G-3"]),
    (SALTS, SALTS.replace("12.5 cm2", "12.25 m2"), "G-2 location 1: patch of 12.25 m²", ["G-2"]),
    (SALTS, SALTS.replace("12.5 cm2", "1225 cm2"), "G-2 location 1: patch of 1225 cm²", ["G-2"]),
    ("pressure: 700 kPa", "pressure: 7 kPa", "06:58, pot A: air pressure 7 kPa", ["G-1", "G-2", "G-3"]),
    ("{location: 3, spot: a, x1: 3.1}", "{location: 3, spot: a, x1: 3.10}", "G-1: 3.10 mil on g1", ["G-1"]),
    ("{location: 1, spot: a, x1: 2.7}", "{location: 1, spot: a, x1: 0.27}", "spot a on x1: 0.27 mil", ["G-3"]),
]


def slipped(demo, right, wrong):
    day = demo / DAY
    text = day.read_text("utf-8")
    assert right in text
    day.write_text(text.replace(right, wrong, 1), "utf-8")
    return day


def decisions(run, day):
    code, out, _ = run("check", day, "--json")
    evaluation = json.loads(out)
    kinds = {one["code"] for one in evaluation["findings"]} & {"entry-doubtful", "entry-confirmed"}
    return code, {area["id"]: area["decision"] for area in evaluation["areas"]}, kinds


@pytest.mark.parametrize(("right", "wrong", "said", "areas"), SLIPS)
def test_a_slip_is_asked_about_and_not_released(run, demo, right, wrong, said, areas):
    day = slipped(demo, right, wrong)
    code, decided, kinds = decisions(run, day)
    assert (code, kinds) == (1, {"entry-doubtful"})
    assert [area for area, decision in decided.items() if decision != "release"] == [*areas, "H-1"]
    out = " ".join(run("check", day).out.split())
    assert said in out
    assert "[entry-doubtful]" in out


def test_what_is_odd_and_true_is_confirmed_and_printed(run, demo):
    from pypdf import PdfReader

    day = slipped(demo, "steel: 20.5 degC", "steel: 41.0 degC, confirmed: yes")
    code, decided, kinds = decisions(run, day)
    assert (code, kinds) == (0, {"entry-confirmed"})
    assert {area for area, decision in decided.items() if decision != "release"} == {"H-1"}
    assert run("draft", day, "-o", "draft.pdf").code == 0
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader("draft.pdf").pages).split())
    assert "steel 41.0 °C, 21.5 °C from the air, confirmed" in pages


@pytest.mark.parametrize("confirmed", ["yes", "no"])
def test_a_reading_is_confirmed_in_its_row_or_its_line(run, demo, confirmed):
    day = slipped(
        demo, "{location: 3, spot: a, x1: 3.1}", f"{{location: 3, spot: a, x1: 3.10, confirmed: {confirmed}}}"
    )
    csv = demo / "readings" / "2026-06-08-G-2.csv"
    lines = csv.read_text("utf-8").splitlines()
    lines = [
        f"{line},{word}" for line, word in zip(lines, ["confirmed", *[""] * (len(lines) - 2), confirmed], strict=True)
    ]
    lines[-1] = lines[-1].replace("3.0,mil", "3.00,mil")
    csv.write_text("\n".join(lines) + "\n", "utf-8")
    code, decided, kinds = decisions(run, day)
    assert kinds == {"entry-confirmed" if confirmed == "yes" else "entry-doubtful"}
    assert (code, decided["G-1"], decided["G-2"]) == (
        (0, "release", "release") if confirmed == "yes" else (1, "hold", "hold")
    )


@pytest.mark.parametrize("where", ["row", "csv"])
def test_a_confirmation_is_yes_or_no(run, demo, where):
    day = demo / DAY
    if where == "row":
        slipped(demo, "{location: 3, spot: a, x1: 3.1}", "{location: 3, spot: a, x1: 3.1, confirmed: sure}")
    else:
        csv = demo / "readings" / "2026-06-08-G-2.csv"
        head, *lines = csv.read_text("utf-8").splitlines()
        csv.write_text("\n".join([f"{head},confirmed", *(f"{line},sure" for line in lines)]) + "\n", "utf-8")
    code, _, err = run("check", day)
    aside = 1 if where == "row" else 2  # an entry of the day is set aside while it is typed, another file is not
    assert (code, "error[JOB127]: `sure` is neither yes nor no" in err) == (aside, True)


LIMITS = """\
  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %, minimum_steel: 5 degC}
  soluble_salts: {maximum: 30 mg/m2, expressed_as: mixed salts by conductivity, tests: 2}
  sampling:"""
AIR = """\
  - {time: "07:30", air: 16 degC, humidity: 60 %, steel: 16 degC}
  - {time: "09:30", air: 16 degC, humidity: 62 %, steel: 15 degC}
"""
KIT = "area: 12.5 cm2, volume: 3 ml, blank: 1.8 uS/cm, sample: 9.4 uS/cm"
TESTS = f"    salts: [{{location: 1, {KIT}}}, {{location: 2, {KIT}}}]\n"


def day_with(contract, *changes, log=AIR):
    """The small contract with limits of conditions and salts, and its day with some texts replaced once."""
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", LIMITS), "utf-8")
    text = SMALL.replace("surfaces:\n", f"conditions:\n{log}surfaces:\n")
    text = text.replace("not_inspected:", f"{TESTS}not_inspected:")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (contract / "day.yaml").write_text(text, "utf-8")
    return contract / "day.yaml"


FIRST = "air: 16 degC, humidity: 60 %, steel: 16 degC"
ALONE = [
    ((AIR, AIR.splitlines(keepends=True)[0].replace("60 %", "9 %")), "humidity 9 %; usually at least 15 %, where"),
    (("blank: 1.8 uS/cm", "blank: 5.1 uS/cm"), "blank 5.1 µS/cm; usually at most 5 µS/cm, as pure water has"),
]
UNLIKE = [
    ((FIRST, "air: 1.6 degC, humidity: 60 %, steel: 15 degC"), "steel 15 °C, air 1.6 °C"),
    ((FIRST, "air: 16 degC, humidity: 60 %, steel: 2 degC"), "steel 2 °C, air 16 °C"),
    (
        (FIRST, "air: 16 degC, humidity: 14 %, steel: 16 degC"),
        "humidity 14 %; usually at least 15 %",
    ),
    ((FIRST, "air: 16 degC, humidity: 60 %, steel: 19 degC, steel_warmest: 15 degC"), "warmest steel 15 °C, steel 19"),
]


@pytest.mark.parametrize(("change", "said"), ALONE)
def test_what_is_unusual_by_itself_is_asked_about_and_may_be_confirmed(run, contract, change, said):
    day = day_with(contract, change)
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    assert said in " ".join(run("check", day).out.split())
    text = day.read_text("utf-8")
    value = "blank: 5.1 uS/cm" if "blank" in change[1] else "humidity: 9 %"
    day.write_text(text.replace(value, f"{value}, confirmed: yes", 1), "utf-8")
    assert decisions(run, day)[1:] == ({"A-1": "release", "A-2": "hold"}, {"entry-confirmed"})


def test_a_blank_ten_times_too_high_releases_no_salty_steel(run, contract):
    """With the blank as it was read, both tests fail: 5 · 3 ml · 38.4 µS/cm over 12.5 cm² is 46 mg/m² (ISO 8502-9)."""
    salty = ("9.4 uS/cm}, {", "40.2 uS/cm}, {"), ("9.4 uS/cm}]", "40.2 uS/cm}]")
    assert decisions(run, day_with(contract, *salty))[1]["A-1"] == "rework"
    typed = day_with(contract, *salty, ("1.8 uS/cm", "18 uS/cm"), ("1.8 uS/cm", "18 uS/cm"))
    assert decisions(run, typed)[1:] == ({"A-1": "hold", "A-2": "hold"}, {"entry-doubtful"})


@pytest.mark.parametrize(("change", "said"), UNLIKE)
def test_a_slip_beside_one_other_value_is_asked_about(run, contract, change, said):
    assert decisions(run, day_with(contract))[0] == 0
    day = day_with(contract, change)
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    assert said in " ".join(run("check", day).out.split())


def test_a_temperature_unlike_those_of_the_other_readings_is_asked_about(run, contract):
    log = "".join(
        f'  - {{time: "{hour}:30", air: {air} degC, humidity: 60 %, steel: 7.0 degC}}\n'
        for hour, air in (("07", 17), ("08", 18), ("09", "1.8"), ("10", 17))
    )
    day = day_with(contract, log=log)
    code, _, kinds = decisions(run, day)
    assert (code, kinds) == (1, {"entry-doubtful"})
    assert "09:30: air 1.8 °C, beside others of about 17.0 °C" in " ".join(run("check", day).out.split())


FAILING = [
    (FIRST, "air: 24 degC, humidity: 60 %, steel: 2.4 degC", "dew-point-margin"),
    (FIRST, "air: 24 degC, humidity: 60 %, steel: 2.4 degC", "steel-too-cold"),
    ("area: 12.5 cm2", "area: 0.125 cm2", "salts-above-maximum"),
    ("spot: a, x1: 2.9", "spot: a, x1: 3.95", "profile-above-maximum"),
]


@pytest.mark.parametrize(("right", "wrong", "fails"), FAILING)
def test_what_is_doubted_fails_nothing_until_it_is_confirmed(run, contract, right, wrong, fails):
    day = day_with(contract, (right, wrong))
    code, out, _ = run("check", day, "--json")
    evaluation = json.loads(out)
    assert (code, evaluation["areas"][0]["decision"]) == (1, "hold")
    found = {one["code"] for one in evaluation["findings"] if one["severity"] == "nonconformance"}
    assert found == set()
    assert not {"nonconformance-missing", "walk-out-missing", "salts-missing"} & {
        one["code"] for one in evaluation["findings"]
    }
    day_with(contract, (right, f"{wrong}, confirmed: yes"))
    _, out, _ = run("check", day, "--json")
    assert fails in {one["code"] for one in json.loads(out)["findings"] if one["severity"] == "nonconformance"}
    assert json.loads(out)["areas"][0]["decision"] == "rework"


def test_a_doubt_about_the_steel_hides_no_other_limit(run, contract):
    day = day_with(contract, (FIRST, "air: 24 degC, humidity: 90 %, steel: 2.4 degC"))
    _, out, _ = run("check", day, "--json")
    evaluation = json.loads(out)
    failed = {one["code"] for one in evaluation["findings"] if one["severity"] == "nonconformance"}
    assert (failed, evaluation["areas"][0]["decision"]) == ({"humidity-above-maximum"}, "rework")


def test_a_doubt_on_which_nothing_depends_is_noted(run, contract):
    late = AIR + '  - {time: "13:00", air: 16 degC, humidity: 60 %, steel: 85 degC}\n'
    day = day_with(contract, log=late)
    code, out, _ = run("check", day, "--json")
    evaluation = json.loads(out)
    assert (code, evaluation["areas"][0]["decision"]) == (0, "release")
    assert [one["code"] for one in evaluation["findings"]] == ["entry-unlikely"]
    assert "nothing depends on it" in " ".join(run("check", day).out.split())


@pytest.mark.parametrize(
    ("second", "twice"),
    [("", True), (", confirmed: yes", True), (', time: "10:40"', False), (", sample: 9.3 uS/cm", False)],
)
def test_a_salt_test_that_is_there_twice_is_no_second_test(run, contract, second, twice):
    kit = KIT if "sample" not in second else KIT.partition(", sample")[0]
    day = day_with(contract, (f"{{location: 2, {KIT}}}", f"{{location: 1, {kit}{second}}}"))
    said = run("check", day)
    assert said.code == 1
    assert ("error[JOB206]: the salt test at location `1` is there twice" in said.err) == twice


@pytest.mark.parametrize(
    ("right", "wrong", "said"),
    [
        ("shim_reading: 3.0 mil", "shim_reading: 3.05 mil", "07:10: shim read as 3.05 mil on g1"),
        ("preset: -2.0 mil", "preset: -2.00 mil", "07:10: pre-set -2.00 mil on g1"),
        ("thickness: 5.6 mil", "thickness: 5.63 mil", "07:15: unused tape of x1 5.63 mil on g1"),
    ],
)
def test_a_check_with_more_digits_than_the_gauge_shows_is_asked_about(run, contract, right, wrong, said):
    day = day_with(contract, (right, wrong))
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    assert f"{said}; usually in steps of 0.1 mil" in " ".join(run("check", day).out.split())
    code, decided, kinds = decisions(run, day_with(contract, (right, f"{wrong}, confirmed: yes")))
    assert (code, decided["A-1"], kinds) == (0, "release", {"entry-confirmed"})


# A test alone, which has no other beside it


@pytest.mark.parametrize("volume", ["0.3 ml", "30 ml"])
def test_the_volume_of_a_test_alone_is_asked_about(run, contract, volume):
    alone = (TESTS, TESTS.replace(f", {{location: 2, {KIT}}}", ""))
    fewer = LIMITS.replace("tests: 2", "tests: 1")
    day = day_with(contract, alone, ("volume: 3 ml", f"volume: {volume}"))
    (contract / "project.yaml").write_text(PROJECT.replace("  sampling:", fewer), "utf-8")
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    assert f"volume {volume}; usually 1 ml to 20 ml" in " ".join(run("check", day).out.split())
    day.write_text(day.read_text("utf-8").replace(volume, f"{volume}, confirmed: yes"), "utf-8")
    assert "entry-doubtful" not in run("check", day).out


# Several apparatus under one name


@pytest.mark.parametrize(
    "name",
    [
        "pot 1, pot 2", "pot 1 and 2", "pot 1 & 2", "pot 1 + pot 2", "pot 1/2", "pot A / pot B", "Topf 1 und 2",
        "both pots", "pots 1-2", "two nozzles", "2 pots", "beide Kessel", "Kessel 1 bis 2",
    ],
)  # fmt: skip
def test_a_name_that_joins_several_apparatus_is_asked_about(run, contract, name):
    day = contract / "day.yaml"
    day.write_text(SMALL.replace("apparatus: pot 1", f'apparatus: "{name}"'), "utf-8")
    said = run("check", day)
    assert said.code == 1
    assert f"A-1: apparatus `{name}`; one apparatus to an entry: make an entry for each" in " ".join(said.out.split())
    assert "A-1 hold" in " ".join(said.out.split())
    day.write_text(
        day.read_text("utf-8").replace("abrasive: steel grit", "abrasive: steel grit, confirmed: yes"), "utf-8"
    )
    said = run("check", day)
    assert (said.code, "[apparatus-confirmed]" in said.out) == (0, True)


@pytest.mark.parametrize("name", ["pot 1", "compressor pot no. 3", "3/4 in pot", "Sandstrahler 7"])
def test_an_ordinary_name_of_an_apparatus_is_not_asked_about(run, contract, name):
    day = contract / "day.yaml"
    day.write_text(SMALL.replace("apparatus: pot 1", f'apparatus: "{name}"'), "utf-8")
    assert run("check", day).code == 0


def test_a_name_of_names_used_elsewhere_is_asked_about(run, contract):
    day = contract / "day.yaml"
    text = SMALL.replace("apparatus: pot 1", "apparatus: north pot/south pot")
    day.write_text(text, "utf-8")
    assert run("check", day).code == 0
    other = """air_checks: [{time: "07:20", apparatus: south pot, result: clean, duration: 1 min}]\n"""
    day.write_text(text.replace("surfaces:\n", f"{other}surfaces:\n"), "utf-8")
    said = run("check", day)
    assert (said.code, "[apparatus-doubtful]" in said.out) == (1, True)


SHIM = "shim: 3.0 mil, shim_reading: 3.0 mil"


def shims(run, contract, *written):
    """Checks of the gauge with these shims, the last after the readings."""
    text = (contract / "day.yaml").read_text("utf-8")
    check = next(line for line in text.splitlines() if SHIM in line)
    head, _, rest = text.partition(check)
    times = [f"07:{10 + number}" for number in range(len(written) - 1)] + ["14:30"]
    rows = [check.replace("07:10", time).replace(SHIM, one) for time, one in zip(times, written, strict=True)]
    rest = rest.partition("tape_checks:")[2]
    (contract / "day.yaml").write_text(f"{head}{chr(10).join(rows)}\ntape_checks:{rest}", "utf-8")
    code, decided, kinds = decisions(run, contract / "day.yaml")
    return code, decided["A-1"], kinds, " ".join(run("check", "day.yaml").out.split())


@pytest.mark.parametrize("other", ["30 mil", "0.3 mil"])
def test_a_shim_unlike_that_of_the_other_checks_is_asked_about(run, contract, other):
    wrong = f"shim: {other}, shim_reading: {other}"
    code, decision, kinds, said = shims(run, contract, SHIM, SHIM, wrong)
    assert (code, decision, kinds) == (1, "hold", {"entry-doubtful"})
    assert f"14:30: shim {other} on g1, beside others of about 3.0 mil" in said
    assert said.count("entry-doubtful") == 1
    (contract / "day.yaml").write_text((contract / "day.yaml").read_text("utf-8").replace(
        wrong, f"{wrong}, confirmed: yes"), "utf-8")  # fmt: skip
    code, decided, kinds = decisions(run, contract / "day.yaml")
    assert (code, decided["A-1"], kinds) == (0, "release", {"entry-confirmed"})


def test_of_two_shims_both_are(run, contract):
    said = shims(run, contract, SHIM, "shim: 30 mil, shim_reading: 30 mil")[3]
    assert "07:10: shim 3.0 mil on g1" in said
    assert "14:30: shim 30 mil on g1" in said


@pytest.mark.parametrize(
    "mils", [("3.0", "1.0"), ("1.0", "5.0"), ("1.0", "5.0", "1.0", "5.0"), ("0.8", "4.0"), ("1.0", "1.0", "7.9")]
)
def test_shims_of_several_thicknesses_are_no_slip(run, contract, mils):
    made = [f"shim: {one} mil, shim_reading: {one} mil" for one in mils]
    code, decision, kinds, _ = shims(run, contract, *made)
    assert (code, decision, kinds) == (0, "release", set())


@pytest.mark.parametrize(
    ("cleaned", "asked"),
    [("12 cm2", True), ("1200 mm2", True), ("0.0225 m2", False), ("1.2 m2", False), ("12 m2", False)],
)
def test_less_than_a_location_takes_was_not_cleaned(run, contract, cleaned, asked):
    """It is a slip of the unit: the size is corrected, and the next shift does not stumble over it."""
    day = day_with(contract, ("    profile: {", f"    cleaned: {cleaned}\n    profile: {{"))
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == ((1, "hold", {"entry-doubtful"}) if asked else (0, "release", set()))
    said = " ".join(run("check", "day.yaml").out.split())
    assert ("usually at least 225 cm², as a location takes: correct it [entry-doubtful]" in said) is asked
    assert run("new", "--next", "day.yaml", "--date", "2026-05-05").code == 0
    assert run("check", "2026-05-05.yaml").code in (0, 1)


ROWS = {
    # limits: air, coldest and warmest steel of the three rows, and what is out of limits by the second of them
    "maximum_steel: 45 degC, maximum_air: 40 degC": (
        ("54.5", "53.5", "53.5"),
        ("56", "55", "55"),
        ("57.5", "57", "57"),
    ),
    "maximum_steel: 45 degC, minimum_air: 5 degC": (("18", "17", "17"), ("56", "55", "55"), ("19", "18", "18")),
    "minimum_steel: 18 degC": (("20", "19", "19"), ("55", "17", "17"), ("20", "19", "19")),
    "maximum_steel: 30 degC": (("4.0", "3.5", "3.5"), ("40", "35", "35"), ("4.0", "3.5", "3.5")),
}


@pytest.mark.parametrize("limits", ROWS)
def test_a_row_that_is_asked_about_condemns_nothing(run, contract, limits):
    """A sheet read in °F and typed as °C: what is asked of its air says the same of its steel."""
    rows = "conditions:\n" + "".join(
        f'  - {{time: "{at}", air: {air} degC, humidity: 20 %, steel: {steel} degC, steel_warmest: {warmest} degC}}\n'
        for at, (air, steel, warmest) in zip(("07:30", "09:00", "10:15"), ROWS[limits], strict=True)
    )
    project = contract / "project.yaml"
    project.write_text(PROJECT.replace("  sampling:", f"  conditions: {{{limits}}}\n  sampling:", 1), "utf-8")
    day = contract / "day.yaml"
    day.write_text(SMALL + rows, "utf-8")
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    day.write_text(SMALL + rows.replace("degC}", "degC, confirmed: yes}"), "utf-8")
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "rework", {"entry-confirmed"})


FAHRENHEIT = "conditions: {dew_point_margin: 5 delta_degF, minimum_steel: 40 degF, minimum_air: 40 degF}"


def in_fahrenheit(contract, rows, limits=FAHRENHEIT):
    """The small contract in °F, and its day with three readings: air, steel and more of each."""
    read = zip(("07:30", "09:00", "10:15"), rows, strict=True)
    log = "".join(
        f'  - {{time: "{at}", humidity: 50 %, air: {air} degF, steel: {steel}}}\n' for at, (air, steel) in read
    )
    project = contract / "project.yaml"
    project.write_text(PROJECT.replace("  sampling:", f"  {limits}\n  sampling:", 1), "utf-8")
    (contract / "day.yaml").write_text(f"{SMALL}conditions:\n{log}", "utf-8")
    return contract / "day.yaml"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (
            [("20", "19 degF"), ("21", "20 degF"), ("22", "21 degF")],
            "air 20 °F; usually air at least 32 °F, where it is",
        ),
        (
            [("68", "67 degF"), ("20", "50 degF"), ("70", "69 degF")],
            "air 20 °F; usually air at least 32 °F, where it is",
        ),
        (
            [("45", "44 degF"), ("45", "12 degF"), ("46", "45 degF")],
            "steel 12 °F, air 45 °F; usually in the unit of what",
        ),
        (
            [("68", "67 degF"), ("68", "67 degF, steel_warmest: 20 degF"), ("68", "67 degF")],
            "warmest steel 20 °F, 48.0 °F",
        ),
    ],
)
def test_celsius_typed_as_fahrenheit_is_asked_about_before_it_fails_anything(run, contract, rows, said):
    day = in_fahrenheit(contract, rows)
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    out = " ".join(run("check", day, "--all").out.split())
    assert said in out
    day.write_text(day.read_text("utf-8").replace("degF}", "degF, confirmed: yes}"), "utf-8")
    assert decisions(run, day)[2] == {"entry-confirmed"}


WINTER = "conditions: {dew_point_margin: 5 delta_degF}"
FROST = [("20", "18 degF"), ("24", "22 degF"), ("28", "27 degF")]


def test_a_winter_s_day_is_asked_about_once_and_told_what_ends_that(run, contract):
    day = in_fahrenheit(contract, FROST, WINTER)
    code, decided, kinds = decisions(run, day)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    out = " ".join(run("check", day, "--all").out.split())
    assert out.count("[entry-") == 1
    assert "the contract states no `minimum_steel` below that: correct it, or write `confirmed: yes` beside it" in out
    for row in ("steel: 18 degF", "steel: 27 degF"):
        day = in_fahrenheit(contract, FROST, WINTER)
        day.write_text(day.read_text("utf-8").replace(row, f"{row}, confirmed: yes"), "utf-8")
        code, decided, kinds = decisions(run, day)
        assert (code, decided["A-1"], kinds) == (0, "release", {"entry-confirmed"})
    stated = WINTER.replace("}", ", minimum_steel: 10 degF}")
    assert decisions(run, in_fahrenheit(contract, FROST, stated))[2] == set()


@pytest.mark.parametrize(
    "rows",
    [
        [("20", "18 degF"), ("28", "27 degF"), ("36", "35 degF")],  # a thaw at noon
        [("-4", "-6 degF"), ("5", "4 degF"), ("12", "10 degF")],
        [("30", "28 degF"), ("31", "33 degF"), ("31", "30 degF")],
    ],
)
def test_what_else_was_read_that_day_says_that_it_was_as_cold(run, contract, rows):
    code, decided, kinds = decisions(run, in_fahrenheit(contract, rows, WINTER))
    assert (code, decided["A-1"], kinds) == (0, "release", set())


@pytest.mark.parametrize(
    ("rows", "limits"),
    [
        ([("28", "27 degF"), ("29", "28 degF"), ("30", "29 degF")], FAHRENHEIT.replace("40 degF", "10 degF")),
        ([("40", "36 degF"), ("41", "33 degF"), ("44", "38 degF")], FAHRENHEIT.replace("40 degF", "33 degF")),
        ([("-3", "-4 degF"), ("-2", "-4 degF"), ("-1", "-2 degF")], FAHRENHEIT.replace("40 degF", "-10 degF")),
    ],
)
def test_work_in_the_cold_that_the_contract_allows_is_no_slip(run, contract, rows, limits):
    assert decisions(run, in_fahrenheit(contract, rows, limits))[2] == set()


@pytest.mark.parametrize(
    ("steel", "verdict"),
    [
        ("steel: 16 degC, steel_warmest: 38 degC", "conforms"),  # the coldest is like the air
        ("steel: 16 degC, steel_warmest: 1.6 degC", "inconclusive"),  # exchanged, or a point moved
        ("steel: 38 degC", "inconclusive"),
        ("steel: 27 degC, steel_warmest: 38 degC", "inconclusive"),  # so may be the air's
    ],
)
def test_a_doubted_warmest_steel_leaves_the_margin_as_it_is(run, contract, steel, verdict):
    day = day_with(contract, (FIRST, f"air: 16 degC, humidity: 60 %, {steel}"))
    evaluation = json.loads(run("check", day, "--json").out)
    assert [one["code"] for one in evaluation["findings"]][:1] == ["entry-doubtful"]
    assert evaluation["conditions"][0]["verdict"] == verdict


@pytest.mark.parametrize("humidity", ["90 %", "60 %"])
@pytest.mark.parametrize("doubted", ["steel_warmest: 38 degC", "steel: 2.4 degC, steel_warmest: 16 degC"])
def test_a_doubted_reading_conforms_in_no_row(run, contract, humidity, doubted):
    """Whether or not something else in its row fails, page 1 counts it as in doubt."""
    from pypdf import PdfReader

    doubted = doubted if "steel:" in doubted else f"steel: 16 degC, {doubted}"
    day = day_with(contract, (FIRST, f"air: 16 degC, humidity: {humidity}, {doubted}"))
    project = contract / "project.yaml"
    limits = "maximum_steel: 40 degC, minimum_steel: 5 degC"
    project.write_text(project.read_text("utf-8").replace("minimum_steel: 5 degC", limits), "utf-8")
    assert run("issue", day, "--identity", "demo", "-o", "one.pdf").code in (0, 1)
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(contract / "one.pdf").pages).split())
    rows = words.partition("Requirements and what was found")[2].partition("Dew point margin")[2]
    rows = rows.partition("Soluble salts")[0]
    assert ("1 of 2" in rows, "2 of 2" in rows) == (True, False)


@pytest.mark.parametrize("reading", ["30 mil", "0.3 mil"])
@pytest.mark.parametrize("at", [1, 2])
def test_a_shim_read_ten_times_off_is_asked_about_before_the_gauge_is_failed(run, contract, reading, at):
    """Nor does what is asked about stand in the uncertainty."""
    wrong = f"shim: 3.0 mil, shim_reading: {reading}"
    written = [SHIM, SHIM, SHIM]
    plain = shims(run, contract, *written)
    spread = json.loads(run("check", "day.yaml", "--json").out)["areas"][0]["locations"]
    written[at] = wrong
    code, decision, kinds, said = shims(run, contract, *written)
    evaluation = json.loads(run("check", "day.yaml", "--json").out)
    assert (plain[:3], code, decision, kinds) == ((0, "release", set()), 1, "hold", {"entry-doubtful"})
    assert f"shim read as {reading} on g1, instead of about 3.0 mil; usually near what it should be" in said
    assert [one["code"] for one in evaluation["findings"]] == ["entry-doubtful"]
    assert evaluation["areas"][0]["locations"] == spread
    assert {one["verdict"] for one in evaluation["checks"] if one["kind"] == "gauge"} == {"conforms", "inconclusive"}
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace(wrong, f"{wrong}, confirmed: yes"), "utf-8")
    code, _, kinds = decisions(run, day)
    assert (code, kinds, "[gauge-check-failed]" in run("check", day).out) == (1, {"entry-confirmed"}, True)


@pytest.mark.parametrize(
    ("right", "wrong", "seen"),
    [
        (
            "shim_reading: 3.0 mil",
            "shim_reading: 30 mil",
            "anvils clean, pre-set -2.0 mil, shim 3.0 mil read as 30 mil",
        ),
        ("anvils: clean, preset: -2.0 mil", "anvils: clean, preset: 20 mil", "anvils clean, pre-set 20 mil"),
    ],
)
def test_what_fails_a_gauge_by_so_much_is_no_error_of_a_reading(run, contract, right, wrong, seen):
    """Nothing is widened by it, and that is said beside U; the check fails, and its readings are in doubt."""
    from pypdf import PdfReader

    one = "{location: 1, spot: a, x1: 2.9}"
    more = (one, ", ".join(one.replace("1,", f"{number},", 1) for number in (1, 2, 3)).replace("2.9", "2.8", 1))

    def measured(*changes):
        evaluation = json.loads(run("check", day_with(contract, more, *changes), "--json").out)
        left_out, findings = ({each["code"] for each in evaluation[name]} for name in ("not_evaluated", "findings"))
        return evaluation["areas"][0], left_out, findings

    plain, left_out, _ = measured()
    assert "gauge-check-beyond" not in left_out
    sure, left_out, codes = measured((right, f"{wrong}, confirmed: yes"))
    assert [each["expanded_uncertainty"] for each in sure["locations"]] == [
        each["expanded_uncertainty"] for each in plain["locations"]
    ]
    assert sure.get("expanded_uncertainty") == plain.get("expanded_uncertainty")
    assert ("gauge-check-beyond" in left_out, "gauge-check-failed" in codes) == (True, True)
    assert run("draft", "day.yaml", "-o", "one.pdf").code in (0, 1)
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(contract / "one.pdf").pages).split())
    words = words.replace("\u2212", "-")
    assert f"is without its check of 07:10 ({seen}" in words
    assert "so far off, it fails the gauge and says nothing of the error of a reading" in words


@pytest.mark.parametrize("written", ["20 mil", "2.0 mil", "-0.2 mil", "0.80 mil", "-2.0 um"])
def test_a_pre_set_ten_times_off_is_asked_about_before_the_gauge_is_failed(run, contract, written):
    """So is one without its sign, or in another unit."""
    right, wrong = "anvils: clean, preset: -2.0 mil", f"anvils: clean, preset: {written}"
    spread = json.loads(run("check", day_with(contract), "--json").out)["areas"][0]["locations"]
    day = day_with(contract, (right, wrong))
    code, decided, kinds = decisions(run, day)
    evaluation = json.loads(run("check", day, "--json").out)
    assert (code, decided["A-1"], kinds) == (1, "hold", {"entry-doubtful"})
    said = " ".join(run("check", day).out.split()).replace("\u2212", "-")
    assert f"pre-set {written.replace('um', 'µm')} on g1, instead of about" in said
    assert [one["code"] for one in evaluation["findings"]] == ["entry-doubtful"]
    assert evaluation["areas"][0]["locations"] == spread
    day = day_with(contract, (right, f"{wrong}, confirmed: yes"))
    assert decisions(run, day)[2] == {"entry-confirmed"}
    assert "[gauge-check-failed]" in run("check", day).out


@pytest.mark.parametrize("written", ["-2.4 mil", "8.3 mil", "-1.2 mil", "5.0 mil"])
def test_a_dial_that_drifted_is_no_slip(run, contract, written):
    day = day_with(contract, ("anvils: clean, preset: -2.0 mil", f"anvils: clean, preset: {written}"))
    assert decisions(run, day)[2] == set()
    assert ("[gauge-check-failed]" in run("check", day).out) is True


def test_unused_tape_a_tenth_of_its_thickness_is_asked_about(run, contract):
    written = "0.56 mil"
    day = day_with(contract, ("thickness: 5.6 mil", f"thickness: {written}"))
    code, decided, kinds = decisions(run, day)
    out = " ".join(run("check", day).out.split())
    assert (code, decided["A-1"], kinds, "[tape-" in out) == (1, "hold", {"entry-doubtful"}, False), out
    assert f"unused tape of x1 {written} on g1, instead of about" in out
    sure = day_with(contract, ("thickness: 5.6 mil", f"thickness: {written}, confirmed: yes"))
    assert decisions(run, sure)[2] == {"entry-confirmed"}
    assert "[tape-" in run("check", day).out


CHECKED = {
    "hygrometer": ("accuracy: 3 %", "75.3 %", "7.53 %"),
    "surface thermometer": ("accuracy: 0.5 delta_degC", "18.0 degC", "1.80 degC"),
    "conductivity meter": ("accuracy: 2 uS/cm", "100 uS/cm", "10 uS/cm"),
}


@pytest.mark.parametrize("kind", CHECKED)
def test_a_check_on_site_typed_ten_times_off_fails_no_instrument_before_it_is_confirmed(run, contract, kind):
    accuracy, reference, shown = CHECKED[kind]
    tool = f"  k1: {{kind: {kind}, serial: K-1, {accuracy}, calibrated: 2026-01-10, calibration_due: 2027-01-10}}"
    for sure in (False, True):
        wrong = f"shown: {shown}, confirmed: yes" if sure else f"shown: {shown}"
        check = f'function_checks: [{{time: "07:05", instrument: k1, reference: {reference}, {wrong}}}]\n'
        day = day_with(contract, ("surfaces:\n", f"{check}surfaces:\n"))
        project = (contract / "project.yaml").read_text("utf-8")
        (contract / "project.yaml").write_text(project.replace("instruments:\n", f"instruments:\n{tool}\n"), "utf-8")
        code, _, kinds = decisions(run, day)
        out = run("check", day).out
        assert (code, kinds) == (1, {"entry-confirmed" if sure else "entry-doubtful"}), out
        assert ("[function-check-failed]" in out) is sure
        assert "shown by k1, instead of about" in " ".join(out.split())


BESIDE_FAILING = [  # what the other tests state, and whether it is asked about
    ([KIT], False),
    ([KIT, KIT, KIT], False),
    ([KIT.replace("9.4 uS/cm", one) for one in ("8.4 uS/cm", "10.3 uS/cm", "12.0 uS/cm")], False),
    ([KIT.replace("12.5 cm2", "125 cm2")], True),
    ([KIT.replace("12.5 cm2", "125 cm2")] * 3, True),
    ([KIT.replace("3 ml", "30 ml")], True),
]


@pytest.mark.parametrize(("others", "asked"), BESIDE_FAILING)
def test_a_failing_salt_test_stays_failed_whatever_is_beside_it(run, contract, others, asked):
    """Asked about, it would only hold, and a test in the next report would settle it without any washing."""
    wrong = KIT.replace("9.4 uS/cm", "92 uS/cm")
    made = ", ".join(f"{{location: {at}, {one}}}" for at, one in enumerate([wrong, *others], start=1))
    _, decided, kinds = decisions(run, day_with(contract, (TESTS, f"    salts: [{made}]\n")))
    assert (decided["A-1"], "entry-doubtful" in kinds) == ("rework", asked)
    out = " ".join(run("check", "day.yaml").out.split())
    assert "[salts-above-maximum]" in out
    assert "A-1 location 1: sample" not in out
    assert "A-1 location 1: patch" not in out


def test_of_two_patches_ten_times_apart_the_one_that_passes_is_asked_about(run, contract):
    """The other fails, and may do so by a slip as well: which of the two it was nobody can tell."""
    day = day_with(contract, ("area: 12.5 cm2", "area: 1.25 cm2"))
    _, decided, kinds = decisions(run, day)
    assert (decided["A-1"], kinds) == ("hold", {"entry-doubtful"})
    assert "location 2: patch of 12.5 cm², beside others of about 1.25 cm²" in " ".join(run("check", day).out.split())


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("air: 99.5 degF, humidity: 58 %, steel: 58.0 degF", "41.5 °F from the air; usually steel within 36 °F"),
        ("air: 149 degF, humidity: 58 %, steel: 58.0 degF", "air 149 °F; usually air at most 113 °F"),
    ],
)
def test_a_doubt_is_told_in_the_degrees_of_the_contract(run, contract, reading, said):
    day = day_with(contract, (FIRST, reading))
    project = contract / "project.yaml"
    limits = "{dew_point_margin: 5 delta_degF, maximum_humidity: 85 %, minimum_steel: 40 degF}"
    text = project.read_text("utf-8")
    old = text.partition("  conditions: ")[2].partition("\n")[0]
    project.write_text(text.replace(old, limits), "utf-8")
    assert said in " ".join(run("check", day).out.split())
