"""The shipped tables of distributions are what the generator writes today, to the last digit."""

import pytest

from tests.unit.references.distribution_tables import TABLES, WRITERS


@pytest.mark.parametrize("name", WRITERS)
def test_the_shipped_table_is_reproduced(name):
    assert (TABLES / f"{name}.csv").read_text("utf-8").splitlines() == WRITERS[name]()
