"""Signed, self-verifying inspection reports for abrasive-blast-cleaned steel.

The public names are loaded on first use, so that importing the package costs nothing.
"""

from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "check": "reportgen.pipeline",
    "draft": "reportgen.pipeline",
    "evaluate": "reportgen.rules",
    "issue": "reportgen.pipeline",
    "load_job": "reportgen.loader",
    "verify": "reportgen.pipeline",
}

__all__ = ["__version__", "check", "draft", "evaluate", "issue", "load_job", "verify"]


def __getattr__(name: str) -> Any:
    """Load a public name from the room that defines it."""
    import importlib

    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
