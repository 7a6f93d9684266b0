"""``completion``: a script for a shell, made from the parser itself, so that it knows what the program knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterator

DOES = "print a script that teaches a shell to complete commands, options and file names"
EXAMPLE = (
    "reportgen completion bash >> ~/.bash_completion\n"
    "reportgen completion zsh > ~/.zfunc/_reportgen\n"
    "reportgen completion fish > ~/.config/fish/completions/reportgen.fish"
)
SHELLS = ("bash", "zsh", "fish")


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=" or ".join(SHELLS))


def run(options: argparse.Namespace) -> Answer:
    """Print the completion script of a shell; file names are completed by the ending they must have."""
    import shtab

    parser = options.whole_parser()
    for action in _actions(parser):
        # what completes an argument is judged by the name its value has in the help
        name = action.metavar if isinstance(action.metavar, str) else ""
        endings = [f"*.{ending}" for ending in ("yaml", "pdf", "csv", "xlsx") if ending in name.lower()]
        if "FILE" in name or "FOLDER" in name or action.dest == "identity":
            action.complete = shtab.DIRECTORY if name == "FOLDER" else shtab.FILE  # type: ignore[attr-defined] # as below
        elif endings:
            action.complete = shtab.glob(*endings)  # type: ignore[attr-defined] # where the library looks for it
    script = str(shtab.complete(parser, shell=options.shell))
    return Answer(data={"shell": options.shell, "script": script}, text=script)


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every option and argument of the parser and of its commands."""
    for action in parser._actions:  # noqa: SLF001 - the library has no public way to its actions
        yield action
        for below in action.choices.values() if isinstance(action.choices, dict) else ():
            yield from _actions(below)
