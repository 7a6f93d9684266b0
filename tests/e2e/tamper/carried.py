"""What a renewal or a countersignature may carry beside itself, and what is written by hand into its revision.

Each file is signed or stamped again over what was changed, by who is trusted: only what stands in it is wrong.
"""

from __future__ import annotations

import asyncio
import functools
import re
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from unittest import mock

from asn1crypto import parser

from reportgen.increments import PreparedRevision, RevocationData
from reportgen.seal import renew_report, signing
from tests.e2e.tamper.ranges import revalued
from tests.e2e.tamper.rows import MATHEMATICS, NOT_FOUND, RENEWED, Row, doubtful, failed, passed
from tests.unit.seal.authorities import answer, crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Body = Callable[[bytes], bytes]
    Entries = Callable[[list[tuple[int, int, int, bytes]], int], list[tuple[int, int, int, bytes]]]

STAMPED = made.AT + timedelta(days=1)
WRONG, SPELLED, BROKEN = "CHANGED_AFTER_SIGNING", "OTHER_RELEASE", "FORMAT_FAILURE"


def rows() -> Iterator[Row]:
    yield from _brought_along()
    for kind, more in (("renewal", {"pdfsig": "invalid", "why": RENEWED}), ("countersignature", {"why": MATHEMATICS})):
        for what, reasons, part in _by_hand():
            row = failed if {WRONG, BROKEN, "SIGNATURE_COUNT"} & {*reasons.split()} else doubtful
            build = functools.partial(rewritten, kind, *part)
            lost = {"pdfsig": "none", "why": NOT_FOUND} if what == "another catalog" else {}
            yield row(f"{kind} by hand: {what}", build, reasons, **{**more, **lost})
        yield passed(f"{kind} by hand, as it was", functools.partial(rewritten, kind), **more)


def _data(**more: tuple[bytes, ...]) -> RevocationData:
    return RevocationData(**{"crls": (crl(made.root(), made.AT),), **more})


def _brought_along() -> Iterator[Row]:
    """A countersignature with validation data, as it is written and otherwise."""
    waiting = functools.partial(made.sealed, countersigners=(made.ENGINEER,))
    by = functools.partial(made.countersigned, who=made.engineer())
    own = answer(made.engineer().certificate, made.root(), made.AT)
    other = made.certify(made.named("Another"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    signer = made.certify(made.named("Ines Perk"), made.ec_key(), made.root())
    herself = functools.partial(made.sealed, who=made.identity_of(signer, made.root()))
    alone = made.identity_of(signer)
    yield passed("countersigned with a list", lambda: by(waiting(), revocation=_data()))
    kept = RevocationData(crls=(crl(made.root(), made.AT),))
    asked = RevocationData(ocsps=(own,))
    both = lambda: by(waiting(revocation=kept), revocation=asked)  # noqa: E731
    yield passed("countersigned with an answer, a list was there", both)
    yield passed(
        "countersigned with a list, and renewed",
        lambda: renew_report(by(waiting(), revocation=_data()), made.timestamper(STAMPED)).pdf,
        pdfsig="invalid", why=RENEWED,
    )  # fmt: skip
    yield passed(
        "sealed with a list of a root that only the verifier has", lambda: made.sealed(who=alone, revocation=_data())
    )
    strange = RevocationData(crls=(crl(other, made.AT),))
    by_signer = RevocationData(crls=(crl(signer, made.AT),))
    forger = made.certify(made.root().certificate.subject, made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    forged = RevocationData(crls=(crl(forger, made.AT),))
    for what, build in (
        ("countersigned with a list of another authority", lambda: by(waiting(), revocation=strange)),
        ("sealed with a list by the signer's own key", lambda: herself(revocation=by_signer)),
        ("sealed with a list in the name of the root", lambda: made.sealed(revocation=forged)),
    ):
        yield failed(what, build, WRONG, why=MATHEMATICS)
    gone = RevocationData(ocsps=(answer(made.inspector().certificate, made.root(), made.AT, None, made.AT),))
    yield doubtful(
        "countersigned with an answer that its inspector was revoked", lambda: by(waiting(), revocation=gone),
        "REVOKED_NO_POE", why=MATHEMATICS,
    )  # fmt: skip
    yield failed("countersigned for a reason of a hundred thousand letters", _long_reason, WRONG, why=MATHEMATICS)


def _long_reason() -> bytes:
    with mock.patch.object(signing, "LONGEST_WORDS", 1 << 20):
        words = {"at": made.AT + timedelta(hours=2), "reason": "conforms " * 12000, "location": made.SITE}
        return signing.countersign(made.open_report(), made.engineer(), "Countersigner-1", **words)


# --- written by hand


def _base(kind: str) -> tuple[bytes, bytes]:
    """Return a report, and the same with one more revision that holds a list."""
    if kind == "renewal":
        return made.report(), renew_report(made.report(), made.timestamper(STAMPED), given=_data()).pdf
    return made.open_report(), made.countersigned(made.open_report(), made.engineer(), revocation=_data())


def rewritten(
    kind: str,
    body: Body | None = None,
    entries: Entries | None = None,
    trailer: Body | None = None,
    tail: Body | None = None,
) -> bytes:
    """Return the report with the parts of its last revision changed and listed again, and its value made anew."""
    before, whole = _base(kind)
    own = whole[len(before) :]
    at = own.rindex(b"\nxref\n") + 1
    objects = own[:at] if body is None else body(own[:at])
    rest = own[at:]
    ending = rest[rest.index(b"trailer") : rest.index(b"startxref")]
    listed = [(int(one[1]), len(before) + one.start(), 0, b"n") for one in re.finditer(rb"(?m)^(\d+) 0 obj\b", objects)]
    table = _table(listed if entries is None else entries(listed, before.index(b"\n4 0 obj") + 1))
    ending = ending if trailer is None else trailer(ending)
    end = b"startxref\n%d\n%%%%EOF\n" % (len(before) + len(objects))
    whole = before + objects + table + ending + (end if tail is None else tail(end))
    return revalued(whole, functools.partial(_value, kind))


def _table(listed: list[tuple[int, int, int, bytes]]) -> bytes:
    runs: list[list[tuple[int, int, int, bytes]]] = [[(0, 0, 65535, b"f")]]
    for one in listed:
        if runs[-1][-1][0] + 1 == one[0]:
            runs[-1].append(one)
        else:
            runs.append([one])
    lines = [b"xref\n"]
    for run in runs:
        lines.append(b"%d %d\n" % (run[0][0], len(run)))
        lines += [b"%010d %05d %s \n" % (place, generation, state) for _, place, generation, state in run]
    return b"".join(lines)


def _value(kind: str, digest: bytes) -> bytes:
    """Return the value of a renewal or a countersignature, made for a digest."""
    if kind == "renewal":
        value: Any = asyncio.run(made.timestamper(STAMPED).async_timestamp(digest, "sha256"))
    else:
        value = signing._value(made.engineer(), PreparedRevision(digest, None), None)
    return bytes(value.dump())


def _exchanged(pattern: bytes, new: bytes) -> Body:
    def change(part: bytes) -> bytes:
        found = re.subn(pattern, new, part, count=1)
        assert found[1], pattern
        return found[0]

    return change


def _grown_list(part: bytes) -> bytes:
    """Put one element more at the end of the list, which no signature of it covers."""
    found = re.search(rb"/Length (\d+)\n>>\nstream\n", part)
    assert found
    stop = found.end() + int(found[1])
    grown = parser.emit(0, 1, 16, parser.parse(part[found.end() : stop])[4] + b"\x05\x00")
    return part[: found.start(1)] + b"%d" % len(grown) + part[found.end(1) : found.end()] + grown + part[stop:]


def _by_hand() -> Iterator[tuple[str, str, tuple[Any, ...]]]:
    """Yield what is changed, what is said of it, and how: objects, table, trailer, end."""
    loose = b"99 0 obj\n(conforms)\nendobj\n"
    with_loose: Body = lambda part: part + loose  # noqa: E731
    grown = _exchanged(rb"/Size \d+", b"/Size 100")
    inside = _exchanged(rb"<<", b"<<\n/Note (x)")
    yield "a comment between objects", SPELLED, (lambda part: part + b"% conforms\n",)
    unlisted: Entries = lambda listed, _: [one for one in listed if one[0] != 99]  # noqa: E731
    yield "an object that no table lists", f"{SPELLED} ORPHAN_OBJECTS", (with_loose, unlisted)
    yield "an object more", f"{WRONG} {BROKEN} ORPHAN_OBJECTS", (with_loose, None, grown)
    yield "an entry of the table twice", SPELLED, (None, lambda listed, _: [*listed, listed[-1]])
    yield "an old object listed again", WRONG, (None, lambda listed, old: sorted([*listed, (4, old, 0, b"n")]))
    freed: Entries = lambda listed, _: sorted([*listed, (4, 0, 1, b"f")])  # noqa: E731
    yield "an old object removed", f"{BROKEN} EMBEDDED_FILES", (None, freed)
    yield "a generation higher", BROKEN, (None, lambda listed, _: [*listed[:-1], (*listed[-1][:2], 1, b"n")])
    yield "a table and a stream of it", BROKEN, (None, None, _exchanged(rb"<<", b"<<\n/XRefStm 15"))
    yield "an entry more in the trailer", WRONG, (None, None, inside)
    yield "a revision before that is nowhere", BROKEN, (None, None, _exchanged(rb"/Prev \d+", b"/Prev 99999"))
    yield "encryption of nothing", BROKEN, (None, None, _exchanged(rb"<<", b"<<\n/Encrypt null"))
    yield "another catalog", BROKEN, (None, None, _exchanged(rb"/Root \d+ 0 R", b"/Root 4 0 R"))
    yield "two ends", SPELLED, (None, None, None, lambda end: end.replace(b"%%EOF\n", b"") + end)
    yield "a list that the store names twice", WRONG, (_exchanged(rb"/CRLs \[ (\d+ 0 R) \]", rb"/CRLs [ \1 \1 ]"),)
    unnamed = _exchanged(rb"/CRLs \[ \d+ 0 R \]", b"/CRLs [  ]")
    yield "a list with more than its authority signed", WRONG, (_grown_list,)
    yield "a list that the store does not name", f"{WRONG} ORPHAN_OBJECTS", (unnamed,)
    turned = _exchanged(rb"/Certs \[[ ]*\]\n/CRLs (\[ \d+ 0 R \])", rb"/CRLs [  ]\n/Certs \1")
    yield "a list stored as a certificate", WRONG, (turned,)
    yield "a kind of the store", WRONG, (_exchanged(rb"/Certs \[", b"/Type /DSS\n/Certs ["),)
    yield "a further entry of the store", WRONG, (_exchanged(rb"/Certs \[", b"/VRI <<\n>>\n/Certs ["),)
    yield "a further entry beside the list", WRONG, (_exchanged(rb"/Length (\d+)", rb"/Length \1\n/DL 3"),)
