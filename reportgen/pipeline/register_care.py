"""The register of a contract folder against its reports: checked, and made again when it is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.register_agreement import witness_of
from reportgen.pipeline.verifying import verify

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.register import Problem, Rebuilt, Witness


def check_register_of(folder: Path, reports: Sequence[Path] = ()) -> list[Problem]:
    """Check the register of a contract folder, with the reports in it and any others given; change nothing."""
    from reportgen.register import check_register

    return check_register(folder, _witnesses(folder, reports), pattern=_pattern(folder))


def rebuild_register_of(folder: Path, reports: Sequence[Path] = ()) -> Rebuilt:
    """Write the register of a contract folder anew from its reports; the old one stays beside it.

    Raises:
        UsageError: when there is nothing to mend, no report, or a report that does not verify.
    """
    from reportgen.register import rebuild_register

    return rebuild_register(folder, _witnesses(folder, reports), at=now())


def _witnesses(folder: Path, reports: Sequence[Path]) -> list[Witness]:
    """Read every report given or lying in the folder; each is verified in a child process before it is opened here."""
    from reportgen.archival import read_attachments

    found: list[Witness] = []
    for path in dict.fromkeys([*reports, *sorted(folder.glob("reports/*.pdf"))]):
        answer = verify(path)
        broken = [reason for reason in answer.reasons if reason.weight == "failed"]
        if broken:
            raise UsageError(f"{path} does not verify: {broken[0].sentence}", help_text="set it aside and run again")
        pdf = path.read_bytes()
        name = path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name
        try:
            found.append(witness_of(pdf, read_attachments(pdf), name))
        except (ValueError, KeyError, TypeError) as lack:
            raise UsageError(f"{path} is no report of a register: {lack}", help_text="leave it out") from lack
    return found


def _pattern(folder: Path) -> str | None:
    """Return the project's pattern of report numbers, where its project file can be read."""
    from reportgen.loader.assembly import load_project

    return load_project(folder / "project.yaml").project.report_numbers if (folder / "project.yaml").exists() else None
