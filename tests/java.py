"""Java programs of a few lines, on libraries that Maven fetches: compiled once per state of their sources."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import pytest

from tests.outside import needs_program

if TYPE_CHECKING:
    from collections.abc import Callable

_Test = TypeVar("_Test", bound="Callable[..., object]")

_SHORT_RUN = ("-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-Xshare:auto", "-Djava.awt.headless=true")
"""A run of seconds is over before Java has compiled it well, or needs threads to tidy up."""
_FETCH = ("mvn", "--quiet", "--batch-mode", "dependency:build-classpath", "-Dmdep.outputFile=classpath")


def needs_java(test: _Test) -> _Test:
    """Mark a test that runs such a program: skipped with its reason without Java or Maven, an error when CI=true."""
    for program in ("java", "javac", "mvn"):
        test = needs_program(program)(test)
    return test


def run_java(folder: Path, program: str, *arguments: str) -> str:
    """Return what the compiled ``program`` in ``folder`` prints; RuntimeError where it fails."""
    classpath = os.pathsep.join((str(folder), (folder / "classpath").read_text("utf-8").strip()))
    command = ["java", *_SHORT_RUN, "-Dfile.encoding=UTF-8", "-cp", classpath, program, *arguments]
    run = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    if run.returncode:
        raise RuntimeError(run.stderr[:2000])
    return run.stdout


def compiled(sources: Path, program: str) -> Path:
    """Return the folder with the compiled ``program`` and its classpath, in the user's cache folder.

    ``sources`` holds it and ``pom.xml``. Where it cannot be made, the test is skipped; with CI=true that is an error.
    """
    paths = [sources / name for name in ("pom.xml", f"{program}.java")]
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()[:16]
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = cache / "reportgen-tests" / f"{sources.name}-{digest}"
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        draft = Path(tempfile.mkdtemp(dir=folder.parent))
        for path in paths:
            shutil.copy(path, draft)
        _run(_FETCH, draft)
        classpath = (draft / "classpath").read_text("utf-8").strip()
        _run(("javac", "-cp", classpath, "-d", ".", f"{program}.java"), draft)
        if not folder.is_dir():  # another test process may have been quicker
            draft.rename(folder)
    return folder


def _run(command: tuple[str, ...], folder: Path) -> None:
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if run.returncode:
        reason = f"{command[0]} cannot prepare {folder.name}: {(run.stdout + run.stderr).strip()[:500]}"
        if os.environ.get("CI") == "true":
            raise RuntimeError(reason)
        pytest.skip(reason)
