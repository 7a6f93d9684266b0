"""The table of conversions is what the registry answers, for every pair of units that can be converted.

``python -m tests.contracts.test_conversions`` writes it again after a change of the units.
"""

from itertools import permutations
from pathlib import Path

import pytest

from reportgen.errors import QuantityError
from reportgen.units import SPELLINGS, quantity

TABLE = Path(quantity.__file__).with_name("data") / "conversions.csv"
UNITS = sorted({unit for spellings in SPELLINGS.values() for unit in spellings.values()})


def answers() -> dict[tuple[str, str], str]:
    """Return the lines of the table, asked of the registry."""
    found = {}
    for source, target in permutations(UNITS, 2):
        try:
            scale, offset = quantity.asked_of_registry(source, target)
        except QuantityError:
            continue
        found[source, target] = f"{source},{target},{scale},{offset}"
    return found


def test_the_table_is_what_the_registry_answers():
    assert TABLE.read_text("utf-8").splitlines() == ["source,target,scale,offset", *answers().values()]


def test_the_table_converts_within_a_kind_and_nothing_else():
    kinds = [{*spellings.values()} for spellings in SPELLINGS.values()]
    lengths = {*SPELLINGS["height"].values()} | {*SPELLINGS["length"].values()}
    within = {pair for kind in [*kinds, lengths] for pair in permutations(sorted(kind), 2)}
    assert set(answers()) == within


def test_a_pair_outside_the_table_is_asked_of_the_registry():
    assert ("mil", "h") not in quantity.written_conversions()
    with pytest.raises(QuantityError, match="mil cannot be converted to h"):
        quantity.conversion("mil", "h")


if __name__ == "__main__":
    TABLE.write_text("\n".join(["source,target,scale,offset", *answers().values()]) + "\n", "utf-8")
