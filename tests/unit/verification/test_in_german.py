"""What is found of a file, told in German: on the record and on the terminal no English word is left."""

from __future__ import annotations

import json
import pickle
import re
from typing import TYPE_CHECKING, Any

import pytest

from reportgen.cli.verification_text import render_proof
from reportgen.report.record import render_record
from reportgen.verification import Outcome, from_plain, render_verification, verify_report
from reportgen.verification.pageread import page_texts
from reportgen.words.told import Told, broke, said, told, words_of
from tests.unit.verification import signed_material as made
from tests.unit.verification.test_chain_told import CASES

if TYPE_CHECKING:
    from collections.abc import Callable

ENGLISH = re.compile(
    r"\b(the|of|and|or|is|are|not|by|to|its|it|with|that|which|no|file|signature|revocation|certificate|claimed|"
    r"proven|given|checked|issued|time|page|pages|inspector|countersigner)\b"
)
OWN = re.compile(
    r"Root of \w+( \w+)?|`[^`]*`|\[[A-Z_]+\]|[A-Z]+(_[A-Z]+)+|\b(Inspector|Countersigner-\d)\b"
    r"|\S+\.(json|yaml|csv|md)\b"
)
"""Names, codes and what stands in the file itself."""


def broken(_: Any) -> Outcome:
    raise KeyError("a member")


def continued() -> bytes:
    return made.report() + b"%%EOF\n"


def flipped() -> bytes:
    pdf = made.report()
    return pdf.replace(b"/MediaBox", b"/MediaBoy", 1)


FILES: dict[str, tuple[Callable[[], bytes], dict[str, Any]]] = {
    **{name: (build, given) for name, build, given, *_ in CASES},
    "countersigned": (made.complete_report, {}),
    "waiting": (made.open_report, {}),
    "no PDF": (lambda: b"no PDF", {}),
    "not signed": (made.unsigned, {}),
    "continued": (continued, {}),
    "altered": (flipped, {}),
    "not evaluated": (made.report, {"recompute": None, "page_text_check": None, "rebuild_check": None}),
    "broken off": (made.report, {"rebuild_check": broken}),
}


@pytest.mark.parametrize("name", FILES)
def test_no_english_word_is_left(name: str) -> None:
    build, given = FILES[name]
    found = verify_report(build(), **{"at": made.LATER, "roots": [made.root().certificate], **made.CHECKS, **given})
    again = from_plain(json.loads(json.dumps(found.plain())))
    assert again == found
    page = " ".join(page_texts(render_record(found.plain(), "r.pdf", language="de")))
    for text in (page, render_proof(again, "r.pdf", language="de"), render_verification(again, "r.pdf", language="de")):
        assert ENGLISH.findall(OWN.sub(" ", " ".join(text.split()))) == [], text
    assert ENGLISH.search(render_proof(again, "r.pdf")), "the same in English is found"


def test_what_was_found_keeps_its_facts_on_its_way() -> None:
    inner = told("size-of-file", size=7)
    whole = told("step-not-done", number=8, why=(inner, "a text"))
    assert whole == "step 8 was not done: 7 bytes; a text"
    assert said(whole, "de") == "Schritt 8 wurde nicht getan: 7 Byte; a text"
    copied = pickle.loads(pickle.dumps(whole))  # noqa: S301 - our own
    assert isinstance(copied, Told)
    assert (copied, said(copied, "de")) == (whole, said(whole, "de"))
    assert said("a text", "de") == "a text"


def test_the_answer_for_programs_holds_code_and_facts_beside_the_sentence() -> None:
    plain = verify_report(b"no PDF", at=made.LATER, roots=[made.root().certificate]).plain()
    assert plain["reasons"] == [
        {"name": "FORMAT_FAILURE", "sentence": "the file does not begin as a PDF", "code": "no-pdf", "facts": {}}
    ]
    first = plain["steps"][0]
    assert first["details"][1] == "6 bytes"
    assert first["told"]["details"][1] == {"code": "size-of-file", "facts": {"size": 6}}


def test_faults_are_told_by_their_kind() -> None:
    assert broke(KeyError("x")).code == "broke-missing"
    assert said(broke(OSError(28, "No space left")), "de") == "dieser Rechner meldet: No space left"
    assert broke(OSError()) == "this computer says: it cannot be done"
    assert words_of(ValueError(told("no-pdf"))).code == "no-pdf"
    assert words_of(ValueError("a library's own words")) == "a library's own words"


@pytest.mark.parametrize("wrong", [{"code": "no-pdf"}, {"code": "size-of-file", "facts": {"size": 1.5}}])
def test_an_answer_with_other_facts_is_refused(wrong: dict[str, Any]) -> None:
    plain = verify_report(b"no PDF", at=made.LATER, roots=[made.root().certificate]).plain()
    plain["reasons"][0].pop("facts")
    plain["steps"][0]["reasons"] = [{"name": "FORMAT_FAILURE", "sentence": "x", **wrong}]
    with pytest.raises((KeyError, TypeError, ValueError)):
        from_plain(plain)
