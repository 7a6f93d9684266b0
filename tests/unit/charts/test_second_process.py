"""Frames from a second process are those made here; without it, or when it fails, they are made here."""

import io
import os
import pickle
import subprocess
import sys
import threading
from decimal import Decimal
from fractions import Fraction

import pytest

from reportgen.charts import Faces, ProfileScale, axes, locations, locations_frame, second_process
from reportgen.pdf.fonts import font_path

FACES = Faces(font_path("PlexSans"), font_path("PlexSans-SemiBold"))
SCALE = ProfileScale(Fraction(1), Fraction(4), Fraction(1), Decimal("2.0"), Decimal("3.0"), "mil")
GIVEN = (SCALE, (200.0, 90.0), FACES, "mil")
linux = pytest.mark.skipif(sys.platform != "linux", reason="a second process is used on Linux alone")

SCRIPT = """
import os, pickle, signal, sys
from reportgen.charts import second_process, locations_frame
os.sched_getaffinity = lambda _process: {0, 1}
given = pickle.load(sys.stdin.buffer)
with second_process.frames_ahead():
    if sys.argv[1] == "killed":
        os.kill(second_process._SECOND[0]._process, signal.SIGKILL)
    frame = locations_frame(*given)
print(frame == locations_frame(*given), "matplotlib" in sys.modules, pickle.dumps(frame).hex())
"""


def test_questions_are_answered_until_they_end():
    maker, room = axes.profile_frame.__name__, locations._RIGHT
    asked = ((maker, (*GIVEN, room)), (maker, (*GIVEN[:3], "um", room)))
    questions = io.BytesIO(b"".join(map(pickle.dumps, asked)))
    answers = io.BytesIO()
    second_process.serve(questions, answers)
    answers.seek(0)
    assert pickle.load(answers) == locations_frame(*GIVEN)  # noqa: S301 - written two lines above
    assert pickle.load(answers) == locations_frame(*GIVEN[:3], "um")  # noqa: S301 - as above
    assert not answers.read()


@linux
@pytest.mark.parametrize(("what", "loaded_here"), [("alive", False), ("killed", True)])
def test_the_same_frame_with_a_second_process_and_when_it_dies(what, loaded_here):
    """The first process loads no matplotlib while the second lives."""
    command = [sys.executable, "-c", SCRIPT, what]
    out = subprocess.run(command, input=pickle.dumps(GIVEN), capture_output=True, check=True).stdout.decode().split()
    assert out[:2] == ["True", str(loaded_here)]
    assert pickle.loads(bytes.fromhex(out[2])) == locations_frame(*GIVEN)  # noqa: S301 - the script's own answer


@pytest.fixture
def several_cores(monkeypatch):
    """A process like that of a command that begins; beginning a second one fails the test."""
    monkeypatch.delitem(sys.modules, "matplotlib", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(os, "sched_getaffinity", lambda _process: {0, 1}, raising=False)
    monkeypatch.setattr(threading, "active_count", lambda: 1)
    monkeypatch.setattr(second_process, "_Second", lambda: pytest.fail("a second process"))


@pytest.mark.parametrize(("owner", "name", "value"), [
    (sys, "platform", "darwin"), (os, "sched_getaffinity", lambda _process: {0}),
    (threading, "active_count", lambda: 2), (sys, "modules", {**sys.modules, "matplotlib": None}),
])  # fmt: skip
def test_no_second_process_where_it_does_not_pay(several_cores, monkeypatch, owner, name, value):
    monkeypatch.setattr(owner, name, value)
    with second_process.frames_ahead():
        assert not second_process._SECOND


def test_otherwise_there_is_one(several_cores):
    with pytest.raises(pytest.fail.Exception, match="a second process"), second_process.frames_ahead():
        pass
