"""The import of matplotlib, at half its cost."""

from __future__ import annotations

from functools import cache

_HOOK = "_update_set_signature_and_docstring"


@cache
def load_matplotlib() -> None:
    """Import what charts need of matplotlib, without it writing the help texts of its hundred artists.

    Those texts take as long as all the rest of the import and nobody reads them here. A release of matplotlib without
    this hook is imported in full.
    """
    from matplotlib.artist import Artist

    written = Artist.__dict__.get(_HOOK)
    if written is not None:
        setattr(Artist, _HOOK, classmethod(lambda _cls: None))
    try:
        import matplotlib.backend_bases
        import matplotlib.figure  # noqa: F401 - imported for its effect
    finally:
        if written is not None:
            setattr(Artist, _HOOK, written)
