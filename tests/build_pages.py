"""Take the pictures of the pages of ``open`` that the README shows: ``python -m tests.build_pages``.

A contract in the middle of a shift: the second tape is asked for at the location that is being read.
"""

import shutil
import tempfile
from pathlib import Path

from tests.browsing import Person, chromium, served

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "samples" / "pages"
DAY = "2026-06-09"


def main() -> None:
    """Write the pictures anew."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(shutil.copytree(ROOT / "jobs" / "quarrowmere", Path(name) / "job"))
        day = folder / f"{DAY}.yaml"
        text = day.read_text("utf-8")
        cut = text.index("        - {location: 5, spot: a, x1: 2.7}")
        end = text.index('    coated: "15:45"')
        day.write_text(text[:cut] + text[end:], "utf-8")
        (folder / "2026-06-11.yaml").unlink()
        with chromium() as browser, served(folder) as opening:
            person = Person(browser, opening())
            person.goes(f"/shift/{DAY}")
            small(person, "shift")
            person.goes(f"/shift/{DAY}/area/G-6?location=5#profile")
            person.until("document.activeElement.dataset.at")
            person.types("2.3⏎")
            small(person, "area")
            person.goes("/terms")
            small(person, "terms")


def small(person: Person, name: str) -> None:
    """Take what is on the screen, in few colours."""
    from PIL import Image

    path = PICTURES / f"{name}.png"
    person.page.screenshot(path=path)
    with Image.open(path) as picture:
        few = picture.convert("RGB").quantize(160)
    few.save(path, optimize=True)
    print(f"{path.relative_to(ROOT)}: {path.stat().st_size // 1024} kB")


if __name__ == "__main__":
    main()
