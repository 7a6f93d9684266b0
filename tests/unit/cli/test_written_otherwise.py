"""An earlier day is one in whatever style of YAML it is written."""

import io
import json

import pytest
import yaml

from tests.unit.cli.test_reinspection import HIGH, HIGH_SAID, NEXT, contract, decided, raised, report

__all__ = ["contract", "decided"]


def as_json(text):
    return json.dumps(yaml.load(io.StringIO(text), yaml.BaseLoader), indent=1)  # noqa: S506 - text alone


def in_flow(text):
    whole = yaml.load(io.StringIO(text), yaml.BaseLoader)  # noqa: S506 - text alone
    return "{" + ", ".join(f"{key}: {json.dumps(value)}" for key, value in whole.items()) + "}\n"


STYLES = {
    "block": lambda text: text,
    "JSON": as_json,
    "flow": in_flow,
    "escaped": lambda text: text.replace("report:", r'"rep\u006frt":', 1),
    "escaped, with another date": lambda text: (
        "# date: 2031-01-01\n" + text.replace("report:", r'"rep\u006frt":', 1).replace("date:", r'"d\u0061te":', 1)
    ),
    "all escaped": lambda text: text.replace("report:", r'"rep\u006frt":', 1).replace(
        "nonconformances:", r'"nonc\u006fnformances":'
    ),
}


@pytest.mark.parametrize("style", STYLES)
def test_what_failed_is_remembered(decided, style):
    other = report(2, **NEXT).replace("A-1", "A-9").replace("A-2", "A-1").replace("A-9", "A-2")
    first = STYLES[style](report(1, reading="4.2"))
    assert decided(first, other)[2] == [
        f"{HIGH_SAID} of SL-1-001 at location 1, and this report does not inspect the area"
    ]


@pytest.mark.parametrize("style", STYLES)
def test_a_nonconformance_is_carried_and_closed(run, decided, style):
    first = STYLES[style](report(1, reading="4.2", more=raised(HIGH)))
    assert decided(first, report(2, **NEXT))[:2] == ("hold", ["open"])
    assert decided(first, report(2, reinspects="N1", **NEXT))[:2] == ("release", ["closed"])
    decided(first, report(2, **NEXT))
    assert "A-1" in json.loads(run("new", "--next", "day2.yaml", "--date", "2026-06-01", "--json").out)["areas_due"]


@pytest.mark.parametrize("style", STYLES)
def test_a_folder_is_exported_with_it(run, contract, decided, style):
    decided(STYLES[style](report(1)))
    assert run("export", ".", "--to", "csv", "-o", "all").code == 0
    assert "SL-1-001" in (contract / "all" / "reports.csv").read_text("utf-8")
