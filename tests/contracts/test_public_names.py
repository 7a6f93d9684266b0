"""The public names are few, documented, and really there."""

import subprocess
import sys

import reportgen


def test_every_public_name_loads_and_is_documented():
    for name in reportgen.__all__:
        value = getattr(reportgen, name)
        assert name == "__version__" or value.__doc__


def test_all_is_what_the_homes_offer():
    assert set(reportgen.__all__) == {"__version__", *reportgen._HOMES}


def test_an_unknown_name_is_refused():
    import pytest

    with pytest.raises(AttributeError, match="no attribute 'absent'"):
        _ = reportgen.absent


def test_importing_the_package_loads_nothing_heavy():
    heavy = ("numpy", "pydantic", "reportlab", "matplotlib", "pint")
    code = f"import sys, reportgen; print([m for m in {heavy} if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_a_check_loads_no_library_it_does_not_need(clean_day):
    code = (
        "import sys; from reportgen.cli import main; "
        f"main(['check', {str(clean_day)!r}]); "
        "print([m for m in ('reportlab','matplotlib','pyhanko','pikepdf','PIL') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.splitlines()[-1] == "[]"
