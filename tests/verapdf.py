"""veraPDF, the reference validator for PDF/A and PDF/UA, run on files that a test has made.

Maven fetches its libraries (`tests/verapdf/pom.xml`), a dozen lines of Java call them. What is compiled is kept in the
user's cache folder, under a hash of its sources.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeVar

import pytest

from tests.outside import needs_program

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Flavour = Literal["3a", "3b", "ua1"]
_Test = TypeVar("_Test", bound="Callable[..., object]")

_SOURCES = Path(__file__).parent / "verapdf"
_SHORT_RUN = ("-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-Xshare:auto")
"""A run of seconds is over before Java has compiled it well, or needs threads to tidy up."""
_FETCH = ("mvn", "--quiet", "--batch-mode", "dependency:build-classpath", "-Dmdep.outputFile=classpath")


def needs_verapdf(test: _Test) -> _Test:
    """Mark a test that validates: skipped with its reason without Java or Maven, an error when CI=true."""
    for program in ("java", "javac", "mvn"):
        test = needs_program(program)(test)
    return test


def verapdf(paths: Sequence[Path], flavour: Flavour) -> dict[Path, list[str]]:
    """Per file, what it fails: "clause-test: message (at place)", each clause once; empty for a compliant file.

    All files are validated by one run of Java. A file that cannot be parsed at all is a RuntimeError.
    """
    folder = _compiled()
    classpath = os.pathsep.join((str(folder), (folder / "classpath").read_text("utf-8").strip()))
    command = ["java", *_SHORT_RUN, "-Dfile.encoding=UTF-8", "-cp", classpath, "Validate", flavour, *map(str, paths)]
    run = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False)
    if run.returncode:
        raise RuntimeError(run.stderr)
    failures: dict[Path, list[str]] = {}
    for line in run.stdout.splitlines():
        kind, *rest = line.split("\t")
        if kind in ("compliant", "failed"):
            failures[Path(rest[0])] = current = []
            clauses = set()
            if kind == "failed":
                current.append("not compliant")
        elif rest[0] not in clauses:
            clauses.add(rest[0])
            current.append(f"{rest[0]}: {rest[1]} (at {rest[2]})")
    if set(failures) != set(paths):
        raise RuntimeError(f"no verdict on {set(paths) - set(failures)}: {run.stdout}{run.stderr}")
    return failures


def _compiled() -> Path:
    """The folder with the compiled class and the classpath; made once per state of the sources."""
    sources = [_SOURCES / name for name in ("pom.xml", "Validate.java")]
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()[:16]
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    folder = cache / "reportgen-tests" / f"verapdf-{digest}"
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        draft = Path(tempfile.mkdtemp(dir=folder.parent))
        for path in sources:
            shutil.copy(path, draft)
        _run(_FETCH, draft)
        classpath = (draft / "classpath").read_text("utf-8").strip()
        _run(("javac", "-cp", classpath, "-d", ".", "Validate.java"), draft)
        if not folder.is_dir():  # another test process may have been quicker
            draft.rename(folder)
    return folder


def _run(command: tuple[str, ...], folder: Path) -> None:
    run = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if run.returncode:
        reason = f"{command[0]} cannot prepare veraPDF: {(run.stdout + run.stderr).strip()[:500]}"
        if os.environ.get("CI") == "true":
            raise RuntimeError(reason)
        pytest.skip(reason)
