"""Photos are read when they are printed: what is printed is what was hashed, or nothing is written."""

import io
import tracemalloc
from pathlib import Path
from unittest import mock

import pytest
from PIL import Image

from reportgen.pdf import pictures
from reportgen.pipeline import building, check, draft, issuing

pytestmark = pytest.mark.usefixtures("stopped_clock")
NAMES = ("a", "b", "c", "d", "e", "f")


def written(path: Path, colour: str) -> None:
    """Write a photo of a megabyte more than its picture needs."""
    file = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(file, "JPEG")
    path.write_bytes(file.getvalue() + bytes(1 << 20) + b"\xff\xd9")


@pytest.fixture
def photographed(run, contract):
    """A contract whose day has photos of one area, and an inspector with a certificate."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    (contract / "photos").mkdir()
    for number, name in enumerate(NAMES):
        written(contract / f"photos/{name}.jpg", f"#8866{number}0")
    photos = "".join(f"      - {{file: photos/{name}.jpg, caption: after}}\n" for name in NAMES)
    day = contract / "day.yaml"
    day.write_text(day.read_text("utf-8").replace("    profile:", f"    photos:\n{photos}    profile:", 1), "utf-8")
    pictures._PRINTED.clear()
    return contract


def files(folder: Path) -> dict[str, bytes]:
    """All but the photo that changes."""
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != "c.jpg"}


@pytest.mark.parametrize("command", [("draft",), ("issue", "--identity", "keys/i-tern.p12")])
@pytest.mark.parametrize("what", ["another", "gone"])
def test_a_photo_that_changes_while_its_report_is_made(run, photographed, command, what):
    """Between the hash that was taken and the page, as a camera's card being copied does it."""
    photo, before = photographed / "photos/c.jpg", files(photographed)

    def meanwhile(checked, terms):
        written(photo, "#ffffff") if what == "another" else photo.unlink()
        return building.build(checked, terms)

    with mock.patch.object(issuing, "build", meanwhile):
        done = run(command[0], "day.yaml", *command[1:])
    assert done.code == 2
    assert (
        "error[PHO104]: `photos/c.jpg` has changed since the day was read" in done.err
        if what == "another"
        else "error[PTH101]: there is no file `photos/c.jpg`" in done.err
    )
    assert files(photographed) == before  # neither a page, nor a row of the register
    if what == "another":
        done = run(command[0], "day.yaml", *command[1:])
        assert done.code == 0, done.err


def test_what_a_camera_noted_is_of_the_photo_that_was_hashed_too(run, photographed):
    checked = check(photographed / "day.yaml")
    written(photographed / "photos/a.jpg", "#ffffff")
    pictures._PRINTED.clear()
    with pytest.raises(Exception, match="has changed since the day was read") as failed:
        pictures.camera_notes(checked.job.photos["photos/a.jpg"])
    assert failed.value.exit_code == 2


def test_no_photo_is_held_with_the_day_nor_by_the_pages(photographed):
    """Six of a megabyte each, and none of them is in memory when they were looked at, or printed."""
    day = photographed / "day.yaml"
    draft(day)  # what is loaded once
    pictures._PRINTED.clear()
    tracemalloc.start()
    checked = check(day)
    held, _ = tracemalloc.get_traced_memory()
    assert len(checked.job.photos) == len(NAMES)
    assert held < 1 << 20
    again = draft(day)
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(again.checked.job.photos) == len(NAMES)
    assert held < 2 << 20


def test_pages_that_are_laid_out_again_decode_no_photo_again(photographed, monkeypatch):
    decoded = []
    real = pictures._printed

    def noted(original, *room):
        decoded.append(original.name)
        return real(original, *room)

    monkeypatch.setattr(pictures, "_printed", noted)
    for _ in range(2):
        draft(photographed / "day.yaml")
    assert sorted(decoded) == [f"photos/{name}.jpg" for name in NAMES]
    monkeypatch.setattr(pictures, "_MOST_KEPT", 4)
    draft(photographed / "day.yaml")
    assert len(pictures._PRINTED) <= len(NAMES)
