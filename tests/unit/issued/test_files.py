"""Which files of a folder are looked at: those called PDF, and those that begin like one."""

import io
import tarfile
import zipfile

import pytest

from reportgen.issued.files import begins_like_pdf, is_pdf, name_left, not_looked_at, pdf_files

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


@pytest.mark.parametrize("name", ["week2", "week2.pdf"])
def test_a_link_to_a_folder_is_named_and_not_followed_and_one_to_a_file_is_looked_at(tmp_path, name):
    given, beside = tmp_path / "reports", tmp_path / "beside"
    for place in (given / "dir.pdf", beside):
        place.mkdir(parents=True)
        (place / "a.pdf").write_bytes(REPORT)
    (given / name).symlink_to(beside)
    (given / "round").symlink_to(given)
    (given / "one").symlink_to(beside / "a.pdf")
    (given / "note.txt").write_text("none", "utf-8")
    left = []
    found = pdf_files([given], others=left.extend)
    assert [one.relative_to(given).as_posix() for one in found] == ["one", "dir.pdf/a.pdf"]
    assert sorted(name_left(one, one.relative_to(given)) for one in left) == ["note.txt", "round/", f"{name}/"]
    assert not_looked_at(["note.txt", f"{name}/"]) == (
        "1 file is no PDF and was not looked at: note.txt; "
        f"1 link to a folder was not followed, and what lies there was not looked at: {name}/"
    )
