"""When a release page says that it was looked up and signed: whoever made it may write any time."""

import dataclasses

import pytest

from reportgen.issued.release_file import ReleaseFile

FIELDS = dict.fromkeys((one.name for one in dataclasses.fields(ReleaseFile)), "")


@pytest.mark.parametrize(
    ("as_of", "issued_at", "ahead"),
    [
        ("2026-03-02 14:30:00 UTC", "2026-03-02T14:30:00Z", False),
        ("2026-03-02 14:36:00 UTC", "2026-03-02T14:30:00Z", True),
        ("9999-12-31 23:59:59 UTC", "9999-12-31T23:59:58Z", False),
        ("2026-03-02 14:30:00 UTC", "9999-12-31T23:59:59Z", False),
        ("9999-12-31 23:59:59 UTC", "0001-01-01T00:00:00Z", True),
        ("2026-03-02 14:30:00 UTC", "9999-12-31T23:59:59-12:00", True),
        ("2026-03-02 14:30:00 UTC", "0001-01-01T00:00:00+12:00", True),
    ],
)
def test_a_page_is_not_looked_up_after_it_was_signed(as_of, issued_at, ahead):
    page = ReleaseFile(**{**FIELDS, "as_of": as_of, "issued_at": issued_at, "status": "issue"})
    assert [one.name for one in page.own_faults] == ["TIMES_DISAGREE"] * ahead
