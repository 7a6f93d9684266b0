"""What becomes of each of the files that claim one report number, and what a revision leaves out.

A revision replaces what it names by hash. Where it is proven who signed the earlier file, it must also be by the same
person, or by one whom the job of that file names as an inspector beside its own: anybody else under a trusted root can
sign a report that passes, and is not entitled to answer for another's. Such a revision counts for nothing; the report
that it revises goes on deciding.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Generic, Literal, NamedTuple, Self, TypeVar

from reportgen.issued.copies import SignedContent
from reportgen.issued.record import PersonRecord, SuccessionRecord  # noqa: TC001 - documentation of the fields reads it
from reportgen.issued.standing import Said, Standing, standing_of
from reportgen.names import Pin, perhaps_one, spelling, spelt_alike
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    from reportgen.issued.record import ReportRecord
    from reportgen.verification import Signer, Verification
    from reportgen.words.told import Told

T = TypeVar("T")

Place = Literal["decides", "disputed", "superseded", "set aside", "not entitled"]
"""``disputed``: it counts, and so does another file of that number; ``set aside``: a better proven one counts;
``not entitled``: a revision by one who may not revise that report, which still counts.
"""
COUNTING = frozenset({"decides", "disputed"})


@dataclass(frozen=True, slots=True)
class Hand:
    """By which certificate somebody signed: subject, SHA-256, those of its issuers, and the subject as it is pinned.

    ``by_policy`` is whether whoever verifies says whose it is.
    """

    subject: str = ""
    certificate: str = ""
    issued_by: tuple[str, ...] = ()
    distinguished_name: str = ""
    by_policy: bool = False

    @classmethod
    def of(cls, signer: Signer) -> Self:
        """Return that of a signature."""
        by_policy = signer.bound_by == "policy"
        return cls(signer.subject, signer.certificate, signer.issued_by, signer.distinguished_name, by_policy)

    def is_by(self, pin: Pin | None) -> bool:
        """Say whether it is that of a person for whom a report states this pin, by its own word or the verifier's.

        The pin of a policy stands above that of a project file.
        """
        return pin is None or self.by_policy or pin.is_of(self.certificate, self.issued_by, self.distinguished_name)


@dataclass(frozen=True, slots=True)
class Filed:
    """A file that claims to be a revision of a number.

    ``hashes`` are the SHA-256 of the file, and of its copies, as each signature left it; ``supersedes`` is the one that
    it records of the file it replaces. Without hashes it may be any. ``inspector`` is the name that the job inside
    gives who signed it, ``may_revise`` whom that job lets sign a revision of it, ``may_close`` whom it lets close
    in another report what it raised, ``may_name_successor`` whom it lets name who may do so since, and ``succession``
    says as whose successor who signed it was named. ``countersigned`` are the hands of those who proven so signed
    it too. ``covered`` are the SHA-256 of what each signature covers. ``hand`` is that of who signed it first,
    ``signs_with`` the pin that the job inside states for that person.
    """

    revision: int
    standing: Standing
    hashes: tuple[str, ...] = ()
    supersedes: str | None = None
    inspector: str = ""
    may_revise: tuple[PersonRecord, ...] = ()
    may_close: tuple[PersonRecord, ...] = ()
    may_name_successor: tuple[PersonRecord, ...] = ()
    succession: SuccessionRecord | None = None
    countersigned: tuple[Hand, ...] = ()
    covered: tuple[str, ...] = ()
    hand: Hand = field(default_factory=Hand)
    signs_with: Pin | None = None

    @property
    def signed(self) -> SignedContent:
        """By what the report is told apart from others: where that is not known, by the file as first signed."""
        return SignedContent((self.covered or self.hashes)[0], self.standing.certificate)

    def entitled(self, before: Filed) -> bool:
        """Say whether who signed this is the signer of ``before``, or named in its job as one who may revise it."""
        return self._signed_by(before, before.may_revise)

    def same_hand(self, before: Filed) -> bool:
        """Say whether who signed ``before`` signed this: by another certificate only where the pin there allows it."""
        same = self.standing.certificate == before.standing.certificate
        return same or (self.standing.same_hand(before.standing) and self.hand.is_by(before.signs_with))

    def is_namesake_of(self, before: Filed) -> bool:
        """Say whether this is signed in the name of the signer of ``before``, by a certificate that the pin refuses."""
        return self.standing.same_hand(before.standing) and not self.same_hand(before)

    def _signed_by(self, before: Filed, people: tuple[PersonRecord, ...]) -> bool:
        """Say whether who signed this is the signer of ``before`` or one of the people whom its job names.

        Whom a job names is the person with the pin that it states.
        """
        if self.same_hand(before):
            return True
        if not self.standing.known:
            return False
        subject = spelling(self.standing.name)
        for person in people:
            # the certificate's common name is the job's, which verifying proved
            name = spelling(person.name)
            if name is None or not spelt_alike(person.name, self.inspector) or not self.hand.is_by(person.pin):
                continue
            if person.organisation is None or subject in (name, f"{name}, {spelling(person.organisation)}"):
                return True
        return False

    def may_replace(self, before: Filed) -> bool:
        """Say whether a revision of this kind may replace ``before``: proven no worse, and by one who is entitled.

        Of a file of which nothing proves who signed it, whoever is proven may; without proof nothing but the
        certificate ties a revision to what it revises.
        """
        if not self.standing.at_least(before.standing):
            return False
        if before.standing.known:
            return self.entitled(before)
        return self.standing.known or self.same_hand(before)

    def signs_as(self, name: str, before: Filed) -> bool:
        """Say whether it is sure that who signed this in a name is whom ``before`` names so, whatever is pinned here.

        So say the pin of ``before``, that of the verifier, or whoever confirms a successor.
        """
        if spelt_alike(name, self.inspector):
            return self.standing.known and not self.is_unconfirmed_by(before)
        hands = [one for one in self.countersigned if spelt_alike(one.subject.partition(", ")[0], name)]
        pins = [one.pin for one in before.may_name_successor if spelt_alike(one.name, name)]
        return bool(hands) and all(one.by_policy or any(one.is_by(pin) for pin in pins) for one in hands)

    def may_not_close(self, raised: Filed) -> bool:
        """Say whether this is by one who may not close what ``raised`` raised, nor undo what it left open.

        It is not asked of what is less proven, which closes nothing anyway, nor where nothing proves who raised it.
        """
        return self.is_stranger_to(raised) and not self._succeeds(raised)

    def closes_as_successor(self, raised: Filed) -> bool:
        """Say whether this closes what ``raised`` raised, or undoes what it left open, as a successor alone."""
        return self.is_unconfirmed_by(raised) and self._succeeds(raised)

    def is_unconfirmed_by(self, raised: Filed) -> bool:
        """Say whether this is by one whom ``raised`` does not name, nor by a successor whom who named them confirms.

        That a successor was named is the successor's own word, until the person who named them, whom ``raised`` lets
        do so, countersigns the report.
        """
        if not self.is_stranger_to(raised):
            return False
        named = self.succession.named_by if self.succession is not None and self._succeeds(raised) else ""
        people = [one for one in raised.may_name_successor if named and spelt_alike(one.name, named)]
        return not any(
            spelling(hand.subject) == f"{spelling(one.name)}, {spelling(one.organisation)}" and hand.is_by(one.pin)
            for one in people
            if one.organisation
            for hand in self.countersigned
        )

    def is_stranger_to(self, raised: Filed) -> bool:
        """Say whether this is by one whom ``raised`` does not name to close what it raised, nor to undo it."""
        proven = raised.standing.known and self.standing.at_least(raised.standing)
        return proven and not self._signed_by(raised, (*raised.may_revise, *raised.may_close))

    def _succeeds(self, raised: Filed) -> bool:
        """Say whether one whom ``raised`` names, and lets do so, named the inspector successor of one who may close.

        That is the same person only where the organisation is the same in both.
        """
        named = self.succession
        if named is None or perhaps_one(named.named_by, self.inspector):
            return False
        former = any(spelt_alike(named.former, one.name) for one in (*raised.may_revise, *raised.may_close))
        stated = [one.organisation or "" for one in self.may_name_successor if spelt_alike(named.named_by, one.name)]
        known = [one.organisation or "" for one in raised.may_name_successor if spelt_alike(named.named_by, one.name)]
        return former and any(spelt_alike(one, other) for one in stated for other in known)

    def outdoes(self, other: Filed) -> bool:
        """Say whether this counts alone where both claim the number, and it is no revision of the other."""
        own = self.standing
        return own.better(other.standing) and (own.known or own.same_hand(other.standing))


@dataclass(frozen=True, slots=True)
class Settling(Generic[T]):
    """Whether a file that counts settles a thing, as an area by its release, or leaves it open."""

    filed: Filed
    number: str
    settles: bool
    what: T

    def undoes(self, before: Settling[T]) -> bool:
        """Say whether what ``before`` left open is settled by this, be it another file of the same number."""
        return not self.filed.may_not_close(before.filed) and self.filed.standing.at_least(before.filed.standing)


def settled_in_vain(said: Sequence[Settling[T]]) -> Iterator[tuple[T, T]]:
    """Yield what settles a thing that an earlier report left open which does not name its signer, with the last such.

    ``said`` is in the order of time. What a report leaves open is settled by whoever may close what it raised.
    """
    return _settled(said, Filed.may_not_close)


def settled_as_successor(said: Sequence[Settling[T]]) -> Iterator[tuple[T, T]]:
    """Yield what settles a thing that an earlier report left open, as a successor, with the last such report."""
    return _settled(said, Filed.closes_as_successor)


def _settled(
    said: Sequence[Settling[T]], how: Callable[[Filed, Filed], bool], *, stays: bool = False
) -> Iterator[tuple[T, T]]:
    """Yield what is settled in such a way, with the last that left it open; with ``stays`` it is left open still."""
    left: list[Settling[T]] = []
    for one in said:
        if not one.settles:
            left.append(one)
            continue
        open_by = [before for before in left if before.number != one.number and how(one.filed, before.filed)]
        yield from ((one.what, before.what) for before in open_by[-1:])
        left = [before for before in left if not one.undoes(before) or (stays and how(one.filed, before.filed))]


def settled_in_doubt(said: Sequence[Settling[T]]) -> Iterator[T]:
    """Yield what settles a thing that an earlier report left open which does not name its signer, though a successor.

    As whose successor he signs is his own word: what one such undoes stays in doubt, for whoever comes after him too,
    until somebody settles it whom that report names, or one whom who named him confirms.
    """
    return (what for what, _ in _settled(said, Filed.is_unconfirmed_by, stays=True))


def as_counted(decisions: Collection[str], *, held: bool, lacking: bool, in_doubt: bool) -> str:
    """Return how an area stands by what is said of it last: an archive and a submittal count alike what is released.

    It is ``disputed`` where that differs; a release is on ``hold`` where something ``held`` is open, ``unproven`` where
    a report that says it revises one that is ``lacking``, and ``disputed`` where it is ``settled_in_doubt``.
    """
    if len(set(decisions)) > 1:
        return "disputed"
    (decision,) = set(decisions)
    if decision != "release":
        return decision
    return "hold" if held else "unproven" if lacking else "disputed" if in_doubt else decision


def as_successor(title: Told, what: Told, before: Told | str, filed: Filed) -> Told:
    """Return a sentence on what a report does about a thing that one ``before`` it left open, as by a successor."""
    named = filed.succession
    assert named is not None  # noqa: S101 - else nobody is a successor
    namers = (one.organisation for one in filed.may_name_successor if spelt_alike(one.name, named.named_by))
    return told(
        "done-as-successor", what=title, does=what, before=before, inspector=filed.inspector, former=named.former,
        named_by=named.named_by, evidence=named.evidence, organisation=next(namers, None),
        still=told(f"still-{named.still}", former=named.former) if named.still else None,
    )  # fmt: skip


def filed(verification: Verification, record: ReportRecord) -> Filed:
    """Return what a file that did not fail claims to be."""
    left = [signer.left_sha256 for signer in verification.signers if signer.left_sha256]
    hashes = tuple(dict.fromkeys([*left, verification.sha256]))
    standing = standing_of(verification)
    people = (record.inspector, record.may_revise, record.may_close, record.may_name_successor, record.succession)
    later = [one for one in verification.signers[1:] if one.kind == "countersigner" and not one.doubts]
    proven = tuple(Hand.of(one) for one in later if one.chain == "trusted")
    first = next(map(Hand.of, verification.signers), Hand())
    return Filed(
        record.revision, standing, hashes, record.supersedes_sha256, *people, countersigned=proven,
        covered=verification.covered, hand=first, signs_with=record.signs_with,
    )  # fmt: skip


class Outcome(NamedTuple):
    """What becomes of a file, and the places of those beside which it does.

    They replace it, are better proven, dispute it, or are what it may not revise; for one that decides there are none.
    """

    place: Place
    beside: tuple[int, ...] = ()

    @property
    def counts(self) -> bool:
        """Whether anything else in the file counts."""
        return self.place in COUNTING


def outcomes(claims: Sequence[Filed]) -> list[Outcome]:
    """Return for each of the files that claim one report number what becomes of it."""
    kin = _Kin(claims)
    found = [kin.outcome(number) for number in range(len(claims))]
    deciding = [number for number, one in enumerate(found) if one.place == "decides"]
    if len(deciding) > 1:
        for number in deciding:
            found[number] = Outcome("disputed", tuple(other for other in deciding if other != number))
    return found


class Lacking(NamedTuple):
    """A revision that is not there, though one that is names it or must: whether its signer may, nobody knows."""

    revision: int
    sha256: str | None


def lacking(claims: Sequence[Filed]) -> list[Lacking | None]:
    """Return for each of the files that claim one report number what it, or one that it revises, names and lacks."""
    lines = _Kin(claims).lines
    found: list[Lacking | None] = []
    for line in lines:
        first = line.untold > 0 and not any(one.revision < line.untold for one in claims)
        found.append(line.lost_file or (Lacking(line.untold - 1, None) if first else None))
    return found


def named_later(claims: Sequence[Filed], number: int) -> list[int]:
    """Return the places of the files that count, or did, and name this one, themselves or through others."""
    kin = _Kin(claims)
    return [place for place in range(len(claims)) if number in kin.lines[place].named and not kin.barred[place]]


class _Line(NamedTuple):
    """What a file names, itself or through others; below which revision none is told, and below which one is lost."""

    named: set[int]
    untold: int
    lost_file: Lacking | None

    @property
    def lost(self) -> int:
        """The latest revision that is named and lost, or less than any."""
        return -1 if self.lost_file is None else self.lost_file.revision

    @classmethod
    def of(cls, place: int, claims: Sequence[Filed], by_hash: Mapping[str, Sequence[int]]) -> Self:
        """Follow the hashes of what is superseded from the file at ``place`` back as far as they lead."""
        named: set[int] = set()
        untold, lost_file = -1, None
        waiting = [place]
        while waiting:
            one = claims[waiting.pop()]
            if one.supersedes is None:
                untold = max(untold, one.revision)
                continue
            before = [other for other in by_hash.get(one.supersedes, ()) if claims[other].revision < one.revision]
            if not before and (lost_file is None or one.revision - 1 > lost_file.revision):
                lost_file = Lacking(one.revision - 1, one.supersedes)
            waiting += [other for other in before if other not in named]
            named.update(before)
        return cls(named, untold, lost_file)


class _Kin:
    """Which files replace which (``later``), and which earlier ones a revision may not revise (``barred``).

    A revision must name what it replaces by its hash, or name a file that does. Where a file in between is not there,
    only the same hand ties the two; a revision next to a file that names another one is a fork, and replaces nothing
    of it.
    """

    def __init__(self, claims: Sequence[Filed]) -> None:
        self.claims = claims
        by_hash: dict[str, list[int]] = {}
        for place, claim in enumerate(claims):
            for digest in claim.hashes:
                by_hash.setdefault(digest, []).append(place)
        self.lines = [_Line.of(place, claims, by_hash) for place in range(len(claims))]
        self.later: list[list[int]] = [[] for _ in claims]
        self.barred: list[list[int]] = [[] for _ in claims]
        for place in sorted(range(len(claims)), key=lambda one: claims[one].revision):
            self._settle(place)

    def _settle(self, place: int) -> None:
        """Once all earlier revisions are settled, say what this one replaces, or may not revise."""
        claim = self.claims[place]
        before = [number for number, one in enumerate(self.claims) if one.revision < claim.revision]
        self.barred[place] = [number for number in before if self._may_not_revise(place, number)]
        for number in before if not self.barred[place] else ():
            one = self.claims[number]
            tied = one.revision < self.lines[place].lost and claim.same_hand(one)
            if claim.may_replace(one) and (tied or self._revises(place, number)):
                self.later[number].append(place)

    def outcome(self, number: int) -> Outcome:
        """Return what becomes of a file, but for a dispute among those that decide."""
        if self.barred[number]:
            return Outcome("not entitled", tuple(self.barred[number]))
        better, later = self._better(number), self.later[number]
        if later and (not better or any(not self._better(one) for one in later)):
            return Outcome("superseded", tuple(later))
        # a chain of revisions that is less proven as a whole stands beside the report, and not in it
        return Outcome("set aside", better) if better else Outcome("decides")

    def _better(self, number: int) -> tuple[int, ...]:
        """Return the places of the files that count alone beside one, where they are no revisions of each other."""
        others = enumerate(self.claims)
        return tuple(n for n, one in others if one.outdoes(self.claims[number]) and not self.barred[n])

    def _revises(self, place: int, number: int) -> bool:
        line, one = self.lines[place], self.claims[number]
        return number in line.named or one.revision < line.untold or not one.hashes

    def _may_not_revise(self, place: int, number: int) -> bool:
        """Say whether a file claims to revise a report of which it is proven who signed it, without being entitled.

        It is not asked of what is itself no valid revision, nor where a valid one in between has replaced the report;
        and not by a less proven file that the revision does not name, which anybody may have laid beside it. A revision
        of a file that is not there claims to revise the one that is.
        """
        claim, one = self.claims[place], self.claims[number]
        if self.barred[number] or not one.standing.known or not claim.standing.at_least(one.standing):
            return False
        named = self.lines[place].named
        kept = all(self.claims[later].revision >= claim.revision for later in self.later[number])
        beside = self._revises(place, number) or (one.revision <= self.lines[place].lost and kept)
        asked = number in named or (beside and one.standing.at_least(claim.standing))
        return asked and not claim.entitled(one) and not named.intersection(self.later[number])


@dataclass(frozen=True, slots=True)
class Counting:
    """A file that counts, of a number that ``left_out`` is told."""

    file: str
    revision: int
    date: str


@dataclass(frozen=True, slots=True)
class Spoken(Generic[T]):
    """What one file says of a thing, and whether that counts or a later revision has replaced it."""

    file: str
    revision: int
    counts: bool
    said: Said[T]


def left_out(
    spoken: Sequence[Spoken[T]], counting: Mapping[str, Sequence[Counting]]
) -> Iterator[tuple[Spoken[T], Counting]]:
    """Yield what replaced revisions say of one thing that a revision which counts is silent about, and that revision.

    ``spoken`` is all that is said of the thing, ``counting`` the files that count by number. What is yielded has the
    date of the silent revision.
    """
    naming = {one.file for one in spoken if one.counts}
    for one in spoken:
        number = one.said.when[1]
        later = [] if one.counts else [other for other in counting.get(number, ()) if other.revision > one.revision]
        silent = next((other for other in later if other.file not in naming), None)
        if silent is not None:
            yield replace(one, said=replace(one.said, when=(silent.date, number))), silent
