"""A signature field lies on its block on the page: the frames drawn there say so, and the pages built again too."""

import json
import shutil
from unittest import mock

import pytest

from reportgen.cli import main
from reportgen.pipeline import issue_demonstration, issuing
from tests.build_samples import DAYS, issue_time

DAY = DAYS[0]
"""It has photos, which are not embedded."""


def _issued(path, move):
    """Issue a demonstration whose signer places the first field elsewhere, and no field but that."""
    real = issuing.signature_boxes

    def placed(built):
        (page, *corners), *others = real(built)
        return [(page, *(corner + by for corner, by in zip(corners, move, strict=True))), *others]

    with mock.patch.object(issuing, "signature_boxes", placed), mock.patch.object(issuing, "_require_sound"):
        issue_demonstration(DAY, path, at=issue_time(DAY))


def _verified(path, capsys):
    main(["verify", str(path), "--json"])
    return json.loads(capsys.readouterr().out)[0]


@pytest.mark.parametrize("move", [(0, 10, 0, 10), (0, 10, 260, 560), (0, 0, 0, 1), (0, 20, 0, 0)])
def test_a_field_moved_or_grown_is_noticed_without_the_photos(tmp_path, capsys, move):
    _issued(tmp_path / "report.pdf", move)
    said = _verified(tmp_path / "report.pdf", capsys)
    assert said["steps"][9]["status"] == "failed"
    assert said["overall"] == "failed"
    assert "the signature fields on page 1 do not lie on the signature blocks drawn there" in {
        reason["sentence"] for reason in said["reasons"]
    }


def test_a_field_on_its_block_is_not_complained_of(tmp_path, capsys):
    _issued(tmp_path / "report.pdf", (0, 0, 0, 0))
    said = _verified(tmp_path / "report.pdf", capsys)
    assert (said["steps"][8]["status"], said["overall"]) == ("passed", "indeterminate")


@pytest.mark.parametrize("template", ["letter-en", "a4-de"])
@pytest.mark.parametrize("further", [1, 3, 5])
def test_every_countersigners_field_lies_on_its_block(tmp_path, capsys, template, further):
    folder = tmp_path / "job"
    shutil.copytree(DAY.parent, folder, ignore=shutil.ignore_patterns("reports", "*.pdf"))
    names = [f"c{number}" for number in range(further)]
    people = "".join(f"  {name}: {{name: Person {name}, role: engineer}}\n" for name in names)
    project = folder / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("\npeople:\n", f"\npeople:\n{people}"), "utf-8")
    day = folder / DAY.name
    lines = [line for line in day.read_text("utf-8").splitlines() if "countersigners" not in line]
    lines.insert(lines.index("report:") + 1, f"  countersigners: [{', '.join(names)}]")
    day.write_text("\n".join(lines) + "\n", "utf-8")
    issue_demonstration(day, tmp_path / "report.pdf", at=issue_time(DAY), template=template)
    said = _verified(tmp_path / "report.pdf", capsys)
    assert len(said["unfilled_fields"]) == further
    assert said["steps"][8]["status"] == "passed"
