"""How the page that checks reports is joined, and that its words are whole."""

import base64
import hashlib
import json
import re
from importlib import resources

import pytest

from reportgen import checker
from reportgen.formats.manifest import FORMAT, RELATIONSHIPS, ROLES
from reportgen.increments import REASONS, described
from reportgen.words.catalogue import languages
from tests.build_checker_hash import PUBLISHED_IN, STATED, page_hash
from tests.command import run
from tests.conftest import ROOT

DATA = resources.files("reportgen.checker").joinpath("data")
SCRIPTS = {name: DATA.joinpath(f"{name}.js").read_text("utf-8") for name in checker.SCRIPTS}
WORDS = {file.name: json.loads(file.read_text("utf-8")) for file in DATA.joinpath("words").iterdir()}
CODE = re.compile(r"\"([A-Z][A-Z0-9]*(?:_[A-Z0-9]+)*)\"")
NO_CODES = {
    *("AA", "JS", "XFA", "OC", "OCG", "OCMD", "OPI", "EF", "F", "UF", "T", "TU", "V", "P", "M", "S", "R", "D", "AP"),
    *("PS", "AF", "K", "N", "FT", "ID", "ESIC", "DSS", "OBJR", "URI", "CN", "O", "RSA", "PSS", "ECDSA", "DER", "CMS"),
    *("CRL", "OCSP", "STAMP", "SHA", "NFC", "NFD", "NFKC", "A", "A4", "PA", "PEM"),
}  # fmt: skip
"""Texts of the scripts in capitals that are none of its answers: keys of PDF, kinds of algorithms and of data."""


def test_the_same_sources_give_the_same_bytes() -> None:
    assert checker.checker_page() == checker.checker_page()
    for script in SCRIPTS.values():
        assert script in checker.checker_page().decode(), "joined as it is read"


def test_a_browser_is_told_which_script_and_style_are_the_pages_own() -> None:
    page = checker.checker_page().decode()
    for kind in ("script", "style"):
        (content,) = re.findall(f"<{kind}>(.*?)</{kind}>", page, re.DOTALL)
        stated = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{stated}'" in page
    assert "default-src 'none'" in page
    assert not re.search(r"@[A-Z-]+@", page)


def test_no_script_has_a_function_of_the_name_of_another() -> None:
    """All stand in one scope, where the last of a name would silently be that of all."""
    declared = re.findall(r"^(?:async )?function (\w+)", "\n".join(SCRIPTS.values()), re.MULTILINE)
    assert len(declared) == len(set(declared))


def test_it_brings_nothing_of_others_and_asks_nobody() -> None:
    page = checker.checker_page().decode()
    assert not re.search(r"<(?:img|link|iframe|object|embed|base)\b|src=|@import|url\(", page)
    scripts = "\n".join(SCRIPTS.values())
    forbidden = r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\b|new Function"
    forbidden += r"|\bfetch\(|XMLHttpRequest|import\("
    assert not re.search(forbidden, scripts)


@pytest.mark.parametrize("language", sorted(WORDS))
def test_every_language_is_whole(language: str) -> None:
    english, own = WORDS["en.json"], WORDS[language]
    assert list(own) == list(english)
    assert "reportgen verify" in own["limits.6"], "which finds what the signer wrote otherwise than the job"
    for key, text in own.items():
        assert set(re.findall(r"\{\w+\}", text)) == set(re.findall(r"\{\w+\}", english[key])), key


def test_a_draft_is_marked_as_in_the_reports_and_is_one_file(monkeypatch: pytest.MonkeyPatch) -> None:
    assert {name.removesuffix(".json") for name, own in WORDS.items() if own["draft"]} == (
        set(languages()) - set(languages(drafts=False))
    )
    assert "(borrador)" in WORDS["es.json"]["language"]
    own = [text for text in WORDS["es.json"].values() if text not in WORDS["en.json"].values()]
    assert len(own) > 240
    files = checker.word_files
    monkeypatch.setattr(checker, "word_files", lambda data: [one for one in files(data) if one.name != "es.json"])
    rest = checker.checker_page().decode()
    assert not [text for text in own if len(text) > 30 and json.dumps(text, ensure_ascii=False) in rest]


def test_every_answer_has_a_sentence_and_every_sentence_an_answer() -> None:
    stated = {key.removeprefix("code.") for key in WORDS["en.json"] if key.startswith("code.")}
    used = {code for script in SCRIPTS.values() for code in CODE.findall(script)} - NO_CODES
    assert stated == used


def test_every_word_is_used() -> None:
    told = SCRIPTS["page"] + SCRIPTS["answers"] + DATA.joinpath("page.html").read_text("utf-8")
    spelled = re.findall(r"[\"=(`]([a-z.-]+)[\"`]", told) + re.findall(r"data-say=\"([a-z-]+)\"", told)
    groups = ("code.", "head.", "under.", "role.", "state.", "question.", "limits.", "field.", "after.")
    lone = {key for key in WORDS["en.json"] if not key.startswith(groups)}
    assert lone - {"language"} <= set(spelled)
    heads = set(re.findall(r"key: \"([a-z-]+)\"", SCRIPTS["answers"]))
    for group in ("head.", "under."):
        assert {key.removeprefix(group) for key in WORDS["en.json"] if key.startswith(group)} == heads


def test_what_it_knows_of_the_files_is_what_is_written() -> None:
    roles = re.search(r"const ROLES = \{(.*?)\};", SCRIPTS["answers"], re.DOTALL)
    assert roles is not None
    known = dict(re.findall(r"\"?([a-z-]+)\"?: (?:\"(\w+)\"|undefined)", roles[1]))
    assert known == {role: RELATIONSHIPS.get(role, "") for role in ROLES}
    formats = re.search(r"const MEMBERS = \{(.*?)\};", SCRIPTS["answers"], re.DOTALL)
    assert formats is not None
    assert {int(number) for number in re.findall(r"(\d+):", formats[1])} == set(range(1, FORMAT + 1))
    for name, group in (("VERDICTS", "verdict"), ("DECISIONS", "decision")):
        stated = re.search(rf"const {name} = (\[.*?\]);", SCRIPTS["answers"])
        assert stated is not None
        assert tuple(json.loads(stated[1])) == checker._SHARED[group]
    spoken = re.search(r"language: isAmong\((\[.*?\])\)", SCRIPTS["content"])
    assert spoken is not None
    assert json.loads(spoken[1]) == sorted(languages())
    for field, reason in REASONS.items():
        assert f'{field}: "{reason}"' in SCRIPTS["revisions"]
    assert described("Inspector", "", "N") == "Signature of the inspector, N"
    assert described("Engineer", "", "N") == "Signature of N"
    assert described("Countersigner-1", "R", "N") == "Countersignature of the R, N"


def test_its_sha_256_is_published_and_printed(tmp_path) -> None:
    for name in PUBLISHED_IN:
        stated = STATED.findall((ROOT / name).read_text("utf-8"))
        assert stated == [page_hash()], f"{name}: run `python -m tests.build_checker_hash`"
    told = run("checker", "-o", "page.html", cwd=tmp_path)
    assert (told.returncode, page_hash() in told.stdout) == (0, True)
    assert hashlib.sha256((tmp_path / "page.html").read_bytes()).hexdigest() == page_hash()
    data = json.loads(run("checker", "-o", "page.html", "--json", cwd=tmp_path).stdout)
    assert (data["sha256"], data["file"]) == (page_hash(), "page.html")


def test_where_it_cannot_be_written_is_told(tmp_path) -> None:
    told = run("checker", "-o", "absent/page.html", cwd=tmp_path)
    assert (told.returncode, "absent/page.html" in told.stderr) == (2, True)
