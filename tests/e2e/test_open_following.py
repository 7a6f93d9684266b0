"""What follows on a failure, sent as the pages send it: inspected again, walked out, not inspected, countersigned."""

import html
import json
import re

import reportgen
from reportgen.formats import encode
from reportgen.yamlsource import parse_yaml
from tests.e2e.test_open_recording import read, sends


def presses(page, word):
    """What the buttons of a page send that have a word in what they send."""
    found = [json.loads(html.unescape(one)) for one in re.findall(r"data-send='([^']*)'", page)]
    return [one for one in found if word in one]


def without(day, *patterns):
    """Take lines out of a day file: all that a pattern finds, once each."""
    text = day.read_text("utf-8")
    for pattern in patterns:
        text, count = re.subn(pattern, "", text, count=1)
        assert count == 1, pattern
    day.write_text(text, "utf-8")


def surface_of(day, area):
    """The entry of an area as it stands in the file, texts as written."""
    written = parse_yaml(day.read_bytes(), day.name).data
    return next(one for one in written["surfaces"] if one["area"] == area)


def test_a_re_inspection_names_what_it_closes_without_an_editor(site, folder):
    day, page = folder / "2026-06-11.yaml", "/shift/2026-06-11/area/G-5"
    before = encode(reportgen.check(day).evaluation)
    without(day, r"    reinspects: \[NCR-001\]\n")
    assert encode(reportgen.check(day).evaluation) != before
    shown = site.get(page).text
    (press,) = [one for one in presses(shown, "choose") if one["choose"].endswith("reinspects")]
    assert press["text"] == "NCR-001"
    assert 'aria-pressed="false"' in shown
    sends(site, page, **press)
    assert read(day)["surfaces"][0]["reinspects"] == ["NCR-001"]
    assert encode(reportgen.check(day).evaluation) == before
    assert re.search(r'aria-pressed="true"[^>]*reinspects', site.get(page).text)
    sends(site, page, **press)
    assert "reinspects" not in read(day)["surfaces"][0]
    sends(site, page, at="surfaces[area=G-5]/cleaned", value="3,5", kind="number", unit="m2")
    assert read(day)["surfaces"][0]["cleaned"] == "3.5 m2"
    (again,) = [one for one in presses(shown, "choose") if one["choose"].endswith("blasted_again")]
    sends(site, page, **again)
    assert read(day)["surfaces"][0]["blasted_again"] == [again["text"]] == ["pot A"]
    sends(site, page, undo="yes")
    assert "blasted_again" not in read(day)["surfaces"][0]


def test_what_nobody_raised_and_nobody_blasted_is_not_asked(site):
    assert presses(site.get("/shift/2026-06-08/area/G-1").text, "choose") == []


def test_a_walk_out_in_four_directions_is_entered_where_it_is_asked_for(site, folder):
    day, page = folder / "2026-06-09.yaml", "/shift/2026-06-09/area/G-5"
    before = encode(reportgen.check(day).evaluation)
    profile = surface_of(day, "G-5")["profile"]
    (walk,) = profile["walk_outs"]
    held = [one for one in profile["readings"] if one["location"] == "3W2"]
    without(
        day,
        r" +walk_outs:\n +- failing: 3\n.*\n +directions:\n(?: +- \{towards.*\n)+",
        *[r" +- \{location: 3W2.*\n"] * 2,
    )
    asked = site.get(page).text
    assert "Walk-out from location 3" in asked
    assert "direction 1 of 4" not in asked  # the interval first
    at = "surfaces[area=G-5]/profile/walk_outs[failing=3]"
    sends(site, page, at=f"{at}/interval", value="0.6", kind="number", unit="m")
    for number, one in enumerate(walk["directions"], 1):
        assert f"direction {number} of 4" in site.get(page).text
        begin = json.dumps({"towards": "*"})
        sends(site, page, at=f"{at}/directions[towards=*]", value=one["towards"], begin=begin)
        own = f"{at}/directions[towards={one['towards']}]"
        if one["locations"]:
            sends(site, page, at=f"{own}/locations", value=" ".join(one["locations"]), kind="list")
        else:
            sends(site, page, at=f"{own}/no_room", value="yes", kind="choice")
    shown = site.get(page).text
    assert "direction 5 of 4" not in shown
    assert "Read location 3W2" in shown
    assert "location 3W2<" in shown.replace("Location", "location")  # it is the one to enter next
    for one in held:
        for roll in [key for key in one if key not in ("location", "spot")]:
            reading = f"surfaces[area=G-5]/profile/readings[location=3W2,spot={one['spot']}]/{roll}"
            sends(site, page, at=reading, value=one[roll], kind="number")
    assert surface_of(day, "G-5")["profile"]["walk_outs"] == [walk]
    assert encode(reportgen.check(day).evaluation) == before
    assert presses(site.get(page).text, "take-out")


def test_an_area_that_was_due_is_not_inspected_for_a_reason(site, folder):
    day, page = folder / "2026-06-09.yaml", "/shift/2026-06-09/area/G-2"
    shown = site.get(page).text
    assert "not_inspected[area=G-2]/reason" in shown
    sends(site, page, at="not_inspected[area=G-2]/reason", value="scaffold not released", kind="long")
    assert {"area": "G-2", "reason": "scaffold not released"} in read(day)["not_inspected"]
    assert "scaffold not released" in site.get("/shift/2026-06-09").text
    assert "not_inspected[area=G-5]" not in site.get("/shift/2026-06-09/area/G-5").text


SECRET = "a passphrase for tests"
FIRST = "/shift/2026-06-08"


def test_an_identity_is_never_kept_where_the_contract_is(site, folder, identities, monkeypatch):
    given = {"passphrase": SECRET, "again": SECRET}
    monkeypatch.setenv("XDG_STATE_HOME", str(folder / "state"))
    refused = site.post(f"{FIRST}/pages/identity", given)
    assert "keys are not kept in" in refused.text
    assert not list(folder.rglob("*.p12"))
    monkeypatch.setenv("XDG_STATE_HOME", str(identities.parents[1]))
    site.post(f"{FIRST}/pages/identity", given)
    assert not list(folder.rglob("*.p12"))
    assert identities.stat().st_mode & 0o777 == 0o700
    assert {one.name for one in identities.glob("*.p12")} == {"d-rusketh.p12", "d-rusketh-root.p12"}
    page = site.get(f"{FIRST}/pages").text
    assert "<option>d-rusketh.p12</option>" in page
    assert "<option>d-rusketh-root.p12" not in page


def names_a_countersigner(day):
    """Have a day file name the engineer to sign after the inspector."""
    text = day.read_text("utf-8")
    day.write_text(re.sub(r"(  inspector: \w+\n)", r"\1  countersigners: [ambleweir]\n", text, count=1), "utf-8")


def issued(site):
    """Issue the first day with an identity that is made for it; return the address of the report."""
    site.post(f"{FIRST}/pages/identity", {"passphrase": SECRET, "again": SECRET})
    site.get(f"{FIRST}/pages")
    held = site.app.state.desk.prepared["2026-06-08"]
    held.seen = set(range(1, held.view["pages"] + 1))
    given = {"passphrase": SECRET, "sha256": held.view["sha256"], "made": "../d-rusketh.p12"}
    assert "no identity" in site.post(f"{FIRST}/pages/sign", given).text
    answer = site.post(f"{FIRST}/pages/sign", {**given, "made": "d-rusketh.p12"})
    assert "hx-redirect" in answer.headers, answer.text
    return answer.headers["hx-redirect"]


def test_a_report_is_signed_with_an_identity_made_here_and_verified_by_its_root(site, identities):
    report = issued(site)
    assert report == "/report/QW-14-IR-001/0"
    assert "passed" in site.post(f"{report}/proof").text


def test_a_report_is_countersigned_in_a_copy_by_whom_it_awaits(site, folder, identities, keys):
    names_a_countersigner(folder / "2026-06-08.yaml")
    report = issued(site)
    file = next(folder.rglob("QW-14-IR-001*.pdf"))
    before = file.read_bytes()
    page = site.get(report).text
    assert "Awaits the signature of P. Ambleweir" in page
    given = {"passphrase": SECRET, "reason": "seen and agreed", "place": "weir bridge"}
    assert "P. Ambleweir" in site.post(f"{report}/countersign", {**given, "made": "d-rusketh.p12"}).text
    assert "why and where" in site.post(f"{report}/countersign", {**given, "made": "x", "place": ""}).text
    files = {"identity": ("engineer.p12", keys["engineer"].read_bytes())}
    answer = site.post(f"{report}/countersign", given, files=files)
    assert answer.headers.get("hx-redirect") == report, answer.text
    assert file.read_bytes() == before
    page = site.get(report).text
    assert "Awaits the signature" not in page
    copy = site.get(f"{report}/countersigned.pdf").content
    assert copy.startswith(before)
    assert copy == file.with_name(f"{file.stem}-countersigned-1.pdf").read_bytes()
    roots = [("trust", (one.name, one.read_bytes())) for one in (next(identities.glob("*.pem")), keys["engineer-root"])]
    proof = site.post(f"{report}/proof", files=roots).text
    assert "passed" in proof
    assert "countersigned-1.pdf" in proof


def test_whom_a_report_awaits_makes_an_identity_on_its_page_and_countersigns(site, folder, identities):
    names_a_countersigner(folder / "2026-06-08.yaml")
    report = issued(site)
    page = site.get(report).text
    assert f'data-hx-post="{report}/identity"' in page
    field = re.search(r'name="field" value="([^"]+)"', page)[1]
    secret = {"passphrase": SECRET, "again": SECRET}
    assert "not the same" in site.post(f"{report}/identity", {**secret, "again": "x", "field": field}).text
    assert "not given" in site.post(f"{report}/identity", {**secret, "field": "Inspector"}).text
    answer = site.post(f"{report}/identity", {**secret, "field": field})
    assert answer.headers.get("hx-redirect") == report, answer.text
    assert "<option>p-ambleweir.p12</option>" in site.get(report).text
    given = {"passphrase": SECRET, "reason": "seen and agreed", "place": "weir bridge", "made": "p-ambleweir.p12"}
    answer = site.post(f"{report}/countersign", given)
    assert answer.headers.get("hx-redirect") == report, answer.text
    page = site.get(report).text
    assert "Awaits the signature" not in page
    assert "/identity" not in page
    assert "passed" in site.post(f"{report}/proof").text


def test_a_missing_countersignature_is_said_on_the_page_of_the_contract_and_before_filing(site, folder, identities):
    names_a_countersigner(folder / "2026-06-08.yaml")
    report = issued(site)
    told = "QW-14-IR-001 awaits the countersignature of P. Ambleweir"
    for address in ("/", "/file"):
        page = html.unescape(site.get(address).text)
        assert told in page, address
        assert f'href="{report}"' in page[: page.index(told)].rpartition("<li>")[2], address
    secret = {"passphrase": SECRET, "again": SECRET}
    field = re.search(r'name="field" value="([^"]+)"', site.get(report).text)[1]
    site.post(f"{report}/identity", {**secret, "field": field})
    given = {"passphrase": SECRET, "reason": "seen and agreed", "place": "weir bridge", "made": "p-ambleweir.p12"}
    site.post(f"{report}/countersign", given)
    for address in ("/", "/file"):
        assert "awaits the countersignature" not in html.unescape(site.get(address).text), address


def test_two_revisions_are_compared_entry_by_entry_and_result_by_result(site, folder, identities):
    report = issued(site)
    assert "/compare/" not in site.get(report).text
    site.post(f"{FIRST}/revision", {"reason": "a reading was misread"})
    day = folder / "2026-06-08.yaml"
    one = surface_of(day, "G-1")["profile"]["readings"][0]
    roll = next(key for key in one if key not in ("location", "spot"))
    at = f"surfaces[area=G-1]/profile/readings[location={one['location']},spot={one['spot']}]/{roll}"
    sends(site, f"{FIRST}/area/G-1", at=at, was=json.dumps(one[roll]), value="2.9", kind="number")
    assert "/compare/QW-14-IR-001/0/now" in site.get(report).text
    page = html.unescape(site.get("/compare/QW-14-IR-001/0/now").text)
    assert "a reading was misread" in page
    cells = re.findall(r'<th scope="row">([^<]*)</th><td>([^<]*)</td><td>([^<]*)</td>', page)
    told = {where: (before, after) for where, before, after in cells}
    assert (one[roll], "2.9") in told.values()
    assert any(where.startswith(f"G-1, location {one['location']}, profile") for where in told)
    assert told["report, revision"] == ("0", "1")
    assert site.get("/compare/QW-14-IR-001/0/xx").status_code == 404


def test_a_revision_that_was_replaced_is_verified_and_says_so(site, folder, identities):
    issued(site)
    site.post(f"{FIRST}/revision", {"reason": "a reading was misread"})
    issued(site)
    answer = site.post("/report/QW-14-IR-001/0/proof", files={"trust": ("", b"")})
    assert answer.status_code == 200
    shown = html.unescape(answer.text)
    assert "replaced" in shown
    assert "superseded by revision 1" in shown.split('<ol class="steps">', maxsplit=1)[0]
    newest = site.post("/report/QW-14-IR-001/1/proof", files={"trust": ("", b"")})
    assert "superseded" not in newest.text


def test_an_issued_day_offers_no_field_and_says_what_to_do(site, folder, identities):
    assert '<fieldset class="closed" disabled>' not in site.get(FIRST).text
    report = issued(site)
    for page in ("", "/checks", "/area/G-1", "/photos", "/nonconformances"):
        shown = site.get(FIRST + page).text
        assert "can no longer be changed" in shown, page
        assert '<fieldset class="closed" disabled>' in shown, page
        assert f'<a href="{report}">' in shown, page
    assert "disabled" not in site.get(f"{FIRST}/sheet").text
    site.post(f"{FIRST}/revision", {"reason": "a reading was misread"})
    assert '<fieldset class="closed" disabled>' not in site.get(FIRST).text


def test_a_day_changed_after_its_issue_offers_both_ways_out(site, folder, identities):
    report = issued(site)
    day = folder / "2026-06-08.yaml"
    before = day.read_text("utf-8")
    day.write_text(re.sub(r"(staining: )\d+ %", r"\g<1>4 %", before, count=1), "utf-8")
    assert day.read_text("utf-8") != before
    shown = site.get(FIRST).text
    assert f'href="{report}#reason">Start revision 1 with this' in shown
    assert shown.index("Put the entries back") < shown.index('<fieldset class="closed" disabled>')
    assert f'href="{FIRST}/pages">Look' not in shown
    site.post(f"{FIRST}/revision", {"put-back": "yes"})
    assert day.read_text("utf-8") == before


def test_the_page_of_a_replaced_revision_says_by_what_and_why(site, folder, identities):
    report = issued(site)
    assert "replaces" not in site.get(report).text
    site.post(f"{FIRST}/revision", {"reason": "a reading was misread"})
    issued(site)
    shown = html.unescape(site.get(report).text)
    assert "Revision 1 replaces revision 0: a reading was misread" in shown
    assert 'href="/report/QW-14-IR-001/1"' in shown
