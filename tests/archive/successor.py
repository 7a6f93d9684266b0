"""The release after this one: a copy of the package in which everything changed that a release may change.

A result has a member more, so the evaluation has a format more; a label and a sentence read otherwise, so there is an
edition more of the words; a formula is corrected, so there is one more of the rules.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import reportgen

PACKAGE = Path(reportgen.__file__).parent
CORRECTED = "2026-09-01"

_MEMBER = (
    (
        "measurements/salts/rule.py",
        "    budgets: tuple[ResultBudget, ...] = ()\n",
        "    budgets: tuple[ResultBudget, ...] = ()\n    repeats: int = 0\n",
    ),
    ("formats/evaluation.py", "\nFORMAT = 1\n", "\nFORMAT = 2\n"),
    (
        "formats/evaluation.py",
        "Mapping[str, FormatSpan]] = {}",
        'Mapping[str, FormatSpan]] = {"SaltResult.repeats": FormatSpan(since=2)}',
    ),
)
_WORDS = (
    ("words/editions.py", "WORDS_EDITION: Final = 1", "WORDS_EDITION: Final = 2"),
    ("words/data/en.json", '"decision.hold": "hold"', '"decision.hold": "keep uncoated"'),
    (
        "measurements/salts/en.toml",
        'salts-missing = "{count:no test|# test|# tests}[',
        'salts-missing = "made: {count}[',
    ),
)
_EARLIER_WORDS = {
    "words/data/editions/1/en.json": '{"decision.hold": "hold"}',
    "words/data/editions/1/en.toml": (
        '[observed]\nsalts-missing = "{count:no test|# test|# tests}[, {other} of another kind]"\n'
    ),
}
_RULES = (
    (
        "metrology/contamination.py",
        "def salt_precision(",
        (
            "def salt_density_2(*measured: Quantity) -> Quantity:\n"
            "    density = salt_density(*measured)\n"
            "    return Quantity(2 * Fraction(density.exact), density.unit)\n\n\ndef salt_precision("
        ),
    ),
    ("rules/editions.py", "import salt_density\n", "import salt_density, salt_density_2\n"),
    ("rules/editions.py", "import dataclass\n", "import dataclass, replace\nimport datetime as dt\n"),
    (
        "rules/editions.py",
        "for one in (FIRST,)",
        (
            f"for one in (replace(FIRST, succeeded=dt.date.fromisoformat('{CORRECTED}')),"
            " replace(FIRST, number=2, salt_density=salt_density_2))"
        ),
    ),
)
_RELEASE = (("__init__.py", f'"{reportgen.__version__}"', '"9.0.0"'),)


def seeded(place: Path) -> Path:
    """Write the successor into a folder to be imported from; files that are the same are links."""
    package = place / PACKAGE.name
    shutil.copytree(PACKAGE, package, copy_function=_linked, ignore=shutil.ignore_patterns("__pycache__"))
    for name, old, new in (*_MEMBER, *_WORDS, *_RULES, *_RELEASE):
        path = package / name
        text = path.read_text("utf-8")
        assert text.count(old) == 1, f"{name} has no single `{old}`"
        _write(path, text.replace(old, new))
    for name, text in _EARLIER_WORDS.items():
        _write(package / name, text)
    return place


def _linked(source: str, target: str) -> None:
    try:
        os.link(source, target)
    except OSError:
        shutil.copy2(source, target)


def _write(path: Path, text: str) -> None:
    path.unlink(missing_ok=True)  # else the file that it is a link of would change
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
