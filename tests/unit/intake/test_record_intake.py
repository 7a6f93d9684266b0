"""Replicas, function checks, hold points and the site: written on a sheet by hand, found again in the day file."""

import pytest

from reportgen.rules import evaluate
from tests.unit.intake.small import PREPARED, PROJECT, Filling, job_of, rolls_of, sheet_of, take_in

ASKING = PROJECT.replace(
    "people:",
    "  hold_points: [{step: surface preparation, before: coating, clause: 4.2}]\n"
    "requires: [NCDOT M&T 610, function_checks, replicas]\npeople:",
)


def filled(project=ASKING):
    job = job_of(project=project)
    plan = sheet_of(job, areas=["A-1"])
    filling = Filling(plan).write("surface", 1, "A-1", **PREPARED)
    filling.readings("A-1", {1: {"x1": "2.9"}, 2: {"x1": "2.8"}}, rolls_of(plan, "A-1"))
    return job, filling


def taken(job, filling):
    merged = take_in(filling.filled(), "sheet.pdf", job)
    return job_of(merged.data.decode(), ASKING), merged


def test_what_is_written_by_hand_arrives_in_the_day_file():
    job, filling = filled()
    filling.write("replicas", 1, "A-1", even="x", rubbed="x", affixed="x")
    filling.write("replicas", 2, "A-1", location="1", spot="b", roll="x1", thrown_away="slid")
    filling.write("function_checks", 1, time="6.40", reference="75,3 %", shown="74 %", tolerance="3 %", against="salt")
    filling.write("hold_points", 1, areas="A-1", asked="0930", released="10:05", by="E. Client")
    filling.write("site", 1, weather="dry, dry", high="21", low="12,5", blasters="3", equipment="none")
    filling.write("surface", 1, "A-1", cleaned="12")
    day = taken(job, filling)[0].day
    (surface,) = day.surfaces
    general, thrown = surface.replicas
    assert (general.grain, general.rubbed, general.kept, general.location) == ("uniform", "fully", "affixed", None)
    assert (thrown.location, thrown.spot, thrown.roll, thrown.thrown_away) == ("1", "b", "x1", "slid")
    assert str(surface.cleaned) == "12 m²"
    (check,) = day.function_checks
    assert (check.instrument, str(check.reference), str(check.tolerance), check.against) == (
        "h1",
        "75.3 %",
        "3 %",
        "salt",
    )
    (point,) = day.hold_points
    assert (point.step, point.areas, f"{point.asked:%H:%M}", point.by) == (
        "surface preparation", ["A-1"], "09:30", "E. Client",
    )  # fmt: skip
    assert (day.site.weather, str(day.site.low), day.site.blasters) == ("dry, dry", "12.5 °C", 3)


def test_what_cannot_be_taken_is_kept_and_holds_the_area():
    job, filling = filled()
    filling.write("replicas", 1, "A-1", even="x", uneven="x")
    filling.write("replicas", 2, "A-1", location="9", uneven="x")
    filling.write("hold_points", 1, released="10:05")
    after, _ = taken(job, filling)
    assert after.day.surfaces[0].replicas == []
    assert {one.entry for one in after.day.not_taken} >= {"grain"}
    assert len(after.day.not_taken) == 3
    assert evaluate(after).areas[0].decision == "hold"


def test_a_sheet_that_was_taken_in_changes_nothing_the_second_time():
    job, filling = filled()
    filling.write("replicas", 1, "A-1", even="x")
    filling.write("hold_points", 1, areas="A-1", asked="0930")
    filling.write("site", 1, weather="dry")
    once, merged = taken(job, filling)
    again = take_in(filling.filled(), "sheet.pdf", once)
    assert (again.data, again.added) == (merged.data, ())


def test_a_sheet_asks_only_for_what_the_contract_asks_for():
    kinds = {block.kind for block in sheet_of(job_of()).blocks}
    assert "replicas" in kinds
    assert kinds.isdisjoint({"site", "hold_points", "function_checks"})


def test_somebody_elses_readings_come_in_beside_the_inspectors():
    asking = PROJECT.replace("people:", "requires: [comparison]\npeople:")
    job, filling = filled(asking)
    filling.write(
        "surface", 1, "A-1", other_by="Q. Maddock", other_of="Blast Co", other_accuracy="0,2", other_time="9.50"
    )
    filling.write("compared", 1, "A-1", profile="2.7")
    filling.write("compared", 2, "A-1", profile="2,9")
    filling.write("compared", 3, "A-1", location="2", spot="", profile="thick")
    merged = take_in(filling.filled(), "sheet.pdf", job)
    day = job_of(merged.data.decode(), asking).day
    told = day.surfaces[0].comparison
    assert (told.by, told.organisation, str(told.gauge_accuracy), f"{told.time:%H:%M}") == (
        "Q. Maddock", "Blast Co", "0.2 mil", "09:50",
    )  # fmt: skip
    assert [(one.location, one.spot, str(one.profile)) for one in told.values] == [
        ("1", "a", "2.7 mil"), ("1", "b", "2.9 mil"),
    ]  # fmt: skip
    assert [one.written for one in day.not_taken] == ["thick", "2"]
    assert take_in(filling.filled(), "sheet.pdf", job_of(merged.data.decode(), asking)).data == merged.data


def test_nobody_is_asked_for_them_unasked():
    job, _ = filled()
    assert "compared" not in {block.kind for block in sheet_of(job, areas=["A-1"]).blocks}


@pytest.mark.parametrize(("by", "doubted"), [("E. Renn", False), ("Kim Varrow", True), ("awaiting E. Renn", True)])
def test_who_released_a_hold_point_and_cannot_be_told_is_listed_as_doubted(by, doubted):
    job, filling = filled()
    filling.write("hold_points", 1, areas="A-1", released="10:05", by=by)
    after, merged = taken(job, filling)
    assert [(one.name, one.value, one.kind) for one in merged.doubted] == (
        [("by", by, "released-by")] if doubted else []
    )
    assert after.day.hold_points[0].by == by  # it is taken, and holds


@pytest.mark.parametrize(("answer", "by", "confirmed"), [(None, "Kim Varrow", True), ("K. Varrow", "K. Varrow", False)])
def test_it_is_confirmed_or_corrected_when_asked_about(answer, by, confirmed):
    job, filling = filled()
    filling.write("hold_points", 1, areas="A-1", released="10:05", by="Kim Varrow")
    merged = take_in(filling.filled(), "sheet.pdf", job, ask=lambda _: answer)
    (point,) = job_of(merged.data.decode(), ASKING).day.hold_points
    assert (point.by, point.confirmed, merged.doubted) == (by, confirmed, ())
