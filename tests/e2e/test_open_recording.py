"""What is recorded beside readings, sent as the pages send it: nonconformances, photos, revisions."""

import hashlib
import re

import pytest
import yaml

from reportgen.checker import checker_page
from tests.unit.browser.site import Site

DAY = "/shift/2026-06-09"


@pytest.fixture
def day(folder):
    return folder / "2026-06-09.yaml"


def read(day):
    return yaml.safe_load(day.read_text())


def sends(site, page, **given):
    """Send as a page does, and return the answer; it has to be a page drawn again."""
    answer = site.post(f"{page}/write", {name.replace("_", "-"): value for name, value in given.items()})
    assert answer.status_code == 200
    return answer


def test_a_nonconformance_is_raised_from_its_finding_and_closed_with_evidence(site, day):
    text = day.read_text()
    cut, end = text.index("  - id: NCR-003"), text.index("\nremarks: Rain")
    day.write_text(text[:cut] + text[end:], "utf-8")
    page = site.get(f"{DAY}/nonconformances").text
    sent = re.search(r"data-send='\{\"raise\": \"H-1\", \"codes\": \"([^\"]+)\"\}'", page)
    assert sent is not None
    assert set(sent[1].split()) == {"grade-not-met", "stain-above-limit"}
    sends(site, f"{DAY}/nonconformances", **{"raise": "H-1", "codes": sent[1]})
    raised = read(day)["nonconformances"][-1]
    assert raised == {"id": raised["id"], "area": "H-1", "findings": sent[1].split(), "status": "open"}
    at = f"nonconformances[id={raised['id']}]"
    for name, value in (("description", "Stain, clause 6.3.1"), ("disposition", "rework"), ("decided_by", "ambleweir")):
        answer = sends(site, f"{DAY}/nonconformances", at=f"{at}/{name}", value=value)
        assert "HX-Retarget" in answer.headers, answer.text
    assert "Findings that want a nonconformance" not in site.get(f"{DAY}/nonconformances").text
    refused = sends(site, f"{DAY}/nonconformances", at=f"{at}/status", was='"open"', value="closed")
    assert "HX-Retarget" in refused.headers or "evidence" in refused.text


def test_a_photo_is_kept_byte_for_byte_turned_and_taken_out_again(site, day, folder):
    picture = (folder / "photos" / "qw-002-g4-web.jpg").read_bytes()
    given = {"surface": "surfaces[area=K-4]", "caption": "Ribs of gate 2", "time": "1430", "location": "2"}
    answer = site.post(f"/files{DAY}/photo", given, files={"file": ("ribs.jpg", picture + b"\0", "image/jpeg")})
    assert answer.headers.get("hx-redirect") == f"{DAY}/photos", answer.text
    added = next(one for one in read(day)["surfaces"] if one["area"] == "K-4")["photos"][0]
    assert (added["caption"], added["time"], added["location"]) == ("Ribs of gate 2", "14:30", 2)
    assert (folder / added["file"]).read_bytes() == picture + b"\0"
    at = re.search(r'data-at="([^"]*K-4[^"]*)/turn"', site.get(f"{DAY}/photos").text)[1]
    sends(site, f"{DAY}/photos", at=f"{at}/turn", value="90")
    page = site.get(f"{DAY}/photos").text
    assert 'class="turn-90"' in page
    shown = site.get(re.search(r'class="turn-90" src="([^"]+)"', page)[1])
    assert shown.content.startswith(b"\xff\xd8")
    sends(site, f"{DAY}/photos", take_out=at)
    assert not next(one for one in read(day)["surfaces"] if one["area"] == "K-4").get("photos")
    assert (folder / added["file"]).read_bytes() == picture + b"\0"  # the bytes stay


def test_the_area_of_a_photo_is_asked_for_where_there_are_several(site, day, folder):
    chosen = re.compile(r'<option value="([^"]*)" selected>')
    picture, before = (folder / "photos" / "qw-002-g4-web.jpg").read_bytes(), day.read_bytes()
    form = site.get(f"{DAY}/photos").text
    assert chosen.findall(form.split("</select>", 1)[0]) == []
    assert '<select id="photo-area" name="surface"><option value=""></option>' in form
    answer = site.post(f"/files{DAY}/photo", {"surface": "", "caption": "x"}, files={"file": ("a.jpg", picture)})
    assert "Choose the area" in answer.text
    assert day.read_bytes() == before
    assert chosen.findall(site.get(f"{DAY}/photos?area=K-4").text.split("</select>", 1)[0]) == ["surfaces[area=K-4]"]


def test_heic_is_told_what_to_do(site, day):
    heic = b"\0\0\0\x18ftypheic" + b"\0" * 64
    given = {"surface": "surfaces[area=K-4]", "caption": "x"}
    answer = site.post(f"/files{DAY}/photo", given, files={"file": ("a.heic", heic, "image/heic")})
    assert "JPEG" in answer.text


def test_why_there_is_no_reading_is_an_entry(site, day):
    page = f"{DAY}/area/K-3"
    sends(site, page, at="surfaces[area=K-3]/no_reading[location=9]/reason", value="behind the stay")
    surface = next(one for one in read(day)["surfaces"] if one["area"] == "K-3")
    assert surface["no_reading"] == [{"location": 9, "reason": "behind the stay"}]
    back = sends(site, page, undo="yes")
    assert "Taken back" in back.text
    assert "no_reading" not in next(one for one in read(day)["surfaces"] if one["area"] == "K-3")


def test_nothing_is_written_to_a_report_that_was_issued_until_a_revision_is_begun(folder, identities):
    site, day = Site(folder).opened(), "/shift/2026-06-08"
    secret = "a passphrase for tests"
    site.post(f"{day}/pages/identity", {"passphrase": secret, "again": secret})
    site.get(f"{day}/pages")
    held = site.app.state.desk.prepared["2026-06-08"]
    held.seen = set(range(1, held.view["pages"] + 1))
    files = {"identity": ("x.p12", (identities / "d-rusketh.p12").read_bytes())}
    site.post(f"{day}/pages/sign", {"passphrase": secret, "sha256": held.view["sha256"]}, files=files)
    assert "It can no longer be changed" in site.get(day).text
    refused = sends(site, f"{day}/area/G-1", at="surfaces[area=G-1]/remarks", value="late")
    assert "HX-Retarget" not in refused.headers
    assert "issued" in refused.text
    file = folder / "2026-06-08.yaml"
    file.write_text(file.read_text() + "\n# a comment\n", "utf-8")
    report = "/report/QW-14-IR-001/0"
    assert site.get(report).status_code == 200
    assert site.get(f"{report}/report.pdf").content.startswith(b"%PDF")
    handed = site.get("/check.html")
    assert (handed.content, "attachment" in handed.headers["content-disposition"]) == (checker_page(), True)
    shown = "".join(re.findall(r"SHA-256 ([0-9a-f ]+)<", site.get(report).text))
    assert shown.replace(" ", "") == hashlib.sha256(checker_page()).hexdigest()
    assert "reason" in site.post(f"{day}/revision", {"reason": ""}).text
    begun = site.post(f"{day}/revision", {"reason": "a late remark"})
    assert begun.headers.get("hx-redirect") == day, begun.text
    written = sends(site, f"{day}/area/G-1", at="surfaces[area=G-1]/remarks", value="late")
    assert "HX-Retarget" in written.headers, written.text
    assert read(file)["report"]["revision"] == 1
