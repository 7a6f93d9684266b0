"""What the writer of signatures is given and never should be: times, words, fields and stores that no signing states.

Each revision is written by the program's own writer, and signed soundly: who writes it again from what stands in it,
without asking whether signing could have been given that, finds no difference.
"""

from __future__ import annotations

import functools
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from unittest import mock

import pikepdf

from reportgen.increments import RevocationData, SignatureField, append_first, fields, writing
from reportgen.seal import renew_report, signing
from tests.e2e.tamper.rows import MATHEMATICS, RENEWED, Row, failed, passed
from tests.unit.seal.authorities import crl
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Build = Callable[[], bytes]

FIRST, LATER = "CHANGED_WHEN_SIGNING", "CHANGED_AFTER_SIGNING"
STAMPED = made.AT + timedelta(days=1)


def rows() -> Iterator[Row]:
    yield from _times()
    yield from _places()
    yield from _stores()


# --- times and words


def _saying(build: Build, written: str = "", **texts: str) -> bytes:
    """Build with other texts in the value of the signature; ``written`` is its time as the identifier has it."""
    kind, opened = writing.SignatureObject, writing._opened

    def stating(**words: Any) -> Any:
        value = kind(**words)
        for key, text in texts.items():
            value[f"/{key}"] = fields.text_string(text)
        return value

    def opening(file: Any, at: Any) -> Any:
        told = mock.Mock(isoformat=lambda: written)
        return opened(file, mock.Mock(replace=lambda **_: told) if written else at)

    with mock.patch.object(writing, "SignatureObject", stating), mock.patch.object(writing, "_opened", opening):
        return build()


def _times() -> Iterator[Row]:
    """Yield one moment spelt in the way of the writer, and in others; an offset is of less than a day."""
    for own, base, offset, reasons in (
        ("two hours ahead", made.AT + timedelta(hours=2), "+02:00", ""),
        ("half an hour behind", made.AT - timedelta(minutes=30), "-00:30", ""),
        ("no time ahead", made.AT, "+00:00", FIRST),
        ("no time behind", made.AT, "-00:00", FIRST),
        ("sixty minutes ahead", made.AT + timedelta(hours=1), "+00:60", FIRST),
        ("a day ahead", made.AT + timedelta(hours=24), "+24:00", "FORMAT_FAILURE"),
        ("a hundred hours ahead", made.AT + timedelta(hours=99, minutes=99), "+99:99", "FORMAT_FAILURE"),
    ):
        stated = f"D:{base:%Y%m%d%H%M%S}{offset[:3]}'{offset[4:]}'"
        build = functools.partial(_saying, made.sealed, f"{base:%Y-%m-%dT%H:%M:%S}{offset}", M=stated)
        what = f"a time that is {own}"
        yield failed(what, build, reasons, why=MATHEMATICS) if reasons else passed(what, build)
    for key in ("Reason", "Location"):
        seen = functools.partial(_countersigned, **{key.lower(): ""})
        yield passed(f"countersigned without a {key.lower()}", seen)
        empty = functools.partial(_saying, seen, **{key: ""})
        yield failed(f"countersigned with an empty {key.lower()}", empty, LATER, why=MATHEMATICS)


def _countersigned(**words: str) -> bytes:
    stated = {"at": made.AT + timedelta(hours=2), "reason": "Seen", "location": made.SITE, **words}
    return signing.countersign(made.open_report(), made.engineer(), "Countersigner-1", **stated)


# --- fields


def _in_a_box(*corners: float) -> bytes:
    """Return a report whose field was placed on its page, and then lies elsewhere."""
    with mock.patch.object(fields, "round", create=True, side_effect=corners):
        return made.sealed()


def _beside_it(title: str) -> bytes:
    """Return a report that holds one more field, open, over all of its page."""
    more = SignatureField(title, "Reject this report here", (1, 0.0, 0.0, 595.0, 841.0))

    def appending(file: Any, those: Any, words: Any, **given: Any) -> Any:
        return append_first(file, [*those, more], words, **given)

    with mock.patch.object(signing, "append_first", appending):
        return made.sealed()


def _on_a_small_page() -> bytes:
    pages = made.unsigned(edit=lambda pdf: pdf.pages[0].obj.__setitem__("/MediaBox", pikepdf.Array([0, 0, 100, 100])))
    checked = fields._place

    def placing(writer: Any, field: Any) -> Any:
        """Place it by another box of the page, which is not written."""
        page = writer.root["/Pages"]["/Kids"][0]
        own, page["/MediaBox"] = page["/MediaBox"], fields._numbers(0, 0, 595, 842)
        placed = checked(writer, field)
        page["/MediaBox"] = own
        return placed

    with mock.patch.object(fields, "_place", placing):
        return made.sealed(pages)


def _places() -> Iterator[Row]:
    for what, corners in (
        ("is higher than its page", (0, 0, 595, 843)),
        ("lies off its page", (-500, -500, -400, -400)),
        ("has no size", (72, 72, 72, 72)),
        ("has its corners exchanged", (300, 300, 200, 200)),
    ):
        yield failed(f"a field that {what}", functools.partial(_in_a_box, *corners), FIRST, why=MATHEMATICS)
    yield failed("a field larger than a small page", _on_a_small_page, FIRST, why=MATHEMATICS)
    for title in ("Renewal-1", "Renewal-", "Countersigner-2", "Engineer"):
        yield failed(f"an open field more: {title}", functools.partial(_beside_it, title), FIRST, why=MATHEMATICS)


# --- the store


class _Given(RevocationData):
    """Data that is written, though there be none."""

    def __bool__(self) -> bool:
        return True


class _EachTime(writing._Store):  # type: ignore[misc] # the library is not annotated here
    """A store that lists a certificate as often as it is given."""

    def _embed_cert(self, cert: Any) -> Any:
        reference = self.writer.add_object(writing.generic.StreamObject(stream_data=cert.dump()))
        self._mark_modified()
        self.certs[len(self.certs)] = reference
        return reference


def _named_twice(writer: Any, data: RevocationData, add: Any = writing._add_store) -> None:
    """Add a list and name it twice."""
    add(writer, data)
    listed = writer.root["/DSS"]["/CRLs"]
    listed.append(listed.raw_get(0))


def _stores() -> Iterator[Row]:
    der = made.root().certificate.public_bytes(made.serialization.Encoding.DER)
    data = RevocationData(crls=(crl(made.root(), made.AT),))
    held = RevocationData(certificates=(der,))
    twice = RevocationData(certificates=(der, der))
    listing = mock.patch.object(writing, "_Store", _EachTime)
    nothing = mock.patch.object(writing, "_add_store")
    naming = mock.patch.object(writing, "_add_store", _named_twice)
    waiting = functools.partial(made.countersigned, made.open_report(), made.engineer())
    stranger = made.certify(made.named("Anyone"), made.ec_key(), None, ca=True, key_usage=made.AUTHORITY)
    clock = made.certify(
        made.named("Anyone's Clock"), made.rsa_key(), stranger, key_usage=made.usage("digital_signature"),
        purposes=("1.3.6.1.5.5.7.3.8",),
    )  # fmt: skip

    def within(patch: Any, build: Callable[..., bytes], **given: Any) -> Build:
        def run() -> bytes:
            with patch:
                return build(**given)

        return run

    def renewed(by: Any = None, given: RevocationData | None = None) -> bytes:
        return renew_report(made.report(), made.timestamper(STAMPED, by), given=given).pdf

    why = {"why": MATHEMATICS}
    yield passed("sealed with a certificate", lambda: made.sealed(revocation=held))
    yield failed("sealed with a certificate twice", within(listing, made.sealed, revocation=twice), FIRST, **why)
    yield failed("sealed with an empty store", lambda: made.sealed(revocation=_Given()), FIRST, **why)
    yield failed("sealed with a list named twice", within(naming, made.sealed, revocation=data), FIRST, **why)
    yield failed("countersigned with an empty store", lambda: waiting(revocation=_Given()), LATER, **why)
    yield failed("countersigned with a certificate twice", within(listing, waiting, revocation=twice), LATER, **why)
    by_clock = {"pdfsig": "invalid", "why": RENEWED}
    yield passed("renewed by anyone's clock", functools.partial(renewed, clock), **by_clock)
    yield failed("renewed without a store", within(nothing, renewed), LATER, **by_clock)
    yield failed("renewed without a store by anyone's clock", within(nothing, renewed, by=clock), LATER, **by_clock)
    yield failed("renewed with a list named twice", within(naming, renewed, given=data), LATER, **by_clock)
