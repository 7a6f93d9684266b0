"""Which files of a folder are looked at: those called PDF, and those that begin like one."""

import io
import tarfile
import zipfile

import pytest

from reportgen.issued.files import begins_like_pdf, is_pdf

REPORT = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n<< /Type /Catalog >>\nendobj\n"
PLAIN = b"%PDF-1.4\r\n% made by hand\r\n1 0 obj\r\n<<>>\r\nendobj\r\n"


def zipped():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("a.pdf", REPORT)
    return out.getvalue()


def tarred():
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        info = tarfile.TarInfo("a.pdf")
        info.size = len(REPORT)
        archive.addfile(info, io.BytesIO(REPORT))
    return out.getvalue()


PDFS = {
    "as written": REPORT,
    "no bytes but text": PLAIN,
    "cut short": REPORT[:9],
    "without an end of line": REPORT[:8],
    "the comment on the same line": b"%PDF-1.4 %\xe2\xe3\xcf\xd3\r\n",
    "after a mark of UTF-8": b"\xef\xbb\xbf" + REPORT,
    "after blanks": b"\r\n  \0" + REPORT,
    "after letters": b"junk" * 200 + REPORT,
    "after a command for a printer": b"\x1b%-12345X@PJL ENTER LANGUAGE=PDF\r\n" + PLAIN,
    "after a mention of it": b"see %PDF-1.7\nfor that\n" + REPORT,
}
OTHERS = {
    "nothing": b"",
    "a mention": b"A report starts with %PDF-1.7.\n",
    "a mention at the end of a line": b"A report starts with %PDF-1.7\nand then goes on.\n",
    "a mention at the beginning": b"%PDF-1.7 is how a report starts.\n",
    "no version": b"%PDF-x\n1 0 obj\n",
    "far in": b" " * 1025 + REPORT,
    "an archive": zipped(),
    "a tape": tarred(),
    "a picture": b"\xff\xd8\xff\xe1 " + REPORT,
}


@pytest.mark.parametrize("data", PDFS.values(), ids=PDFS)
def test_what_begins_like_a_pdf_is_one_by_any_name(tmp_path, data):
    (tmp_path / "a.download").write_bytes(data)
    assert is_pdf(tmp_path / "a.download")


@pytest.mark.parametrize("data", OTHERS.values(), ids=OTHERS)
def test_what_only_holds_or_mentions_one_is_none(tmp_path, data):
    (tmp_path / "a.txt").write_bytes(data)
    assert not is_pdf(tmp_path / "a.txt")
    (tmp_path / "a.PDF").write_bytes(data)
    assert is_pdf(tmp_path / "a.PDF")


def test_a_file_is_read_by_its_beginning_alone():
    assert begins_like_pdf(b" " * 1024 + REPORT)
    assert not begins_like_pdf(b"x" * 1025 + REPORT)
