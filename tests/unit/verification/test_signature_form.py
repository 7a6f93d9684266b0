"""The one form of a signature's value, and what proves the certificates in it."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest

from reportgen.verification import brought, signature_form
from tests.unit.verification import signed_material as made

_VALUE = re.compile(rb"/Contents <([0-9A-F]+)>")


def values(pdf: bytes) -> list[bytes]:
    return [bytes.fromhex(found[1].decode()) for found in _VALUE.finditer(pdf)]


@pytest.mark.parametrize(
    "make", [made.report, made.complete_report, lambda: made.sealed(timestamper=made.timestamper())]
)
def test_what_signing_writes_is_of_the_one_form(make: Any) -> None:
    for value in values(make()):
        assert signature_form.form_faults(value) == []
        one, *stamps = signature_form.values_in(value)
        assert value.startswith(one)
        assert [signature_form.form_faults(each, of_time=True) for each in stamps] == [[]] * len(stamps)
        assert len(signature_form.brought_in(one)) == 2


@pytest.mark.parametrize(
    "data",
    ["", "30", "3005", "0500ff", "308003020101", "30810302ff01", "3081030201010000", "308200030201010000", "1f0100",
     "3085000000000300", "30030201"],
)  # fmt: skip
def test_what_is_no_der_is_refused(data: str) -> None:
    """X.690, 8.1.2.4, 10.1: no tag of two bytes, no length without end, none longer than it need be, nothing after."""
    with pytest.raises(signature_form.OtherFormError):
        signature_form.only(bytes.fromhex(data))
    assert signature_form.only(bytes.fromhex("3003020101")).kids[0].body == b"\1"


SHA256 = "300b0609608648016503040201"
SHA512 = "300b0609608648016503040203"


def pss(*, hashed: str = SHA256, salt: str = "020120", after: str = "") -> bytes:
    def der(tag: str, body: str) -> str:
        return f"{tag}{len(body) // 2:02x}{body}"

    mask = der("30", f"06092a864886f70d010108{hashed}")
    fields = der("a0", hashed) + der("a1", mask) + der("a2", salt)
    return bytes.fromhex(der("30", "06092a864886f70d01010a" + der("30", fields) + after))


@pytest.mark.parametrize(
    ("how", "sound"),
    [({}, True), ({"hashed": SHA512, "salt": "020140"}, True), ({"salt": "02020200"}, True),
     ({"salt": "02020201"}, False), ({"salt": "02011f"}, False), ({"salt": "0201a0"}, False),
     ({"salt": "02020020"}, False), ({"salt": "0200"}, False), ({"after": "0500"}, False),
     ({"hashed": SHA512}, False), ({"hashed": "300706052b0e03021a"}, False)],
)  # fmt: skip
def test_parameters_of_rsa_pss(how: dict[str, str], sound: bool) -> None:
    """RFC 4055, 3.1: a salt is as long as the hash, or longer."""
    element = signature_form.only(pss(**how))
    if sound:
        assert signature_form.require_algorithm(element) == "1.2.840.113549.1.1.10"
        return
    with pytest.raises(signature_form.OtherFormError) as fault:
        signature_form.require_algorithm(element)
    assert fault.value.code == signature_form.WITH_MORE


def authority(name: str, issuer: made.Pair | None = None, key: Any = None) -> made.Pair:
    return made.certify(
        made.named(name), key or made.ec_key(), issuer, ca=True, key_usage=made.AUTHORITY, end=made.AT + timedelta(9999)
    )


def test_each_certificate_is_proven_by_a_signature() -> None:
    top, other = authority("Top"), authority("Other")
    middle = authority("Middle", top)
    leaf = made.certify(made.named("Leaf"), made.ec_key(), middle)
    crossed = authority("Top", other, top.key)
    stranger = authority("Stranger")
    t, o, m, one, c, s = (each.certificate for each in (top, other, middle, leaf, crossed, stranger))
    for held, beside, trusted, found in (
        ([one], [], [], None),
        ([one, m, t], [], [], None),
        ([one, m, t], [], [t], None),
        ([one, m, t], [], [m], None),
        ([one, m, t], [], [one], None),
        ([one, m], [], [t], None),
        ([one, m], [t], [], None),
        ([one, m], [], [], None),
        ([one, m], [], [s], None),
        ([one, c], [], [], c),
        ([one, m, c], [], [], None),
        ([one, m, c], [], [s, t], c),
        ([one, m, t, s], [], [t], s),
        ([one, m, t, s], [], [t, s], None),
        ([one, m, t, c], [], [t], c),
        ([one, m, t, c], [], [], c),
        ([one, m, t, c, o], [], [t], c),
        ([one, m, t, c, o], [], [t, o], None),
        ([one, m, t, c, o], [], [], c),
        ([one, m, c, o], [], [t], c),
        ([one, m, c, o], [t], [], c),
        ([one, m, c, o], [], [], None),
        ([one, m, c], [], [t], c),
        ([one, m, c], [], [o], None),
        ([one, m, c, o], [], [o], None),
    ):
        assert brought.unproven(held, beside, trusted) == found


def test_a_root_that_signed_itself_with_sha1_is_one() -> None:
    """Many are: who has no key of it cannot write another that fits."""
    older = made.signed_with_sha1()
    leaf = made.certify(made.named("Leaf"), made.ec_key(), older).certificate
    assert brought.unproven([leaf, older.certificate], [], []) is None
    spoilt = made.signed_with_sha1(soundly=False)
    other = made.certify(made.named("Leaf"), made.ec_key(), spoilt).certificate
    assert brought.unproven([other, spoilt.certificate], [], []) == spoilt.certificate
