"""Several apparatus failed, and reworks are of some of them together: a flow says whether each can have its own.

The reference is the linear program of the flow, solved by scipy: of each rework some goes to each apparatus that it
names, together no more than was blasted again, and to each apparatus goes as much as failed of it.
"""

from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from tests.unit.cli.conftest import DAY
from tests.unit.cli.test_rework_fails import FIRST_DATE, contract, decision, entry

__all__ = ["contract", "decision"]

pytestmark = pytest.mark.usefixtures("large")


@pytest.fixture
def large(contract):
    """The area is large enough for all that is blasted on it."""
    path = contract / "project.yaml"
    path.write_text(path.read_text("utf-8").replace("size: 12 m2", "size: 400 m2"), "utf-8")


def can_be_shared_out(failed, reworks):
    """Whether a flow serves all that failed."""
    pairs = [(at, name) for at, (_, names) in enumerate(reworks) for name in names]
    if not pairs:
        return not failed
    most = np.array([[one == at for one, _ in pairs] for at in range(len(reworks))], dtype=float)
    each = np.array([[own == name for _, own in pairs] for name in failed], dtype=float)
    answer = linprog(
        np.zeros(len(pairs)), A_ub=most, b_ub=[size for size, _ in reworks], A_eq=each, b_eq=list(failed.values())
    )
    return answer.status == 0


def days(failed, reworks, cut):
    """What failed on the first shift, each reworked by its own pot; all reworks on that shift, or from one on later."""
    head, tail = DAY[: DAY.index("surfaces:")], DAY[DAY.index("not_inspected") :]
    entries = [
        entry(at, f"{size}F", first=True, date=FIRST_DATE, own_date=FIRST_DATE).replace("pot 1", name)
        for at, (name, size) in enumerate(failed.items())
    ]
    shifts = [entries, []]
    for at, (size, names) in enumerate(reworks):
        shift = int(cut is not None and at >= cut)
        date = FIRST_DATE + shift
        text = entry(len(failed) + at, f"{size}P", first=False, date=date, own_date=date)
        text = text.replace("blasted_again: [pot 1]", f"blasted_again: [{', '.join(names)}]")
        shifts[shift].append(text.replace("apparatus: pot 1", f"apparatus: pot R{at}"))
    texts = []
    for shift, several in enumerate(shifts if shifts[1] else shifts[:1]):
        text = head.replace("SL-1-001", f"SL-1-{shift + 1:03}").replace("2026-05-04", f"2026-05-0{4 + shift}")
        texts.append(f"{text}surfaces:\n{''.join(several)}{tail}")
    return texts


CHAIN = [(4, ["pot 1", "pot 2"]), (4, ["pot 2", "pot 3"]), (4, ["pot 3", "pot 4"])]
"""Twelve square metres were blasted again; of any two neighbours enough."""


@pytest.mark.parametrize(
    ("cut", "last", "released"),
    [(cut, last, not last) for cut in (None, 0, 2) for last in (4, 1, 0) if (cut, last) != (2, 0)],
)
def test_a_chain_of_four_of_which_each_neighbour_has_enough(decision, cut, last, released):
    failed = {f"pot {n}": 4 for n in (1, 2, 3)} | ({"pot 4": last} if last else {})
    reworks = [(size, [name for name in names if name in failed]) for size, names in CHAIN]
    assert can_be_shared_out(failed, reworks) == released
    assert (decision(*days(failed, reworks, cut)) == "release") == released


@pytest.mark.parametrize("seed", range(40))
def test_any_reworks_are_enough_where_a_flow_says_so(decision, seed):
    random = Random(seed)  # noqa: S311 - of tests
    failed = {f"pot {n}": random.randint(1, 4) for n in range(1, random.randint(3, 5))}
    names = list(failed)
    reworks = [
        (random.randint(1, 5), sorted(random.sample(names, random.randint(1, min(3, len(names))))))
        for _ in range(random.randint(2, 5))
    ]
    cut = random.choice([None, 0, 1])
    released = can_be_shared_out(failed, reworks)
    found = decision(*days(failed, reworks, cut)) == "release"
    # a later report that names one of them alone may leave another on hold, until it names that too
    assert found == released or (cut == 1 and not found), (failed, reworks, cut)
