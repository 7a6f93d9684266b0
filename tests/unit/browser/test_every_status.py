"""The page of a verification, for every way a step may end."""

from typing import get_args

import pytest

from reportgen.browser import signing_views
from reportgen.browser.desk import Desk
from reportgen.browser.guard import Keys
from reportgen.verification.verdict import Status, Step, Verification


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("status", get_args(Status))
def test_a_step_is_shown_however_it_ended(tmp_path, monkeypatch, status, language):
    answer = Verification("0" * 64, 1, "2026-01-01T00:00:00Z", (Step(12, status, details=("told",)),))
    monkeypatch.setattr(signing_views, "issued_file", lambda *_: (tmp_path / "r.pdf", None))
    monkeypatch.setattr("reportgen.pipeline.verify", lambda *_, **__: answer)
    monkeypatch.setattr(signing_views, "identities", lambda *_: {"kept": "", "made": []})
    view = signing_views.verified(tmp_path, language, "R-1", 0, {})
    shown = Desk(tmp_path, None, Keys(), language).page("proof.html", view).body.decode()
    assert f"#{view['steps'][0]['state']}" in shown
    assert ("told" in view["reasons"]) == (status == "superseded")
