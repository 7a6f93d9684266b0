"""One file verified: the twelve steps in their order, on bytes, in the process that calls it.

A stranger's file goes through ``issued.examine`` instead, which runs this in a child process.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import logging
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import reportgen
from reportgen.errors import MachineError
from reportgen.verification import agreement, bytemap, embedded_files, forbidden_content, naming, outer_bytes, trust
from reportgen.verification.verdict import Reason, Step, Verification, broken_off, not_done, step_of
from reportgen.words.told import broke, told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from reportgen.names import Pin
    from reportgen.verification.embedded_files import Check, Recompute
    from reportgen.verification.forbidden_content import Opened

_OURS = (OSError, ImportError, AssertionError, MachineError)
"""What is no fault of a file that a library was given: the file is in memory."""
_LIBRARIES = ("pyhanko", "pyhanko-certvalidator", "pikepdf", "cryptography")


def verify_report(
    pdf: bytes,
    *,
    at: datetime,
    roots: Sequence[trust.Root] = (),
    timestamp_roots: Sequence[trust.Root] = (),
    crls: Sequence[bytes] = (),
    ocsps: Sequence[bytes] = (),
    recompute: Recompute | None = None,
    page_text_check: Check | None = None,
    rebuild_check: Check | None = None,
    register_check: Check | None = None,
    standing_check: Check | None = None,
    notices: Sequence[str] = (),
    people: Mapping[str, Pin] | None = None,
) -> Verification:
    """Return the verdict on the bytes of a signed report at the moment ``at`` (aware).

    ``roots`` are certificates, their bytes, files or folders; none given means no issuer is known and nothing passes.
    ``timestamp_roots`` likewise: they are believed about the time alone, also where they stand above a signer.
    ``notices`` say which of those given were not read. ``crls`` and ``ocsps`` (DER): where any is given, every
    certificate must be covered. ``people`` are pinned, by the job's id or by name. ``recompute`` takes all embedded
    files by name. Nothing is raised for a bad file; ``UsageError`` for a root.
    """
    belief = trust.Trust.given(roots, timestamp_roots, at, notices, crls=tuple(crls), ocsps=tuple(ocsps))
    opened, findings, first = _open_and_check(pdf, belief)
    evidence, seventh = _files_in(pdf, opened, findings)
    again, eighth = None, not_done(8, told("no-files-to-evaluate"))
    if evidence is not None:
        eighth, again = embedded_files.check_evaluation(evidence, recompute)
        if again:
            evidence = replace(evidence, job=again.job, results=again.results)
            naming.compare_names(findings, again.signatories, people or {})
        disagreeing = agreement.compare_statements(findings, evidence, again)
        seventh = step_of(7, [*seventh.reasons, *disagreeing], seventh.details)
    if again is None:
        naming.compare_sender(findings, people or {})
    steps = [first, *(_unread(range(2, 7)) if opened is None else findings.steps()), seventh, eighth]
    injected = (
        (10, rebuild_check, "PAGES_DIFFER", "nothing-rebuilds"),
        (9, page_text_check, "PAGE_TEXT_DIFFERS", "nothing-reads"),
        (11, register_check, "REGISTER_DISAGREES", "no-register"),
    )
    for number, check, name, absent in injected:
        step, same = embedded_files.check_injected(number, evidence, check, name=name, absent=absent)
        steps.append(step)
        evidence = replace(evidence, rebuilt=True) if evidence and same else evidence
    steps.append(embedded_files.check_standing(evidence, standing_check))
    return Verification(
        sha256=hashlib.sha256(pdf).hexdigest(),
        size=len(pdf),
        verified_at=at.isoformat(timespec="seconds"),
        steps=tuple(sorted(steps, key=lambda step: step.number)),
        signers=tuple(findings.signers),
        unfilled_fields=tuple(findings.unfilled),
        signatories=again.signatories if again else (),
        ends=findings.ends,
        covered=outer_bytes.covered(pdf, findings.gaps), left=outer_bytes.left(pdf, findings.gaps),
        versions=versions(),
    )  # fmt: skip


def _files_in(
    pdf: bytes, opened: Opened | None, findings: naming.SignatureFindings
) -> tuple[embedded_files.Evidence | None, Step]:
    """Return what is embedded, if it can be read, and step 7."""
    if opened is None:
        return None, not_done(7, told("file-unreadable"))
    try:
        evidence, step = embedded_files.check_files(pdf, opened, findings.signing)
        return evidence and replace(evidence, signers=tuple(findings.signers)), step
    except Exception as fault:  # noqa: BLE001 - the library raises a dozen kinds on damaged files; all mean this
        damaged = Reason("EMBEDDED_FILES", told("files-unreadable", why=broke(fault)))
        return None, broken_off(7, fault) if isinstance(fault, _OURS) else step_of(7, [damaged])


@cache
def versions() -> tuple[tuple[str, str], ...]:
    """Return name and version of this program and of the libraries a verdict rests on."""
    return (("reportgen", reportgen.__version__), *((name, importlib.metadata.version(name)) for name in _LIBRARIES))


def unreadable(pdf: bytes, at: datetime, reason: Reason) -> Verification:
    """Return the verification of a file of which nothing but ``reason`` is known."""
    steps = [step_of(1, [reason]), *_unread(range(2, 13))]
    digest = hashlib.sha256(pdf).hexdigest()
    return Verification(digest, len(pdf), at.isoformat(timespec="seconds"), tuple(steps), versions=versions())


def _unread(numbers: range) -> list[Step]:
    return [not_done(number, told("file-unreadable")) for number in numbers]


def _open_and_check(pdf: bytes, belief: trust.Trust) -> tuple[Opened | None, naming.SignatureFindings, Step]:
    """Return the opened file, what its signatures say, and step 1; only here may a damaged file raise anything."""
    for name in ("pyhanko", "pyhanko_certvalidator", "pikepdf"):
        # the libraries' own warnings stay off the terminal: what they say is in the verdict
        logger = logging.getLogger(name)
        if not logger.handlers:
            logger.addHandler(logging.NullHandler())
        logger.propagate = False
    faults = outer_bytes.file_faults(pdf)
    opened: Opened | None = None
    found = naming.SignatureFindings()
    # of a file cut short too: what is whole of it tells whose copy it is
    found.gaps, of_ranges = outer_bytes.byte_ranges(pdf)
    if not any(fault.name in {"FORMAT_FAILURE", "TOO_MANY_REVISIONS"} for fault in faults):
        opened, more = forbidden_content.open_strictly(pdf)
        faults += more
    if opened is not None:
        from reportgen.verification import signatures

        # what the bytes alone say, then what both libraries read
        found.reasons[2] = of_ranges
        found.reasons[4] += outer_bytes.coverage_faults(pdf, found.gaps)
        found.reasons[4] += [fault for gap in found.gaps for fault in outer_bytes.gap_faults(pdf, gap)]
        try:
            reader = signatures.open_reader(pdf)
            signatures.check_signatures(pdf, reader, belief, found)
            faults += forbidden_content.content_faults(opened) + bytemap.orphan_bytes(pdf, reader)
            faults += bytemap.number_gaps(reader)
        except MemoryError:
            faults.append(Reason("RESOURCE_LIMIT", told("too-much-memory")))
        except _OURS as fault:
            return opened, found, broken_off(1, fault)
        except Exception as fault:  # noqa: BLE001 - the libraries raise a dozen kinds on damaged files; all mean this
            faults.append(Reason("FORMAT_FAILURE", told("file-unreadable-as-built", why=broke(fault))))
    hashed = told("hash-of-file", sha256=hashlib.sha256(pdf).hexdigest())
    return opened, found, step_of(1, faults, [hashed, told("size-of-file", size=len(pdf))])
