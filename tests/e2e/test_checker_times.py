"""Times at the ends of the calendar, whoever states them: the program calculates with each, and the page agrees."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from asn1crypto import cms
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.verification import verify_report
from tests.e2e import mutated
from tests.e2e import test_checker_revocation as revocation
from tests.e2e.tamper.ranges import flipped, spoilt_stamp
from tests.e2e.test_checker_agreement import root_der, ways
from tests.e2e.test_checker_odd_values import (
    ANYONE,
    BEGIN,
    CLOCK,
    INSPECTOR,
    PLACES,
    between,
    der,
    file_of,
    in_last_signature,
    object_id,
    sequence,
    stamp_telling,
    stamped_with,
    told_by,
)
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from reportgen.verification import Verification
    from tests.checker_page import CheckerPage

pytestmark = [needs_program("chromium"), pytest.mark.filterwarnings("ignore")]  # of what is odd, libraries warn
LAST = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)
UNTIL_THE_LAST = der(0x18, b"99991231235959Z")
"""RFC 5280, 4.1.2.5: of what has no end that could be known."""


def asked(
    checker: CheckerPage, pdf: bytes, at: datetime = made.LATER, *, trusted: bool = True
) -> tuple[dict[str, Any], Verification]:
    """Return what page and program say of a file where the clock's root is trusted too, about the time alone."""
    clocks = [ANYONE.certificate] if trusted else []
    given = [root_der(), *(one.public_bytes(Encoding.DER) for one in clocks)]
    roots = [made.root().certificate]
    return checker.examine(pdf, given, at), verify_report(
        pdf, at=at, roots=roots, **{**made.CHECKS, "timestamp_roots": clocks}
    )


def require_agreement(checker: CheckerPage, pdf: bytes, at: datetime = made.LATER) -> None:
    """Both find every byte as signed, whoever is trusted."""
    for trusted in (True, False):
        found, verdict = asked(checker, pdf, at, trusted=trusted)
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"}), verdict.reasons


@pytest.mark.parametrize("place", PLACES)
def test_a_certificate_without_an_end(place: str, checker: CheckerPage) -> None:
    pdf = told_by(place, between(BEGIN, UNTIL_THE_LAST))
    for at in (made.LATER, LAST - timedelta(minutes=2), LAST):
        require_agreement(checker, pdf, at)


@pytest.mark.parametrize("time", ["99991231235959Z", "99991231235600Z", "99991231000001Z", "01000101000000Z"])
def test_a_timestamp_at_an_end_of_the_calendar_proves_nothing(time: str, checker: CheckerPage) -> None:
    pdf = stamp_telling("gen_time", der(0x18, time.encode()))
    require_agreement(checker, pdf)
    found, verdict = asked(checker, pdf)
    assert found["when"][0]["answer"] != "yes"
    assert verdict.steps[5].status == "indeterminate"


@pytest.mark.parametrize(("time", "answer"), [("20600101000000.5Z", "cannot"), ("20250101000000Z", "no")])
def test_a_trusted_clock_can_contradict_outside_its_own_dates(time: str, answer: str, checker: CheckerPage) -> None:
    found, verdict = asked(checker, stamp_telling("gen_time", der(0x18, time.encode())))
    assert (found["head"], found["when"][0]["answer"]) == ({"answer": answer, "key": "time"}, answer)
    assert verdict.steps[5].status == "indeterminate"
    found, verdict = asked(checker, stamp_telling("gen_time", der(0x18, time.encode())), trusted=False)
    assert (found["head"]["key"], verdict.steps[5].status) == ("signed", "passed"), "a stranger's says nothing"


@pytest.mark.parametrize("time", [b"99991231235959Z", b"99991231235600Z"])
def test_a_renewal_at_the_end_of_the_calendar_lies_in_the_future(time: bytes, checker: CheckerPage) -> None:
    def edit(name: str, data: bytes) -> bytes:
        if name != "told":
            return data
        (whole,) = mutated.read(data)
        (stated,) = [one for one in whole.kids or [] if one.tag == 0x18]
        stated.body = time
        return whole.dump()

    found, verdict = asked(checker, mutated.file_with("renewal", edit))
    assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "RENEWAL_FUTURE")
    assert [step.status for step in verdict.steps[:4]] == ["passed", "passed", "indeterminate", "passed"]


UNCOUNTED = {
    "parts of a second after the last": b"99991231235959.9999999999Z",
    "the year 0": b"00000101000000Z",
    "an unknown zone": b"20260302143000",
}


@pytest.mark.parametrize("name", UNCOUNTED)
def test_a_time_that_nobody_can_calculate_with_is_not_judged(name: str, checker: CheckerPage) -> None:
    """Neither is it the file's fault that this program cannot."""
    time = der(0x18, UNCOUNTED[name])
    also = sequence(object_id("1.2.840.113549.1.9.5"), der(0x31, time))
    for pdf in (stamp_telling("gen_time", time), *(told_by(place, {}, also=also) for place in PLACES)):
        for trusted in (True, False):
            found, verdict = asked(checker, pdf, trusted=trusted)
            assert (found["intact"]["answer"], found["intact"]["code"]) == ("cannot", "SIGNATURE_FORM")
            assert [one.status for one in verdict.steps[:4]] == ["passed", "not done", "indeterminate", "indeterminate"]
            assert "states a time that cannot be read" in verdict.steps[2].reasons[0].sentence


@pytest.mark.parametrize("seconds", [b"\x7f" * 4, b"\x7f" * 9, b"\x80" + b"\1" * 9])
def test_an_accuracy_beyond_all_measure_is_coarse(seconds: bytes, checker: CheckerPage) -> None:
    found, verdict = asked(checker, stamp_telling("accuracy", sequence(der(2, seconds))))
    assert ways(verdict) == {"passed"}
    assert "may be wrong by" in str(verdict.steps[5].details)
    assert found["when"] == [] or found["when"][0]["answer"] == "cannot"


@pytest.mark.parametrize("place", revocation.PLACES)
@pytest.mark.parametrize("time", [b"99991231235959Z", b"99991231000001Z"])
def test_a_list_or_an_answer_dated_on_the_last_day(time: bytes, place: str, checker: CheckerPage) -> None:
    """One that names no next one would speak for a day more."""
    date = der(0x18, time)
    require_agreement(
        checker, revocation.file_with(place, crls=revocation.list_with(place, {"date": date, "next": b""}))
    )
    for dates in ({"its date": date, "its next": b""}, {"its next": der(0xA0, date)}, {"produced": date}):
        answer = revocation.answer_with(place, dates)
        require_agreement(checker, revocation.file_with(place, ocsps=answer))


# --- a timestamp that is damaged


@pytest.mark.parametrize("place", range(0, 1000, 37))
def test_a_damaged_timestamp_is_no_word_against_what_was_signed(place: int, checker: CheckerPage) -> None:
    """No signature of the report covers it: whoever passes a report on could make anybody's an altered one."""
    pdf = spoilt_stamp(place)
    found, verdict = asked(checker, pdf)
    assert (found["intact"]["answer"], found["head"]) == ("cannot", {"answer": "cannot", "key": "unknown"})
    assert not {"HASH_FAILURE", "SIG_CRYPTO_FAILURE"} & {one.name for one in verdict.reasons}


def test_what_is_altered_beside_a_damaged_timestamp_is_altered(checker: CheckerPage) -> None:
    pdf = spoilt_stamp()
    found, verdict = asked(checker, pdf)
    assert (found["intact"]["code"], ways(verdict)) == ("STAMP_DAMAGED", {"passed"})
    found, verdict = asked(checker, flipped(pdf, pdf.index(b"Harbour shed")))
    assert (found["intact"]["code"], found["head"]["key"]) == ("HASH", "altered")
    assert "HASH_FAILURE" in {one.name for one in verdict.reasons}
    found, verdict = asked(checker, pdf + b"\n")
    assert (found["intact"]["answer"], verdict.overall) == ("no", "failed")


def test_a_timestamp_of_another_signature_leaves_the_time_in_doubt(checker: CheckerPage) -> None:
    """Anyone can put it there; the signature fits all the same."""
    other = made.sealed(who=made.identity_of(INSPECTOR, made.root()), timestamper=made.timestamper(made.AT, CLOCK))
    *_, value = re.finditer(rb"/Contents <([0-9A-F]+)>", other)
    (signer,) = cms.ContentInfo.load(bytes.fromhex(value[1].decode()))["content"]["signer_infos"]
    token = signer["unsigned_attrs"][0]["values"][0].dump()
    pdf = in_last_signature(file_of("timestamp"), lambda content: stamped_with(content, lambda _: token))
    for trusted in (True, False):
        found, verdict = asked(checker, pdf, trusted=trusted)
        assert (found["intact"]["code"], ways(verdict)) == ("INTACT", {"passed"})
        assert found["head"] == {"answer": "cannot", "key": "time"}
        assert [(one["answer"], one["code"]) for one in found["when"]] == [("cannot", "STAMP_WRONG")]
        assert verdict.steps[5].status == "indeterminate"
