"""The register of a contract folder against its reports: checked, and made again when it is lost."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, NamedTuple

from reportgen.errors import EXIT_DONE, EXIT_ENVIRONMENT, EXIT_FINDINGS, EXIT_INPUT, MachineError, UsageError
from reportgen.pipeline.clock import now
from reportgen.pipeline.filing import examination_checks, examined_file
from reportgen.words.told import broke, told, words_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from reportgen.issued import Checks, Filed
    from reportgen.register import Problem, Rebuilt, Witness
    from reportgen.seal import Identity
    from reportgen.words.told import Told


@dataclass(frozen=True, slots=True)
class SetAside:
    """A file that is no proven report: why, its verdict where it has one, and whether this machine could not tell.

    ``witness`` is what it says of itself, where it holds what a report holds and nothing failed.
    """

    file: str
    why: Told
    verdict: Literal["passed", "failed", "indeterminate"] | None = None
    broke_off: bool = False
    witness: Witness | None = None


@dataclass(frozen=True, slots=True)
class Remade:
    """The outcome of making a register again: what it has, or None and ``refused`` where nothing was changed.

    ``set_aside`` are the files that did not enter.
    """

    folder: Path
    rebuilt: Rebuilt | None
    set_aside: tuple[SetAside, ...] = ()
    refused: Told | None = None

    @property
    def exit_code(self) -> int:
        """1 where a file is set aside, 2 where nothing was changed, 4 where that is a fault of this machine."""
        if self.rebuilt is not None:
            return EXIT_FINDINGS if self.set_aside else EXIT_DONE
        return EXIT_ENVIRONMENT if any(one.broke_off for one in self.set_aside) else EXIT_INPUT

    @property
    def said(self) -> list[str]:
        """What was made or refused, then each file that did not enter, in sentences."""
        lines: list[str] = [] if self.refused is None else [self.refused]
        if (made := self.rebuilt) is not None:
            held = {"reports": made.reports, "slips": made.slips or None, "rows": made.rows_kept}
            lines.append(told("register-remade", folder=str(self.folder), **held))
            lines += [told("register-kept-aside", file=made.kept_aside)] if made.kept_aside else []
            lines += made.losses
        return [*lines, *(one.why for one in self.set_aside)]

    @property
    def listed(self) -> list[dict[str, str | None]] | None:
        """The files that did not enter, for a program; None where all did."""
        return [{"file": one.file, "verdict": one.verdict, "why": str(one.why)} for one in self.set_aside] or None


def check_register_of(
    folder: Path, reports: Sequence[Path] = (), *, trust: Sequence[Path] = (), policy: Path | None = None
) -> list[Problem]:
    """Check the register of a contract folder, with the reports in it and any others given; change nothing.

    With ``trust`` or a ``policy`` only what passes speaks against the register; without, whatever does not fail. The
    others are problems themselves, but for those that the register has.

    Raises:
        UsageError, InputError: as ``verify`` for what is trusted. MachineError: the disk fails.
    """
    from reportgen.register import Problem, check_register

    checks = _checks(trust, policy)
    witnesses, aside, claims = _judged(folder, reports, checks)
    if not checks.policy.roots:
        witnesses += [one.witness for one in aside if one.witness is not None]
        aside = [one for one in aside if one.witness is None]
    problems = check_register(folder, witnesses, pattern=_pattern(folder), at=now())
    known = _registered(folder)
    unproven = [one for one in aside if one.witness is None or one.witness.signed_sha256 not in known]
    copies = [one for one in unproven if one.witness is not None and one.witness.entry.unsigned_sha256 in known]
    listed = [Problem("report-unproven", one.why, grave=one not in copies) for one in unproven]
    return [*problems, *_not_entitled(claims), *listed]


def rebuild_register_of(
    folder: Path,
    reports: Sequence[Path] = (),
    *,
    trust: Sequence[Path] = (),
    policy: Path | None = None,
    identity: Identity | None = None,
) -> Remade:
    """Write the register of a contract folder anew from its reports that pass; the old one stays beside it.

    They are judged as ``verify`` does, by ``trust`` or a ``policy``; of an ``identity`` what stands above its
    certificate is trusted too, as when it signs. Whatever does not pass is set aside and told.

    Raises:
        UsageError: nobody is trusted, so that nothing passes; or there is nothing to mend and nothing was set aside.
    """
    from reportgen.register import rebuild_register

    checks = _checks(trust, policy, identity)
    if not checks.policy.roots:
        raise UsageError(told("rebuild-without-trust"), help_text=told("rebuild-trust-how"))
    witnesses, aside, _ = _judged(folder, reports, checks)
    if any(one.broke_off for one in aside):  # it would be lost though nothing is wrong with it
        return Remade(folder, None, tuple(aside), told("rebuild-broke-off"))
    try:
        return Remade(folder, rebuild_register(folder, witnesses, at=now()), tuple(aside))
    except UsageError as refusal:
        if not aside:
            raise
        return Remade(folder, None, tuple(aside), words_of(refusal))


def _checks(trust: Sequence[Path], policy: Path | None, identity: Identity | None = None) -> Checks:
    """Return how reports are judged for a register: all that is asked for but the register itself."""
    from cryptography.hazmat.primitives.serialization import Encoding

    checks = examination_checks(trust, policy=policy)
    own = () if identity is None else tuple(one.public_bytes(Encoding.DER) for one in identity.anchors)
    asked = tuple(one for one in checks.policy.require if one != "register")
    return replace(checks, policy=replace(checks.policy, roots=(*checks.policy.roots, *own), require=asked))


class _Claim(NamedTuple):
    """A report that did not fail, by its file, and what it claims to be."""

    file: str
    number: str
    filed: Filed


def _not_entitled(claims: Sequence[_Claim]) -> Iterator[Problem]:
    """Yield each revision by one whom the report that it revises does not name, as an audit says it too."""
    from reportgen.issued import outcomes
    from reportgen.register import Problem

    numbers: dict[str, list[_Claim]] = {}
    for one in claims:
        numbers.setdefault(one.number, []).append(one)
    placed = [
        (own, one, at)
        for own in numbers.values()
        for one, at in zip(own, outcomes([each.filed for each in own]), strict=True)
    ]
    for own, one, outcome in placed:
        if outcome.place == "not entitled":
            what = told("a-revision", number=one.number, revision=one.filed.revision)
            why = told("revision-by-stranger", what=what, file=one.file, files=[own[at].file for at in outcome.beside])
            yield Problem("revision-not-entitled", why, number=one.number)


def _judged(
    folder: Path, reports: Sequence[Path], checks: Checks
) -> tuple[list[Witness], list[SetAside], list[_Claim]]:  # fmt: skip
    """Judge every report and slip, given or in the folder, each in a child: those that pass, the others, the claims.

    No file ends it for the others.
    """
    held = [*sorted(folder.glob("reports/*.pdf")), *sorted(folder.glob("reports/slips/*.pdf"))]
    passed: list[Witness] = []
    aside: list[SetAside] = []
    claims: list[_Claim] = []
    for path in dict.fromkeys([*reports, *held]):
        found = _judge(folder, path, checks, claims)
        if isinstance(found, SetAside):
            aside.append(found)
        else:
            passed.append(found)
    return passed, aside, claims


def _judge(folder: Path, path: Path, checks: Checks, claims: list[_Claim]) -> Witness | SetAside:
    """Return what a file that passes says of itself; or why it is set aside. What it claims to be joins ``claims``."""
    from reportgen.archival import read_attachments
    from reportgen.issued import filed, read_pdf, shown_name
    from reportgen.issued.witness import witness_of

    name = path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name
    shown = shown_name(path)
    if not name.isprintable():
        return SetAside(shown, told("set-aside-unread", file=shown, why=told("name-unseen")))
    try:
        examined = examined_file(path, checks)
        answer = examined.verification
        pdf = read_pdf(path)
    except (UsageError, MachineError) as fault:
        why = told("set-aside-unread", file=shown, why=words_of(fault))
        return SetAside(shown, why, broke_off=isinstance(fault, MachineError))
    reasons = tuple(told("reason-named", what=one.sentence, name=one.name) for one in answer.reasons)
    why = told("set-aside", file=shown, verdict=told(f"overall-{answer.overall}"), why=reasons)
    if answer.overall == "failed":
        return SetAside(shown, why, "failed")
    try:
        witness = witness_of(pdf, read_attachments(pdf), name, answer.signers)
    except (ValueError, TypeError, KeyError) as lack:
        own = told("set-aside-no-report", file=shown, why=broke(lack))
        return SetAside(shown, own, answer.overall, answer.broke_off)
    if examined.record is not None:
        claims.append(_Claim(shown, examined.record.number, filed(answer, examined.record)))
    return witness if answer.overall == "passed" else SetAside(shown, why, answer.overall, answer.broke_off, witness)


def _registered(folder: Path) -> set[str]:
    """Return the hashes of all that the register has, signed and before that, as far as it is sound."""
    from reportgen.register import RegisterError, read_register

    try:
        chain = read_register(folder).chain
    except RegisterError as fault:
        chain = fault.sound
    except UsageError:
        return set()
    rows = filter(None, (row.report for row in chain.issued.values()))
    return {digest for one in (*rows, *chain.slips) for digest in (one.signed_sha256, one.unsigned_sha256)}


def _pattern(folder: Path) -> str | None:
    """Return the project's pattern of report numbers, where its project file can be read."""
    from reportgen.loader.assembly import load_project

    return load_project(folder / "project.yaml").project.report_numbers if (folder / "project.yaml").exists() else None
