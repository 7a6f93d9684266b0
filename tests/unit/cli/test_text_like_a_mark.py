"""A text whose first letters are, in one byte each, a byte-order mark is issued, signed and read as it was written."""

import json

import pikepdf
import pytest

pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.mark.parametrize("mark", ["þÿ", "ÿþ", "ï»¿"])
def test_a_text_that_begins_like_a_mark(run, contract, mark):
    site, role, person, area = f"{mark}weir", f"{mark}engineer", f"{mark}Falk", f"{mark}gate"
    project, day = contract / "project.yaml", contract / "day.yaml"
    text = project.read_text("utf-8").replace("site: Weir", f'site: "{site}"').replace("name: gate", f'name: "{area}"')
    text = text.replace("body: {name: Body", f'body: {{name: "{mark}Body"').replace(
        "project: {name: Sluice", f'project: {{name: "{mark}Sluice"'
    )
    people = f'people: {{falk: {{name: "{person}", role: "{role}"}}, '
    project.write_text(text.replace("people: {", people), "utf-8")
    day.write_text(
        day.read_text("utf-8").replace("inspector: ines}", "inspector: ines, countersigners: [falk]}"), "utf-8"
    )
    for name in ("I. Tern", person):
        assert run("identity", "new", "keys", "--name", name, "--organisation", f"{mark}Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12")[0::2] == (0, "")
    (own,) = {path.name.removesuffix(".p12") for path in (contract / "keys").glob("*falk.p12")}
    assert run("countersign", "reports/SL-1-001.pdf", "--identity", f"keys/{own}.p12", "-o", "both.pdf").code == 0
    roots = ("--trust", "keys/i-tern-root.pem", "--trust", f"keys/{own}-root.pem")
    said = json.loads(run("verify", "both.pdf", *roots, "--json").out)[0]
    assert (said["overall"], said["reasons"]) == ("passed", [])
    with pikepdf.open(contract / "both.pdf") as opened:
        own, other = opened.Root.AcroForm.Fields
        assert str(own.V.Location) == site
        assert role in str(other.TU)
        assert str(other.V.Name) == person
        assert str(opened.docinfo.Author) == f"{mark}Body"
        assert str(opened.docinfo.Subject).startswith(f"{mark}Sluice")
        with opened.open_outline() as outline:
            titles = [str(item.title) for item in _all(outline.root)]
        assert any(area in title for title in titles)


def _all(items):
    for item in items:
        yield item
        yield from _all(item.children)
