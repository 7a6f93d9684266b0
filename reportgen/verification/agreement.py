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
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.formats import IssueFacts
    from reportgen.verification.embedded_files import Evidence, Recomputed
    from reportgen.verification.naming import SignatureFindings
    from reportgen.words.told import Told

_HASH = re.compile("[0-9a-f]{64}")
_STATUS = {"issue": "status-issue", "demonstration": "status-demonstration"}


def compare_statements(found: SignatureFindings, evidence: Evidence, again: Recomputed | None) -> list[Reason]:
    """Add to ``found`` where times and status do not agree, and return where the embedded files do not (step 7).

    ``again`` is what follows from the embedded job, None where that could not be read.
    """
    try:
        facts = read_issue(evidence.files)
        moment = facts.moment
    except OtherReleaseError as later:
        return [Reason("OTHER_RELEASE", words_of(later))]
    except ValueError as lack:
        # a list of a later format, which step 7 leaves open, may name it in another way
        return [] if evidence.manifest.format > FORMAT else [Reason("EMBEDDED_FILES", words_of(lack))]
    naming.compare_certificate(found, facts.certificate)
    if facts.site is not None:  # step 7 compares both with the job
        naming.compare_fields(found, ISSUE_NAME, facts.signers, facts.site)
    status = {
        "issue": [],
        "demonstration": [Reason("DEMONSTRATION", told("report-a-demonstration"))],
    }
    wrong = told("not-an-issue", status=facts.status[:40])
    found.reasons[6] += status.get(facts.status, [Reason("NOT_ISSUED", wrong)])
    found.reasons[6] += _times(found, moment, again)
    found.details[6].append(
        told(_STATUS.get(facts.status, "status-other"), status=facts.status, at=f"{moment:%Y-%m-%d %H:%M:%S %z}")
    )
    unnamed = [*_later_format(facts), *(_replaces_nothing(facts) if facts.status == "issue" else [])]
    if again is None:
        return unnamed
    says = {ISSUE_NAME: (facts.number, facts.revision)}
    with contextlib.suppress(ValueError):  # step 8 says so
        report = head(evidence.files.get(EVALUATION_NAME, b"")).report
        says[EVALUATION_NAME] = (report.number, report.revision)
    differing = [
        told("number-disagrees", file=file, number=number, revision=revision, own=again.number, own_rev=again.revision)
        for file, (number, revision) in says.items()
        if (number, revision) != (again.number, again.revision)
    ]
    if facts.date != again.date:
        differing.append(told("date-disagrees", file=ISSUE_NAME, date=facts.date[:40], own=again.date))
    if (facts.site, facts.signers) != (again.site, again.signatories):
        differing.append(told("signers-disagree", file=ISSUE_NAME))
    differing += _unreleased_slip(facts, again)
    named = facts.supersedes
    stated = None if named is None else (named.revision, named.reason if _HASH.fullmatch(named.sha256) else "")
    # what is no issue was made without a register, in which alone the hash is found
    if stated != again.replaces and facts.status == "issue":
        differing.append(told("replaced-disagrees", file=ISSUE_NAME))
    return [*unnamed, *(Reason("FILES_DISAGREE", sentence) for sentence in differing)]


def _later_format(facts: IssueFacts) -> Iterator[Reason]:
    """Yield OTHER_RELEASE for issue facts of a later format, of which what is known here is compared all the same."""
    try:
        facts.require_known()
    except OtherReleaseError as later:
        yield Reason("OTHER_RELEASE", words_of(later))


def _unreleased_slip(facts: IssueFacts, again: Recomputed) -> Iterator[Told]:
    """Yield a sentence where a slip is of an area that the job does not release as a whole, or that is primed."""
    if facts.slip is None or again.results is None:
        return
    if facts.slip not in again.results.for_slips:
        yield told("slip-of-unreleased", file=ISSUE_NAME, area=facts.slip[:40])


def _replaces_nothing(facts: IssueFacts) -> list[Reason]:
    """Return FILES_DISAGREE where a report does not name as replaced the one revision before it, and why.

    Nothing else is ever issued: whoever holds the file alone could not know that another came before, nor which.
    """
    named = facts.supersedes
    if facts.revision == 0 and named is None:
        return []
    if facts.revision > 0 and named is not None and named.revision == facts.revision - 1 and named.reason.strip():
        return []
    before = told("replaces-one", revision=facts.revision - 1) if facts.revision else told("replaces-none")
    if named is None:
        what = told("names-nothing")
    else:
        what = told("names-revision" if named.reason.strip() else "names-revision-bare", revision=named.revision)
    sentence = told("replaces-otherwise", file=ISSUE_NAME, revision=facts.revision, expected=before, named=what)
    return [Reason("FILES_DISAGREE", sentence)]


def _times(found: SignatureFindings, moment: datetime, again: Recomputed | None) -> Iterator[Reason]:
    claimed = [None if one.claimed_time is None else datetime.fromisoformat(one.claimed_time) for one in found.signers]
    first = claimed[0] if claimed else None
    if first is not None and abs(first - moment) >= timedelta(seconds=1):
        sentence = told("issued-and-signed-at", issued=moment.isoformat(), signed=first.isoformat())
        yield Reason("TIMES_DISAGREE", sentence)
    if again is not None and moment < again.began:
        sentence = told("issued-before-shift", issued=moment.isoformat(), began=again.began.isoformat())
        yield Reason("TIMES_DISAGREE", sentence)
    for ahead in again.ahead[:1] if again is not None else ():
        yield Reason("TIMES_DISAGREE", told("not-yet-happened", what=ahead))
    for signer, at in zip(found.signers[1:], claimed[1:], strict=True):
        if first is not None and at is not None and at < first:
            yield Reason("TIMES_DISAGREE", told("signed-before-report", field=signer.field))
