"""Parts of the verification by themselves: what no whole file that we can make reaches."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from reportgen.verification import embedded_files, forbidden_content, outer_bytes, replay, signatures, verify_report
from reportgen.verification.outer_bytes import Gap
from tests.unit.verification import signed_material as made


def names(reasons: Any) -> list[str]:
    return [reason.name for reason in reasons]


def test_two_ranges_that_cover_the_same() -> None:
    pdf = made.report()
    (gap,), _ = outer_bytes.byte_ranges(pdf)
    assert names(outer_bytes.coverage_faults(pdf, [gap, gap])) == ["SIGNATURE_COUNT"]
    assert outer_bytes.coverage_faults(pdf, []) == []


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        (b"<>", ["FORMAT_FAILURE"]),
        (b"<30>", ["FORMAT_FAILURE"]),
        (b"<3003020101>", []),
        (b"<300302010100>", []),
        (b"<300302010101>", ["HIDDEN_IN_SIGNATURE"]),
        (b"<3080>", ["FORMAT_FAILURE"]),
        (b"<308500000000010000>", ["FORMAT_FAILURE"]),
        (b"<3082>", ["FORMAT_FAILURE"]),
        (b"<3004020101>", ["FORMAT_FAILURE"]),
        (b"<3103020101>", ["FORMAT_FAILURE"]),
        (b"<300>", ["UNCOVERED_BYTES"]),
    ],
)
def test_value_in_the_gap(digits: bytes, expected: list[str]) -> None:
    """Lengths as X.690, 8.1.3 has them: short, long of one to four bytes, never indefinite."""
    assert names(outer_bytes.gap_faults(digits, Gap(0, len(digits), len(digits)))) == expected


def test_two_signatures_in_one_revision() -> None:
    reader: Any = SimpleNamespace(total_revisions=2)  # in which the first signature's revision cannot be read either
    for revision, expected in ((0, []), (1, ["CHANGED_AFTER_SIGNING"]), (2, [])):
        pair: Any = [SimpleNamespace(signed_revision=revision), SimpleNamespace(signed_revision=revision)]
        _, faults = replay.replayed(b"", [Gap(0, 0, 0)] * 2, reader, pair)
        assert names(faults) == ["CHANGED_WHEN_SIGNING", *expected]


def test_signature_whose_ranges_or_value_are_not_those_in_the_file() -> None:
    pdf = b"<3003020101>"
    gap = Gap(0, len(pdf), len(pdf))
    value = {"/SubFilter": "/ETSI.CAdES.detached"}
    other: Any = SimpleNamespace(
        byte_range=[0, 1, 2, 3],
        pkcs7_content=b"other",
        sig_object=value,
        sig_object_type="/Sig",
        signer_info={"signed_attrs": [], "unsigned_attrs": []},
    )
    assert names(signatures._form_faults(pdf, gap, other)) == ["SIGNATURE_COUNT", "HIDDEN_IN_SIGNATURE"]


def test_want_of_memory_is_said_or_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    def hoard(*_: Any) -> Any:
        raise MemoryError

    with pytest.raises(MemoryError):
        verify_report(made.report(), at=made.LATER, recompute=hoard)
    with pytest.raises(MemoryError):
        verify_report(made.report(), at=made.LATER, page_text_check=hoard)
    monkeypatch.setattr(forbidden_content, "content_faults", hoard)
    answer = verify_report(made.report(), at=made.LATER)
    assert names(answer.steps[0].reasons) == ["RESOURCE_LIMIT"]


def test_embedded_files_that_break_the_library(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> Any:
        raise LookupError

    monkeypatch.setattr(embedded_files, "check_files", broken)
    answer = verify_report(made.report(), at=made.LATER)
    assert (
        answer.steps[6].reasons[0].sentence
        == "the embedded files cannot be read: something that belongs there is missing"
    )
