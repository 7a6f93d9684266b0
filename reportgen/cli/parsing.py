"""The reading of a command line: eighty columns, the nearest name for one that is wrong, paths as either system writes.

Everything that is wrong with a command line is a ``UsageError``, answered like any other.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

WIDTH = 80
_WINDOWS = os.name == "nt"


class Formatter(argparse.RawDescriptionHelpFormatter):
    """Help that fits eighty columns however wide the terminal is."""

    def __init__(self, prog: str, **_: object) -> None:
        super().__init__(prog, max_help_position=26, width=min(WIDTH, shutil.get_terminal_size().columns))


class Parser(argparse.ArgumentParser):
    """A parser that raises ``UsageError`` and suggests the nearest command, option or choice."""

    def __init__(self, **given: Any) -> None:
        super().__init__(**{"formatter_class": Formatter, **given})

    def add_argument(self, *names: Any, **given: Any) -> argparse.Action:
        """Add an argument; one that is a path is read by ``parse_path``."""
        return super().add_argument(*names, **{**given, **({"type": parse_path} if given.get("type") is Path else {})})

    def parse_args(  # type: ignore[override] # the library's own overloads end in the same class
        self, args: Sequence[str] | None = None, namespace: Any = None
    ) -> argparse.Namespace:
        """Return the options; what nobody knows is refused with the nearest option that exists."""
        options, rest = self.parse_known_args(args, namespace)
        spoken = getattr(options, "parser", self)
        if rest and not any(word.startswith("-") for word in rest):
            rest = spoken.taken_up(options, rest)
        if rest:
            if rest[0].startswith("-"):
                spoken.refuse_option(rest[0])
            raise UsageError(f"`{rest[0]}` is more than `{spoken.prog}` takes", help_text=spoken.where_to_look())
        return options

    def parse_known_args(  # type: ignore[override] # as above
        self, args: Sequence[str] | None = None, namespace: Any = None
    ) -> tuple[argparse.Namespace, list[str]]:
        """Parse, after refusing unknown long options: a misspelt one must not be reported as a missing one."""
        for word in args or ():
            if word == "--" or (self._subparsers is not None and not word.startswith("-")):
                break
            name = word.split("=", 1)[0]
            if name.startswith("--") and not any(known.startswith(name) for known in self._option_string_actions):
                self.refuse_option(name)
        return super().parse_known_args(args, namespace)

    def taken_up(self, options: argparse.Namespace, rest: list[str]) -> list[str]:
        """Add words that stand after an option to the list that others before it began; return what nothing takes.

        The library gives a list the words that stand together, and no more.
        """
        lists = [one for one in self._actions if not one.option_strings and one.nargs == "+"]
        if len(lists) != 1:
            return rest
        held = getattr(options, lists[0].dest)
        held += [self._get_value(lists[0], word) for word in rest]
        return []

    def refuse_option(self, name: str) -> NoReturn:
        """Raise ``UsageError`` for an option that this command does not have."""
        help_text = _nearest(name, self._option_string_actions) or self.where_to_look()
        raise UsageError(f"`{self.prog}` has no option `{name}`", help_text=help_text)

    def where_to_look(self) -> str:
        """Return the sentence that names this command's help."""
        return f"`{self.prog} --help` shows what it takes, with an example"

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is None or value in action.choices:
            return
        choices = list(action.choices)
        near = _nearest(str(value), choices)
        if isinstance(action, argparse._SubParsersAction):  # noqa: SLF001 - the library gives it no public name
            message, otherwise = f"there is no command `{value}`", f"the commands are {', '.join(choices)}"
        else:
            message = f"`{value}` cannot be chosen for {argparse._get_action_name(action)}"  # noqa: SLF001 - as above
            otherwise = f"choose {' or '.join(map(str, choices))}"
        raise UsageError(message, help_text=near or otherwise)

    def _print_message(self, message: str, _file: Any = None) -> None:
        """Print help and version, at once: what cannot be written must fail before the program ends."""
        sys.stdout.write(message)
        sys.stdout.flush()

    def error(self, message: str) -> NoReturn:
        """Raise ``UsageError`` with what the library noticed."""
        raise UsageError(f"{self.prog}: {message}", help_text=self.where_to_look())


def _nearest(word: str, known: Iterable[str]) -> str | None:
    from reportgen.diagnostics import closest

    near = closest(word, known)
    return f"did you mean `{near}`?" if near else None


def parse_path(text: str) -> Path:
    r"""Return a path as given; where only ``a\b`` spelt as ``a/b`` leads anywhere, that.

    On Windows both are the same. Elsewhere a backslash may belong to a name, so what exists as written is taken so.
    """
    as_given = Path(text)
    if _WINDOWS or "\\" not in text or as_given.exists():
        return as_given
    other = Path(text.replace("\\", "/"))
    leads_somewhere = other.exists() or (other.parent != Path() and other.parent.is_dir())
    return other if leads_somewhere else as_given


def shell_lines(command: str) -> str:
    """Return an example of a command line, continued before an option where it is wider than the screen."""
    lines = [""]
    for part in command.replace(" -", "\n -").split("\n"):
        if lines[-1] and len(lines[-1]) + len(part) > WIDTH - 4:
            lines[-1] += " \\"
            lines.append("    " + part.strip())
        else:
            lines[-1] += part
    return "\n".join(f"  {line}" for line in lines)
