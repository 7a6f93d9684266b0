"""Which of several files that claim one report number counts, and what is to be said of the others."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.problems import Problem
from reportgen.issued import Filed, Standing, places

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.audit.index import Index
    from reportgen.issued import Place


class Claim(NamedTuple):
    """A file that claims to be a revision of a number, how well that is proven, and what becomes of it."""

    path: str
    revision: int
    verdict: str
    standing: Standing
    place: Place

    @property
    def counts(self) -> bool:
        """Whether anything else in the file counts."""
        return self.place in {"decides", "disputed"}

    @property
    def title(self) -> str:
        """The file by path, with its verdict and what is in doubt."""
        return f"{self.path} ({', '.join([self.verdict, *sorted(self.standing.doubts)])})"


def settle_places(index: Index) -> None:
    """Work out and keep what becomes of each report, once all files are stored."""
    index.change(
        "UPDATE reports SET place = 'decides', counts = 1, unproven = overall != 'passed' AND contract IN"
        " (SELECT contract FROM reports WHERE overall = 'passed')"
    )
    for _, _, claims in _claims(index):
        for one in claims:
            index.change("UPDATE reports SET place = ?, counts = ? WHERE path = ?", one.place, one.counts, one.path)


def _claims(index: Index) -> Iterator[tuple[str, str, list[Claim]]]:
    """Yield contract, number and files of each number that several files claim."""
    rows = index.rows(
        "SELECT contract, number, path, revision, overall, doubts, certificate, signer, hashes,"
        " supersedes_sha256 FROM reports"
        " JOIN (SELECT contract, number FROM reports GROUP BY contract, number HAVING COUNT(*) > 1)"
        " USING (contract, number) ORDER BY contract, number, revision, path"
    )
    for (contract, number), members in groupby(rows, key=lambda row: (row[0], row[1])):
        files = [
            (path, verdict, Filed(revision, standing_from(*standing), tuple(hashes.split()), supersedes))
            for _, _, path, revision, verdict, *standing, hashes, supersedes in members
        ]
        found = places([filed for _, _, filed in files])
        yield (
            contract,
            number,
            [
                Claim(path, filed.revision, verdict, filed.standing, place)
                for (path, verdict, filed), place in zip(files, found, strict=True)
            ],
        )


def standing_from(doubts: str, certificate: str, signer: str) -> Standing:
    """Return the standing that a row of the table of reports holds."""
    return Standing(frozenset(doubts.split()), certificate, signer)


def place_problems(index: Index) -> Iterator[Problem]:
    """Yield what files claim against better proven ones, one revision in several files, revisions by other signers."""
    for contract, number, claims in _claims(index):
        found = [*_set_aside(claims), *_duplicates(claims), *_follows(claims)]
        for code, sentence, files in found:
            yield Problem(contract, number, code, "", f"{number} {sentence}", tuple(one.path for one in files))


_Found = tuple[str, str, tuple[Claim, ...]]


def _set_aside(claims: Sequence[Claim]) -> Iterator[_Found]:
    for one in claims:
        if one.place == "set aside":
            better = max((other for other in claims if other.standing.outdoes(one.standing)), key=_revision)
            sentence = f"revision {one.revision}, {one.title}, is proven less than {better.path}, revision"
            if one.revision > better.revision:
                yield "revision-less-proven", f"{sentence} {better.revision}, and does not replace it", (one, better)
            else:
                yield "claim-less-proven", f"{sentence} {better.revision}, and does not count", (one, better)


def _revision(claim: Claim) -> int:
    return claim.revision


def _duplicates(claims: Sequence[Claim]) -> Iterator[_Found]:
    """One revision in several files, none of them better proven than the others."""
    for revision, members in groupby(claims, key=_revision):
        files = tuple(one for one in members if one.place != "set aside")
        if len(files) > 1:
            sentence = f"revision {revision} exists in {len(files)} different files"
            yield "number-duplicate", f"{sentence}; where they contradict, nothing is released or closed", files


def _follows(claims: Sequence[Claim]) -> Iterator[_Found]:
    """Each revision against those before it: it replaces them, but is by another hand; or nothing shows that it may."""
    valid = [one for one in claims if one.place != "set aside"]
    for one in valid:
        for before in (other for other in valid if other.revision == _before(one, valid)):
            if one.standing.outdoes(before.standing):
                continue  # what is better proven is not judged by it
            pair = f"revision {one.revision}, {one.title}, and revision {before.revision}, {before.title},"
            if one.standing.doubts == before.standing.doubts or one.standing.replaces(before.standing):
                if not one.standing.same_hand(before.standing):
                    stands = "" if one.standing.replaces(before.standing) else "; neither is proven, and both stand"
                    yield "revision-by-other-signer", f"{pair} are signed by different people{stands}", (one, before)
            elif before.standing.better(one.standing):
                sentence = f"revision {one.revision}, {one.title}, is proven less than {before.path}, revision"
                yield "revision-less-proven", f"{sentence} {before.revision}, and does not replace it", (one, before)
            else:
                yield "revision-less-proven", f"{pair} are in doubt for different reasons; both stand", (one, before)


def _before(one: Claim, claims: Sequence[Claim]) -> int | None:
    return max((other.revision for other in claims if other.revision < one.revision), default=None)
