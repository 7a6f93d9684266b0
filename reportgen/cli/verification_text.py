"""A verification in a few sentences, before its steps: the verdict, who signed and when, was it changed, do the numbers
follow.
"""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.cli.terminal import WIDTH, tinted
from reportgen.diagnostics import printable

if TYPE_CHECKING:
    from reportgen.verification import Step, Verification

_VERDICT = {
    "passed": ("conforms", "passed"),
    "failed": ("does not conform", "failed"),
    "indeterminate": ("inconclusive", "indeterminate"),
}
_BOUND = {
    "policy": "; the policy names this certificate",
    "project": "; the report's own project file names this certificate, which proves no more than that it agrees",
    "name": "",
    "nothing": "",
}
_KIND = {"not named": "NOT the person whom the report names"}


def render_proof(answer: Verification, name: str, *, colour: bool = False) -> str:
    """Return verdict, reasons and answers to the four questions, then the steps in a line each."""
    from reportgen.verification import beside, render_steps
    from reportgen.verification.naming import signed_in_several_roles

    tint, word = _VERDICT[answer.overall]
    lines = [f"{printable(name)}: {tinted(word, tint, colour=colour)}"]
    for reason in answer.reasons:
        lines += _wrapped(f"{reason.sentence} [{reason.name}]", "  because ", further=4)
    steps = {step.number: step for step in answer.steps}
    # what a reader would take to be compared and was not
    tenth = steps.get(10)
    if answer.overall != "failed" and tenth is not None:
        lines += _wrapped("; ".join(tenth.unproven), "  but ", further=4)
    for notice in answer.notices:
        lines += _wrapped(f"{notice.sentence} [{notice.name}]", "  note: ", further=4)
    lines += _wrapped("; ".join(beside(answer)), "  ", further=4)
    lines.append("")
    for signer in answer.signers:
        trust = "a certificate you trust" if signer.anchor else "a certificate that nobody you trust has issued"
        when = f"at {signer.claimed_time}, a time that is claimed, not proven"
        if signer.proven_time:
            when = f"at {signer.proven_time}, proven by {signer.timestamp_authority}"
        who = f"{signer.subject} ({_KIND.get(signer.kind, signer.kind)})"
        lines += _wrapped(f"Signed by {who}, with {trust}, {when}{_BOUND[signer.bound_by]}.", "  ")
    for sentence in signed_in_several_roles(answer.signatories, answer.signers):
        lines += _wrapped(f"Note: {sentence}.", "  ")
    if answer.policy_sha256:
        lines += _wrapped(f"By the policy with the SHA-256 {answer.policy_sha256}.", "  ")
    for field in answer.unfilled_fields:
        lines += _wrapped(f"Not yet signed: {field}.", "  ")
    lines += _wrapped(_unchanged(steps), "  ")
    lines += _wrapped(_follows(steps), "  ")
    # reasons and notices stand above already, and what was not compared where that matters
    bare = replace(answer, steps=tuple(replace(step, reasons=(), unproven=(), notices=()) for step in answer.steps))
    return "\n".join([*lines, "", *render_steps(bare, details=False)])


def _unchanged(steps: dict[int, Step]) -> str:
    states = _states(steps, 3, 4)
    if "failed" in states:
        return "Changed: it is not, byte for byte, what was signed."
    if states == ["passed", "passed"]:
        return "Unchanged since it was signed."
    return "Whether it was changed cannot be told."


def _follows(steps: dict[int, Step]) -> str:
    states, pages = _states(steps, 7, 8), _states(steps, 9, 10)
    if "failed" in states:
        return "The results do NOT follow from the readings that are embedded in it."
    if states != ["passed", "passed"]:
        return "Whether the results follow from the readings cannot be told."
    if "failed" in pages:
        return "The results follow from the readings, but the pages are not the ones that print them."
    # of the pages no more than was compared: to their text much can be added that is no text
    text, whole = pages
    printed = ", and the text of the pages agrees with them" if text == "passed" else ""
    if whole == "passed":
        but = ", but for what the pictures on them show" if steps[10].unproven else ""
        printed = f", and the pages, made again from what is embedded, come out the same{but}"
    return f"The results follow from the readings that are embedded in it{printed}."


def _states(steps: dict[int, Step], *numbers: int) -> list[str]:
    return [steps[number].status if number in steps else "not done" for number in numbers]


def _wrapped(text: str, head: str, *, further: int = 2) -> list[str]:
    return textwrap.wrap(
        printable(text), WIDTH, initial_indent=head, subsequent_indent=" " * further, break_long_words=False
    )
