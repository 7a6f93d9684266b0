"""A photo on its page: it alone is read, however many the day has."""

import io

import pytest
from PIL import Image

from reportgen.browser.record_views import photo_bytes
from reportgen.errors import UsageError

DAY = """\
project: project.yaml
surfaces:
  - area: A-1
    photos:
      - {file: photos/a.jpg, caption: before}
      - {file: photos/gone.jpg, caption: after}
      - {file: ../outside.jpg, caption: elsewhere}
"""


@pytest.fixture
def day(tmp_path):
    (tmp_path / "photos").mkdir()
    Image.new("RGB", (1200, 900), "grey").save(tmp_path / "photos/a.jpg")
    Image.new("RGB", (30, 20), "grey").save(tmp_path.parent / "outside.jpg")
    (tmp_path / "day.yaml").write_text(DAY, "utf-8")
    return tmp_path / "day.yaml"


def test_a_photo_is_shown_whatever_else_the_day_lacks(day):
    """The project file is not there, nor another photo: neither is asked for."""
    assert Image.open(io.BytesIO(photo_bytes(day, "0-0"))).size == (640, 480)


@pytest.mark.parametrize(
    ("number", "said"), [("0-1", "there is no file `photos/gone.jpg`"), ("0-2", "points outside the job folder")]
)
def test_a_photo_that_cannot_be_read_is_said_to_be_so(day, number, said):
    with pytest.raises(UsageError, match=said):
        photo_bytes(day, number)


def test_a_day_that_is_gone_is_said_to_be_so(day):
    day.unlink()
    with pytest.raises(UsageError, match="there is no file"):
        photo_bytes(day, "0-0")
