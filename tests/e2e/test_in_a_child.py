"""A report examined in a confined child: the verdict is the same as without, and our own faults are not the file's."""

import datetime as dt
import os
import tempfile
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import pytest

from reportgen import sandbox
from reportgen.errors import UsageError
from reportgen.issued import Checks, examine, examined_from, read_pdf, render_examined
from reportgen.issued import examination as examination_room
from reportgen.issued.examination import judged
from reportgen.pipeline import issue_demonstration
from reportgen.pipeline.filing import examination_checks
from reportgen.verification.embedded_files import check_injected
from reportgen.verification.policy import Policy
from tests.conftest import ROOT
from tests.unit.verification import signed_material as made

AT = dt.datetime(2026, 11, 1, 12, tzinfo=dt.UTC)
TESSOWICK = ROOT / "jobs" / "tessowick"
DAYS = [*sorted((ROOT / "jobs" / "quarrowmere").glob("2*.yaml")), *sorted(TESSOWICK.glob("2*.yaml"))]


@cache
def issued(day):
    """A report of a day of the demo contracts, as this release makes it."""
    with tempfile.TemporaryDirectory() as place:
        issue_demonstration(day, Path(place) / "report.pdf", at=AT)
        return (Path(place) / "report.pdf").read_bytes()


HONEST = [*(partial(issued, day) for day in DAYS), made.report, made.complete_report, made.pages]
NAMES = [*(day.stem for day in DAYS), "report", "complete-report", "pages-alone"]


@pytest.fixture
def checks():
    """Those of ``verify``, pages made again included."""
    return replace(examination_checks((), at=AT), policy=Policy.trusting([made.root().certificate]))


@pytest.mark.parametrize("file", HONEST, ids=NAMES)
def test_an_honest_file_gets_the_same_verdict_inside(file, checks):
    inside, outside = examine(file(), "a.pdf", checks), judged(file(), checks)
    assert sandbox.is_confined()
    assert inside == examined_from(render_examined(outside))
    tenth = inside.verification.steps[9]
    by_hand = {made.report: "failed", made.complete_report: "failed", made.pages: "not done"}
    assert tenth.status == by_hand.get(file, "passed"), tenth


def test_photos_are_read_in_the_folder_named_and_nowhere_else(checks):
    pdf = issued(DAYS[-1])
    named = examination_checks((), at=AT, photos=TESSOWICK)
    assert examine(pdf, "a.pdf", named).verification.steps[9].unproven == ()
    elsewhere = replace(named, readable=())
    assert "may not be read" in " ".join(examine(pdf, "a.pdf", elsewhere).verification.steps[9].unproven)


def hang(_):
    import time

    time.sleep(60)


def grow(_):
    return bytes(4 << 30)


@pytest.mark.parametrize(
    ("check", "more", "said"),
    [
        (hang, {"seconds": 2.0}, "a.pdf takes longer to read than 2 s; it is damaged or made to do so"),
        (grow, {}, "a.pdf cannot be read: it needs more memory than it is given"),
    ],
)
def test_a_file_that_breaks_the_limits_is_in_doubt(check, more, said):
    checks = Checks(made.LATER, page_text_check=check, **more)
    answer = examine(made.complete_report(), "a.pdf", checks).verification
    assert ("RESOURCE_LIMIT", said) in [(reason.name, reason.sentence) for reason in answer.reasons]
    assert answer.overall == "indeterminate"


def test_it_is_said_where_nothing_is_confined(checks, monkeypatch):
    alone = replace(checks, rebuild_check=None)
    confined = examine(made.report(), "a.pdf", alone).verification
    monkeypatch.setattr(examination_room, "is_confined", lambda: False)
    limited = examine(made.report(), "a.pdf", alone).verification
    assert limited.steps[0].details == (*confined.steps[0].details, examination_room.NOT_CONFINED)
    assert limited.steps[1:] == confined.steps[1:]
    assert examination_room.NOT_CONFINED.startswith("not confined: ")


def test_without_a_folder_for_caches_the_verdict_is_the_same(checks, monkeypatch):
    expected = examine(issued(DAYS[0]), "a.pdf", checks)
    sandbox._end_all()
    for name in ("HOME", "TMPDIR", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, "/nowhere")
    monkeypatch.delenv("MPLCONFIGDIR", raising=False)
    assert examine(issued(DAYS[0]), "a.pdf", checks) == expected
    sandbox._end_all()


def test_a_check_that_breaks_off_on_this_machine_never_fails_a_file():
    def broken(_):
        raise FileNotFoundError(2, "No usable temporary directory found")

    step, _ = check_injected(10, object(), broken, name="PAGES_DIFFER", absent="")
    assert (step.status, step.broke_off) == ("not done", True)


def test_an_answer_that_is_none_is_no_verdict(checks, monkeypatch):
    monkeypatch.setattr(examination_room, "confined", lambda *_, **__: b"[]")
    (reason, *_) = examine(b"x", "a.pdf", checks).verification.reasons
    assert (reason.name, reason.sentence) == (
        "RESOURCE_LIMIT",
        "a.pdf cannot be read: reading it ended with an unusable answer",
    )


def test_unusable_roots_are_the_callers_fault(tmp_path):
    with pytest.raises(UsageError, match="cannot be read"):
        examination_checks([tmp_path / "none.pem"])


def test_files_that_are_none(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for name, sentence in (
        ("none.pdf", "cannot be read: No such file or directory"),
        (".", "cannot be read: Is a directory"),
        ("pipe", "is not a file"),
    ):
        with pytest.raises(UsageError, match=f"{sentence}$"):
            read_pdf(tmp_path / name)
