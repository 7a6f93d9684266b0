"""The command on a copy of the demo contract, with an identity of its own."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browsing import Person, chromium, served
from tests.checker_page import CheckerPage
from tests.command import run
from tests.conftest import JOBS
from tests.demo_archive import made_once
from tests.footbridge import BODY, COLLEAGUE, CONTRACTORS, INSPECTOR

COMMAND = Path(sys.executable).parent / "reportgen"
PASSPHRASE = "a passphrase for tests"


class Tool:
    """Calls the command in a folder and returns what it said."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __call__(self, *arguments: object, code: int = 0, env: dict[str, str] | None = None):
        result = self._result(arguments, env or {})
        assert result.returncode == code, f"exit {result.returncode}\n{result.stdout}\n{result.stderr}"
        return result

    def _result(self, arguments: tuple[object, ...], env: dict[str, str]) -> subprocess.CompletedProcess[str]:
        return run(*arguments, cwd=self.folder, env=env)


class Installed(Tool):
    """Runs the installed command in a process of its own."""

    def _result(self, arguments: tuple[object, ...], env: dict[str, str]) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(COMMAND), *map(str, arguments)],
            cwd=self.folder,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            stdin=subprocess.DEVNULL,
            env={**os.environ, "NO_COLOR": "1", **env},
        )


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
    """The command, called in the contract folder."""
    return Tool(contract)


@pytest.fixture
def installed(contract: Path) -> Tool:
    """The installed command, run in the contract folder."""
    return Installed(contract)


@pytest.fixture
def identities(tmp_path_factory, monkeypatch) -> Path:
    """The folder of the identities that this user makes on a page, in a state folder of the test's own."""
    state = tmp_path_factory.mktemp("state")
    monkeypatch.setenv("XDG_STATE_HOME", str(state))
    return state / "reportgen" / "identities"


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Identities of the demo's inspector and engineer, made by the command itself."""
    return made_once(tmp_path_factory, "keys-of-the-demo", _keys)


def _keys(folder: Path) -> dict[str, Path]:
    secret = folder / "passphrase"
    secret.write_text(PASSPHRASE, encoding="utf-8")
    secret.chmod(0o600)
    run_in = Tool(folder)
    people = {
        "D. Rusketh": "Ostrel Surface Inspection",
        "P. Ambleweir": "Quarrowmere Water Trust",
        "Someone Else": "Other Body",
    }
    for name, body in people.items():
        run_in("identity", "new", "made", "--name", name, "--organisation", body, "--passphrase-file", secret)
    made = folder / "made"
    return {
        "passphrase": secret,
        "inspector": made / "d-rusketh.p12",
        "inspector-root": made / "d-rusketh-root.pem",
        "engineer": made / "p-ambleweir.p12",
        "engineer-root": made / "p-ambleweir-root.pem",
        "stranger": made / "someone-else.p12",
    }


@pytest.fixture(scope="session")
def signers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Key files of the people of the footbridge, by name."""
    return made_once(tmp_path_factory, "signers", _signers)


def _signers(place: Path) -> dict[str, Path]:
    run_in = Tool(place)
    people = {INSPECTOR: BODY, COLLEAGUE: BODY, CONTRACTORS: "Pellworth"}
    for name, body in people.items():
        run_in(
            "identity", "new", "made", "--name", name, "--organisation", body, env={"REPORTGEN_PASSPHRASE": PASSPHRASE}
        )
    return {name: place / "made" / f"{name.replace('. ', '-').lower()}.p12" for name in people}


@pytest.fixture(scope="session")
def checker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[CheckerPage]:
    """The page that checks reports, open in a browser."""
    page = CheckerPage(tmp_path_factory.mktemp("checker"))
    yield page
    page.close()


def trusted(signers: dict[str, Path]) -> list[Path]:
    """The root certificates of such people."""
    return [file.with_name(f"{file.stem}-root.pem") for file in sorted(signers.values())]


@pytest.fixture(scope="module")
def browser():
    """One browser process for the tests of a module."""
    with chromium() as process:
        yield process


@pytest.fixture
def person_at(browser):
    """Open windows of the browser at an address; they are closed at the end."""
    opened = []

    def at(opening, **how):
        opened.append(Person(browser, opening, **how))
        return opened[-1]

    yield at
    for one in opened:
        one.context.close()


@pytest.fixture
def person(folder, person_at):
    """Somebody at the pages of the test's own ``folder``, who leaves them with nothing unsaid."""
    with served(folder) as opening:
        one = person_at(opening())
        yield one
        one.leaves()


@pytest.fixture
def folder(tmp_path):
    """A copy of the first demonstration contract, to be worked in by the pages."""
    return shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")


@pytest.fixture
def site(folder):
    """Its pages, opened without a browser."""
    from tests.unit.browser.site import Site  # only who asks for pages loads what serves them

    return Site(folder).opened()
