"""Numbers by pattern, without gaps; revisions in order."""

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.errors import UsageError
from reportgen.register import Chain, Row, Supersedes, missing_numbers, next_number
from reportgen.register.numbering import admit, number_at, position
from reportgen.register.rows import NO_ROW
from tests.unit.register.samples import PATTERN
from tests.unit.register.test_register_chain import report


@pytest.mark.parametrize(
    ("pattern", "issued", "expected"),
    [
        (PATTERN, [], "AB-12-001"),
        (PATTERN, ["AB-12-001"], "AB-12-002"),
        (PATTERN, ["AB-12-009", "AB-12-002", "X-1"], "AB-12-010"),
        ("R#", [], "R1"),
        ("R##-B", ["R09-B", "R10-C"], "R10-B"),
        ("A.##", ["AX07"], "A.01"),
    ],
)
def test_next_number(pattern: str, issued: list[str], expected: str) -> None:
    assert next_number(pattern, issued) == expected


def test_a_pattern_can_be_used_up() -> None:
    with pytest.raises(UsageError) as refusal:
        next_number("R#", ["R9"])
    assert refusal.value.message == "the pattern `R#` is used up: it has no number after R9"
    assert refusal.value.help_text == "give `report_numbers` another `#`, or another fixed part"
    with pytest.raises(UsageError, match=r"^the pattern `R` has no `#` for the sequence$"):
        next_number("R", [])


@given(st.integers(1, 999_999))
def test_place_and_number_are_inverse(place: int) -> None:
    assert position("AB-######-X", number_at("AB-######-X", place)) == place


@pytest.mark.parametrize("number", ["AB-12-000", "AB-12-01", "AB-12-0001", "AB-12-00a", "AB-12-٠٠١", "AB-12-001\n"])
def test_what_does_not_fit_has_no_place(number: str) -> None:
    assert position(PATTERN, number) is None


def test_missing_numbers() -> None:
    assert missing_numbers(PATTERN, []) == []
    assert missing_numbers(PATTERN, ["AB-12-001", "AB-12-004", "X-9"]) == ["AB-12-002", "AB-12-003"]


def chain_with(*issued: tuple[str, int]) -> Chain:
    return Chain(issued={key: Row("issued", 2, NO_ROW, report(*key)) for key in issued})


@dataclass
class Case:
    issued: tuple[tuple[str, int], ...]
    wanted: tuple[str, int]
    message: str
    help_text: str | None = None
    replaces: tuple[int, str] | None = None


REFUSED = [
    Case(
        (("AB-12-001", 0),),
        ("AB-12-001", 0),
        "AB-12-001 revision 0 was already issued on 2026-03-02 at 12:00 UTC as `AB-12-001-0.pdf`",
        "a correction is a new revision; the next one is 1",
    ),
    Case(
        (("AB-12-001", 1),),
        ("AB-12-001", 0),
        "AB-12-001 revision 1 was already issued on 2026-03-02 at 12:00 UTC as `AB-12-001-1.pdf`",
        "a correction is a new revision; the next one is 2",
    ),
    Case((("AB-12-001", 0),), ("AB-12-003", 0), "AB-12-003 would leave a gap: the next report number is AB-12-002"),
    Case((), ("AB-12-002", 0), "AB-12-002 would leave a gap: the next report number is AB-12-001"),
    Case(
        (("AB-12-003", 0),),
        ("AB-12-002", 0),
        "AB-12-002 lies before the last issued number: the next report number is AB-12-004",
    ),
    Case(
        (),
        ("AB-13-001", 0),
        "AB-13-001 does not fit the project's pattern `AB-12-###`; the next report number is AB-12-001",
    ),
    Case(
        (("AB-12-001", 0),),
        ("AB-12-001", 2),
        "AB-12-001 revision 2 cannot be issued: revision 1 was not",
        "the next revision is 1",
        (1, "why"),
    ),
    Case((), ("AB-12-001", 1), "AB-12-001 revision 1 cannot be issued: revision 0 was not", "the next revision is 0"),
    Case(
        (("AB-12-001", 0),),
        ("AB-12-001", 1),
        "AB-12-001 revision 1 does not say which revision it replaces, and why",
        "add `supersedes:` with `revision: 0` and a `reason:`",
    ),
    Case(
        (("AB-12-001", 0), ("AB-12-001", 1)),
        ("AB-12-001", 2),
        "AB-12-001 revision 2 supersedes revision 1, not 0",
        None,
        (0, "why"),
    ),
    Case(
        (("AB-12-001", 0),),
        ("AB-12-001", 1),
        "AB-12-001 revision 1 states no reason for replacing revision 0",
        None,
        (0, " "),
    ),
    Case(
        (),
        ("AB-12-001", 0),
        "AB-12-001 revision 0 cannot supersede anything; a correction is a new revision",
        None,
        (0, "why"),
    ),
]


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case.message[:40])
def test_refusals(case: Case) -> None:
    with pytest.raises(UsageError) as refusal:
        admit(chain_with(*case.issued), *case.wanted, pattern=PATTERN, replaces=case.replaces)
    assert (refusal.value.message, refusal.value.help_text) == (case.message, case.help_text)


@pytest.mark.parametrize(
    ("issued", "wanted", "options", "answer"),
    [
        ([], ("AB-12-001", 0), {"pattern": PATTERN}, None),
        ([("AB-12-001", 0)], ("AB-12-002", 0), {"pattern": PATTERN}, None),
        ([("OLD-7", 0)], ("AB-12-001", 0), {"pattern": PATTERN}, None),
        ([], ("AB-12-007", 0), {}, None),
        (
            [("AB-12-001", 0), ("AB-12-002", 0)],
            ("AB-12-001", 1),
            {"pattern": PATTERN, "replaces": (0, "roll was mistyped")},
            Supersedes(0, report().signed_sha256, "roll was mistyped"),
        ),
    ],
)
def test_admitted(issued: list[tuple[str, int]], wanted: tuple[str, int], options: dict[str, Any], answer: Any) -> None:
    assert admit(chain_with(*issued), *wanted, **options) == answer
