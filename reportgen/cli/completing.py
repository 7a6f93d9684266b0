"""``completion``: a script for the shell, made from the parser itself, so that it knows what the program knows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator


def completion_script(parser: argparse.ArgumentParser, shell: str) -> str:
    """Return the script for ``shell`` (bash, zsh or fish); file names are completed by the ending they must have."""
    import shtab

    for action in _actions(parser):
        completed = _completed(shtab, action)
        if completed is not None:
            action.complete = completed  # type: ignore[attr-defined] # where the library looks for it
    return str(shtab.complete(parser, shell=shell))


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every option and argument of the parser and of its commands."""
    for action in parser._actions:  # noqa: SLF001 - the library has no public way to its actions
        yield action
        for below in action.choices.values() if isinstance(action.choices, dict) else ():
            yield from _actions(below)


def _completed(shtab: Any, action: argparse.Action) -> Any:
    """Return what completes an action, judged by the name its value has in the help; None where nothing can."""
    name = action.metavar if isinstance(action.metavar, str) else ""
    if "FILE" in name or "FOLDER" in name or action.dest == "identity":
        return shtab.DIRECTORY if name == "FOLDER" else shtab.FILE
    endings = [ending for ending in ("yaml", "pdf", "csv", "xlsx") if ending in name.lower()]
    return shtab.glob(*(f"*.{ending}" for ending in endings)) if endings else None
