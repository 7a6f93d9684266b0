"""Numbers and revisions across an archive: gaps, duplicates, revisions without reason, superseded ones still in use."""

from __future__ import annotations

import json
import re
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from reportgen.audit.places import place_problems
from reportgen.audit.problems import Problem, a_moment, a_revision
from reportgen.formats.decoding import value_from
from reportgen.issued import NOT_STATED, sequences
from reportgen.register import Issue, astray, forks, issues_in, missing, turned_back
from reportgen.register.numbering import number_at, position
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Sequence

    from reportgen.audit.index import Index
    from reportgen.register import Chain
    from reportgen.words.told import Told

    Registers = Sequence[tuple[str | None, Chain]]


LONGEST_LISTED = 20
"""Missing numbers in a row up to which each is named by itself."""


def numbering_problems(
    index: Index, registers: Registers = (), held: Container[str] = ()
) -> Iterator[Problem]:  # fmt: skip
    """Yield everything wrong with numbers and revisions, by the files and by ``registers`` that are given with them.

    ``held`` are the hashes of what is here, as the registers know it.
    """
    absent = [*_missing(index), *_revisions(index)]
    yield from absent
    yield from place_problems(index)
    yield from _built_upon(index)
    yield from _submitted(index)
    yield from _forks(index, registers)
    told_of = {one.number for one in absent}
    yield from (one for one in _registered(index, registers, held) if one.number not in told_of)


def _missing(index: Index) -> Iterator[Problem]:
    """Numbers that no report has, below the highest that one has; what did not pass neither fills nor makes a gap.

    That is so where any report of the contract is proven; where none is, all are taken as they are.
    """
    contracts = index.rows("SELECT contract, MAX(overall = 'passed') FROM reports GROUP BY contract ORDER BY contract")
    for contract, some_proven in contracts:
        which = "FROM reports WHERE contract = ?" + (" AND overall = 'passed'" if some_proven else "")
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        known = sequences(index.each(f"SELECT pattern, number {which} ORDER BY date DESC, number DESC", contract))
        if not known:
            continue
        held = dict(index.rows(f"SELECT number, MIN(path) {which} GROUP BY number", contract))
        others = index.rows(
            "SELECT number, path, overall FROM files WHERE contract = ? AND overall != 'passed' ORDER BY number, path",
            contract,
        )
        claimed = {
            number: told("number-claimed", file=path, verdict=told(f"overall-{overall}"))
            for number, path, overall in others
        }
        claimed = _called_so(index) | claimed
        for pattern, numbers in known.items():
            own = {number: held[number] for number in numbers}
            yield from _gaps(contract, pattern, own, claimed)
            if some_proven:
                yield from _beyond(contract, pattern, own, others)


def _called_so(index: Index) -> dict[str, Told]:
    """Return by what could be its number each file that cannot be read as a report and is called so."""
    rows = index.rows("SELECT path, file, inside, overall FROM files WHERE kind = 'other' ORDER BY path DESC")
    drafts = index.rows("SELECT draft, path FROM papers WHERE draft != '' ORDER BY path DESC")
    known = {number: told("number-in-draft", file=path) for number, path in drafts}
    return known | {
        re.sub(r"-R\d+$", "", PurePosixPath(inside or file).stem.upper()):
        told("number-in-name", file=path, verdict=told(f"overall-{overall}"))
        for path, file, inside, overall in rows
    }  # fmt: skip


def _gaps(contract: str, pattern: str, held: dict[str, str], claimed: dict[str, Told]) -> Iterator[Problem]:
    places = sorted((place, number) for number in held if (place := position(pattern, number)))
    below = 0
    for place, number in places:
        missing = range(below + 1, place)
        below = place
        if len(missing) > LONGEST_LISTED:
            first, last = number_at(pattern, missing[0]), number_at(pattern, missing[-1])
            sentence = told("numbers-missing", first=first, last=last, count=len(missing), number=number)
            yield Problem(contract, first, "number-missing", "", sentence, (held[number],))
            continue
        for one in (number_at(pattern, place) for place in missing):
            sentence = told("number-missing", number=one, contract=contract, claim=claimed.get(one))
            yield Problem(contract, one, "number-missing", "", sentence, (held[number],))


def _beyond(contract: str, pattern: str, held: dict[str, str], others: list[tuple[str, str, str]]) -> Iterator[Problem]:
    """Files that did not pass and claim a number above all that are proven: they accuse nobody of a gap."""
    highest = max(held, key=lambda number: position(pattern, number) or 0)
    top = position(pattern, highest) or 0
    for number, path, overall in others:
        if overall != "failed" and (position(pattern, number) or 0) > top:
            verdict = told(f"overall-{overall}")
            sentence = told("number-claimed-above", file=path, verdict=verdict, number=number, highest=highest)
            yield Problem(contract, number, "claim-less-proven", "", sentence, (path, held[highest]))


def _revisions(index: Index) -> Iterator[Problem]:
    """Each revision that is valid: whether it says what it replaces, and whether that is there."""
    later = index.rows(
        "SELECT path, contract, number, revision, supersedes_revision, supersedes_sha256, supersedes_reason, overall,"
        " unproven FROM reports WHERE revision > 0 AND place NOT IN ('set aside', 'not entitled') ORDER BY path"
    )
    for path, contract, number, revision, replaced, sha256, reason, overall, unproven in later:
        title, rests = a_revision(number, revision), bool(unproven)
        if replaced != revision - 1 or not (reason or "").strip():
            sentence = told("revision-unexplained", what=title)
            yield Problem(contract, number, "revision-without-reason", "", sentence, (path,), unproven=rests)
        before = index.rows(
            "SELECT path, sha256, overall, signers FROM files WHERE contract = ? AND number = ? AND revision = ?"
            " ORDER BY path",
            contract, number, revision - 1,
        )  # fmt: skip
        named = any(
            sha256 == digest or (verdict != "failed" and sha256 in {one["left_sha256"] for one in json.loads(signers)})
            for _, digest, verdict, signers in before
        )
        there = [row[:3] for row in before]
        found = None if named else _replaced(title, revision - 1, there, sha256, proven=overall == "passed")
        if found is not None:
            code, sentence, files = found
            yield Problem(contract, number, code, "", sentence, (path, *files), unproven=rests)


def _replaced(
    title: Told, before: int, files: list[tuple[str, str, str]], sha256: str | None, *, proven: bool
) -> tuple[str, Told, tuple[str, ...]] | None:
    """Return what is wrong with the files that claim to be the revision before, none of which is named."""
    enough = [path for path, _, verdict in files if verdict == "passed" or not (proven or verdict == "failed")]
    if not enough:
        return "revision-missing", told("revision-before-absent", what=title, before=before, claims=_claims(files)), ()
    if sha256 is None:
        return None
    sentence = told("revision-of-another-file", what=title, before=before)
    return "revision-of-other-file", sentence, tuple(path for path, _, _ in files)


def _claims(files: Iterable[tuple[str, str, str]]) -> tuple[Told, ...]:
    """Say of files that claim to be a revision which verdict each has."""
    return tuple(told("file-claims-it", file=path, verdict=told(f"overall-{verdict}")) for path, _, verdict in files)


def _built_upon(index: Index) -> Iterator[Problem]:
    """A report carries forward from the day file of a revision, and not from the next one, issued before it."""
    rows = index.rows(
        "SELECT user.contract, user.number, user.path, old.number, old.revision, old.path, next.issued_at,"
        " user.unproven OR old.unproven OR next.unproven"
        " FROM earlier JOIN reports AS old ON old.day_sha256 = earlier.day_sha256 AND old.place = 'superseded'"
        " JOIN reports AS user ON user.path = earlier.path AND user.contract = old.contract"
        " AND user.place NOT IN ('set aside', 'not entitled')"
        " JOIN reports AS next ON next.contract = old.contract AND next.number = old.number"
        " AND next.revision = old.revision + 1 AND next.issued_at < user.issued_at"
        " AND next.place NOT IN ('set aside', 'not entitled')"
        " AND next.day_sha256 != old.day_sha256"
        " AND NOT EXISTS (SELECT 1 FROM earlier AS too WHERE too.path = user.path AND too.day_sha256 = next.day_sha256)"
        " ORDER BY user.path, old.path"
    )
    for contract, number, path, old, revision, old_path, since, unproven in rows:
        sentence = told("builds-upon-superseded", number=number, what=a_revision(old, revision), on=since[:10])
        yield Problem(contract, number, "superseded-in-use", "", sentence, (path, old_path), unproven=bool(unproven))


def _submitted(index: Index) -> Iterator[Problem]:
    """A submittal encloses a revision without the next one, which had been issued before the submittal was signed."""
    rows = index.rows(
        "SELECT enclosed.path, files.signers, old.contract, old.number, old.revision, next.issued_at,"
        " old.unproven OR next.unproven OR (files.overall != 'passed' AND old.overall = 'passed')"
        " FROM enclosed JOIN files ON files.path = enclosed.path AND files.overall != 'failed'"
        " JOIN left_as ON left_as.sha256 = enclosed.sha256"
        " JOIN reports AS old ON old.path = left_as.path AND old.place = 'superseded'"
        " JOIN reports AS next ON next.contract = old.contract AND next.number = old.number"
        " AND next.revision = old.revision + 1 AND next.place NOT IN ('set aside', 'not entitled')"
        " WHERE NOT EXISTS (SELECT 1 FROM enclosed AS own JOIN left_as AS known ON known.sha256 = own.sha256"
        " WHERE own.path = enclosed.path AND known.path = next.path)"
        " ORDER BY enclosed.path, old.number, old.revision"
    )
    for path, signers, contract, number, revision, since, unproven in rows:
        signed = max([str(one["claimed_time"] or "") for one in json.loads(signers)], default="")
        if since[:19] < signed[:19]:
            sentence = told("encloses-superseded", file=path, what=a_revision(number, revision), on=since[:10])
            yield Problem(contract, number, "superseded-in-use", "", sentence, (path,), unproven=bool(unproven))


def _forks(index: Index, registers: Registers) -> Iterator[Problem]:
    """Issues upon rows of a register that do not fit together: it went on in two copies, or is not what it was.

    The report that follows says which row was the last, whether or not anybody still has the register.
    """
    rows = index.rows(
        "SELECT upon.path, upon.number, upon.contract, files.contract, issue,"
        " CASE WHEN reports.path IS NULL THEN doubted ELSE reports.unproven END"
        " FROM upon JOIN files USING (path) LEFT JOIN reports USING (path) WHERE reports.place IS NOT 'set aside'"
        " ORDER BY reports.issued_at, path"
    )
    known = [one for _, chain in registers for one in issues_in(chain)]
    folder = index.value("folder")
    issues = [*(value_from(Issue, json.loads(row[4])).lying_at(f"{folder}/{row[0]}") for row in rows), *known]
    there = {one.upon for one in known}
    found = [("register-forked", one.issues, one.sentence) for one in forks(issues)]
    found += [("issued-astray", one.issues, one.sentence) for one in astray(issues, there)]
    found += [
        ("issued-before", (other, place), _earlier(issues[place], issues[other]))
        for place, other in turned_back(issues)
    ]
    for code, places, sentence in found:
        given = [rows[place] for place in places if place < len(rows)]
        if given:
            yield _forked(code, sentence, given)


def _earlier(one: Issue, other: Issue) -> Told:
    """Say of an issue that it states an earlier time than another, upon whose row it builds."""
    first, then = (issue.report.issued_at if issue.report else "" for issue in (one, other))
    return told("issued-before", what=one.title, at=a_moment(first), other=other.title, after=a_moment(then))


def _forked(code: str, sentence: Told, given: Sequence[tuple[Any, ...]]) -> Problem:
    """Return the problem of issues in a register by the files that are there."""
    contract = next((one[3] or one[2] for one in reversed(given) if one[3] or one[2]), "")
    files, unproven = tuple(one[0] for one in given), any(one[5] for one in given)
    return Problem(contract, given[-1][1], code, "", sentence, files, unproven=unproven)


def registered_here(index: Index) -> set[str]:
    """Return the hashes of what is here, as a register knows it: as signed or, of what passed, before."""
    held = {sha256 for (sha256,) in index.rows("SELECT sha256 FROM left_as")}
    passed = "SELECT issue FROM upon JOIN files USING (path) WHERE overall = 'passed'"
    for (issue,) in index.each(passed):
        held.update(value_from(Issue, json.loads(issue)).before_signing)
    return held


def _registered(index: Index, registers: Registers, held: Container[str]) -> Iterator[Problem]:
    """What a register has as issued and no file is; of a file that claims to be it, its verdict is told."""
    for contract, chain in registers:
        for one in missing(chain, held):
            others = index.rows(
                "SELECT path, sha256, overall FROM files WHERE number = ? AND revision = ? ORDER BY path",
                one.number, one.revision,
            )  # fmt: skip
            title = a_revision(one.number, one.revision)
            sentence = told("registered-not-given", what=title, claims=_claims(others))
            yield Problem(contract or "", one.number, "report-missing", "", sentence, ())
