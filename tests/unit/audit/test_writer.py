"""One audit at a time writes an index, by whatever name it is reached."""

import pytest

from reportgen.audit import only_writer
from reportgen.errors import MachineError
from reportgen.pipeline.auditing import audit


def test_an_index_reached_by_a_link_has_one_writer(tmp_path):
    folder, index, link = tmp_path / "reports", tmp_path / "i.sqlite", tmp_path / "link.sqlite"
    folder.mkdir()
    audit(folder, index=index)
    link.symlink_to(index)
    with only_writer(index, "2026-04-01 09:00 UTC"), pytest.raises(MachineError, match="another audit"):
        audit(folder, index=link)
    assert audit(folder, index=link).audit.reports == 0
    assert link.is_symlink()
