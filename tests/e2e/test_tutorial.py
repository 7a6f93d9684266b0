"""The tutorial of the README, typed as it stands by somebody who starts from an empty folder."""

import os
import re
import subprocess

from tests.conftest import ROOT
from tests.e2e.conftest import COMMAND

README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_tutorial_works_as_it_stands(tmp_path):
    section = README.split("## First report in ten minutes")[1].split("\n## ")[0]
    blocks = re.findall(r"^```(sh|yaml)\n(.*?)^```", section, re.MULTILINE | re.DOTALL)
    assert len(blocks) >= 5
    script = ["set -e"]
    for language, text in blocks:
        script.append(f"cat > 2026-05-04.yaml <<'DAY'\n{text}DAY" if language == "yaml" else text)
    environment = {**os.environ, "PATH": f"{COMMAND.parent}{os.pathsep}{os.environ['PATH']}"}
    ran = subprocess.run(
        ["bash", "-c", "\n".join(script)], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    said = ran.stdout
    assert said.index("second-reading-missing") < said.index("Conforms: 1 of 1")
    made = {path.name for path in (tmp_path / "crane").iterdir()}
    assert made >= {"project.yaml", "2026-05-04.yaml", "sheet.pdf", "draft.pdf", "report.pdf", "2026-05-05.yaml"}
