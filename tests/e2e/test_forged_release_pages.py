"""Release pages forged by one who holds a trusted certificate, beside the report they name and without it.

Every page here is made as ours are and soundly signed; only what it says is another. The rows say what is forged.
"""

import dataclasses
import datetime as dt
import io
import json
import shutil
from decimal import Decimal

import pytest

from reportgen.issued import ClosedItem, opened_envelope, release_file_of
from reportgen.pipeline.releasing import unsigned_page
from reportgen.seal.identity import load_identity
from reportgen.seal.signing import seal_file
from tests import command
from tests.demo_archive import PASSPHRASE, engineers_key, made_once, shared_archive

PLACES = ("001", "002", "003", "004")


def run(*arguments):
    return command.run(*arguments, env={"REPORTGEN_PASSPHRASE": PASSPHRASE})


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="module")
def signer(tmp_path_factory):
    return engineers_key(tmp_path_factory)


@pytest.fixture(scope="module")
def trust(archive, signer):
    return ("--trust", archive.root, "--trust", signer[1])


@pytest.fixture(scope="module")
def made(archive, signer, trust, tmp_path_factory):
    """A folder with four reports under ``in``, and the pages of three areas as the command writes them."""

    def make(place):
        (place / "in").mkdir()
        for number in PLACES:
            shutil.copy(archive.folder / "BF-04" / f"BF-04-IR-{number}.pdf", place / "in")
        for area in ("A-02", "A-03", "A-07"):
            told = run(
                "release", area, place / "in", "--identity", signer[0], "--role", "engineer", *trust,
                "--index", place / "i.sqlite", "-o", place / f"{area}.pdf",
            )  # fmt: skip
            assert told.returncode == 0, told.stderr
        return place

    return made_once(tmp_path_factory, "release-pages", make)


def forged(page, signer, top=lambda _: {}, **changed):
    """A page of other data, made and signed as ours is."""
    told = release_file_of(opened_envelope(page.read_bytes()))
    told = dataclasses.replace(told, **{"released": dataclasses.replace(told.released, **changed)} | top(told))
    pdf, rendered = unsigned_page(told)
    stream = io.BytesIO(pdf)
    number, *corners = rendered.signature_box
    at = dt.datetime.fromisoformat(told.issued_at)
    identity = load_identity(signer[0], PASSPHRASE)
    seal_file(stream, identity, at=at, location=told.released.project, box=(number + 1, *corners))
    return stream.getvalue()


def due_later(told):
    return {"gauges": tuple(dataclasses.replace(one, due="2031-01-01") for one in told.gauges)}


def closed_too(told):
    return {"closed": (*told.closed, ClosedItem("NC-9", "BF-04-IR-001", "BF-04-IR-002", "a pit"))}


def other_profile(told):
    first, *others = told.released.locations
    better = dataclasses.replace(first, profile=Decimal("3.99"))
    return {"released": dataclasses.replace(told.released, locations=(better, *others))}


def one_location_less(told):
    return {"released": dataclasses.replace(told.released, locations=told.released.locations[1:])}


def before_the_report(told):
    return {"as_of": "2025-03-01 08:00:00 UTC"}


FORGED = {
    "area": ({"area": "A-13"}, "does not name the area A-13"),
    "area of the same report": ({"area": "A-04"}, "name of the area: the release page says course 3"),
    "area, with its name": ({"area": "A-04", "name": "course 4"}, "mean: the release page says 3.49"),
    "name": ({"name": "courses 3 to 9"}, "name of the area: the release page says courses 3 to 9"),
    "size": (
        {"size": "200 m²"},
        "size: the release page says 200 m²; BF-04-IR-002 revision 0, which it names, says 20",
    ),
    "structure": ({"structure": "Bridge"}, "structure: the release page says Bridge"),
    "project": ({"project": "Brackenholt"}, "project: the release page says Brackenholt"),
    "contract": ({"contract": "BF-05"}, "contract: the release page says BF-05"),
    "number": ({"number": "BF-04-IR-022"}, "number of the report: the release page says BF-04-IR-022"),
    "revision": ({"revision": 3}, "revision of the report: the release page says 3"),
    "date": ({"date": "2026-03-05"}, "date of the report: the release page says 2026-03-05"),
    "inspector": ({"inspector": "P. Ashgrove"}, "inspector: the release page says P. Ashgrove"),
    "time of coating": ({"coated": "2025-03-05T16:00+00:00"}, "time of coating: the release page says 2025-03-05T16"),
    "upper limit": ({"maximum": Decimal("6.0")}, "upper limit: the release page says 6.0"),
    "no lower limit": ({"minimum": None}, "lower limit: the release page says nothing"),
    "unit": ({"unit": "um"}, "unit: the release page says um"),
    "mean": ({"mean": Decimal("3.00")}, "mean: the release page says 3.00"),
    "least and greatest": ({"lowest": Decimal("3.5"), "highest": Decimal("3.5")}, "highest value: the release page"),
    "a location": ({"top": other_profile}, "location 1: the release page says 3.99 ± 0.43, conforms"),
    "a location less": ({"top": one_location_less}, "location 1: the release page says nothing"),
    "calibration due": ({"top": due_later}, "BF-04-T1 (EC-1, 2031-01-01)"),
    "no gauge": ({"top": lambda _: {"gauges": ()}}, "calibration due): the release page says nothing"),
    "closed nonconformance": ({"top": closed_too}, "nonconformance NC-9: the release page says a pit"),
    "looked up before the report": ({"top": before_the_report}, "upon reports as of 2025-03-01 08:00:00 UTC"),
}


@pytest.fixture(scope="module")
def pages(made, signer, tmp_path_factory):
    place = tmp_path_factory.mktemp("forged")
    for name, (change, _) in FORGED.items():
        (place / f"{name}.pdf").write_bytes(forged(made / "A-03.pdf", signer, **change))
    return place


def answers(*arguments):
    told = json.loads(run("verify", *arguments, "--json").stdout)
    return {one["file"].rpartition("/")[2].removesuffix(".pdf"): one for one in told}


@pytest.fixture(scope="module")
def beside(made, pages, trust):
    given = [made / "A-03.pdf", *sorted(pages.glob("*.pdf")), made / "in" / "BF-04-IR-002.pdf"]
    return answers(*given, *trust)


@pytest.mark.parametrize("name", FORGED)
def test_a_page_that_says_otherwise_than_the_report_it_names_fails(beside, name):
    answer = beside[name]
    assert (answer["overall"], {one["name"] for one in answer["reasons"]}) == ("failed", {"RELEASE_DIFFERS"})
    assert any(FORGED[name][1] in one["sentence"] for one in answer["reasons"])


def test_the_page_that_says_what_the_report_says_passes_beside_it(beside):
    answer = beside["A-03"]
    assert (answer["overall"], answer["standing"]) == ("passed", "unknown")
    (told,) = answer["steps"][7]["details"]
    assert told.startswith("what it says of the area, its limits, values, locations and gauges is what BF-04-IR-002")


def test_alone_no_page_passes_whatever_it_says(made, pages, trust):
    for name, answer in answers(made / "A-03.pdf", *pages.glob("*.pdf"), *trust).items():
        assert (answer["overall"], [one["name"] for one in answer["reasons"]]) == ("indeterminate", ["NOT_DONE"]), name
        (reason,) = answer["reasons"]
        assert "has not been compared with the data of the day, and it releases nothing by itself" in reason["sentence"]


def test_beside_other_reports_than_the_one_it_names_no_page_passes(made, pages, trust, signer, tmp_path):
    (tmp_path / "hash.pdf").write_bytes(forged(made / "A-03.pdf", signer, sha256="0" * 64, covered=None))
    given = [tmp_path / "hash.pdf", made / "in" / "BF-04-IR-002.pdf", made / "in" / "BF-04-IR-003.pdf"]
    answer = answers(*given, *trust)["hash"]
    assert answer["overall"] == "indeterminate"
    assert (
        "under that number and revision is another file than the one that it names" in answer["steps"][7]["details"][1]
    )


def test_a_page_on_what_its_report_does_not_release_fails(made, trust, signer, tmp_path):
    sha256 = answers(made / "in" / "BF-04-IR-001.pdf", *trust)["BF-04-IR-001"]["sha256"]
    first = {"number": "BF-04-IR-001", "date": "2025-03-04", "sha256": sha256}
    (tmp_path / "rework.pdf").write_bytes(forged(made / "A-02.pdf", signer, **first))
    answer = answers(tmp_path / "rework.pdf", made / "in" / "BF-04-IR-001.pdf", *trust)["rework"]
    assert answer["overall"] == "failed"
    said = " ".join(one["sentence"] for one in answer["reasons"])
    assert "does not release the area A-02: it decides `hold`" in said


def test_what_was_closed_is_held_against_the_report(made, trust, signer, tmp_path):
    def unsaid(told):
        assert [one.id for one in told.closed] == ["NC-1"]
        return {"closed": ()}

    (tmp_path / "unsaid.pdf").write_bytes(forged(made / "A-02.pdf", signer, unsaid))
    found = answers(tmp_path / "unsaid.pdf", made / "A-02.pdf", made / "in" / "BF-04-IR-003.pdf", *trust)
    assert (found["A-02"]["overall"], found["unsaid"]["overall"]) == ("passed", "failed")


def test_a_report_that_is_not_proven_bears_no_page_out(made, archive, signer, trust):
    told = answers(made / "A-03.pdf", made / "in" / "BF-04-IR-002.pdf", "--trust", signer[1])
    assert told["A-03"]["overall"] == "indeterminate"
    assert "no better proven than BF-04-IR-002 revision 0" in told["A-03"]["reasons"][0]["sentence"]


def test_an_audit_holds_each_page_against_the_report_it_names(made, pages, trust, tmp_path):
    folder = shutil.copytree(made / "in", tmp_path / "few")
    shutil.copy(made / "A-03.pdf", folder)
    for name in FORGED:
        shutil.copy(pages / f"{name}.pdf", folder / f"forged {name}.pdf")
    answer = json.loads(run("audit", folder, *trust, "--index", tmp_path / "i.sqlite", "--json").stdout)
    assert answer["by_code"] == {"file-failed": len(FORGED), "papers": 1}
    (folder / "BF-04-IR-002.pdf").unlink()
    answer = json.loads(run("audit", folder, *trust, "--index", tmp_path / "i.sqlite", "--json").stdout)
    assert answer["by_code"]["release-page-report-absent"] == len(FORGED) + 1
    assert "file-failed" not in answer["by_code"]


def test_a_page_holds_no_longer_than_its_report_is_not_revised(made, archive, trust):
    revision = archive.folder / "BF-04" / "BF-04-IR-004-r1.pdf"
    for given in ([revision], [made / "in" / "BF-04-IR-004.pdf", revision]):
        told = run("verify", made / "A-07.pdf", *given, *trust, "--json")
        answer = json.loads(told.stdout)[0]
        assert (told.returncode, answer["standing"]) == (1, "superseded by revision 1")
        assert "BF-04-IR-004-r1.pdf) releases the area too" in answer["steps"][11]["details"][-1]


def test_reports_inside_a_submittal_are_at_hand_for_a_page(made, pages, signer, trust, tmp_path):
    out = tmp_path / "s.pdf"
    told = run("submittal", made / "in", "--identity", signer[0], "--role", "engineer", *trust, "-o", out)
    assert told.returncode == 0, told.stderr
    found = answers(made / "A-03.pdf", pages / "size.pdf", out, *trust)
    assert (found["A-03"]["overall"], found["size"]["overall"]) == ("passed", "failed")


def test_a_submittal_encloses_no_release_page(made, signer, trust, tmp_path):
    given = [made / "in", made / "A-03.pdf"]
    told = run("submittal", *given, "--identity", signer[0], "--role", "engineer", *trust, "-o", tmp_path / "s.pdf")
    said = " ".join((told.stdout + told.stderr).split())
    assert "A-03.pdf is a release page" in said
    assert "it decides nothing and is not enclosed" in said
    assert told.returncode == 0
