"""Numbers and revisions across an archive: gaps, duplicates, revisions without reason, superseded ones still in use."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from reportgen.audit.problems import Problem
from reportgen.register import missing_numbers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index


def numbering_problems(index: Index) -> Iterator[Problem]:
    """Yield everything wrong with numbers and revisions."""
    yield from _missing(index)
    yield from _duplicates(index)
    yield from _revisions(index)
    yield from _built_upon(index)
    yield from _submitted(index)


def _missing(index: Index) -> Iterator[Problem]:
    """A number is there when any file claims it: one that failed is reported by itself."""
    contracts = index.rows(
        "SELECT contract, MAX(pattern), MIN(number) FROM reports GROUP BY contract ORDER BY contract"
    )
    for contract, stated, example in contracts:
        pattern = stated or _derived(example)
        if pattern is None:
            continue
        numbers = index.rows("SELECT DISTINCT number FROM files WHERE contract = ? ORDER BY number", contract)
        for number in missing_numbers(pattern, [one for (one,) in numbers]):
            sentence = f"there is no {number}, although a higher number of {contract} was issued"
            yield Problem(contract, number, "number-missing", "", sentence, ())


def _derived(number: str) -> str | None:
    """Return a pattern whose last run of digits counts, for a contract that states none."""
    found = re.fullmatch(r"(.*?)(\d+)(\D*)", number)
    return f"{found[1]}{'#' * len(found[2])}{found[3]}" if found else None


def _duplicates(index: Index) -> Iterator[Problem]:
    twice = index.rows(
        "SELECT contract, number, revision FROM reports GROUP BY contract, number, revision HAVING COUNT(*) > 1"
        " ORDER BY 1, 2, 3"
    )
    for contract, number, revision in twice:
        files = _paths(index, contract, number, revision)
        sentence = f"{number} revision {revision} exists in {len(files)} different files"
        yield Problem(contract, number, "number-duplicate", "", sentence, files)


def _paths(index: Index, contract: str, number: str, revision: int) -> tuple[str, ...]:
    question = "SELECT path FROM reports WHERE contract = ? AND number = ? AND revision = ? ORDER BY path"
    return tuple(path for (path,) in index.rows(question, contract, number, revision))


def _revisions(index: Index) -> Iterator[Problem]:
    later = index.rows(
        "SELECT path, contract, number, revision, supersedes_revision, supersedes_sha256, supersedes_reason"
        " FROM reports WHERE revision > 0 ORDER BY path"
    )
    for path, contract, number, revision, told, sha256, reason in later:
        title = f"{number} revision {revision}"
        if told != revision - 1 or not (reason or "").strip():
            sentence = f"{title} does not say which revision it replaces, and why"
            yield Problem(contract, number, "revision-without-reason", "", sentence, (path,))
        before = index.rows(
            "SELECT path, sha256 FROM files WHERE contract = ? AND number = ? AND revision = ? ORDER BY path",
            contract, number, revision - 1,
        )  # fmt: skip
        if not before:
            sentence = f"{title} is there, revision {revision - 1} is not"
            yield Problem(contract, number, "revision-missing", "", sentence, (path,))
        elif sha256 is not None and sha256 not in {one for _, one in before}:
            sentence = f"{title} replaces a file that is not the revision {revision - 1} which is there"
            files = (path, *(one for one, _ in before))
            yield Problem(contract, number, "revision-of-other-file", "", sentence, files)


def _built_upon(index: Index) -> Iterator[Problem]:
    """A report carries forward from the day file of a revision although the next one had been issued before it."""
    rows = index.rows(
        "SELECT user.contract, user.number, user.path, old.number, old.revision, old.path, next.issued_at"
        " FROM earlier JOIN reports AS old ON old.day_sha256 = earlier.day_sha256"
        " JOIN reports AS user ON user.path = earlier.path AND user.contract = old.contract"
        " JOIN reports AS next ON next.contract = old.contract AND next.number = old.number"
        " AND next.revision = old.revision + 1 AND next.issued_at < user.issued_at"
        " AND next.day_sha256 != old.day_sha256 ORDER BY user.path, old.path"
    )
    for contract, number, path, old, revision, old_path, since in rows:
        sentence = f"{number} builds upon {old} revision {revision}, which had been superseded on {since[:10]}"
        yield Problem(contract, number, "superseded-in-use", "", sentence, (path, old_path))


def _submitted(index: Index) -> Iterator[Problem]:
    """A submittal encloses a revision without the next one, which had been issued before the submittal was signed."""
    rows = index.rows(
        "SELECT enclosed.path, files.signers, old.contract, old.number, old.revision, next.issued_at"
        " FROM enclosed JOIN files ON files.path = enclosed.path AND files.overall != 'failed'"
        " JOIN reports AS old ON old.sha256 = enclosed.sha256"
        " JOIN reports AS next ON next.contract = old.contract AND next.number = old.number"
        " AND next.revision = old.revision + 1"
        " WHERE next.sha256 NOT IN (SELECT sha256 FROM enclosed AS own WHERE own.path = enclosed.path)"
        " ORDER BY enclosed.path, old.number, old.revision"
    )
    for path, signers, contract, number, revision, since in rows:
        signed = max([str(one["claimed_time"] or "") for one in json.loads(signers)], default="")
        if since[:19] < signed[:19]:
            sentence = f"{path} encloses {number} revision {revision}, which had been superseded on {since[:10]}"
            yield Problem(contract, number, "superseded-in-use", "", sentence, (path,))
