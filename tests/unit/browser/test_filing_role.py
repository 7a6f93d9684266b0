"""In which role a submittal is signed: as typed, else as the project file has it; never by default the engineer's."""

from types import SimpleNamespace

import pytest

from reportgen.browser import office_views
from reportgen.errors import UsageError
from tests.unit.browser.site import Site
from tests.unit.cli.conftest import contract

__all__ = ["contract"]


@pytest.fixture
def signs(contract, monkeypatch):
    """File nothing, as somebody; answer with the role that would be signed."""
    taken = []

    def submittal(*_, sent, **__):
        taken.append(sent.role)
        return SimpleNamespace(reports=0, pages=1, open_nonconformances=0, notices=())

    monkeypatch.setattr("reportgen.pipeline.filing.submittal", submittal)

    def role(name, given):
        monkeypatch.setattr(office_views, "loaded_identity", lambda *_: SimpleNamespace(name=name))
        office_views.filed(contract, "en", b"", "", given, [], {})
        return taken[-1]

    return role


def test_the_role_is_what_is_typed_or_what_the_project_file_says(signs):
    assert signs("I. Tern", {}) == "inspector"
    assert signs("I. Tern", {"role": "coating inspector"}) == "coating inspector"
    assert signs("O. Reed", {"role": " project engineer "}) == "project engineer"
    with pytest.raises(UsageError, match=r"in which role O\. Reed signs"):
        signs("O. Reed", {"role": " "})


def test_the_form_suggests_no_role(contract):
    (contract / "reports").mkdir()
    (contract / "reports" / "SL-1-001.pdf").write_bytes(b"%PDF-1.7\n")
    page = Site(contract).opened().get("/file").text
    assert 'name="role" value=""' in page
