"""What broke is told in words: no sentence has the name of an exception."""

import re
from pathlib import Path

import pytest

import reportgen
from reportgen.errors import UsageError, told_of

PACKAGE = Path(reportgen.__file__).parent
NAMED = re.compile(r"\b\w*(Error|Exception|Warning)\b")
FAULTS = [KeyError("x"), ValueError("y"), TypeError("z"), RecursionError("w"), IndexError("v"), RuntimeError("u"),
          ArithmeticError("t"), AttributeError("s"), OSError(28, "No space left on device"), ImportError("r"),
          MemoryError(), UsageError("the words of our own")]  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_no_name_and_no_value_of_a_fault_is_told(fault):
    said = told_of(fault)
    assert said
    assert not NAMED.search(said)
    assert not any(f"'{one}'" in said for one in fault.args)


def test_no_sentence_is_made_of_the_name_of_an_exception():
    """Where a bug of ours ends a command, its place is told beside it; names of types of data are no exceptions."""
    found = [
        (path.relative_to(PACKAGE).as_posix(), line.strip())
        for path in PACKAGE.rglob("*.py")
        for line in path.read_text("utf-8").splitlines()
        if "__name__" in line and re.search(r"type\((fault|error|exc|reason|exception)\)", line)
    ]
    assert [path for path, _ in found] == ["browser/app.py"]
