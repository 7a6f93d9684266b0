"""A small invented contract of one footbridge, as files: what several inspectors wrote of one area on two days."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

INSPECTOR, COLLEAGUE, CONTRACTORS = "A. Vintry", "B. Sandrel", "Q. Maddock"
BODY = "Vintry Inspection"
OPEN = (
    "  - {id: NCR-001, area: B-1, findings: [profile-below-minimum], description: too smooth, disposition: rework,"
    " decided_by: vintry, corrective_action: blast again, status: open}\n"
)
CLOSED = OPEN.replace("status: open", "status: closed, raised_in: HD-9-001, evidence: measured again")
ROUGH, SMOOTH = "2.8", "1.5, c1: 1.3"
"""Readings of location 2: one that conforms, and one that does not."""
FIRST_BLASTING = '{start: "2026-05-04T08:00:00Z", end: "2026-05-04T10:00:00Z", abrasive: steel grit}'

PROJECT = f"""\
# Invented for tests: no real person, company, place, project or number.
project: {{name: Footbridge, contract: HD-9, client: Parish, contractor: Pellworth, site: Harrowdell, time_zone: UTC}}
inspection_body: {{name: {BODY}, address: Harrowdell}}
specification:
  document: HD-9 Part 4
  surface_preparation: {{clause: "4.2", grade: SSPC-SP 10}}
  profile: {{clause: "4.3", minimum: 2.0 mil, maximum: 3.5 mil, method: ASTM D4417 Method C, edition: "2021",
    overlap_rule: average, readings_per_location: 2, decision_rule: simple, rounding: half-even}}
  sampling: {{clause: "4.3", plan: per-shift-and-apparatus, locations: 3}}
people:
  vintry: {{name: {INSPECTOR}, role: inspector}}
  sandrel: {{name: {COLLEAGUE}, role: inspector}}
  maddock: {{name: {CONTRACTORS}, role: contractor's inspector, organisation: Pellworth}}
  eng: {{name: E. Torrance, role: project engineer}}
instruments:
  g1: {{kind: thickness gauge, serial: T-1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,
    calibrated: 2026-01-10, calibration_due: 2027-01-10}}
tape_rolls:
  x1: {{grade: extra coarse, lot: "77", expires: 2027-06-30}}
  c1: {{grade: coarse, lot: "78", expires: 2027-06-30}}
structures:
  - id: bridge
    name: Footbridge
    areas: [{{id: B-1, name: north half, size: 12 m2}}, {{id: B-2, name: south half, size: 12 m2}}]
"""
_WALK_OUT = """\
      walk_outs:
        - failing: 2
          interval: 0.5 m
          directions:
            - {towards: up, locations: [], no_room: yes}
            - {towards: down, locations: [], no_room: yes}
            - {towards: left, locations: [], no_room: yes}
            - {towards: right, locations: [], no_room: yes}
"""


def folder(place: Path, *, contract: str = "HD-9", project: str = PROJECT, **days: str) -> Path:
    """Write a contract folder with day files by their names; ``contract`` is its number, which begins the reports'."""
    place.mkdir(parents=True, exist_ok=True)
    for name, text in {"project": project, **days}.items():
        (place / f"{name}.yaml").write_text(text.replace("HD-9", contract), encoding="utf-8")
    return place


def day(
    number: int,
    second: str = ROUGH,
    *,
    raised: str = "",
    reinspects: bool = False,
    blasted: str = '{start: "08:00", end: "10:00", abrasive: steel grit}',
    inspector: str = "vintry",
    revision: int = 0,
    area: str = "B-1",
) -> str:
    """Return the day file of a report; day ``number`` is that of May 2026 three days later."""
    supersedes = f", supersedes: {{revision: {revision - 1}, reason: a reading was wrong}}" if revision else ""
    return f"""\
# Invented for tests: no real person, company, place, project or number.
project: project.yaml
report: {{number: HD-9-00{number}, revision: {revision}, date: 2026-05-0{number + 3},
  shift: {{start: "07:00", end: "18:00"}}, inspector: {inspector}{supersedes}}}
gauge_checks:
  - {{time: "07:10", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
  - {{time: "17:30", gauge: g1, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
tape_checks:
  - {{time: "07:15", roll: x1, gauge: g1, thickness: 5.6 mil}}
  - {{time: "07:16", roll: c1, gauge: g1, thickness: 4.0 mil}}
surfaces:
  - area: {area}
    apparatus: pot 1
    initial_condition: C
    blasted: {blasted}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
    profile:
      gauge: g1
      readings:
        - {{location: 1, spot: a, time: "10:20", x1: 2.8}}
        - {{location: 1, spot: b, time: "10:21", x1: 2.8}}
        - {{location: 2, spot: a, time: "10:22", x1: {second}}}
        - {{location: 2, spot: b, time: "10:23", x1: {second}}}
        - {{location: 3, spot: a, time: "10:24", x1: 2.8}}
        - {{location: 3, spot: b, time: "10:25", x1: 2.8}}
{_WALK_OUT if second == SMOOTH else ""}{"    reinspects: [NCR-001]" if reinspects else ""}
{"nonconformances:" if raised else ""}
{raised}"""
