"""How well a file is proven, and which of several files counts where they speak of the same thing.

A file may replace, close or silence only what is proven no better than itself. What keeps a file from passing are
names of reasons. Who signed first answers for what a report says: a file of which that is proven stands above one of
which it is not, whatever is in doubt about a countersigner. Otherwise a file is at least as well proven as another when
nothing is in doubt about it that is not in doubt about the other too. Files of which neither is at least as well proven
as the other contradict each other: none of them silences the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

from reportgen.certificates import spelling

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.issued.record import ReportRecord
    from reportgen.verification import Verification

T = TypeVar("T")

_STEPS_OF_SIGNATURES = (3, 5, 6)

Place = Literal["decides", "disputed", "superseded", "set aside"]
"""``disputed``: it counts, and so does another file of that number; ``set aside``: a better proven one counts."""


COUNTERSIGNER = "COUNTERSIGNER:"
"""What a doubt begins with that is about none but a later signature."""
_ABOUT_THE_SIGNER = frozenset({
    "SIG_CONSTRAINTS_FAILURE", "CHAIN_CONSTRAINTS_FAILURE", "CERTIFICATE_CHAIN_GENERAL_FAILURE",
    "CRYPTO_CONSTRAINTS_FAILURE", "NO_SIGNING_CERTIFICATE_FOUND", "NO_CERTIFICATE_CHAIN_FOUND", "REVOKED_NO_POE",
    "OUT_OF_BOUNDS_NO_POE", "TRY_LATER", "DEMONSTRATION", "RESOURCE_LIMIT", "ENCRYPTED", "NOT_DONE",
})  # fmt: skip
"""Doubts that leave open who signed first: those of ETSI EN 319 102-1, and what kept a signature from being judged."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What is in doubt about a file that did not fail (nothing: it is proven), and who signed it first.

    ``certificate`` is the fingerprint of the signer's, ``name`` the subject in it, which only proof makes a name.
    """

    doubts: frozenset[str]
    certificate: str = ""
    name: str = ""

    @property
    def proven(self) -> bool:
        """Whether the file passed."""
        return not self.doubts

    @property
    def known(self) -> bool:
        """Whether it is proven who signed first."""
        return not self.doubts & _ABOUT_THE_SIGNER

    def at_least(self, other: Standing) -> bool:
        """Say whether this is at least as well proven as ``other``."""
        if self.known != other.known:
            return self.known
        return self.doubts <= other.doubts

    def better(self, other: Standing) -> bool:
        """Say whether this is better proven than ``other``."""
        return self.at_least(other) and self.doubts != other.doubts

    def same_hand(self, other: Standing) -> bool:
        """Say whether one person signed both: by one certificate, or, where both signers are proven, by one name."""
        if self.known and other.known and (self.name == other.name or _spelt_alike(self.name, other.name)):
            return True
        return self.certificate == other.certificate

    def replaces(self, other: Standing) -> bool:
        """Say whether a revision of this standing may replace a file of the other: proven by whom, or by the same hand.

        Without proof nothing but the certificate ties a revision to what it revises.
        """
        return self.at_least(other) and (self.known or self.same_hand(other))

    def outdoes(self, other: Standing) -> bool:
        """Say whether a file of this standing counts alone where both claim the same."""
        return self.replaces(other) and self.doubts != other.doubts


def _spelt_alike(one: str, other: str) -> bool:
    spelt = spelling(one)
    return spelt is not None and spelt == spelling(other)


def standing_of(verification: Verification) -> Standing:
    """Return the standing of a file that did not fail."""
    names = {reason.name for reason in verification.reasons}
    if not verification.signers:
        return Standing(frozenset(names))
    first, *later = verification.signers
    steps = [step for step in verification.steps if step.number not in _STEPS_OF_SIGNATURES]
    elsewhere = {reason.name for step in steps for reason in step.reasons}
    theirs = {name for one in later for name in one.doubts} - {*first.doubts, *elsewhere}
    doubts = frozenset(f"{COUNTERSIGNER}{name}" if name in theirs else name for name in names)
    return Standing(doubts, first.fingerprint, first.subject)


@dataclass(frozen=True, slots=True)
class Filed:
    """A file that claims to be a revision of a number.

    ``hashes`` are the SHA-256 of the file as each of its signatures left it, the first as it was issued;
    ``supersedes`` is the one that it records of the file it replaces. Without hashes it may be any.
    """

    revision: int
    standing: Standing
    hashes: tuple[str, ...] = ()
    supersedes: str | None = None


def filed(verification: Verification, record: ReportRecord) -> Filed:
    """Return what a file that did not fail claims to be."""
    left = [signer.left_sha256 for signer in verification.signers if signer.left_sha256]
    hashes = tuple(dict.fromkeys([*left, verification.sha256]))
    return Filed(record.revision, standing_of(verification), hashes, record.supersedes_sha256)


def successors(claims: Sequence[Filed]) -> list[list[int]]:
    """Return for each of the files that claim one number the places of those that replace it.

    Each must name it by its hash, or a file that does. Where a file in between is not there, only the same hand ties
    the two; a revision next to it that names another file is a fork, and replaces nothing of it.
    """
    found: list[list[int]] = [[] for _ in claims]
    by_hash: dict[str, list[int]] = {}
    for place, claim in enumerate(claims):
        for digest in claim.hashes:
            by_hash.setdefault(digest, []).append(place)
    for place, later in enumerate(claims):
        named, untold, lost = _lineage(place, claims, by_hash)
        for number, before in enumerate(claims):
            if before.revision < later.revision and later.standing.replaces(before.standing):
                tied = before.revision < lost and later.standing.same_hand(before.standing)
                if number in named or before.revision < untold or not before.hashes or tied:
                    found[number].append(place)
    return found


def _lineage(place: int, claims: Sequence[Filed], by_hash: Mapping[str, Sequence[int]]) -> tuple[set[int], int, int]:
    """Return what a file names, itself or through others; below which revision none is told, and below
    which one is lost.
    """
    named: set[int] = set()
    untold = lost = -1
    waiting = [place]
    while waiting:
        one = claims[waiting.pop()]
        if one.supersedes is None:
            untold = max(untold, one.revision)
            continue
        before = [other for other in by_hash.get(one.supersedes, ()) if claims[other].revision < one.revision]
        if not before:
            lost = max(lost, one.revision - 1)
        waiting += [other for other in before if other not in named]
        named.update(before)
    return named, untold, lost


def places(claims: Sequence[Filed]) -> list[Place]:
    """Return for each of the files that claim one report number what becomes of it."""
    found: list[Place] = []
    for claim, later in zip(claims, successors(claims), strict=True):
        if later:
            found.append("superseded")
        elif any(other.standing.outdoes(claim.standing) for other in claims):
            found.append("set aside")
        else:
            found.append("decides")
    several = found.count("decides") > 1
    return ["disputed" if several and place == "decides" else place for place in found]


@dataclass(frozen=True, slots=True)
class Said(Generic[T]):
    """What one file says of a thing; ``when`` is the date and number of its report."""

    when: tuple[str, str]
    standing: Standing
    what: T


def last_words(said: Sequence[Said[T]]) -> tuple[list[Said[T]], list[Said[T]]]:
    """Return what stands of all that is said of one thing, in the order of time, and what is later but proven less.

    A later statement overrides those that are proven no better, but for others under its own number, whatever their
    dates: which file of a number counts is for ``places`` to say. More than one stands where none is better proven.
    """
    left: list[Said[T]] = []
    later: dict[Standing, set[str]] = {}
    for (_, number), same in groupby(sorted(said, key=_when, reverse=True), key=_when):
        members = list(same)[::-1]
        left += [one for one in members if not _overridden(one, later)]
        for one in members:
            numbers = later.setdefault(Standing(one.standing.doubts), set())
            if len(numbers) < 2:  # of any two, one is another's
                numbers.add(number)
    best = {Standing(one.standing.doubts) for one in left}
    stands = [one for one in reversed(left) if not any(other.better(one.standing) for other in best)]
    less = [one for one in reversed(left) if any(other.better(one.standing) for other in best)]
    return stands, less


def _overridden(one: Said[T], later: Mapping[Standing, set[str]]) -> bool:
    return any(other.at_least(one.standing) and numbers - {one.when[1]} for other, numbers in later.items())


def _when(said: Said[T]) -> tuple[str, str]:
    return said.when
