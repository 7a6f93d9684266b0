"""The installed command in a subprocess, on a copy of the demo contract, with an identity of its own."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import JOBS

COMMAND = Path(sys.executable).parent / "reportgen"
PASSPHRASE = "a passphrase for tests"


class Tool:
    """Runs the installed command in a folder and returns what it said."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __call__(self, *arguments: object, code: int = 0, env: dict[str, str] | None = None):
        import os

        result = subprocess.run(
            [str(COMMAND), *map(str, arguments)],
            cwd=self.folder,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            stdin=subprocess.DEVNULL,
            env={**os.environ, "NO_COLOR": "1", **(env or {})},
        )
        assert result.returncode == code, f"exit {result.returncode}\n{result.stdout}\n{result.stderr}"
        return result


@pytest.fixture
def contract(tmp_path: Path) -> Path:
    """A copy of the first demo contract, without anything issued."""
    source = min(path for path in JOBS.iterdir() if path.is_dir())
    return Path(shutil.copytree(source, tmp_path / "contract"))


@pytest.fixture
def days(contract: Path) -> list[Path]:
    """The day files of the contract, in order."""
    return sorted(path for path in contract.glob("2*.yaml"))


@pytest.fixture
def tool(contract: Path) -> Tool:
    """The command, run in the contract folder."""
    return Tool(contract)


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Identities of the demo's inspector and engineer, made by the command itself."""
    folder = tmp_path_factory.mktemp("keys")
    secret = folder / "passphrase"
    secret.write_text(PASSPHRASE, encoding="utf-8")
    secret.chmod(0o600)
    run = Tool(folder)
    people = {
        "D. Rusketh": "Ostrel Surface Inspection",
        "P. Ambleweir": "Quarrowmere Water Trust",
        "Someone Else": "Test Body",
    }
    for name, body in people.items():
        run("identity", "new", "made", "--name", name, "--organisation", body, "--passphrase-file", secret)
    made = folder / "made"
    return {
        "passphrase": secret,
        "inspector": made / "d-rusketh.p12",
        "inspector-root": made / "d-rusketh-root.pem",
        "engineer": made / "p-ambleweir.p12",
        "engineer-root": made / "p-ambleweir-root.pem",
        "stranger": made / "someone-else.p12",
    }
