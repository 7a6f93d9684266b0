"""How well a file is proven, and which of several files counts where they speak of the same thing.

A file may replace, close or silence only what is proven no better than itself. What keeps a file from passing are
names of reasons; a file is at least as well proven as another when nothing is in doubt about it that is not in doubt
about the other too. Files of which neither is at least as well proven as the other contradict each other: none of them
silences the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.verification import Verification

T = TypeVar("T")

Place = Literal["decides", "disputed", "superseded", "set aside"]
"""``disputed``: it counts, and so does another file of that number; ``set aside``: a better proven one counts."""


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

    def at_least(self, other: Standing) -> bool:
        """Say whether this is at least as well proven as ``other``."""
        return self.doubts <= other.doubts

    def same_hand(self, other: Standing) -> bool:
        """Say whether one person signed both: by one certificate, or, where both are proven, by one name."""
        if self.proven and other.proven and self.name == other.name:
            return True
        return self.certificate == other.certificate

    def replaces(self, other: Standing) -> bool:
        """Say whether a revision of this standing replaces a file of the other: it must be proven, or by the same hand.

        Without proof nothing but the certificate ties a revision to what it revises.
        """
        return self.at_least(other) and (self.proven or self.same_hand(other))

    def outdoes(self, other: Standing) -> bool:
        """Say whether a file of this standing counts alone where both claim the same."""
        return self.replaces(other) and self.doubts != other.doubts


def standing_of(verification: Verification) -> Standing:
    """Return the standing of a file that did not fail."""
    names = frozenset(reason.name for reason in verification.reasons)
    first = next(iter(verification.signers), None)
    return Standing(names) if first is None else Standing(names, first.fingerprint, first.subject)


def places(claims: Sequence[tuple[int, Standing]]) -> list[Place]:
    """Return for each of the files that claim one report number, given as revision and standing, what becomes of it."""
    found: list[Place] = []
    for revision, standing in claims:
        if any(later > revision and other.replaces(standing) for later, other in claims):
            found.append("superseded")
        elif any(other.outdoes(standing) for _, other in claims):
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
    later: dict[frozenset[str], set[str]] = {}
    for (_, number), same in groupby(sorted(said, key=_when, reverse=True), key=_when):
        members = list(same)[::-1]
        left += [one for one in members if not _overridden(one, later)]
        for one in members:
            numbers = later.setdefault(one.standing.doubts, set())
            if len(numbers) < 2:  # of any two, one is another's
                numbers.add(number)
    best = {one.standing.doubts for one in left}
    stands = [one for one in reversed(left) if not any(doubts < one.standing.doubts for doubts in best)]
    less = [one for one in reversed(left) if any(doubts < one.standing.doubts for doubts in best)]
    return stands, less


def _overridden(one: Said[T], later: Mapping[frozenset[str], set[str]]) -> bool:
    return any(doubts <= one.standing.doubts and numbers - {one.when[1]} for doubts, numbers in later.items())


def _when(said: Said[T]) -> tuple[str, str]:
    return said.when
