"""What report, issue facts, embedded job and signatures say of one another: they must all tell the same.

Nobody signs for what has not begun, nobody countersigns what is not signed, and only what says so itself is issued.
"""

from __future__ import annotations

import contextlib
import re
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from reportgen.formats import EVALUATION_NAME, ISSUE_NAME, OtherReleaseError, head, read_issue
from reportgen.formats.manifest import FORMAT
from reportgen.verification import naming
from reportgen.verification.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.verification.embedded_files import Evidence, Recomputed
    from reportgen.verification.naming import SignatureFindings

_HASH = re.compile("[0-9a-f]{64}")


def compare_statements(found: SignatureFindings, evidence: Evidence, again: Recomputed | None) -> list[Reason]:
    """Add to ``found`` where times and status do not agree, and return where the embedded files do not (step 7).

    ``again`` is what follows from the embedded job, None where that could not be read.
    """
    try:
        facts = read_issue(evidence.files)
        moment = facts.moment
    except OtherReleaseError as later:
        return [Reason("OTHER_RELEASE", str(later))]
    except ValueError as lack:
        # a list of a later format, which step 7 leaves open, may name it in another way
        return [] if evidence.manifest.format > FORMAT else [Reason("EMBEDDED_FILES", str(lack))]
    naming.compare_certificate(found, facts.certificate)
    status = {
        "issue": [],
        "demonstration": [Reason("DEMONSTRATION", "the report calls itself a demonstration, not valid for issue")],
    }
    wrong = f"the report was signed as what it calls `{facts.status[:40]}`, not as an issue"
    found.reasons[6] += status.get(facts.status, [Reason("NOT_ISSUED", wrong)])
    found.reasons[6] += _times(found, moment, again)
    found.details[6].append(f"{facts.status}, {moment:%Y-%m-%d %H:%M:%S %z}")
    if again is None:
        return []
    told = {f"{ISSUE_NAME} says": (facts.number, facts.revision)}
    with contextlib.suppress(ValueError):  # step 8 says so
        report = head(evidence.files.get(EVALUATION_NAME, b"")).report
        told[f"{EVALUATION_NAME} says"] = (report.number, report.revision)
    differing = [
        f"{who} {number} revision {revision}, the day file {again.number} revision {again.revision}"
        for who, (number, revision) in told.items()
        if (number, revision) != (again.number, again.revision)
    ]
    if facts.date != again.date:
        differing.append(f"{ISSUE_NAME} says that the report is of {facts.date[:40]}, the day file of {again.date}")
    if facts.signers != again.signatories:
        differing.append(f"{ISSUE_NAME} does not name those to sign whom the job names")
    named = facts.supersedes
    stated = None if named is None else (named.revision, named.reason if _HASH.fullmatch(named.sha256) else "")
    # what is no issue was made without a register, in which alone the hash is found
    if stated != again.replaces and facts.status == "issue":
        differing.append(f"{ISSUE_NAME} and the day file do not name, with reason and SHA-256, one report as replaced")
    return [Reason("FILES_DISAGREE", sentence) for sentence in differing]


def _times(found: SignatureFindings, moment: datetime, again: Recomputed | None) -> Iterator[Reason]:
    claimed = [None if one.claimed_time is None else datetime.fromisoformat(one.claimed_time) for one in found.signers]
    first = claimed[0] if claimed else None
    if first is not None and abs(first - moment) >= timedelta(seconds=1):
        sentence = f"the report says it was issued at {moment.isoformat()}, its signature {first.isoformat()}"
        yield Reason("TIMES_DISAGREE", sentence)
    if again is not None and moment < again.began:
        sentence = f"the report was issued at {moment.isoformat()}, before its shift began at {again.began.isoformat()}"
        yield Reason("TIMES_DISAGREE", sentence)
    for signer, at in zip(found.signers[1:], claimed[1:], strict=True):
        if first is not None and at is not None and at < first:
            sentence = f"the signature in {signer.field} claims an earlier time than the report that it is under"
            yield Reason("TIMES_DISAGREE", sentence)
