"""An earlier day that cannot be read is no day without failures: it holds, and is named with its remedy."""

import os

import pytest

from reportgen.cli.main import main
from tests.footbridge import FIRST_BLASTING, SMOOTH, day, folder


def large(place, text):
    (place / "1.yaml").write_text(f"{text}#{'x' * 1024 * 1024 * 8}", encoding="utf-8")


def other_letters(place, text):
    (place / "1.yaml").write_bytes(text.encode("utf-16"))


def outside(place, text):
    (place.parent / "kept.yaml").write_text(text, encoding="utf-8")
    linked(place, "../kept.yaml")


def under_another_name(place, text):
    (place / "kept.txt").write_text(text, encoding="utf-8")
    linked(place, "kept.txt")


def device(place, _):
    linked(place, "/dev/zero")


def nowhere(place, _):
    linked(place, "nowhere.yaml")


def linked(place, target):
    (place / "1.yaml").unlink()
    (place / "1.yaml").symlink_to(target)


def checked(place, capsys):
    code = main(["check", str(place / "2.yaml")])
    out, err = capsys.readouterr()
    return code, out + err


@pytest.fixture
def place(tmp_path):
    return folder(tmp_path / "contract", **{"1": day(1, SMOOTH), "2": day(2, blasted=FIRST_BLASTING)})


def test_the_failure_of_the_first_day_holds_the_second(place, capsys):
    code, said = checked(place, capsys)
    assert (code, "HD-9-001" in said) == (1, True)
    assert "JOB250" not in said


@pytest.mark.parametrize(
    ("change", "remedy"),
    [
        (large, "is larger than"),
        (other_letters, "UTF-8"),
        (outside, "put the file itself into the folder"),
        (under_another_name, "HD-9-001"),
        (nowhere, "there is no file"),
        (device, "put the file itself into the folder"),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="links need a privilege on Windows")
def test_what_cannot_be_read_holds_and_is_named(place, capsys, change, remedy):
    change(place, day(1, SMOOTH))
    code, said = checked(place, capsys)
    assert code == 1
    assert remedy in " ".join(said.split())
    assert "may be released" not in said


def test_another_name_of_a_day_in_the_folder_is_no_day_of_its_own(place, capsys):
    before = checked(place, capsys)
    (place / "today.yaml").symlink_to("2.yaml")
    (place / "first.yaml").symlink_to("1.yaml")
    assert checked(place, capsys) == before
