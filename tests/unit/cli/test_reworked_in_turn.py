"""Parts of several apparatus, reworked each on its day: what all reports say together counts.

The oracle of the random contracts keeps for each part of the area, in square metres, whether what was blasted on it
last passed; the area is good when all of them are.
"""

from random import Random

import pytest

from tests.unit.cli.conftest import DAY
from tests.unit.cli.test_blasted_again import evaluated
from tests.unit.cli.test_rework_fails import contract

__all__ = ["contract"]
HEAD, TAIL = DAY[: DAY.index("surfaces:")], DAY[DAY.index("not_inspected") :]
PARTS = {"A": 5, "B": 7}


class Contract:
    """Day files of reworks, as an inspector writes them who closes what has passed."""

    def __init__(self):
        self.location, self.numbers, self.texts = 0, {}, []
        self.pot, self.good = {}, {}

    def day(self, *work):
        """Add a day of ``(part, pot, passes)``, and return its text."""
        number, entries, raised = len(self.texts) + 1, [], []
        for at, (part, pot, passes) in enumerate(work):
            self.location += 1
            opened = [name for name, one in self.numbers.items() if one == [part, "open"]]
            entries.append(
                f"  - area: A-1\n    apparatus: {pot}\n    initial_condition: B\n    cleaned: {PARTS[part]} m2\n"
                f'    blasted: {{start: "{8 + at:02}:00", end: "{8 + at:02}:30", abrasive: steel grit}}\n'
                "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n    profile: {gauge: g1, readings: "
                f"[{{location: {self.location}, spot: a, x1: {2.9 if passes else 4.2}}}]}}\n"
                + (f"    blasted_again: [{self.pot[part]}]\n" if part in self.pot else "")
                + (f"    reinspects: [{', '.join(opened)}]\n" if opened and part in self.pot else "")
            )
            for name in opened if passes else ():
                self.numbers[name][1] = f"closed {number}"
            if not passes:
                name = f"N{len(self.numbers) + 1}"
                self.numbers[name] = [part, "open"]
                raised.append(name)
            self.pot[part], self.good[part] = pot, passes
        for name, (_, status) in self.numbers.items():
            if status in ("open", f"closed {number}"):
                first = next((at for at, names in self.raised if name in names), number)
                where = "" if first == number else f", raised_in: SL-1-{first:03}"
                end = "open" if status == "open" else "closed, evidence: readings"
                entries.append(
                    f"~  - {{id: {name}, area: A-1, findings: [profile-above-maximum], description: too high,"
                    f" disposition: rework, decided_by: ines, status: {end}{where}}}\n"
                )
        self.raised.append((number, raised))
        head = HEAD.replace("SL-1-001", f"SL-1-{number:03}").replace("2026-05-04", f"2026-05-{3 + number:02}")
        text = head + "surfaces:\n" + "".join(one for one in entries if one[0] != "~") + TAIL
        listed = "".join(one[1:] for one in entries if one[0] == "~")
        self.texts.append(text + (f"nonconformances:\n{listed}" if listed else ""))
        return self.texts[-1]

    raised: list = []  # noqa: RUF012


@pytest.fixture
def folder(run, contract):
    """A contract and its decision after the day that was written last."""
    days = Contract()
    days.raised = []

    def decision(*work):
        text = days.day(*work)
        return evaluated(run, contract, text, f"day{len(days.texts)}.yaml")

    decision.days = days
    return decision


def said(result):
    return result["areas"][0]["decision"], [one["status"] for one in result["nonconformances"]]


def test_two_numbers_close_with_the_last_part(run, folder):
    assert said(folder(("A", "pot 1", False), ("B", "pot 2", False))) == ("rework", ["open", "open"])
    assert said(folder(("A", "pot 1", True))) == ("hold", ["open", "open"])
    told = " ".join(run("check", "day2.yaml").out.split())
    assert "is of what pot 2 blasted, and in SL-1-002 only other steel of the area is entered" in told
    assert "enter the blasting of it after that, with `blasted_again: [pot 2]`" in told
    assert said(folder(("B", "pot 2", True))) == ("release", ["closed", "closed"])


def test_one_number_for_both_parts(run, folder, contract):
    first = folder.days.day(("A", "pot 1", False), ("B", "pot 2", False))
    (contract / "day1.yaml").write_text("".join(one for one in first.splitlines(True) if "id: N2" not in one), "utf-8")
    folder.days.numbers = {"N1": ["A", "open"]}
    second = folder.days.day(("A", "pot 3", True)).replace("status: closed, evidence: readings", "status: open")
    folder.days.numbers = {"N1": ["B", "open"]}
    assert said(evaluated(run, contract, second, "day2.yaml")) == ("hold", ["open"])
    assert said(folder(("B", "pot 2", True))) == ("release", ["closed"])


def test_a_part_that_nobody_reworked_holds(run, folder, contract):
    folder(("A", "pot 1", False), ("B", "pot 2", False))
    for number in (2, 3):
        assert said(folder(("A", "pot 1", True)))[0] == "hold", number


def test_a_part_that_failed_again_between_holds(folder):
    folder(("A", "pot 1", False), ("B", "pot 2", False))
    assert said(folder(("A", "pot 1", False)))[0] == "rework"
    assert said(folder(("B", "pot 2", True)))[0] == "hold"
    assert said(folder(("A", "pot 1", True))) == ("release", ["closed"] * 3)


@pytest.mark.parametrize("seed", range(16))
def test_random_contracts(folder, seed):
    random = Random(seed)  # noqa: S311
    fresh = iter(range(3, 99))
    for number in range(4):
        parts = list(PARTS) if not number else [part for part in PARTS if random.random() < 0.6] or ["A"]
        work = []
        for part in parts:
            own = folder.days.pot.get(part, {"A": "pot 1", "B": "pot 2"}[part])
            pot = own if not number or random.random() < 0.6 else f"pot {next(fresh)}"
            work.append((part, pot, random.random() < 0.55))
        result = folder(*work)
        good = all(folder.days.good.values())
        assert (result["areas"][0]["decision"] == "release") is good, (number, work)


@pytest.mark.parametrize("start", ["06:30", "07:30"])
def test_air_that_was_no_better_for_the_rework(run, contract, start):
    """The blotter was dirty before both blastings; only a clean one between shows the second to be better."""
    project = (contract / "project.yaml").read_text("utf-8")
    limits = '  compressed_air: {clause: "4.9", interval: 12 h, minimum_duration: 1 min}\npeople:'
    (contract / "project.yaml").write_text(project.replace("people:", limits), "utf-8")
    check = '  - {{time: "{}", apparatus: pot 1, duration: 2 min, result: {}, pressure: 690 kPa}}\n'
    rework = (
        "  - area: A-1\n    apparatus: pot 1\n    initial_condition: B\n"
        "    blasted_again: [pot 1]\n    reinspects: [N1]\n"
        '    blasted: {start: "11:00", end: "12:00", abrasive: steel grit}\n'
        "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n"
        "    profile: {gauge: g1, readings: [{location: 11, spot: a, x1: 2.9}]}\n"
    )
    raised = (
        "nonconformances:\n  - {id: N1, area: A-1, findings: [air-not-clean], description: oil, disposition: rework,"
        " decided_by: ines, status: closed, evidence: blotter}\n"
    )
    dirty, clean = check.format(start, "oil"), check.format("10:45", "clean")
    for checks, decision in ((dirty, "rework"), (dirty + clean, "release")):
        text = DAY.replace("surfaces:", f"air_checks:\n{checks}surfaces:").replace("not_insp", f"{rework}not_insp")
        result = evaluated(run, contract, text + raised, "day1.yaml")
        assert result["areas"][0]["decision"] == decision
        told = " ".join(run("check", "day1.yaml").out.split())
        assert "0 m²" not in told
        better = "is so of what was blasted again as well: a check or a reading that shows it within the limits"
        assert (better in told) is (decision == "rework")


def test_weather_of_what_was_blasted_before_is_not_that_of_no_work(run, contract):
    project = (contract / "project.yaml").read_text("utf-8")
    limits = '  conditions: {clause: "2.8", maximum_humidity: 85 %, interval: 4 h}\npeople:'
    (contract / "project.yaml").write_text(project.replace("people:", limits), "utf-8")
    log = "".join(
        f'  - {{time: "{at}", air: 15 degC, humidity: {wet} %, steel: 15 degC}}\n'
        for at, wet in (("07:50", 92), ("10:40", 60), ("12:30", 60))
    )
    rework = (
        "  - area: A-1\n    apparatus: pot 1\n    initial_condition: B\n    blasted_again: [pot 1]\n"
        '    blasted: {start: "11:00", end: "12:00", abrasive: steel grit}\n'
        "    cleanliness: {observed: SSPC-SP 10, staining: 2 %}\n"
        "    profile: {gauge: g1, readings: [{location: 11, spot: a, x1: 2.9}]}\n"
    )
    text = DAY.replace("surfaces:", f"conditions:\n{log}surfaces:").replace("not_insp", f"{rework}not_insp")
    assert evaluated(run, contract, text, "day1.yaml")["areas"][0]["decision"] == "release"
    told = " ".join(run("check", "day1.yaml").out.split())
    assert "before that: 07:50: relative humidity 92 % while blasting" in told
    assert "nothing blasted or coated" not in told


def test_a_report_said_to_be_earlier_that_is_dated_later(run, folder, contract):
    folder(("A", "pot 1", False), ("B", "pot 2", True))
    second = folder.days.day(("A", "pot 1", True))
    (contract / "day1.yaml").write_text(folder.days.texts[0].replace("2026-05-04", "2026-05-06"), "utf-8")
    (contract / "day2.yaml").write_text(second.replace("    reinspects: [N1]\n", ""), "utf-8")
    for command in (("check", "day2.yaml"), ("issue", "day2.yaml", "--identity", "demo")):
        code, _, err = run(*command)
        assert code == (1 if command[0] == "check" else 2)
        told = " ".join(err.split())
        assert "SL-1-001, which is said to raise nonconformance `N1`, is no earlier report" in told
        assert "day1.yaml` dates it 2026-05-06, and this report is of 2026-05-05" in told


def test_the_next_day_file_after_a_part_that_was_primed(run, folder, contract):
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace("maximum: 400 h", "maximum: 8 h"), "utf-8")
    first = folder.days.day(("A", "pot 1", False)).replace("    cleaned: 5 m2\n", "")
    (contract / "day1.yaml").write_text(first, "utf-8")
    second = folder.days.day(("A", "pot 1", True)).replace("status: closed, evidence: readings", "status: open")
    evaluated(run, contract, second.replace("    reinspects", '    coated: "12:00"\n    reinspects'), "day2.yaml")
    assert run("new", "--next", "day2.yaml").code == 0
    text = (contract / "2026-05-06.yaml").read_text("utf-8")
    entry = text[text.index("#  - area: A-1") : text.index("# A-2,")]
    assert entry.count("apparatus:") == 1
    assert "#    initial_condition: B\n" in entry
    for line in ("blasted_again: [pot 1]", "cleaned: <2 m2>", "reinspects: [N1]", "start: <07:00>"):
        assert line in entry
