"""What a signed report says of itself and of the register it was issued upon."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from reportgen.errors import ReportgenError
from reportgen.formats import (
    OtherReleaseError,
    read_issue,
)
from reportgen.names import spelt_alike
from reportgen.words.told import broke, told, words_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from reportgen.issued import Checks
    from reportgen.register import Chain
    from reportgen.verification import Evidence, Outcome
    from reportgen.words.told import Told


def standing_by_register(chain: Chain, name: str, evidence: Evidence) -> Outcome:
    """Step 12 of a verification: has the register a later revision of the report?

    One that does not have the very file, or says otherwise of it, tells nothing of that.
    """
    from reportgen.issued.witness import witness_of
    from reportgen.register import contradictions
    from reportgen.verification import Outcome

    try:
        facts = read_issue(evidence.files)
        witness = witness_of(evidence.pdf, evidence.files, name, evidence.signers)
        told_of = contradictions(chain, witness)
        untold = [problem.message for problem in told_of if problem.grave or problem.code == "report-changed"]
    except (ValueError, TypeError) as lack:
        return Outcome("not done", (broke(lack),))
    if untold:
        return Outcome("not done", (told("standing-untold", why=untold[0]),))
    if facts.slip is not None:
        issued = any(number == facts.number for number, _ in chain.issued)
        return (
            Outcome("superseded", (told("superseded-by-report", number=facts.number),))
            if issued
            else Outcome("passed", (told("current-slip"),))
        )
    later = [revision for number, revision in chain.issued if number == facts.number and revision > facts.revision]
    if later:
        return Outcome("superseded", (told("superseded-by-revision", revision=max(later)),))
    if chain.unread is not None:
        return Outcome("not done", (told("register-of-later-release"),))
    return Outcome("passed", (told("current"),))


def register_unread(why: Told, _: Evidence) -> Outcome:
    """Steps 11 and 12 where a register was given that cannot be read: nothing is held against the report."""
    from reportgen.verification import Outcome

    return Outcome("not done", (told("register-cannot-be-read", why=why),))


def register_agrees(chain: Chain, name: str, evidence: Evidence) -> Outcome:
    """Step 11 of a verification: does the register know the report as it is?"""
    from reportgen.issued.witness import witness_of
    from reportgen.register import contradictions, copied_of
    from reportgen.verification import Notice, Outcome

    try:
        evidence.manifest.require_known()
        witness = witness_of(evidence.pdf, evidence.files, name, evidence.signers)
        problems = contradictions(chain, witness)
    except OtherReleaseError as later:
        return Outcome("indeterminate", (words_of(later),))
    except (ValueError, TypeError) as lack:
        return Outcome("failed", (told("not-found-in-register", why=broke(lack)),))
    if problems:
        said = tuple(problem.message for problem in problems)
        if any(problem.grave for problem in problems):
            return Outcome("failed", said)
        unchecked = any(problem.code == "report-changed" for problem in problems)
        return Outcome("not done" if unchecked else "indeterminate", said)
    entry = witness.entry
    own = {"number": entry.number, "revision": entry.revision, "row": entry.head.sequence}
    if copied_of(chain, witness) is None:
        return Outcome("passed", (told("register-knows", **own),))
    written = Notice("WRITTEN_OTHERWISE", told("copy-of-registered", what=witness.issue.title, file=name))
    return Outcome("passed", (told("register-knows-copied", **own),), notices=(written,))


def registers_of(folders: Sequence[Path]) -> tuple[tuple[str | None, Chain], ...]:
    """Return the registers of contract folders, each with its contract.

    Raises:
        UsageError: a register cannot be read.
    """
    from reportgen.register import read_register

    return tuple((_contract(folder), read_register(folder).chain) for folder in folders)


def with_registers(checks: Checks, registers: Sequence[tuple[str | None, Chain]]) -> Checks:
    """Return the checks of many files with registers, each for the reports of its contract."""
    return replace(checks, registers=partial(one_agrees, registers)) if registers else checks


def _contract(folder: Path) -> str | None:
    """Return the contract that the project file beside a register states; None where that cannot be read."""
    from reportgen.loader.assembly import load_project

    try:
        return str(load_project(folder / "project.yaml").project.contract)
    except ReportgenError:
        return None


def one_agrees(chains: Sequence[tuple[str | None, Chain]], name: str, evidence: Evidence) -> Outcome:
    """Step 11 by several registers, each with its contract: by those of the report's; without any it is not done."""
    from reportgen.register import stem
    from reportgen.verification import Outcome

    if evidence.job is None:
        return Outcome("not done", (told("no-register-of-contract"),))
    own = evidence.job.project.project.contract
    number = stem(evidence.job.day.report.number)
    found = [
        register_agrees(chain, name, evidence)
        for contract, chain in chains
        if (spelt_alike(contract, own) if contract else number in {stem(one) for one, _ in chain.issued})
    ]
    first = found[0] if found else Outcome("not done", (told("no-register-of-contract"),))
    return next((one for one in found if one.status == "passed"), first)
