"""What people get who save the attachments of a PDF: by poppler, by pdftk, and by a library that did not write them."""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

import pikepdf

if TYPE_CHECKING:
    from pathlib import Path


def saved_attachments(pdf: Path, folder: Path) -> dict[str, bytes]:
    """The files that ``pdfdetach -saveall``, ``pdftk unpack_files`` and pikepdf all take out, by their names."""
    found = []
    for number, command in enumerate((["pdfdetach", "-saveall", pdf], ["pdftk", pdf, "unpack_files", "output", "."])):
        place = folder / f"saved-{number}"
        place.mkdir(parents=True)
        run = subprocess.run(list(map(str, command)), cwd=place, capture_output=True, text=True, check=False)
        assert run.returncode == 0, (command, run.stdout, run.stderr)
        assert run.stderr == ""
        found.append({path.name: path.read_bytes() for path in place.iterdir()})
    with pikepdf.open(pdf) as opened:
        found.append({name: spec.get_file().read_bytes() for name, spec in opened.attachments.items()})
    assert found[0] == found[1] == found[2]
    return found[0]
