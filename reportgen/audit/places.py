"""Which of several files that claim one report number counts, and what is to be said of the others."""

from __future__ import annotations

import json
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.audit.problems import Problem, a_revision
from reportgen.diagnostics import printable
from reportgen.formats.decoding import value_from
from reportgen.issued import (
    Filed,
    Hand,
    PersonRecord,
    SignedContent,
    Standing,
    SuccessionRecord,
    issued_once,
    lacking,
    mentioned,
    named_later,
    outcomes,
    rank_of_alike,
    rank_of_copy,
    signed_apart,
    signed_less,
    written_otherwise,
)
from reportgen.names import Pin, looks, shown, spelling, told_apart
from reportgen.register import Issue
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.audit.index import Index
    from reportgen.issued import Lacking, Outcome
    from reportgen.verification import Verification
    from reportgen.words.told import Told


_PEOPLE = ("may_revise", "may_close", "may_name_successor")


class Claim(NamedTuple):
    """A file that claims to be a revision of a number, how well that is proven, and what becomes of it."""

    path: str
    verdict: str
    filed: Filed
    outcome: Outcome

    @property
    def revision(self) -> int:
        """The revision it claims to be."""
        return self.filed.revision

    @property
    def standing(self) -> Standing:
        """How well it is proven, and by whom."""
        return self.filed.standing

    @property
    def place(self) -> str:
        """What becomes of it."""
        return self.outcome.place

    @property
    def title(self) -> Told:
        """The file by path, with its verdict and what is in doubt."""
        verdict = told(f"overall-{self.verdict}")
        return told("file-as-proven", file=self.path, verdict=verdict, doubts=tuple(sorted(self.standing.doubts)))


def certificate_problems(index: Index) -> Iterator[Problem]:
    """Yield what is odd about the people whom reports of one contract name to sign, and their certificates.

    One person with several certificates: one was renewed, or it is another person's. One certificate for several
    people. Names that look the same and are not. People are those of the job; who sends a submittal is who the
    certificate says.
    """
    found: dict[str, dict[str, list[_Hand]]] = {}
    for contract, path, subject, fingerprint, named in index.rows(
        "SELECT contract, files.path, json_extract(one.value, '$.subject'), json_extract(one.value, '$.fingerprint'),"
        " json_extract(one.value, '$.named')"
        " FROM files, json_each(files.signers) AS one WHERE contract IS NOT NULL AND overall != 'failed'"
        " ORDER BY files.path"
    ):
        hand = _Hand(path, subject, fingerprint.replace(":", "").lower(), named or subject.split(", ")[0])
        found.setdefault(contract, {}).setdefault(spelling(hand.name) or hand.name, []).append(hand)
    for contract, people in found.items():
        yield from _of_certificates(contract, people.values())
        yield from _look_alikes(contract, [hands[0] for hands in people.values()])


def _of_certificates(contract: str, people: Iterable[Sequence[_Hand]]) -> Iterator[Problem]:
    """Yield each person with several certificates, and each certificate that signs for several people."""
    held: dict[tuple[str, str], list[_Hand]] = {}
    for hands in people:
        by = {one.certificate: one for one in reversed(hands)}
        for digest, hand in by.items():
            held.setdefault((digest, hand.subject), []).append(hand)
        if len(by) > 1:
            yield _of_hands(contract, "several-certificates", [by[one] for one in dict.fromkeys(by)][::-1])
    yield from (_of_hands(contract, "shared-certificate", hands) for hands in held.values() if len(hands) > 1)


def _look_alikes(contract: str, people: Iterable[_Hand]) -> Iterator[Problem]:
    """Yield each person whose name looks like that of one before."""
    seen: dict[tuple[str, str], _Hand] = {}
    for one in people:
        own = sorted(looks(one.name))
        before = next((seen[look] for look in own if look in seen), None)
        seen = dict.fromkeys(own, one) | seen
        if before is not None:
            two = told_apart(before.name, one.name), told_apart(one.name, before.name)
            sentence = told(
                "people-look-alike", contract=contract, one=printable(two[0]), file=before.path,
                other=printable(two[1]), other_file=one.path,
            )  # fmt: skip
            yield Problem(contract, "", "names-look-alike", "", sentence, (before.path, one.path))


class _Hand(NamedTuple):
    """Who signed a file: the subject and the SHA-256 of the certificate, and the name in the report."""

    path: str
    subject: str
    certificate: str
    name: str


def _of_hands(contract: str, code: str, hands: Sequence[_Hand]) -> Problem:
    first, paths = hands[0], tuple(hand.path for hand in hands)
    if code == "several-certificates":
        which = tuple(
            told("certificate-in-file", certificate=one.certificate, subject=shown(one.subject), file=one.path)
            for one in hands
        )
        count, name = len(hands), shown(first.name)
        sentence = told("person-of-certificates", contract=contract, name=name, count=count, which=which)
    else:
        which = tuple(told("person-in-file", name=shown(one.name), file=one.path) for one in hands)
        its = {"certificate": first.certificate, "subject": shown(first.subject)}
        sentence = told("certificate-of-people", contract=contract, **its, which=which)
    return Problem(contract, "", code, "", sentence, paths)


def settle_places(index: Index) -> None:
    """Work out and keep what becomes of each report, once all files are stored."""
    index.change(
        "UPDATE reports SET place = 'decides', counts = 1, unproven = overall != 'passed' AND contract IN"
        " (SELECT contract FROM reports WHERE overall = 'passed')"
    )
    for _, _, claims in _claims(index):
        for one in claims:
            index.change(
                "UPDATE reports SET place = ?, counts = ? WHERE path = ?", one.place, one.outcome.counts, one.path
            )


_COPIES = """
SELECT files.path, files.sha256, kind, covered, signers, files.overall, files.holds_until, notices,
    COALESCE(doubts, ''), COALESCE(hashes, '')
FROM files LEFT JOIN reports USING (path)
WHERE files.overall != 'failed' AND kind IN ('report', 'slip', 'submittal') AND covered IN
    (SELECT covered FROM files WHERE overall != 'failed' GROUP BY covered HAVING COUNT(*) > 1)
ORDER BY covered, inside != '', files.path
"""
_DIFFERING = """
SELECT files.path, issue FROM upon JOIN files USING (path) WHERE covered IN
    (SELECT covered FROM files WHERE kind IN ('report', 'slip') AND overall != 'failed'
    GROUP BY covered HAVING COUNT(DISTINCT json_extract(signers, '$[0].left_sha256')) > 1)
"""


def settle_copies(index: Index, tables: Sequence[str]) -> None:
    """Work out which files are copies of what was issued once, and drop from ``tables`` those of reports but one.

    Copies cover the same by their first signature; they may be countersigned since, and what nobody signs may be
    written otherwise in them. The best proven counts, of equal ones that with more signatures, of these that with
    earlier proven times, then that which holds longer, then that which was issued. The others leave it their hashes: a
    revision may name any of them.
    """
    for kept, one in _further_copies(index):
        index.change("UPDATE files SET copy_of = ? WHERE path = ?", kept.path, one.path)
        if one.kind == kept.kind == "report":
            index.change("UPDATE OR IGNORE left_as SET path = ? WHERE path = ?", kept.path, one.path)
            for table in tables:
                index.change(f"DELETE FROM {table} WHERE path = ?", one.path)  # noqa: S608 - names of our own


def _further_copies(index: Index) -> list[tuple[_StoredCopy, _StoredCopy]]:
    """Return each further copy after the one that counts."""
    shown, files = _as_issued(index), [_StoredCopy.of(*row) for row in index.rows(_COPIES)]
    found = []
    for places in issued_once([one.signed for one in files]):
        copies = (files[place] for place in places)
        kept, *others = sorted(copies, key=lambda one: (*one.rank, one.path not in shown, one.sha256))
        found += [(kept, one) for one in others]
    return found


def _as_issued(index: Index) -> set[str]:
    """Return of the copies that differ those that are shown to be the file that was issued."""
    differing = index.rows(_DIFFERING)
    if not differing:
        return set()
    rows = {sha256 for (sha256,) in index.each("SELECT sha256 FROM upon")}
    named = {sha256 for (sha256,) in index.each("SELECT supersedes_sha256 FROM reports WHERE revision > 0")}
    folder = index.value("folder")
    issues = ((path, value_from(Issue, json.loads(issue)).lying_at(f"{folder}/{path}")) for path, issue in differing)
    return {path for path, issue in issues if issue.is_shown(rows, named)}


class _StoredCopy(NamedTuple):
    """A file that covers the same as another, and by what it stands behind others, least first."""

    path: str
    sha256: str
    kind: str
    signed: SignedContent
    rank: tuple[object, ...]

    @classmethod
    def of(
        cls, path: str, sha256: str, kind: str, covered: str, signers: str, overall: str, until: str | None,
        notices: str, doubts: str, hashes: str,
    ) -> _StoredCopy:  # fmt: skip
        """Return it as a row of the tables says."""
        signed = json.loads(signers)
        standing = standing_from(doubts, signed[0]["fingerprint"] if signed else "", "")
        copied = any(one["name"] == "WRITTEN_OTHERWISE" for one in json.loads(notices))  # so a register says
        proven = rank_of_alike([one["proven_time"] for one in signed], until)
        rank = (overall != "passed", *rank_of_copy(standing, len(hashes.split())), *proven, copied)
        return cls(path, sha256, kind, SignedContent(covered, standing.certificate), rank)


def copy_problems(index: Index) -> Iterator[Problem]:
    """Yield each copy of what was issued once in which what nobody signs is written otherwise, or that is proven less,
    and each report of which copies are signed with several certificates in one field.

    Whoever holds a file can make a copy of the first kind: it is to be known, and speaks against nothing.
    """
    groups: dict[str, dict[str, Verification]] = {}
    for path, kept in (*index.rows(_FURTHER), *_signed_once(index)):
        of = groups.setdefault(kept, {kept: index.examined(kept).verification})
        of.setdefault(path, index.examined(path).verification)
    for kept, copies in groups.items():
        yield from _of_copies(index, kept, copies)


_FURTHER = """
SELECT one.path, kept.path FROM files AS one JOIN files AS kept ON kept.path = one.copy_of
WHERE one.sha256 != kept.sha256 AND one.kind != 'submittal' ORDER BY one.path
"""
_BY_COVERED = """
SELECT covered, MIN(path) FROM files LEFT JOIN papers USING (path)
WHERE (kind = 'submittal' OR releases != '') AND overall != 'failed'
GROUP BY covered, sha256 ORDER BY covered, overall != 'passed', MIN(path)
"""


def _signed_once(index: Index) -> Iterator[tuple[str, str]]:
    """Yield each further submittal and release page that covers the same as one before, whoever signed it."""
    for _, members in groupby(index.rows(_BY_COVERED), key=lambda row: row[0]):
        kept, *others = (path for _, path in members)
        yield from ((path, kept) for path in others)


def _of_copies(index: Index, kept: str, copies: Mapping[str, Verification]) -> Iterator[Problem]:
    """Yield what is to be said of copies beside the one that is ``kept``: of each file in one way."""
    ((contract, number, revision),) = index.rows("SELECT contract, number, revision FROM files WHERE path = ?", kept)
    of, what = (contract or "", number or ""), told("in-its-own-words", words=kept)
    what = a_revision(number, revision or 0) if number else what
    told_of: set[str] = set()
    for one in signed_apart(copies):
        files = tuple(sorted(file for several in one.files.values() for file in several))
        told_of.update(files)
        yield Problem(*of, "copy-signed-apart", "", one.sentence(what), files)
    less = {one.file: one.sentence for one in signed_less(copies)}
    for path in copies.keys() - {kept, *less, *told_of}:
        sentence = _otherwise(path, copies[path], kept, copies[kept])
        less |= {} if sentence is None else {path: sentence}
    yield from (Problem(*of, "copy-written-otherwise", "", less[path], (path, kept)) for path in copies if path in less)


def _otherwise(path: str, mine: Verification, kept: str, theirs: Verification) -> Told | None:
    """Return that what nobody signs is otherwise in a copy, or that it is proven less; None where neither is so."""
    worse = mine.overall != theirs.overall
    if not worse and not written_otherwise(mine, theirs):
        return None
    its = {"file": path, "other": kept, "verdict": told(f"overall-{mine.overall}")}
    return told("copy-written-otherwise", **its, less=told("copy-proven-less") if worse else None)


def settle_papers(index: Index) -> None:
    """Work out which papers name a contract that reports are of, or say that we made them: they are in doubt."""
    stated = index.rows("SELECT DISTINCT pattern FROM reports WHERE pattern != ''")
    known = index.rows("SELECT DISTINCT written FROM files WHERE contract IN (SELECT contract FROM reports)")
    numbers = [number for (number,) in (*sorted(stated), *sorted(known))]
    for path, title, beginning, ours in index.rows(
        "SELECT path, title, beginning, ours FROM papers WHERE releases = '' AND draft = ''"
    ):
        named = mentioned((path, title, beginning), numbers)
        if named is not None or ours:
            index.change("UPDATE papers SET names = ? WHERE path = ?", named or "", path)
            index.change("UPDATE files SET kind = 'other' WHERE path = ?", path)


def settle_readings(index: Index) -> None:
    """Work out and keep which readings count: of a location that several reports state of one steel those of the last.

    Files that passed and files that did not are kept apart: one that did not takes nothing from one that did.
    """
    index.change("UPDATE reading_sets SET counted = readings")
    rows = index.rows(
        "SELECT contract, overall, area, steel, reading_sets.rowid, readings, locations FROM reading_sets"
        " JOIN reports USING (path) WHERE counts AND steel != ''"
        " ORDER BY contract, overall, area, steel, ordered DESC, path DESC"
    )
    for _, members in groupby(rows, key=lambda row: row[:4]):
        later: set[str] = set()
        for _, _, _, _, number, readings, at_which in members:
            locations = json.loads(at_which)
            kept = [one for one, at in zip(readings.split(), locations, strict=True) if at not in later]
            index.change("UPDATE reading_sets SET counted = ? WHERE rowid = ?", " ".join(kept), number)
            later.update(locations)


def _claims(index: Index) -> Iterator[tuple[str, str, list[Claim]]]:
    """Yield contract, number and files of each number that several files claim."""
    rows = index.rows(
        "SELECT contract, number, path, overall, revision, doubts, certificate, hands,"
        " (SELECT group_concat(sha256, ' ') FROM left_as WHERE left_as.path = reports.path), supersedes_sha256"
        " FROM reports"
        " JOIN (SELECT contract, number FROM reports GROUP BY contract, number HAVING COUNT(*) > 1"
        " OR MAX(revision) > 0)"
        " USING (contract, number) ORDER BY contract, number, revision, path"
    )
    for (contract, number), members in groupby(rows, key=lambda row: (row[0], row[1])):
        files = [(path, verdict, filed_as(*rest)) for _, _, path, verdict, *rest in members]
        found = outcomes([filed for _, _, filed in files])
        yield contract, number, [Claim(*file, outcome) for file, outcome in zip(files, found, strict=True)]


def filed_as(
    revision: int, doubts: str, certificate: str, hands: str, hashes: str = "", supersedes: str | None = None
) -> Filed:
    """Return what a row of the table of reports says that a file claims."""
    stated: Any = json.loads(hands)
    standing = standing_from(doubts, certificate, stated["signer"])
    people = {key: tuple(PersonRecord(name, body, _pin(pin)) for name, body, pin in stated[key]) for key in _PEOPLE}
    succession = None if stated["succession"] is None else SuccessionRecord(*stated["succession"])
    hashed = tuple(hashes.split())
    first, *by = (
        Hand(subject, its, tuple(issued_by), name, by_policy)
        for subject, its, issued_by, name, by_policy in (stated["hand"], *stated["countersigned"])
    )
    return Filed(
        revision, standing, hashed, supersedes, stated["inspector"], **people, succession=succession,
        countersigned=tuple(by), covered=(), hand=first, signs_with=_pin(stated["signs_with"]),
    )  # fmt: skip


def _pin(stated: Sequence[str | None] | None) -> Pin | None:
    return None if stated is None else Pin(*stated)


def standing_from(doubts: str, certificate: str, signer: str) -> Standing:
    """Return the standing that a row of the table of reports holds."""
    return Standing(frozenset(doubts.split()), certificate, signer)


def place_problems(index: Index) -> Iterator[Problem]:
    """Yield what files claim against better proven ones, one revision in several files, revisions by other signers."""
    for contract, number, claims in _claims(index):
        found = [
            *_set_aside(number, claims), *_not_entitled(number, claims), *_duplicates(number, claims),
            *_follows(number, claims),
        ]  # fmt: skip
        for code, sentence, files in found:
            yield Problem(contract, number, code, "", sentence, tuple(one.path for one in files))


def lacking_files(index: Index) -> dict[str, Lacking]:
    """Return by path what each report revises and is not there."""
    found = {}
    for _, _, claims in _claims(index):
        lost = lacking([one.filed for one in claims])
        found.update({one.path: lacks for one, lacks in zip(claims, lost, strict=True) if lacks is not None})
    return found


_Found = tuple[str, "Told", tuple[Claim, ...]]
_INVALID = frozenset({"set aside", "not entitled"})


def _set_aside(number: str, claims: Sequence[Claim]) -> Iterator[_Found]:
    for one in claims:
        if one.place == "set aside":
            better = max((claims[place] for place in one.outcome.beside), key=_revision)
            if one.revision > better.revision:
                yield _replaces_not(number, one, better)
            else:
                yield (
                    "claim-less-proven",
                    told("counts-not-beside-better", **_beside(number, one, better)),
                    (one, better),
                )


def _replaces_not(number: str, one: Claim, better: Claim) -> _Found:
    return "revision-less-proven", told("replaces-better-proven", **_beside(number, one, better)), (one, better)


def _beside(number: str, one: Claim, better: Claim) -> dict[str, Any]:
    its = {"what": a_revision(number, one.revision), "file": one.title}
    return {**its, "better": better.path, "other": better.revision}


def _not_entitled(number: str, claims: Sequence[Claim]) -> Iterator[_Found]:
    """Each revision by one whom the report revised does not name; only a doubt where a valid revision took it over."""
    filed = [one.filed for one in claims]
    for position, one in enumerate(claims):
        if one.place != "not entitled":
            continue
        before = max((claims[place] for place in one.outcome.beside), key=_revision)
        over = [claims[place] for place in named_later(filed, position)]
        valid = [other for other in over if other.filed.may_replace(before.filed)]
        if valid:
            code, then = "revision-by-other-signer", told("unentitled-but-named", revision=valid[0].revision)
        else:
            code, then = "revision-not-entitled", told("unentitled-and-stands", revision=before.revision)
        here = one.filed.supersedes is None or any(one.filed.supersedes in other.hashes for other in filed)
        sentence = told(
            "revision-unentitled", **_pair(number, one, before), name=one.standing.name,
            namesake=told("named-with-another") if one.filed.is_namesake_of(before.filed) else None,
            absent=None if here else told("file-named-absent"), then=then,
        )  # fmt: skip
        yield code, sentence, (one, before, *valid[:1])


def _pair(number: str, one: Claim, before: Claim) -> dict[str, Any]:
    return _beside(number, one, before) | {"better": before.title}


def _revision(claim: Claim) -> int:
    return claim.revision


def _duplicates(number: str, claims: Sequence[Claim]) -> Iterator[_Found]:
    """One revision in several files, none of them better proven than the others."""
    for revision, members in groupby(claims, key=_revision):
        files = tuple(one for one in members if one.place not in _INVALID)
        if len(files) > 1:
            what = a_revision(number, revision)
            yield "number-duplicate", told("revision-in-files", what=what, count=len(files)), files


def _follows(number: str, claims: Sequence[Claim]) -> Iterator[_Found]:
    """Each revision against those before it: it replaces them, but is by another hand; or nothing shows that it may."""
    valid = [one for one in claims if one.place not in _INVALID]
    for one in valid:
        last = max((other.revision for other in valid if other.revision < one.revision), default=None)
        for before in (other for other in valid if other.revision == last):
            yield from _followed(number, one, before)


def _followed(number: str, one: Claim, before: Claim) -> Iterator[_Found]:
    pair = _pair(number, one, before)
    if one.filed.outdoes(before.filed):
        # what is better proven is not judged by it, but by whom it names itself as what it revises
        if one.filed.supersedes in before.filed.hashes and not one.filed.entitled(before.filed):
            yield "revision-by-other-signer", told("revision-by-others", **pair, both=None), (one, before)
    elif one.standing.doubts == before.standing.doubts or one.filed.may_replace(before.filed):
        if not one.filed.same_hand(before.filed):
            both = told("both-stand") if before.place == one.place == "disputed" else None
            yield "revision-by-other-signer", told("revision-by-others", **pair, both=both), (one, before)
    elif before.standing.better(one.standing):
        yield _replaces_not(number, one, before)
    else:
        yield "revision-less-proven", told("revisions-in-doubt", **pair), (one, before)
