"""Who signs: a PKCS#12 file, or a certificate on a PKCS#11 token named by its URI (RFC 7512)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote

from reportgen.cli.parsing import parse_path
from reportgen.cli.passphrase import ask_passphrase
from reportgen.diagnostics import printable
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable

    from reportgen.increments import RevocationData
    from reportgen.seal import Identity, TimestampService

SCHEME = "pkcs11:"
_HOW = "write `pkcs11:token=NAME;object=LABEL?module-path=/path/of/the/library`; `object` may be left out"
_KNOWN = ("token", "object", "module-path")


def signer(options: argparse.Namespace) -> Identity:
    """Return the identity that ``--identity`` names, opened with its passphrase or PIN.

    Raises:
        UsageError: a URI that names no token or library, or states the PIN. SealError: it cannot be opened.
    """
    from reportgen.seal import load_token_identity

    uri, secret_file = options.identity, options.passphrase_file
    if not uri.startswith(SCHEME):
        return file_signer(options)
    # the attributes of the URI: those of the path end in `;`, those of the query in `&`
    path, _, query = uri.removeprefix(SCHEME).partition("?")
    parts: dict[str, str] = {}
    for pair in filter(None, (*path.split(";"), *query.split("&"))):
        name, equals, value = pair.partition("=")
        if name in ("pin-value", "pin-source"):
            raise UsageError("a PIN does not belong on the command line", help_text="it is asked for when needed")
        if not equals or name not in _KNOWN or name in parts:
            raise UsageError(f"`{pair}` in the identity cannot be used", help_text=_HOW)
        parts[name] = unquote(value)
    if "token" not in parts or "module-path" not in parts:
        lacking = "token" if "token" not in parts else "library (module-path)"
        raise UsageError(f"the identity `{uri}` names no {lacking}", help_text=_HOW)
    pin = ask_passphrase(f"token {parts['token']}", secret_file, word="PIN")
    if not pin:
        raise UsageError("a token needs its PIN", help_text="type it, or use --passphrase-file FILE")
    return load_token_identity(Path(parts["module-path"]), token=parts["token"], pin=pin, label=parts.get("object"))


def file_signer(options: argparse.Namespace) -> Identity:
    """Return the identity in the file that ``--identity`` names, opened with its passphrase; raises as ``signer``."""
    from reportgen.seal import load_identity

    file = parse_path(options.identity)
    return load_identity(file, ask_passphrase(str(file), options.passphrase_file))


def notes_on(identity: Identity | None) -> tuple[str, ...]:
    """Return what whoever signs with ``identity`` is told of it: that its file keeps the key badly."""
    weak = identity.weakness if identity else None
    return (f"note: {printable(weak)}",) if weak else ()


def sealed_along(
    options: argparse.Namespace, identity: Identity, service: TimestampService | None
) -> tuple[RevocationData | None, tuple[str, ...]]:
    """Return what is sealed in of the state of the certificates, and notes; raises as ``pipeline.sealed_in``."""
    from reportgen.pipeline.sealed_in import sealed_in

    data, notes = sealed_in(identity, service, crls=options.crl, ocsps=options.ocsp)
    return data, as_notes(notes)


def as_notes(told: Iterable[str]) -> tuple[str, ...]:
    """Return what was noted as lines for whoever signs."""
    return tuple(f"note: {printable(one)}" for one in told)


def timestamp_service(options: argparse.Namespace) -> TimestampService | None:
    """Return the service that ``--timestamp`` names, or None. ``UsageError`` for what is no http address."""
    if options.timestamp is None:
        return None
    from reportgen.seal import TimestampService

    return TimestampService(options.timestamp)
