"""An earlier day that cannot be read is no day without failures: it holds, and is named with its remedy."""

import os

import pytest

from reportgen.cli.main import main
from tests.footbridge import FIRST_BLASTING, PROJECT, SMOOTH, day, folder


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


@pytest.mark.parametrize(
    "left", [b"", b"\n", b"\0" * 600, b"# Invented for tests\nproject: [", b"\x93\x01 not text \xff"]
)
def test_a_file_of_which_nothing_is_left_may_have_been_an_earlier_day(place, capsys, left):
    (place / "1.yaml").write_bytes(left)
    code, said = checked(place, capsys)
    assert code == 1
    assert "`1.yaml` may be an earlier day and cannot be read" in " ".join(said.split())


def test_what_a_day_left_that_cannot_be_loaded_is_not_known_of_any_area(tmp_path, capsys):
    """Its typing error stands in the way, and the second day is on the other half of the bridge alone."""
    first = day(1, SMOOTH).replace("apparatus: pot 1", "aparatus: pot 1")
    place = folder(tmp_path / "contract", **{"1": first, "2": day(2, area="B-2")})
    code, said = checked(place, capsys)
    assert (code, "the earlier day `1.yaml` cannot be loaded" in " ".join(said.split())) == (1, True)


def test_a_template_or_project_file_with_a_fault_is_no_earlier_day(place, capsys):
    for name, text in (("old", "specification:\n  a: ["), ("pages", "sections: [summary\n"), ("notes", "a: 1\n")):
        (place / f"{name}.yaml").write_text(text, encoding="utf-8")
    assert "JOB250" not in checked(place, capsys)[1]


@pytest.mark.parametrize("area", ["B-1", "B-2"])
@pytest.mark.parametrize("written", ["HD-9", "hd 9", None])
def test_a_day_by_another_project_file_of_the_contract_is_not_passed_over_in_silence(tmp_path, capsys, area, written):
    first = day(1, SMOOTH).replace("project: project.yaml", "project: later.yaml")
    place = folder(tmp_path / "contract", **{"1": first, "2": day(2, area=area, blasted=FIRST_BLASTING)})
    if written is not None:
        (place / "later.yaml").write_text(PROJECT.replace("contract: HD-9", f"contract: {written}"), encoding="utf-8")
    code, said = checked(place, capsys)
    assert code == 1
    assert "JOB257" in said
    assert "`1.yaml` is passed over: it names `later.yaml`, and this day `project.yaml`" in " ".join(said.split())


def test_a_day_of_another_contract_is_none_of_this_one(tmp_path, capsys):
    first = day(1, SMOOTH).replace("project: project.yaml", "project: other.yaml")
    place = folder(tmp_path / "contract", **{"1": first, "2": day(2), "other": PROJECT.replace("HD-9", "KL-2")})
    (place / "other.yaml").write_text(PROJECT.replace("HD-9", "KL-2"), encoding="utf-8")
    assert checked(place, capsys)[0] == 0


def test_the_project_file_may_be_named_by_another_path(tmp_path, capsys):
    first = day(1, SMOOTH).replace("project: project.yaml", "project: ./project.yaml")
    place = folder(tmp_path / "contract", **{"1": first, "2": day(2, blasted=FIRST_BLASTING)})
    code, said = checked(place, capsys)
    assert (code, "HD-9-001" in said) == (1, True)
