"""What whoever verifies believes, and asks for, beyond what a report proves by itself: one file, whose hash is told."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, Literal

from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.errors import UsageError
from reportgen.increments import read_answer, read_list
from reportgen.job.trust import TrustPolicy
from reportgen.loader.paths import UnreadableFileError, read_under
from reportgen.loader.template import whole
from reportgen.verification.trust import Root, read_trusted
from reportgen.verification.verdict import Reason, beyond_proof, step_of
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

    from reportgen.job.trust import Requirement
    from reportgen.names import Pin
    from reportgen.verification.verdict import Verification

_LIMIT: Final = 256 * 1024
_LARGEST_DATA: Final = 64 << 20


@dataclass(frozen=True, slots=True)
class Policy:
    """Trusted roots and revocation data (DER), whom the verifier pins by id or name, and what is required.

    ``timestamp_roots`` are trusted about the time alone, also where they stand above a signer.
    ``notices`` say which of the roots given were not read; ``sha256`` is that of the policy file, where there is one.
    """

    roots: tuple[bytes, ...] = ()
    timestamp_roots: tuple[bytes, ...] = ()
    crls: tuple[bytes, ...] = ()
    ocsps: tuple[bytes, ...] = ()
    people: Mapping[str, Pin] = field(default_factory=dict)
    require: tuple[Requirement, ...] = ()
    not_rebuilt: Literal["refuse", "allow"] = "refuse"
    notices: tuple[str, ...] = ()
    sha256: str | None = None

    @classmethod
    def trusting(cls, roots: Iterable[Root]) -> Policy:
        """Return the policy of whoever only names roots; ``UsageError`` where one holds no certificate."""
        found, notices = read_trusted(roots)
        return cls(tuple(root.public_bytes(Encoding.DER) for root in found), notices=notices)


def read_policy(path: Path) -> Policy:
    """Return the policy in a file.

    Raises:
        UsageError: the file, or one that it names, cannot be read. InputError: it is no policy; with every diagnostic.
    """
    try:
        data = read_under(path.parent, path.name, _LIMIT)
    except UnreadableFileError as failure:
        raise UsageError(f"policy: {failure.message}", help_text=failure.help_text) from failure
    stated = whole(TrustPolicy, data, str(path))
    trusting = Policy.trusting(path.parent / root for root in stated.roots)
    clocks = Policy.trusting(path.parent / root for root in stated.timestamp_roots)
    return replace(
        trusting,
        timestamp_roots=clocks.roots,
        notices=(*trusting.notices, *clocks.notices),
        crls=tuple(read_crl(path.parent / name) for name in stated.crls),
        ocsps=tuple(read_ocsp(path.parent / name) for name in stated.ocsps),
        people={name: pin.pin for name, pin in stated.people.items()},
        require=tuple(dict.fromkeys(stated.require)),
        not_rebuilt=stated.not_rebuilt,
        sha256=hashlib.sha256(data).hexdigest(),
    )


def read_crl(path: Path) -> bytes:
    """Return the list of revoked certificates in a file, PEM or DER, as DER; ``UsageError`` where it holds none."""
    return _revocation(path, _crl)


def read_ocsp(path: Path) -> bytes:
    """Return the answer about revocation in a file (DER); ``UsageError`` where it holds none."""
    return _revocation(path, _ocsp)


def _revocation(path: Path, read: Callable[[bytes], bytes]) -> bytes:
    try:
        if path.exists() and not path.is_file():
            raise UsageError(f"{path} is not a file")
        with path.open("rb") as stream:
            return read(stream.read(_LARGEST_DATA))
    except OSError as reason:
        raise UsageError(f"{path} cannot be read: {reason.strerror}") from reason
    except ValueError as reason:
        raise UsageError(f"{path} cannot be used: {reason}") from reason


def _crl(data: bytes) -> bytes:
    return read_list(data).public_bytes(Encoding.DER)


def _ocsp(data: bytes) -> bytes:
    read_answer(data)
    return data


ALLOWED = told("not-rebuilt-allowed")


def with_required(verification: Verification, policy: Policy, *, confined: bool, rebuilding: bool) -> Verification:
    """Return the verification with the policy's hash, and in doubt where a thing that it requires is wanting.

    ``rebuilding`` says that making the pages again was tried: where that cannot be done here, a policy may allow it.
    """
    unchecked = dict.fromkeys(one for signer in verification.signers for one in signer.unchecked)
    held = beyond_proof(verification.signers)
    lacking: dict[Requirement, tuple[int, bool]] = {
        "confinement": (1, not confined),
        "revocation": (5, not held["revocation"]),
        "timestamp": (6, not held["timestamp"]),
        "register": (11, verification.register == "not done"),
    }
    answer = replace(verification, policy_sha256=policy.sha256, asked=policy.require)
    tenth = verification.steps[9]
    if rebuilding and policy.not_rebuilt == "allow" and tenth.status == "not done" and not tenth.broke_off:
        answer = replace(answer, required=tuple(number for number in answer.required if number != tenth.number))
        answer = answer.with_step(replace(tenth, details=(*tenth.details, ALLOWED)))
    for name in policy.require:
        number, wanting = lacking[name]
        before = verification.steps[number - 1]
        if wanting:
            reason = Reason("REQUIRED", _required(name, tuple(unchecked)))
            step = step_of(number, [*before.reasons, reason], before.details)
            answer = answer.with_step(replace(step, unproven=before.unproven, notices=before.notices))
    return answer


def _required(name: Requirement, unchecked: tuple[str, ...]) -> Told:
    if name == "revocation" and unchecked:
        return told("required-revocation-of", missing=unchecked)
    return told(f"required-{name}")
