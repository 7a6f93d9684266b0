"""The command line called in this process, in a folder of its own that holds a small contract."""

import datetime as dt
import io
import os
import shutil
import sys
from pathlib import Path
from typing import NamedTuple
from unittest import mock

import pytest

from reportgen.cli import main

PROJECT = """\
project: {name: Sluice, contract: SL-1, client: Board, contractor: Blasters, site: Weir, time_zone: UTC}
inspection_body: {name: Body, address: Lane 1}
specification:
  document: SL-1 Part 2
  surface_preparation: {clause: "2.1", grade: SSPC-SP 10}
  profile: {clause: "2.2", minimum: 2.0 mil, maximum: 3.5 mil, method: ASTM D4417 Method C, edition: "2021",
    overlap_rule: average, readings_per_location: 1, decision_rule: simple, rounding: half-even}
  sampling: {clause: "2.2", plan: per-shift-and-apparatus, locations: 1}
  time_to_coat: {clause: "2.6", maximum: 8 h}
people: {ines: {name: I. Tern, role: inspector}}
instruments:
  g1: {kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,
    calibrated: 2026-01-10, calibration_due: 2027-01-10}
tape_rolls: {x1: {grade: extra coarse, lot: "7", expires: 2027-06-30}}
structures: [{id: sluice, name: Sluice, areas: [{id: A-1, name: gate, size: 12 m2}, {id: A-2, name: post, size: 9 m2}]}]
"""

DAY = """\
project: project.yaml
report: {number: SL-1-001, revision: 0, date: 2026-05-04, shift: {start: "07:00", end: "15:00"}, inspector: ines}
gauge_checks:
  - {time: "07:10", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
  - {time: "14:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}
tape_checks:
  - {time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}
surfaces:
  - area: A-1
    apparatus: pot 1
    initial_condition: B
    blasted: {start: "08:00", end: "10:30", abrasive: steel grit}
    cleanliness: {observed: SSPC-SP 10, staining: 2 %}
    profile: {gauge: g1, readings: [{location: 1, spot: a, x1: 2.9}]}
not_inspected: [{area: A-2, reason: scaffold not released}]
"""


class Said(NamedTuple):
    """What a command answered."""

    code: int
    out: str
    err: str


@pytest.fixture
def contract(tmp_path: Path) -> Path:
    (tmp_path / "project.yaml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "day.yaml").write_text(DAY, encoding="utf-8")
    return tmp_path


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """A copy of the first demo contract."""
    from tests.conftest import JOBS

    return Path(shutil.copytree(JOBS / "quarrowmere", tmp_path / "demo"))


@pytest.fixture
def run(contract: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    """Call ``main`` in the contract folder; the import path it guards is given back afterwards."""
    monkeypatch.chdir(contract)
    monkeypatch.setattr(sys, "path", sys.path[:])
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "200")

    def command(*arguments: object) -> Said:
        with mock.patch.dict(os.environ):  # as a process of its own: what it takes from its environment is there again
            code = main([str(argument) for argument in arguments])
        return Said(code, *capsys.readouterr())

    return command


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch):
    """Make the output, the messages and the input a terminal, one that knows colours."""

    def become(*names: str) -> None:
        for name in names or ("stdout", "stderr"):
            monkeypatch.setattr(getattr(sys, name), "isatty", lambda: True, raising=False)
        monkeypatch.delenv("NO_COLOR", raising=False)
        monkeypatch.setenv("TERM", "xterm")

    return become


NOW = dt.datetime(2026, 5, 4, 15, 10, tzinfo=dt.UTC)
"""When the demonstration day is issued and looked at, at the end of its shift."""
_CLOCKS = (
    ".issuing",
    ".verifying",
    ".countersigning",
    ".rebuilding",
    ".filing",
    ".auditing",
    ".releasing",
    ".renewing",
    ".register_care",
    "",
)


@pytest.fixture
def stopped_clock(monkeypatch):
    """The present moment is ``NOW`` for every verb, and the passphrase of the tests' keys is known."""
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: NOW, raising=False)
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
