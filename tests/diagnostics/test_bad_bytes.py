"""Files that cannot stand in a repository as text, or that are wrong by what they are: bytes, links, pipes, pictures.

Each is built here from the rule it breaks.
"""

import hashlib
import os
import shutil
import struct
import zlib
from pathlib import Path

import pytest

from reportgen.diagnostics import with_caret
from reportgen.errors import ChangedFileError, InputError
from reportgen.loader import load_job

HERE = Path(__file__).parent
CODES_OF_BYTES = {
    "SRC101",
    "SRC102",
    "SRC103",
    "SRC104",
    "SRC105",
    "CSV109",
    "PTH102",
    "PTH104",
    "PTH105",
    "PTH107",
    "PHO102",
    "PHO103",
    "PHO104",
}
CODES_OF_TEMPLATES = {"JOB180", "JOB181", "JOB182", "JOB183"}  # in tests/unit/report/test_template.py
CODES_OF_ISSUE = {"JOB226", "JOB251", "JOB252", "JOB253", "JOB254", "JOB258"}
"""In test_moment_of_issue.py, e2e/test_as_issued.py and unit/cli/test_released_by_leaving_out.py."""
CODES_OF_SEVERAL_DAYS = {"JOB244", "JOB247"}  # in tests/unit/cli/test_closing.py and test_reinspection.py
CODES_OF_WARNINGS = {"JOB216", "JOB219", "JOB246", "JOB250", "JOB257", "SRC106"}
HEAD = (
    b"project: project.yaml\n"
    b"report: {number: T-002, revision: 0, date: 2026-05-15, inspector: merrow, "
    b'shift: {start: "06:00", end: "18:00"}}\n'
)
SURFACE = HEAD + (
    b"surfaces:\n  - area: A-1\n    apparatus: pot 1\n    initial_condition: C\n"
    b'    blasted: {start: "07:00", end: "09:40", abrasive: steel grit}\n'
)
WITH_CSV = SURFACE + b"    profile:\n      gauge: g1\n      readings: {csv: rows.csv}\n"
WITH_PHOTO = SURFACE + b"    photos:\n      - {file: photos/new.jpg, caption: c}\n"


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(HERE / "good", tmp_path / "job")
    return tmp_path / "job"


def _refused(folder, day=b"", name="bad.yaml"):
    if day:
        (folder / name).write_bytes(day)
    with pytest.raises(InputError) as caught:
        load_job(folder / name)
    return caught.value.diagnostics


def _only(diagnostics):
    assert len(diagnostics) == 1
    return diagnostics[0]


def _says(diagnostic, code, line, column, message, help_text=None):
    first = diagnostic.spans[0]
    assert (diagnostic.code, first.line, first.column) == (code, line, column)
    assert diagnostic.message == message
    assert diagnostic.help_text == help_text


# --- the day file itself


def test_empty_file(folder):
    (folder / "bad.yaml").write_bytes(b"")
    printed = with_caret(_only(_refused(folder)))
    assert printed == (
        f"error[SRC104]: the file is empty\n --> {folder}/bad.yaml:1:1\n"
        "  = help: `reportgen new DIR` writes a commented file to start from"
    )


@pytest.mark.parametrize(
    ("start", "what", "help_text"),
    [
        (
            b"PK\x03\x04\x14\x00\x06\x00",
            "the file is a spreadsheet or ZIP archive, not text",
            "save it as CSV in UTF-8",
        ),
        (b"\x89PNG\r\n\x1a\n", "the file is a PNG picture, not text", "name the right file"),
        (b"\xff\xd8\xff\xe0", "the file is a JPEG picture, not text", "name the right file"),
        (b"%PDF-1.7\n", "the file is a PDF, not text", "name the right file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "the file is an office document, not text", "name the right file"),
        (b"project\x00: x", "the file is not text: byte 8 is 0x00", "name a text file"),
        (b"\x7fELF\x02\x01", "the file is not text: byte 5 is 0x02", "name a text file"),
    ],
)
def test_binary_file(folder, start, what, help_text):
    _says(_only(_refused(folder, start)), "SRC101", 1, 1, what, help_text)


def _bomb(lines):
    bomb = b"a: &a [x, x, x, x, x, x, x, x, x]\n"
    for one, before in zip("bcdefghi", "abcdefgh", strict=True):
        bomb += f"{one}: &{one} [{', '.join([f'*{before}'] * 9)}]\n".encode()
    return bomb + b"z:\n" + f"- [{', '.join(['*i'] * 30)}]\n".encode() * lines


def test_every_anchor_is_named_once_however_often_it_is_repeated(folder):
    found = [diagnostic for diagnostic in _refused(folder, HEAD + _bomb(50)) if diagnostic.code == "SRC112"]
    assert [(d.spans[0].line, d.spans[0].column) for d in found] == [(line, 4) for line in range(3, 12)]


def test_two_mebibytes_of_aliases_are_refused_at_the_first_anchor(folder):
    bomb = _bomb(2 * 1024 * 1024 // 123)
    assert len(bomb) > 2_000_000
    diagnostic = _only(_refused(folder, HEAD + bomb))
    message = "anchors and aliases are not used in job files"
    _says(diagnostic, "SRC112", 3, 4, message, "write the entry out where it belongs")


def test_too_large(folder):
    diagnostic = _only(_refused(folder, b"remarks: " + b"x" * (8 * 1024 * 1024)))
    _says(diagnostic, "PTH104", 1, 1, "`bad.yaml` is larger than 8 MiB")


def test_scalar_too_long(folder):
    diagnostic = _only(_refused(folder, HEAD + b'remarks: "' + b"x " * 15_000 + b'"\n'))
    _says(diagnostic, "SRC103", 3, 10, "the text has 30,000 characters; at most 20,000 are read")


def test_too_many_entries_are_counted_without_being_kept(folder):
    diagnostic = _only(_refused(folder, HEAD + b"remarks: [" + b"x," * 500_000 + b"x]\n"))
    assert diagnostic.code == "SRC103"
    assert diagnostic.message == "the file has more than 400,000 entries"
    assert diagnostic.help_text == "put readings into CSV files"


def test_many_commas_in_text_are_no_entries(folder):
    text = b"# " + b",\n# " * 150_000 + b"\n"
    (folder / "fine.yaml").write_bytes(text + HEAD)
    assert load_job(folder / "fine.yaml").day.report.number == "T-002"


def test_a_syntax_error_in_a_file_of_many_entries(folder):
    assert _only(_refused(folder, HEAD + b"remarks: [" + b"x," * 300_000)).code == "SRC110"


def test_utf16(folder):
    diagnostic = _only(_refused(folder, HEAD.decode().encode("utf-16")))
    _says(diagnostic, "SRC102", 1, 1, "the file is UTF-16, not UTF-8", "save it as UTF-8")


def test_windows_1252_is_named_with_line_and_column(folder):
    diagnostic = _only(_refused(folder, HEAD + "remarks: 20 µm\n".encode("cp1252")))
    _says(diagnostic, "SRC102", 3, 13, "byte 0xB5 (`µ` in Windows-1252) is not UTF-8", "save it as UTF-8")
    assert diagnostic.spans[0].source_line == "remarks: 20 µm"


def test_a_byte_that_is_nothing_at_all(folder):
    diagnostic = _only(_refused(folder, HEAD + b"remarks: \x81\n"))
    _says(diagnostic, "SRC102", 3, 10, "byte 0x81 is not UTF-8", "save it as UTF-8")


def test_byte_order_mark_is_dropped_and_columns_still_count(folder):
    (folder / "fine.yaml").write_bytes(b"\xef\xbb\xbf" + HEAD)
    assert load_job(folder / "fine.yaml").day.report.number == "T-002"
    diagnostic = _only(_refused(folder, b"\xef\xbb\xbfprojekt: project.yaml\n" + HEAD))
    assert (diagnostic.code, diagnostic.spans[0].line, diagnostic.spans[0].column) == ("JOB110", 1, 1)
    assert diagnostic.help_text == "did you mean `project`?"


@pytest.mark.parametrize(
    ("character", "name"),
    [
        ("\u202e", "U+202E (right-to-left override)"),
        ("\u200b", "U+200B (zero width space)"),
        ("\ufeff", "U+FEFF (zero width no-break space)"),
        ("\x1b", "U+001B"),
        ("\x85", "U+0085"),
        ("\u2028", "U+2028 (line separator)"),
        ("\u00ad", "U+00AD (soft hyphen)"),
        ("\x7f", "U+007F"),
    ],
)
def test_hidden_characters(folder, character, name):
    diagnostic = _only(_refused(folder, HEAD + f"remarks: A{character}B\n".encode()))
    message = f"the character {name} is invisible or a control character"
    _says(diagnostic, "SRC105", 3, 11, message, "remove it")
    assert character not in with_caret(diagnostic)


def test_twenty_hidden_characters_are_enough(folder):
    assert len(_refused(folder, HEAD + "remarks: x\u200b\n".encode() * 50)) == 20


@pytest.mark.parametrize(
    ("remarks", "column", "shown"),
    [
        ("tower 塔 and 塔", 16, "U+5854 (cjk unified ideograph-5854): the pages show [U+5854]"),
        ('"\\u6f22"', 10, "U+6F22 (cjk unified ideograph-6f22): the pages show [U+6F22]"),
        ("q\u0301", 11, "U+0301 (combining acute accent): the pages show [U+0301]"),
        ("\U0001f642", 10, "U+1F642 (slightly smiling face): the pages show [U+1F642]"),
    ],
)
def test_a_letter_that_no_font_has_is_a_warning_and_the_job_stands(folder, remarks, column, shown):
    (folder / "day.yaml").write_bytes(HEAD + f"remarks: {remarks}\n".encode())
    job = load_job(folder / "day.yaml")
    (warning,) = job.warnings
    assert (warning.code, warning.severity, warning.spans[0].line) == ("SRC106", "warning", 3)
    assert (warning.spans[0].column, warning.message) == (column, f"no font of the report has {shown}")
    assert job.day.remarks


@pytest.mark.parametrize("text", ["Cafe\u0301", "⌀ 12 mm ☑ 10⁻³", "# 塔", "Ω Å"])
def test_letters_with_accents_apart_further_symbols_and_comments_need_no_warning(folder, text):
    (folder / "day.yaml").write_bytes(HEAD + f"remarks: x {text}\n".encode())
    assert load_job(folder / "day.yaml").warnings == ()


def test_carriage_returns_alone_end_lines(folder):
    diagnostic = _only(_refused(folder, HEAD.replace(b"\n", b"\r") + b"remark: x\r"))
    assert (diagnostic.code, diagnostic.spans[0].line) == ("JOB110", 3)
    assert diagnostic.spans[0].source_line == "remark: x"


# --- where it lies


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("x" * 96 + ".yaml", "a file's name has 101 characters; at most 100 fit, 200 with folders"),
        (b"d\xff.yaml".decode("utf-8", "surrogateescape"), "the name `d\udcff.yaml` holds what is not UTF-8"),
        ("day\u202e.yaml", "the name `day\u202e.yaml` holds what is not UTF-8, invisible or a control character"),
        ("day\n.yaml", "the name `day\n.yaml` holds what is not UTF-8, invisible or a control character"),
    ],
)
def test_names_that_a_report_cannot_list(folder, name, message):
    (folder / name).write_bytes(HEAD)
    diagnostic = _only(_refused(folder, name=name))
    assert diagnostic.code == "PTH107"
    assert diagnostic.message.startswith(message)
    assert diagnostic.help_text == "rename the file"


def test_a_path_that_a_report_cannot_list(folder):
    deep = "/".join(["f" * 50] * 4)
    (found,) = _refused(folder, WITH_CSV.replace(b"rows.csv", f"{deep}/r.csv".encode()))
    assert found.code == "PTH107"
    assert found.message == "a path has 209 characters; at most 100 fit, 200 with folders"


def test_a_day_that_a_report_cannot_list_does_not_keep_a_later_one_back(folder):
    (folder / b"d\xff.yaml".decode("utf-8", "surrogateescape")).write_bytes(HEAD)
    (folder / "later.yaml").write_bytes(HEAD.replace(b"T-002", b"T-009").replace(b"05-15", b"05-16"))
    job = load_job(folder / "later.yaml")
    assert all("\udcff" not in file.name for file in job.files)
    (warning,) = job.warnings
    assert (warning.code, warning.help_text) == ("JOB250", "rename the file")
    assert (
        "may be an earlier day and cannot be read: the name `d\udcff.yaml` holds what is not UTF-8" in warning.message
    )


def test_no_such_day_file(folder):
    diagnostic = _only(_refused(folder, name="dya.yaml"))
    _says(diagnostic, "PTH101", 1, 1, "there is no file `dya.yaml`", "did you mean `day.yaml`?")


def test_the_day_file_is_a_folder(folder):
    (folder / "x.yaml").mkdir()
    _says(_only(_refused(folder, name="x.yaml")), "PTH103", 1, 1, "`x.yaml` is a folder, not a file", "name a file")


@pytest.mark.parametrize("name", ["a/../b.yaml", "C:x.yaml", "x\0y.yaml", "..", "day.yml", ".yaml"])
def test_a_day_file_that_is_no_name(folder, name):
    with pytest.raises(InputError) as caught:
        load_job(folder / name)
    assert caught.value.diagnostics[0].code in {"PTH101", "PTH102", "PTH106"}


def test_a_pipe_does_not_hang(folder):
    os.mkfifo(folder / "bad.yaml")
    diagnostic = _only(_refused(folder))
    _says(diagnostic, "PTH103", 1, 1, "`bad.yaml` is a pipe or a device, not a file", "name a file")


def test_a_link_to_a_device_is_a_link_that_leaves(folder):
    (folder / "rows.csv").symlink_to("/dev/zero")
    found = _only(_refused(folder, WITH_CSV))
    message = "`rows.csv` is a link that leaves the job folder"
    _says(found, "PTH102", 10, 23, message, "put the file itself into the folder")


def test_a_link_inside_the_folder_is_followed(folder):
    (folder / "rows.csv").symlink_to("readings/day.csv")
    (folder / "fine.yaml").write_bytes(WITH_CSV)
    assert len(load_job(folder / "fine.yaml").readings[0]) == 4


def test_a_linked_folder_that_leaves(folder, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    shutil.copy(folder / "project.yaml", tmp_path / "elsewhere")
    (folder / "sub").symlink_to(tmp_path / "elsewhere")
    found = _only(_refused(folder, HEAD.replace(b"project.yaml", b"sub/project.yaml", 1)))
    assert (found.code, found.spans[0].column) == ("PTH102", 10)


def test_a_link_that_goes_round(folder):
    (folder / "rows.csv").symlink_to("rows.csv")
    assert _only(_refused(folder, WITH_CSV)).code == "PTH103"


def test_a_file_that_may_not_be_read(folder, monkeypatch):
    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    (folder / "bad.yaml").write_bytes(HEAD)
    monkeypatch.setattr("reportgen.loader.paths.os.open", refuse)
    diagnostic = _only(_refused(folder))
    _says(diagnostic, "PTH105", 1, 1, "`bad.yaml` may not be read", "give yourself permission to read it")


def test_the_project_may_lie_below_the_day_file(folder):
    (folder / "contract").mkdir()
    shutil.move(folder / "project.yaml", folder / "contract" / "project.yaml")
    (folder / "fine.yaml").write_bytes(HEAD.replace(b"project.yaml", b"contract/project.yaml", 1))
    job = load_job(folder / "fine.yaml")
    assert [file.name for file in job.files] == ["contract/project.yaml", "fine.yaml"]


# --- CSV


@pytest.mark.parametrize(
    ("data", "code", "line", "column", "message"),
    [
        (b"", "SRC104", 1, 1, "the file is empty"),
        (b"location,spot,roll,reading\n1,a,x1,\x00\n", "SRC101", 1, 1, "the file is not text: byte 35 is 0x00"),
        (b"PK\x03\x04" + b"x" * 40, "SRC101", 1, 1, "the file is a spreadsheet or ZIP archive, not text"),
        ("location,spot\n".encode("utf-16"), "SRC102", 1, 1, "the file is UTF-16, not UTF-8"),
        (
            "location,spot,roll,reading\n1,a,x1,2.6 µm\n".encode("cp1252"),
            "SRC102",
            2,
            12,
            "byte 0xB5 (`µ` in Windows-1252) is not UTF-8",
        ),
        ("location,spot,roll,reading\n1,塔,x1,2.6\n".encode(), "CSV110", 2, 3, None),
    ],
)
def test_csv_that_is_no_text(folder, data, code, line, column, message):
    (folder / "rows.csv").write_bytes(data)
    first = _refused(folder, WITH_CSV)[0]
    assert (first.code, first.spans[0].line, first.spans[0].column) == (code, line, column)
    assert Path(first.spans[0].file) == folder / "rows.csv"
    assert message is None or first.message == message


def test_csv_with_too_many_rows(folder, monkeypatch):
    monkeypatch.setattr("reportgen.readings.csv_file.ROW_LIMIT", 2)
    (folder / "rows.csv").write_bytes(b"location,spot,roll,reading\n1,a,x1,2.6\n1,b,x1,2.6\n\n1,c,x1,2.6\n")
    errors = [one for one in _refused(folder, WITH_CSV) if one.severity == "error"]  # day.yaml has as many
    _says(_only(errors), "CSV109", 5, 1, "the file has more than 2 rows", "split the file by area")


# --- pictures


def _png(width, height):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IEND", b"")
    )


def _jpeg(width, height, end=b"\xff\xd9"):
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 17, 8, height, width, 3) + b"\x00" * 9
    return b"\xff\xd8\xff\xff\xe0" + struct.pack(">H", 16) + b"JFIF" + b"\x00" * 10 + b"\xff\xd0" + frame + end


@pytest.mark.parametrize("data", [_png(4000, 3000), _jpeg(4000, 3000)])
def test_pictures_are_known_by_their_first_bytes_whatever_their_name(folder, data):
    (folder / "photos" / "new.jpg").write_bytes(data)
    (folder / "fine.yaml").write_bytes(WITH_PHOTO)
    [(name, original)] = load_job(folder / "fine.yaml").photos.items()
    assert (name, original.name, original.read()) == ("photos/new.jpg", "photos/new.jpg", data)
    assert original.sha256 == hashlib.sha256(data).hexdigest()


def test_a_photo_is_refused_that_is_another_by_the_time_it_is_needed(folder):
    photo = folder / "photos" / "new.jpg"
    photo.write_bytes(_jpeg(4000, 3000))
    (folder / "fine.yaml").write_bytes(WITH_PHOTO)
    original = load_job(folder / "fine.yaml").photos["photos/new.jpg"]
    photo.write_bytes(_jpeg(3000, 4000))
    with pytest.raises(ChangedFileError) as caught:
        original.read()
    diagnostic = _only(caught.value.diagnostics)
    assert (diagnostic.code, diagnostic.message) == ("PHO104", "`photos/new.jpg` has changed since the day was read")
    photo.unlink()
    with pytest.raises(ChangedFileError) as caught:
        original.read()
    assert _only(caught.value.diagnostics).code == "PTH101"


@pytest.mark.parametrize(
    ("data", "code", "message"),
    [
        (b"GIF89a", "PHO101", "`photos/new.jpg` is neither JPEG nor PNG"),
        (b"%!PS-Adobe-3.0 EPSF-3.0", "PHO101", "`photos/new.jpg` is neither JPEG nor PNG"),
        (b"", "PHO101", "`photos/new.jpg` is neither JPEG nor PNG"),
        (_png(0, 3), "PHO102", "`photos/new.jpg` is a damaged or cut picture"),
        (_png(4, 3)[:-12], "PHO102", "`photos/new.jpg` is a damaged or cut picture"),
        (_jpeg(4, 3, end=b""), "PHO102", "`photos/new.jpg` is a damaged or cut picture"),
        (b"\xff\xd8\xff\xe0\x00\x10", "PHO102", "`photos/new.jpg` is a damaged or cut picture"),
        (b"\xff\xd8\xff\xe0\x00\x00" + b"\x00" * 40, "PHO102", "`photos/new.jpg` is a damaged or cut picture"),
        (_png(12_000, 12_000), "PHO103", "`photos/new.jpg` has 12000 × 12000 pixels; at most 100 million are read"),
        (_jpeg(65_500, 65_500), "PHO103", "`photos/new.jpg` has 65500 × 65500 pixels; at most 100 million are read"),
    ],
)
def test_pictures_that_are_none(folder, data, code, message):
    (folder / "photos" / "new.jpg").write_bytes(data)
    diagnostic = _only(_refused(folder, WITH_PHOTO))
    assert (diagnostic.code, diagnostic.spans[0].line, diagnostic.spans[0].column) == (code, 9, 16)
    assert diagnostic.message == message


def test_a_logo_that_is_no_picture_is_shown_in_the_project_file(folder):
    project = (
        (folder / "project.yaml").read_text().replace("address: 1 Lane}", "address: 1 Lane, logo: photos/notes.png}")
    )
    (folder / "project.yaml").write_text(project)
    diagnostic = _only(_refused(folder, HEAD))
    assert diagnostic.code == "PHO101"
    assert Path(diagnostic.spans[0].file) == folder / "project.yaml"


def test_a_photo_shown_twice_is_read_once(folder):
    twice = WITH_PHOTO.replace(b"new.jpg", b"wall.png") + b"      - {file: photos/wall.png, caption: again}\n"
    (folder / "fine.yaml").write_bytes(twice)
    assert list(load_job(folder / "fine.yaml").photos) == ["photos/wall.png"]


def test_a_project_without_rolls_says_where_to_enter_them(folder):
    text = (folder / "project.yaml").read_text()
    rolls = text[text.index("tape_rolls:") : text.index("structures:")]
    (folder / "project.yaml").write_text(text.replace(rolls, ""))
    diagnostics = _refused(folder, name="day.yaml")
    assert {d.code for d in diagnostics} == {"JOB203"}
    assert {d.help_text for d in diagnostics} == {f"enter it in {folder}/project.yaml"}
    assert [d.message for d in diagnostics[:2]] == ["the project has no roll `x1`", "the project has no roll `c1`"]
