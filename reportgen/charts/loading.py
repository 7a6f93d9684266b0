"""The import of matplotlib, at half its cost, and without a home folder where there is none."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path

_PLACE = "MPLCONFIGDIR"


def settle_matplotlib() -> None:
    """Give matplotlib a folder of its own until this process ends, where the home folder cannot hold its cache.

    It would make one itself, say so on standard error, and leave it behind when its process is ended.
    """
    home = os.path.expanduser("~")  # noqa: PTH111 - pathlib raises where there is no home
    wanted = [Path(os.environ.get(name) or f"{home}/{place}") for name, place in (
        ("XDG_CONFIG_HOME", ".config"), ("XDG_CACHE_HOME", ".cache"))]  # fmt: skip
    # each folder, or the nearest above it that is there, can be written
    present = [next((place for place in (folder, *folder.parents) if place.exists()), folder) for folder in wanted]
    if os.environ.get(_PLACE) or all(place.is_dir() and os.access(place, os.W_OK) for place in present):
        return
    folder = tempfile.mkdtemp(prefix="reportgen-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ[_PLACE] = folder


@cache
def load_matplotlib() -> None:
    """Import what charts need of matplotlib, without it writing the help texts of its hundred artists.

    Those texts take as long as all the rest of the import and nobody reads them here. A release of matplotlib without
    the functions that write them is imported in full.
    """
    settle_matplotlib()
    from matplotlib import artist

    silent = {
        (artist.Artist, "_update_set_signature_and_docstring"): classmethod(lambda _cls: None),
        (artist, "kwdoc"): lambda _artist: "",
    }
    written = {(owner, name): vars(owner)[name] for owner, name in silent if name in vars(owner)}
    for owner, name in written:
        setattr(owner, name, silent[owner, name])
    try:
        import matplotlib.backend_bases
        import matplotlib.figure  # noqa: F401 - imported for its effect
    finally:
        for (owner, name), function in written.items():
            setattr(owner, name, function)
