"""The demo contracts under other ids and with other texts: any that the job models accept."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import yaml

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

JOBS = Path(__file__).parents[1] / "jobs"

# fields of the job files that hold an id, or a list or block of ids, by its kind
_IDS = {
    "area": "area", "location": "location", "failing": "location", "locations": "location", "before": "location",
    "after": "location", "spot": "spot", "gauge": "instrument", "instrument": "instrument",
    "instruments": "instrument", "roll": "roll", "inspector": "person", "countersigners": "person",
    "decided_by": "person", "reinspects": "nonconformance", "number": "number", "raised_in": "number", "file": "file",
}  # fmt: skip
_KEYS = {"people": "person", "instruments": "instrument", "tape_rolls": "roll"}
_OWN_IDS = {"structures": "structure", "areas": "area", "nonconformances": "nonconformance"}
_TEXTS = {"remarks", "reason", "description", "corrective_action", "evidence", "caption", "change", "address"}
_NAMES = {
    "name", "contract", "client", "contractor", "site", "client_contact", "accreditation", "contact",
    "certificate", "organisation", "serial", "lot", "drawing", "place", "apparatus", "abrasive", "nozzle", "document",
    "edition", "towards", "present",
}  # fmt: skip


@dataclass
class Changed:
    """Renames ids of each kind and replaces texts; what was renamed once keeps its new name."""

    identify: Callable[[str, str], str] = lambda _kind, old: old
    write: Callable[[str, str], str] = lambda _kind, old: old
    ids: dict[tuple[str, str], str] = field(default_factory=dict)
    texts: dict[tuple[str, str], str] = field(default_factory=dict)

    def of_kind(self, kind: str, old: str) -> str:
        """The new id for an old one."""
        if (kind, old) not in self.ids:
            self.ids[kind, old] = self.identify(kind, old)
        return self.ids[kind, old]

    def text(self, kind: str, old: str) -> str:
        """The new text for an old one."""
        if (kind, old) not in self.texts:
            self.texts[kind, old] = self.write(kind, old)
        return self.texts[kind, old]

    def value(self, value: Any, name: str = "", within: str = "") -> Any:
        """A part of a job file, changed; ``name`` is its field, ``within`` the field that holds its block."""
        if isinstance(value, dict):
            return {self._key(key, name): self.value(item, key, name) for key, item in value.items()}
        if isinstance(value, list):
            return [self.value(item, name, within) for item in value]
        kind = _IDS.get(name) or (_OWN_IDS.get(within) if name == "id" else None)
        if kind and not self._is_size(name, within):
            return self.of_kind(kind, value)
        if name in _TEXTS or name in _NAMES:
            return self.text("text" if name in _TEXTS else "name", value)
        return value

    def _key(self, key: str, name: str) -> str:
        kind = _KEYS.get(name)
        if kind is None and name == "readings" and key not in ("location", "spot", "time", "depth", "csv", "rows"):
            kind = "roll"
        return self.of_kind(kind, key) if kind else key

    @staticmethod
    def _is_size(name: str, within: str) -> bool:
        """Whether the field is a quantity or a number of things, of the same name as a field of ids."""
        return (name == "area" and within == "salts") or (name == "locations" and within == "sampling")


def job_files(contract: str, day: str, changed: Changed) -> dict[str, bytes]:
    """The project and the day file of a demo contract and its readings, changed; without photos and earlier days."""
    folder = JOBS / contract
    files: dict[str, bytes] = {}
    for name in ("project.yaml", day):
        plain = yaml.load((folder / name).read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - makes text of all
        plain = changed.value(plain)
        if name == "project.yaml":
            plain["project"].pop("report_numbers", None)
        for surface in plain.get("surfaces", ()):
            readings = surface.get("profile", {}).get("readings")
            if isinstance(readings, dict):
                files[readings["csv"]] = _readings((folder / readings["csv"]).read_text("utf-8"), changed)
        text = yaml.safe_dump(plain, sort_keys=False, allow_unicode=True, default_style='"', width=1 << 20)
        files[name] = text.encode("utf-8")
    return files


def _readings(text: str, changed: Changed) -> bytes:
    rows = list(csv.DictReader(io.StringIO(text)))
    target = io.StringIO()
    writer = csv.DictWriter(target, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(
        {name: changed.of_kind(name, cell) if name in _IDS else cell for name, cell in row.items()} for row in rows
    )
    return target.getvalue().encode("utf-8")


def written(files: Mapping[str, bytes], folder: Path) -> Path:
    """Write job files into a folder, with the photos of neither contract; return the folder."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder
