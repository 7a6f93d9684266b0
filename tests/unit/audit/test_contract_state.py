"""How complete a contract is: by the areas that its newest proven project file lists, and by the newest report."""

import dataclasses
import json

import pytest

from reportgen.audit import Narrowed, ask, audit_of
from reportgen.issued import PlannedAreaRecord
from reportgen.register import Issue
from reportgen.words.told import said
from tests.unit.audit.test_index import make
from tests.unit.issued import records as made
from tests.unit.issued.records import area, nonconformance, report, surface


def planned(*names, size="20", unit="m2"):
    return tuple(PlannedAreaRecord(name, f"part {name}", "gate", "Gate", size, unit) for name in names)


def listing(place, *names, areas=(), project=None, **more):
    """A report by a project file that lists the areas of those names."""
    return report(place, areas=areas, planned=planned(*names), project_sha256=project or "/".join(names), **more)


@pytest.fixture
def index(tmp_path):
    with make(tmp_path / "index.sqlite") as opened:
        yield opened


def stored(index, *records, doubts=None):
    for number, record in enumerate(records):
        index.store(f"{number}.pdf", made.examined(record, doubts=(doubts or {}).get(number, ())))
    return audit_of(index)


def words(audit):
    (one,) = audit.complete
    return {row.area: row.word for row in one.areas.areas}


def test_the_newest_project_file_lists_what_counts(index):
    first = listing(1, "A", "B", "C", areas=[area("A", "3.1"), area("C", "3.1")])
    later = listing(2, "A", "B", "D", areas=[area("B", "3.1", decision="hold")])
    audit = stored(index, first, later)
    assert words(audit) == {
        "A": "released", "B": "hold", "D": "not inspected", "C": "no longer listed",
    }  # fmt: skip
    (one,) = audit.complete
    told = (
        "HM-1: 1 of 3 areas released (1 on hold, 1 not inspected, 1 no longer listed);"
        " no longer on the contract's list: C (released, since HM-1-IR-002 r0); 20 of 60 m² released;"
        " counted up to number HM-1-IR-002, issued by 2026-03-02: 2 reports, 2 here; later ones are not visible here"
    )
    assert str(one.sentence) == told
    assert "1 von 3 Flächen freigegeben (1 zurückgestellt, 1 nicht geprüft" in said(one.sentence, "de")
    assert index.rows("SELECT area, word FROM areas_now ORDER BY area") == sorted(words(audit).items())


def test_an_area_that_is_no_longer_listed_and_was_not_released_is_open(index):
    first = listing(1, "A", "B", "C", areas=[area("B", "3.1", decision="rework"), area("C", "3.1")])
    audit = stored(index, first, listing(2, "A", areas=[area("A", "3.1")]))
    (one,) = audit.complete
    assert "(2 no longer listed, not released of these: B (to be reworked))" in str(one.sentence)
    found = ask(index, "open")
    rows = [dict(zip(found.heads, row, strict=True)) for row in found.rows]
    assert [(row["kind"], row["area"]) for row in rows] == [("no longer listed", "B")]
    assert rows[0]["what"].startswith("rework")


def asked(index, name, **narrowed):
    found = ask(index, name, Narrowed(**narrowed))
    return [dict(zip(found.heads, row, strict=True)) for row in found.rows]


def test_an_area_that_no_report_names_has_the_report_that_lists_it(index):
    stored(index, listing(1, "A", "B", areas=[area("A", "3.1")]), listing(2, "A", "B", areas=[area("A", "3.1")]))
    for name in ("areas", "open"):
        row = next(one for one in asked(index, name) if one["area"] == "B")
        assert (row["number"], row["file"], row["standing"]) == ("HM-1-IR-002", "1.pdf", "proven")


def test_an_area_stands_so_since_the_first_report_that_says_what_the_last_one_says(index):
    says = ("release", "hold", "hold", "hold")
    stored(index, *(listing(n, "A", areas=[area("A", "3.1", decision=one)]) for n, one in enumerate(says, start=1)))
    assert [row["since"] for row in asked(index, "areas")] == ["2026-03-02"]
    (row,) = asked(index, "open", as_of="2026-03-05")
    assert (row["raised"], row["age"], row["last_named_in"]) == ("2026-03-02", 3, "HM-1-IR-004")


def test_nothing_is_of_an_age_before_it_was_raised(index):
    stored(index, listing(4, "A", areas=[area("A", "3.1", decision="hold")]))
    assert [row["age"] for row in asked(index, "open", as_of="2026-03-03")] == [None]


def test_a_nonconformance_whose_raising_report_is_not_here_is_open_since_it_was_first_named(index):
    named = [listing(n, "A", nonconformances=(nonconformance(raised_in="HM-1-IR-001"),)) for n in (2, 3)]
    stored(index, *named)
    (row,) = [one for one in asked(index, "open", as_of="2026-03-09") if one["kind"] == "nonconformance"]
    assert (row["raised"], row["age"]) == ("2026-03-02", 7)


def test_what_was_issued_last_is_told_by_the_register_and_not_by_a_clock(index):
    """The second report claims to have been issued before the first; its row is the later one."""
    first = listing(1, "A", "B", issued_at="2026-03-05T18:00:00Z")
    later = listing(2, "A", "B", "C", issued_at="2026-03-04T18:00:00Z")
    for number, (record, row) in enumerate(zip((first, later), (0, 2), strict=True)):
        issue = Issue(record.number, 0, row, f"{row:064d}", f"{number:064d}", contract="HM-1")
        index.store(f"{number}.pdf", dataclasses.replace(made.examined(record), upon=issue))
    (one,) = audit_of(index).complete
    assert [row.area for row in one.areas.listed] == ["A", "B", "C"]


def test_a_later_project_file_of_a_file_that_is_not_proven_lists_nothing(index):
    first = listing(1, "A", "B", areas=[area("A", "3.1")])
    shorter = listing(2, "A", areas=[area("A", "3.1")])
    audit = stored(index, first, shorter, doubts={1: ("NO_CERTIFICATE_CHAIN_FOUND",)})
    assert words(audit) == {"A": "released", "B": "not inspected"}
    assert words(stored(index, first, shorter)) == {"A": "released", "B": "no longer listed"}, "it does, proven"


def test_an_area_that_nobody_inspected_is_named_once_it_is_taken_off_the_list(index):
    """By a revision of the report that listed it too; one that is listed again is none."""
    first = listing(1, "A", "B", "C", "D", areas=[area("A", "3.1")], project="one")
    revised = dataclasses.replace(
        listing(1, "A", "B", "C", areas=[area("A", "3.1")], project="two"), revision=1,
        issued_at="2026-03-01T19:00:00Z", supersedes_revision=0, supersedes_reason="a list",
    )  # fmt: skip
    audit = stored(index, first, revised, listing(2, "A", "B", project="three"), listing(3, "A", "C", project="four"))
    assert words(audit) == {"A": "released", "C": "not inspected", "B": "no longer listed", "D": "no longer listed"}
    (one,) = audit.complete
    gone = "B (not inspected, since HM-1-IR-003 r0) and D (not inspected, since HM-1-IR-001 r1)"
    assert f"no longer on the contract's list: {gone.replace(' and ', ', ')};" in str(one.sentence)
    assert "nicht mehr auf der Liste des Vertrags: B (nicht geprüft, seit" in said(one.sentence, "de")
    found = ask(index, "open")
    rows = [dict(zip(found.heads, row, strict=True)) for row in found.rows]
    told = [(row["kind"], row["area"], row["what"], row["file"]) for row in rows if row["kind"] == "no longer listed"]
    assert told == [("no longer listed", "B", "part B", "3.pdf"), ("no longer listed", "D", "part D", "3.pdf")]


def test_an_area_that_only_an_unproven_report_releases_is_not_released(index):
    first = listing(1, "A", "B", areas=[area("A", "3.1")])
    other = listing(2, "A", "B", areas=[area("B", "3.1")])
    audit = stored(index, first, other, doubts={1: ("NO_CERTIFICATE_CHAIN_FOUND",)})
    assert words(audit) == {"A": "released", "B": "unproven"}


def test_coated_and_released_in_part_are_told_apart(index):
    coated = surface("A", "3.1 3.2", coated="2026-03-01T15:00+00:00")
    first = listing(1, "A", "B", areas=[area("A", "3.1", "3.2")], surfaces=[coated])
    assert words(stored(index, first)) == {"A": "coated", "B": "not inspected"}


def test_numbers_that_are_not_there_are_named_with_the_last_that_was_issued(index):
    audit = stored(index, listing(1, "A"), listing(4, "A"))
    (one,) = audit.complete
    assert "issued by 2026-03-04: 4 reports, 2 here, 2 not: HM-1-IR-002, HM-1-IR-003" in one.sentence
    missing = json.loads(index.rows("SELECT missing FROM numbers_now")[0][0])
    assert missing == ["HM-1-IR-002", "HM-1-IR-003"]


def test_a_second_numbering_hides_no_number_of_the_first(index):
    other = dataclasses.replace(listing(5, "A"), number="X2-01", number_pattern="X2-##")
    first = [dataclasses.replace(listing(n, "A"), number_pattern="HM-1-IR-###") for n in (1, 3)]
    (one,) = stored(index, *first, other).complete
    assert "issued by 2026-03-05: 4 reports, 3 here, 1 not: HM-1-IR-002" in one.sentence
    assert "by numbering: X2-## to 2026-03-05: 1 of 1 and HM-1-IR-### to 2026-03-03: 2 of 3" in one.sentence
    assert index.rows("SELECT pattern, issued, here FROM numbers_now") == [("HM-1-IR-###", 3, 2), ("X2-##", 1, 1)]
    heads, rows, _ = ask(index, "contracts", Narrowed())
    assert [dict(zip(heads, row, strict=True))["issued"] for row in rows] == [4]


def test_rows_of_the_register_that_no_file_explains_are_told(index):
    records = [listing(1, "A"), listing(2, "A")]
    for number, (record, row) in enumerate(zip(records, (0, 6), strict=True)):
        issue = Issue(record.number, 0, row, f"{row:064d}", f"{number:064d}", contract="HM-1")
        index.store(f"{number}.pdf", dataclasses.replace(made.examined(record), upon=issue))
    (one,) = audit_of(index).complete
    assert (one.numbers.missing, one.numbers.further) == ((), 2)
    assert "the register of HM-1-IR-002 can hold 2 more issues, not here" in one.sentence


def test_a_report_whose_project_file_cannot_be_read_lists_nothing(index):
    assert stored(index, report(1, areas=[area("A", "3.1")])).complete == ()


def test_a_second_numbering_hides_nothing_where_no_pattern_is_stated(index):
    first = [dataclasses.replace(listing(n, "A"), number_pattern=None) for n in (1, 3)]
    other = dataclasses.replace(listing(5, "A"), number="X2-01", number_pattern=None)
    audit = stored(index, *first, other)
    (one,) = audit.complete
    assert "issued by 2026-03-05: 4 reports, 3 here, 1 not: HM-1-IR-002" in one.sentence
    assert [one.number for one in audit.problems if one.code == "number-missing"] == ["HM-1-IR-002"]


def test_what_no_file_proves_is_not_released_though_nothing_better_is_here(index):
    """Its rework stands: what is not proven keeps steel back."""
    says = [area("A", "3.1"), area("B", "3.1", decision="rework"), area("C", "3.1", decision="hold")]
    audit = stored(index, listing(1, "A", "B", "C", areas=says), doubts={0: ("NO_CERTIFICATE_CHAIN_FOUND",)})
    assert words(audit) == {"A": "unproven", "B": "rework", "C": "hold"}
    (one,) = audit.complete
    assert "0 of 3 areas released (1 on hold, 1 to be reworked, 1 not proven)" in str(one.sentence)
    assert "0 of 60 m² released" in str(one.sentence)
