"""Signed, self-verifying inspection reports for abrasive-blast-cleaned steel.

The public names are loaded on first use, so that importing the package costs nothing. All else is private: it may
change in any release.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reportgen.job import Job
    from reportgen.loader import load_job
    from reportgen.pipeline import Checked, Written, check, draft, issue, verify
    from reportgen.results import Evaluation
    from reportgen.rules import evaluate
    from reportgen.seal import Identity, load_identity
    from reportgen.verification import Verification

__version__ = "0.1.0"

_HOMES = {
    "Checked": "reportgen.pipeline",
    "Evaluation": "reportgen.results",
    "Identity": "reportgen.seal",
    "Job": "reportgen.job",
    "Verification": "reportgen.verification",
    "Written": "reportgen.pipeline",
    "check": "reportgen.pipeline",
    "draft": "reportgen.pipeline",
    "evaluate": "reportgen.rules",
    "issue": "reportgen.pipeline",
    "load_identity": "reportgen.seal",
    "load_job": "reportgen.loader",
    "verify": "reportgen.pipeline",
}

__all__ = [
    "Checked",
    "Evaluation",
    "Identity",
    "Job",
    "Verification",
    "Written",
    "__version__",
    "check",
    "draft",
    "evaluate",
    "issue",
    "load_identity",
    "load_job",
    "verify",
]


def __getattr__(name: str) -> Any:
    """Load a public name from the room that defines it; it stays here, so that the next use costs nothing."""
    import importlib

    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = globals()[name] = getattr(importlib.import_module(_HOMES[name]), name)
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
