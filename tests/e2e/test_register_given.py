"""What a register has and nobody gave: a release page, a submittal and an audit say so, with it and without it."""

import datetime as dt
import json
import shutil
from pathlib import Path
from typing import NamedTuple

import pytest
from pypdf import PdfReader

from tests import command
from tests.conftest import JOBS
from tests.demo_archive import made_once

PASSPHRASE = "a passphrase for tests"
FURTHER = (
    "The register of QW-14-IR-002 can hold 1 more issue, not here: revisions, release slips, or what came to nothing."
)


class Issued(NamedTuple):
    """A contract folder with the register, and the parts of the signer; a revision of its first report is in it."""

    folder: Path
    signer: Path
    root: Path


def run(*arguments):
    return command.run(*arguments, env={"REPORTGEN_PASSPHRASE": PASSPHRASE})


def _issued(place):
    from reportgen.seal import new_identity

    at = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    signer = {"name": "D. Rusketh", "organisation": "Ostrel Surface Inspection", "passphrase": PASSPHRASE}
    made = new_identity(place, at=at, years=5, **signer)
    folder = place / "contract"
    shutil.copytree(JOBS / "quarrowmere", folder)
    first, second = (folder / f"2026-06-{day}.yaml" for day in ("08", "09"))
    for path in {*folder.glob("2026-06-*.yaml")} - {first, second}:
        path.unlink()
    days = [first, second]
    said = first.read_text(encoding="utf-8")
    for number, text in enumerate([said, _revised(said), None]):
        if text is not None:
            first.write_text(text, encoding="utf-8")
        told = run("issue", days[number == 2], "--identity", made.signer_file)
        assert told.returncode == 0, told.stderr
    return Issued(folder, made.signer_file, made.root_certificate_file)


def _revised(text):
    why = "  revision: 1\n  supersedes: {revision: 0, reason: another bay had been entered}\n"
    return text.replace("  revision: 0\n", why, 1)


@pytest.fixture(scope="session")
def issued(tmp_path_factory) -> Issued:
    return made_once(tmp_path_factory, "register-given", _issued)


@pytest.fixture
def given(issued, tmp_path):
    """A folder of the reports by the ends of their names, such as ``001-r1``."""

    def lay(*ends):
        folder = tmp_path / "given"
        folder.mkdir()
        for end in ends:
            shutil.copy(issued.folder / "reports" / f"QW-14-IR-{end}.pdf", folder)
        return folder

    return lay


def pages(file):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(file).pages).split())


def released(issued, folder, tmp_path, *more):
    out = tmp_path / "release.pdf"
    signer = ("--identity", issued.signer, "--role", "engineer", "--trust", issued.root)
    return run("release", "G-1", folder, *signer, "--index", tmp_path / "i.sqlite", "-o", out, *more), out


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_release_page_says_what_its_register_can_hold_and_nobody_saw(issued, given, tmp_path, language):
    folder = given("001", "002")
    told, out = released(issued, folder, tmp_path, "--language", language)
    assert told.returncode == 0, told.stderr
    assert FURTHER in told.stdout
    assert "--register" in told.stdout
    said = pages(out)
    if language == "en":
        assert said.count(FURTHER) == 2, "where the release is stated, and with the register"
        assert "nothing in the files here is open on it" in said
        assert "nothing is open on it" not in said
    else:
        assert said.count("kann 1 weitere Ausstellung enthalten, nicht hier") == 2
    verified = run("verify", out, folder / "QW-14-IR-001.pdf", "--trust", issued.root)
    assert verified.returncode == 0, verified.stdout


def test_a_release_page_on_all_that_was_issued_leaves_nothing_to_ask(issued, given, tmp_path):
    told, out = released(issued, given("001", "001-r1", "002"), tmp_path, "--register", issued.folder, "--json")
    assert told.returncode == 0, told.stderr
    assert json.loads(told.stdout)["further_issues"] == []
    assert "nothing is open on it" in pages(out)
    assert "can hold" not in pages(out)


def test_with_the_register_no_page_is_signed_over_a_revision_that_is_withheld(issued, given, tmp_path):
    told, out = released(issued, given("001", "002"), tmp_path, "--register", issued.folder)
    assert (told.returncode, out.exists()) == (2, False)
    assert "QW-14-IR-001 revision 1 is in the register and not among the files" in " ".join(told.stderr.split())


@pytest.mark.parametrize(
    ("ends", "absent", "counted"),
    [
        (("001",), ["QW-14-IR-002", "QW-14-IR-001 r1"], "2 reports, of which 1 enclosed"),
        (("001", "002"), ["QW-14-IR-001 r1"], "2 reports, of which 2 enclosed"),
        (("001", "001-r1", "002"), [], "2 reports, of which 2 enclosed."),
    ],
)
def test_a_submittal_is_counted_by_the_register_that_is_given(issued, given, tmp_path, ends, absent, counted):
    folder, out = given(*ends), tmp_path / "s.pdf"
    signer = ("--identity", issued.signer, "--role", "engineer", "--trust", issued.root)
    told = run("submittal", folder, *signer, "--register", issued.folder, "-o", out, "--json")
    assert told.returncode == 0, told.stderr
    assert json.loads(told.stdout)["not_enclosed"] == absent
    said = pages(out)
    assert "In the register up to" in said
    assert counted in said
    assert ("This is a selection; no reason is given." in said) == bool(absent)
    assert (f"Not enclosed: {', '.join(absent)}." in said) == bool(absent)
    assert run("verify", out, "--trust", issued.root).returncode == 0


def test_without_a_register_nothing_is_said_of_what_came_later(issued, given, tmp_path):
    folder, out = given("001"), tmp_path / "s.pdf"
    told = run("submittal", folder, "--identity", "demo", "--trust", issued.root, "-o", out)
    assert told.returncode == 0, told.stderr
    counted = "Counted up to number QW-14-IR-001, issued by"
    assert counted in pages(out)
    assert "1 report, of which 1 enclosed; later ones are not visible here." in pages(out)


def test_an_audit_is_counted_by_the_register_that_is_given(issued, given, tmp_path):
    folder = given("001")
    terms = ("--trust", issued.root, "--index", tmp_path / "i.sqlite")
    assert "counted up to number QW-14-IR-001" in run("audit", folder, *terms).stdout
    told = run("audit", folder, *terms, "--register", issued.folder)
    assert "(row 6), 1 here; not here: QW-14-IR-002, QW-14-IR-001 r1" in " ".join(told.stdout.split())
