"""What verification reads in one step, as a ratio to reading it piece by piece: ``python -m tests.bench.verifying``."""

import io

import pikepdf
from pyhanko.pdf_utils import generic

from reportgen.increments.fields import digit_by_digit, read_hexadecimal
from reportgen.verification.forbidden_content import Opened, _faults_of, content_faults
from tests.bench.budgets import ROOT
from tests.bench.measuring import by_turns, noise, warm
from tests.unit.verification.test_reached import taken_apart

REPORT = ROOT / "samples" / "quarrowmere-2026-06-08.pdf"
VALUE = b"<" + b"30820a0b" * 4096 + b">"
RUNS = 15


def apart(pdf):
    """All objects taken apart for the rules, and again for what the file embeds."""
    for _ in range(2):
        _, found = taken_apart(pdf)
    return [reason for thing in found for reason in _faults_of(thing, set())]


def main():
    """Print processor time of each beside the way it replaces."""
    assert generic.read_hex_string_from_stream is read_hexadecimal
    with pikepdf.open(REPORT) as pdf:
        pairs = {
            "value of a signature": (
                lambda: digit_by_digit(io.BytesIO(VALUE)),
                lambda: read_hexadecimal(io.BytesIO(VALUE)),
            ),
            "objects of a report": (lambda: apart(pdf), lambda: content_faults(Opened(pdf))),
        }
        for name, (before, now) in pairs.items():
            measures = {"before": lambda work=before: warm(work), "now": lambda work=now: warm(work)}
            ratios, costs = by_turns(measures, "before", RUNS)
            print(f"{name:<22} processor {ratios['now'].cpu:6.3f} x, of {noise(costs['before'])}")


if __name__ == "__main__":
    main()
