"""Failures in eighty columns; verdicts in one sentence."""

import pytest

from reportgen.cli.terminal import render_diagnostic, render_failure, verdict_sentence
from reportgen.diagnostics import Diagnostic, Span
from reportgen.errors import InputError, UsageError
from reportgen.results import AreaResult, Evaluation
from reportgen.results.values import ReportIdentity


def test_a_narrow_diagnostic_is_as_it_is():
    diagnostic = Diagnostic("JOB110", "unknown field", (Span("d.yaml", 12, 5, 3, "    air: 18", "here"),), "no")
    assert render_diagnostic(diagnostic) == (
        "error[JOB110]: unknown field\n  --> d.yaml:12:5\n"
        "   |\n12 |     air: 18\n   |     ^^^ here\n   |\n   = help: no"
    )


def test_everything_that_is_too_wide_goes_on_below():
    span = Span("f" * 90, 3, 61, 8, "x" * 60 + "manifold" + "y" * 60, "word " * 8)
    text = render_diagnostic(Diagnostic("JOB110", "word " * 20, (span,), "word " * 20))
    words = "word word word word word word word word word word word word word"
    assert text == (
        f"error[JOB110]: {words}\n  word word word word word word word\n"
        f" --> {'f' * 90}:3:61\n"
        "  |\n"
        f"3 | {'x' * 45}manifold{'y' * 23}\n"
        f"  | {' ' * 45}^^^^^^^^\n"
        "  | word word word word word word word word\n"
        "  |\n"
        f"  = help: word {words}\n          word word word word word word"
    )


def test_a_diagnostic_without_a_place():
    text = render_diagnostic(Diagnostic("SRC104", "word " * 20, (), None, "warning"))
    assert all(len(line) <= 80 for line in text.splitlines())
    assert text.startswith("warning[SRC104]: word ")


def test_twenty_of_many_are_shown():
    many = [Diagnostic("X", f"m{number}", (Span("f", number, 1),)) for number in range(1, 24)]
    text = render_failure(InputError(many))
    assert text.count("error[X]") == 20
    assert text.endswith("\n\nand 3 more; mend these first and run the command again")


def test_a_sentence_and_its_help():
    error = UsageError("word " * 20, help_text="word " * 20)
    words = " ".join(["word"] * 14)
    assert render_failure(error) == (
        f"error: {words}\n  word word word word word word\n help: {words}\n       word word word word word word"
    )
    assert render_failure(UsageError("no")) == "error: no"


def evaluation(verdict: str, *decisions: str) -> Evaluation:
    areas = [
        AreaResult(f"A{number}", "S", "n", "conforms", decision, "mil", None, 1, 1)
        for number, decision in enumerate(decisions)
    ]
    return Evaluation(ReportIdentity("R", 0, "2026-05-04"), verdict, tuple(areas))


@pytest.mark.parametrize(
    ("decisions", "missed", "said"),
    [
        (("release",), (), "Conforms: 1 of 1 inspected areas may be released."),
        (("release", "hold"), ("A1",), "Conforms: 1 of 1 inspected areas may be released; A1 not inspected."),
        (("rework", "hold", "release", "release"), (),
         "Conforms: 1 of 4 inspected areas must be reworked, 1 on hold, 2 may be released."),
        ((), ("A1", "A2"), "Not evaluated: no area was inspected; A1, A2 not inspected."),
        ((), (), "Not evaluated: no area was inspected."),
    ],
)  # fmt: skip
def test_verdict_sentence(decisions, missed, said):
    assert verdict_sentence(evaluation("conforms", *decisions), missed) == said
