"""A shift as a page in a browser enters it: looked at, written, taken back, prepared, signed, revised, compared."""

import datetime as dt
import os
import re
from pathlib import Path

import pytest

from reportgen import pipeline
from reportgen.errors import InputError, SealError, UsageError
from reportgen.intake.changes import Address, Change, Entry, reading_at, surface_at
from reportgen.pipeline import looking, writing
from reportgen.pipeline.contract_state import contract_state, shift_state
from reportgen.pipeline.looking import look
from reportgen.pipeline.photos import add_photo
from reportgen.pipeline.preparing import HOLDS_FOR, StaleError, issue_prepared, page_images, prepare
from reportgen.pipeline.revising import compare, put_back, start_revision
from reportgen.pipeline.writing import Conflict, IssuedError, Objection, Wrote, undo, write_entry
from tests import footbridge
from tests.e2e import signed_footbridge
from tests.unit.verification import signed_material as made

B1 = surface_at("B-1")
FIRST = reading_at(B1, "1", "a", "x1")
AT = signed_footbridge.AT
JPEG = Path(__file__).parents[2] / "jobs" / "tessowick" / "photos" / "tsk-07-s1.jpg"


@pytest.fixture
def day(tmp_path):
    return footbridge.folder(tmp_path / "job", day=footbridge.day(1)) / "day.yaml"


def left_over(day):
    return sorted(path.name for path in day.parent.iterdir() if path.name not in {"day.yaml", "project.yaml"})


def signer():
    return signed_footbridge.identity(footbridge.INSPECTOR)


def issued(day):
    return pipeline.issue(day, signer(), at=AT)


# Looking


def test_what_is_typed_is_evaluated_and_written_nowhere(day):
    before = day.read_bytes()
    found = look(day, Change(FIRST, "2.8", "2.4"), at=AT)
    assert (found.spot.profile, found.spot.how, found.location.verdict) == (None, "second-missing", "inconclusive")
    wanted = next(one for one in found.wanted if one.code == "read-other-grade")
    assert (wanted.facts.wanted.key, wanted.place.spot) == ("coarse", "a")
    assert [(one.area, one.before, one.now) for one in found.changed] == [
        ("B-1", ("conforms", "release"), ("inconclusive", "hold"))
    ]
    assert "second-reading-missing" in {one.code for one in found.findings}
    assert (day.read_bytes(), left_over(day)) == (before, [])


def test_a_look_says_what_a_check_of_the_written_day_says(day):
    change = Change(reading_at(B1, "1", "a", "c1"), None, "2.5")
    found = look(day, change, at=AT)
    text = day.read_text("utf-8")
    day.write_text(
        text.replace('spot: a, time: "10:20", x1: 2.8}', 'spot: a, time: "10:20", x1: 2.8, c1: 2.5}'), "utf-8"
    )
    checked = pipeline.check(day, at=AT)
    assert found.area == checked.evaluation.areas[0]
    assert found.location == checked.evaluation.areas[0].locations[0]
    assert found.standing == checked.standing


def test_of_one_area_alone_its_locations_are_the_same(day):
    both = footbridge.day(1).replace("surfaces:\n", "surfaces:\n", 1)
    second = both[both.index("  - area: B-1") :].replace("B-1", "B-2").replace("08:00", "13:00").replace("10:", "15:")
    day.write_text(both.rstrip() + "\n" + second, "utf-8")
    change = Change(FIRST, "2.8", "2.9")
    whole, alone = look(day, change, at=AT), look(day, change, at=AT, whole=False)
    assert (alone.spot, alone.location) == (whole.spot, whole.location)
    assert (alone.area.mean, alone.area.locations) == (whole.area.mean, whole.area.locations)
    assert (alone.standing, alone.changed) == (None, ())
    assert len(whole.standing.missing) >= 0


@pytest.mark.parametrize(
    ("at", "before", "now", "message"),
    [
        (FIRST, "2.8", "20 mil", "is outside what replica tape can read"),
        (FIRST, "2.8", "2,8", "with a decimal point"),
        (B1 / "coated", None, "09:00", "before blasting ended"),
        (B1 / "apparatus", "pot 1", None, "apparatus"),
    ],
)
def test_what_the_loader_refuses_is_refused_with_its_reason(day, at, before, now, message):
    before_bytes = day.read_bytes()
    answer = write_entry(day, Change(at, before, now), at=AT)
    if now is None:  # something that is missing holds the area; it is not refused
        assert isinstance(answer, Wrote)
        return
    assert isinstance(answer, Objection)
    assert any(message in f"{one.message} {one.help_text}" for one in answer.look.refused)
    assert day.read_bytes() == before_bytes


def test_what_is_mostly_a_slip_is_asked_and_written_when_it_is_true(day):
    change = Change(FIRST, "2.8", "2.85")
    answer = write_entry(day, change, at=AT)
    assert isinstance(answer, Objection)
    assert [one.code for one in answer.look.asked] == ["entry-doubtful"]
    wrote = write_entry(day, change, at=AT, believed=True)
    assert isinstance(wrote, Wrote)
    assert 'spot: a, time: "10:20", x1: 2.85, confirmed: yes}' in day.read_text("utf-8")
    assert [one.code for one in wrote.look.asked] == []
    assert undo(day, wrote).sha256 == looking.hashlib.sha256(footbridge.day(1).encode()).hexdigest()


def test_a_time_outside_the_shift_is_asked_about(day):
    answer = write_entry(day, Change(B1 / "coated", None, "18:30"), at=AT)
    assert isinstance(answer, Objection)
    assert answer.look.outside_shift
    assert isinstance(write_entry(day, Change(B1 / "coated", None, "17:30"), at=AT), Wrote)


def test_numbers_as_people_type_them_keep_their_digits():
    assert [looking.typed(text) for text in ("2,8", "2.80", " 64 ", "1,234", "-2,0 mil", "1.234,5")] == [
        "2.8", "2.80", "64", "1.234", "-2.0 mil", "1.234,5",
    ]  # fmt: skip


def test_an_error_elsewhere_is_not_laid_at_this_entry(day):
    day.write_text(day.read_text("utf-8").replace("gauge: g1, thickness: 4.0", "gauge: g7, thickness: 4.0"), "utf-8")
    wrote = write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)
    assert isinstance(wrote, Wrote)
    assert wrote.look.refused == ()
    assert any("g7" in one.message for one in wrote.look.elsewhere)


# Writing


def test_only_the_digits_change_and_undoing_gives_the_bytes_back(day):
    day.write_bytes(day.read_bytes().replace(b"\n", b"\r\n"))
    before = day.read_bytes()
    wrote = write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)
    assert day.read_bytes() == before.replace(b'"10:20", x1: 2.8', b'"10:20", x1: 2.9')
    assert (wrote.elsewhere, wrote.set_aside, left_over(day)) == (False, None, [])
    back = undo(day, wrote, at=AT)
    assert day.read_bytes() == before
    again = undo(day, back, at=AT)
    assert b"x1: 2.9" in day.read_bytes()
    assert again.changes[0].now == "2.9"


def test_undoing_leaves_what_was_written_since(day):
    wrote = write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)
    write_entry(day, Change(reading_at(B1, "3", "b", "x1"), "2.8", "2.7"), at=AT)
    assert isinstance(undo(day, wrote, at=AT), Wrote)
    text = day.read_text("utf-8")
    assert ('time: "10:20", x1: 2.8}' in text, 'time: "10:25", x1: 2.7}' in text) == (True, True)
    conflict = undo(day, wrote, at=AT)
    assert isinstance(conflict, Conflict)
    assert (conflict.then, conflict.present, conflict.typed) == ("2.9", "2.8", "2.8")


def test_another_value_at_the_place_is_a_conflict_and_one_elsewhere_is_said(day):
    seen = looking.hashlib.sha256(day.read_bytes()).hexdigest()
    day.write_text(day.read_text("utf-8").replace("x1: 2.8}", "x1: 2.6}", 1), "utf-8")
    conflict = write_entry(day, Change(FIRST, "2.8", "2.7"), seen=seen, at=AT)
    assert (conflict.then, conflict.present, conflict.typed) == ("2.8", "2.6", "2.7")
    wrote = write_entry(day, Change(reading_at(B1, "3", "b", "x1"), "2.8", "2.7"), seen=seen, at=AT)
    assert wrote.elsewhere


def test_what_an_editor_saves_in_the_very_moment_is_put_beside(day, monkeypatch):
    mine = day.read_text("utf-8").replace("x1: 2.8}", "x1: 2.6}", 1)
    swap = writing.atomicfile.write_in_place_of

    def meanwhile(path, data, *, mark):
        path.write_text(mine, "utf-8")
        return swap(path, data, mark=mark)

    monkeypatch.setattr(writing.atomicfile, "write_in_place_of", meanwhile)
    wrote = write_entry(day, Change(reading_at(B1, "3", "b", "x1"), "2.8", "2.7"), at=AT)
    assert re.fullmatch(r"day\.saved-\d{8}T\d{6}Z\.yaml", wrote.set_aside.name)
    assert wrote.set_aside.read_text("utf-8") == mine
    assert left_over(day) == [wrote.set_aside.name]
    state = contract_state(day.parent, at=AT)
    assert state.saved == (wrote.set_aside,)
    assert [one.day for one in state.shifts] == [day]
    assert pipeline.check(day, at=AT).job.warnings == ()


@pytest.mark.parametrize("exchange", [True, False])
def test_where_names_cannot_be_exchanged_it_is_as_safe(day, monkeypatch, exchange):
    if not exchange:
        monkeypatch.setattr(writing.atomicfile, "_exchange", lambda *_: False)
    day.chmod(0o640)
    assert isinstance(write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT), Wrote)
    assert (left_over(day), day.stat().st_mode & 0o777) == ([], 0o640)


def test_a_day_that_was_issued_is_not_written_until_a_revision_is_started(day):
    issued(day)
    whole = day.read_bytes()
    with pytest.raises(IssuedError, match=r"^HD-9-001 was issued as revision 0 on 2026-05-04: it can no longer be"):
        write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)
    with pytest.raises(IssuedError):
        add_photo(day, JPEG.read_bytes(), "web.jpg", B1, caption="web")
    assert day.read_bytes() == whole
    assert not (day.parent / "photos").exists()


def test_a_file_that_is_no_yaml_can_not_be_written(day):
    day.write_text(day.read_text("utf-8") + "a: b: c\n", "utf-8")
    with pytest.raises(InputError):
        write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)
    state = shift_state(day, at=AT)
    assert (state.state, state.problems[0].spans[0].line) == ("unreadable", day.read_text("utf-8").count("\n"))


# Photos


def test_a_photo_is_kept_as_it_is_and_entered(day):
    data = JPEG.read_bytes()
    added = add_photo(day, data, "C:\\camera\\web façade 1.JPG", B1, caption="Web, north", time="10:30", at=AT)
    assert added.file == "photos/web-façade-1.jpg"
    assert (day.parent / added.file).read_bytes() == data
    assert '- {file: photos/web-façade-1.jpg, caption: "Web, north", time: "10:30"}' in day.read_text("utf-8")
    other = add_photo(day, data[:-2] + b"\xff\xd9\xff\xd9", "web façade 1.jpg", B1, caption="again", at=AT)
    assert other.file == "photos/web-façade-1-2.jpg"
    turned = write_entry(day, Change(added.at / "turn", None, "90"), at=AT)
    assert isinstance(turned, Wrote)
    assert (day.parent / added.file).read_bytes() == data


@pytest.mark.parametrize(
    ("data", "message", "remedy"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "is HEIC, which a report that lasts cannot show", "as JPEG"),
        (b"GIF89a", "is neither JPEG nor PNG", "JPEG or PNG"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "is a damaged or cut picture", "camera again"),
    ],
)
def test_what_no_report_can_show_is_said_with_what_to_do(day, data, message, remedy):
    with pytest.raises(UsageError, match=message) as refused:
        add_photo(day, data, "../../IMG_1.heic", B1, caption="web")
    assert remedy in refused.value.help_text
    assert left_over(day) == []


# Signing


def test_what_was_seen_is_what_is_signed(day):
    prepared = prepare(day, at=AT)
    assert (prepared.number, prepared.verdict, prepared.signer) == ("HD-9-001", "conforms", footbridge.INSPECTOR)
    assert left_over(day) == []
    images = page_images(prepared.pdf, width=200)
    assert [image[:8] for image in images] == [b"\x89PNG\r\n\x1a\n"] * prepared.pages
    written = issue_prepared(prepared, signer(), at=AT + dt.timedelta(minutes=20))
    assert written.path.read_bytes().startswith(prepared.pdf)
    answer = pipeline.verify(written.path, trust=[_root(day)])
    assert answer.overall == "passed"
    assert shift_state(day, at=AT).state == "issued"
    assert pipeline.check_register_of(day.parent) == []


def _root(day):
    from cryptography.hazmat.primitives.serialization import Encoding

    path = day.parent.parent / "root.pem"
    path.write_bytes(made.root().certificate.public_bytes(Encoding.PEM))
    return path


def changed_entry(day):
    write_entry(day, Change(FIRST, "2.8", "2.9"), at=AT)


def changed_project(day):
    project = day.parent / "project.yaml"
    project.write_bytes(project.read_bytes() + b"# agreed today\n")


def issued_meanwhile(day):
    other = day.with_name("other.yaml")
    other.write_text(footbridge.day(2).replace("HD-9-002", "HD-9-003"), "utf-8")
    pipeline.issue(other, signer(), at=AT + dt.timedelta(days=1))


@pytest.mark.parametrize(
    ("meanwhile", "why"),
    [
        (changed_entry, r"another content by now: day\.yaml"),
        (changed_project, r"another content by now: project\.yaml"),
        (issued_meanwhile, "another report was issued meanwhile"),
        (lambda day: day.write_text("a: b: c", "utf-8"), "the day cannot be issued as it is now"),
    ],
)
def test_what_changed_since_it_was_seen_is_not_signed(day, meanwhile, why):
    prepared = prepare(day, at=AT)
    meanwhile(day)
    with pytest.raises(StaleError, match=rf"^HD-9-001 has changed since you looked \({why}\); nothing was signed"):
        issue_prepared(prepared, signer(), at=AT + dt.timedelta(minutes=1))
    assert not (day.parent / "reports" / "HD-9-001.pdf").exists()


@pytest.mark.parametrize("late", [HOLDS_FOR + dt.timedelta(seconds=1), dt.timedelta(seconds=-1)])
def test_pages_hold_for_half_an_hour(day, late):
    prepared = prepare(day, at=AT)
    with pytest.raises(StaleError, match="more than half an hour ago"):
        issue_prepared(prepared, signer(), at=AT + late)


def test_pages_that_state_a_certificate_are_signed_with_it_alone(day):
    from reportgen.certificates import pin_of

    prepared = prepare(day, at=AT, certificate="ab" * 32)
    with pytest.raises(SealError, match=r"signs with another certificate$"):
        issue_prepared(prepared, signer(), at=AT)
    own = prepare(day, at=AT, certificate=pin_of(signer().certificate))
    assert issue_prepared(own, signer(), at=AT).path.exists()


def test_what_stands_in_the_way_of_issuing_is_said_before_anybody_looks(day):
    issued(day)
    with pytest.raises(UsageError, match="HD-9-001 revision 0 was already issued"):
        prepare(day, at=AT)


# Revisions


def test_a_revision_is_started_with_its_reason_and_compared(day):
    issued(day)
    text = day.read_text("utf-8")
    day.write_text(text.replace('"10:20", x1: 2.8', '"10:20", x1: 2.9'), "utf-8")
    state = shift_state(day, at=AT)
    assert state.state == "differs"
    assert [(str(one.at), one.before, one.after) for one in state.differences] == [
        ("surfaces[area=B-1]/profile/readings[location=1,spot=a]/x1", "2.8", "2.9")
    ]
    wrote = start_revision(day, "the dial was  misread", at=AT)
    assert "revision: 1, date: 2026-05-04" in day.read_text("utf-8")
    assert "supersedes: {revision: 0, reason: the dial was misread}" in day.read_text("utf-8")
    assert isinstance(wrote, Wrote)
    with pytest.raises(UsageError, match="states revision 1 of HD-9-001, and revision 0 was issued last"):
        start_revision(day, "again")
    written = pipeline.issue(day, signer(), at=AT + dt.timedelta(hours=1))
    assert written.path.name == "HD-9-001-r1.pdf"
    assert (shift_state(day, at=AT).state, shift_state(day, at=AT).reason) == ("revised", "the dial was misread")
    found = compare(day.parent, "HD-9-001", 0, 1)
    assert found.reason == "the dial was misread"
    assert {str(one.at) for one in found.entries} == {
        "report/revision", "report/supersedes", "surfaces[area=B-1]/profile/readings[location=1,spot=a]/x1",
    }  # fmt: skip
    assert ("B-1", "1", "profile", "2.80", "2.85") in [
        (one.area, one.location, one.member, one.before, one.after) for one in found.results
    ]
    assert found.terms == ()
    assert compare(day.parent, "HD-9-001", 1).entries == ()


def test_an_entry_put_back_is_as_issued_again(day):
    issued(day)
    as_issued = day.read_bytes()
    day.write_bytes(as_issued.replace(b"x1: 2.8", b"x1: 2.7", 1))
    wrote = put_back(day, at=AT)
    assert day.read_bytes() == as_issued
    assert wrote.previous != as_issued
    assert shift_state(day, at=AT).state == "issued"


@pytest.mark.parametrize(
    ("reason", "message"), [("  ", "states its reason"), ("slip", "was not issued: the day file can")]
)
def test_no_revision_of_what_was_not_issued_or_without_reason(day, reason, message):
    with pytest.raises(UsageError, match=message):
        start_revision(day, reason)


# The contract


def test_the_states_of_a_contract(tmp_path):
    folder = footbridge.folder(tmp_path / "job")
    assert contract_state(folder, at=AT).next.what == "start next shift"
    (folder / "2026-05-04.yaml").write_text(footbridge.day(1, footbridge.SMOOTH, raised=footbridge.OPEN), "utf-8")
    first = folder / "2026-05-04.yaml"
    assert shift_state(first, at=AT - dt.timedelta(hours=3)).state == "ready"
    pipeline.issue(first, signer(), at=AT)
    empty = footbridge.day(2)
    empty = empty[: empty.index("gauge_checks:")]
    second = folder / "2026-05-05.yaml"
    second.write_text(empty, "utf-8")
    state = contract_state(folder, at=AT + dt.timedelta(days=1))
    assert [one.state for one in state.shifts] == ["issued", "empty"]
    assert (state.shifts[0].verdict, dict(state.shifts[0].decisions)) == ("does not conform", {"rework": 1})
    assert state.shifts[0].signed_by == footbridge.INSPECTOR
    assert (state.next.what, state.next.day) == ("go on", second)
    assert [(one.state.id, one.age) for one in state.nonconformances] == [("NCR-001", 1)]
    assert [(one.id, one.decision) for one in state.areas] == [("B-1", "rework"), ("B-2", None)]
    second.write_text(footbridge.day(2).replace("location: 3, spot: b", "location: 4, spot: b"), "utf-8")
    typing, over = (shift_state(second, at=AT + dt.timedelta(days=1, hours=hours)) for hours in (-3, 1))
    assert (typing.state, over.state) == ("in progress", "held")
    assert typing.missing > 0
    second.write_text(footbridge.day(2).replace("pot 1", "<apparatus>"), "utf-8")
    unfilled = shift_state(second, at=AT + dt.timedelta(days=1, hours=1))
    assert unfilled.state == "in progress"
    first.unlink()
    assert contract_state(folder, at=AT).shifts[0].day is None


def test_a_folder_without_a_contract_begins_with_one(tmp_path):
    assert contract_state(tmp_path).next.what == "new contract"
    with pytest.raises(UsageError, match="is not a folder"):
        contract_state(tmp_path / "none")


def test_a_log_entry_goes_to_its_time(day):
    condition = {"air": "17 degC", "humidity": "60 %", "steel": "17 degC"}
    for time in ("12:00", "08:00"):
        at = Address((Entry("conditions", (("time", time),)),))
        assert isinstance(write_entry(day, Change(at, None, condition), at=AT), Wrote)
    text = day.read_text("utf-8")
    assert text.index('time: "08:00", air') < text.index('time: "12:00", air')


def test_several_pages_write_one_after_the_other(day):
    assert os.fspath(day)
    with writing.alone(day):
        assert day.with_name(f".{day.name}.writing").exists()
    assert left_over(day) == []
