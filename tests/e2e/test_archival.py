"""A tagged document with everything in it, made archival and signed: judged by the reference validator and others."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pikepdf.pdfa
import pytest

from reportgen.archival import MIME_TYPES, Attachment, Metadata, make_archival, read_attachments
from tests.e2e.tagged_sample import SUMMARY, TITLE, build
from tests.outside import needs_program
from tests.verapdf import needs_verapdf, verapdf

AT = datetime.fromisoformat("2026-05-14T16:30:00+02:00")
METADATA = Metadata(TITLE, "TEST-7 rev 0", AT, "reportgen 0", "Brückeninspektion & Söhne", "Profile <2½ mil>")
BOX = (1, 180.0, 600.0, 380.0, 640.0)
ATTACHMENTS = [
    Attachment("2026-05-14.yaml", b"date: 2026-05-14\n", MIME_TYPES[".yaml"], "Source", "Day file"),
    Attachment("gauge µm.csv", b"location,mil\nL1,2.4\n", MIME_TYPES[".csv"], "Source", "Readings in µm (raw)"),
    Attachment("evaluation.json", b'{"verdict":"conforms"}', MIME_TYPES[".json"], "Data", "Evaluation"),
]


def finished() -> bytes:
    return make_archival(build(), metadata=METADATA, attachments=ATTACHMENTS)


@pytest.fixture(scope="module")
def unsigned() -> bytes:
    return finished()


@pytest.fixture(scope="module")
def files(unsigned, tmp_path_factory) -> dict[str, Path]:
    """The file unsigned, signed, and countersigned, by identities made on the spot."""
    from reportgen.seal import Countersigner, countersign, seal_report
    from reportgen.seal.authority import demo_identity

    inspector, engineer = (demo_identity(name, AT) for name in ("Ine Spector", "Edda Falk"))
    words = {"at": AT, "location": "yard"}
    signed = seal_report(unsigned, inspector, box=BOX, **words)
    second = Countersigner("engineer", "Edda Falk", (1, 180.0, 500.0, 380.0, 540.0))
    awaiting = seal_report(unsigned, inspector, box=BOX, countersigners=[second], **words)
    both = countersign(awaiting, engineer, "Countersigner-1", reason="seen", **words)
    folder = tmp_path_factory.mktemp("archival")
    found = {}
    for name, data in (("unsigned", unsigned), ("signed", signed), ("awaiting", awaiting), ("countersigned", both)):
        found[name] = folder / f"{name}.pdf"
        found[name].write_bytes(data)
    return found


@needs_verapdf
def test_reference_validator_finds_nothing(files):
    assert verapdf(list(files.values()), "3a", "ua1") == {path: [] for path in files.values()}


@needs_verapdf
def test_reference_validator_sees_what_is_missing(tmp_path, unsigned):
    bare, mute = tmp_path / "bare.pdf", tmp_path / "mute.pdf"
    bare.write_bytes(build())
    with pikepdf.open(io.BytesIO(unsigned)) as pdf:
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure":
                del thing["/Alt"]
        pdf.save(mute)
    failures = verapdf([bare, mute], "3b", "ua1")
    archival, accessible = failures[bare], failures[mute]
    assert any(failure.startswith("6.6.2.1-1: ") for failure in archival), archival  # metadata
    assert any(failure.startswith("6.2.4.3-") for failure in archival), archival  # output intent
    assert any(failure.startswith("7.3-1: ") for failure in accessible), accessible  # figures


def test_second_opinion_approves_the_unsigned_file():
    """The allowlist of pikepdf knows neither level A nor the schema of PDF/UA, so both claims are left out."""
    metadata = replace(METADATA, conformance="B", accessible=False)
    data = make_archival(build(), metadata=metadata, attachments=ATTACHMENTS)
    report = pikepdf.pdfa.validate_written(io.BytesIO(data), "3b")
    assert report.passed, report.findings
    broken = data.replace(b"/GTS_PDFA1", b"/GTS_PDFX0")
    assert not pikepdf.pdfa.validate_written(io.BytesIO(broken), "3b").passed


def test_second_opinion_objects_to_nothing_but_the_claims(unsigned):
    findings = pikepdf.pdfa.validate_written(io.BytesIO(unsigned), "3b").findings
    claims = ("namespace pdfa", "pdfaExtension:schemas", "pdfuaid:part", "pdfaid:conformance")
    assert [finding for finding in findings if not any(claim in str(finding) for claim in claims)] == []


_ENVIRONMENTS = [
    {"PYTHONHASHSEED": "0", "TZ": "UTC", "LC_ALL": "C"},
    {"PYTHONHASHSEED": "1", "TZ": "Pacific/Auckland", "LC_ALL": "C.UTF-8"},
    {"PYTHONHASHSEED": "4294967295", "TZ": "America/St_Johns", "LC_ALL": "tr_TR.UTF-8", "SOURCE_DATE_EPOCH": "1"},
]


@pytest.mark.parametrize("environment", _ENVIRONMENTS, ids=lambda environment: environment["TZ"])
def test_the_same_bytes_in_every_process(unsigned, environment, tmp_path):
    script = "import sys; from tests.e2e.test_archival import finished; sys.stdout.buffer.write(finished())"
    root = Path(__file__).parents[2]
    inherited = {
        key: value for key, value in os.environ.items() if not key.startswith(("COV", "PYTEST", "LC_", "LANG"))
    }
    run = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script],
        cwd=tmp_path,
        env=inherited | environment | {"PYTHONPATH": str(root)},
        capture_output=True,
        check=True,
    )
    assert hashlib.sha256(run.stdout).hexdigest() == hashlib.sha256(unsigned).hexdigest()


def test_building_twice_in_one_process_gives_the_same_bytes(unsigned):
    assert finished() == unsigned


def test_identifier_depends_on_what_is_embedded(unsigned):
    with pikepdf.open(io.BytesIO(unsigned)) as pdf:
        first = bytes(pdf.trailer.ID[0])
        assert bytes(pdf.trailer.ID[1]) == first
    other = make_archival(build(), metadata=METADATA, attachments=ATTACHMENTS[:2])
    with pikepdf.open(io.BytesIO(other)) as pdf:
        assert bytes(pdf.trailer.ID[0]) != first


def test_embedded_files_come_back_and_say_what_they_are(unsigned):
    assert read_attachments(unsigned) == {one.name: one.data for one in ATTACHMENTS}
    with pikepdf.open(io.BytesIO(unsigned)) as pdf:
        associated = {str(entry.UF): entry for entry in pdf.Root.AF}
        assert {name: str(entry.AFRelationship) for name, entry in associated.items()} == {
            one.name: f"/{one.relationship}" for one in ATTACHMENTS
        }
        assert {name: str(entry.Desc) for name, entry in associated.items()} == {
            one.name: one.description for one in ATTACHMENTS
        }
        assert str(associated["evaluation.json"].EF.F.Subtype) == "/application/json"
        assert set(pdf.attachments) == set(associated)
        keys = [bytes(key) for key in pdf.Root.Names.EmbeddedFiles.Names[::2]]
        assert keys == sorted(keys)


def test_embedded_files_come_back_from_signed_files(files):
    for path in files.values():
        assert read_attachments(path.read_bytes()) == {one.name: one.data for one in ATTACHMENTS}


def test_metadata_says_the_same_twice(unsigned):
    with pikepdf.open(io.BytesIO(unsigned)) as pdf, pdf.open_metadata() as xmp:
        info = {key: str(value) for key, value in pdf.docinfo.items()}
        assert info["/Title"] == xmp["dc:title"] == TITLE
        assert [info["/Author"]] == xmp["dc:creator"] == [METADATA.author]
        assert info["/Subject"] == xmp["dc:description"] == "Profile <2½ mil>"
        assert info["/Producer"] == xmp["pdf:Producer"] == info["/Creator"] == xmp["xmp:CreatorTool"]
        assert info["/CreationDate"] == info["/ModDate"] == "D:20260514163000+02'00'"
        assert xmp["xmp:CreateDate"] == xmp["xmp:ModifyDate"] == "2026-05-14T16:30:00+02:00"
        assert xmp["dc:identifier"] == "TEST-7 rev 0"


def test_no_object_is_an_orphan(unsigned):
    with pikepdf.open(io.BytesIO(unsigned)) as pdf:
        written = {thing.objgen for thing in pdf.objects}
        pending, reached = [pdf.trailer.Root, pdf.trailer.Info], set()
        while pending:
            thing = pending.pop()
            if isinstance(thing, pikepdf.Object) and thing.is_indirect:
                if thing.objgen in reached:
                    continue
                reached.add(thing.objgen)
            if isinstance(thing, pikepdf.Stream | pikepdf.Dictionary):
                pending.extend(value for _, value in thing.items())
            elif isinstance(thing, pikepdf.Array):
                pending.extend(thing)
        assert written == reached


@needs_program("pdfinfo")
def test_reading_order(files):
    """As a screen reader would go: header, footer, draft mark and repeated table heads are not there."""
    text = subprocess.run(
        ["pdfinfo", "-struct-text", files["signed"]], capture_output=True, text=True, encoding="utf-8", check=True
    )
    assert text.stderr == ""
    heard = [line.strip().strip('"').strip() for line in text.stdout.splitlines() if line.strip().startswith('"')]
    first_page = [
        TITLE, SUMMARY, "air ≤ 85 %, 2½ mil ± 0.1.", "•", "wait for dry steel", "•", "see there.",
        "area", "mean", "page", "A1", "2.4", "2",
    ]  # fmt: skip
    assert heard[: len(first_page)] == first_page
    rest = heard[len(first_page) :]
    assert rest[:8] == ["Area A1", "profile, mil", "profile, mil", "location", "spot", "profile", "verdict", "1"]
    assert rest.count("location") == 1  # the head was repeated on two more pages
    assert rest[-7:] == ["Requirements", "quantity", "minimum", "maximum", "profile", "2.0 mil", "3.5 mil"]
    assert "DRAFT" not in heard


@needs_program("pdffonts")
def test_every_font_is_embedded(files):
    shown = subprocess.run(["pdffonts", files["unsigned"]], capture_output=True, text=True, check=True).stdout
    rows = [line.split() for line in shown.splitlines()[2:]]
    assert sorted(row[0].partition("+")[2] for row in rows) == ["IBMPlexSans", "IBMPlexSans-SemiBold"]
    assert all(row[-5:-2] == ["yes", "yes", "yes"] for row in rows)


@needs_program("qpdf")
def test_the_file_is_sound(files):
    for path in files.values():
        subprocess.run(["qpdf", "--check", path], capture_output=True, check=True)


@needs_program("pdftotext")
def test_furniture_is_on_every_page(files):
    text = subprocess.run(["pdftotext", "-layout", files["unsigned"], "-"], capture_output=True, text=True, check=True)
    pages = text.stdout.split("\f")[:-1]
    assert [f"{number} of 4" in page for number, page in enumerate(pages, 1)] == [True] * 4
    assert all(TITLE in page for page in pages)


def test_times_are_aware():
    with pytest.raises(ValueError, match="the time of issue needs its offset"):
        replace(METADATA, issued=datetime(2026, 5, 14, 16, 30))  # noqa: DTZ001  # what is refused
    assert replace(METADATA, issued=datetime(2026, 5, 14, tzinfo=UTC)).issued.utcoffset() is not None
