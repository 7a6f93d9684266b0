"""Two issued reports compared: each verified as a stranger's, then held against the other in a child process."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from reportgen.compared import ComparedRow, ReportsCompared, VerdictChange, compared
from reportgen.formats.decoding import value_from
from reportgen.pipeline.filing import examination_checks
from reportgen.sandbox import confined

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.verification import Verification

_SECONDS: Final = 900.0
"""For trying each of some hundred differences by itself."""


@dataclass(frozen=True, slots=True)
class OfFile:
    """One of the two files: name, SHA-256, how well it is proven, and what verifying it came to."""

    file: str
    sha256: str
    standing: str
    verification: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ComparedFiles:
    """What two files are, and in what the reports in them differ."""

    files: tuple[OfFile, OfFile]
    compared: ReportsCompared


def compare_files(
    before: Path,
    now: Path,
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    quick: bool = False,
    at: dt.datetime | None = None,
) -> ComparedFiles:
    """Verify two reports and say in what they differ.

    Raises:
        UsageError: one of them cannot be read, is no report, or its files are not those its list names.
    """
    from reportgen.issued import examine, load_for_examination, read_pdf, shown_name, standing_of

    checks = examination_checks(trust, policy=policy, quick=quick, at=at)
    data, names = [read_pdf(path) for path in (before, now)], [shown_name(path) for path in (before, now)]
    work = partial(compared, data[0], data[1], (names[0], names[1]))
    told = confined(work, " or ".join(names), seconds=_SECONDS, load=load_for_examination)
    found = [examine(pdf, name, checks).verification for pdf, name in zip(data, names, strict=True)]
    first, second = (
        OfFile(name, one.sha256, standing_of(one).level(one.overall), one.overall, _told(one))
        for name, one in zip(names, found, strict=True)
    )
    return ComparedFiles((first, second), value_from(ReportsCompared, json.loads(told)))


def _told(one: Verification) -> tuple[str, ...]:
    return tuple(f"{why.name}: {why.sentence}" for why in one.reasons)


def plain_comparison(found: ComparedFiles) -> dict[str, Any]:
    """Return the answer as data: identities with how each file stands, and the rows of each part."""
    told = found.compared
    files = {
        label: {
            "contract": which.contract,
            "number": which.number,
            "revision": which.revision,
            "date": which.date,
            "file": file.file,
            "sha256": file.sha256,
            "standing": file.standing,
            "verification": file.verification,
            "why": list(file.why),
        }
        for label, file, which in zip(("before", "now"), found.files, (told.before, told.now), strict=True)
    }
    rows = {part: [_plain_row(one) for one in getattr(told, part)] for part in ("requirements", "entries", "results")}
    return {
        **files,
        "reason": told.reason,
        "different": told.different,
        "tried": told.tried,
        **rows,
        "moved": [{"before": one.before, "now": one.now} for one in told.moved],
        "together": [_plain_change(one) for one in told.together],
    }


def _plain_row(row: ComparedRow) -> dict[str, Any]:
    told = {"taken_back": row.taken_back, "alone": row.alone}
    return {
        "place": list(row.place),
        "before": row.before,
        "now": row.now,
        "changes_a_verdict": row.changes_a_verdict,
        **{name: [_plain_change(one) for one in changes] for name, changes in told.items() if changes is not None},
        **({} if row.named is None else {"named_in_the_reason": list(row.named)}),
    }


def _plain_change(one: VerdictChange) -> dict[str, Any]:
    return {"place": list(one.place), "stands": one.stands, "would_be": one.would_be}
