"""What the page says of submittals, of files inside that are stored or listed oddly, and of renewals yet to come."""

from __future__ import annotations

import dataclasses
import hashlib
import io
import json
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from reportgen.issued import Cover, Listed, SubmittalList, render_list
from reportgen.issued.submittal_file import read_list_of
from reportgen.seal.signing import seal_file
from reportgen.verification import verify_report
from tests.e2e.test_checker_agreement import both, root_der
from tests.e2e.test_checker_attacks import CLOCK, FIRST, both_roots
from tests.outside import needs_program
from tests.unit.verification import signed_material as made
from tests.unit.verification.test_renewals import ONCE, YEAR, authority, names, renewed, verified

if TYPE_CHECKING:
    from collections.abc import Callable

    import pikepdf

    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
NAME = "HS-1.pdf"
COVER = Cover(made.inspector().name, "project engineer", None, "Owner", "", "issue", "A4", "en")


def listed(original: bytes, **other: Any) -> bytes:
    one = Listed(NAME, hashlib.sha256(original).hexdigest(), len(original), "HS-1", 0, "2026-03-02")
    at = made.AT.strftime("%Y-%m-%dT%H:%M:%SZ")
    one = dataclasses.replace(one, **other)
    return render_list(SubmittalList("reportgen 0.1.0", at, "S-1", (one,), COVER, {"zlib": "1.3"}))


def envelope(told: bytes, original: bytes, name: str = NAME) -> bytes:
    file = io.BytesIO(made.unsigned(contents={"submittal.json": told, name: original}))
    seal_file(file, made.inspector(), at=made.AT, location="", box=made.BOX)
    return file.getvalue()


def rewritten(told: bytes, change: Callable[[dict[str, Any]], object]) -> bytes:
    plain = json.loads(told)
    change(plain)
    return json.dumps(plain, sort_keys=True, separators=(",", ":")).encode()


ORIGINAL = made.report()
SOUND = listed(ORIGINAL)
LISTS = {
    "as it is": (SOUND, ("yes", "REPORTS_SAME")),
    "a reason for a selection, an organisation, and a path of its own": (
        rewritten(
            SOUND,
            lambda told: (
                told["cover"].update(partial="areas of unit 2 follow", organisation="Owner"),
                told["reports"][0].update(registered_as="out/a.pdf"),
            ),
        ),
        ("yes", "REPORTS_SAME"),
    ),
    "another size": (listed(ORIGINAL, size=len(ORIGINAL) + 1), ("no", "FILES_DIFFER")),
    "another hash": (listed(ORIGINAL, sha256="0" * 64), ("no", "FILES_DIFFER")),
    "no size": (rewritten(SOUND, lambda told: told["reports"][0].pop("size")), ("cannot", "OTHER_FORMAT")),
    "a size in words": (rewritten(SOUND, lambda told: told["reports"][0].update(size="4")), ("cannot", "OTHER_FORMAT")),
    "a word more": (rewritten(SOUND, lambda told: told.update(verdict="all released")), ("cannot", "OTHER_FORMAT")),
    "a word more of a report": (
        rewritten(SOUND, lambda told: told["reports"][0].update(verdict="released")), ("cannot", "OTHER_FORMAT"),
    ),
    "a word more on the cover": (
        rewritten(SOUND, lambda told: told["cover"].update(approved="yes")), ("cannot", "OTHER_FORMAT"),
    ),
    **{
        f"made with {given!r}": (
            rewritten(SOUND, lambda told, given=given: told.update(made_with=given)), ("cannot", "OTHER_FORMAT"),
        )
        for given in ("abc", 5, True, ["x"], {"zlib": 1})
    },
    **{
        f"a cover of {told}": (
            rewritten(SOUND, lambda list_, told=told: list_["cover"].update(told)), ("cannot", "OTHER_FORMAT"),
        )
        for told in ({"language": "xx"}, {"page": "A0"}, {"page": ["A4"]}, {"status": "draft"})
    },
    "no cover": (rewritten(SOUND, lambda told: told.pop("cover")), ("cannot", "OTHER_FORMAT")),
}  # fmt: skip


@pytest.mark.parametrize(("told", "expected"), LISTS.values(), ids=LISTS)
def test_a_list_of_reports_says_what_it_says_and_no_more(
    told: bytes, expected: tuple[str, str], checker: CheckerPage
) -> None:
    pdf = envelope(told, ORIGINAL)
    found = checker.examine(pdf, [root_der()], made.LATER)
    assert (found["intact"]["answer"], found["files"]["answer"], found["files"]["code"]) == ("yes", *expected)
    assert (read_list_of(pdf)[0].status == "passed") == (expected[0] == "yes" or '"xx"' in told.decode())


def test_what_is_called_a_release_page_is_one_by_its_data(checker: CheckerPage) -> None:
    told = {"format": 1, "generator": "reportgen 0.1.0", "issued_at": f"{made.AT:%Y-%m-%dT%H:%M:%SZ}"}
    told |= {"signer": COVER.signer, "role": "inspector", "status": "issue"}
    told |= {"released": {"area": "A-02"}}

    def signed(change: dict[str, Any] | None = None, **more: bytes) -> dict[str, Any]:
        data = json.dumps({**told, **(change or {})}, separators=(",", ":")).encode()
        file = io.BytesIO(made.unsigned(contents={"release.json": data, **more}))
        seal_file(file, made.inspector(), at=made.AT, location="", box=made.BOX)
        return checker.ask(file.getvalue(), [root_der()], made.LATER)

    found = signed()
    assert (found["intact"]["answer"], found["files"]["answer"], found["files"]["code"]) == (
        "yes", "cannot", "RELEASE_PAGE",
    )  # fmt: skip
    assert (found["head"]["answer"], found["head"]["key"]) == ("cannot", "release")
    assert f"Unaltered, and signed by {COVER.signer}" in found["head"]["text"]
    assert "This is a release page and no report: it repeats what a report says" in found["head"]["text"]
    assert "cannot be relied on" not in found["head"]["text"]
    assert "form that is not known" not in found["data"]
    (named,) = found["named"]
    assert named["answer"] == "yes"
    another = signed({"signer": "P. Ambleweir"})
    assert (another["head"]["answer"], another["head"]["key"]) == ("cannot", "named")
    assert signed({"status": "draft"})["head"]["key"] == "unissued"
    for change in ({"format": 2}, {"signer": 5}, {"released": {}}):
        other = signed(change)
        assert (other["files"]["code"], other["head"]["key"]) == ("OTHER_FORMAT", "files")
    assert signed(more=b"")["head"]["key"] == "unknown"


def test_what_is_listed_as_a_report_and_is_no_pdf(checker: CheckerPage) -> None:
    page = b"<html>Everything may be coated.</html>"
    found = checker.ask(envelope(listed(page), page), [root_der()], made.LATER)
    assert (found["files"]["answer"], found["files"]["code"], found["head"]["key"]) == ("no", "FILES_DIFFER", "files")
    page_too = envelope(listed(ORIGINAL, file="HS-1.html"), ORIGINAL, "HS-1.html")
    found = checker.examine(page_too, [root_der()], made.LATER)
    assert (found["files"]["answer"], found["files"]["code"]) == ("cannot", "OTHER_FORMAT")
    assert read_list_of(page_too)[0].status == "failed"


@pytest.mark.parametrize("part", ["its name", "its content"])
def test_a_file_inside_that_is_not_called_one(part: str, checker: CheckerPage) -> None:
    """A reader that goes by the kind does not find it, and another does."""

    def edit(pdf: pikepdf.Pdf) -> None:
        specification = pdf.Root.Names.EmbeddedFiles.Names[1]
        del (specification if part == "its name" else specification.EF.F)["/Type"]

    found, verdict = both(checker, made.sealed(made.unsigned(edit=edit)))
    assert (found["files"]["answer"], found["files"]["code"]) == ("cannot", "EMBEDDED")
    assert (verdict.overall, verdict.steps[6].status) == ("failed", "failed")
    assert verdict.steps[6].reasons[0].sentence == "an embedded file is not marked as one"


def test_a_renewal_yet_to_come_is_a_question_about_the_clock(checker: CheckerPage) -> None:
    """By a clock that is behind; what lies after what covers it contradicts the file."""
    years = 1.5
    roots = [root_der()]
    found = checker.ask(ONCE, roots, made.AT + years * YEAR - timedelta(hours=1))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "RENEWAL_FUTURE")
    assert "lies in the future by the clock of this computer. Is that clock right?" in found["intact"]["text"]
    assert (found["head"]["answer"], found["head"]["key"]) == ("cannot", "renewal")
    assert "If the clock of this computer is right, ask the inspection body" in found["head"]["text"]
    before = verified(ONCE, years - 0.01)
    assert (before.overall, names(before)) == ("indeterminate", ["SIG_CONSTRAINTS_FAILURE"])
    now = checker.examine(ONCE, roots, made.AT + (years + 0.01) * YEAR)
    assert (now["intact"]["answer"], now["head"]["key"]) == ("yes", "signed")


STRANGER = authority("Anyone's Clock", 0, 4, made.certify(made.named("Anyone"), made.ec_key(), None, ca=True))


def test_a_strangers_renewal_neither_keeps_nor_contradicts_anything(checker: CheckerPage) -> None:
    for years in (-10 / 365, 1 / 365):
        pdf = renewed(made.report(), STRANGER, years)
        found = checker.ask(pdf, [root_der()], made.LATER)
        assert (found["head"]["key"], found["when"][1]["code"]) == ("signed", "CHAIN_NO_ROOT")
        assert "only renewals or countersignatures\n\nRenewals: 1;" in found["after"]["text"]
        assert "keep" not in found["after"]["text"]


def test_a_renewal_in_the_future_or_out_of_order_is_told_whoever_made_it(checker: CheckerPage) -> None:
    """As step 3 of `verify` does: dates contradict each other, whoever states them."""
    at = made.AT + YEAR
    unfit = made.certify(made.named("No Clock"), made.rsa_key(), CLOCK, purposes=("1.3.6.1.5.5.7.3.4",))
    for clock in (FIRST, STRANGER, unfit):
        once = renewed(made.report(), clock, 1.1)
        for pdf, answer, code, step in (
            (once, "cannot", "RENEWAL_FUTURE", "indeterminate"),
            (renewed(once, FIRST, 0.9), "no", "RENEWAL_LATE", "failed"),
        ):
            found = checker.examine(pdf, both_roots(), at)
            assert (found["intact"]["answer"], found["intact"]["code"]) == (answer, code)
            assert (found["head"]["answer"], found["head"]["key"]) == (answer, "renewal")
            checks = {**made.CHECKS, "timestamp_roots": (CLOCK.certificate,)}
            verdict = verify_report(pdf, at=at, roots=[made.root().certificate, CLOCK.certificate], **checks)
            assert verdict.steps[2].status == step
        assert checker.examine(once, both_roots(), made.AT + 1.2 * YEAR)["intact"]["answer"] == "yes"
