"""``completion``: a script for a shell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer

if TYPE_CHECKING:
    import argparse

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
    """Print the completion script of a shell."""
    from reportgen.cli.completing import completion_script

    script = completion_script(options.whole_parser(), options.shell)
    return Answer(data={"shell": options.shell, "script": script}, text=script)
