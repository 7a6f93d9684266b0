"""Slips of who fills a sheet or types lines: nothing that was written down is lost, changed or put elsewhere unsaid."""

import io
import json
import sys
from types import SimpleNamespace

import pytest

from reportgen.loader import load_job
from reportgen.pipeline import check
from tests.unit.cli.conftest import DAY as SMALL
from tests.unit.cli.conftest import PROJECT
from tests.unit.cli.test_intake import PREPARED, words
from tests.unit.intake.small import Filling, filled, less_kept, rolls_of, sheet_of

TWO_GRADES = (
    PROJECT.replace("readings_per_location: 1", "readings_per_location: 2")
    .replace("locations: 1}", "locations: 3}")
    .replace("tape_rolls: {", 'tape_rolls: {c1: {grade: coarse, lot: "8", expires: 2027-06-30}, ')
)
FRESH = """\
project: project.yaml
report: {number: SL-1-001, revision: 0, date: 2026-05-04, shift: {start: "07:00", end: "15:00"}, inspector: ines}
surfaces: []
not_inspected: []
"""


@pytest.fixture
def fresh(contract):
    """The day file of a contract with two grades of tape, on which nothing is written yet."""
    (contract / "project.yaml").write_text(TWO_GRADES, encoding="utf-8")
    (contract / "day.yaml").write_text(FRESH, encoding="utf-8")
    return contract / "day.yaml"


@pytest.fixture
def sheet(run, fresh):
    """Make a sheet of the day, fill it, take it in."""

    def take(fill, *options):
        path = fresh.with_name("sheet.pdf")
        path.unlink(missing_ok=True)
        assert run("sheet", "day.yaml", "--area", "A-1", "-o", path).code == 0
        filling = Filling(sheet_of(load_job(fresh), areas=["A-1"], evaluation=check(fresh).evaluation))
        fill(filling)
        path.write_bytes(filled(path.read_bytes(), filling.values))
        return run("intake", "sheet.pdf", "--into", "day.yaml", *options)

    return take


@pytest.fixture
def typed(run, monkeypatch):
    """Pipe lines into ``intake``."""

    def take(text, *options):
        monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(text.encode()), isatty=lambda: False))
        return run("intake", "-", "--into", "day.yaml", *options)

    return take


def whole(filling, area="A-1", **prepared):
    """Fill in the page of an area: six spots, each read on two rolls."""
    filling.write("surface", 1, area, **(PREPARED | prepared))
    rows = {row: {"x1": f"2.{row + 1}", "c1": f"2.{row}"} for row in range(1, 7)}
    filling.readings(area, rows, rolls_of(filling.plan, area))
    for row in rows:  # a sheet of a day that is begun puts first what is owed
        filling.write("readings", row, area, location=str((row + 1) // 2), spot="ba"[row % 2])


def spots_of(path, surface=0):
    """Return the readings of a surface in the day file: (location, spot) → roll → text."""
    found = {}
    for reading in load_job(path).readings[surface]:
        found.setdefault((reading.location, reading.spot), {})[reading.roll] = str(reading.value)
    return found


def refused(out):
    return words(out.split("Not taken")[1].split("\n\n")[0]) if "Not taken" in out else ""


# A spot that is there twice


@pytest.mark.parametrize("value", ["2.2", "2.9"])
def test_a_spot_written_on_two_rows_is_listed_and_its_second_row_not_taken(sheet, fresh, value):
    def fill(filling):
        whole(filling)
        filling.write("readings", 2, "A-1", spot="a")
        filling.readings("A-1", {2: {"x1": value, "c1": "2.5"}}, rolls_of(filling.plan, "A-1"))

    code, out, err = sheet(fill)
    assert (code, err) == (1, "")
    assert f"row 2 `1 a (x1 {value}, c1 2.5)`: spot 1/a is there already (page 2, Profile readings, row 1)" in refused(
        out
    )
    assert spots_of(fresh)["1", "a"] == {"x1": "2.2", "c1": "2.1"}
    assert ("1", "b") not in spots_of(fresh)


def test_a_spare_row_with_one_roll_does_not_join_another_row(sheet, fresh):
    def fill(filling):
        whole(filling)
        roll = rolls_of(filling.plan, "A-1")
        filling.values = {name: text for name, text in filling.values.items() if not name.endswith(f"r01_{roll['c1']}")}
        filling.write("readings", 7, "A-1", location="1", spot="a", **{roll["c1"]: "2.9"})

    code, out, _ = sheet(fill)
    assert code == 1
    assert "row 7 `1 a (c1 2.9)`: spot 1/a is there already" in refused(out)
    assert spots_of(fresh)["1", "a"] == {"x1": "2.2"}


def test_a_row_is_not_taken_for_one_of_its_name_that_was_refused(sheet, fresh):
    def fill(filling):
        whole(filling)
        filling.write("readings", 2, "A-1", spot="a")
        filling.readings("A-1", {1: {"x1": "OL", "c1": "OL"}}, rolls_of(filling.plan, "A-1"))

    code, out, _ = sheet(fill)
    assert code == 1
    assert "spot 1/a is there already" in refused(out)
    assert ("1", "a") not in spots_of(fresh)


def test_a_typed_line_about_a_spot_of_another_line_is_listed(sheet, fresh, typed):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    code, out, _ = typed("A-1 1 a x1 2.8\nA-1 1 a x1 2.8\nA-1 1 a c1 2.2\nA-1 2 a x1 2.9\n")
    assert code == 1
    assert "line 2 `A-1 1 a x1 2.8`: spot 1/a is there already (line 1)" in refused(out)
    assert "line 3 `A-1 1 a c1 2.2`: spot 1/a is there already (line 1)" in refused(out)
    assert spots_of(fresh) == {("1", "a"): {"x1": "2.8"}, ("2", "a"): {"x1": "2.9"}}


def test_a_table_that_repeats_a_reading_lists_it(run, sheet, fresh):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    table = "area,location,spot,roll,reading\nA-1,1,a,x1,2.8\nA-1,1,a,c1,2.6\nA-1,1,a,x1,2.8\n"
    fresh.with_name("r.csv").write_text(table, encoding="utf-8")
    code, out, _ = run("intake", "r.csv", "--into", "day.yaml")
    assert code == 1
    assert "line 4, x1 `2.8`: spot 1/a has 2.8 on `x1` already (line 2)" in refused(out)
    assert spots_of(fresh) == {("1", "a"): {"x1": "2.8", "c1": "2.6"}}


# Another apparatus, another period


def surfaces_of(path):
    return [(one.area, one.apparatus, f"{one.blasted.start:%H:%M}") for one in load_job(path).day.surfaces]


def others(filling, **prepared):
    """Fill in the page of the same area with other readings, of another apparatus or time."""
    whole(filling, **prepared)
    filling.readings("A-1", {row: {"x1": "3.1", "c1": "3.0"} for row in range(1, 7)}, rolls_of(filling.plan, "A-1"))


def test_a_sheet_of_another_apparatus_makes_a_second_entry_of_its_area(sheet, fresh):
    assert sheet(whole).code == 0
    first = spots_of(fresh)
    code, _, err = sheet(lambda filling: others(filling, apparatus="pot 2", start="0910", end="1000"))
    assert (code, err) == (0, "")
    assert surfaces_of(fresh) == [("A-1", "pot 1", "07:30"), ("A-1", "pot 2", "09:10")]
    assert spots_of(fresh) == first
    assert spots_of(fresh, 1) == {(str(n), s): {"x1": "3.1", "c1": "3.0"} for n in (1, 2, 3) for s in "ab"}
    again = sheet(lambda filling: others(filling, apparatus="Pot 2", start="0910", end="1000"))
    assert len(surfaces_of(fresh)) == 2
    assert "stays `pot 2`; came in as `Pot 2`" in words(again.out)


def test_a_sheet_of_another_apparatus_that_lacks_something_holds_the_area(run, sheet, fresh):
    fresh.write_text(CHECKED, "utf-8")
    assert sheet(whole).code == 0
    assert decision(run) == "release"
    code, out, _ = sheet(lambda filling: others(filling, apparatus="pot 2", start=""))
    assert code == 1
    assert "page 2, A-1: `blasted.start`" in words(out.split("Missing")[1])
    assert decision(run) == "hold"
    said = words(run("check", "day.yaml").out)
    assert "lacks blasted.start; there stands <start of blasting> [entry-unfinished]" in said
    assert sheet(lambda filling: others(filling, apparatus="pot 2", start="0910", end="1000")).code == 1
    code, out, _ = sheet(lambda filling: others(filling, apparatus="pot 2", start="0910", end="1000"), "--overwrite")
    assert code == 0, out
    assert surfaces_of(fresh) == [("A-1", "pot 1", "07:30"), ("A-1", "pot 2", "09:10")]
    assert spots_of(fresh, 1)["1", "a"] == {"x1": "3.1", "c1": "3.0"}


def test_a_sheet_of_another_period_does_not_join_the_first(sheet, fresh):
    assert sheet(whole).code == 0

    def fill(filling):
        others(filling, start="1300", end="1400")
        for row in range(1, 7):
            filling.write("readings", row, "A-1", location=str(3 + (row + 1) // 2))

    assert sheet(fill).code == 0
    assert surfaces_of(fresh) == [("A-1", "pot 1", "07:30"), ("A-1", "pot 1", "13:00")]
    assert {place for place, _ in spots_of(fresh)} == {"1", "2", "3"}
    assert {place for place, _ in spots_of(fresh, 1)} == {"4", "5", "6"}


@pytest.mark.parametrize(
    ("corrected", "said"),
    [
        ({"apparatus": "pot 7"}, "stays `pot 1`; came in as `pot 7`"),
        ({"start": "09:10", "end": "09:50"}, "stays `07:30`; came in as `09:10`"),
    ],
)
def test_a_corrected_page_with_the_readings_that_are_there_is_no_second_entry(sheet, fresh, corrected, said):
    assert sheet(whole).code == 0
    code, out, _ = sheet(lambda filling: whole(filling, **corrected))
    assert code == 1
    assert said in words(out)
    assert len(surfaces_of(fresh)) == 1


# The readings of a spot


def test_readings_of_a_spot_are_taken_together_or_not_at_all(sheet, fresh):
    def only_extra_coarse(filling):
        whole(filling)
        c1 = rolls_of(filling.plan, "A-1")["c1"]
        filling.values = {name: text for name, text in filling.values.items() if not name.endswith(f"r03_{c1}")}

    def measured_again(filling):
        whole(filling)
        filling.readings("A-1", {3: {"x1": "3.3", "c1": "3.2"}}, rolls_of(filling.plan, "A-1"))

    sheet(only_extra_coarse)
    assert spots_of(fresh)["2", "a"] == {"x1": "2.4"}
    code, out, _ = sheet(measured_again)
    assert code == 1
    assert "readings 2 a: stays `x1 2.4`; came in as `x1 3.3, c1 3.2` (--overwrite takes it)" in words(out)
    assert spots_of(fresh)["2", "a"] == {"x1": "2.4"}
    assert sheet(measured_again, "--overwrite").code == 0
    assert spots_of(fresh)["2", "a"] == {"x1": "3.3", "c1": "3.2"}


@pytest.mark.parametrize("options", [(), ("--overwrite",)])
@pytest.mark.parametrize("roll", ["x1", "c1"])
def test_one_reading_of_a_pair_does_not_replace_its_half(sheet, typed, fresh, roll, options):
    """The replicas of a spot are read as a pair; one measured again and one from before are a pair nobody measured."""
    assert sheet(whole).code == 0
    other = {"x1": "c1", "c1": "x1"}[roll]
    before = fresh.read_bytes()
    code, out, _ = typed(f"A-1 2 a {roll} 3.3\n", *options)
    assert code == 1
    assert (
        f"readings 2 a: stays `x1 2.4, c1 2.3`; came in as `{roll} 3.3` "
        f"(write all readings of the spot, also on {other}, or change the day file)"
    ) in words(out)
    assert fresh.read_bytes() == before
    assert typed("A-1 2 a x1 3.3 c1 3.2\n", "--overwrite").code == 0
    assert spots_of(fresh)["2", "a"] == {"x1": "3.3", "c1": "3.2"}


def test_half_a_row_of_a_sheet_does_not_replace_half_a_pair(sheet, fresh):
    assert sheet(whole).code == 0

    def half(filling):
        whole(filling)
        rolls = rolls_of(filling.plan, "A-1")
        filling.readings("A-1", {3: {"x1": "3.3"}}, rolls)
        filling.values = {
            name: text for name, text in filling.values.items() if not name.endswith(f"r03_{rolls['c1']}")
        }

    code, out, _ = sheet(half, "--overwrite")
    assert code == 1
    assert "stays `x1 2.4, c1 2.3`; came in as `x1 3.3` (write all readings of the spot" in words(out)
    assert spots_of(fresh)["2", "a"] == {"x1": "2.4", "c1": "2.3"}


def test_what_was_confirmed_of_a_spot_is_not_said_of_another_reading(sheet, typed, fresh):
    assert sheet(whole).code == 0
    text = fresh.read_text("utf-8")
    row = next(line for line in text.splitlines() if "location: 2" in line or 'location: "2"' in line)
    fresh.write_text(text.replace(row, row.replace("}", ", confirmed: yes}")), "utf-8")
    before = fresh.read_bytes()
    spot = "b" if "spot: b" in row else "a"
    code, out, _ = typed(f"A-1 2 {spot} x1 5.1 c1 5.2\n", "--overwrite")
    assert code == 1
    assert "what is there is confirmed, the new value is not: change the day file" in words(out)
    assert fresh.read_bytes() == before


# An area that cannot be taken in


def not_inspected(path):
    return {one.area: one.reason for one in load_job(path).day.not_inspected}


def unfinished(path):
    return [(one.names("area"), one.lacks, one.texts) for one in load_job(path).unfinished]


CHECKED = FRESH.replace("surfaces: []", SMALL[SMALL.index("gauge_checks:") : SMALL.index("surfaces:")] + "surfaces: []")
CHECKED = CHECKED.replace("surfaces:", '  - {time: "07:16", roll: c1, gauge: g1, thickness: 5.6 mil}\nsurfaces:')


def decision(run):
    return json.loads(run("check", "--json", "day.yaml").out)["areas"][0]["decision"]


@pytest.mark.parametrize(
    ("unreadable", "gap"),
    [
        ({"start": "07:3O"}, "<start of blasting, written as 07:3O>"),
        ({"end": "07:00"}, "<end of blasting, written as 07:00>"),
        ({"end": "25:00"}, "<end of blasting, written as 25:00>"),
        ({"was_A": "x"}, "<initial condition, written as A, C>"),
        ({"abrasive": ""}, "<abrasive>"),
        ({"apparatus": ""}, "<apparatus>"),
    ],
)
def test_one_slip_in_the_preparation_costs_that_entry_alone(run, sheet, fresh, unreadable, gap):
    fresh.write_text(CHECKED, "utf-8")
    code, out, _ = sheet(lambda filling: whole(filling, **unreadable))
    assert code == 1, out
    written = fresh.read_text("utf-8")
    assert gap in written
    assert "{location: 3, spot: b, x1: 2.7, c1: 2.6}" in written
    ((area, lacks, texts),) = unfinished(fresh)
    assert (area, len(lacks), texts) == (("A-1",), 1, (gap,))
    said = run("check", "day.yaml")
    assert said.code == 1
    assert "A-1 hold" in words(said.out)
    assert f"lacks {lacks[0]}; there stands {gap} [entry-unfinished]" in words(said.out)
    assert "day.yaml:" in words(said.out)
    said = run("issue", "day.yaml", "--identity", "demo")
    assert said.code == 2
    assert "JOB128" in said.err
    assert gap in words(said.err)
    assert sheet(whole).code in (0, 1)
    assert (gap in fresh.read_text("utf-8"), unfinished(fresh), not_inspected(fresh)) == (False, [], {})
    assert len(spots_of(fresh)) == 6
    assert decision(run) == "release"


def test_what_is_wrong_beside_a_gap_is_said_at_its_line(run, sheet, fresh):
    sheet(lambda filling: whole(filling, end="25:00"))
    text = fresh.read_text("utf-8")
    fresh.write_text(text.replace("    profile:", "    coated: noon\n    profile:"), "utf-8")
    said = run("check", "day.yaml")
    assert said.code == 1
    assert "coated: noon" in said.err


# What was refused


def salted(fresh):
    project = fresh.with_name("project.yaml")
    limits = "  conditions: {dew_point_margin: 3 delta_degC, maximum_humidity: 85 %}\n"
    limits += "  soluble_salts: {maximum: 30 mg/m2, expressed_as: mixed salts by conductivity, tests: 1}\n"
    project.write_text(TWO_GRADES.replace("  time_to_coat:", f"{limits}  time_to_coat:"), encoding="utf-8")


SALT = {"salt_area": "12.5", "volume": "3", "blank": "1.8"}
AIR = {"air": "16", "humidity": "60", "steel": "16"}
REFUSED = [
    (("salts", 2, "A-1", SALT | {"location": "2", "sample": "30?"}), "A-1", "30?"),
    (("conditions", 3, None, AIR | {"time": "0900", "humidity": "95?"}), None, "95?"),
    (("conditions", 3, None, AIR | {"time": "9", "humidity": "95"}), None, "9"),
    (("readings", 7, "A-1", {"location": "4", "spot": "a", "roll": "1.3?"}), "A-1", "1.3?"),
]


@pytest.mark.parametrize(("row", "area", "written"), REFUSED)
def test_what_was_refused_is_kept_in_the_day_file_and_holds(run, sheet, fresh, row, area, written):
    salted(fresh)
    fresh.write_text(f"# the first line\n{CHECKED}# the last line\n", "utf-8")

    def good(filling):
        whole(filling)
        for number, time in enumerate(("0725", "1050"), 1):
            filling.write("conditions", number, **(AIR | {"time": time}))
        filling.write("salts", 1, "A-1", **(SALT | {"location": "1", "sample": "3.0"}))

    def bad(filling):
        good(filling)
        kind, number, block, cells = row
        roll = rolls_of(filling.plan, "A-1")["x1"]
        cells = {roll if name == "roll" else name: text for name, text in cells.items()}
        filling.write(kind, number, *([] if block is None else [block]), **cells)

    code, out, _ = sheet(bad)
    assert code == 1
    assert written in refused(out)
    assert "day.yaml keeps these as written" in words(out)
    kept = load_job(fresh).day.not_taken
    assert written in [one.written for one in kept]
    assert {one.area for one in kept} == {area}
    assert fresh.read_text("utf-8").startswith("# the first line\n")
    assert "# the last line\n" in fresh.read_text("utf-8")
    said = run("check", "day.yaml")
    assert said.code == 1
    assert f"`{written}`" in words(said.out)
    assert said.out.count("[entry-not-taken]") == len(kept)
    assert decision(run) == "hold"
    issued = run("issue", "day.yaml", "--identity", "demo")
    assert (issued.code, words(issued.err).count("was not taken in, and is still to be entered")) == (2, len(kept))
    before = fresh.read_bytes()
    sheet(bad)
    assert fresh.read_bytes() == before  # once is enough
    fresh.write_bytes(less_kept(before))
    assert (run("check", "day.yaml").code, decision(run)) == (0, "release")


def test_a_typed_line_that_was_refused_is_kept(run, sheet, typed, fresh):
    assert sheet(whole).code == 0
    assert typed("A-1 4 a x1 1.3?\nA-7 4 b x1 1.3\n").code == 1
    kept = [(one.area, one.where, one.written) for one in load_job(fresh).day.not_taken]
    assert kept == [("A-1", "typed lines, line 1", "1.3?"), (None, "typed lines, line 2", "A-7 4 b x1 1.3")]
    assert decision(run) == "hold"


def test_an_odd_text_is_kept_as_a_day_file_can_hold_it(sheet, fresh):
    odd = "\u202e" + "x" * 200 + ' "quoted" \\ # {[: '
    sheet(lambda filling: whole(filling, end=odd))
    assert "U+202E" in "".join(one.written for one in load_job(fresh).day.not_taken).replace(" ", "")


def test_a_dry_run_keeps_nothing(sheet, fresh):
    before = fresh.read_bytes()
    code, out, _ = sheet(lambda filling: whole(filling, end="25:00"), "--dry-run")
    assert (code, fresh.read_bytes()) == (1, before)
    assert "day.yaml would keep these as written" in words(out)


def test_a_gauge_that_does_not_exist_leaves_the_area_on_hold(run, sheet, fresh):
    code, out, _ = sheet(lambda filling: whole(filling, gauge="g7"))
    assert code == 1
    assert "3 b (x1 2.7, c1 2.6)" in refused(out)
    said = run("check", "day.yaml")
    assert said.code == 1
    assert "A-1 hold no location (3 required)" in words(said.out)


def test_what_was_written_on_the_sheet_replaces_what_is_still_to_be_filled_in(sheet, fresh):
    reason = "<reason why it was not inspected>"
    text = FRESH.replace("not_inspected: []", f"not_inspected: [{{area: A-1, reason: {reason}}}]")
    fresh.write_text(text, encoding="utf-8")
    code, out, _ = sheet(lambda filling: filling.write("surface", 1, "A-1", not_inspected="rain"))
    assert (code, not_inspected(fresh)) == (0, {"A-1": "rain"})
    assert "not_inspected A-1, reason: rain" in words(out)
    code, _, _ = sheet(lambda filling: filling.write("surface", 1, "A-1", not_inspected="snow"))
    assert (code, not_inspected(fresh)) == (1, {"A-1": "rain"})


# The time of a test


def test_a_time_of_a_test_that_cannot_be_read_costs_the_time_alone(sheet, fresh):
    project = fresh.with_name("project.yaml")
    limits = "  soluble_salts: {maximum: 30 mg/m2, expressed_as: mixed salts by conductivity}\n"
    limits += "  dust: {maximum_quantity: 2}\n"
    project.write_text(TWO_GRADES.replace("  time_to_coat:", f"{limits}  time_to_coat:"), encoding="utf-8")

    def tested(time):
        def fill(filling):
            whole(filling)
            test = {"location": "2", "salt_area": "12.5", "volume": "3", "blank": "1.8", "sample": "9.4"}
            filling.write("salts", 1, "A-1", **test, time=time)
            filling.write("dust", 1, "A-1", location="3", quantity="1", size="2", time=time)

        return fill

    code, out, _ = sheet(tested("9h"))
    assert code == 1
    assert refused(out).count("time `9h`") == 2
    surface = load_job(fresh).day.surfaces[0]
    assert [(len(tests), tests[0].time) for tests in (surface.salts, surface.dust)] == [(1, None), (1, None)]
    code, _, _ = sheet(tested("0910"))
    surface = load_job(fresh).day.surfaces[0]
    assert [(len(tests), f"{tests[0].time:%H:%M}") for tests in (surface.salts, surface.dust)] == [(1, "09:10")] * 2
    assert code == 0


# Times of readings


def timed(*times):
    def fill(filling):
        whole(filling, start="08:10", end="08:18")
        for row, time in enumerate(times, 1):
            filling.write("readings", row, "A-1", time=time)

    return fill


def times_of(path):
    return [reading.time for reading in load_job(path).readings[0]][::2]


def test_one_wrong_time_costs_itself_and_not_those_after_it(sheet, fresh):
    code, out, _ = sheet(timed("20:17", "08:19", "08:22", "08:25", "", "08:31"))
    assert code == 1
    assert refused(out) == (
        "page 2, Profile readings, row 1, time `20:17`: 20:17 is later than the times of the rows after it; "
        "write the readings in the order taken"
    )
    assert times_of(fresh) == [None, "08:19", "08:22", "08:25", None, "08:31"]


def test_a_time_before_blasting_stays_beside_a_wrong_one(run, sheet, fresh):
    sheet(timed("20:17", "08:05", "08:22", "08:25"))
    assert times_of(fresh)[:4] == [None, "08:05", "08:22", "08:25"]
    assert "measured-before-blasting" in run("check", "day.yaml").out


def test_times_that_are_there_stay(sheet, fresh):
    sheet(timed("08:19", "08:22"))
    code, out, _ = sheet(timed("08:19", "08:22", "08:10", "08:30"))
    assert code == 1
    assert "row 3, time `08:10`: 08:10 comes after 08:22 in the row before" in refused(out)
    assert times_of(fresh) == ["08:19", "08:22", None, "08:30", None, None]


# Digits


def test_readings_with_too_many_digits_are_counted_by_their_digits(run, sheet, fresh, typed):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    code, out, _ = typed("A-1 1 a x1 2.80\nA-1 1 b x1 2.85\nA-1 2 a x1 2.8\nA-1 2 b x1 2.8\nA-1 3 a x1 2.8\n")
    assert code == 1
    assert "line 1, x1 `2.80`; line 2, x1 `2.85`: more digits than the gauge shows" in words(out)
    said = words(run("check", "day.yaml").out)
    assert "2.80 mil and 1 more reading with as many digits on g1" in said


def test_each_reading_with_too_many_digits_is_told_with_its_own_row(sheet):
    def fine(filling):
        whole(filling)
        readings = {3: {"x1": "0.27"}, 4: {"x1": "2.75", "c1": "2.65"}}
        filling.readings("A-1", readings, rolls_of(filling.plan, "A-1"))

    code, out, _ = sheet(fine)
    assert code == 1
    told = "page 2, Profile readings, row 3, x1 `0.27`; row 4, x1 `2.75`; c1 `2.65`: more digits than the gauge shows"
    assert told in words(out)


# Ticks


def film_on(filling):
    whole(filling, included="x")
    filling.values = {name: text for name, text in filling.values.items() if not name.endswith("_subtracted")}


def test_readings_beside_both_boxes_of_the_film_are_refused(run, sheet, fresh):
    """With film on or off the same reading is another profile: no area is judged by a guess."""
    code, out, _ = sheet(lambda filling: whole(filling, subtracted="x", included="x"))
    assert code == 1
    assert "page 2, A-1, film `film on, film off`: film on and film off are ticked, which contradict" in refused(out)
    assert "1 a (x1 2.2, c1 2.1)`: `film off` and `film on` are both ticked, so nobody can tell what" in refused(out)
    assert refused(out).count("tick the one that is so, and take the sheet in again") == 6
    assert "neither" not in out
    assert "subtracted" not in out
    assert spots_of(fresh) == {}
    assert "blasted" in fresh.read_text("utf-8")
    said = run("check", "day.yaml", "--json")
    assert said.code == 1
    assert json.loads(said.out)["areas"][0]["decision"] == "hold"
    code, out, _ = sheet(film_on)
    assert code == 0, out
    assert load_job(fresh).day.surfaces[0].profile.film == "included"
    assert len(spots_of(fresh)) == 6


def test_both_boxes_of_the_film_add_no_reading_to_an_area_that_is_there(sheet, fresh):
    assert sheet(film_on).code == 0
    before = fresh.read_bytes()

    def further(filling):
        whole(filling, included="x")
        filling.write("readings", 7, "A-1", location="4", spot="a")
        filling.readings("A-1", {7: {"x1": "2.9", "c1": "2.8"}}, rolls_of(filling.plan, "A-1"))

    code, out, _ = sheet(further, "--overwrite")
    assert code == 1
    assert "4 a (x1 2.9, c1 2.8)" in refused(out)
    assert less_kept(fresh.read_bytes()) == before


# Typed lines and tables


def test_a_time_on_a_typed_line_that_is_none_is_listed_and_the_reading_taken(sheet, fresh, typed):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    code, out, _ = typed("A-1 1 a x1 2.8 25:00\nA-1 1 b x1 2.8 9.40\nA-1 2 a x1 2.7 09:40\n")
    assert code == 1
    assert "line 1, time `25:00`: `25:00` is not a time" in refused(out)
    assert (
        "line 2 `A-1 1 b x1 2.8 9.40`: `9.40` may be a time, or a reading without its roll; write the time as `09:40`"
        in (refused(out))
    )
    assert spots_of(fresh) == {("1", "a"): {"x1": "2.8"}, ("2", "a"): {"x1": "2.7"}}
    assert [reading.time for reading in load_job(fresh).readings[0]] == [None, "09:40"]


@pytest.fixture
def two_pots(sheet, fresh):
    """An area that two apparatus blasted, measured for the first."""
    sheet(whole)
    sheet(
        lambda filling: filling.write(
            "surface", 1, "A-1", **(PREPARED | {"apparatus": "pot 2", "start": "09:10", "end": "09:40"})
        )
    )
    assert [len(readings) for readings in load_job(fresh).readings] == [12, 0]
    return fresh


def test_a_typed_line_of_an_area_with_two_apparatus_says_which(two_pots, typed):
    before = two_pots.read_bytes()
    code, out, _ = typed("A-1 1 a x1 3.1\n")
    assert (code, less_kept(two_pots.read_bytes())) == (1, before)
    assert "line 1 `A-1 1 a x1 3.1`: `A-1` has an entry for each of `pot 1` and `pot 2`: of which is this?" in refused(
        out
    )
    assert "such as `A-1 pot 2 1 a …`" in refused(out)
    code, out, _ = typed("A-1 Pot 2 1 a x1 3.1\nA-1 pot 2 1 b x1 3.2 10:05\n1 c\n")
    assert "line 3" in refused(out)
    assert spots_of(two_pots, 1) == {("1", "a"): {"x1": "3.1"}, ("1", "b"): {"x1": "3.2"}}
    assert len(spots_of(two_pots)) == 6


def test_a_table_of_an_area_with_two_apparatus_says_which(two_pots, run):
    table = two_pots.with_name("r.csv")
    rows = "A-1,pot 2,1,a,x1,3.1\nA-1,,1,b,x1,3.2\nA-1,pot 3,1,b,x1,3.3\n"
    table.write_text(f"area,apparatus,location,spot,roll,reading\n{rows}", encoding="utf-8")
    code, out, _ = run("intake", "r.csv", "--into", "day.yaml")
    assert code == 1
    assert "line 3 `A-1,,1,b,x1,3.2`: `A-1` has an entry for each of `pot 1` and `pot 2`" in refused(out)
    assert (
        "line 4 `A-1,pot 3,1,b,x1,3.3`: `A-1` has no entry for `pot 3` in the day file, only for `pot 1` and"
        in refused(out)
    )
    assert spots_of(two_pots, 1) == {("1", "a"): {"x1": "3.1"}}


@pytest.mark.parametrize(
    "rows", ["readings: [{location: 1, spot: a, x1: }]", "readings:\n        - {location: 1, spot: a, x1: }"]
)
def test_what_stands_empty_is_filled_in(run, sheet, fresh, typed, rows):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    begun = fresh.read_text(encoding="utf-8")
    text = begun.replace("    cleanliness:", f"    profile:\n      gauge: g1\n      {rows}\n    cleanliness:")
    fresh.write_text(text, encoding="utf-8")
    assert "lacks" in words(run("check", "day.yaml").out)
    assert typed("A-1 1 a x1 2.8\n").code == 0
    assert spots_of(fresh) == {("1", "a"): {"x1": "2.8"}}
    assert unfinished(fresh) == []


def test_an_empty_list_of_readings_says_how_intake_gets_on(run, sheet, fresh, typed):
    sheet(lambda filling: filling.write("surface", 1, "A-1", **PREPARED))
    begun = fresh.read_text(encoding="utf-8")
    empty = begun.replace("    cleanliness:", "    profile: {gauge: g1, readings: []}\n    cleanliness:")
    fresh.write_text(empty, encoding="utf-8")
    assert "[entry-unfinished]" in words(run("check", "day.yaml").out)
    _, _, err = run("issue", "day.yaml", "--identity", "demo")
    assert "leave `profile` out until there are some (`intake` begins it)" in words(err)
    assert "JOB170" in err
    for text in (empty, begun):
        fresh.write_text(text, encoding="utf-8")
        assert typed("A-1 1 a x1 2.8\n").code == 0
        assert spots_of(fresh) == {("1", "a"): {"x1": "2.8"}}
