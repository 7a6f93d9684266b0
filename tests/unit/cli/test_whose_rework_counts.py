"""What the contractor's own inspector enters as blasted again undoes nothing that another found, in part neither.

The oracle is the count of square metres of the rows of rework, without what he entered.
"""

import json
from random import Random

import pytest

from tests.unit.cli.conftest import DAY, PROJECT
from tests.unit.cli.test_closing import CONTRACTORS
from tests.unit.cli.test_rework_fails import SALTS, days_of, decision, entry, outstanding, salted

__all__ = ["decision"]
NUMBER = (
    "nonconformances:\n  - {id: N1, area: A-1, findings: [profile-above-maximum], description: too high,"
    " disposition: rework, decided_by: ines, status: open}\n"
)


@pytest.fixture
def contract(contract):
    text = PROJECT.replace("maximum: 8 h", "maximum: 400 h").replace("people: {ines:", CONTRACTORS)
    (contract / "project.yaml").write_text(text, "utf-8")
    (contract / "day.yaml").unlink()
    return contract


def by(texts, *his):
    """Day files of which those at some places are inspected by the contractor's inspector."""
    return [one.replace("inspector: ines", "inspector: jon") if at in his else one for at, one in enumerate(texts)]


@pytest.mark.parametrize(
    ("row", "his", "released"),
    [
        ("8F 4P 4P", (), True),
        ("8F 4P 4P", (1,), False),
        ("8F 4P 4P", (0, 1), True),  # he undoes what he found himself
        ("8F 4P 8P", (1,), True),
        ("8F 4F 8P", (1,), True),  # what failed in his rework is of the steel that is bad already
        ("8F 4F 4P", (1,), False),
        ("8F *P 4P", (1,), False),
        ("8F 4P 2P 4P", (2,), True),
    ],
)
def test_a_part_that_he_reworked_is_still_to_be_reworked(decision, row, his, released):
    texts = by(days_of(row, range(1, len(row.split()))), *his)
    assert (decision(*texts) == "release") == released
    if not released and len(texts) == 3:
        assert decision(*texts) == "hold"


def test_nor_does_a_nonconformance_close_by_it(run, contract):
    first, second, third = days_of("8F 4P 4P", (1, 2))
    closed = NUMBER.replace("status: open", "status: closed, raised_in: SL-1-001, evidence: readings")
    later = [one.replace("blasted_again:", "reinspects: [N1]\n    blasted_again:") for one in (second, third)]
    texts = [first + NUMBER, later[0] + closed.replace("closed", "open").replace(", evidence: readings", ""),
             later[1] + closed]  # fmt: skip
    for his, decided, status in ((), "release", "closed"), ((1,), "hold", "open"):
        for number, text in enumerate(by(texts, *his), start=1):
            (contract / f"day{number}.yaml").write_text(text, "utf-8")
        result = json.loads(run("check", "day3.yaml", "--json").out)
        (one,) = result["nonconformances"]
        assert (result["areas"][0]["decision"], one["status"]) == (decided, status)
        told = "4 m² of it was blasted again (without SL-1-002: who inspected there may not undo this;"
        assert (told in " ".join(run("check", "day3.yaml").out.split())) == (status == "open")


def test_what_the_other_enters_again_himself_counts(decision):
    first, second, third = by(days_of("8F 4P 4P", (1, 2)), 1)
    his = entry(1, "4P", first=False, date=6, own_date=5)
    assert decision(first, second, third.replace("surfaces:\n", f"surfaces:\n{his}")) == "release"


@pytest.mark.parametrize(("his", "released"), [((), True), ((2,), False)])
def test_nor_is_a_half_good_again_that_he_tested_again(decision, contract, his, released):
    """A half that was salty after its rework is blasted again with the other half, or tested again by who may."""
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("people:", SALTS), "utf-8")
    days = days_of("8F 4P 4P 4P", (1, 2, 3))
    same = entry(1, "4P", first=False, date=6, own_date=5)
    days[2] = days[2][: days[2].index("surfaces:")] + "surfaces:\n" + same + DAY[DAY.index("not_inspected") :]
    days = [salted(day, value) for day, value in zip(days, (10, 60, 10, 10), strict=True)]
    days[2] = days[2].replace("location: S0,", 'location: S0, time: "09:00",')
    assert (decision(*by(days, *his)) == "release") == released


@pytest.mark.parametrize("seed", range(12))
def test_any_row_is_released_where_nothing_is_outstanding_without_his(decision, seed):
    random = Random(seed)  # noqa: S311 - of tests
    groups = ["8F", *(f"{random.choice([2, 4, 6])}{random.choice('PPPF')}" for _ in range(3))]
    his = {at for at in (1, 2) if groups[at].endswith("P") and random.random() < 0.7}
    texts = by(days_of(" ".join(groups), (1, 2, 3)), *his)
    left = outstanding(" ".join(one for at, one in enumerate(groups) if at not in his))
    assert (decision(*texts) == "release") == (left == 0), (groups, his)
