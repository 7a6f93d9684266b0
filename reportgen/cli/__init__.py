"""The command line: arguments in, sentences and an exit code out. The work is in ``reportgen.pipeline``."""

from reportgen.cli.main import main

__all__ = ["main"]
