"""What page 1 and the submittal ask for is what closes a nonconformance, and not what somebody wrote who may not."""

import json
import re

import pytest

from tests.unit.cli.test_closing import words_of

PEOPLE = (
    "people: {eng: {name: E. Ng, role: client's engineer, organisation: Board}, "
    "fore: {name: F. Oreman, role: foreman, organisation: Blasters}, ines:"
)
ACTION = "Accepted as it is; may be coated"
OWED = {  # disposition, who decided, status, and what closes it then
    ("use-as-is", "ines", "closed"): "have `use-as-is` decided by someone who is not an inspector, to close N-1",
    ("repair", "ines", "closed"): "have `repair` decided by someone who is not an inspector, to close N-1",
    ("use-as-is", "fore", "closed"): "have `use-as-is` decided by someone of the client's side, who is not of the "
    "contractor, to close N-1",
    ("use-as-is", "eng", "open"): "bring evidence of `use-as-is` to close N-1",
    ("reject", "eng", "open"): "bring evidence of `reject` to close N-1",
    ("repair", "eng", "closed"): "inspect the repaired steel to close N-1, in a later report, with `reinspects: [N-1]`",
}


def raised(disposition="rework", by="ines", status="open", action=ACTION, more=""):
    evidence = ", evidence: letter 12" if status == "closed" else ""
    return (
        "nonconformances:\n  - {id: N-1, area: A-1, findings: [profile-below-minimum, walk-out-missing], "
        f"description: as found, disposition: {disposition}, decided_by: {by}, status: {status}{evidence}, "
        f"corrective_action: {action}{more}}}\n"
    )


@pytest.fixture
def days(contract):
    """Two shifts: the steel of A-1 fails and is raised; the other area alone."""
    project, day = ((contract / name).read_text(encoding="utf-8") for name in ("project.yaml", "day.yaml"))
    project = project.replace("people: {ines:", PEOPLE).replace(
        "name: I. Tern, role: inspector", "name: I. Tern, role: inspector, organisation: Body"
    )
    (contract / "project.yaml").write_text(project, encoding="utf-8")
    (contract / "day.yaml").unlink()

    def written(entry, primed="12:00"):
        first = day.replace("x1: 2.9", "x1: 1.7")
        if primed:
            first = first.replace("    profile: {", f'    coated: "{primed}"\n    profile: {{')
        other = day.replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
        other = other.replace("    profile: {", '    coated: "12:00"\n    profile: {')
        texts = (first + entry, re.sub("not_inspected: .*\n", "", other))
        names = []
        for number, text in enumerate(texts, start=1):
            file = contract / f"2026-05-0{number}.yaml"
            file.write_text(text.replace("2026-05-04", file.stem).replace("-001,", f"-00{number},"), encoding="utf-8")
            names.append(file.name)
        return names

    return written


def actions(run, contract, name, template="letter-en"):
    assert run("draft", name, "-o", "draft.pdf", "--template", template).code == 0
    return words_of(contract / "draft.pdf", pages=1).partition("Maßnahmen" if "de" in template else "Actions ")[2]


@pytest.mark.parametrize(("how", "owed"), OWED.items(), ids=[" ".join(one) for one in OWED])
def test_page_1_asks_for_the_decision(run, contract, days, how, owed):
    names = days(raised(*how))
    assert owed in " ".join(run("check", names[0]).out.split())
    for name in names:
        told = actions(run, contract, name)
        assert f"{owed[:1].upper()}{owed[1:]} · derived · stated as corrective action: {ACTION}" in told
        assert f"{ACTION}. Closes" not in told


def test_it_does_in_german(run, contract, days):
    for name in days(raised("use-as-is", "ines", "closed")):
        told = actions(run, contract, name, "a4-de")
        assert (
            "Über „Belassen“ von jemandem entscheiden lassen, der nicht prüft, um N-1 zu schließen · abgeleitet" in told
        )
        assert f"als Korrekturmaßnahme angegeben: {ACTION}" in told
        assert "Schließt N-1 ab" not in told


def test_rework_is_told_as_it_was_written(run, contract, days):
    for name in days(raised(action="Blast again")):
        assert "Blast again. Closes N-1." in actions(run, contract, name)


@pytest.mark.parametrize(
    ("how", "owed"),
    [
        (("rework",), "Prepare again and inspect again, to close N-1 · derived"),
        (("use-as-is", "eng"), "Bring evidence of `use-as-is`"),
    ],
)
def test_no_action_is_none(run, contract, days, how, owed):
    """Who answers for it, and by when, stands beside what closes it all the same."""
    for name in days(raised(*how, action="none", more=", responsible: F. Oreman, due: 2026-05-08")):
        told = actions(run, contract, name)
        assert owed in told
        assert "None. Closes" not in told
        assert "corrective action: none" not in told
        assert re.search(r"N-1 · derived F. Oreman 2026-05-08", told)


@pytest.mark.parametrize(("how", "owed"), [*OWED.items()][2:4])
def test_so_does_the_log_of_a_submittal(run, contract, days, how, owed):
    (contract / "reports").mkdir()
    names = days(raised(*how))
    assert run("issue", *names, "--identity", "demo", "-o", "reports", "--processes", "1").code == 0
    assert run("submittal", "reports", "--identity", "demo", "-o", "sub.pdf", "--processes", "1").code == 0
    log = words_of(contract / "sub.pdf").partition("Nonconformance log")[2]
    assert f"as found {owed[:1].upper()}{owed[1:]} Stated as corrective action: {ACTION}" in log


@pytest.mark.parametrize(
    ("action", "told"), [("Blast again", "Action: Blast again"), ("none", "Prepare again and inspect again, to close")]
)
def test_the_log_has_the_action_of_rework(run, contract, days, action, told):
    (contract / "reports").mkdir()
    names = days(raised(action=action))
    assert run("issue", *names, "--identity", "demo", "-o", "reports", "--processes", "1").code == 0
    assert run("submittal", "reports", "--identity", "demo", "-o", "sub.pdf", "--processes", "1").code == 0
    assert f"as found {told}" in words_of(contract / "sub.pdf").partition("Nonconformance log")[2]


def test_a_reason_says_who_stated_the_action(run, contract, days):
    """In tables a thing to do stands with its reason."""
    names = days(raised("use-as-is", "ines", "closed"))
    assert run("export", names[0], "--to", "csv", "-o", "tables").code == 0
    rows = " ".join(file.read_text(encoding="utf-8") for file in (contract / "tables").iterdir())
    assert f"as found; stated as corrective action: {ACTION}" in rows


@pytest.mark.parametrize(("primed", "by"), [("12:00", "no date stated"), ("", "before primer")])
def test_primed_steel_is_not_acted_on_before_its_primer(run, contract, days, primed, by):
    """The second report does not inspect the area: the first says whether its steel is bare."""
    for name in days(raised("use-as-is", "ines", "closed"), primed):
        told = actions(run, contract, name)
        assert f"may be coated not stated {by}" in told


@pytest.mark.parametrize(("primed", "by"), [("12:00", "no date stated"), ("", "before primer")])
def test_nor_where_nothing_was_raised(run, contract, days, primed, by):
    told = actions(run, contract, days("", primed)[1])
    assert set(re.findall("· derived not stated (before primer|no date stated)", told)) == {by}


def test_other_steel_of_the_area_is_no_measure(run, contract, days):
    """A second apparatus leaves its own steel bare; what was raised is on steel that is primed."""
    first, second = days(raised("use-as-is", "ines", "closed"))
    text = (contract / first).read_text(encoding="utf-8").partition("nonconformances")[0]
    text = text.replace(first[:10], second[:10]).replace("-001,", "-002,").replace("pot 1", "pot 2")
    text = text.replace('    coated: "12:00"\n', "").replace("x1: 1.7", "x1: 2.9")
    (contract / second).write_text(text, encoding="utf-8")
    assert "may be coated not stated no date stated" in actions(run, contract, second)
    (state,) = json.loads(run("check", second, "--json").out)["nonconformances"]
    assert state["status"] == "open"


@pytest.mark.parametrize(
    ("first", "second", "by"),
    [(("2.9", "12:00"), ("4.0", ""), "before primer"), (("4.0", ""), ("2.9", "12:00"), "before primer"),
     (("4.0", "12:00"), ("2.9", ""), "no date stated")],
)  # fmt: skip
@pytest.mark.parametrize("template", ["letter-en", "a4-de"])
def test_it_is_the_steel_that_failed_whose_primer_counts(run, contract, days, first, second, by, template):
    """Two pots of one area: one failed; whether the other is primed is no matter."""
    name, _ = days(raised("use-as-is", "ines", "closed").replace("below-minimum", "above-maximum"), "")
    day, _, nonconformance = (contract / name).read_text(encoding="utf-8").partition("nonconformances")
    begun = day.index("  - area: A-1")
    entry = day[begun : day.index("not_inspected")]
    made = []
    for pot, location, (value, primed) in (("pot 1", "1", first), ("pot 2", "2", second)):
        text = (
            entry.replace("pot 1", pot)
            .replace("x1: 1.7", f"x1: {value}")
            .replace("location: 1", f"location: {location}")
        )
        text = text.replace(
            "    profile: {", (f'    coated: "{primed}"\n' if primed else "") + "    cleaned: 6 m2\n    profile: {"
        )
        made.append(text)
    day = day.replace(entry, "".join(made))
    (contract / name).write_text(f"{day}nonconformances{nonconformance}", encoding="utf-8")
    by = {"before primer": "vor Grundierung", "no date stated": "ohne Datum"}[by] if "de" in template else by
    told = actions(run, contract, name, template)
    assert by in told.partition("may be coated")[2].partition(" 2 ")[0]
