"""Every file of reference rows says where its numbers are from and why its tolerance is what it is."""

import pytest

from tests.reference.published import DATA, KINDS, names, published


@pytest.mark.parametrize("name", names())
def test_rows_have_a_complete_sidecar(name):
    rows = published(name)
    assert rows.rows
    assert rows.kind in KINDS
    assert (rows.kind == "calculated") == name.endswith("-calculated")
    assert rows.confidence in {"V", "V2", "M", "M+", "CALC", "none"}
    assert rows.source
    assert rows.place
    assert len(rows.why) > 20
    assert rows.tolerance >= 0


def test_no_sidecar_stands_alone():
    assert sorted(path.stem for path in DATA.glob("*.toml")) == names()
