"""The public names are few, documented, and really there."""

import ast
import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest

import reportgen
from reportgen.errors import SealError
from reportgen.seal import demo_identity

PACKAGE = Path(reportgen.__file__).parent


def test_every_public_name_loads_and_is_documented():
    for name in reportgen.__all__:
        value = getattr(reportgen, name)
        assert name == "__version__" or value.__doc__


def test_every_verb_can_be_called_twice_in_one_process(clean_day, tmp_path):
    """A module of a verb's name, once imported, would hide the verb."""
    for again in range(2):
        checked = reportgen.check(clean_day)
        job = reportgen.load_job(clean_day)
        assert isinstance(checked, reportgen.Checked)
        assert isinstance(job, reportgen.Job)
        assert reportgen.evaluate(job) == checked.evaluation
        assert isinstance(checked.evaluation, reportgen.Evaluation)
        written = reportgen.draft(clean_day, tmp_path / f"{again}.pdf")
        assert isinstance(written, reportgen.Written)
        assert isinstance(reportgen.verify(written.path), reportgen.Verification)
        nobody = demo_identity("N. Obody", dt.datetime.now(dt.UTC))
        with pytest.raises(SealError):
            reportgen.issue(clean_day, nobody)


def test_no_module_has_the_name_of_a_public_function():
    taken = {path.stem for path in PACKAGE.iterdir() if path.suffix == ".py" or path.is_dir()}
    assert taken & set(reportgen.__all__) == set()


def test_the_types_reach_who_uses_the_package():
    """`py.typed` is there, and a type checker sees every public name where it is defined."""
    assert (PACKAGE / "py.typed").is_file()
    (typed,) = [
        node for node in ast.parse((PACKAGE / "__init__.py").read_text("utf-8")).body if isinstance(node, ast.If)
    ]
    seen = {alias.name: node.module for node in typed.body for alias in node.names}
    assert seen == reportgen._HOMES


def test_all_is_what_the_homes_offer():
    assert set(reportgen.__all__) == {"__version__", *reportgen._HOMES}


def test_an_unknown_name_is_refused():
    with pytest.raises(AttributeError, match="no attribute 'absent'"):
        _ = reportgen.absent


def test_importing_the_package_loads_nothing_heavy():
    heavy = ("numpy", "pydantic", "reportlab", "PIL", "pint")
    code = f"import sys, reportgen; print([m for m in {heavy} if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_a_check_loads_no_library_it_does_not_need(clean_day):
    code = (
        "import sys; from reportgen.cli import main; "
        f"main(['check', {str(clean_day)!r}]); "
        "print([m for m in ('reportlab','pyhanko','pikepdf','PIL') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]"


@pytest.mark.parametrize("asked", ["--version", "--help"])
def test_what_names_no_command_loads_nothing_to_judge_a_day_with(asked):
    heavy = ("pydantic", "reportgen.formats", "reportgen.rules")
    code = (
        "import sys; from reportgen.cli import main\n"
        f"try: main([{asked!r}])\n"
        f"except SystemExit: print([m for m in {heavy} if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]"
