"""What page 1 and the chart say, through the command line: time that runs, parts, decisions, a release told."""

import io
import re

import pypdf
import pytest

NOON = "2026-05-04T11:40:00Z"
LATE = "2026-05-04T15:10:00Z"
CHECK = '  - {time: "11:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}\n'
LAST = CHECK.replace("11:30", "14:30")
ACCEPTED = """\
nonconformances:
  - {id: NCR-001, area: A-1, findings: [grade-not-met], description: brush-off, disposition: use-as-is,
     decided_by: eng, status: closed, evidence: letter 7 of the engineer}
"""


@pytest.fixture
def drafted(run, contract):
    """The pages of a draft of the day, changed, at a moment: the text of each."""

    def draw(*changes, at=NOON, day="", hours="8 h", language="en"):
        project = (contract / "project.yaml").read_text("utf-8").replace("maximum: 8 h", f"maximum: {hours}")
        engineer = "people: {eng: {name: E. Heron, role: engineer, organisation: Board}, "
        (contract / "project.yaml").write_text(project.replace("people: {", engineer, 1), "utf-8")
        text = (contract / "day.yaml").read_text("utf-8").replace(LAST, CHECK if at == NOON else CHECK + LAST)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (contract / "day.yaml").write_text(text + day, "utf-8")
        (contract / "template.yaml").write_text(f"language: {language}\n", "utf-8")
        given = ("--template", "template.yaml") if language != "en" else ()
        answer = run("draft", "day.yaml", "-o", "draft.pdf", "--at", at, *given)
        assert answer.code in (0, 1), answer.err
        pages = pypdf.PdfReader(io.BytesIO((contract / "draft.pdf").read_bytes())).pages
        return answer.out, [" ".join(page.extract_text().split()).replace("\xa0", " ") for page in pages]

    return draw


@pytest.mark.parametrize(
    ("at", "language", "told"),
    [
        (NOON, "en", "not primed limit 12:30"),
        (NOON, "de", "nicht grundiert Frist 12:30"),
        (LATE, "en", "not primed limit 12:30 passed"),
    ],
)
def test_a_limit_later_in_the_shift_has_passed_only_once_it_has(drafted, at, language, told):
    _, pages = drafted(at=at, hours="2 h", language=language)
    text = " ".join(pages)
    assert told in text
    assert ("passed" in text or "verstrichen" in text) is (at == LATE)


def _in_two(first, second):
    """The entry of the day twice: by two pots, one after the other."""
    start = "  - area: A-1"
    return f"""
    apparatus: pot 1
    initial_condition: B
    cleaned: 6 m2
    blasted: {{start: "08:00", end: "09:00", abrasive: steel grit}}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
    profile: {{gauge: g1, readings: [{{location: 1, spot: a, x1: 2.9}}]}}
{first}{start}
    apparatus: pot 2
    initial_condition: B
    cleaned: 6 m2
    blasted: {{start: "10:00", end: "10:30", abrasive: steel grit}}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
    profile: {{gauge: g1, readings: [{{location: 2, spot: a, x1: 2.9}}]}}
{second}not_inspected"""


def _whole(contract):
    text = (contract / "day.yaml").read_text("utf-8")
    return text[text.index("  - area: A-1") + len("  - area: A-1") : text.index("not_inspected") + len("not_inspected")]


def test_an_area_of_which_a_part_is_primed_says_when_and_until_when_to_prime_the_rest(run, contract, drafted):
    _, pages = drafted((_whole(contract), _in_two('    coated: "11:10"\n', "")))
    text = " ".join(pages)
    assert "release 11:10 in part; by 18:30" in pages[0]
    assert "part primed 11:10 limit 18:30" in text
    assert re.search(r"11:10, 2.17 h after blasting · required: at most 8 h · pot 1, 09:00", text)
    assert "not yet coated; coat by 18:30 · pot 2, 10:30" in text
    assert "what pot 2 blasted: coat by 18:30" in pages[0].lower()


def test_two_primers_of_an_area_stand_each_beside_its_own_time(contract, drafted):
    _, pages = drafted((_whole(contract), _in_two('    coated: "11:10"\n', '    coated: "11:20"\n')))
    text = " ".join(pages)
    assert "11:10, 2.17 h after blasting" in text
    assert "11:20, 0.83 h after blasting" in text
    assert "primed 11:10, 11:20 2.17, 0.83 of 8 h" in text


def test_no_slip_says_of_half_primed_steel_that_none_is_needed(run, contract, drafted, monkeypatch):
    import datetime as dt

    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: dt.datetime(2026, 5, 4, 11, 40, tzinfo=dt.UTC))
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    drafted((_whole(contract), _in_two('    coated: "11:10"\n', "")))
    run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body")
    code, _, err = run("slip", "day.yaml", "A-1", "--identity", "keys/i-tern.p12")
    assert code == 2
    assert "a part of A-1 is primed already, and a slip speaks of the whole" in err
    assert "no slip is needed" not in err


def test_what_is_released_by_decision_is_not_said_to_conform(run, contract, drafted):
    out, pages = drafted(("observed: SSPC-SP 10", "observed: SSPC-SP 6"), at=LATE, day=ACCEPTED)
    assert "1 of 1 inspected areas may be released, 1 of them by decision" in " ".join(out.split())
    first, text = pages[0], " ".join(pages)
    assert "Does not conform: of 1 area inspected, release by decision 1." in first
    assert "Release by decision A-1." in first
    assert "release by decision grade SSPC-SP 6, SSPC-SP 10 required · NCR-001" in first
    assert "accepted, released by decision" in first  # what its mark means
    assert re.search(r"release by decision\s*: grade SSPC-SP 6, SSPC-SP 10 required · NCR-001", text)
    assert "by decision: not said to conform" in run("check", "day.yaml").out


def test_what_conforms_is_not_called_a_release_by_decision(drafted):
    _, pages = drafted()
    assert "by decision" not in pages[0]
    assert "Conforms: the one area inspected is recommended for release." in pages[0]


TOLD = 'told_released: [{area: A-1, to: S. Teal, time: "11:20", by: I. Tern}]\n'


@pytest.mark.parametrize(
    ("changes", "then"),
    [
        ([("x1: 2.9", "x1: 4.2")], "do not prime, or stop"),
        ([("x1: 2.9", "x1: 4.2"), ("blasted: {", 'coated: "11:25"\n    blasted: {')], "it is primed already"),
        ([("observed: SSPC-SP 10, staining: 2 %", "observed: SSPC-SP 6, staining: 2 %")], "do not prime, or stop"),
    ],
)
def test_whoever_was_told_of_a_release_that_is_none_is_told_first(drafted, changes, then):
    _, pages = drafted(*changes, day=TOLD)
    row = f"1 A-1 Tell S. Teal, told at 11:20 that A-1 is released, that it is not: {then}"
    assert row in pages[0]
    assert "at once" in pages[0][pages[0].index(row) :][:250]


def test_a_release_that_was_told_and_stands_asks_for_nothing(drafted):
    _, pages = drafted(day=TOLD)
    assert "at once" not in pages[0]
    assert "S. Teal" not in pages[0]


def test_what_is_none_and_the_client_alone_are_in_the_language_of_the_page(contract, drafted):
    project = (contract / "project.yaml").read_text("utf-8")
    steps = '  hold_points: [{step: Abnahme, before: coating, clause: "4.2"}]\npeople:'
    (contract / "project.yaml").write_text(project.replace("people:", steps, 1), "utf-8")
    day = (
        "site: {agreements: none, deviations: none, wind: none}\n"
        'hold_points: [{step: Abnahme, areas: [A-1], asked: "10:45", refused: "11:00", by: client}]\n'
    )
    _, pages = drafted(day=day, language="de")
    text = " ".join(pages)
    assert "abgelehnt um 11:00 durch Board" in text or "abgelehnt 11:00 durch Board" in text
    assert "durch client" not in text
    assert re.search(r"(?<!\w)none(?!\w)", text) is None
    assert "Abweichungen vom Verfahren: keine" in text


@pytest.mark.parametrize(("at", "until"), [(NOON, "11:40"), (LATE, "15:00")])
def test_a_report_does_not_say_that_it_inspected_what_is_still_to_come(drafted, at, until):
    _, pages = drafted(at=at)
    assert f"2026-05-04, 07:00–{until} UTC" in pages[0]


def _of_the_post(contract, drafted, language="en", before=""):
    """The first page of a day on which somebody was told of a post that the day does not have."""
    if before:
        (contract / "before.yaml").write_text(before, "utf-8")
    unseen = "not_inspected: [{area: A-2, reason: scaffold not released}]\n"
    number = "SL-1-002" if before else "SL-1-001"
    return drafted((unseen, ""), ("SL-1-001", number), day=TOLD.replace("A-1", "A-2"), language=language)[1][0]


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "Tell S. Teal, told at 11:20 that A-2 is released, that no report at hand releases it: do not prime"),
        ("de", "S. Teal, um 11:20 benachrichtigt, dass A-2 freigegeben sei, ist zu benachrichtigen, dass kein"),
    ],
)
def test_whoever_was_told_of_an_area_that_no_report_has_is_told_first(contract, drafted, language, told):
    assert f"1 A-2 {told}" in _of_the_post(contract, drafted, language)


@pytest.mark.parametrize(("read", "released"), [("x1: 2.9", True), ("x1: 4.2", False)])
def test_what_the_last_report_on_an_area_released_was_told_with_a_release(contract, drafted, read, released):
    text = (contract / "day.yaml").read_text("utf-8").replace("2026-05-04", "2026-05-03").replace("x1: 2.9", read)
    text = text.replace("area: A-1", "area: A-0").replace("area: A-2", "area: A-1").replace("area: A-0", "area: A-2")
    assert ("S. Teal" in _of_the_post(contract, drafted, before=text)) is not released


def test_a_location_whose_number_two_entries_use_is_named_with_its_apparatus(run, contract, drafted):
    """It is of the plan, and not of a walk-out."""
    two = _in_two("", "").replace("location: 2", "location: 1")
    _, pages = drafted((_whole(contract), two.replace("x1: 2.9", "x1: 4.2").replace("x1: 4.2", "x1: 2.9", 1)))
    text = " ".join(pages)
    assert "1 of 2 locations high (1 (pot 2))" in pages[0]
    assert "the walk-out (1" not in text
    assert "A-1, location 1:" not in text
    assert re.search(r"1 \(pot 1\) .*2\.9.* 1 \(pot 2\) .*4\.2", text)
    assert run("issue", "day.yaml", "--identity", "demo").code == 0  # its pages agree with its evaluation


def test_a_time_after_a_number_is_no_length_in_german(drafted):
    """The preposition of a time is spelt like the unit; behind a number that no number follows it is the unit."""
    _, pages = drafted(("shim_reading: 3.0 mil", "shim_reading: 3.9 mil"), language="de")
    text = " ".join(pages)
    assert re.search(r"µm \d\d:", text) is None
    assert re.search(r"g1 um \d\d:\d\d: Messflächen sauber", text)
    assert "51–89 µm" in text


@pytest.mark.parametrize(("hours", "told"), [("8 h", "0.67 of 8 h"), ("480 min", "0.67 h of 480 min")])
def test_the_time_to_the_primer_has_its_unit_where_the_limit_has_another(drafted, hours, told):
    _, pages = drafted(("blasted: {", 'coated: "11:10"\n    blasted: {'), hours=hours)
    assert told in " ".join(pages)
