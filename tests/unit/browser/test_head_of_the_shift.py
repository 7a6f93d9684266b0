"""A shift as a whole: the next one, another date, another inspector, taken out, and a revision that is left."""

import datetime as dt
import html
import re
from types import SimpleNamespace

import pytest

from reportgen.pipeline import check
from reportgen.pipeline.as_issued import Folder
from reportgen.yamlsource import parse_yaml
from tests.unit.browser.issuing import identity_in, issued_by
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import DAY, PROJECT, contract

__all__ = ["contract"]

TODAY = dt.datetime(2026, 5, 5, 9, tzinfo=dt.UTC)
TWO = PROJECT.replace("people: {", "people: {otto: {name: O. Ruff, role: inspector}, ")


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    """The present moment is the morning after the shift of the contract."""
    for room in ("contract_state", "shift_files"):
        monkeypatch.setattr(f"reportgen.pipeline.{room}.now", lambda: TODAY)
    for room in ("contract_views", "head_views", "sight"):
        monkeypatch.setattr(f"reportgen.browser.{room}.now", lambda: TODAY)


@pytest.fixture
def site(contract):
    return Site(contract).opened()


@pytest.fixture
def issued(monkeypatch):
    """Take a report for issued, on a date, as the register would have it."""

    def take(number, date, revision=0, **more):
        row = SimpleNamespace(number=number, date=date, revision=revision, issued_at=f"{date}T18:00:00Z", **more)
        monkeypatch.setattr(Folder, "latest", {number: row})
        monkeypatch.setattr(Folder, "issued", {(number, revision): row})

    return take


def data_of(path):
    return parse_yaml(path.read_bytes(), path.name).data


def test_the_next_shift_is_begun_while_the_last_one_is_not_signed(contract, site):
    home = html.unescape(site.get("/").text)
    assert "Begin the next shift" in home
    assert "SL-1-001 of 4 May 2026 is not issued yet." in home
    assert 'name="date" type="date" value="2026-05-05"' in home
    answer = site.post("/next", {"day": "day", "date": "2026-05-05"})
    assert answer.headers["hx-redirect"] == "/shift/2026-05-05"
    assert data_of(contract / "2026-05-05.yaml")["report"]["inspector"] == "ines"
    german = html.unescape(Site(contract, "de").opened().get("/").text)
    assert "ist noch nicht ausgegeben" in german


def test_the_next_shift_is_by_whom_the_form_names(contract, site):
    (contract / "project.yaml").write_text(TWO, "utf-8")
    home = site.get("/").text
    assert re.search(r'<option value="ines" selected>I. Tern</option>', home)
    assert '<option value="otto">O. Ruff</option>' in home
    site.post("/next", {"day": "day", "date": "2026-05-05", "inspector": "otto"})
    assert data_of(contract / "2026-05-05.yaml")["report"]["inspector"] == "otto"
    refused = site.post("/next", {"day": "day", "date": "2026-05-06", "inspector": "nobody"}).text
    assert "names nobody" in refused
    assert not (contract / "2026-05-06.yaml").exists()


@pytest.mark.parametrize(("date", "said"), [("2062-05-05", "days ahead of today"), ("2025-05-05", "days before today")])
def test_a_date_far_from_today_is_asked_about_before_it_is_written(contract, site, date, said):
    asked = site.post("/next", {"day": "day", "date": date})
    assert said in asked.text
    assert not (contract / f"{date}.yaml").exists()
    other = site.post("/next", {"day": "day", "date": date, "believed": "2026-05-05"})
    assert said in other.text, "what was answered is of another date"
    site.post("/next", {"day": "day", "date": date, "believed": date})
    assert (contract / f"{date}.yaml").exists()


def test_a_date_before_an_issued_shift_is_asked_about(contract, site, issued):
    issued("SL-1-009", "2026-05-12")
    asked = site.post("/next", {"day": "day", "date": "2026-05-06"})
    assert "SL-1-009 of 12 May 2026 is issued already, and is later." in asked.text
    assert not (contract / "2026-05-06.yaml").exists()


def test_a_shift_gets_another_date_and_its_file_is_called_by_it(contract, site):
    site.post("/next", {"day": "day", "date": "2026-05-05"})
    before = (contract / "2026-05-05.yaml").read_text("utf-8")
    assert 'name="date" type="date" value="2026-05-05"' in site.get("/shift/2026-05-05").text
    answer = site.post("/shift/2026-05-05/date", {"date": "2026-05-07"})
    assert answer.headers["hx-redirect"] == "/shift/2026-05-07"
    assert (contract / "2026-05-07.yaml").read_text("utf-8") == before.replace("2026-05-05", "2026-05-07")
    assert not (contract / "2026-05-05.yaml").exists()
    assert str(check(contract / "2026-05-07.yaml").job.day.report.date) == "2026-05-07"
    far = site.post("/shift/2026-05-07/date", {"date": "2062-05-05"})
    assert "days ahead of today" in far.text
    assert (contract / "2026-05-07.yaml").exists()


def test_a_file_that_is_not_called_by_its_date_keeps_its_name(contract, site):
    assert site.post("/shift/day/date", {"date": "2026-05-03"}).headers["hx-redirect"] == "/shift/day"
    assert data_of(contract / "day.yaml")["report"]["date"] == "2026-05-03"


def test_a_date_that_another_shift_has_is_refused(contract, site):
    for date in ("2026-05-05", "2026-05-06"):
        site.post("/next", {"day": "day", "date": date})
    before = (contract / "2026-05-06.yaml").read_bytes()
    assert "there is a shift of 2026-05-06 already" in site.post("/shift/2026-05-05/date", {"date": "2026-05-06"}).text
    assert (contract / "2026-05-06.yaml").read_bytes() == before
    assert (contract / "2026-05-05.yaml").exists()


def test_what_was_issued_keeps_its_date_and_its_file(contract, site, issued):
    issued("SL-1-001", "2026-05-04")
    before = (contract / "day.yaml").read_bytes()
    for what in ("date", "remove"):
        assert "refused" in site.post(f"/shift/day/{what}", {"date": "2026-05-03"}).text
    assert (contract / "day.yaml").read_bytes() == before


def test_a_shift_for_which_a_release_slip_was_signed_stays(contract, site, monkeypatch):
    monkeypatch.setattr(Folder, "slips", [SimpleNamespace(number="SL-1-001")])
    assert "a release slip was signed for SL-1-001" in site.post("/shift/day/remove").text
    assert (contract / "day.yaml").exists()


def test_a_shift_that_was_begun_by_mistake_is_taken_out_and_can_be_put_back(contract, site):
    site.post("/next", {"day": "day", "date": "2026-05-05"})
    path = contract / "2026-05-05.yaml"
    before = path.read_bytes()
    assert "Remove this shift" in site.get("/shift/2026-05-05").text
    assert site.post("/shift/2026-05-05/remove").headers["hx-redirect"] == "/"
    (kept,) = (contract / "set-aside").iterdir()
    assert kept.name.startswith("2026-05-05-removed-")
    assert kept.read_bytes() == before
    assert not path.exists()
    home = site.get("/").text
    assert kept.name in home
    assert kept.name not in site.get("/").text, "it is said once"
    kept.rename(path)
    assert site.get("/shift/2026-05-05").status_code == 200


def test_the_inspector_of_a_shift_is_chosen_among_those_who_inspect(contract, site):
    (contract / "project.yaml").write_text(TWO.replace("people: {", "people: {kay: {name: K. Byrd, role: engineer}, "))
    shown = site.get("/shift/day").text
    assert '<option value="otto">O. Ruff</option>' in shown
    assert '<option value="kay">' not in shown
    assert 'href="/terms#add-person"' in shown
    at = {"at": "report/inspector", "was": '"ines"', "value": "otto", "kind": "choice"}
    assert "HX-Retarget" in site.post("/shift/day/write", at).headers
    assert check(contract / "day.yaml").job.inspector.name == "O. Ruff"


@pytest.fixture(scope="module")
def identity(tmp_path_factory):
    return identity_in(tmp_path_factory.mktemp("identity"))


def test_the_reason_of_a_revision_is_a_field_and_the_revision_can_be_left(contract, site, identity):
    day = contract / "day.yaml"
    issued_by(identity, day)
    assert "Leave this revision" not in site.get("/shift/day").text
    site.post("/shift/day/revision", {"reason": "the wrong steel"})
    shown = site.get("/shift/day").text
    assert ">the wrong steel</textarea>" in shown
    assert "Leave this revision" in shown
    assert "Remove this shift" not in shown
    given = {"at": "report/supersedes/reason", "was": '"the wrong steel"', "value": "the wrong side", "kind": "long"}
    assert "HX-Retarget" in site.post("/shift/day/write", given).headers
    typed = day.read_bytes()
    assert b"the wrong side" in typed
    assert site.post("/shift/day/leave").headers["hx-redirect"] == "/"
    assert day.read_text("utf-8") == DAY
    (kept,) = (contract / "set-aside").iterdir()
    assert kept.name.startswith("day-revision-1-left-")
    assert kept.read_bytes() == typed
    assert "no revision that was begun" in site.post("/shift/day/leave").text
