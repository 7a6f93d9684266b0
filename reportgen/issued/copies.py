"""Which files are copies of what was issued once, which of them counts, and in what they differ.

Copies cover the same by their first signature, made with one certificate. Who signed is told by certificates, in the
further signatures too: a copy that somebody else signed is no plain one.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, NamedTuple

from reportgen.names import shown
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from reportgen.issued.standing import Standing
    from reportgen.verification import Signer, Verification
    from reportgen.words.told import Told


class SignedContent(NamedTuple):
    """What the first signature of a file covers, by its SHA-256, and the signer's certificate, empty where not known.

    Whoever holds a file can write the signature's own value otherwise, or take a timestamp off it: nobody signs that.
    """

    covered: str
    certificate: str


def issued_once(signed: Sequence[SignedContent]) -> list[list[int]]:
    """Return the places of the files of each report, slip or other file that was issued once: its copies.

    One of which it is not known who signed it is a copy of one that covers the same.
    """
    found: dict[str, dict[str, list[int]]] = {}
    for place, one in sorted(enumerate(signed), key=lambda each: not each[1].certificate):
        by_signer = found.setdefault(one.covered, {})
        whose = one.certificate or min(by_signer, default="")
        by_signer.setdefault(whose, []).append(place)
    return sorted(sorted(places) for by_signer in found.values() for places in by_signer.values())


def rank_of_copy(standing: Standing, signed: int) -> tuple[bool, bool, int, int]:
    """Return by what a copy stands behind others, least first: the best proven, then that with more signatures."""
    return not standing.proven, not standing.known, len(standing.doubts), -signed


def rank_of_alike(proven: Sequence[str | None], until: str | None) -> tuple[int, tuple[float, ...], float]:
    """Return by what one of copies with the same signatures stands behind others, least first: the times that are
    ``proven``, more and then earlier ones before, then ``until`` when it holds, the longer before.
    """
    moments = tuple(math.inf if one is None else _seconds(one) for one in proven)
    return sum(one is None for one in proven), moments, math.inf if until is None else -_seconds(until)


def _seconds(moment: str) -> float:
    return dt.datetime.fromisoformat(moment).timestamp()


def written_otherwise(one: Verification, other: Verification) -> bool:
    """Say whether something is signed in both files, by one certificate, and what nobody signs there is otherwise."""
    pairs = zip(_written(one), _written(other), strict=False)
    return any(
        covered == covered_too and left != left_too and (by == by_too or None in {by, by_too})
        for (covered, left, by), (covered_too, left_too, by_too) in pairs
    )


def _written(answer: Verification) -> list[tuple[str, str, str | None]]:
    """Return of each signature and renewal what it covers, the file as it left it, and by which certificate."""
    by = {one.left_sha256: one.fingerprint for one in answer.signers}
    return [(covered, left, by.get(left)) for covered, left in zip(answer.covered, answer.left, strict=False)]


class SignedApart(NamedTuple):
    """A field that copies of one report have signed with several certificates, in whose names, and in which each is."""

    field: str
    names: Mapping[str, str]
    files: Mapping[str, tuple[str, ...]]

    def sentence(self, what: Told) -> Told:
        """Say of ``what`` report that it is so."""
        first, *others = dict.fromkeys(self.names.values())
        which = tuple(
            told("certificate-in-copies", certificate=one, files=files, name=self.names[one] if others else None)
            for one, files in self.files.items()
        )
        return told("copies-signed-apart", what=what, field=self.field, name=first, which=which)


class SignedLess(NamedTuple):
    """A field that a copy has signed with another certificate than copies in which that is proven better."""

    file: str
    field: str
    name: str
    certificate: str
    others: tuple[str, ...]

    @property
    def sentence(self) -> Told:
        """Say that it is so, and who signed by that certificate's own word."""
        return told(
            "copy-signed-less", file=self.file, field=self.field, name=self.name, certificate=self.certificate,
            others=self.others,
        )  # fmt: skip


def signed_apart(copies: Mapping[str, Verification]) -> list[SignedApart]:
    """Return the fields that the copies of one report, by their names, have signed with several certificates.

    Who signed is told by the certificate: two people may have one name, and one may sign as the other. A signature that
    is proven less than that of another certificate in its field weighs nothing beside it (``signed_less``).
    """
    found = []
    for field, signed in sorted(_by_field(copies).items()):
        files: dict[str, list[str]] = {}
        names: dict[str, str] = {}
        for file, signer in signed:
            if not _better(signer, signed):
                files.setdefault(signer.certificate, []).append(file)
                names.setdefault(signer.certificate, shown(signer.subject))
        if len(files) > 1:
            found.append(SignedApart(field, names, {one: tuple(own) for one, own in sorted(files.items())}))
    return found


def signed_less(copies: Mapping[str, Verification]) -> list[SignedLess]:
    """Return of the copies of one report, by their names, each in which a field is signed with a certificate that is
    proven less than another one there: whoever holds a file can sign a copy of it.
    """
    return [
        SignedLess(file, field, shown(signer.subject), signer.certificate, better)
        for field, signed in sorted(_by_field(copies).items())
        for file, signer in signed
        if (better := _better(signer, signed))
    ]


def spoilt_copies(files: Iterable[tuple[str, str, str]]) -> dict[str, str]:
    """Return the files that failed though what their first signature covers is a file's that passed, with that one.

    ``files`` are their names, each with the SHA-256 of that (empty where nothing is signed) and the verdict.
    """
    every = list(files)
    sound: dict[str, str] = {}
    for name, covered, overall in every:
        if covered and overall == "passed":
            sound[covered] = min(name, sound.get(covered, name))
    return {name: sound[covered] for name, covered, overall in every if overall == "failed" and covered in sound}


def by_the_same(one: Verification, other: Verification) -> bool:
    """Say whether no field is signed with one certificate in a file, and with another one in the other file."""
    theirs = {signer.field: signer.certificate for signer in other.signers}
    return all(theirs.get(signer.field, signer.certificate) == signer.certificate for signer in one.signers)


def _by_field(copies: Mapping[str, Verification]) -> dict[str, list[tuple[str, Signer]]]:
    found: dict[str, list[tuple[str, Signer]]] = {}
    for file, answer in sorted(copies.items()):
        for signer in answer.signers:
            found.setdefault(signer.field, []).append((file, signer))
    return found


def _better(signer: Signer, signed: Sequence[tuple[str, Signer]]) -> tuple[str, ...]:
    """Return the files in which another certificate signed, and that is proven better."""
    own, doubts = signer.certificate, _doubts(signer)
    return tuple(file for file, one in signed if one.certificate != own and _doubts(one) < doubts)


def _doubts(signer: Signer) -> frozenset[str]:
    return frozenset({*signer.doubts, *(["SIGNER_NOT_NAMED"] if signer.kind == "not named" else [])})
