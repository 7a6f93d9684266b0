"""A verification in a few sentences, before its steps: the verdict, who signed and when, was it changed, do the numbers
follow.
"""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.cli.terminal import WIDTH, tinted
from reportgen.diagnostics import printable
from reportgen.names import shown
from reportgen.verification.verdict import RELEASE_CODES
from reportgen.words.told import Told, said, told

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.verification import Signer, Step, Verification

_EVALUATED = 8
_TINTS = {"passed": "conforms", "failed": "does not conform", "indeterminate": "inconclusive"}


def render_proof(answer: Verification, name: str, *, colour: bool = False, language: str = "en") -> str:
    """Return verdict, reasons and answers to the four questions, then the steps in a line each."""
    from reportgen.verification import beside, render_steps
    from reportgen.verification.naming import signed_in_several_roles

    def line(code: str, **facts: str) -> str:
        return said(told(code, **facts), language)

    def together(texts: Iterable[str]) -> str:
        return "; ".join(said(one, language) for one in texts)

    word = line(f"overall-{answer.overall}")
    lines = [f"{printable(name)}: {tinted(word, _TINTS[answer.overall], colour=colour)}"]
    for reason in answer.reasons:
        because = f"  {line('head-because')} "
        lines += _wrapped(f"{said(reason.sentence, language)} [{reason.name}]", because, further=4)
    steps = {step.number: step for step in answer.steps}
    # what a reader would take to be compared and was not
    tenth = steps.get(10)
    if answer.overall != "failed" and tenth is not None:
        lines += _wrapped(together(tenth.unproven), f"  {line('head-but')} ", further=4)
    note = f"  {line('head-note')} "
    for notice in answer.notices:
        lines += _wrapped(f"{said(notice.sentence, language)} [{notice.name}]", note, further=4)
    for idle in steps[6].unproven if 6 in steps else ():
        lines += _wrapped(said(idle, language), note, further=4)
    lines += _wrapped("; ".join(beside(answer, language)), "  ", further=4)
    lines.append("")
    for signer in answer.signers:
        lines += _wrapped(said(_signed(signer), language), "  ")
    for sentence in signed_in_several_roles(answer.signatories, answer.signers):
        lines += _wrapped(line("proof-note", what=sentence), "  ")
    if answer.policy_sha256:
        lines += _wrapped(line("proof-policy", sha256=answer.policy_sha256), "  ")
    for field in answer.unfilled_fields:
        lines += _wrapped(line("proof-unsigned", field=field), "  ")
    states = _states(steps, 3, 4)
    unchanged = "proof-unchanged" if states == ["passed", "passed"] else "proof-perhaps-changed"
    lines += _wrapped(line("proof-changed" if "failed" in states else unchanged), "  ")
    lines += _wrapped(said(_follows(steps), language), "  ")
    lines += _wrapped(together(answer.slips), "  ", further=4)
    # reasons and notices stand above already, and what was not compared where that matters
    bare = replace(answer, steps=tuple(replace(step, reasons=(), unproven=(), notices=()) for step in answer.steps))
    return "\n".join([*lines, "", *render_steps(bare, details=False, language=language)])


def _signed(signer: Signer) -> Told:
    """Return who signed, with what certificate and when."""
    when = told("signed-claimed", time=str(signer.claimed_time))
    if signer.proven_time:
        when = told("signed-proven", time=signer.proven_time, authority=str(signer.timestamp_authority))
    chain = signer.chain_told
    worth = None
    if signer.bound_by in ("policy", "project"):
        worth = told(f"worth-{signer.bound_by}")
    elif chain == "itself":  # the name in it is its holder's own word
        worth = told("worth-itself")
    return told(
        "proof-signed", who=shown(signer.subject), kind=told(f"proof-kind-{signer.kind.replace(' ', '-')}"),
        trust=told(f"proof-{chain.replace(' ', '-')}", on=(signer.chain_since or "")[:10]), when=when, worth=worth,
    )  # fmt: skip


def _follows(steps: dict[int, Step]) -> Told:
    eighth = steps.get(_EVALUATED)
    if eighth is not None and any(getattr(one, "code", "") in RELEASE_CODES for one in eighth.details):
        return told("proof-release-page", what=eighth.details[0])
    states, pages = _states(steps, 7, 8), _states(steps, 9, 10)
    if states[1] == "failed":
        return told("proof-follows-not")
    if states[0] == "failed":
        why = tuple(reason.sentence for reason in steps[7].reasons if reason.weight == "failed")
        return told("proof-perhaps-follows-because", why=why)
    if states != ["passed", "passed"]:
        return told("proof-perhaps-follows")
    if "failed" in pages:
        return told("proof-follows-other-pages")
    # of the pages no more than was compared: to their text much can be added that is no text
    text, whole = pages
    if whole == "passed":
        return told("proof-follows-but-pictures" if steps[10].unproven else "proof-follows-pages")
    return told("proof-follows-text" if text == "passed" else "proof-follows")


def _states(steps: dict[int, Step], *numbers: int) -> list[str]:
    return [steps[number].status if number in steps else "not done" for number in numbers]


def _wrapped(text: str, head: str, *, further: int = 2) -> list[str]:
    return textwrap.wrap(
        printable(text), WIDTH, initial_indent=head, subsequent_indent=" " * further, break_long_words=False
    )
