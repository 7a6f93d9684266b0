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
    from collections.abc import Mapping, Sequence

    from reportgen.issued.standing import Standing
    from reportgen.verification import Verification
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
    """A field that copies of one report have signed with several certificates, in whose name, and in which each is."""

    field: str
    name: str
    files: Mapping[str, tuple[str, ...]]

    def sentence(self, what: Told) -> Told:
        """Say of ``what`` report that it is so."""
        which = tuple(told("certificate-in-copies", certificate=one, files=files) for one, files in self.files.items())
        return told("copies-signed-apart", what=what, field=self.field, name=self.name, which=which)


def signed_apart(copies: Mapping[str, Verification]) -> list[SignedApart]:
    """Return the fields that the copies of one report, by their names, have signed with several certificates.

    Who signed is told by the certificate: two people may have one name, and one may sign as the other.
    """
    found: dict[str, dict[str, list[str]]] = {}
    names: dict[str, str] = {}
    for file, answer in sorted(copies.items()):
        for signer in answer.signers:
            certificate = signer.fingerprint.replace(":", "").lower()
            found.setdefault(signer.field, {}).setdefault(certificate, []).append(file)
            names.setdefault(signer.field, shown(signer.subject))
    return [
        SignedApart(field, names[field], {one: tuple(files) for one, files in sorted(by.items())})
        for field, by in sorted(found.items())
        if len(by) > 1
    ]
