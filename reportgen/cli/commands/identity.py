"""``identity``: what to keep secret, what to hand to those who verify."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_passphrase
from reportgen.cli.output import finished
from reportgen.cli.signers import notes_on
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse

DOES = "make a signing identity for a team without a certificate authority, show one, or protect its key better"
EXAMPLE = (
    'reportgen identity new keys/ --name "A. Name" --organisation "Inspection Body"\n'
    "  reportgen identity show keys/a-name.p12\n"
    "  reportgen identity protect keys/from-the-authority.p12"
)


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("action", choices=("new", "show", "protect"))
    parser.add_argument("place", type=Path, metavar="FOLDER|FILE", help="folder for `new`, else a PKCS#12 file")
    parser.add_argument("--name", help="the signer's name, as the job files write it")
    parser.add_argument("--organisation", help="the inspection body")
    parser.add_argument("--years", type=int, default=3, help="years of validity, 1 to 10; default: %(default)s")
    add_passphrase(parser)


def run(options: argparse.Namespace) -> Answer:
    """Make an identity, or write one anew; or show one: whose it is, who issued it, until when, its fingerprint."""
    if options.action == "new":
        return _new(options)
    if options.action == "protect":
        return _protect(options)
    from reportgen import certificates
    from reportgen.cli.passphrase import ask_passphrase
    from reportgen.seal import load_identity

    identity = load_identity(options.place, ask_passphrase(str(options.place), options.passphrase_file))
    facts: dict[str, Any] = {
        "subject": certificates.readable_name(identity.certificate.subject),
        "issuer": certificates.readable_name(identity.certificate.issuer),
        "valid_from": f"{identity.certificate.not_valid_before_utc:%Y-%m-%d}",
        "valid_until": f"{identity.certificate.not_valid_after_utc:%Y-%m-%d}",
        "fingerprint": identity.fingerprint,
        "signs_with": {"certificate": certificates.pin_of(identity.certificate)},
    }
    lines = [f"{name.replace('_', ' '):<12} {value}" for name, value in facts.items() if isinstance(value, str)][:-1]
    first, *rest = _fingerprint(identity.fingerprint, " " * 13)
    text = "\n".join([*lines, f"{'fingerprint':<12} {first.strip()}", *rest])
    if identity.chain:  # for whatever its issuer gives the same person later
        facts["issued_by"] = {
            "issuer": certificates.pin_of(identity.chain[0]),
            "subject": identity.certificate.subject.rfc4514_string(),
        }
    text += "\n\nto accept no other, enter under `signs_with` in a project file\nor under `people` in a policy:"
    for way in ("signs_with", "issued_by"):
        text += "".join(f"\n  {name}: {value}" for name, value in facts.get(way, {}).items())
        text += "\nor, renewed by the same authority:" if way == "signs_with" and "issued_by" in facts else ""
    return Answer(data=facts, text=text, notes=notes_on(identity))


def _protect(options: argparse.Namespace) -> Answer:
    """Write an identity file anew, protected as new ones are, under the same passphrase."""
    from reportgen.cli.passphrase import ask_passphrase, new_passphrase
    from reportgen.seal import protect_identity

    opens = ask_passphrase(str(options.place), options.passphrase_file)
    protects = opens or new_passphrase("the new file", options.passphrase_file)
    out = protect_identity(options.place, opens, protects or "")
    finished(f"`{out}` is written")
    said = f"sign with   {out}\nthen delete {options.place}, and every copy of it"
    return Answer(data={"file": str(out), "replaces": str(options.place)}, text=said)


def _new(options: argparse.Namespace) -> Answer:
    """Write root and signer into a folder and return what to do with the files."""
    from reportgen.cli.passphrase import new_passphrase
    from reportgen.pipeline import now
    from reportgen.seal import new_identity

    if not options.name or not options.organisation:
        raise UsageError("a new identity needs --name and --organisation")
    passphrase = new_passphrase("the new identity", options.passphrase_file)
    options.place.mkdir(mode=0o700, parents=True, exist_ok=True)
    made = new_identity(
        options.place,
        name=options.name,
        organisation=options.organisation,
        at=now(),
        years=options.years,
        passphrase=passphrase or "",
    )
    finished(f"`{made.signer_file}`, `{made.root_key_file}` and `{made.root_certificate_file}` are written")
    facts = {
        "signer": str(made.signer_file),
        "root_key": str(made.root_key_file),
        "root_certificate": str(made.root_certificate_file),
        "signer_fingerprint": made.signer_fingerprint,
        "root_fingerprint": made.root_fingerprint,
        "valid_until": f"{made.not_after:%Y-%m-%d}",
    }
    text = "\n".join(
        (
            f"sign with        {facts['signer']}   (private, until {facts['valid_until']})",
            f"lock away        {facts['root_key']}   (private: it makes signers)",
            f"hand to auditors {facts['root_certificate']}",
            "                 and tell them its fingerprint by another way:",
            *_fingerprint(facts["root_fingerprint"], " " * 17),
        )
    )
    return Answer(data=facts, text=text)


def _fingerprint(text: str, indent: str) -> list[str]:
    """Return a fingerprint in lines of sixteen bytes: in one it is wider than a terminal."""
    return [indent + text[start : start + 48] for start in range(0, len(text), 48)]
