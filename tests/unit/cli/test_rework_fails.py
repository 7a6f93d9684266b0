"""Rework that fails itself: how much of what failed counts as blasted again, on one shift and over several alike.

Each row of the table is what an inspector would sign; the sizes are in square metres of one area of 12.
"""

import itertools
import json
import re
from random import Random

import pytest

from tests.unit.cli.conftest import DAY, PROJECT

FIRST_DATE = 4
TABLE = [
    # what was blasted, in order: size (`*` states none), F failed, P passed, w within complete walk-outs of 1 m²
    ("8F 4F 4P", False, "half of it was blasted again twice, the other half never"),
    ("8F 4F 4P 4P", True, "then the other half too"),
    ("8F 4F 8P", True, "or all of it at once"),
    ("8F 4F 4F 4P", False, "the half failed twice"),
    ("8F 4F 4F 4P 4P", True, "and passed at last, and so did the rest"),
    ("8F 4P 4P", True, "two halves"),
    ("8F 4P", False, "one half"),
    ("8F 2P 2P 4P", True, "three parts"),
    ("8F 2P 2F 4P", False, "one of three failed"),
    ("8F 4P 4F 4P", True, "the second half only at the second time"),
    ("8F 6P 4F 2P", False, "what failed is more than what was left"),
    ("8F 6P 4F 4P", True, "and is all blasted again"),
    ("8F 8F 4P", False, "all of it failed again"),
    ("8F 8F 8P", True, "and passed at last"),
    ("8Fw 1P", True, "what the walk-outs bound"),
    ("8Fw 1F", False, "failed again"),
    ("8Fw 1F 1P", True, "the same part, the second time"),
    ("8Fw 1F 1F 1P", True, "the third time"),
    ("8Fw 2F 1P", False, "nothing bounds what failed in a rework but its size"),
    ("8Fw 2F 2P", True, "which is blasted again"),
    ("8Fw 4Fw 1P", True, "walk-outs bound it in a rework too"),
    ("*F 12P", True, "the whole area"),
    ("*F 4F 8P", False, "no size is the whole area"),
    ("*F 4F 8P 4P", True, "in parts"),
    ("*F 4F *P", True, "no size goes over all"),
    ("*F *F *P", True, "twice"),
    ("*Fw 1F 1P", True, "the bounded part of an area"),
]  # fmt: skip


def contract_of(path):
    (path / "project.yaml").write_text(PROJECT.replace("maximum: 8 h", "maximum: 400 h"), "utf-8")
    (path / "day.yaml").unlink(missing_ok=True)


@pytest.fixture
def contract(contract):
    contract_of(contract)
    return contract


def walked(number, up="0.5 m"):
    """Rows and walk-outs that bound what fails at a location."""
    names = {way: [f"{number}{way}{n}" for n in (1, 2)] for way in ("up", "down", "left", "right")}
    rows = ", ".join(f"{{location: {name}, spot: a, x1: 2.9}}" for each in names.values() for name in each)
    ways = ", ".join(f"{{towards: {way}, locations: [{', '.join(each)}]}}" for way, each in names.items())
    return rows, f"walk_outs: [{{failing: {number}, interval: {up}, directions: [{ways}]}}]"


def entry(number, said, *, first, date, own_date):
    """What one letter group of the table says, as an entry of a day file."""
    size, _, outcome = said.partition("F" if "F" in said else "P")
    value = "4.2" if "F" in said else "2.9"
    minute = 10 + number * 40
    clocks = [f"{7 + at // 60:02}:{at % 60:02}" for at in (minute, minute + 20)]
    if date != own_date:
        clocks = [f"2026-05-{own_date:02}T{clock}+00:00" for clock in clocks]
    rows, walk = walked(number) if outcome == "w" else ("", "")
    readings = f"[{{location: {number}, spot: a, x1: {value}}}{', ' + rows if rows else ''}]"
    lines = [
        "  - area: A-1", "    apparatus: pot 1", "    initial_condition: B",
        f'    blasted: {{start: "{clocks[0]}", end: "{clocks[1]}", abrasive: steel grit}}',
        "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}",
        f"    profile: {{gauge: g1, readings: {readings}{', ' + walk if walk else ''}}}",
    ]  # fmt: skip
    lines += [] if size == "*" else [f"    cleaned: {size} m2"]
    lines += [] if first else ["    blasted_again: [pot 1]"]
    return "\n".join(lines) + "\n"


def days_of(row, cuts=(), *, order=None):
    """The day files of a row, which is cut into shifts before the entries of these places."""
    groups, head, tail = row.split(), DAY[: DAY.index("surfaces:")], DAY[DAY.index("not_inspected") :]
    texts = []
    shifts = [0, *cuts, len(groups)]
    for shift, (start, end) in enumerate(itertools.pairwise(shifts)):
        date = FIRST_DATE + shift
        entries = [
            entry(at, groups[at], first=at == 0, date=date, own_date=date) for at in range(start, end)
        ]  # fmt: skip
        entries = entries if order is None else [entries[at] for at in order]
        text = head.replace("SL-1-001", f"SL-1-{shift + 1:03}").replace("2026-05-04", f"2026-05-{date:02}")
        texts.append(text + "surfaces:\n" + "".join(entries) + tail)
    return texts


@pytest.fixture
def decision(run, contract):
    def check(*texts):
        for number, text in enumerate(texts, start=1):
            (contract / f"day{number}.yaml").write_text(text, "utf-8")
        said = run("check", f"day{len(texts)}.yaml", "--json")
        assert said.out, said.err
        for each in contract.glob("day*.yaml"):
            each.unlink()
        return json.loads(said.out)["areas"][0]["decision"]

    return check


@pytest.mark.parametrize(("row", "released", "why"), TABLE)
def test_the_table(decision, row, released, why):
    """On one shift, and over as many as there are ways to cut it: the verdict is the same."""
    places = range(1, len(row.split()))
    cuts = [each for several in range(len(places) + 1) for each in itertools.combinations(places, several)]
    found = {each: decision(*days_of(row, each)) for each in cuts}
    assert {each: one == "release" for each, one in found.items()} == dict.fromkeys(cuts, released), why
    assert found[()] == ("release" if released else "rework")


# What must hold of any such day


def outstanding(row):
    """How much is to be blasted again at the end, counted square metre by square metre: what failed last first."""
    bad = 0
    for at, said in enumerate(row.split()):
        size = 12 if said[0] == "*" else int(said[: said.index("F" if "F" in said else "P")])
        bad = max(0, bad - size) if at else 0
        bad += (1 if said.endswith("w") else size) if "F" in said else 0
    return bad


def test_the_table_is_what_a_count_of_square_metres_says():
    assert {row: outstanding(row) == 0 for row, _, _ in TABLE} == {row: released for row, released, _ in TABLE}


def any_row(random):
    first = random.choice(["8F", "8Fw", "6F", "*F", "*Fw"])
    rest = [f"{random.choice([1, 2, 3, 4, 6, 8, 12])}{random.choice(['P', 'P', 'F', 'Fw'])}" for _ in range(4)]
    return " ".join([first, *rest[: random.randint(1, 4)]])


@pytest.mark.parametrize("seed", range(40))
def test_any_row_is_released_where_nothing_is_outstanding(decision, seed):
    random = Random(seed)  # noqa: S311 - of tests
    row = any_row(random)
    places = range(1, len(row.split()))
    cuts = tuple(at for at in places if random.random() < 0.5)
    order = list(range(len(row.split())))
    random.shuffle(order)
    released = outstanding(row) == 0
    assert (decision(*days_of(row, cuts)) == "release") == released, (row, cuts)
    assert (decision(*days_of(row, order=order)) == "release") == released, (row, order)


@pytest.mark.parametrize("seed", range(10))
def test_a_failed_rework_more_never_releases(decision, seed):
    random = Random(1000 + seed)  # noqa: S311 - of tests
    row = any_row(random)
    at = random.randint(1, len(row.split()))
    groups = row.split()
    more = " ".join([*groups[:at], f"{random.choice([1, 4, 8])}F", *groups[at:]])
    if outstanding(row):
        assert decision(*days_of(more)) != "release", more


# The same steel in several reports, and several apparatus


@pytest.mark.parametrize(("rest", "released"), [("", False), ("4P", True)])
def test_a_rework_that_two_reports_enter_counts_once(decision, rest, released):
    """The second enters it again with date and offset, as to record its primer."""
    first, second, *third = days_of(f"8F 4P {rest}".strip(), (1, 2) if rest else (1,))
    again = entry(1, "4P", first=False, date=FIRST_DATE + 2, own_date=FIRST_DATE + 1)
    if not third:
        third = [second.replace("SL-1-002", "SL-1-003").replace("date: 2026-05-05", "date: 2026-05-06")]
        text = third[0][: third[0].index("surfaces:")] + "surfaces:\n" + again + DAY[DAY.index("not_inspected") :]
    else:
        text = third[0].replace("surfaces:\n", f"surfaces:\n{again}")
    assert (decision(first, second, text) == "release") == released


def test_the_old_steel_entered_again_knows_what_a_report_between_reworked(decision):
    first, second, third = days_of("8F 4P 4P", (1, 2))
    old = entry(0, "8F", first=True, date=FIRST_DATE + 2, own_date=FIRST_DATE)
    assert decision(first, second, third.replace("surfaces:\n", f"surfaces:\n{old}")) == "release"
    first, second, third = days_of("8F 4F 4P", (1, 2))
    assert decision(first, second, third.replace("surfaces:\n", f"surfaces:\n{old}")) == "rework"


def test_what_fails_beside_is_to_be_blasted_again_too(decision):
    """Eight and four square metres failed on one shift, and eight were blasted again."""
    first, second, third = days_of("8F 4P 4P", (1, 2))
    beside = entry(4, "4F", first=True, date=FIRST_DATE, own_date=FIRST_DATE)
    both = first.replace("not_inspected", f"{beside}not_inspected")
    assert decision(both, second, third) == "hold"
    assert decision(both, *days_of("8F 6P 6P", (1, 2))[1:]) == "release"


@pytest.mark.parametrize(("size", "released"), [("4", False), ("8", True)])
@pytest.mark.parametrize("same_shift", [True, False])
def test_one_rework_of_two_apparatus_is_of_no_more_than_its_size(decision, size, released, same_shift):
    first, second = days_of(f"4F {size}P", (1,))
    other = entry(4, "4F", first=True, date=FIRST_DATE, own_date=FIRST_DATE).replace("pot 1", "pot 2")
    both = first.replace("not_inspected", f"{other}not_inspected")
    if same_shift:
        rework = entry(6, f"{size}P", first=False, date=FIRST_DATE, own_date=FIRST_DATE)
        days = [both.replace("not_inspected", f"{rework}not_inspected")]
    else:
        days = [both, second]
    days[-1] = days[-1].replace("blasted_again: [pot 1]", "blasted_again: [pot 1, pot 2]")
    assert (decision(*days) == "release") == released


# What else keeps a rework from counting


SALTS = "  soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride}\npeople:"


def salted(text, *readings):
    """Each entry with a test of salts, in order; None has none."""
    head, *entries = text.split("  - area: A-1\n")
    for at, value in enumerate(readings):
        test = "" if value is None else f"    salts: [{{location: S{at}, chloride: {value} mg/m2}}]\n"
        entries[at] = entries[at].replace("    profile:", f"{test}    profile:", 1)
    return "  - area: A-1\n".join([head, *entries])


@pytest.fixture
def salts(contract):
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people:", SALTS), "utf-8")


@pytest.mark.usefixtures("salts")
@pytest.mark.parametrize(
    ("readings", "released"),
    [((10, 10, 10), True), ((10, 60, 10), False), ((10, None, 10), False)],
)
def test_a_half_that_is_salty_or_was_never_tested_is_no_half(decision, readings, released):
    row = "8F 4P 4P"
    days = [salted(day, value) for day, value in zip(days_of(row, (1, 2)), readings, strict=True)]
    assert (decision(*days) == "release") == released
    assert (decision(salted(*days_of(row), *readings)) == "release") == released


@pytest.mark.usefixtures("salts")
@pytest.mark.parametrize(
    ("readings", "missing"),
    [((10, 10), []), ((10, None), ["07:50"]), ((None, 10), ["07:10"]), ((None, None), ["07:50", "07:10"])],
)
def test_a_test_of_the_part_is_none_of_the_rest_and_the_reverse(run, decision, contract, readings, missing):
    """And for dust alike."""
    row = "8Fw 1P"
    text = salted(*days_of(row), *readings)
    project = contract / "project.yaml"
    for old, new in ((None, None), ("soluble_salts: {maximum: 30 mg/m2, expressed_as: chloride}",
                                    "dust: {maximum_quantity: 2}")):  # fmt: skip
        if old is not None:
            project.write_text(project.read_text("utf-8").replace(old, new), "utf-8")
            text = text.replace("salts:", "dust:").replace("chloride: 10 mg/m2", "quantity: 1, size: 1")
        assert decision(text) == ("hold" if missing else "release")
        (contract / "day1.yaml").write_text(text, "utf-8")
        found = json.loads(run("check", "day1.yaml", "--json").out)["findings"]
        assert [one["facts"]["start"] for one in found if one["code"] == "part-not-tested"] == missing
        (contract / "day1.yaml").unlink()


@pytest.mark.usefixtures("salts")
def test_what_an_earlier_report_tested_is_tested(decision):
    first, second = days_of("8Fw 1P", (1,))
    old = entry(0, "8Fw", first=True, date=FIRST_DATE + 1, own_date=FIRST_DATE)
    both = second.replace("surfaces:\n", f"surfaces:\n{old}")
    assert decision(salted(first, 10), salted(both, None, 10)) == "release"
    assert decision(first, salted(both, None, 10)) == "hold"


# A decision that what a rework failed stays as it is

FIRST_RAISED = """
nonconformances:
  - {id: N1, area: A-1, findings: [profile-above-maximum], description: too high, disposition: rework,
     decided_by: ines, status: open}
"""
DECIDED = """\
  - {id: N2, area: A-1, findings: [profile-above-maximum], description: too high, disposition: use-as-is,
     decided_by: eng, status: closed, evidence: letter 7}
"""
N2 = f"\nnonconformances:\n{DECIDED}"
AGAIN_OPEN = N2.replace("status: closed, evidence: letter 7", "status: open")


@pytest.fixture
def first_closed(run, contract):
    """Answer whether N1 is closed: eight failed and eight blasted again, of which one failed."""
    path = contract / "project.yaml"
    engineer = "people: {eng: {name: O. Fell, role: project engineer}, "
    path.write_text(path.read_text("utf-8").replace("people: {", engineer), "utf-8")

    def check(second, third=""):
        texts = days_of("8F 4Fw 4P", (1, 2))
        for number, (text, more) in enumerate(zip(texts, (FIRST_RAISED, second, third), strict=True), start=1):
            closing = text if number == 1 else text.replace("blasted_again: [pot 1]", "reinspects: [N1]")
            (contract / f"day{number}.yaml").write_text(closing + more, "utf-8")
        said = run("check", "day3.yaml", "--json")
        assert said.out, said.err
        states = json.loads(said.out)["nonconformances"]
        return next(one["status"] for one in states if one["id"] == "N1") == "closed"

    return check


def test_what_the_one_whose_it_is_decided_stays_and_counts(first_closed):
    assert first_closed(N2)
    assert first_closed(N2.replace("area: A-1, ", ""))
    assert not first_closed("")


@pytest.mark.parametrize(
    ("second", "third", "why"),
    [
        (N2.replace("decided_by: eng", "decided_by: ines"), "", "the inspector found it, and does not decide on it"),
        (N2.replace("area: A-1", "area: A-2"), "", "of another area"),
        (N2.replace("findings: [profile-above-maximum]", "findings: [grade-not-met]"), "", "of another finding"),
        (N2.replace("status: closed", "status: closed, raised_in: SL-1-001"), "", "raised before the rework"),
        (AGAIN_OPEN, "", "not decided yet"),
        (N2, AGAIN_OPEN.replace("status: open", "status: open, raised_in: SL-1-002"), "opened again since"),
    ],
)
def test_no_other_decision_counts(first_closed, second, third, why):
    assert not first_closed(second, third), why


def test_a_decision_of_a_later_day_counts_where_that_finds_nothing_of_the_kind(first_closed):
    assert first_closed("", N2)


# Where the entries stand in the file, and their times


@pytest.mark.parametrize("row", ["8F 4P 4P", "8Fw 1P", "8F 4F 4P", "8F 8P"])
@pytest.mark.parametrize("earlier", [False, True])
def test_the_order_in_the_file_does_not_matter(decision, row, earlier):
    """Nor where an earlier report has the old steel too, so that the rework may be of that."""
    places = range(len(row.split()))
    before = days_of(row, (1,))[:1] if earlier else []
    old = {at: entry(at, said, first=at == 0, date=FIRST_DATE + earlier,
                     own_date=FIRST_DATE if at == 0 else FIRST_DATE + earlier)
           for at, said in enumerate(row.split())}  # fmt: skip
    (head,) = days_of(row.split()[0])
    head, tail = head[: head.index("surfaces:")], head[head.index("not_inspected") :]
    head = head.replace("SL-1-001", f"SL-1-00{1 + earlier}").replace("2026-05-04", f"2026-05-0{4 + earlier}")
    found = {
        decision(*before, f"{head}surfaces:\n{''.join(old[at] for at in order)}{tail}")
        for order in itertools.permutations(places)
    }
    assert found == {"release" if outstanding(row) == 0 else "rework"}


@pytest.mark.parametrize(
    ("first", "again"), [(("08:00", "10:30"), ("06:00", "07:00")), (("08:00", "10:30"), ("10:00", "11:00"))]
)
@pytest.mark.parametrize("above", [False, True])
def test_times_of_a_rework_before_or_across_the_first_blasting(run, contract, first, again, above):
    (text,) = days_of("8F 8P")
    for old, new in ((("07:10", "07:30"), first), (("07:50", "08:10"), again)):
        text = text.replace(f'start: "{old[0]}", end: "{old[1]}", a', f'start: "{new[0]}", end: "{new[1]}", a', 1)
    if above:
        head, one, two = text.split("  - area: A-1\n")
        body, tail = two[: two.index("not_inspected")], two[two.index("not_inspected") :]
        text = "  - area: A-1\n".join([head, body, one + tail])
    (contract / "day.yaml").write_text(text, "utf-8")
    code, _, err = run("check", "day.yaml")
    said = " ".join(err.split())
    assert (code, said.count("error[")) == (1, 1)
    assert "JOB222" in said
    assert (
        f"this entry says that it blasted again what `pot 1` blasted from 08:00 to 10:30, "
        f"and its own blasting began at {again[0]}, before that had ended"
    ) in said
    assert "write when this steel was blasted again, from 10:30 on" in said


# What is printed of it


@pytest.mark.parametrize(
    ("row", "replaced"), [("8Fw 1P", 0), ("8F 4F 4P", 1), ("8F 8P", 1), ("8F 4P 4P", 1), ("8F 4F 4P 4P", 2)]
)
def test_derivation_and_pages_are_of_what_counts(run, contract, row, replaced):
    (text,) = days_of(row)
    (contract / "day.yaml").write_text(text, "utf-8")
    locations = json.loads(run("check", "day.yaml", "--json").out)["areas"][0]["locations"]
    said = run("explain", "day.yaml", "--area", "A-1")
    assert said.code == 0, said.err
    assert all(f"location {one['id']}, spot a: {one['profile']:.2f}" in said.out for one in locations)
    assert said.out.count(", spot a:") == len(locations)
    assert run("issue", "day.yaml", "--identity", "demo", "-o", "demo.pdf").code == 0
    import pypdf

    pages = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(contract / "demo.pdf").pages).split())
    assert pages.count("blasted again afterwards; this no longer counts") == replaced
    steps = json.loads(run("verify", "demo.pdf", "--json").out)[0]["steps"]
    assert {step["number"]: step["status"] for step in steps}[8] == "passed"


# What the file of the next shift offers


def following(run, contract, text):
    (contract / "day1.yaml").write_text(text, "utf-8")
    assert run("new", "--next", "day1.yaml").code == 0
    return (contract / "2026-05-05.yaml").read_text("utf-8")


def test_the_next_file_has_a_place_for_a_rework_of_a_part(run, contract):
    text = following(run, contract, *days_of("8F"))
    assert "#    blasted_again: [pot 1]" in text
    assert re.search(
        "#    cleaned: <2 m2> +# how much was blasted again; delete this line where it was all of it", text
    )
    assert "start: <07:00>" in text
    written = re.sub(r"(?m)^#(  - area: A-1|    \S)", r"\1", text).replace("surfaces: []", "surfaces:")
    assert "    blasted_again: [pot 1]" in written


def test_steel_left_bare_is_offered_with_the_times_of_its_blasting(run, contract):
    text = following(run, contract, *days_of("*P"))
    assert 'blasted: {start: "2026-05-04T07:10+00:00", end: "2026-05-04T07:30+00:00"' in text
    assert "bare since SL-1-001" in text
    assert "blasted_again" not in text


def test_steel_that_is_to_be_measured_is_offered_so_too(run, contract):
    (text,) = days_of("*P")
    bare = re.sub(r"    profile:.*\n", "", text)
    assert 'blasted: {start: "2026-05-04T07:10+00:00"' in following(run, contract, bare)
