"""Identities: what is refused, each with its one sentence; what preflight warns of; files that stay private."""

from __future__ import annotations

import dataclasses
import logging
import stat
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed448
from cryptography.hazmat.primitives.serialization import pkcs12

from reportgen import certificates
from reportgen.errors import MachineError, SealError
from reportgen.seal import Preflight, demo_identity, load_identity, new_identity, preflight, seal_report
from reportgen.seal.identity import assemble
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

SECRET = "open sesame"


def store(tmp_path: Path, key: Any, certificate: Any, others: Any = None, secret: str | None = SECRET) -> Path:
    lock = serialization.BestAvailableEncryption(secret.encode()) if secret else serialization.NoEncryption()
    path = tmp_path / "signer.p12"
    path.write_bytes(pkcs12.serialize_key_and_certificates(b"signer", key, certificate, others, lock))
    return path


def leaf(**more: Any) -> made.Pair:
    return made.certify(made.named("Ines Perk"), more.pop("key", None) or made.ec_key(), made.root(), **more)


def refusal(path: Path, secret: str | None = SECRET) -> str:
    with pytest.raises(SealError) as caught:
        load_identity(path, secret)
    return caught.value.message


@pytest.mark.parametrize("key", [made.rsa_key, made.ec_key, made.ed_key, lambda: made.ec_key(ec.SECP521R1())])
def test_loads_key_certificate_and_chain_in_order(tmp_path: Path, key: Any) -> None:
    middle = made.certify(made.named("Middle"), made.ec_key(), made.root(), ca=True, key_usage=made.AUTHORITY)
    own = made.certify(made.named("Ines Perk"), key(), middle)
    stranger = made.certify(made.named("Stranger"), made.ec_key(), None).certificate
    path = store(tmp_path, own.key, own.certificate, [made.root().certificate, stranger, middle.certificate])
    identity = load_identity(path, SECRET)
    assert identity.certificate == own.certificate
    assert identity.chain == (middle.certificate, made.root().certificate)
    assert identity.name == "Ines Perk"
    assert identity.fingerprint == certificates.fingerprint(own.certificate)
    assert not identity.demonstration
    assert "sign" not in repr(identity).replace("signature", "")


def test_wrong_passphrase_says_so_and_logs_nothing(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    pair = leaf()
    path = store(tmp_path, pair.key, pair.certificate)
    with caplog.at_level(logging.DEBUG):
        assert refusal(path, "wrong") == f"the passphrase does not open {path}"
        assert refusal(path, None) == f"{path} needs its passphrase"
    assert not caplog.records


def test_file_without_passphrase(tmp_path: Path) -> None:
    pair = leaf()
    assert load_identity(store(tmp_path, pair.key, pair.certificate, secret=None), None).name == "Ines Perk"


def test_files_that_are_none(tmp_path: Path) -> None:
    missing, text, huge = tmp_path / "none.p12", tmp_path / "text.p12", tmp_path / "huge.p12"
    text.write_text("hello")
    huge.write_bytes(bytes((1 << 20) + 1))
    assert refusal(missing) == f"there is no identity file {missing}"
    assert refusal(tmp_path) == f"there is no identity file {tmp_path}"
    assert refusal(text) == f"{text} is not a PKCS#12 file"
    assert refusal(huge) == f"{huge} is larger than any identity file (1 MiB)"
    other_structure = tmp_path / "certificate.p12"
    other_structure.write_bytes(leaf().certificate.public_bytes(serialization.Encoding.DER))
    assert refusal(other_structure) == f"{other_structure} is not a PKCS#12 file"


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "signer.p12"
    path.write_bytes(b"x")

    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    assert refusal(path) == f"{path} cannot be read: Permission denied"


def test_incomplete_stores(tmp_path: Path) -> None:
    pair = leaf()
    no_key = store(tmp_path, None, pair.certificate)
    assert refusal(no_key) == f"{no_key} holds no private key"
    no_certificate = store(tmp_path, pair.key, None)
    assert refusal(no_certificate) == f"{no_certificate} holds no certificate"
    only_others = store(tmp_path, pair.key, None, [made.root().certificate])
    assert refusal(only_others) == f"the private key in {only_others} does not belong to any certificate in it"


def test_key_of_another_certificate() -> None:
    with pytest.raises(SealError, match=r"^the private key in the store does not belong to its certificate$"):
        assemble(made.ec_key(), leaf().certificate, [], source="the store")


@pytest.mark.parametrize(
    ("pair", "sentence"),
    [
        (lambda: leaf(key=made.rsa_key(1024)), "the RSA key has 1024 bits; at least 2048 are needed"),
        (
            lambda: leaf(key=made.ec_key(ec.SECP256K1())),
            "the certificate's key is of a kind that is not supported: use RSA, P-256, P-384, P-521 or Ed25519",
        ),
        (
            lambda: leaf(key=ed448.Ed448PrivateKey.generate()),
            "the certificate's key is of a kind that is not supported: use RSA, P-256, P-384, P-521 or Ed25519",
        ),
        (
            lambda: leaf(key_usage=None),
            "the certificate does not say what its key may be used for (no key usage)",
        ),
        (
            lambda: leaf(key_usage=made.usage("key_encipherment")),
            "the certificate's key usage does not include signing (digital signature or non-repudiation)",
        ),
        (
            lambda: leaf(purposes=("1.3.6.1.5.5.7.3.1",)),
            "the certificate was issued for another purpose than signing documents (extended key usage)",
        ),
        (lambda: leaf(ca=True), "the certificate belongs to a certificate authority, not to a signer"),
    ],
)
def test_certificates_that_cannot_sign(tmp_path: Path, pair: Any, sentence: str) -> None:
    weak = pair()
    path = store(tmp_path, weak.key, weak.certificate)
    assert refusal(path) == f"the certificate of Ines Perk, Harbour Works cannot sign reports: {sentence}"


def test_document_signing_purpose_and_absent_constraints_are_accepted() -> None:
    assert not certificates.usage_faults(leaf(purposes=("1.3.6.1.5.5.7.3.36",)).certificate)
    key = made.ec_key()
    begin, end = made.AT, made.AT + timedelta(days=1)
    bare = x509.CertificateBuilder(made.named("A"), made.named("A"), key.public_key(), 1, begin, end)
    signed = bare.add_extension(made.SIGNING, critical=True).sign(key, made.hashes.SHA256())
    assert not certificates.usage_faults(signed)
    assert certificates.authority_faults(signed)


def test_dates_are_looked_at_before_signing() -> None:
    early = made.identity_of(leaf(begin=made.AT + timedelta(days=1)), made.root())
    late = made.identity_of(leaf(end=made.AT - timedelta(days=1)), made.root())
    who = "the certificate of Ines Perk, Harbour Works cannot sign at 2026-03-02 14:30 +0000"
    for identity, sentence in (
        (early, f"{who}: the certificate is valid only from 2026-03-03 14:30 UTC"),
        (late, f"{who}: the certificate expired on 2026-03-01 14:30 UTC"),
    ):
        with pytest.raises(SealError) as caught:
            preflight(identity, "Ines Perk", made.AT)
        assert caught.value.message == sentence
        with pytest.raises(SealError) as caught:
            seal_report(made.unsigned(), identity, at=made.AT, location="l", box=made.BOX)
        assert caught.value.message == sentence


def test_an_expired_issuer_stops_signing() -> None:
    key = made.ec_key()
    old = made.certify(
        made.named("Old root"), key, None, ca=True, key_usage=made.AUTHORITY, end=made.AT - timedelta(days=1)
    )
    identity = made.identity_of(made.certify(made.named("Ines Perk"), made.ec_key(), old), old)
    with pytest.raises(SealError, match="Old root, Harbour Works cannot sign at"):
        preflight(identity, "Ines Perk", made.AT)


def test_preflight_compares_the_name_but_not_its_spacing() -> None:
    assert preflight(made.inspector(), "  ines  PERK ", made.AT) == Preflight()
    with pytest.raises(SealError) as caught:
        preflight(made.inspector(), "Edda Falk", made.AT)
    assert caught.value.message == (
        "this identity is not that of the inspector: the certificate names `Ines Perk`, not `Edda Falk`"
    )
    assert preflight(made.inspector(), "Ines Perk", made.AT, "harbour works") == Preflight()
    with pytest.raises(SealError, match="names the organisation `Harbour Works`, not `Harbour Yard`"):
        preflight(made.inspector(), "Ines Perk", made.AT, "Harbour Yard")


def test_preflight_warns() -> None:
    ending = made.identity_of(leaf(end=made.AT + timedelta(days=20, hours=3)))
    assert preflight(ending, "Ines Perk", made.AT).warnings == (
        "the certificate of Ines Perk ends on 2026-03-22, in 20 days",
        (
            "the issuer's certificate (Root of Harbour Works, Harbour Works) is not in the identity; "
            "offline verification needs it"
        ),
    )
    demo = demo_identity("Ines Perk", made.AT)
    assert preflight(demo, "Ines Perk", made.AT).warnings == ("this identity is a demonstration, not valid for issue",)


def test_demonstration_says_so_in_both_certificates() -> None:
    demo = demo_identity("Ines Perk", made.AT)
    assert demo.demonstration
    assert all(certificates.is_demonstration(one) for one in (demo.certificate, *demo.chain))
    assert certificates.leads_to(demo.certificate, (), demo.chain)
    for name in ("", "x" * 65, "a\nb"):
        with pytest.raises(SealError, match="the name in a certificate has 1 to 64 printable characters"):
            demo_identity(name, made.AT)


def test_new_identity_files(tmp_path: Path) -> None:
    wanted = {"name": "Ines Perk", "organisation": "Harbour Works", "at": made.AT, "years": 3, "passphrase": SECRET}
    new = new_identity(tmp_path, **wanted)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "ines-perk-root.p12",
        "ines-perk-root.pem",
        "ines-perk.p12",
    ]
    for path in (new.signer_file, new.root_key_file):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    identity = load_identity(new.signer_file, SECRET)
    assert identity.fingerprint == new.signer_fingerprint
    root = certificates.read_certificates(new.root_certificate_file.read_bytes())
    assert [certificates.fingerprint(one) for one in root] == [new.root_fingerprint]
    assert identity.chain == tuple(root)
    assert new.not_after == identity.certificate.not_valid_after_utc
    assert (new.not_after - made.AT).days == 1096
    assert preflight(identity, "Ines Perk", made.AT) == Preflight()
    with pytest.raises(SealError, match=r"ines-perk\.p12 exists and is not overwritten"):
        new_identity(tmp_path, **wanted)


def test_new_identity_refusals(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wanted: dict[str, Any] = {"name": "橋", "organisation": "Works", "at": made.AT, "years": 1, "passphrase": SECRET}
    for change, sentence in (
        ({"years": 0}, "an identity lasts 1 to 10 years, not 0"),
        ({"years": 11}, "an identity lasts 1 to 10 years, not 11"),
        ({"passphrase": ""}, "an identity file needs a passphrase"),
        ({"organisation": certificates.DEMONSTRATION}, "this organisation's name is kept for demonstrations"),
        ({"organisation": ""}, "the organisation in a certificate has 1 to 64 printable characters"),
    ):
        with pytest.raises(SealError) as caught:
            new_identity(tmp_path, **{**wanted, **change})
        assert caught.value.message == sentence
    with pytest.raises(MachineError, match="cannot be written: No such file or directory"):
        new_identity(tmp_path / "absent", **wanted)
    monkeypatch.setattr("pathlib.Path.exists", lambda _: False)
    (tmp_path / "signer.p12").write_bytes(b"")
    with pytest.raises(SealError, match=r"signer\.p12 exists and is not overwritten"):
        new_identity(tmp_path, **wanted)


def test_unreadable_parts_of_certificates_are_faults() -> None:
    class Odd:
        @property
        def extensions(self) -> Any:
            raise ValueError

        @property
        def signature_hash_algorithm(self) -> Any:
            raise x509.UnsupportedGeneralNameType("unknown")

        def public_key(self) -> Any:
            raise ValueError

    odd: Any = Odd()
    assert certificates.usage_faults(odd)[0].sentence == "the certificate's extensions cannot be read"
    assert certificates.strength_faults(odd)[0].sentence == "the certificate's key is of a kind that is not supported"


def test_names_and_bundles() -> None:
    nameless = x509.Name([x509.NameAttribute(x509.NameOID.COUNTRY_NAME, "NO")])
    assert certificates.readable_name(nameless) == "C=NO"
    pair = made.certify(nameless, made.ec_key(), None)
    assert certificates.common_name(pair.certificate) == ""
    der = pair.certificate.public_bytes(serialization.Encoding.DER)
    pem = pair.certificate.public_bytes(serialization.Encoding.PEM)
    assert certificates.read_certificates(der) == certificates.read_certificates(pem) == [pair.certificate]


def test_a_key_of_no_known_kind_is_refused() -> None:
    pair = leaf()
    identity = dataclasses.replace(made.identity_of(pair))
    assert identity.digest == "sha256"
    with pytest.raises(SealError, match="the private key is of a kind that is not supported"):
        made._signing_operation(ed448.Ed448PrivateKey.generate())
