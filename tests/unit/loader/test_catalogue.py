"""The catalogue of codes has the codes that the rooms use, each with meaning and remedy on one line."""

import re
from pathlib import Path

import reportgen
from reportgen.loader import CODES

PACKAGE = Path(reportgen.__file__).parent
ROOMS = ("yamlsource", "readings", "loader", "job", "measurements", "fields.py", "pipeline")


def test_every_code_used_is_catalogued_and_the_other_way_round():
    used = set()
    for room in ROOMS:
        modules = [PACKAGE / room] if room.endswith(".py") else (PACKAGE / room).rglob("*.py")
        for module in modules:
            if module.name != "codes.py":
                used |= set(re.findall(r'"((?:SRC|JOB|CSV|PTH|PHO)\d{3})"', module.read_text(encoding="utf-8")))
    assert used == set(CODES)


def test_every_line_says_something():
    assert all(re.fullmatch(r"(SRC|JOB|CSV|PTH|PHO)[12]\d\d", code) for code in CODES)
    assert all(text.endswith((".", ").")) and 20 < len(text) < 120 and "\n" not in text for text in CODES.values())
    assert list(CODES) == sorted(CODES, key=lambda code: (["SRC", "JOB", "CSV", "PTH", "PHO"].index(code[:3]), code))
