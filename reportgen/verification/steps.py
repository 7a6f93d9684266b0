"""One file verified: the eleven steps in their order, on bytes, in the process that calls it.

A stranger's file goes through ``isolation`` instead, which runs this in a child process with limits.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import logging
from dataclasses import replace
from typing import TYPE_CHECKING

import reportgen
from reportgen.verification import bytemap, embedded_files, forbidden_content, naming, outer_bytes, trust
from reportgen.verification.findings import SignatureFindings, look_at_envelope
from reportgen.verification.verdict import Reason, Step, Verification, not_done, step_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    import pikepdf

    from reportgen.verification.embedded_files import Check, Recompute
    from reportgen.verification.replay import Signing

_LIBRARIES = ("pyhanko", "pyhanko-certvalidator", "pikepdf", "cryptography")


def verify_report(
    pdf: bytes,
    *,
    at: datetime,
    roots: Sequence[trust.Root] = (),
    crls: Sequence[bytes] = (),
    ocsps: Sequence[bytes] = (),
    recompute: Recompute | None = None,
    page_text_check: Check | None = None,
    rebuild_check: Check | None = None,
    register_check: Check | None = None,
    notices: Sequence[str] = (),
) -> Verification:
    """Return the verdict on the bytes of a signed report at the moment ``at`` (aware).

    ``roots`` are certificates, their bytes, files or folders; none given means no issuer is known and nothing passes.
    ``notices`` say which of those given were not read. ``crls`` and ``ocsps`` (DER): where any is given, every
    certificate must be covered. ``recompute`` takes all embedded files by name. Nothing is raised for a bad file;
    ``UsageError`` for a root.
    """
    known, unread = trust.read_trusted(roots)
    belief = trust.Trust(known, at, tuple(crls), tuple(ocsps), (*notices, *unread))
    _silence_libraries()
    opened, findings, first = _open_and_check(pdf, belief)
    signing = findings.signing if findings else None
    evidence, seventh = None, not_done(7, "the file cannot be read")
    if opened is not None:
        evidence, seventh = _files(pdf, opened, signing)
    evidence, again, eighth = _evaluated(evidence, recompute)
    if findings and again:
        naming.compare_names(findings, again.signatories, again.site)
    steps = [first, *(findings.steps() if findings else _unread(range(2, 7))), seventh, eighth]
    injected = (
        (9, page_text_check, "PAGE_TEXT_DIFFERS", "nothing that reads the pages was given"),
        (10, rebuild_check, "PAGES_DIFFER", "nothing that rebuilds the pages was given"),
        (11, register_check, "REGISTER_DISAGREES", "no register was given"),
    )
    for number, check, name, absent in injected:
        steps.append(embedded_files.check_injected(number, evidence, check, name=name, absent=absent))
    return Verification(
        sha256=hashlib.sha256(pdf).hexdigest(),
        size=len(pdf),
        verified_at=at.isoformat(timespec="seconds"),
        steps=tuple(steps),
        signers=tuple(findings.signers) if findings else (),
        unfilled_fields=tuple(findings.unfilled) if findings else (),
        signatories=again.signatories if again else (),
        versions=versions(),
    )


def versions() -> tuple[tuple[str, str], ...]:
    """Return name and version of this program and of the libraries a verdict rests on."""
    return (("reportgen", reportgen.__version__), *((name, importlib.metadata.version(name)) for name in _LIBRARIES))


def unreadable(pdf: bytes, at: datetime, reason: Reason) -> Verification:
    """Return the verification of a file of which nothing but ``reason`` is known."""
    steps = [step_of(1, [reason]), *_unread(range(2, 12))]
    digest = hashlib.sha256(pdf).hexdigest()
    return Verification(digest, len(pdf), at.isoformat(timespec="seconds"), tuple(steps), versions=versions())


def _unread(numbers: range) -> list[Step]:
    return [not_done(number, "the file cannot be read") for number in numbers]


def _silence_libraries() -> None:
    """Keep the libraries' own warnings off the terminal: what they say is in the verdict."""
    for name in ("pyhanko", "pyhanko_certvalidator", "pikepdf"):
        logger = logging.getLogger(name)
        if not logger.handlers:
            logger.addHandler(logging.NullHandler())
        logger.propagate = False


def _open_and_check(pdf: bytes, belief: trust.Trust) -> tuple[pikepdf.Pdf | None, SignatureFindings | None, Step]:
    """Return the opened file, what its signatures say, and step 1; only here may a damaged file raise anything."""
    faults = outer_bytes.file_faults(pdf)
    opened: pikepdf.Pdf | None = None
    findings: SignatureFindings | None = None
    if not any(fault.name in {"FORMAT_FAILURE", "TOO_MANY_REVISIONS"} for fault in faults):
        opened, more = forbidden_content.open_strictly(pdf)
        faults += more
    if opened is not None:
        findings = look_at_envelope(pdf)
        faults += _read(pdf, opened, belief, findings)
    return opened, findings, step_of(1, faults, [f"SHA-256 {hashlib.sha256(pdf).hexdigest()}", f"{len(pdf)} bytes"])


def _read(pdf: bytes, opened: pikepdf.Pdf, belief: trust.Trust, findings: SignatureFindings) -> list[Reason]:
    """Let both libraries read the file: add to ``findings``, return what is wrong with the file itself."""
    from reportgen.verification import signatures

    try:
        reader = signatures.open_reader(pdf)
        signatures.check_signatures(pdf, reader, belief, findings)
        return forbidden_content.content_faults(opened) + bytemap.orphan_bytes(pdf, reader)
    except MemoryError:
        return [Reason("RESOURCE_LIMIT", "reading the file needs more memory than it is given")]
    except Exception as fault:  # noqa: BLE001 - the libraries raise a dozen kinds on damaged files; all mean this
        return [Reason("FORMAT_FAILURE", f"the file's structure is damaged ({type(fault).__name__})")]


def _files(pdf: bytes, opened: pikepdf.Pdf, signing: Signing | None) -> tuple[embedded_files.Evidence | None, Step]:
    try:
        return embedded_files.check_files(pdf, opened, signing)
    except Exception as fault:  # noqa: BLE001 - as above
        kind = type(fault).__name__
        return None, step_of(7, [Reason("EMBEDDED_FILES", f"the embedded files cannot be read ({kind})")])


def _evaluated(
    evidence: embedded_files.Evidence | None, recompute: embedded_files.Recompute | None
) -> tuple[embedded_files.Evidence | None, embedded_files.Recomputed | None, Step]:
    """Return the evidence with the results of evaluating it again, all that this gave, and step 8."""
    if evidence is None:
        return None, None, not_done(8, "there are no embedded files to evaluate")
    step, again = embedded_files.check_evaluation(evidence, recompute)
    return (replace(evidence, results=again.results) if again else evidence), again, step
