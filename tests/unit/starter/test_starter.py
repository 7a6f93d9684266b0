"""Starter files: valid as created, whatever was answered; the next shift names what is due."""

import datetime as dt
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.errors import InputError, QuantityError, UsageError
from reportgen.loader import job_from_files, placeholders
from reportgen.rules import evaluate
from reportgen.starter import (
    QUESTIONS,
    SCHEMAS,
    FurtherArea,
    area_objection,
    further_area,
    is_asked,
    new_contract,
    next_day,
    objection,
)
from reportgen.starter.following import next_number
from reportgen.starter.template import template
from reportgen.yamlsource import parse_yaml
from tests.job_schemas import json_schema
from tests.thorough import repeats
from tests.unit.intake.small import PROJECT
from tests.unit.schema.editor import as_an_editor_reads

TEMPLATES = ("project", "day", "area", "reason")

DATE = dt.date(2026, 6, 8)
ASKED = [question for question in QUESTIONS if is_asked(question.key, {})]
EXAMPLES = {question.key: question.example("mil") for question in ASKED}
IN_UM = {question.key: question.example("um") for question in ASKED} | {"unit": "um"}
NEEDED = {
    question.key: question.example("mil") for question in ASKED if question.usual is None and not question.may_be_open
}
BRACKETS = re.compile(r"<([^<>]+)>")


def loaded(files):
    day = next(name for name in files if name != "project.yaml")
    return job_from_files(files, day)


@pytest.mark.parametrize("answers", [EXAMPLES, NEEDED], ids=["all answered", "only what has no default"])
def test_a_new_contract_is_valid_as_created(answers):
    files = new_contract(answers, DATE)
    assert list(files) == ["project.yaml", "2026-06-08.yaml"]
    job = loaded(files)
    assert job.warnings == ()
    assert job.day.report.number == "AB-12-IR-001"
    assert job.project.project.report_numbers == "AB-12-IR-###"
    assert evaluate(job).verdict == "not evaluated"
    assert (job.unfilled == ()) is (answers is EXAMPLES)


METHODS = {
    "ASTM D4417 Method B": {"edition": "2021", "minimum": "50 um", "maximum": "85 um"},
    "ISO 8503-2": {"edition": "2012", "comparator_grade": "medium G"},
    "ISO 8503-5": {"edition": "2003", "minimum": "50 um", "maximum": "85 um"},
}


@pytest.mark.parametrize("method", METHODS)
def test_a_contract_of_another_method_is_valid_and_so_is_every_example_of_its_first_day(method):
    own = {"method": method}
    given = {one.key: one.example("um") for one in QUESTIONS if is_asked(one.key, own)} | own | METHODS[method]
    del given["readings_per_location"]
    files = new_contract(given | {"unit": "um"}, DATE)
    assert loaded(files).unfilled == ()
    profile = loaded(files).project.specification.profile
    assert (profile.method, profile.readings_per_location) == (method, None)
    used = uncommented(files["2026-06-08.yaml"].decode())
    day = BRACKETS.sub(lambda found: CHOSEN.get(found[1], found[1]).replace(", ", " and "), used)
    if profile.kind != "tape":
        day = re.sub(r"(?m)^  - \{time: 06:35.*\n", "", day)  # of unused tape
    if profile.kind == "comparator":
        day = re.sub(r"(?m)^  - \{time: 06:30.*\n", "", day)  # of a gauge
    job = loaded({"project.yaml": files["project.yaml"], "2026-06-08.yaml": day.encode()})
    assert len(job.readings[0]) == 2


def test_what_the_method_does_not_ask_is_refused_and_what_it_asks_is_missed():
    with pytest.raises(UsageError, match=r"^--overlap-rule does not go with `ASTM D4417 Method B`$"):
        new_contract(EXAMPLES | {"method": "ASTM D4417 Method B"}, DATE)
    comparator = {key: text for key, text in EXAMPLES.items() if is_asked(key, {"method": "ISO 8503-2"})}
    with pytest.raises(UsageError, match=r"the contract decides them: --comparator-grade$"):
        new_contract(comparator | {"method": "ISO 8503-2"}, DATE)


def test_limits_of_error_may_be_a_share_of_the_reading_beside_a_fixed_part():
    gauge = loaded(new_contract(IN_UM | {"gauge_accuracy": "1 um + 3 %"}, DATE)).project.instruments["g1"]
    assert (str(gauge.accuracy), str(gauge.accuracy_of_reading)) == ("1 µm", "3 %")


def test_the_rules_that_conflict_have_no_default():
    assert {
        "overlap_rule",
        "decision_rule",
        "rounding",
        "method",
        "edition",
        "minimum",
        "maximum",
        "grade",
        "unit",
    } <= NEEDED.keys()


def uncommented(day):
    """The day with every example in use, as it stands."""
    used = "\n".join(re.sub(r"^#(?=  )", "", line) for line in day.split("\n"))
    return re.sub(r"(conditions|checks|surfaces|nonconformances): \[\]", r"\1:", used)


CHOSEN = {
    "A, B, C, D or coated": "C", "code of the finding": "profile-below-minimum", "id of the area": "L1-OUT",
    "id of who decided": "surname", "name of the apparatus": "pot 1",
    "name and lot of the abrasive": "garnet 30/60",
}  # fmt: skip


@pytest.mark.parametrize("answers", [EXAMPLES, IN_UM], ids=["mil", "um"])
def test_every_comment_example_of_the_first_day_can_be_used_once_its_brackets_are_replaced(answers):
    files = new_contract(answers, DATE)
    used = uncommented(files["2026-06-08.yaml"].decode())
    day = BRACKETS.sub(lambda found: CHOSEN.get(found[1], found[1]).replace(", ", " and "), used)
    job = loaded({"project.yaml": files["project.yaml"], "2026-06-08.yaml": day.encode()})
    assert (len(job.day.conditions), len(job.day.gauge_checks), len(job.readings[0])) == (1, 1, 2)
    assert job.day.nonconformances[0].status == "open"
    assert job.unfilled == ()


def leaves(value, loc=()):
    if isinstance(value, str):
        yield loc, value
    else:
        for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(inner, (*loc, part))


@pytest.mark.parametrize("form", ["as written", "every example in use"])
def test_no_placeholder_of_the_templates_is_forgotten(form):
    """The list is read off the templates: what stands there in brackets is refused, wherever a file holds it."""
    files = new_contract(NEEDED, DATE)
    if form == "every example in use":
        files["2026-06-08.yaml"] = uncommented(files["2026-06-08.yaml"].decode()).encode()
        files["project.yaml"] = re.sub(r"(?m)^(    |  )# (?=\w+: <)", r"\1", files["project.yaml"].decode()).encode()
    documents = {name: parse_yaml(data, name) for name, data in files.items()}
    held = {
        (name, loc): text
        for name, document in documents.items()
        for loc, text in leaves(document.data)
        if BRACKETS.fullmatch(text)
    }
    try:
        refused = loaded(files).unfilled
    except InputError as failure:
        refused = failure.diagnostics
    places = {(one.spans[0].file, one.spans[0].line) for one in refused}
    assert [(name, loc) for name, loc in held if (name, documents[name].span(loc).line) not in places] == []
    if form == "every example in use":
        in_templates = {found for name in TEMPLATES for found in BRACKETS.findall(template(name)) if "{{" not in found}
        elsewhere = {"reason why it was not inspected", "name of somebody else", "angle brackets"}
        assert in_templates - {text[1:-1] for text in held.values()} <= elsewhere


TERMS = {
    # of the program, which say nothing about a contract or a shift
    "0", "project.yaml", "inspector", "thickness gauge", "hygrometer", "surface thermometer", "coarse", "extra coarse",
    # terms that a contract usually has: written out, so that they are seen and changed
    "per-shift-and-apparatus", "5 delta_degF", "85 %", "4 h", "06:00", "18:00",
    # made from the answers
    "AB-12-IR-###", "AB-12-IR-001", "2026-06-08", "surname", "structure",
}  # fmt: skip


def test_nothing_else_in_the_files_was_made_up():
    """Whoever adds a value to a template decides here whether it is a term, or a fact that only a person can know."""
    given = set(NEEDED.values()) | {question.usual for question in QUESTIONS}
    files = new_contract(NEEDED, DATE)
    for name, data in files.items():
        values = {text for _, text in leaves(parse_yaml(data, name).data)}
        assert {text for text in values if not BRACKETS.fullmatch(text)} - given - TERMS == set()


METRIC = re.compile(r"(?<![\w])(?:um|degC|delta_degC|hPa|kPa|m2|mg/m2)\b")
CUSTOMARY = re.compile(r"(?<![\w])(?:mil|degF|delta_degF|inHg|psi|ft2|ug/cm2)\b")


@pytest.mark.parametrize(("answers", "own", "other"), [(EXAMPLES, CUSTOMARY, METRIC), (IN_UM, METRIC, CUSTOMARY)])
def test_units_of_one_system_throughout(answers, own, other):
    files = new_contract(answers, DATE)
    for data in files.values():
        # the one place that names both says how to change them
        lines = [
            line for line in data.decode().split("\n") if "follow the unit of this" not in line and "brings" not in line
        ]
        text = "\n".join(lines)
        assert own.search(text)
        assert other.findall(text) == []
    assert "follow the unit of this margin" in files["project.yaml"].decode()


def test_both_files_name_their_schema_and_keep_to_it():
    import jsonschema

    files = new_contract(EXAMPLES, DATE)
    for name, kind in (("project.yaml", "project"), ("2026-06-08.yaml", "day")):
        text = files[name].decode()
        assert text.startswith(f"# yaml-language-server: $schema={SCHEMAS[kind]}\n")
        jsonschema.validate(as_an_editor_reads(text), json_schema(kind))


@settings(max_examples=repeats(60), deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["name", "client", "site", "document", "grade", "structure", "area", "address", "inspector"]),
        st.text("ab Z9:#'\"\\{}[],&*!|>%@`-?½", min_size=1, max_size=20),
        max_size=4,
    )
)
def test_no_answer_breaks_a_file(answers):
    try:
        files = new_contract(EXAMPLES | answers, DATE)
    except (UsageError, InputError):  # said in one sentence; nothing was written
        return
    project = loaded(files).project
    for key in ("name", "client", "site"):
        if answers.get(key, "").strip():
            assert getattr(project.project, key) == answers[key].strip()


@pytest.mark.parametrize(
    ("answers", "error", "message"),
    [
        (
            {},
            UsageError,
            r"^these have no default, because the contract decides them: --contract, --name, --inspector, ",
        ),
        (EXAMPLES | {"colour": "red"}, UsageError, "^`colour` is not a question$"),
        (EXAMPLES | {"unit": "mm"}, UsageError, "^`mm` is not a choice for --unit$"),
        (EXAMPLES | {"minimum": "2.0"}, QuantityError, "^`2.0` has no unit$"),
        (EXAMPLES | {"gauge_accuracy": "3 %"}, QuantityError, "^`3 %` leaves the gauge no error where it shows zero$"),
        (EXAMPLES | {"gauge_accuracy": "3 psi"}, QuantityError, "^`psi` is not a unit of height$"),
        (EXAMPLES | {"gauge_accuracy": "1 um + 2 um"}, QuantityError, "states the limits of error twice$"),
        (EXAMPLES | {"area_size": "24"}, QuantityError, "^`24` has no unit$"),
        (
            EXAMPLES | {"minimum": "4.0 mil"},
            UsageError,
            "^--minimum, --maximum: `minimum` 4.0 mil is not below `maximum` 3.5 mil$",
        ),
        (
            EXAMPLES | {"minimum": "50 mil", "maximum": "90 mil"},
            UsageError,
            "^--minimum: `50 mil` is outside .*; --maximum: `90 mil` is outside ",
        ),
        (EXAMPLES | {"time_zone": "Mars/North"}, UsageError, "^--time-zone: `Mars/North` is not a known time zone$"),
    ],
)
def test_an_answer_that_cannot_be_used(answers, error, message):
    with pytest.raises(error, match=message):
        new_contract(answers, DATE)


def test_a_name_without_a_letter_from_a_to_z_has_an_id():
    job = loaded(new_contract(EXAMPLES | {"inspector": "Δ. Ρόζα", "structure": "Πύλη"}, DATE))
    assert (job.day.report.inspector, job.project.people["roza"].name) == ("roza", "Δ. Ρόζα")
    assert [(one.id, one.name) for one in job.project.structures] == [("pyli", "Πύλη")]
    assert loaded(new_contract(EXAMPLES | {"inspector": "橋本"}, DATE)).day.report.inspector == "inspector"


FURTHER = (
    FurtherArea("L2-OUT", "leg 2, outside", "260 ft2"), FurtherArea("B-1", "beam", None, "Bridge"),
    FurtherArea("L3-OUT", "leg 3", None, "crane portal"), FurtherArea("B-2", "beam 2", "30 ft2", "Bridge"),
)  # fmt: skip


def test_further_areas_stand_in_the_project_file_and_on_the_first_day():
    files = new_contract(EXAMPLES, DATE, FURTHER)
    job = loaded(files)
    assert [(one.name, [area.id for area in one.areas]) for one in job.project.structures] == [
        ("crane portal", ["L1-OUT", "L2-OUT", "L3-OUT"]), ("Bridge", ["B-1", "B-2"]),
    ]  # fmt: skip
    assert re.findall(r"(?m)^#  - area: (.*)$", files["2026-06-08.yaml"].decode()) == [
        "L1-OUT", "L2-OUT", "B-1", "L3-OUT", "B-2",
    ]  # fmt: skip
    assert new_contract(EXAMPLES, DATE)["project.yaml"].decode().endswith("such as size: 260 ft2\n")


@pytest.mark.parametrize(
    ("text", "name", "size"),
    [
        ("L3: Bein 3, 12,5 m2", "Bein 3", "12,5 m2"),
        ("L3: Bein,12,5 m2", "Bein", "12,5 m2"),
        ("L3: Bein 3,12,5 m2", None, None),
        ("L3: leg 2,5 m2", None, None),
        ("S-2: Nord, 1.250,5 m2", "Nord", "1.250,5 m2"),
        ("S-3: West; 10 m2", "West", "10 m2"),
        ("S-3: West 10 m2", None, None),
        ("S-3: West (10 m²)", None, None),
        ("L2, Bein 2, 30 m2", "Bein 2", "30 m2"),
        ("L2: leg 2, 3rd bay", "leg 2", "3rd bay"),  # refused as a size, so that nobody takes it for a name
        ("L2: leg 2, outside", "leg 2, outside", None),
        ("L2: leg, north, 260 ft2", "leg, north", "260 ft2"),
    ],
)
def test_a_size_of_a_further_area_is_never_cut(text, name, size):
    if name is None:
        with pytest.raises(UsageError, match="begins cannot be told"):
            further_area(text)
        return
    found = further_area(text)
    assert (found.name, found.size) == (name, size)


@pytest.mark.parametrize(
    ("area", "message"),
    [
        (FurtherArea("L1-OUT", "again"), "L1-OUT"),
        (FurtherArea("L 2", "leg 2"), "L 2"),
        (FurtherArea("L-2", "leg 2", "24"), "no unit"),
        (FurtherArea("L-2", "leg 2", "24 m2"), None),
    ],
)
def test_a_further_area_is_checked_when_it_is_given(area, message):
    found = area_objection(area, {"unit": "mil"}, (), DATE)
    assert (found is None) if message is None else message in found.message


def test_the_next_day_keeps_who_countersigns():
    project = PROJECT.replace("people: {", "people: {eng: {name: E. Torrance, role: project engineer}, ", 1)
    _, job = following(TODAY.replace("  inspector: noor\n", "  inspector: noor\n  countersigners: [eng]\n"), project)
    assert job.day.report.countersigners == ["eng"]


def test_what_the_starter_files_write_into_free_text_is_known_to_the_loader():
    """There a text in brackets may be anybody's, so that the words themselves are looked for."""
    fields = "|".join(placeholders.FREE_TEXT)
    texts = "".join(template(name) for name in TEMPLATES)
    written = re.findall(rf"\b(?:{fields}): (?:\{{\{{\w+: )?(<[^<>]+>)", texts)
    assert set(written) == set(placeholders.IN_FREE_TEXT)


# The next shift

TODAY = """\
project: project.yaml
report:
  number: AB-7-1
  revision: 0
  date: 2026-06-30
  shift: {start: "22:00", end: "06:00"}
  inspector: noor
  present: ["A, B"]
surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "23:00", end: "23:50", abrasive: "grit: fine"}
    coated: "01:00"
    profile:
      gauge: g1
      readings:
        - {location: 1, spot: a, x1: 1.6, c1: 1.4}
        - {location: 1, spot: b, x1: 1.6, c1: 1.5}
        - {location: 2, spot: b, x1: 1.9}
nonconformances:
  - id: NCR-007
    area: A-1
    findings: [profile-below-minimum]
    description: too low
    disposition: rework
    decided_by: noor
    status: open
"""


def following(today=TODAY, project=PROJECT, **options):
    files = {"project.yaml": project.encode(), "today.yaml": today.encode()}
    job = job_from_files(files, "today.yaml")
    following = next_day(job, evaluate(job), **options)
    return following, job_from_files(files | {following.name: following.data}, following.name)


def test_the_next_day_is_valid_and_names_what_is_due():
    following_day, job = following()
    assert (following_day.name, following_day.number, following_day.areas) == ("2026-07-01.yaml", "AB-7-2", ("A-1",))
    assert job.day.report.present == [], "nobody is said to be there before the day"
    assert [(entry.area, entry.reason) for entry in job.day.not_inspected] == [
        ("A-1", "<reason why it was not inspected>")
    ]
    assert [one.spans[0].file for one in job.unfilled] == ["2026-07-01.yaml"]
    text = following_day.data.decode()
    for expected in (
        '  # present: ["A, B"]                   # those of the shift before',
        "# A-1, shell: 3 locations of 2 spots",
        "#   NCR-007 is open: too low",
        "#   A reading on coarse tape at location 2, spot b.",
        "#   Walk-out from location 1",
        "#    initial_condition: coated",
        '#    blasted: {start: <07:00>, end: <09:40>, abrasive: "grit: fine"}',
        "#        - {location: 3, spot: b, x1: }",
        "#    reinspects: [NCR-007]",
        "#  - id: NCR-008",
    ):
        assert expected in text


def test_the_commented_entry_of_an_area_due_can_be_used():
    following_day, _ = following()
    due, _, rest = following_day.data.decode().partition("# Areas that were due")
    used = re.sub(r"^#(?=  (?:- area|  ))", "", due.replace("x1: }", "x1: 2.8}"), flags=re.MULTILINE)
    used = used.replace("surfaces: []", "surfaces:").replace("<13:10>", "<05:10>")
    used = BRACKETS.sub(lambda found: found[1].replace("07:00", "23:00").replace("09:40", "23:40"), used)
    files = {"project.yaml": PROJECT.encode(), "today.yaml": TODAY.encode(), "n.yaml": used.encode()}
    job = job_from_files(files, "n.yaml")
    assert rest
    assert job.day.surfaces[0].reinspects == ["NCR-007"]
    assert [reading.location for reading in job.readings[0]] == ["2", "2", "1", "1", "3", "3"]  # owed first


def test_nothing_owed_says_so():
    today = TODAY.partition("surfaces:")[0]
    following_day, job = following(today, date=dt.date(2026, 7, 6))
    assert (following_day.name, following_day.areas) == ("2026-07-06.yaml", ())
    assert "Nothing is owed from before." in following_day.data.decode()
    assert job.day.not_inspected == []


def test_an_area_that_was_not_inspected_is_due_without_history():
    today = TODAY.partition("surfaces:")[0] + "not_inspected:\n  - {area: A-2, reason: rain}\n"
    following_day, _ = following(today)
    assert following_day.areas == ("A-2",)
    assert "abrasive: <name and lot of the abrasive>}" in following_day.data.decode()


def test_the_conditions_name_the_contracts_own_instruments():
    today = TODAY.partition("surfaces:")[0]
    wet = PROJECT.replace("instruments:\n", "instruments:\n  sling: {kind: psychrometer, serial: P-9}\n", 1)
    assert "steel: <16.5 degC>, instruments: [sling" in following(today, wet)[0].data.decode()


def test_a_depth_micrometer_has_depths():
    project = PROJECT.replace("kind: thickness gauge", "kind: depth micrometer").replace(
        "overlap_rule: average", "overlap_rule: single-grade"
    )
    today = TODAY.partition("surfaces:")[0] + "not_inspected:\n  - {area: A-2, reason: rain}\n"
    following_day, _ = following(today, project)
    assert "spot: a, depth: }" in following_day.data.decode()


@pytest.mark.parametrize(
    ("number", "pattern", "taken", "expected"),
    [
        ("QW-14-IR-009", "QW-14-IR-###", (), "QW-14-IR-010"),
        ("QW-14-IR-009", "QW-14-IR-###", ("QW-14-IR-010",), "QW-14-IR-011"),
        ("R-12-B2", "R-##-B2", (), "R-13-B2"),
        ("R-12-B2", None, (), "R-12-B3"),
        ("R-12-B2", "OTHER-##", (), "R-12-B3"),
        ("R-99", None, (), "R-100"),
        ("REPORT", None, (), "REPORT-2"),
    ],
)
def test_the_next_number(number, pattern, taken, expected):
    assert next_number(number, pattern, taken) == expected


@pytest.mark.parametrize(
    ("places", "example"),
    [
        (("", ""), "#  - {time: <06:40>, air: <17.5 degC>,"),
        (("yard", "yard"), "#  - {time: <06:40>, air: <17.5 degC>,"),
        (("yard", "hall 2, east"), "#  - {time: <06:40>, place: yard, air: <17.5 degC>,"),
        (("hall 2, east", "yard"), '#  - {time: <06:40>, place: "hall 2, east", air: <17.5 degC>,'),
    ],
)
def test_the_next_day_names_the_place_of_a_reading_where_there_are_several(places, example):
    shell, floor = (f'place: "{place}", ' if place else "" for place in places)
    project = PROJECT.replace("name: shell, ", f"name: shell, {shell}").replace(
        "name: floor, ", f"name: floor, {floor}"
    )
    following_day, _ = following(project=project)
    assert example in following_day.data.decode()


def test_an_id_that_cannot_stand_is_objected_to_in_its_own_place():
    told = {"area": "leg 1, outside", "area_id": "../../x"}
    assert objection("area_id", "../../x", told, DATE) is not None
    assert objection("area", "leg 1, outside", told, DATE) is None
    assert objection("area_id", "L-1", told, DATE) is None


def test_letters_beyond_ascii_make_a_readable_id_of_an_area():
    assert objection("area_id", "Ü-1", {}, DATE) is None
    further = [FurtherArea("ß-2", "Säule 3")]
    assert area_objection(further[0], {}, [], DATE) is None
    job = loaded(new_contract(EXAMPLES | {"area_id": "Ü-1"}, DATE, further))
    assert [area.id for one in job.project.structures for area in one.areas] == ["UE-1", "ss-2"]


@pytest.mark.parametrize("key", ["rounding", "method"])
def test_what_the_contract_decides_is_not_guessed(key):
    with pytest.raises(UsageError, match=f"the contract decides them: --{key}$"):
        new_contract({name: text for name, text in EXAMPLES.items() if name != key}, DATE)


def test_the_rounding_is_written_as_it_was_answered():
    for answer in ("half-even", "half-up", "none"):
        job = loaded(new_contract(EXAMPLES | {"rounding": answer}, DATE))
        assert job.project.specification.profile.rounding == answer
