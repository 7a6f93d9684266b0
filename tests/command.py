"""The command line called in this process: what a process of its own answers, without its start.

Where the process itself is tested, its streams, signals, death or neighbours, it is started instead.
"""

import contextlib
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import IO
from unittest import mock

from reportgen.cli.main import main

WIDTH = {"COLUMNS": "80", "NO_COLOR": "1"}
"""As in a process whose streams are no terminal."""


CAPTURED = io.StringIO()
"""Stands for: what the command answers is returned."""


def run(
    *arguments: object,
    cwd: Path | str | None = None,
    env: dict[str, str] | None = None,
    into: IO[str] | None = CAPTURED,
) -> subprocess.CompletedProcess[str]:
    """Call the command in a folder and return what it answered; the import path it guards is given back.

    ``into`` is its standard output: a stream that takes it, ``None`` as where that is closed.
    """
    given = [os.fsdecode(one) if isinstance(one, bytes) else str(one) for one in arguments]
    out, err, typed = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(3))
    with (
        contextlib.chdir(cwd or "."),
        contextlib.redirect_stdout(out if into is CAPTURED else into),
        contextlib.redirect_stderr(err),
        mock.patch.object(sys, "stdin", typed),
        mock.patch.object(sys, "path", sys.path[:]),
        mock.patch.dict(os.environ, WIDTH | (env or {})),
    ):
        try:
            code = main(given)
        except SystemExit as end:  # of the parser, after it has shown its help
            code = end.code or 0
    return subprocess.CompletedProcess(given, code, *map(_said, (out, err)))


def _said(stream: io.TextIOWrapper) -> str:
    stream.flush()
    return stream.buffer.getvalue().decode("utf-8")
