"""The import of matplotlib, at half its cost."""

from __future__ import annotations

from functools import cache


@cache
def load_matplotlib() -> None:
    """Import what charts need of matplotlib, without it writing the help texts of its hundred artists.

    Those texts take as long as all the rest of the import and nobody reads them here. A release of matplotlib without
    the functions that write them is imported in full.
    """
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
