"""The tutorial of the README, typed as it stands by somebody who starts from an empty folder."""

import os
import re
import shutil
import subprocess

from reportgen.audit import QUESTIONS
from tests.conftest import ROOT
from tests.e2e.conftest import COMMAND

README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks_of(title):
    """The blocks of commands and files in a section of the README."""
    section = README.split(f"## {title}\n")[1].split("\n## ")[0]
    return re.findall(r"^```(sh|yaml)\n(.*?)^```", section, re.MULTILINE | re.DOTALL)


def typed(script, folder):
    """What a shell says that stops at the first command that fails."""
    environment = {**os.environ, "PATH": f"{COMMAND.parent}{os.pathsep}{os.environ['PATH']}"}
    command = ["bash", "-c", "\n".join(["set -e", *script])]
    ran = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


def test_the_tutorial_works_as_it_stands(tmp_path):
    blocks = blocks_of("First report in ten minutes")
    assert len(blocks) >= 5
    script = [f"cat > 2026-05-04.yaml <<'DAY'\n{text}DAY" if language == "yaml" else text for language, text in blocks]
    said = typed(script, tmp_path)
    assert said.index("second-reading-missing") < said.index("Conforms: 1 of 1")
    made = {path.name for path in (tmp_path / "crane").iterdir()}
    assert made >= {"project.yaml", "2026-05-04.yaml", "sheet.pdf", "draft.pdf", "report.pdf", "2026-05-05.yaml"}


def test_filing_and_auditing_work_as_they_stand(tmp_path):
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    blocks = blocks_of("Filing a contract, auditing an archive")
    assert len(blocks) == 2
    said = typed([text for _, text in blocks], tmp_path)
    assert "submittal.pdf: 3 reports enclosed, " in said
    assert "samples: 4 files, 4 indeterminate; 4 reports of 2 contracts" in said
    assert QUESTIONS["open"].asks in said
    assert "NCR-07-1" in said[said.index(QUESTIONS["open"].asks) :]
    assert {path.name for path in tmp_path.iterdir()} >= {
        "submittal.pdf",
        "audit.pdf",
        "tables",
    }
