"""Serving one folder until somebody ends it, the socket and the workers around that; and a file that begins it."""

from __future__ import annotations

import contextlib
import shlex
import socket
import sys
from typing import TYPE_CHECKING, Final

from reportgen import atomicfile
from reportgen.browser.guard import ADDRESS, OPENING, Guard, Keys

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

_RUN: Final = "-m reportgen open"
HEADERS_LIMIT = 16 << 10
MOST_CONNECTIONS = 64


def open_folder(folder: Path, begun: Callable[[Callable[[], str]], None], *, language: str | None = None) -> None:
    """Serve a contract folder, or an empty one, to a browser of this computer until Ctrl-C.

    ``begun`` is called once the address can be opened, with a function that returns an address for one more browser:
    it opens once, within a minute. ``language`` is that of the pages; without it the contract's.

    Raises:
        OSError: no port is free.
    """
    import uvicorn

    from reportgen.browser.app import pages
    from reportgen.browser.patience import Patient
    from reportgen.browser.workers import Processes

    workers = Processes()  # before there is a thread or a socket
    keys = Keys()
    with contextlib.closing(socket.socket(socket.AF_INET, socket.SOCK_STREAM)) as listening:
        listening.bind((ADDRESS, 0))
        port = listening.getsockname()[1]
        listening.listen(MOST_CONNECTIONS)
        config = uvicorn.Config(
            Guard(pages(folder, workers, keys, language=language), port, keys),
            access_log=False, log_config=None, server_header=False, date_header=False, proxy_headers=False,
            ws="none", lifespan="off", http=Patient, h11_max_incomplete_event_size=HEADERS_LIMIT,
            limit_concurrency=MOST_CONNECTIONS, timeout_graceful_shutdown=1,
        )  # fmt: skip
        begun(lambda: f"http://{ADDRESS}:{port}{OPENING}?key={keys.new_opening()}")
        try:
            with contextlib.suppress(KeyboardInterrupt):
                uvicorn.Server(config).run(sockets=[listening])
        finally:
            workers.stop()


def starter_files(program: str) -> dict[str, str]:
    """Return name and text of a starter file for each system; ``program`` is the Python that has this tool.

    Each changes to its own folder first, so that it opens whatever contract it lies in.
    """
    quoted = shlex.quote(program)
    shell = f'#!/bin/sh\ncd "$(dirname "$0")" && exec {quoted} {_RUN} .\n'
    run = f"{quoted} {_RUN} ."
    linux = (
        "[Desktop Entry]\nType=Application\nName=Open the reports\nTerminal=true\n"
        f'Exec=sh -c \'cd "$(dirname "$1")" && exec {run}\' sh %k\n'
    )
    named = program.replace("%", "%%")  # else the name of a variable
    windows = (  # read as UTF-8 from the second line on: in the code page of a console a name may be another
        f'@echo off\r\nchcp 65001 >nul\r\ncd /d "%~dp0"\r\n"{named}" {_RUN} .\r\nif errorlevel 1 pause\r\n'
    )
    return {"open-reports.desktop": linux, "open-reports.command": shell, "open-reports.bat": windows}


def write_starter(folder: Path) -> Path:
    """Write the starter file of this system into a folder; return its path. One that is there is written anew.

    Raises:
        UsageError, MachineError: it cannot be written.
    """
    name = {"darwin": "open-reports.command", "win32": "open-reports.bat"}.get(sys.platform, "open-reports.desktop")
    path = folder / name
    atomicfile.write_replacing(path, starter_files(sys.executable)[name].encode())
    if sys.platform != "win32":
        path.chmod(0o755)
    return path
