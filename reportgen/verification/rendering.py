"""A verification as lines for the terminal; the plain data for programs is ``Verification.plain``."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING, get_args

from reportgen.diagnostics import printable
from reportgen.verification.verdict import Status
from reportgen.words.told import Told, said, told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.verification.verdict import Notice, Reason, Signer, Verification

_WIDTH = 80
_UNDER_NUMBER = 4
_FINGERPRINT = re.compile(r"\b((?:[0-9A-F]{2}:){16})((?:[0-9A-F]{2}:){15}[0-9A-F]{2})\b")
_LEAST_MARK = 13


def chain_words(signer: Signer) -> Told:
    """Return what the chain of a signer's certificate is worth, in a clause."""
    return told(f"chain-{signer.chain_told.replace(' ', '-')}", on=(signer.chain_since or "")[:10])


def render_verification(verification: Verification, name: str, *, details: bool = True, language: str = "en") -> str:
    """Return the verdict on the file called ``name``: first line the verdict, then the steps, then who signed.

    Control characters in names of files and people are shown, not sent to the terminal.
    """

    def line(code: str, **facts: str | int) -> str:
        return said(told(code, **facts), language)

    lines = [f"{printable(name)}: {line(f'overall-{verification.overall}')}"]
    for reason in _named(verification.reasons, language):
        lines += _wrapped("  ", reason, hang=2)
    lines += _wrapped("  ", "; ".join(beside(verification, language)), hang=2)
    lines += ["", *render_steps(verification, details=details, language=language), ""]
    for signer in verification.signers:
        time = line("line-claimed", time=str(signer.claimed_time))
        if signer.proven_time:
            time = line("line-proven", time=signer.proven_time, authority=str(signer.timestamp_authority))
        kind = signer.kind.replace(" ", "-")
        lines += _wrapped("", f"{line(f'kind-{kind}')}: {signer.subject}", hang=2)
        lines += _wrapped(f"  {line('head-issuer'):<13}", signer.issuer)
        lines += _wrapped(f"  {line('head-certificate'):<13}", signer.fingerprint)
        trusted = signer.chain_told == "trusted"
        of_root = line("line-root", root=str(signer.anchor)) if trusted else said(chain_words(signer), language)
        lines += _wrapped(f"  {line('head-trust'):<13}", of_root)
        lines += _wrapped(f"  {line('head-time'):<13}", time)
        lines += _wrapped(f"  {line('head-revocation'):<13}", said(signer.revocation, language))
    for field in verification.unfilled_fields:
        lines += _wrapped("", line("line-unsigned", field=field))
    tools = ", ".join(f"{library} {version}" for library, version in verification.versions)
    lines.append(line("line-file", sha256=verification.sha256))
    if verification.policy_sha256:
        lines += [line("line-policy"), f"    {verification.policy_sha256}"]
    lines += _wrapped("", line("line-verified", size=verification.size, at=verification.verified_at, tools=tools))
    return "\n".join(lines) + "\n"


def beside(verification: Verification, language: str = "en") -> list[str]:
    """Return what stands beside the verdict: standing, time, revocation, until when the verdict holds."""
    standing, until = verification.standing, verification.revocation_until
    found = [
        told("beside-standing", standing=told("unknown") if standing == "unknown" else standing),
        told(f"beside-time-{verification.time}"),
        told("beside-revocation-checked", until=until) if until else told("beside-revocation-unchecked"),
    ]
    if verification.holds_until is not None:
        found.append(told("beside-holds-until", until=verification.holds_until))
    return [said(one, language) for one in found]


def render_steps(verification: Verification, *, details: bool = True, language: str = "en") -> list[str]:
    """Return the numbered steps as lines; without ``details`` only what did not pass says more than its title."""
    lines: list[str] = []
    marks = {status: said(told(f"mark-{status.replace(' ', '-')}"), language) for status in get_args(Status)}
    width = max(_LEAST_MARK, *map(len, marks.values()))
    under_title = width + 6
    for step in verification.steps:
        lines += _wrapped(f"{step.number:>2}  {marks[step.status]:<{width}}  ", step.title_in(language))
        shown = step.details if details or step.status == "not done" else ()
        found = [said(one, language) for one in (*shown, *step.unproven)]
        for note in (*_named(step.reasons, language), *found, *_named(step.notices, language)):
            room = max(map(len, _FINGERPRINT.sub(r"\1 \2", note).split()), default=0) <= _WIDTH - under_title - 2
            lines += _wrapped(" " * (under_title if room else _UNDER_NUMBER), note, hang=2)
    return lines


def _named(found: Sequence[Reason | Notice], language: str) -> list[str]:
    """Return reasons or notices by name, each with its sentence."""
    return [f"{one.name}: {said(one.sentence, language)}" for one in found]


def _wrapped(head: str, text: str, *, hang: int = 0) -> list[str]:
    """Return a text within the width, further lines under the first; a digest stays whole, a fingerprint is halved."""
    further = " " * (len(head) + hang)
    return textwrap.wrap(
        _FINGERPRINT.sub(r"\1 \2", printable(text)),
        _WIDTH,
        initial_indent=head,
        subsequent_indent=further,
        break_long_words=False,
    )
