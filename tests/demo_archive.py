"""An archive of invented reports with known faults in it, made on demand.

``python -m tests.demo_archive FOLDER --reports 1000`` writes it. Everything in it is invented: no real person, company,
place, project or number. Each contract is one inspector's; contracts differ in the faults they carry, and one in four
carries none. ``build_archive`` returns what was seeded, which an audit must find, and nothing else.
"""

from __future__ import annotations

import argparse
import dataclasses
import datetime as dt
import functools
import hashlib
import json
import os
import pickle
import random
import shutil
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from reportgen.seal import Identity

START = dt.date(2025, 3, 3)
INSPECTORS = ("A. Thornsey", "B. Vellacroft", "C. Ombersley", "D. Pellmarsh")
LOCATIONS = 6
PER_CONTRACT = 12

FAULTS = (
    ("number-missing", "readings-alike", "coated-while-not-released", "file-failed"),
    ("number-duplicate", "revision-of-nothing", "instrument-past-calibration", "spread-narrow"),
    ("revision-missing", "superseded-in-use", "nonconformance-never-closed", "digits-heaped"),
    (),
)
"""Which faults a contract carries, in turn."""

TEMPLATE = """\
sections: [summary, requirements, conditions, equipment, areas, nonconformances, photos, method, safety, integrity]
"""

PROJECT = """\
# Invented for demonstration: no real person, company, place, project or number.
project:
  name: Brackenholt tank farm, phase {contract}
  contract: {contract}
  client: Brackenholt Storage
  contractor: Larkmoor Blasting
  site: Brackenholt
  time_zone: UTC
  report_numbers: {contract}-IR-###
inspection_body: {{name: Eddering Inspection, address: Brackenholt}}
specification:
  document: {contract} Part 6
  surface_preparation: {{grade: SSPC-SP 10}}
  profile: {{clause: "6.2", minimum: 2.5 mil, maximum: 4.5 mil, method: ASTM D4417 Method C, edition: "2021",
    overlap_rule: average, readings_per_location: 2, decision_rule: simple, rounding: half-even}}
  sampling: {{clause: "6.3", plan: fixed, locations: 6}}
people:
  insp: {{name: {inspector}, role: inspector, certificate_expires: 2030-01-01, organisation: Eddering Inspection}}
  eng: {{name: E. Quillbridge, role: project engineer, organisation: Brackenholt Storage}}
instruments:
  g1: {{kind: thickness gauge, serial: {contract}-T1, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,
    certificate: EC-1, calibrated: 2025-01-02, calibration_due: 2026-01-02}}
  g2: {{kind: thickness gauge, serial: {contract}-T2, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,
    certificate: EC-2, calibrated: 2024-02-01, calibration_due: 2025-02-01}}
  g3: {{kind: thickness gauge, serial: {contract}-T3, unit: mil, resolution: 0.1 mil, accuracy: 0.2 mil,
    certificate: EC-3, calibrated: 2025-01-02, calibration_due: 2026-01-02}}
tape_rolls:
  x1: {{grade: extra coarse, lot: X-1, expires: 2027-01-01}}
structures:
  - id: tank
    name: Tank
    areas:
{areas}
"""


@dataclasses.dataclass(frozen=True, order=True)
class Seeded:
    """One fault that was put in: its code, and where an audit has to report it."""

    code: str
    contract: str
    number: str = ""
    area: str = ""


@dataclasses.dataclass(frozen=True)
class Archive:
    """What was written: the folder of PDFs, the certificate to trust, and what was seeded."""

    folder: Path
    root: Path
    reports: int
    seeded: tuple[Seeded, ...]


@dataclasses.dataclass
class Day:
    """One report to be made; everything that can be wrong with it has a switch."""

    place: int
    areas: list[str]
    readings: list[list[float]]
    gauge: str = "g1"
    revision: int = 0
    coated: bool = False
    nonconformance: str = ""
    reinspects: str = ""
    supersedes: str | None = None
    suffix: str = ""
    only: bool = False
    remarks: str = "none"


def build_archive(folder: Path, *, reports: int = 48, seed: int = 7, processes: int = 1) -> Archive:
    """Write contracts of twelve reports each into ``folder``; the same seed gives the same readings and faults."""
    folder.mkdir(parents=True, exist_ok=True)
    contracts = [f"BF-{number:02d}" for number in range(1, max(1, reports // PER_CONTRACT) + 1)]
    key, root_key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    root, *leaves = _certificates(key, root_key)
    (folder.parent / "authority.pem").write_bytes(root.public_bytes(serialization.Encoding.PEM))
    keys = tuple(
        part.private_bytes(serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
        for part in (key,)
    )
    certificates = [one.public_bytes(serialization.Encoding.DER) for one in (root, *leaves)]
    work = functools.partial(_write_contract, folder, seed, keys[0], certificates)
    if processes > 1:
        with ProcessPoolExecutor(processes) as pool:
            made = list(pool.map(work, range(len(contracts)), contracts))
    else:
        made = list(map(work, range(len(contracts)), contracts))
    seeded = tuple(sorted(one for found, _ in made for one in found))
    return Archive(folder, folder.parent / "authority.pem", sum(count for _, count in made), seeded)


def _certificates(key: Any, root_key: Any) -> list[x509.Certificate]:
    """Return the root, then a certificate for each inspector; they share a key."""
    from reportgen.seal import authority

    begin, end = dt.datetime(2025, 1, 1, tzinfo=dt.UTC), dt.datetime(2035, 1, 1, tzinfo=dt.UTC)
    name = authority._distinguished("Root of Eddering Inspection", "Eddering Inspection")
    root = authority._certificate(name, root_key, begin, end)
    signers = [authority._distinguished(name, "Eddering Inspection") for name in INSPECTORS]
    issuer = (root, root_key)
    return [root, *(authority._certificate(signer, key, begin, end, issuer=issuer) for signer in signers)]


def _write_contract(
    folder: Path, seed: int, key: bytes, certificates: list[bytes], position: int, contract: str
) -> tuple[list[Seeded], int]:
    from reportgen.seal.identity import assemble

    root, *leaves = map(x509.load_der_x509_certificate, certificates)
    leaf = leaves[position % len(INSPECTORS)]
    identity = assemble(serialization.load_der_private_key(key, None), leaf, [root], source="the demo archive")
    chance = random.Random(f"{seed} {contract}")  # noqa: S311 - invented readings, not secrets
    return _Contract(folder, contract, chance, identity).write(
        FAULTS[position % len(FAULTS)], INSPECTORS[position % len(INSPECTORS)]
    )


class _Contract:
    """One contract: its day files in a folder of work, its reports in the archive."""

    def __init__(self, folder: Path, contract: str, chance: random.Random, identity: Identity) -> None:
        self.contract, self.chance, self.identity = contract, chance, identity
        self.out = folder / contract
        self.work = folder.parent / "jobs" / contract
        self.out.mkdir(parents=True)
        self.work.mkdir(parents=True)
        self.forge: Callable[[bytes], bytes] = bytes
        self.seeded: list[Seeded] = []
        self.written = 0
        self.days = [self._plain(place) for place in range(1, PER_CONTRACT + 1)]

    def write(self, faults: tuple[str, ...], inspector: str) -> tuple[list[Seeded], int]:
        self._prepare(inspector)
        self._closed_nonconformance()
        for fault in faults:
            getattr(self, "_seed_" + fault.replace("-", "_"))()
        for day in sorted(self.days, key=lambda day: (day.place, day.revision, day.suffix)):
            self._issue(day)
        for fault in faults:
            getattr(self, "_afterwards_" + fault.replace("-", "_"), lambda: None)()
        return self.seeded, self.written

    def _prepare(self, inspector: str) -> None:
        areas = "\n".join(
            f'      - {{id: A-{n:02d}, name: "course {n}", size: 20 m2}}' for n in range(1, 2 * PER_CONTRACT + 2)
        )
        text = PROJECT.format(contract=self.contract, inspector=inspector, areas=areas)
        (self.work / "project.yaml").write_text(text, encoding="utf-8")
        (self.work / "template.yaml").write_text(TEMPLATE, encoding="utf-8")

    def _plain(self, place: int) -> Day:
        areas = [f"A-{2 * place - 1:02d}", f"A-{2 * place:02d}"]
        return Day(place, areas, [self._readings(LOCATIONS) for _ in areas])

    def _readings(self, locations: int, spread: float = 0.26) -> list[float]:
        level = self.chance.gauss(3.4, 0.08)
        found: list[float] = []
        while len(found) < 2 * locations:
            value = round(self.chance.gauss(level, spread), 1)
            if 2.6 <= value <= 4.4:  # below, the other grade of tape would be needed too
                found.append(value)
        return found

    def number(self, place: int) -> str:
        return f"{self.contract}-IR-{place:03d}"

    def _add(self, code: str, place: int, area: str = "") -> None:
        self.seeded.append(Seeded(code, self.contract, self.number(place) if place else "", area))

    # --- what is in order, and looks like a fault to a careless audit

    def _closed_nonconformance(self) -> None:
        """A nonconformance that is raised, and closed by a re-inspection; and a revision with its reason."""
        self.days[0].readings[1] = self._failing()
        self.days[0].nonconformance = "NC-1"
        self.days[2].areas[1] = self.days[0].areas[1]
        self.days[2].reinspects = "NC-1"
        good = dataclasses.replace(self.days[3], revision=1, supersedes="clerical error in the remarks", remarks="some")
        self.days.append(good)

    def _failing(self) -> list[float]:
        readings = self._readings(LOCATIONS)
        readings[4] = readings[5] = 4.9
        return readings

    # --- faults

    def _seed_number_missing(self) -> None:
        self._add("number-missing", 6)

    def _afterwards_number_missing(self) -> None:
        (self.out / f"{self.number(6)}.pdf").unlink()
        self.written -= 1

    def _seed_readings_alike(self) -> None:
        """Between two reports, and between two areas of one report."""
        self.days[9].readings[0] = self.days[4].readings[1]
        self._add("readings-alike", 10, self.days[9].areas[0])
        self.days[10].readings[1] = self.days[10].readings[0]
        self._add("readings-alike", 11, self.days[10].areas[1])

    def _seed_coated_while_not_released(self) -> None:
        """Locations are missing, so the area is on hold, and it was coated all the same."""
        self.days[6].readings[0] = self._readings(LOCATIONS - 2)
        self.days[6].coated = True
        self._add("coated-while-not-released", 7, self.days[6].areas[0])

    def _seed_file_failed(self) -> None:
        self._add("file-failed", 8)
        self._add("number-missing", 8)

    def _afterwards_file_failed(self) -> None:
        """One byte of the first page's content is another one."""
        path = self.out / f"{self.number(8)}.pdf"
        data = bytearray(path.read_bytes())
        data[data.index(b"stream\n") + 40] ^= 1
        path.write_bytes(data)

    def _seed_number_duplicate(self) -> None:
        second = dataclasses.replace(self.days[5], suffix="-copy", remarks="another report under the same number")
        second.readings = [self._readings(LOCATIONS) for _ in second.areas]
        self.days.append(second)
        self._add("number-duplicate", 6)

    def _seed_revision_of_nothing(self) -> None:
        """A revision that does not say which it replaces: no issue, so that the one before it goes on deciding."""
        self.days.append(dataclasses.replace(self.days[6], revision=1, remarks="changed, nobody says why"))
        self._add("file-failed", 7)

    def _seed_instrument_past_calibration(self) -> None:
        self.days[8].gauge = "g2"
        for area in self.days[8].areas:
            self._add("instrument-past-calibration", 9, area)

    def _seed_spread_narrow(self) -> None:
        """Readings that all but repeat one number."""
        self.days[9].readings[0] = [3.4, 3.4, 3.4, 3.3, 3.4, 3.4, 3.4, 3.4, 3.4, 3.4, 3.4, 3.4]
        self._add("spread-narrow", 10, self.days[9].areas[0])

    def _seed_revision_missing(self) -> None:
        self.days.append(dataclasses.replace(self.days[4], revision=2, supersedes="second correction", remarks="twice"))
        self._add("revision-missing", 5)

    def _seed_superseded_in_use(self) -> None:
        """From the tenth report on, the first issue of the ninth is built upon, which had been revised by then."""
        self.days[8].readings[1] = self._failing()
        self.days[8].nonconformance = "NC-3"
        self.days.append(
            dataclasses.replace(
                self.days[8], revision=1, supersedes="area named wrongly", remarks="named rightly", only=True
            )
        )
        self.days[9].areas[1] = self.days[8].areas[1]
        self.days[9].reinspects = "NC-3"
        for place in (10, 11, 12):
            self._add("superseded-in-use", place)

    def _seed_nonconformance_never_closed(self) -> None:
        self.days[10].readings[0] = self._failing()
        self.days[10].nonconformance = "NC-2"
        self._add("nonconformance-never-closed", 11, self.days[10].areas[0])

    def _seed_digits_heaped(self) -> None:
        """A gauge whose readings all end in 0 or 5, over five reports of their own."""
        for day in self.days[:]:
            if day.place in (1, 2, 3, 6, 8, 12):
                day.gauge = "g3"
                day.readings = [[self._to_half(value) for value in readings] for readings in day.readings]
        self._add("digits-heaped", 0)

    def _to_half(self, value: float) -> float:
        return value if value > 4.5 else min(4.0, max(3.0, round(value * 2) / 2))

    # --- files

    def _issue(self, day: Day) -> None:
        from reportgen.loader.template import load_template
        from reportgen.pipeline.building import Terms, build
        from reportgen.pipeline.checking import check
        from reportgen.register import Supersedes
        from reportgen.seal import seal_report

        folder = self.work
        if day.only:  # its day file lies elsewhere, where the next day does not see it
            folder = self.work / "revised"
            folder.mkdir(exist_ok=True)
            for name in ("project.yaml", "template.yaml"):
                (folder / name).write_bytes((self.work / name).read_bytes())
        date = START + dt.timedelta(days=day.place + day.place // 5 * 2)
        path = folder / f"{date}-r{day.revision}{day.suffix}.yaml"
        path.write_text(self._text(day, date), encoding="utf-8")
        checked = check(path)
        checked = dataclasses.replace(checked, canonical=self.forge(checked.canonical))
        at = dt.datetime.combine(date, dt.time(18, 20), dt.UTC) + dt.timedelta(minutes=5 * day.revision)
        number = self.number(day.place)
        before = self.out / f"{number}.pdf"
        replaced = None
        if day.supersedes:
            known = day.revision == 1 and before.exists()
            digest = hashlib.sha256(before.read_bytes()).hexdigest() if known else "0" * 64
            replaced = Supersedes(day.revision - 1, digest, day.supersedes)
        template = load_template(str(self.work / "template.yaml"))
        built = build(checked, Terms("issue", at, template, None, replaced))
        page, *corners = built.rendered.signature_box
        signed = seal_report(
            built.pdf, self.identity, at=at, location="Brackenholt",
            box=(page + 1, *corners),
        )  # fmt: skip
        stem = number if day.revision == 0 else f"{number}-r{day.revision}"
        (self.out / f"{stem}{day.suffix}.pdf").write_bytes(signed)
        self.written += 1
        if day.suffix or (day.revision > 0 and not day.supersedes):
            path.unlink()  # one day file for each report in the folder of work

    def _text(self, day: Day, date: dt.date) -> str:
        surfaces = "\n".join(
            self._surface(day, area, readings, last=area == day.areas[-1])
            for area, readings in zip(day.areas, day.readings, strict=True)
        )
        supersedes = ""
        if day.supersedes:
            supersedes = f"\n  supersedes: {{revision: {day.revision - 1}, reason: {json.dumps(day.supersedes)}}}"
        raised = ""
        if day.nonconformance:
            failing = day.areas[[max(readings) > 4.5 for readings in day.readings].index(True)]
            raised = f"""
nonconformances:
  - {{id: {day.nonconformance}, area: {failing}, findings: [profile-above-maximum], description: profile too high,
     disposition: rework, decided_by: eng, corrective_action: blast again, status: open}}"""
        return f"""\
# Invented for demonstration: no real person, company, place, project or number.
project: project.yaml
report:
  number: {self.number(day.place)}
  revision: {day.revision}
  date: {date}
  shift: {{start: "07:00", end: "17:00"}}
  inspector: insp{supersedes}
conditions:
  - {{time: "08:00", place: tank, air: 15.0 degC, humidity: 60 %, steel: 14.0 degC}}
gauge_checks:
  - {{time: "07:10", gauge: {day.gauge}, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
  - {{time: "16:10", gauge: {day.gauge}, anvils: clean, preset: -2.0 mil, shim: 3.0 mil, shim_reading: 3.0 mil}}
tape_checks:
  - {{time: "07:12", roll: x1, gauge: {day.gauge}, thickness: 5.5 mil}}
surfaces:
{surfaces}{raised}
remarks: {day.remarks}
"""

    def _surface(self, day: Day, area: str, readings: list[float], *, last: bool) -> str:
        rows = "\n".join(
            f"        - {{location: {index // 2 + 1}, spot: {'ab'[index % 2]}, x1: {value:.1f}}}"
            for index, value in enumerate(readings)
        )
        coated = '\n    coated: "15:00"' if day.coated and len(readings) < 2 * LOCATIONS else ""
        reinspects = f"\n    reinspects: [{day.reinspects}]" if day.reinspects and last else ""
        return f"""\
  - area: {area}
    apparatus: pot A
    initial_condition: C
    blasted: {{start: "08:00", end: "10:00", abrasive: steel grit}}
    cleanliness: {{observed: SSPC-SP 10, staining: 2 %}}
    profile:
      gauge: {day.gauge}
      film: subtracted
      readings:
{rows}{coated}{reinspects}"""


def by_a_stranger(
    place: Path,
    contract: str,
    days: Sequence[tuple[int, int]],
    forge: Callable[[bytes], bytes] = bytes,
) -> list[Path]:
    """Write faultless reports on the areas of the eleventh, by place and revision, signed by one who uses only names.

    Names of inspector, organisation and authority are those of the archive, keys and certificates are the stranger's.
    ``forge`` may change the evaluation that is embedded.
    """
    from reportgen.seal.identity import assemble

    key, root_key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    root, leaf, *_ = _certificates(key, root_key)
    identity = assemble(key, leaf, [root], source="a stranger")
    made = _Contract(place / "forged", contract, random.Random(contract), identity)  # noqa: S311 - as above
    made._prepare(INSPECTORS[0])
    made.forge = forge
    for number, revision in days:
        supersedes = "a correction" if revision else None
        day = dataclasses.replace(made.days[-2], place=number, revision=revision, supersedes=supersedes)
        made._issue(day)
    return sorted(made.out.glob("*.pdf"))


def shared_archive(factory: Any) -> Archive:
    """Return the small archive, made once for all tests of a run."""
    return made_once(factory, "demo-archive", lambda place: build_archive(place / "archive"))


def made_once(factory: Any, name: str, make: Callable[[Path], Any]) -> Any:
    """Return what ``make`` makes of a new folder, made by whichever process of a test run comes first."""
    base = factory.getbasetemp()
    place = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / name
    # beside it: whatever lies in the folder is looked at
    kept, unfinished = (place.with_name(f"{name}.{end}") for end in ("pickle", "part"))
    try:
        place.mkdir()
    except FileExistsError:
        for _ in range(2000):  # before the time is over that a test is given
            if kept.exists():
                return pickle.loads(kept.read_bytes())  # noqa: S301 - our own file of this run
            if not place.exists():  # whoever came first failed
                return made_once(factory, name, make)
            time.sleep(0.1)
        raise
    try:
        made = make(place)
    except BaseException:
        shutil.rmtree(place)
        raise
    unfinished.write_bytes(pickle.dumps(made))
    unfinished.rename(kept)
    return made


PASSPHRASE = "a passphrase for tests"


def key_of(factory: Any, folder: str, name: str, organisation: str) -> tuple[Path, Path]:
    """Return key file and root certificate of a person, made once in the ``folder`` of a test run."""

    def make(place: Path) -> tuple[Path, Path]:
        from reportgen.seal import new_identity

        at = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
        made = new_identity(place, name=name, organisation=organisation, at=at, years=5, passphrase=PASSPHRASE)
        return made.signer_file, made.root_certificate_file

    return made_once(factory, folder, make)


def engineers_key(factory: Any) -> tuple[Path, Path]:
    """Return key file and root certificate of the engineer who submits the archive's reports."""
    return key_of(factory, "engineer", "P. Ashgrove", "Brackenholt Storage")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--reports", type=int, default=1000)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    archive = build_archive(options.folder / "archive", reports=options.reports, processes=options.processes)
    seeded = [dataclasses.asdict(one) for one in archive.seeded]
    (options.folder / "seeded.json").write_text(json.dumps(seeded, indent=1), encoding="utf-8")
    print(f"{archive.reports} reports, {len(archive.seeded)} faults, in {archive.folder}")


if __name__ == "__main__":
    main()
