"""What the signer claims, or his program draws, skips no step: each file with its exact verdict, by every command.

The report is a real one, its signature is sound and leads to a trusted root.
"""

import datetime as dt
import functools
from dataclasses import replace
from unittest import mock

import pytest

from reportgen.issued import examine
from reportgen.pipeline import building
from reportgen.pipeline.filing import examination_checks
from reportgen.pipeline.rebuilding import pages_rebuilt
from reportgen.verification.policy import Policy
from tests.e2e.signed_footbridge import (
    AT,
    ENGINEER,
    LATER,
    Objects,
    all_repacked,
    built,
    identity,
    repacked,
    signed,
    verified,
)
from tests.unit.verification import signed_material as made

OTHERS = {**building.made_with(), "zlib": "0.9"}


def on_each_content(pdf, change=bytes, after=b""):
    """Change the content stream of the first page, and pack it anew."""
    objects = Objects(pdf)
    place = next(
        place
        for place, (_, body) in enumerate(objects.bodies)
        if b"/FlateDecode" in body[:200] and b"/Subtype" not in body[:200] and repacked(body, lambda _: b"x") != body
    )
    return objects.other(place, repacked(objects.bodies[place][1], change, after=after))


painted = functools.partial(on_each_content, change=lambda content: content + b"\n0 0 9 9 re f")
with_tail = functools.partial(on_each_content, after=b"more")


def countersigned():
    return made.countersigned(signed(built(countersigned=True)), identity(ENGINEER), at=AT + dt.timedelta(hours=1))


def stamped():
    return signed(built(countersigned=True), timestamper=made.timestamper(AT + dt.timedelta(seconds=9)))


GENUINE = {
    "as it is": lambda: signed(built()),
    "awaits a countersignature": lambda: signed(built(countersigned=True)),
    "countersigned": countersigned,
    "timestamped": stamped,
    "packed by another compressor": lambda: signed(built(made_with=OTHERS), all_repacked),
    "packed by another compressor, which it does not say": lambda: signed(built(), all_repacked),
    "not packed at all": lambda: signed(built(), functools.partial(all_repacked, level=0)),
    "another library that draws the same": lambda: signed(built(made_with={**OTHERS, "reportlab": "1.0"})),
}
NOT_PROVEN = {
    "another release": ({"generator": "reportgen 0.0.1"}, bytes, "NOT_REBUILT"),
    "another release, painted over": ({"generator": "reportgen 9.0"}, painted, "NOT_REBUILT"),
    "another program, painted over": ({"generator": "Sandrel's"}, painted, "NOT_REBUILT"),
    "another library, painted over": ({"made_with": {"reportlab": "9.0"}}, painted, "NOT_REBUILT"),
    "another compressor, painted over": ({"made_with": OTHERS}, painted, "NOT_REBUILT"),
    "another compressor, more behind a stream": ({"made_with": OTHERS}, with_tail, "NOT_REBUILT"),
    "words of a later edition": ({"words": 2}, bytes, "NOT_REBUILT OTHER_RELEASE"),
}
WHY = {"another program, painted over": "does not name a release", "words of a later edition": "use a later release"}
ALTERED = {
    "painted over": ({}, painted, "PAGES_DIFFER"),
    "more behind a stream": ({}, with_tail, "PAGES_DIFFER"),
    "an unknown language": ({"template": {"language": "xx"}}, bytes, "PAGES_DIFFER"),
    "another template": ({"template": {"page": "A5"}}, bytes, "PAGES_DIFFER"),
    "no template": ({"template": {}}, painted, "PAGES_DIFFER"),
    "words there never were": ({"words": 0}, bytes, "PAGES_DIFFER"),
    "a time of issue of its own": ({"issued_at": "2026-05-04T18:31:00Z"}, bytes, "PAGES_DIFFER TIMES_DISAGREE"),
    "another revision": ({"revision": 1}, bytes, "PAGES_DIFFER FILES_DISAGREE"),
    "a draft": ({"status": "draft"}, bytes, "PAGES_DIFFER NOT_ISSUED"),
}


def judged(answer):
    return answer.overall, {reason.name for reason in answer.reasons}


def by_audit(pdf):
    """Return the verdict as `audit` and `submittal` reach it."""
    root = made.root().certificate.public_bytes(made.serialization.Encoding.DER)
    checks = replace(examination_checks([], at=LATER), policy=Policy((root,), (root,)))
    return examine(pdf, "report.pdf", checks).verification


@pytest.mark.parametrize("name", GENUINE)
def test_genuine_reports_pass(name):
    pdf = GENUINE[name]()
    for answer in (verified(pdf), by_audit(pdf)):
        assert judged(answer) == ("passed", set()), answer.reasons
        assert (answer.time, answer.holds_until is None) == ("proven" if name == "timestamped" else "claimed", False)


@pytest.mark.parametrize("name", NOT_PROVEN)
def test_what_cannot_be_built_again_here_does_not_pass(name):
    facts, edit, reasons = NOT_PROVEN[name]
    pdf = signed(built(**facts), edit)
    for answer in (verified(pdf), by_audit(pdf)):
        assert judged(answer) == ("indeterminate", set(reasons.split())), answer.reasons
    assert WHY.get(name, "then verify with that") in answer.reasons[0].sentence


@pytest.mark.parametrize("name", ALTERED)
def test_what_comes_out_otherwise_here_fails(name):
    facts, edit, reasons = ALTERED[name]
    pdf = signed(built(**facts), edit)
    for answer in (verified(pdf), by_audit(pdf)):
        assert judged(answer) == ("failed", set(reasons.split())), answer.reasons


def test_a_quick_verification_passes_nothing():
    pdf = signed(built())
    assert judged(verified(pdf, rebuild_check=None)) == ("indeterminate", {"NOT_REBUILT"})
    checks = examination_checks([], quick=True, at=LATER)
    assert checks.rebuild_check is None


@pytest.mark.parametrize(
    "fault", [PermissionError("the cache folder"), FileNotFoundError("a font"), ImportError("a library"), KeyError("x")]
)
def test_a_fault_of_this_machine_is_not_held_against_the_report(fault):
    pdf = signed(built())
    with mock.patch("reportgen.pipeline.rebuilding.build", side_effect=fault):
        answer = verified(pdf)
    assert (judged(answer), answer.broke_off) == (("indeterminate", {"NOT_DONE"}), True)
    sentences = [one.sentence for one in answer.reasons] + [each for step in answer.steps for each in step.details]
    assert not [
        each for each in sentences if type(fault).__name__ in each or ("broke off" in each and "known:" not in each)
    ]
    with mock.patch("reportgen.report.document.render_report", side_effect=fault):
        assert verified(pdf, rebuild_check=functools.partial(pages_rebuilt, None)).broke_off
