"""Verify: a stranger's file, in a child process with limits, with all that can be checked from it alone."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from reportgen.pipeline.filing import examination_checks, verified_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.verification import Verification


def verify(
    report: Path,
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    register: Path | None = None,
    photos: Path | None = None,
    quick: bool = False,
) -> Verification:
    """Return the verdict on one report, in numbered steps with reasons.

    ``trust`` names certificates, or folders of them, of authorities the user trusts; without any, nobody's signature
    passes; ``policy`` is a file that names them, and what else is asked for, instead. ``register`` is the contract
    folder whose register the report is held against; ``photos`` the folder with the originals of its photos, without
    which what these show is not compared. ``quick`` leaves out making the pages again, without which nothing passes.
    Nothing is raised for a bad report; ``UsageError`` when a file named cannot be read, or the register was changed;
    ``InputError`` for a policy that is none.
    """
    checks = examination_checks(trust, policy=policy, photos=photos, quick=quick)
    if register is not None:
        from reportgen.pipeline.register_agreement import register_agrees, standing_by_register
        from reportgen.register import read_register

        chain = read_register(register).chain
        checks = replace(
            checks,
            register_check=partial(register_agrees, chain, report.name),
            standing_check=partial(standing_by_register, chain),
        )
    return verified_file(report, checks)


def verification_record(verification: Verification, name: str, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the record of a verification as a PDF/A file, tagged; the same arguments give the same bytes.

    ``name`` is the name of the file that was verified; ``page`` is ``A4`` or ``letter``. UsageError for a language
    without a catalogue.
    """
    from reportgen.archival import Metadata, make_archival
    from reportgen.pipeline.building import GENERATOR
    from reportgen.report.record import record_title, render_record

    pages = render_record(verification.plain(), name, page=page, language=language)
    metadata = Metadata(
        title=record_title(name, language),
        number=f"SHA-256 {verification.sha256}",
        issued=dt.datetime.fromisoformat(verification.verified_at),
        producer=GENERATOR,
        author=GENERATOR,
        subject=f"verification of the file with SHA-256 {verification.sha256}",
        language=language,
    )
    return make_archival(pages, metadata=metadata)
