"""A contract's reports in one signed file: the originals byte for byte, and what happens when something is wrong."""

import datetime as dt
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from reportgen.errors import MachineError, SealError, UsageError
from reportgen.pipeline import verify
from reportgen.pipeline.filing import Sent, submittal
from reportgen.pipeline.workers import Spread
from reportgen.seal import load_identity
from tests import command
from tests.demo_archive import PASSPHRASE, Archive, by_a_stranger, engineers_key, key_of, made_once, shared_archive
from tests.outside import needs_program
from tests.saving import saved_attachments
from tests.verapdf import needs_verapdf, verapdf

ROLE = "project engineer"
COMMAND = (sys.executable, "-c", "from reportgen.cli import main; raise SystemExit(main())")


@pytest.fixture(scope="session")
def archive(tmp_path_factory) -> Archive:
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="session")
def signer(tmp_path_factory):
    """The engineer's key file and root certificate."""
    return engineers_key(tmp_path_factory)


@pytest.fixture(scope="session")
def few(archive, tmp_path_factory) -> Path:
    """Four files of the contract without faults: three numbers, one of them revised."""

    def make(place):
        for place_of in ("003", "004", "004-r1", "005"):
            shutil.copy(archive.folder / "BF-04" / f"BF-04-IR-{place_of}.pdf", place)
        return place

    return made_once(tmp_path_factory, "few", make)


@pytest.fixture(scope="session")
def made(archive, few, signer, tmp_path_factory):
    """A submittal by command, as the engineer makes it."""

    return made_once(tmp_path_factory, "submittal", lambda place: submitted(place, few, archive, signer, "S-1"))


def submitted(place, few, archive, signer, reference, *options):
    """The file that the command writes, and what it says of it."""
    out = place / f"{reference}.pdf"
    result = run(*submitting(few, archive, signer, out), "--reference", reference, "--json", *options)
    assert result.returncode == 0, result.stderr
    assert result.stderr == ""
    return out, json.loads(result.stdout)


def submitting(source, archive, signer, out):
    """The command without what may be left out."""
    return ["submittal", source, "--identity", signer[0], "--role", ROLE, "--trust", archive.root, "-o", out]


def run(*arguments):
    return command.run(*arguments, env={"REPORTGEN_PASSPHRASE": PASSPHRASE})


def originals(path):
    from pypdf import PdfReader

    return {name: parts[0] for name, parts in PdfReader(path).attachments.items()}


def test_the_originals_are_inside_byte_for_byte(made, few):
    out, facts = made
    inside = originals(out)
    listed = json.loads(inside.pop("submittal.json"))
    assert {hashlib.sha256(data).hexdigest() for data in inside.values()} == {
        hashlib.sha256(path.read_bytes()).hexdigest() for path in few.glob("*.pdf")
    }
    assert [row["file"] for row in listed["reports"]] == [
        "BF-04-IR-003.pdf",
        "BF-04-IR-004.pdf",
        "BF-04-IR-004-r1.pdf",
        "BF-04-IR-005.pdf",
    ]
    assert all(hashlib.sha256(inside[row["file"]]).hexdigest() == row["sha256"] for row in listed["reports"])
    assert facts["reports"] == 4
    assert facts["sha256"] == hashlib.sha256(out.read_bytes()).hexdigest()


@needs_program("pdfdetach")
@needs_program("pdftk")
def test_the_originals_are_saved_by_common_tools_under_flat_names(made, few, tmp_path):
    saved = saved_attachments(made[0], tmp_path)
    assert saved.pop("submittal.json")
    assert saved == {path.name: path.read_bytes() for path in few.glob("*.pdf")}


def test_verify_judges_the_envelope_and_every_original(made, archive, signer):
    out, _ = made
    result = run("verify", out, "--trust", archive.root, "--trust", signer[1], "--json")
    (answer,) = json.loads(result.stdout)
    assert answer["overall"] == "passed", answer["reasons"]
    assert result.returncode == 0
    assert len(answer["steps"][7]["details"]) == 4
    assert all(": passed; signed by D. Pellmarsh" in line for line in answer["steps"][7]["details"])
    assert [(one["kind"], one["subject"].split(",")[0]) for one in answer["signers"]] == [("engineer", "P. Ashgrove")]


def test_without_trust_in_the_inspectors_authority_it_does_not_pass(made, signer):
    answer = verify(made[0], trust=[signer[1]])
    assert answer.overall == "indeterminate"
    assert all(reason.sentence.startswith("BF-04-IR-") for reason in answer.reasons)


def test_the_pages_say_what_the_reports_say(made):
    from pypdf import PdfReader

    text = " ".join(" ".join(page.extract_text() for page in PdfReader(made[0]).pages).split())
    for words in (
        "S-1",
        "superseded by revision 1",
        "State of every area",
        "Nonconformance log",
        "End of submittal S-1",
    ):
        assert words in text
    assert "NC-1" in text
    assert "Shifts" in text


@needs_program("pdfsig")
def test_another_program_finds_every_signature_valid(made, tmp_path):
    files = {"envelope.pdf": made[0].read_bytes()}
    files |= {name.replace("/", "-"): data for name, data in originals(made[0]).items() if name.endswith(".pdf")}
    assert len(files) == 5
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
        said = subprocess.run(["pdfsig", tmp_path / name], capture_output=True, text=True, check=False).stdout
        assert "Signature is Valid" in said
        assert "Total document signed" in said


@needs_verapdf
def test_the_reference_validator_finds_it_archival_and_accessible(made):
    assert verapdf([made[0]], "3a", "ua1") == {made[0]: []}


@needs_program("qpdf")
def test_another_program_finds_the_structure_sound(made):
    said = subprocess.run(["qpdf", "--check", made[0]], capture_output=True, text=True, check=False)
    assert said.returncode == 0, said.stdout + said.stderr


def test_a_changed_byte_of_the_envelope_is_found(made, archive, signer, tmp_path):
    data = bytearray(made[0].read_bytes())
    data[data.index(b"stream\n") + 40] ^= 1
    path = tmp_path / "changed.pdf"
    path.write_bytes(data)
    answer = verify(path, trust=[archive.root, signer[1]])
    assert answer.overall == "failed"
    assert "HASH_FAILURE" in {reason.name for reason in answer.reasons}


def test_an_original_that_was_altered_before_it_was_enclosed_is_found(archive, few, signer, tmp_path, monkeypatch):
    """By a changed tool somebody encloses what does not verify: the envelope is sound, the original is not."""
    from reportgen.pipeline import filing

    source = tmp_path / "in"
    shutil.copytree(few, source, ignore=shutil.ignore_patterns("made.*"))
    path = source / "BF-04-IR-003.pdf"
    data = bytearray(path.read_bytes())
    data[data.index(b"stream\n") + 40] ^= 1
    path.write_bytes(data)
    sound = filing._verified

    def credulous(*arguments):
        monkeypatch.setattr("reportgen.verification.verdict.Verification.overall", "passed")
        monkeypatch.setattr("reportgen.verification.verdict.Verification.against_vouching", [])
        try:
            return sound(*arguments)
        finally:
            monkeypatch.undo()
            monkeypatch.setattr(filing, "_require_sound", lambda *_, **__: None)

    monkeypatch.setattr(filing, "_verified", credulous)
    out = tmp_path / "out.pdf"
    submittal([source], load_identity(signer[0], PASSPHRASE), out, trust=[archive.root], sent=Sent(role=ROLE))
    answer = verify(out, trust=[archive.root, signer[1]])
    assert answer.overall == "failed"
    assert answer.steps[6].status == "passed", "the envelope holds what it lists"
    assert {reason.sentence.split(":")[0] for reason in answer.reasons} == {"BF-04-IR-003.pdf"}


@pytest.mark.parametrize(
    ("files", "sentence"),
    [
        (["BF-01/BF-01-IR-008.pdf"], "does not verify: the signature in Inspector was made over other bytes"),
        (["BF-04/BF-04-IR-003.pdf", "BF-02/BF-02-IR-003.pdf"], "the reports belong to 2 contracts (BF-02, BF-04)"),
        (["BF-02/BF-02-IR-006.pdf", "BF-02/BF-02-IR-006-copy.pdf"], "two different files for BF-02-IR-006 revision 0"),
        (["absent.pdf"], "absent.pdf does not exist"),
    ],
)
def test_what_cannot_be_submitted_is_refused_and_nothing_is_left(archive, tmp_path, files, sentence):
    out = tmp_path / "out.pdf"
    given = [archive.folder / name for name in files]
    with pytest.raises(UsageError) as refused:
        submittal(given, None, out, trust=[archive.root])
    assert sentence in str(refused.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("processes", [1, 2])
def test_of_several_broken_reports_each_is_named(archive, few, tmp_path, processes):
    source = tmp_path / "in"
    shutil.copytree(few, source, ignore=shutil.ignore_patterns("made.*"))
    for name in ("BF-04-IR-004.pdf", "BF-04-IR-005.pdf"):
        data = bytearray((source / name).read_bytes())
        data[data.index(b"stream\n") + 40] ^= 1
        (source / name).write_bytes(data)
    with pytest.raises(UsageError, match=r"IR-004\.pdf does not verify: .*IR-005\.pdf does not verify: ") as refused:
        submittal([source], None, tmp_path / "out.pdf", trust=[archive.root], spread=Spread(processes))
    assert refused.value.help_text == "leave out, or replace, each of them"
    assert list(tmp_path.iterdir()) == [source]


def test_the_result_does_not_depend_on_the_number_of_processes(archive, few, signer, tmp_path):
    from pypdf import PdfReader

    at = dt.datetime(2026, 4, 1, 9, tzinfo=dt.UTC)
    identity = load_identity(signer[0], PASSPHRASE)
    shown = []
    for processes in (1, 2):
        out = tmp_path / f"{processes}.pdf"
        submittal([few], identity, out, trust=[archive.root], at=at, spread=Spread(processes), sent=Sent(role=ROLE))
        pages = [page.get_contents().get_data() for page in PdfReader(out).pages]
        shown.append((pages, originals(out)))
    assert shown[0] == shown[1]


def test_a_submittal_is_no_report_and_is_not_enclosed(made, tmp_path):
    with pytest.raises(UsageError, match="is not an inspection report"):
        submittal([made[0]], None, tmp_path / "out.pdf")


def test_an_existing_file_is_not_overwritten(few, tmp_path):
    out = tmp_path / "out.pdf"
    out.write_bytes(b"something")
    with pytest.raises(UsageError, match="exists already"):
        submittal([few], None, out)
    assert out.read_bytes() == b"something"


def test_a_report_that_changes_meanwhile_is_not_enclosed(archive, few, tmp_path):
    source = tmp_path / "in"
    source.mkdir()
    shutil.copy(few / "BF-04-IR-003.pdf", source)

    def change(*_):
        (source / "BF-04-IR-003.pdf").write_bytes(b"%PDF-1.7 other")

    out = tmp_path / "out.pdf"
    with pytest.raises(UsageError, match="was changed while the submittal was made"):
        submittal([source], None, out, trust=[archive.root], progress=change)
    assert list(tmp_path.glob("*out*")) == []
    assert list(tmp_path.glob(".*")) == []


def test_a_demonstration_says_so(archive, few, tmp_path):
    from pypdf import PdfReader

    out = tmp_path / "out.pdf"
    sent = Sent(role=ROLE, recipient="Somebody", remarks="Two areas follow next week.")
    made = submittal([few / "BF-04-IR-003.pdf"], None, out, trust=[archive.root], sent=sent)
    text = PdfReader(io.BytesIO(out.read_bytes())).pages[0].extract_text()
    assert "Demonstration: not valid" in text
    assert "Two areas follow next week." in text
    assert made.notices == ()
    assert {reason.name for reason in verify(out, trust=[archive.root]).reasons} == {
        "DEMONSTRATION",
        "NO_CERTIFICATE_CHAIN_FOUND",
    }


def test_the_organisation_on_the_cover_is_that_of_the_certificate(archive, few, signer, tmp_path):
    identity, one = load_identity(signer[0], PASSPHRASE), few / "BF-04-IR-003.pdf"
    with pytest.raises(SealError, match="the organisation `Brackenholt Storage`, not `Another Owner`"):
        submittal(
            [one],
            identity,
            tmp_path / "no.pdf",
            trust=[archive.root],
            sent=Sent(role=ROLE, organisation="Another Owner"),
        )
    assert not (tmp_path / "no.pdf").exists()
    sent = Sent(role=ROLE, organisation="BRACKENHOLT Storage")
    assert submittal([one], identity, tmp_path / "out.pdf", trust=[archive.root], sent=sent).reports == 1


def test_what_the_sender_changes_while_signing_is_found(archive, few, signer, tmp_path, monkeypatch):
    from pyhanko.pdf_utils.generic import NumberObject, pdf_name

    from reportgen.increments import writing

    class Turning(writing.SigMDPSetup):
        def apply(self, value, writer):
            super().apply(value, writer)
            page = writer.root["/Pages"]["/Kids"][0]
            page[pdf_name("/Rotate")] = NumberObject(180)
            writer.update_container(page)

    trust = [archive.root, signer[1]]
    changes = {
        "CHANGED_WHEN_SIGNING": lambda *_: monkeypatch.setattr(writing, "SigMDPSetup", Turning),
        "SIGNER_NOT_NAMED": lambda *_: monkeypatch.setattr("reportgen.seal.signing.ENGINEER_FIELD", "Inspector"),
    }
    for reason, change in changes.items():
        out = tmp_path / f"{reason}.pdf"
        monkeypatch.setattr("reportgen.pipeline.filing._require_sound", lambda *_, **__: None)
        identity = load_identity(signer[0], PASSPHRASE)
        submittal(
            [few / "BF-04-IR-003.pdf"], identity, out, trust=trust, progress=change, sent=Sent(role=ROLE)
        )  # after the verifying
        monkeypatch.undo()
        answer = verify(out, trust=trust)
        assert answer.overall == {"CHANGED_WHEN_SIGNING": "failed", "SIGNER_NOT_NAMED": "indeterminate"}[reason]
        assert {one.name for one in answer.reasons} == {reason}


@pytest.fixture(scope="session")
def with_copies(archive, few, signer, tmp_path_factory):
    """A submittal with page copies, by command."""

    def make(place):
        return submitted(place, few, archive, signer, "S-2", "--page-copies")[0]

    return made_once(tmp_path_factory, "with-copies", make)


def words_of(path, first, last):
    """The words of some pages, as poppler reads them."""
    command = ["pdftotext", "-f", str(first), "-l", str(last), path, "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()


@needs_program("pdftotext")
def test_every_page_of_the_originals_is_appended_and_marked(with_copies, few):
    from pypdf import PdfReader

    pages = len(PdfReader(with_copies).pages)
    listed = json.loads(originals(with_copies)["submittal.json"])["reports"]
    at = pages - sum(row["copied_pages"] for row in listed)
    for row in listed:
        source = few / f"{Path(row['file']).stem}.pdf"
        count = len(PdfReader(source).pages)
        assert row["copied_pages"] == count
        for page in range(1, count + 1):
            own, shown = words_of(source, page, page), words_of(with_copies, at + page, at + page)
            said = f"COPY page {page} of {count} of {row['number']} revision {row['revision']}".split()
            assert set(said) <= set(shown)
            assert f"{row['file']}" in shown
            missing = list(own)
            for word in shown:
                if word in missing:
                    missing.remove(word)
            assert missing == [], "every word of the original is on its copy"
        at += count
    assert at == pages
    assert "".join(words_of(with_copies, pages, pages)).count("EndofsubmittalS-2") == 1


@needs_program("pdftoppm")
def test_a_copy_looks_like_its_original(with_copies, few, tmp_path):
    """Rendered by poppler: the dark pixels of the original's first page are those of the copy, scaled."""
    from PIL import Image, ImageChops, ImageFilter
    from pypdf import PdfReader

    pages = len(PdfReader(with_copies).pages)
    listed = json.loads(originals(with_copies)["submittal.json"])["reports"]
    first = pages - sum(row["copied_pages"] for row in listed) + 1
    scale = 0.8242  # of a page of this size in the frame of the submittal, measured on the page
    for name, path, page, dpi in (
        ("copy", with_copies, first, 100),
        ("own", few / f"{Path(listed[0]['file']).stem}.pdf", 1, 100 * scale),
    ):
        command = ["pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), "-gray", "-png", path, tmp_path / name]
        subprocess.run(command, check=True)
    blur = ImageFilter.BoxBlur(2)  # the two are drawn at different fractions of a pixel
    copy, own = (Image.open(next(tmp_path.glob(f"{name}-*.png"))).convert("L").filter(blur) for name in ("copy", "own"))

    def unlike(other):
        return sum(ImageChops.difference(own, other).histogram()[50:])

    placed = [copy.crop((x, y, x + own.width, y + own.height)) for x in range(71, 76) for y in range(101, 106)]
    assert unlike(Image.new("L", own.size, 255)) > 10_000, "an empty frame would not do"
    assert min(map(unlike, placed)) < 100


@pytest.mark.parametrize("worth", [1, 100])
def test_verify_compares_every_copy(with_copies, archive, signer, monkeypatch, worth):
    """With originals spread over processes and without."""
    monkeypatch.setattr("reportgen.pipeline.filing.WORTH_A_PROCESS", worth)
    answer = verify(with_copies, trust=[archive.root, signer[1]])
    assert answer.overall == "passed", answer.reasons
    assert answer.steps[9].status == "passed"
    assert [line.split(":")[0] for line in answer.steps[9].details[1:]] == [
        "BF-04-IR-003.pdf",
        "BF-04-IR-004.pdf",
        "BF-04-IR-004-r1.pdf",
        "BF-04-IR-005.pdf",
    ]


def test_a_submittal_that_changes_while_it_is_verified_is_not_judged(with_copies, tmp_path):
    from reportgen.pipeline.filing import _envelope

    path = tmp_path / "s.pdf"
    shutil.copy(with_copies, path)
    with pytest.raises(UsageError, match="was changed while it was verified"):
        _envelope(path, "0" * 64)


def test_a_page_that_cannot_be_copied_is_told_before_anything_is_written(archive, few, tmp_path, monkeypatch):
    from reportgen.copies import Drawing

    def turned(_, page):
        raise ValueError(f"its page {page + 1} is turned or enlarged")

    monkeypatch.setattr(Drawing, "box", turned)
    with pytest.raises(UsageError, match=r"IR-003\.pdf cannot be copied: its page 1 is turned or enlarged") as refused:
        submittal(
            [few / "BF-04-IR-003.pdf"], None, tmp_path / "o.pdf", trust=[archive.root], sent=Sent(page_copies=True)
        )
    assert refused.value.help_text == "submit without copies"
    assert list(tmp_path.iterdir()) == []


def test_an_original_that_is_gone_meanwhile_is_told(archive, few, tmp_path):
    source = tmp_path / "BF-04-IR-003.pdf"
    shutil.copy(few / source.name, source)
    with pytest.raises(UsageError, match=r"IR-003\.pdf cannot be read any more; nothing was written"):
        submittal([source], None, tmp_path / "o.pdf", trust=[archive.root], progress=lambda *_: source.unlink())
    assert list(tmp_path.iterdir()) == []


@needs_verapdf
def test_copies_are_archival_and_accessible(with_copies):
    assert verapdf([with_copies], "3a", "ua1") == {with_copies: []}


@needs_program("qpdf")
def test_the_structure_with_copies_is_sound(with_copies):
    said = subprocess.run(["qpdf", "--check", with_copies], capture_output=True, text=True, check=False)
    assert said.returncode == 0, said.stdout + said.stderr


@pytest.fixture
def forging(monkeypatch):
    """Copies are made by a changed tool: one figure on each page is another one than in the original."""
    from reportgen.submittal.pages import copies

    class Forged(copies.Drawing):
        def content(self, page):
            return super().content(page).replace(b"Tj", b"Tj ", 1) + b"\n0 0 m 9 9 l S"

    def use():
        monkeypatch.setattr(copies, "Drawing", Forged)

    return use


def test_a_copy_that_is_not_true_is_not_issued(forging, archive, few, tmp_path):
    forging()
    out = tmp_path / "out.pdf"
    with pytest.raises(MachineError, match=r"PAGES_DIFFER: BF-04-IR-003\.pdf: page 5 .* copy of its page 1"):
        submittal([few / "BF-04-IR-003.pdf"], None, out, trust=[archive.root], sent=Sent(page_copies=True))
    assert list(tmp_path.iterdir()) == []


def test_a_copy_that_is_not_true_is_found_in_a_signed_submittal(forging, archive, few, signer, tmp_path, monkeypatch):
    from reportgen.pipeline import filing

    forging()
    monkeypatch.setattr(filing, "_require_sound", lambda *_, **__: None)
    out = tmp_path / "out.pdf"
    identity = load_identity(signer[0], PASSPHRASE)
    submittal([few / "BF-04-IR-003.pdf"], identity, out, trust=[archive.root], sent=Sent(role=ROLE, page_copies=True))
    answer = verify(out, trust=[archive.root, signer[1]])
    assert answer.overall == "failed"
    assert {reason.name for reason in answer.reasons} == {"PAGES_DIFFER"}
    assert (answer.steps[7].status, answer.steps[9].status) == ("passed", "failed")
    assert answer.steps[7].details[0].startswith("BF-04-IR-003.pdf: passed"), "the original itself is sound"


# --- words and names that the typeface lacks, or that are no text


@pytest.fixture(scope="session")
def named_oddly(tmp_path_factory):
    """A key file whose owner's name has letters that no face of the report has."""
    return key_of(tmp_path_factory, "oddly-named", "\u6f22\u5b57 \u0416", "\u6865 Works")


def test_any_letter_in_what_the_sender_says_is_shown(archive, few, named_oddly, tmp_path):
    from pypdf import PdfReader

    from reportgen.pdf.fonts import drawable

    out = tmp_path / os.fsdecode(b"out\xff.pdf")
    remarks = os.fsdecode("first\nsecond \u202e \u6865".encode() + b"\xfe")
    said = {
        "--reference": "S-\u6f22 \U0001f600", "--remarks": remarks, "--to": "\u6570 & <b>", "--role": "\u8077",
    }  # fmt: skip
    source = tmp_path / os.fsdecode(b"r\xff\n.pdf")
    shutil.copy(few / "BF-04-IR-003.pdf", source)
    arguments = [source, "--identity", named_oddly[0], "-o", out, *(word for pair in said.items() for word in pair)]
    result = run("submittal", *arguments, "--page-copies")
    assert result.returncode == 0, result.stderr
    assert r"out\xff.pdf: 1 report enclosed" in result.stdout
    notices = " ".join(result.stderr.split())
    assert r"r\xff\x0a.pdf is enclosed with a signature that is not proven: NO_CERTIFICATE_CHAIN_FOUND" in notices
    assert (result.stdout + result.stderr).replace("\n", "").isprintable()
    pages = PdfReader(io.BytesIO(out.read_bytes()))
    flat = "".join("".join(page.extract_text() for page in pages.pages).split())
    shown = [
        said["--reference"],
        "second \\u202e \u6865\\udcfe",
        said["--to"],
        said["--role"],
        "\u6f22\u5b57",
    ]
    for words in shown:
        assert "".join(drawable(words).split()) in flat, words
    answer = verify(out, trust=[archive.root, named_oddly[1]])
    assert answer.overall == "passed", answer.reasons
    listed = json.loads(originals(out)["submittal.json"])
    assert listed["reference"] == said["--reference"], "the list has the letters themselves"
    again = run("submittal", *arguments, "--json")
    assert again.returncode == 2
    assert "exists already" in again.stdout


@pytest.mark.parametrize("reference", [" ", "\t\n", ""])
def test_a_reference_of_nothing_is_that_of_contract_and_date(archive, few, tmp_path, reference):
    out = tmp_path / "o.pdf"
    sent = Sent(role=ROLE, reference=reference, organisation=" ")
    submittal([few / "BF-04-IR-003.pdf"], None, out, trust=[archive.root], sent=sent)
    assert json.loads(originals(out)["submittal.json"])["reference"].startswith("BF-04, 20")


def test_of_two_submittals_to_one_file_one_is_written_and_the_other_says_so(archive, few, signer, tmp_path):
    out = tmp_path / "o.pdf"
    arguments = submitting(few / "BF-04-IR-003.pdf", archive, signer, out)
    environment = {**os.environ, "REPORTGEN_PASSPHRASE": PASSPHRASE}
    both = [
        subprocess.Popen([*COMMAND, *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                         env=environment)
        for _ in range(2)
    ]  # fmt: skip
    said = [one.communicate(timeout=300) for one in both]
    assert sorted(one.returncode for one in both) == [0, 2], said
    assert "is never overwritten; nothing was written" in " ".join("".join(err for _, err in said).split())
    assert [path.name for path in tmp_path.iterdir()] == ["o.pdf"]
    assert verify(out, trust=[archive.root, signer[1]]).overall == "passed"


# --- a stranger's report among them


def test_a_strangers_revision_decides_nothing_in_a_submittal(archive, signer, tmp_path):
    """The genuine reports leave a nonconformance open and an area on hold; self-made revisions of both close it."""
    from pypdf import PdfReader

    source = tmp_path / "in"
    source.mkdir()
    for place in ("010", "011", "012"):
        shutil.copy(archive.folder / "BF-03" / f"BF-03-IR-{place}.pdf", source)
    genuine = run(*submitting(source, archive, signer, tmp_path / "genuine.pdf"), "--json")
    assert json.loads(genuine.stdout)["open_nonconformances"] == 1
    for path in by_a_stranger(tmp_path, "BF-03", [(11, 9), (12, 9)]):
        shutil.copy(path, source)
    mixed = run(*submitting(source, archive, signer, tmp_path / "mixed.pdf"), "--json")
    assert json.loads(mixed.stdout)["open_nonconformances"] == 1
    notices = " ".join(mixed.stderr.split())
    assert "BF-03-IR-011 revision 9 is less proven than revision 0, and does not count" in notices
    texts = []
    for name in ("genuine.pdf", "mixed.pdf"):
        pages = PdfReader(tmp_path / name).pages
        texts.append(" ".join(" ".join(page.extract_text() for page in pages).split()))
    states = [text[text.index("State of the contract") : text.index("Open items")] for text in texts]
    named = "Not proven, and not counted where better proven reports are enclosed: BF-03-IR-011 r9, BF-03-IR-012 r9."
    assert states[1].split() == [*states[0].split(), *named.split()]
    left = [text[text.index("Open items") : text.index("Index of reports")] for text in texts]
    assert left[0] == left[1], "what a stranger's revision says settles nothing"
    assert "revision 9: less proven than revision 0, does not count" in texts[1]
    assert "superseded by revision 9" not in texts[1]


@needs_program("chromium")
def test_the_page_that_checks_reports_reads_the_envelope_and_every_original(made, few, archive, signer, checker):
    roots = [file.read_bytes() for file in (archive.root, signer[1])]
    whole = checker.examine(made[0].read_bytes(), roots)
    assert (whole["intact"]["answer"], whole["files"]["code"]) == ("yes", "REPORTS_SAME")
    assert (whole["named"][0]["code"], whole["head"]["answer"]) == ("NAMED", "yes")
    told = checker.ask(made[0].read_bytes(), roots)["head"]["text"].split("\n")[0]
    assert "This is a submittal, an envelope of reports" in told
    assert told.endswith("Save each report inside and check it here by itself.")
    for file in sorted(few.glob("*.pdf")):
        found = checker.examine(file.read_bytes(), roots)
        answers = [found[question]["answer"] for question in ("intact", "after", "files", "head")]
        assert (answers, found["named"][0]["code"]) == (["yes"] * 4, "NAMED"), file.name
