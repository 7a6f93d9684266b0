"""Two releases in processes of their own over each other's reports: time alone makes none that is authentic failed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import footbridge
from tests.archive.corpus import EXPECTED, astray, told
from tests.archive.successor import CORRECTED, seeded

ROOT = Path(__file__).parents[2]
LIMIT = (
    "  soluble_salts: {clause: '4.5', maximum: 20 mg/m2, tests: 2, expressed_as: mixed salts by conductivity}\npeople:"
)
TESTS = """    salts:
      - {location: 1, area: 12.5 cm2, volume: 3 ml, blank: 2.1 uS/cm, sample: 12.1 uS/cm}
"""


class Release:
    """One release of the package, told by the folder that it is imported from."""

    def __init__(self, package: Path) -> None:
        self.package = package

    def start(self, *words: object) -> subprocess.Popen[str]:
        path = os.pathsep.join(map(str, (self.package, ROOT)))
        return subprocess.Popen(
            [sys.executable, "-P", *map(str, words)], cwd=self.package, env={**os.environ, "PYTHONPATH": path},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8",
        )  # fmt: skip

    def __call__(self, *words: object) -> subprocess.Popen[str]:
        return self.start("-m", "tests.archive.release", *words)


def ended(process: subprocess.Popen[str], code: int = 0) -> str:
    said, wrong = process.communicate(timeout=600)
    assert process.returncode == code, f"exit {process.returncode}\n{said[-2000:]}\n{wrong[-4000:]}"
    return said


@pytest.fixture(scope="module")
def now():
    return Release(ROOT)


@pytest.fixture(scope="module")
def later(tmp_path_factory):
    return Release(seeded(tmp_path_factory.mktemp("later")))


@pytest.fixture(scope="module")
def places(tmp_path_factory, now, later):
    """The folders ``now`` and ``later``: the report of one day by each release, and its forgeries."""
    place = tmp_path_factory.mktemp("archive")
    job = footbridge.folder(place / "job", day=footbridge.day(1) + TESTS)
    project = job / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("people:", LIMIT, 1), "utf-8")
    issuing = [one("issue", job / "day.yaml", place / name) for name, one in (("now", now), ("later", later))]
    for process in issuing:
        ended(process)
    return place


@pytest.fixture(scope="module")
def answers(places, now, later):
    """Reader, writer and name of the file → what is said of it.

    This release leaves open whatever the later one wrote, so of that it is given the genuine report alone.
    """
    files = sorted(places.glob("*/*.pdf"))
    read = {"now": [file for file in files if file.parent.name == "now" or file.stem == "good"], "later": files}
    running = [(name, one("verify", *read[name])) for name, one in (("now", now), ("later", later))]
    return {
        (reader, file.parent.name, file.stem): answer
        for reader, process in running
        for file, answer in zip(read[reader], json.loads(ended(process)), strict=True)
    }


def judged(answer):
    return answer["overall"], sorted({reason["name"] for reason in answer["reasons"]})


def status(answer, *numbers):
    return [answer["steps"][number - 1]["status"] for number in numbers]


@pytest.mark.parametrize("release", ["now", "later"])
def test_each_release_passes_its_own(answers, release):
    answer = answers[release, release, "good"]
    assert judged(answer) == ("passed", [])
    assert status(answer, *range(1, 11)) == ["passed"] * 10
    assert answer["notices"] == []


def test_the_later_release_leaves_open_no_more_than_pages_that_it_prints_otherwise(answers):
    """And says what changed: which release makes the pages again, and what the newer rules decide."""
    answer = answers["later", "now", "good"]
    assert judged(answer) == ("indeterminate", ["NOT_REBUILT"])
    assert "`pip install reportgen==0.1.0`, then verify with that" in answer["reasons"][0]["sentence"]
    assert status(answer, *range(1, 10)) == ["passed"] * 9
    (notice,) = answer["notices"]
    assert notice["name"] == "SINCE_CORRECTED"
    assert f"corrected on {CORRECTED}, after edition 1" in notice["sentence"]
    changed = {one["place"]: (one["then"], one["now"]) for one in notice["places"]}
    assert changed["salts[B-1 1].verdict"] == ("conforms", "does not conform")
    assert changed["areas[B-1].decision"] == ("hold", "rework")


def test_this_release_leaves_a_report_of_the_later_one_open(answers):
    answer = answers["now", "later", "good"]
    assert judged(answer) == ("indeterminate", ["NOT_REBUILT", "OTHER_RELEASE"])
    assert status(answer, 7, 8, 9) == ["passed", "indeterminate", "indeterminate"]
    assert "use reportgen 9.0.0 or a later release" in answer["steps"][7]["reasons"][0]["sentence"]


@pytest.mark.parametrize("forged", ["number", "finding", "fact", "edition", "format", "null"])
def test_the_later_release_fails_what_is_forged_of_either(answers, forged):
    for writer in ("now", "later"):
        answer = answers["later", writer, forged]
        assert answer["overall"] == "failed", (writer, answer["reasons"])
        assert "EVALUATION_DIFFERS" in judged(answer)[1]


@pytest.mark.parametrize("forged", ["number", "finding", "fact", "null"])
def test_this_release_fails_what_is_forged_of_its_own(answers, forged):
    answer = answers["now", "now", forged]
    assert answer["overall"] == "failed"
    assert "EVALUATION_DIFFERS" in judged(answer)[1]


def test_other_sentences_on_the_pages_fail(answers):
    for reader, writer in (("now", "now"), ("later", "now"), ("later", "later")):
        answer = answers[reader, writer, "sentence"]
        rebuilt = [] if reader != writer else ["PAGES_DIFFER"]
        assert judged(answer) == ("failed", [*rebuilt, "PAGE_TEXT_DIFFERS"])
        assert status(answer, 8) == ["passed"]


def test_words_of_another_edition_than_the_report_claims_fail(answers):
    assert judged(answers["later", "now", "words"]) == ("failed", ["PAGE_TEXT_DIFFERS"])
    assert judged(answers["later", "later", "words"]) == ("failed", ["PAGES_DIFFER", "PAGE_TEXT_DIFFERS"])


@pytest.mark.parametrize("forged", ["edition", "format", "words"])
def test_what_counts_by_what_is_not_known_here_is_left_open(answers, forged):
    """Which release it names decides nothing: a state of the program between two releases is named as the first."""
    assert judged(answers["now", "now", forged]) == ("indeterminate", ["NOT_REBUILT", "OTHER_RELEASE"])


def test_the_notice_stands_on_the_terminal(places, later):
    folder = places / "now"
    said = ended(later.start("-m", "reportgen", "verify", folder / "good.pdf", "--trust", folder / "root.pem"), code=1)
    assert "[SINCE_CORRECTED]" in said


KEPT = sorted(path.parent for path in Path(__file__).parent.glob(f"*/{EXPECTED}"))
"""The reports of every release so far, from the first that is tagged."""


def test_what_was_said_of_the_reports_of_every_release_is_still_so(now):
    for folder in KEPT:
        expected = json.loads((folder / EXPECTED).read_text("utf-8"))
        said = json.loads(ended(now("verify", *(folder / name for name in expected))))
        assert [name for name, one in zip(expected, said, strict=True) if list(astray(expected[name], one))] == []


def test_what_this_release_says_stays_so_with_the_one_after_it(answers):
    """The corpus as it will be: the later release is held to what this one said of its own reports."""
    for name in ("good", "number", "finding", "fact", "null", "sentence"):
        expected = told(answers["now", "now", name])
        assert list(astray(expected, answers["later", "now", name])) == [], name
    assert list(astray(told(answers["now", "now", "good"]), answers["later", "now", "number"])) != []
    assert list(astray(told(answers["now", "now", "number"]), answers["now", "now", "good"])) != []
