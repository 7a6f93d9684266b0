"""A file a command: ``add`` declares what it takes, ``run`` does it and answers; and the parser of them all.

Nothing that a command does not need is imported to build the parser.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any, cast

from reportgen import __version__
from reportgen.cli.commands import (
    audit,
    check,
    checker,
    compare,
    completion,
    countersign,
    draft,
    explain,
    export,
    history,
    identity,
    intake,
    issue,
    new,
    open,  # noqa: A004 - the command's name; the built-in function is not used here
    register,
    release,
    renew,
    schema,
    sheet,
    slip,
    submittal,
    verify,
)
from reportgen.cli.parsing import WIDTH, Parser, shell_lines

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMANDS = (
    new, open, check, draft, slip, issue, countersign, verify, renew, compare, explain, sheet, intake, export, schema,
    submittal, checker, audit, history, release, register, identity, completion,
)  # fmt: skip
"""In the order in which the help names them."""

_EXITS = "exit codes: 0 done; 1 done, with findings; 2 wrong input;\n            3 a bug of ours; 4 the machine failed"


def build_parser(arguments: Sequence[str] = ()) -> Parser:
    """Return the parser of the whole command line; ``options.run`` is the command to call.

    ``arguments`` are those to be parsed: of a command that they do not name the help knows the name, and nobody more.
    """
    parser = Parser(
        prog="reportgen",
        description="Inspection reports of blast-cleaned steel: validate, compute, sign, verify.",
        epilog=_EXITS,
    )
    parser.add_argument("--version", action="version", version=f"reportgen {__version__}")
    parser.set_defaults(run=None)
    unnamed = Parser(add_help=False)

    def parser_of(**given: Any) -> Parser:
        return Parser(**given) if given["prog"].rpartition(" ")[2] in arguments else unnamed

    verbs: Any = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=cast("Any", parser_of))
    for command in COMMANDS:
        name = command.__name__.rpartition(".")[2]
        if name not in arguments:
            verbs.add_parser(name, help=command.DOES)
            continue
        examples = "\n".join(shell_lines(line.strip()) for line in command.EXAMPLE.splitlines())
        own = verbs.add_parser(
            name,
            help=command.DOES,
            description=textwrap.fill(f"{command.DOES[0].upper()}{command.DOES[1:]}.", WIDTH),
            epilog=f"example:\n{examples}\n\n{_EXITS}",
        )
        own.set_defaults(run=command.run, parser=own, whole_parser=whole_parser)
        own.add_argument("--json", action="store_true", help="print data for a program instead of sentences")
        command.add(own)
    return parser


def whole_parser() -> Parser:
    """Return the parser with every option that there is, for a script that completes them."""
    return build_parser([command.__name__.rpartition(".")[2] for command in COMMANDS])
