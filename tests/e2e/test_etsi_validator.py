"""What the validator of the DSS project says of genuine files, and of one for each way in which rows fail.

It goes by ETSI EN 319 102-1, as the words of our reasons do, and shares no code with what we verify with. Where it
passes what does not, or the other way round, it is said why (``ETSI_IS_BLIND_TO``, ``ETSI_DIFFERS``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.demo_archive import made_once
from tests.dss import Question, judged, needs_dss
from tests.e2e.tamper.rows import ETSI_DIFFERS, ETSI_IS_BLIND_TO
from tests.e2e.test_tamper_matrix import ROWS, file_of
from tests.unit.verification import signed_material as made
from tests.unit.verification import test_renewals as renewals

if TYPE_CHECKING:
    from pathlib import Path

    from tests.e2e.tamper.rows import Row

pytestmark = pytest.mark.thorough

YEAR = renewals.YEAR
SLOW = {"TOO_MANY_REVISIONS"}
"""It compares each revision with the one before, pages drawn: a minute for sixty."""
RENEWED = {
    "once": (renewals.ONCE, 2.5),
    "twice": (renewals.TWICE, 4.5),
    "twice, and the first authority has ended long since": (renewals.TWICE, 8.5),
}
NOT_RENEWED = {
    "the signer's certificate has ended": (made.report(), 2.5),
    "the authority has ended": (renewals.ONCE, 4.5),
}
SMUGGLED = [renewals.pages_replaced, renewals.catalog_changed, renewals.stored_beside, renewals.an_object_more]


def sample() -> list[Row]:
    """Return every genuine row, and of the others one for each set of reasons."""
    first: dict[frozenset[str], Row] = {}
    for row in ROWS:
        if row.overall != "passed" and not row.reasons & SLOW:
            first.setdefault(row.reasons, row)
    return [row for row in ROWS if row.overall == "passed"] + list(first.values())


@pytest.fixture(scope="session")
def opinions(tmp_path_factory) -> dict[str, list[str]]:
    """What it says of each signature of each file, by the name of that; asked once in a run."""
    return made_once(tmp_path_factory, "opinions-of-the-validator", asked)


def asked(folder: Path) -> dict[str, list[str]]:
    questions = {
        row.name: Question(file_of(row.name), row.at, row.roots(), row.options.get("crls", ())) for row in sample()
    }
    root = (made.root().certificate,)
    for name, (pdf, years) in {**RENEWED, **NOT_RENEWED}.items():
        questions[f"renewal: {name}"] = Question(pdf, made.AT + years * YEAR, root)
    for change in SMUGGLED:
        pdf = renewals.smuggled(change)
        questions[f"renewal: {change.__name__}"] = Question(pdf, made.AT + 1.5 * YEAR, root)
    return judged(questions, folder)


def passes(found: list[str]) -> bool:
    """Say whether it finds signatures and every one of them passed."""
    return bool(found) and all(one == "TOTAL_PASSED" for one in found)


@needs_dss
def test_genuine_files_pass(opinions) -> None:
    genuine = [row.name for row in sample() if row.overall == "passed"]
    assert {name for name in genuine if not passes(opinions[name])} == set(ETSI_DIFFERS)
    assert len(genuine) >= 57


@needs_dss
def test_it_passes_nothing_else_but_for_reasons_that_are_told(opinions) -> None:
    unexplained = {}
    refused = 0
    for row in sample():
        if row.overall != "passed" and passes(opinions[row.name]):
            unexplained[row.name] = row.reasons - ETSI_IS_BLIND_TO.keys()
        elif row.overall != "passed":
            refused += 1
    assert {name: reasons for name, reasons in unexplained.items() if reasons} == {}
    assert refused >= 15, "or it would refuse nothing"


@needs_dss
def test_renewed_reports_pass_as_long_as_here(opinions) -> None:
    for name, (pdf, years) in {**RENEWED, **NOT_RENEWED}.items():
        ours = renewals.verified(pdf, years).overall
        assert passes(opinions[f"renewal: {name}"]) == (ours == "passed") == (name in RENEWED), name
    assert opinions["renewal: the authority has ended"][0].startswith("INDETERMINATE OUT_OF_BOUNDS")


@needs_dss
def test_what_is_smuggled_into_a_renewal_is_no_matter_to_it(opinions) -> None:
    for change in SMUGGLED:
        assert passes(opinions[f"renewal: {change.__name__}"]), "its timestamp covers it: hence writing it again"
