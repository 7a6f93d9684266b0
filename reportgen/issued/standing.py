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
from operator import attrgetter
from typing import TYPE_CHECKING, Generic, Literal, NamedTuple, TypeVar

from reportgen.names import spelt_alike

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.verification import Verification

T = TypeVar("T")

_STEPS_OF_SIGNATURES = (3, 5, 6)

COUNTERSIGNER = "COUNTERSIGNER:"
"""What a doubt begins with that is about none but a later signature."""
_ABOUT_THE_SIGNER = frozenset({
    "SIG_CONSTRAINTS_FAILURE", "CHAIN_CONSTRAINTS_FAILURE", "CERTIFICATE_CHAIN_GENERAL_FAILURE",
    "CRYPTO_CONSTRAINTS_FAILURE", "NO_SIGNING_CERTIFICATE_FOUND", "NO_CERTIFICATE_CHAIN_FOUND", "REVOKED_NO_POE",
    "OUT_OF_BOUNDS_NO_POE", "TRY_LATER", "DEMONSTRATION", "RESOURCE_LIMIT", "ENCRYPTED", "NOT_DONE",
})  # fmt: skip
"""Doubts that leave open who signed first: those of ETSI EN 319 102-1, and what kept a signature from being judged."""
_ONLY_OPEN = frozenset({
    "SIG_CONSTRAINTS_FAILURE", "CHAIN_CONSTRAINTS_FAILURE", "CERTIFICATE_CHAIN_GENERAL_FAILURE",
    "CRYPTO_CONSTRAINTS_FAILURE", "NO_SIGNING_CERTIFICATE_FOUND", "NO_CERTIFICATE_CHAIN_FOUND", "REVOKED_NO_POE",
    "OUT_OF_BOUNDS_NO_POE", "TRY_LATER",
})  # fmt: skip
"""Doubts about nothing but trust, revocation or time: another authority named may decide them."""
Level = Literal["proven", "open", "doubtful", "failed"]


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

    def level(self, overall: str) -> Level:
        """Say in one word how well a file of that verdict is proven; ``open`` is one that only trust or time keeps."""
        if overall in {"passed", "failed"}:
            return "proven" if overall == "passed" else "failed"
        return "open" if {one.removeprefix(COUNTERSIGNER) for one in self.doubts} <= _ONLY_OPEN else "doubtful"

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
        if self.known and other.known and (self.name == other.name or spelt_alike(self.name, other.name)):
            return True
        return self.certificate == other.certificate


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
class Said(Generic[T]):
    """What one file says of a thing; ``when`` is the date and number of its report."""

    when: tuple[str, str]
    standing: Standing
    what: T


def measured_otherwise(measured: Iterable[tuple[str, object]]) -> set[str]:
    """Return the numbers that several files claim which did not measure alike; by each its number, and the values."""
    found: dict[str, set[object]] = {}
    for number, values in measured:
        found.setdefault(number, set()).add(values)
    return {number for number, values in found.items() if len(values) > 1}


class Told(NamedTuple):
    """What a file says of an area: its decision where it inspected it, or that it is ``bare`` past its time to coat."""

    decision: str
    bare: bool
    standing: Standing


def says_nothing_new(told: Iterable[Told]) -> list[bool]:
    """Say of each statement on an area, in the order of time, whether it leaves the area as it was.

    What the last inspection left, a release too, stays until the next, or until the area is said to be bare past its
    time to coat. That holds it, and so says nothing of what is to be reworked by a file at least as well proven.
    """
    found: list[bool] = []
    spoken: list[Told] = []
    for one in told:
        if one.bare and not one.decision:
            last = next((each for each in reversed(spoken) if each.standing.at_least(one.standing)), None)
            found.append(last is not None and last.decision == "rework")
        else:
            found.append(bool(spoken) and not one.decision)
        if not found[-1] and (one.decision or one.bare):
            spoken.append(one)
    return found


def last_words(said: Sequence[Said[T]]) -> tuple[list[Said[T]], list[Said[T]]]:
    """Return what stands of all that is said of one thing, in the order of time, and what is later but proven less.

    A later statement overrides those that are proven no better, but for others under its own number, whatever their
    dates: which file of a number counts is for ``outcomes`` to say. More than one stands where none is better proven.
    """
    when = attrgetter("when")
    left: list[Said[T]] = []
    later: dict[Standing, set[str]] = {}
    for (_, number), same in groupby(sorted(said, key=when, reverse=True), key=when):
        members = list(same)[::-1]
        overriding = [other for other, told in later.items() if told != {number}]
        left += [one for one in members if not any(other.at_least(one.standing) for other in overriding)]
        for one in members:
            later.setdefault(Standing(one.standing.doubts), set()).add(number)
    best = {Standing(one.standing.doubts) for one in left}
    stands: list[Said[T]] = []
    less: list[Said[T]] = []
    for one in reversed(left):
        surpassed = any(other.better(one.standing) for other in best)
        (less if surpassed else stands).append(one)
    return stands, less
