"""The page that checks reports as its user meets it: what it says, what it shows, what it cannot be made to do."""

from __future__ import annotations

import json
import subprocess
from datetime import UTC, datetime, timedelta, timezone
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding

from reportgen import checker as room
from reportgen.checker import checker_page
from tests.checker_page import DROP
from tests.conftest import ROOT
from tests.e2e import signed_footbridge as real
from tests.e2e.tamper import insiders
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from pathlib import Path

    from tests.checker_page import CheckerPage

pytestmark = needs_program("chromium")
SAMPLES = sorted((ROOT / "samples").glob("*.pdf"))


def root_der() -> bytes:
    return made.root().certificate.public_bytes(Encoding.DER)


def fingerprint(certificate: Any) -> str:
    return certificate.fingerprint(hashes.SHA256()).hex().upper()


def embedded(pdf: Path, name: str) -> dict[str, Any]:
    with pikepdf.open(pdf) as opened:
        return json.loads(opened.attachments[name].get_file().read_bytes(), parse_float=str, parse_int=str)


def body(checker: CheckerPage) -> str:
    return str(checker.do(lambda page: page.inner_text("body")))


def tally(areas: list[dict[str, Any]]) -> str:
    """What was decided of how many areas, as `run` says it."""
    seen = [area["decision"] for area in areas if "not_inspected" not in area]
    words = {"rework": "must be reworked", "hold": "on hold", "release": "may be released"}
    told = [f"{seen.count(one)} {word}" for one, word in words.items() if one in seen]
    missed = ", ".join(f"“{area['id']}”" for area in areas if "not_inspected" in area)
    first, *others = told
    count, what = first.split(" ", 1)
    return ", ".join([f"{count} of {len(seen)} inspected areas {what}", *others]) + f"; not inspected: {missed}" * bool(
        missed
    )


@pytest.mark.parametrize("sample", SAMPLES, ids=[one.stem for one in SAMPLES])
def test_a_report_is_told_with_its_digits(sample: Path, checker: CheckerPage) -> None:
    found = checker.ask(sample.read_bytes(), at=datetime(2027, 1, 1, tzinfo=UTC))
    assert [found[question]["answer"] for question in ("intact", "after", "files")] == ["yes"] * 3
    assert found["head"]["key"] == "demonstration"
    data = embedded(sample, "evaluation.json")
    assert f"The report itself says of the steel: {data['verdict']}: {tally(data['areas'])}." in found["head"]["text"]
    checker.do(lambda page: page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true"))
    rows = checker.do(lambda page: page.eval_on_selector_all("#data tr", "(all) => all.map((one) => one.innerText)"))
    for area in data["areas"]:
        (told,) = (row for row in rows if row.startswith(f"{area['id']}\t{area['name']}"))
        assert f"\t{area['decision']}\t" in told
        assert area.get("mean", "–") in told
        for location in area["locations"]:
            for spot in location["spots"]:
                readings = ", ".join(f"{one['gross']} {one.get('grade', '')}".strip() for one in spot["readings"])
                places = [area["id"], location["id"], spot["id"], readings]
                begin = "\t".join([*places, spot.get("profile", "–"), location.get("profile", "–")])
                assert any(row.startswith(begin) for row in rows), begin
    assert len([row for row in rows if "\tNCR" in row or "\t–" in row]) >= len(data["findings"])
    assert checker.errors == []


def test_a_real_report_passes_both_readers(checker: CheckerPage) -> None:
    """Countersigned, renewed, with all that a report holds; and the same with another number in its issue facts."""
    pages = real.built(countersigned=True)
    issued = real.signed(pages)
    second = real.identity(real.ENGINEER)
    when = {"at": real.AT + timedelta(hours=1)}
    complete = made.countersigned(issued, second, "Countersigner-1", **when)
    for pdf, after in ((issued, "NOTHING_AFTER"), (complete, "COUNTERSIGNED")):
        found = checker.ask(pdf, [root_der()], real.LATER)
        assert real.verified(pdf).reasons == ()
        assert (found["head"]["answer"], found["after"]["code"]) == ("yes", after)
        assert [one["code"] for one in found["named"]] == ["NAMED"] * (1 + (pdf is complete))
    assert "This is about the file, not about the steel. The report itself says of the steel: " in found["head"]["text"]
    lying = real.signed(real.built(countersigned=True, number="HD-9-999"))
    assert real.verified(lying).overall == "failed"
    found = checker.ask(lying, [root_der()], real.LATER)
    assert (found["files"]["code"], found["head"]["answer"]) == ("FILES_DISAGREE", "cannot")


def test_a_release_slip_is_not_called_a_report(checker: CheckerPage) -> None:
    found = checker.ask(real.signed(real.built(slip="B-1")), [root_der()], real.LATER)
    assert "This is a release slip and no report: it speaks of area “B-1” alone" in found["head"]["text"]
    assert "The report itself says" not in found["head"]["text"]
    assert "The data of the day so far say of the steel: " in found["head"]["text"]
    for slip in ("every other area, and all of it CONFORMS", "B-99"):
        found = checker.ask(real.signed(real.built(slip=slip)), [root_der()], real.LATER)
        assert (found["files"]["code"], found["head"]["answer"]) == ("FILES_DISAGREE", "cannot")
        assert slip not in found["head"]["text"]


@pytest.mark.parametrize(
    "place", ["Žďár – „Werft“ ½ €", "Łódź 東京 \U0001f600", "þÿ Hafen", "Ümläute, (Klammern) \\ und #", ""]
)
def test_words_of_signatures_in_any_letters(place: str, checker: CheckerPage) -> None:
    files = made.inputs_naming(made.WHO, site=place)
    for named, code in ((files, "INTACT"), (made.INPUTS, "PLACE_DIFFERS")):
        pdf = made.sealed(made.unsigned(files=named), location=place)
        assert checker.examine(pdf, [root_der()], made.LATER)["intact"]["code"] == code


@pytest.mark.parametrize("hours", [-9.5, 0, 5.75])
def test_times_of_any_zone(hours: float, checker: CheckerPage) -> None:
    at = made.AT.astimezone(timezone(timedelta(hours=hours)))
    found = checker.examine(made.sealed(made.unsigned(), at=at), [root_der()], made.LATER)
    assert (found["intact"]["answer"], found["when"][0]["code"]) == ("yes", "CLAIMED")


def test_whoever_signed_is_confirmed_by_a_fingerprint_that_is_typed(checker: CheckerPage) -> None:
    root, own = fingerprint(made.root().certificate), fingerprint(made.inspector().certificate)
    for typed, code, key in (
        (root, "CHAIN", "signed"),
        (":".join(root[i : i + 2] for i in range(0, 64, 2)).lower(), "CHAIN", "signed"),
        (f"SHA-256 {own}", "FINGERPRINT", "signed"),
        (f"{own} {'AB' * 32}", "FINGERPRINT", "signed"),
        ("AB" * 32, "FINGERPRINT_DIFFERS", "stranger"),
    ):
        found = checker.ask(made.report(), at=made.LATER, fingerprint=typed)
        assert (found["who"][0]["code"], found["head"]["key"]) == (code, key)
    checker.ask(made.report(), at=made.LATER)
    checker.do(lambda page: page.fill("#published", root[:60]))
    checker.do(lambda page: page.wait_for_selector("text=60 digits are left over"))
    assert checker.do(lambda page: page.evaluate("document.activeElement.id")) == "published"


def test_a_countersigned_report_in_german(checker: CheckerPage) -> None:
    checker.renew(locale="de-DE")
    found = checker.ask(made.complete_report(), [root_der()], made.LATER)
    assert found["head"]["text"].startswith("Unverändert, unterschrieben von Ines Perk, Harbour Works; Edda Falk")
    assert "Gegenzeichnungen: 2. Sonst nichts." in found["after"]["text"]
    assert [one["code"] for one in found["named"]] == ["NAMED"] * 3
    assert checker.do(lambda page: page.evaluate("document.documentElement.lang")) == "de"
    checker.do(lambda page: page.click("text=English"))
    assert "Unaltered, and signed by Ines Perk" in body(checker)
    checker.renew()


def test_the_page_uses_no_network_and_runs_no_other_script(checker: CheckerPage) -> None:
    checker.ask(made.report())
    assert {url.partition(":")[0] for url in checker.requests} == {"file"}
    refused = checker.do(
        lambda page: page.evaluate("fetch('http://127.0.0.1:9/').then(() => 'reached', (fault) => fault.name)")
    )
    assert refused == "TypeError"
    injected = """() => { const one = document.createElement("script"); one.textContent = "window.ran = true";
        document.body.append(one); return window.ran ?? false; }"""
    assert checker.do(lambda page: page.evaluate(injected)) is False
    assert any("Content Security Policy" in error for error in checker.errors)
    checker.errors.clear()


def test_a_changed_page_does_not_run(checker: CheckerPage, tmp_path: Path) -> None:
    changed = tmp_path / "check.html"
    page = checker_page()
    assert b'"intact", () => readFile' in page
    changed.write_bytes(page.replace(b'answer: "cannot", code', b'answer: "yes", code', 1))

    def title(browser: Any) -> str:
        browser.goto(changed.as_uri())
        return str(browser.title())

    assert checker.do(title) == "reportgen check"
    checker.errors.clear()
    checker.renew()


def test_the_file_dropped_last_is_the_one_that_is_told(checker: CheckerPage) -> None:
    import base64

    good = base64.b64encode(SAMPLES[0].read_bytes()).decode()
    other = base64.b64encode(b"no report at all").decode()
    checker.renew()

    def drop(page: Any) -> str:
        page.evaluate(DROP, [["good.pdf", good]])
        page.evaluate(DROP, [["other.pdf", other]])
        page.wait_for_selector("#head")
        page.wait_for_timeout(500)
        return str(page.inner_text("#result"))

    told = checker.do(drop)
    assert "other.pdf" in told
    assert "It is not a PDF." in told
    assert "good.pdf" not in told
    checker.do(lambda page: page.set_input_files("#root", {"name": "x.pem", "mimeType": "", "buffer": b"nothing"}))
    checker.do(lambda page: page.wait_for_selector("text=x.pem holds no certificate that this page can read"))


@pytest.mark.parametrize(
    ("common", "seen"),
    [
        ("<img src=x onerror=alert(1)>", "<img src=x onerror=alert(1)>"),
        ("Ines\u202e Perk", "Ines⟨U+202E⟩ Perk"),
        ("Ines\u2028Perk", "Ines⟨U+2028⟩Perk"),
        ("\u0406nes Perk", "(U+0406)"),
        ("\uff29nes Perk", "(U+FF29)"),
        ("\U0001d408nes Perk", "(U+1D408)"),
        ("Ines\tPerk", "Ines⟨U+0009⟩Perk"),
        ("Ines\u034f Perk", "Ines⟨U+034F⟩ Perk"),
        ("Ines Perk\ufe0f", "Ines Perk⟨U+FE0F⟩"),
    ],
)
def test_names_of_strangers_are_text_and_show_what_they_are(common: str, seen: str, checker: CheckerPage) -> None:
    pdf = insiders._of("Ines Perk", None, (insiders.CN, common))()
    found = checker.ask(pdf, [root_der()], made.LATER)
    assert found["intact"]["answer"] == "yes"
    assert seen in found["who"][0]["text"]
    assert found["head"]["answer"] != "yes"
    assert not {"\u202e", "\u2028", "\u034f", "\ufe0f"} & set(body(checker))
    assert checker.do(lambda page: page.locator("img").count()) == 0


def test_an_exception_of_the_reader_is_no_answer(checker: CheckerPage) -> None:
    found = checker.examine(b"%PDF-1.7\n" + b"[" * 100_000)
    assert (found["intact"]["answer"], found["head"]["answer"]) == ("cannot", "cannot")
    assert checker.examine(b"")["intact"]["code"] == "NOT_PDF"


def test_what_it_shows_can_be_printed_whole(checker: CheckerPage, tmp_path: Path) -> None:
    checker.ask(SAMPLES[1].read_bytes())
    printed = tmp_path / "printed.pdf"
    checker.do(lambda page: page.fill("#published", "AB" * 32))
    checker.do(lambda page: page.wait_for_selector("#who .vain"))
    checker.do(lambda page: page.pdf(path=printed, format="A4"))
    text = subprocess.run(["pdftotext", "-layout", printed, "-"], capture_output=True, check=True).stdout.decode()
    data = embedded(SAMPLES[1], "evaluation.json")
    readings = [
        one
        for area in data["areas"]
        for location in area["locations"]
        for spot in location["spots"]
        for one in spot["readings"]
    ]
    assert text.count("extra coarse") >= sum(one["grade"] == "extra coarse" for one in readings)
    assert "project.yaml" in text
    assert "confirms none of those who signed: ABABABAB" in " ".join(text.split())
    assert "Choose a report" not in text


def test_a_table_begins_on_paper_where_its_name_stands(checker: CheckerPage, tmp_path: Path) -> None:
    checker.ask(SAMPLES[1].read_bytes())
    names = checker.do(lambda page: page.eval_on_selector_all("caption", "(all) => all.map((one) => one.textContent)"))
    assert "Findings" in names
    printed = tmp_path / "printed.pdf"
    for before in range(0, 1000, 105):
        move = f"document.querySelector('#head').style.marginTop = '{before}px'"
        checker.do(lambda page, move=move: (page.evaluate(move), page.pdf(path=printed, format="A4")))
        text = subprocess.run(["pdftotext", "-layout", printed, "-"], capture_output=True, check=True).stdout.decode()
        last = [lines[-1].strip() for sheet in text.split("\f") if (lines := sheet.strip().splitlines())]
        assert not [one for one in last if any(one.endswith(name) for name in names)]


def test_a_screen_reader_meets_the_answer_first(checker: CheckerPage) -> None:
    found = checker.ask(SAMPLES[1].read_bytes())
    headings = checker.do(
        lambda page: page.eval_on_selector_all(
            "h1, h2", "(all) => all.filter((one) => one.offsetParent).map((one) => [one.tagName, one.innerText])"
        )
    )
    assert [tag for tag, _ in headings] == ["H1"] + ["H2"] * 8
    assert headings[0][1] == found["head"]["text"].partition("\n")[0]
    assert checker.do(lambda page: page.evaluate("document.activeElement.tagName")) == "H1"
    assert checker.do(lambda page: page.locator("svg:not([aria-hidden=true])").count()) == 0
    unnamed = """(all) => all.filter((one) => !(one.textContent || one.labels?.[0]?.textContent)).length"""
    assert checker.do(lambda page: page.eval_on_selector_all("button, input, summary, th[scope=col]", unnamed)) == 0


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_scrolls_sideways_but_tables(width: int, checker: CheckerPage) -> None:
    checker.renew(viewport={"width": width, "height": 800})
    for pdf in (SAMPLES[1].read_bytes(), made.complete_report()):
        checker.ask(pdf)
        assert checker.do(lambda page: page.evaluate("document.documentElement.scrollWidth")) <= width
    small = """(all) => all.filter((one) => one.offsetParent && one.getBoundingClientRect().height < 44).length"""
    assert checker.do(lambda page: page.eval_on_selector_all("button, .pick, #published", small)) == 0
    checker.renew()


def test_a_third_language_is_a_file(checker: CheckerPage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = tmp_path / "nl.json"
    words.write_text(json.dumps({"language": "Nederlands", "choose": "Kies een rapport"}), encoding="utf-8")
    files = room.word_files
    monkeypatch.setattr(room, "word_files", lambda data: [*files(data), words])
    page_file = tmp_path / "check.html"
    page_file.write_bytes(checker_page())

    def spoken(page: Any) -> str:
        page.goto(page_file.as_uri())
        page.click("text=Nederlands")
        return str(page.inner_text("body"))

    told = checker.do(spoken)
    assert "Kies een rapport" in told
    assert "Is this inspection report as it was signed?" in told, "what a language lacks is English"
    checker.renew()


def test_a_draft_of_a_language_is_for_who_asks_for_it_and_says_so(checker: CheckerPage) -> None:
    checker.renew(locale="es-ES")
    found = checker.ask(made.complete_report(), [root_der()], made.LATER)
    assert found["head"]["text"].startswith("Unaltered, and signed by Ines Perk")
    assert "borrador, sin revisar" not in body(checker)
    checker.do(lambda page: page.click("text=Español (borrador)"))
    told = body(checker)
    assert "Sin alterar y firmado por Ines Perk" in told
    assert "Traducción en borrador, sin revisar. En caso de duda decide el texto inglés." in told
    assert checker.do(lambda page: page.evaluate("document.documentElement.lang")) == "es"
    assert "Unaltered" not in told
    checker.do(lambda page: page.click("text=Deutsch"))
    assert "borrador, sin revisar" not in body(checker)
    checker.renew()


def test_a_later_format_is_told_as_such(checker: CheckerPage) -> None:
    later = {**made.INPUTS, "evaluation.json": (b'{"format":9}', "evaluation")}
    found = checker.ask(made.sealed(made.unsigned(files=later)), [root_der()], made.LATER)
    assert (found["intact"]["answer"], found["files"]["answer"]) == ("yes", "yes")
    assert "a later release of the program wrote them" in found["data"]


def test_reports_of_one_file_speak_of_one_report(checker: CheckerPage) -> None:
    held = made.evaluation_naming([made.WHO])
    for number, code in ((b"HS-1", "FILES_SAME"), (b"HS-2", "FILES_DISAGREE")):
        files = {**made.INPUTS, "evaluation.json": (held.replace(b"HS-1", number), "evaluation")}
        found = checker.examine(made.sealed(made.unsigned(files=files)), [root_der()], made.LATER)
        assert found["files"]["code"] == code


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
def test_a_file_that_nobody_signed_is_called_so(language: str, checker: CheckerPage) -> None:
    """A draft is read and understood, and anyone could have written it."""
    checker.renew(locale=language)
    try:
        for pdf in (made.unsigned(), real.built().pdf):
            found = checker.ask(pdf, [root_der()], made.LATER)
            assert (found["head"]["answer"], found["head"]["key"]) == ("cannot", "unsigned")
            told = {
                "en-GB": ("Not signed.", "anyone could have written it"),
                "de-DE": ("Nicht unterschrieben.", "Jeder"),
            }
            assert all(one in found["head"]["text"] for one in told[language])
    finally:
        checker.renew()
