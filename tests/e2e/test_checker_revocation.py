"""Lists of revoked certificates and answers about them, whoever wrote them into the store: read to their last byte."""

from __future__ import annotations

import contextlib
import hashlib
import random
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, ed25519
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.increments import RevocationData
from tests.e2e import mutated
from tests.e2e.mutated import ECDSA, extension
from tests.e2e.test_checker_agreement import both, ways
from tests.e2e.test_checker_certificates import UNREADABLE as EXTENSIONS
from tests.e2e.test_checker_odd_values import ANYONE, CLOCK, NULL, der, object_id, sequence
from tests.outside import needs_program
from tests.unit.verification import signed_material as made
from tests.unit.verification import test_renewals as renewals

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.checker_page import CheckerPage

pytestmark = [needs_program("chromium"), pytest.mark.filterwarnings("ignore")]  # of what is odd, libraries warn
SOON, LATER = der(0x17, b"260302000000Z"), der(0x17, b"300101000000Z")
ASKED, NEXT = der(0x18, b"20260302000000Z"), der(0xA0, der(0x18, b"20300101000000Z"))
FOLLOWING = sequence(object_id("2.5.4.3"), der(0x0C, b"List 2"))
NUMBER, STRANGE, FREE = "2.5.29.20", "1.2.3.4.5", object_id("1.3.6.1.5.5.7.48.1.1")
PLACES = ("signer", "renewal")
"""Whose chain a list or answer speaks of: that of who signed, below the root given; a stranger's clock."""


def _of(place: str) -> tuple[made.Pair, Any]:
    """Return who issued the certificate that is spoken of, and that."""
    return (made.root(), made.inspector().certificate) if place == "signer" else (ANYONE, CLOCK.certificate)


def _signed(issuer: made.Pair, statement: bytes, *more: bytes, inside: bytes = ECDSA) -> bytes:
    signature = issuer.key.sign(statement, ec.ECDSA(hashes.SHA256()))
    return sequence(statement, inside, der(3, b"\0", signature), *more)


def revoked(*entries: bytes) -> bytes:
    return sequence(*entries)


def entry(number: bytes = b"\5", *more: bytes, date: bytes = SOON) -> bytes:
    return sequence(der(2, number), date, *more)


CONDITIONS = sequence(extension(NUMBER, b"\2\1\1"), extension(STRANGE, NULL))
LIST = {
    "version": b"\2\1\1", "algorithm": ECDSA, "issuer": b"", "date": SOON, "next": LATER,
    "entries": revoked(entry(), entry(b"\6", sequence(extension("2.5.29.21", b"\x0a\1\1")))),
    "extensions": der(0xA0, CONDITIONS), "end": b"",
}  # fmt: skip


def list_with(place: str, changes: dict[str, bytes], edit: Callable[[bytes], bytes] = lambda told: told) -> bytes:
    issuer, _ = _of(place)
    fields = {**LIST, "issuer": issuer.certificate.subject.public_bytes(), **changes}
    after = [fields.pop("after")] if "after" in fields else []
    inside = fields.pop("algorithm outside", ECDSA)
    return _signed(issuer, edit(sequence(*fields.values())), *after, inside=inside)


def conditions(*extensions: bytes) -> dict[str, bytes]:
    return {"extensions": der(0xA0, sequence(*extensions))}


ABOVE = der(0xA4, sequence(der(0x31, sequence(object_id("2.5.4.3"), der(0x0C, b"Works")))))
USERS, AUTHORITIES, ATTRIBUTES = b"\x81\1\xff", b"\x82\1\xff", b"\x85\1\xff"
UNREADABLE: dict[str, tuple[str, bytes]] = {
    "an issuer above without its number": ("2.5.29.35", sequence(der(0xA1, ABOVE))),
    "a number above without its issuer": ("2.5.29.35", sequence(b"\x82\1\1")),
    "a number above with idle zeros": ("2.5.29.35", sequence(der(0xA1, ABOVE), b"\x82\3\0\0\1")),
    "a part of two kinds": ("2.5.29.28", sequence(USERS, AUTHORITIES)),
    "a part of persons and their attributes": ("2.5.29.28", sequence(USERS, ATTRIBUTES)),
    "a part of authorities and attributes": ("2.5.29.28", sequence(AUTHORITIES, ATTRIBUTES)),
    "a part for no reason": ("2.5.29.28", sequence(b"\x83\1\0")),
    "a part for reasons that are all zero": ("2.5.29.28", sequence(b"\x83\2\0\0")),
    "a part for a reason that is nothing": ("2.5.29.28", sequence(b"\x83\2\7\x80")),
    "a part for reasons beyond those there are": ("2.5.29.28", sequence(b"\x83\4\0\0\0\1")),
    "where the newest is for some reasons, nowhere": ("2.5.29.46", sequence(sequence(b"\x81\2\6\x40"))),
}
"""RFC 5280, 4.2.1.1, 4.2.1.13 and 5.2.5: what the libraries of the program read of none of these."""
ODD_LISTS: dict[str, dict[str, bytes]] = {
    "a third version": {"version": b"\2\1\2"},
    "the first version written out": {"version": b"\2\1\0"},
    "a version with an idle zero": {"version": b"\2\2\0\1"},
    "extensions in the first version": {"version": b""},
    "another algorithm inside": {"algorithm outside": sequence(object_id("1.2.840.10045.4.3.2"), NULL)},
    "a date that is a text": {"date": der(0x0C, b"260302000000Z")},
    "a next date that is a text": {"next": der(0x0C, b"x")},
    "two next dates": {"next": LATER * 2},
    "two lists of entries": {"entries": revoked(entry()) + revoked(entry(b"\6"))},
    "an entry without a date": {"entries": revoked(sequence(b"\2\1\5"))},
    "an entry with something after it": {"entries": revoked(entry(b"\5", NULL))},
    "an entry with an idle zero": {"entries": revoked(entry(b"\0\5"))},
    "an entry twice": {"entries": revoked(entry(), entry(date=LATER))},
    "an entry for a reason that is none": {
        "entries": revoked(entry(b"\5", sequence(extension("2.5.29.21", b"\x0a\1\7")))),
    },
    "an entry with a condition that is not known": {
        "entries": revoked(entry(b"\5", sequence(extension(STRANGE, NULL, critical=True)))),
    },
    "an entry of what another issued": {
        "entries": revoked(entry(b"\5", sequence(extension("2.5.29.29", mutated.ALSO_CALLED, critical=True)))),
    },
    "something after the dates": {"end": NULL},
    "words after the dates": {"end": der(0x0C, b"hello")},
    "something beside the signature": {"after": NULL},
    "an extension that is none": conditions(der(0x0C, b"x")),
    "no extension in their list": conditions(),
    "two lists of extensions": {"extensions": der(0xA0, CONDITIONS, CONDITIONS)},
    "an extension twice": conditions(*[extension(STRANGE, NULL)] * 2),
    "an extension that is not critical in so many words": conditions(
        sequence(object_id(NUMBER), b"\1\1\0", der(4, b"\2\1\1")),
    ),
    "a condition that is not known": conditions(extension(STRANGE, NULL, critical=True)),
    "a number that is none": conditions(extension(NUMBER, NULL)),
    "a negative number": conditions(extension(NUMBER, b"\2\1\x85")),
    "a list before it that has no number": conditions(extension("2.5.29.27", NULL, critical=True)),
    "a key that is none": conditions(extension("2.5.29.35", NULL)),
    "a part that is none": conditions(extension("2.5.29.28", NULL, critical=True)),
    "a part of nothing": conditions(extension("2.5.29.28", sequence(), critical=True)),
    "a part that is named by nothing": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA1))), critical=True),
    ),
    "a part that is named by what is no text": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA1, sequence(object_id("2.5.4.3"), NULL)))), critical=True),
    ),
    "a part that is named twice": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA1, FOLLOWING * 2))), critical=True),
    ),
    "a part in two ways": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA1, FOLLOWING), der(0xA0, mutated.ADDRESS))), critical=True),
    ),
    "entries of what others issued": conditions(extension("2.5.29.28", sequence(b"\x84\1\xff"), critical=True)),
    "a key above with idle bits in its reasons": conditions(
        extension("2.5.29.46", sequence(sequence(der(0xA0, der(0xA0, mutated.ADDRESS)), b"\x81\2\0\x40"))),
    ),
    **{name: conditions(extension(*told)) for name, told in UNREADABLE.items()},
}  # fmt: skip
"""RFC 5280, 5.1 to 5.3."""
SOUND_LISTS: dict[str, dict[str, bytes]] = {
    "as lists are": {},
    "of the first version": {"version": b"", "entries": revoked(entry()), "extensions": b""},
    "without entries": {"entries": b""},
    "without a next date": {"next": b""},
    "dated in full": {"date": ASKED},
    "a part of a list": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA0, mutated.ADDRESS)), b"\x81\1\xff"), critical=True),
    ),
    "a part of a list, named by what follows its issuer": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA1, FOLLOWING))), critical=True),
    ),
    "where the newest is, named by what follows its issuer": conditions(
        extension("2.5.29.46", sequence(sequence(der(0xA0, der(0xA1, FOLLOWING))))),
    ),
    "a part of a list, for some reasons": conditions(
        extension("2.5.29.28", sequence(der(0xA0, der(0xA0, mutated.ADDRESS)), b"\x83\2\6\x40"), critical=True),
    ),
    "whose issuer above is named in full": conditions(
        extension("2.5.29.35", sequence(b"\x80\1k", der(0xA1, ABOVE), b"\x82\1\1")),
    ),
    "what came since another": conditions(
        extension(NUMBER, b"\2\1\2"), extension("2.5.29.27", b"\2\1\1", critical=True),
    ),
}  # fmt: skip


def about(place: str, *more: bytes) -> bytes:
    issuer, certificate = _of(place)
    held = asn1_x509.Certificate.load(issuer.certificate.public_bytes(Encoding.DER))
    of = [held.subject.dump(), bytes(held.public_key["public_key"].contents[1:])]
    hashed = [der(4, hashlib.sha1(one).digest()) for one in of]  # noqa: S324 - as RFC 6960, 4.1.1, names an issuer
    number = asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER))["tbs_certificate"]["serial_number"]
    return sequence(sequence(object_id("1.3.14.3.2.26"), NULL), *hashed, number.dump(), *more)


GOOD = b"\x80\0"
WORD = {"state": GOOD, "date": ASKED, "next": NEXT, "extensions": b"", "end": b""}
ANSWER = {"version": b"", "responder": b"", "produced": ASKED, "words": b"", "extensions": b"", "end": b""}


def answer_with(place: str, changes: dict[str, bytes], edit: Callable[[bytes], bytes] = lambda told: told) -> bytes:
    """Return an answer with ``changes``; those of what it says of the one certificate begin with ``its``."""
    issuer, _ = _of(place)
    its = {**WORD, **{name[4:]: value for name, value in changes.items() if name.startswith("its ")}}
    word = sequence(about(place, its.pop("about", b"")), *its.values())
    named = der(0xA1, issuer.certificate.subject.public_bytes())
    fields = {**ANSWER, "responder": named, "words": sequence(word), **changes}
    inner = _signed(issuer, edit(sequence(*(fields[name] for name in ANSWER))), changes.get("brought", b""))
    kind = sequence(FREE, der(4, inner), changes.get("beside", b""))
    return sequence(changes.get("status", b"\x0a\1\0"), der(0xA0, kind), changes.get("after", b""))


def its_conditions(*extensions: bytes) -> dict[str, bytes]:
    return {"its extensions": der(0xA1, sequence(*extensions))}


ODD_ANSWERS: dict[str, dict[str, bytes]] = {
    "a refusal": {"status": b"\x0a\1\6"},
    "something after the whole": {"after": NULL},
    "something beside the answer": {"beside": NULL},
    "the first version written out": {"version": der(0xA0, b"\2\1\0")},
    "a later version": {"version": der(0xA0, b"\2\1\5")},
    "a responder of no kind": {"responder": der(0xA3)},
    "a responder with a key of one byte": {"responder": der(0xA2, der(4, b"x"))},
    "a moment that is a text": {"produced": der(0x0C, b"x")},
    "a moment of two digits for the year": {"produced": SOON},
    "nothing said": {"words": sequence()},
    "an extension that is none": {"extensions": der(0xA1, NULL)},
    "a condition that is not known": {"extensions": der(0xA1, sequence(extension(STRANGE, NULL, critical=True)))},
    "something after the extensions": {"end": NULL},
    "a state of no kind": {"its state": b"\x89\0"},
    "no state": {"its state": b"", "its date": b"", "its next": b""},
    "good, and more": {"its state": der(0xA0, NULL)},
    "good in so many words": {"its state": der(0x80, b"x")},
    "unknown, and more": {"its state": der(0x82, b"x")},
    "revoked at no moment": {"its state": der(0xA1)},
    "revoked for no reason": {"its state": der(0xA1, ASKED, der(0xA0, b"\x0a\1\7"))},
    "a date that is a text": {"its date": der(0x0C, b"x")},
    "a date of two digits for the year": {"its date": SOON},
    "a next date that is a text": {"its next": der(0xA0, der(0x0C, b"x"))},
    "a certificate with something after it": {"its about": NULL},
    "a word with something after it": {"its end": der(0x0C, b"x")},
    "a condition of its own that is not known": its_conditions(extension(STRANGE, NULL, critical=True)),
    "an extension of its own twice": its_conditions(*[extension(STRANGE, NULL)] * 2),
    "kept since no moment": its_conditions(extension("1.3.6.1.5.5.7.48.1.6", NULL)),
}  # fmt: skip
"""RFC 6960, 4.2.1 and 4.4."""
BARE_NUMBERS = {
    "bare bytes": b"\x91\x07\xfe" * 5,
    "bare, and looks like DER": b"\5\0",
    "bare, and cut off": b"\x04\x20ab",
}
"""As responders echo it that was sent so: RFC 8954, 2.1, wants an OCTET STRING in it, RFC 2560, 4.4.1, does not say."""
SOUND_ANSWERS: dict[str, dict[str, bytes]] = {
    "as answers are": {},
    "by the key of who answers": {"responder": der(0xA2, der(4, b"x" * 20))},
    "without a next date": {"its next": b""},
    "with a number of the request": {
        "extensions": der(0xA1, sequence(extension("1.3.6.1.5.5.7.48.1.2", der(4, b"x" * 16)))),
    },
    **{f"with a number of the request that is {name}": {
        "extensions": der(0xA1, sequence(extension("1.3.6.1.5.5.7.48.1.2", number))),
    } for name, number in BARE_NUMBERS.items()},
    "kept since long": its_conditions(extension("1.3.6.1.5.5.7.48.1.6", ASKED), extension(STRANGE, NULL)),
}  # fmt: skip


def file_with(place: str, **stored: bytes) -> bytes:
    """Return a file with a list (``crls``) or an answer (``ocsps``) in its store."""
    held = {kind: (item,) for kind, item in stored.items()}
    if place == "signer":
        return made.sealed(revocation=RevocationData(**held))
    data = RevocationData(certificates=(ANYONE.certificate.public_bytes(Encoding.DER),), **held)
    return renewals.smuggled(renewals.nothing, data=data, by=CLOCK, years=1 / 365)


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", SOUND_LISTS)
def test_a_list_as_authorities_write_it(name: str, place: str, checker: CheckerPage) -> None:
    found, verdict = both(checker, file_with(place, crls=list_with(place, SOUND_LISTS[name])))
    assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})


@pytest.mark.parametrize("place", PLACES)
def test_a_list_in_the_name_of_its_issuer_in_whatever_kind_of_letters(place: str, checker: CheckerPage) -> None:
    """RFC 5280, 7.1; of another name it is another's."""
    name = mutated.respelt(_of(place)[0].certificate.subject.public_bytes())
    for issuer, code in ((name, "INTACT"), (name.replace(b"Works", b"Wares"), "STORE")):
        found, verdict = both(checker, file_with(place, crls=list_with(place, {"issuer": issuer})))
        assert (found["intact"]["code"], ways(verdict) == {"passed"}) == (code, code == "INTACT")


@pytest.mark.parametrize("place", PLACES)
def test_a_kind_has_at_most_as_many_bytes_as_the_program_reads(place: str, checker: CheckerPage) -> None:
    for size, code in ((63, "INTACT"), (64, "SIGNATURE_FORM")):
        name = sequence(der(0x31, sequence(der(6, b"a" * size), der(0x0C, b"x"))))
        pdf = file_with(place, ocsps=answer_with(place, {"responder": der(0xA1, name)}))
        found, verdict = both(checker, pdf)
        assert (found["intact"]["code"], ways(verdict) == {"passed"}) == (code, code == "INTACT")


@pytest.mark.parametrize("scope", [b"\x81\1\xff", b"\x82\1\xff", b"\x83\2\6\x40", b"\x85\1\xff", b""])
def test_a_list_of_whatever_scope_revokes_whom_it_names(scope: bytes, checker: CheckerPage) -> None:
    """RFC 5280, 6.3.3: the scope counts where a list is to say that somebody is *not* revoked; the page never does."""
    point = sequence(der(0xA0, der(0xA1, FOLLOWING)), scope)
    number = made.inspector().certificate.serial_number
    own = entry(number.to_bytes(number.bit_length() // 8 + 1, "big"))
    changes = {**conditions(extension("2.5.29.28", point, critical=True)), "entries": revoked(own)}
    found, verdict = both(checker, file_with("signer", crls=list_with("signer", changes)))
    assert (found["intact"]["code"], found["who"][0]["code"]) == ("INTACT", "REVOKED")
    assert verdict.steps[4].status != "passed"


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", SOUND_ANSWERS)
def test_an_answer_as_authorities_write_it(name: str, place: str, checker: CheckerPage) -> None:
    found, verdict = both(checker, file_with(place, ocsps=answer_with(place, SOUND_ANSWERS[name])))
    assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", ODD_LISTS)
def test_a_list_with_odd_values_is_not_understood(name: str, place: str, checker: CheckerPage) -> None:
    found = _asked(checker, place, crls=list_with(place, ODD_LISTS[name]))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", ODD_ANSWERS)
def test_an_answer_with_odd_values_is_not_understood(name: str, place: str, checker: CheckerPage) -> None:
    found = _asked(checker, place, ocsps=answer_with(place, ODD_ANSWERS[name]))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", UNREADABLE)
def test_a_list_with_a_part_that_cannot_be_read_is_no_change(name: str, place: str, checker: CheckerPage) -> None:
    """Authorities may write such ones: nothing is passed by it, and nobody is called a forger for it."""
    for critical in (False, name.startswith("a part")):
        item = list_with(place, conditions(extension(*UNREADABLE[name], critical=critical)))
        found, verdict = both(checker, file_with(place, crls=item))
        assert found["intact"]["answer"] == "cannot"
        assert [step.status for step in verdict.steps[:4]] == ["passed"] * 3 + ["indeterminate"]
        (told,) = verdict.steps[3].reasons
        assert told.sentence.endswith("with a part that cannot be read")


def brought(place: str, key: bytes = b"", *more: bytes) -> dict[str, bytes]:
    """An answer with a certificate that nobody needs, of this key and with these extensions."""
    issuer, _ = _of(place)
    name = issuer.certificate.subject.public_bytes()
    fields = [one.dump() for one in mutated.read(mutated.statement(name, name, made.ec_key(), 9, b""))[0].kids or []]
    fields[6] = key or fields[6]
    fields[7] = der(0xA3, sequence(extension("2.5.29.14", der(4, b"x")), *more))
    return {"brought": der(0xA0, sequence(_signed(issuer, sequence(*fields))))}


def nameless(place: str) -> bytes:
    """An answer with a certificate that nobody needs, of nobody."""
    certificate = brought(place)["brought"]
    name = _of(place)[0].certificate.subject.public_bytes()
    (whole,) = mutated.read(certificate)
    (told, *_) = ((whole.kids or [])[0].kids or [])[0].kids or []
    fields = told.kids or []
    assert fields[5].dump() == name
    fields[5] = mutated.read(sequence())[0]
    return answer_with(place, {"brought": der(0xA0, sequence(_signed(_of(place)[0], told.dump())))})


@pytest.mark.parametrize("place", PLACES)
def test_lists_and_answers_of_nobody(place: str, checker: CheckerPage) -> None:
    """RFC 5280, 5.1.2.3: whoever issues a list has a name."""
    files = [
        file_with(place, crls=list_with(place, {"issuer": sequence()})),
        file_with(place, ocsps=answer_with(place, {"responder": der(0xA1, sequence())})),
        file_with(place, ocsps=nameless(place)),
    ]
    for pdf in files:
        found, _ = both(checker, pdf)
        assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")


RSA, POINTS, CURVE = (object_id(f"1.2.840.{one}") for one in ("113549.1.1.1", "10045.2.1", "10045.3.1.7"))
EIGHT = der(2, b"\0" + b"\xe5" * 256)
KEYS = {
    "of a kind without its parameters": (sequence(object_id("1.2.840.10040.4.1")), b"\2\1\5"),
    "of a kind that is not known": (sequence(object_id("1.2.3.4")), b"x"),
    "RSA with a parameter": (sequence(RSA, sequence(b"\2\1\1")), sequence(EIGHT, b"\2\1\3")),
    "RSA without its parameter": (sequence(RSA), sequence(EIGHT, b"\2\1\3")),
    "RSA of three numbers": (sequence(RSA, NULL), sequence(EIGHT, b"\2\1\3", b"\2\1\3")),
    "RSA of a negative number": (sequence(RSA, NULL), sequence(der(2, b"\xe5" * 256), b"\2\1\3")),
    "RSA with an idle zero": (sequence(RSA, NULL), sequence(EIGHT, b"\2\2\0\3")),
    "RSA with an even exponent": (sequence(RSA, NULL), sequence(EIGHT, b"\2\1\4")),
    "a curve that is not known": (sequence(POINTS, object_id("1.3.132.0.10")), b"\4" + b"\1" * 64),
    "a curve with something after it": (sequence(POINTS, CURVE, NULL), b"\4" + b"\1" * 64),
    "no point of its curve": (sequence(POINTS, CURVE), b"\4" + b"\1" * 64),
    "a point of another length": (sequence(POINTS, CURVE), b"\4" + b"\1" * 66),
    "a point in short": (sequence(POINTS, CURVE), b"\2" + b"\1" * 32),
    "thirty-one bytes": (sequence(object_id("1.3.101.112")), b"\1" * 31),
    "bytes with a parameter": (sequence(object_id("1.3.101.112"), NULL), b"\1" * 32),
}
"""RFC 3279, 2.3.1; RFC 5480, 2; RFC 8410, 3 and 4."""


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", KEYS)
def test_a_key_that_nobody_uses_is_read_all_the_same(name: str, place: str, checker: CheckerPage) -> None:
    algorithm, value = KEYS[name]
    found = _asked(checker, place, ocsps=answer_with(place, brought(place, sequence(algorithm, der(3, b"\0", value)))))
    assert (found["intact"]["answer"], found["intact"]["code"]) in {
        ("cannot", one) for one in ("SIGNATURE_FORM", "ALGORITHM")
    }


@pytest.mark.parametrize("place", PLACES)
def test_keys_that_are_such(place: str, checker: CheckerPage) -> None:
    own = (made.rsa_key(), made.ec_key(), ed25519.Ed25519PrivateKey.generate())
    for key in (b"", *(mutated._public(one) for one in own)):
        found, verdict = both(checker, file_with(place, ocsps=answer_with(place, brought(place, key))))
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("name", EXTENSIONS)
def test_a_certificate_of_a_responder_with_an_odd_extension(name: str, place: str, checker: CheckerPage) -> None:
    item = answer_with(place, brought(place, b"", extension(*EXTENSIONS[name])))
    found, verdict = both(checker, file_with(place, ocsps=item))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")
    assert "failed" not in ways(verdict)


def _asked(checker: CheckerPage, place: str, **stored: bytes) -> dict[str, Any]:
    from tests.e2e.test_checker_agreement import root_der

    return checker.examine(file_with(place, **stored), [root_der()], made.LATER)


@pytest.mark.parametrize("seed", range(40))
def test_what_is_changed_in_the_store_is_never_called_unaltered_where_the_program_doubts(
    seed: int, checker: CheckerPage
) -> None:
    chance = random.Random(seed)  # noqa: S311 - what is changed is no secret
    place = chance.choice(PLACES)
    kind, write = chance.choice((("crls", list_with), ("ocsps", answer_with)))
    item = None
    while item is None:
        with contextlib.suppress(AssertionError, IndexError, ValueError):  # nothing is left that could be changed
            item = write(place, {}, lambda told: mutated.changed(chance, told))
    found, verdict = both(checker, file_with(place, **{kind: item}))
    assert found["intact"]["answer"] != "yes" or ways(verdict) == {"passed"}, (place, kind)
