"""A diagnostic is data; its two renderings."""

from reportgen.diagnostics import Diagnostic, Span, as_data, closest, in_file_order, printable, with_caret

SPAN = Span("jobs/a.yaml", 12, 5, 3, "    air: 18", "here")


def test_with_caret():
    assert with_caret(Diagnostic("JOB110", "unknown field", (SPAN,), "did you mean `steel`?")) == (
        "error[JOB110]: unknown field\n"
        "  --> jobs/a.yaml:12:5\n"
        "   |\n"
        "12 |     air: 18\n"
        "   |     ^^^ here\n"
        "   |\n"
        "   = help: did you mean `steel`?"
    )


def test_a_second_place_and_a_warning_without_help():
    other = Span("jobs/a.yaml", 7, 1, 1, "x")
    text = with_caret(Diagnostic("JOB206", "twice", (SPAN, other), severity="warning"))
    assert text.startswith("warning[JOB206]: twice\n")
    assert "\n  ::: jobs/a.yaml:7:1\n" in text
    assert "\n 7 | x\n   | ^\n" in text


def test_without_a_place():
    diagnostic = Diagnostic("SRC104", "the file is empty")
    assert with_caret(diagnostic) == "error[SRC104]: the file is empty"


def test_a_long_line_is_shown_around_its_place():
    line = "a" * 200 + "HERE" + "b" * 200
    shown = with_caret(Diagnostic("X", "m", (Span("f", 1, 201, 4, line),))).splitlines()
    assert shown[3] == "1 | " + "a" * 60 + "HERE" + "b" * 36
    assert shown[4] == "  | " + " " * 60 + "^^^^"


def test_carets_never_leave_the_line_shown_and_are_at_least_one():
    shown = with_caret(Diagnostic("X", "m", (Span("f", 1, 1, 500, "a" * 300),))).splitlines()
    assert shown[4] == "  | " + "^" * 100
    shown = with_caret(Diagnostic("X", "m", (Span("f", 1, 3, 0, "ab"),))).splitlines()
    assert shown[4] == "  |   ^"


def test_as_data():
    assert as_data(Diagnostic("JOB110", "m", (SPAN,), "h", "warning")) == {
        "code": "JOB110",
        "severity": "warning",
        "message": "m",
        "help": "h",
        "places": [{"file": "jobs/a.yaml", "line": 12, "column": 5, "length": 3, "label": "here"}],
    }


def test_order():
    first, second = Diagnostic("A", "m", (Span("a", 2, 1),)), Diagnostic("B", "m", (Span("a", 10, 1),))
    nowhere, other = Diagnostic("C", "m"), Diagnostic("D", "m", (Span("b", 1, 1),))
    assert in_file_order([other, second, first, nowhere]) == [nowhere, first, second, other]


def test_printable_shows_what_would_not_show():
    assert printable("plain µ text – ½") == "plain µ text – ½"
    assert printable("a\x1b[31m\n\u202e\ufeff\ud800\u00a0\U000e0001") == (
        "a\\x1b[31m\\x0a\\u202e\\ufeff\\ud800\\xa0\\U000e0001"
    )


def test_closest_suggests_only_what_is_close():
    assert closest("condtions", ["conditions", "surfaces"]) == "conditions"
    assert closest("xyz", ["conditions"]) is None
