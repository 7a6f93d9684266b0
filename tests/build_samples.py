"""Issue the sample reports: every day of the demo contracts, signed by the demonstration identity.

``python -m tests.build_samples`` writes them anew. The issue time is fixed, so the unsigned pages come out the same;
the signature differs each time, because the demonstration identity is made on the spot.
"""

import datetime as dt
import shutil
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
SAMPLES = ROOT / "samples"
DAYS = sorted(path for path in (ROOT / "jobs").glob("*/*.yaml") if path.name != "project.yaml")


def issue_time(day: Path) -> dt.datetime:
    """Return the fixed issue time of a sample: 18:30 UTC on the day of the report."""
    return dt.datetime.combine(dt.date.fromisoformat(day.stem[:10]), dt.time(18, 30), dt.UTC)


def sample_of(day: Path) -> Path:
    """Return where the sample of a day file lies."""
    return SAMPLES / f"{day.parent.name}-{day.stem}.pdf"


def main() -> None:
    """Write all samples, and page 1 of one of them as a picture for the README."""
    from reportgen.pipeline import issue_demonstration

    SAMPLES.mkdir(exist_ok=True)
    for day in DAYS:
        written = issue_demonstration(day, sample_of(day), at=issue_time(day))
        print(f"{written.path.relative_to(ROOT)}: {written.pages} pages")
    if shutil.which("pdftoppm"):
        picture = SAMPLES / "page-1"
        command = ["pdftoppm", "-png", "-r", "80", "-singlefile", str(sample_of(DAYS[1])), str(picture)]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
