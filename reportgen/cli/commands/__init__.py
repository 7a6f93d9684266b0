"""A file a command: ``add`` declares what it takes, ``run`` does it and answers.

Nothing that a command does not need is imported to build the parser.
"""

from __future__ import annotations

from reportgen.cli.commands import (
    audit,
    check,
    completion,
    countersign,
    draft,
    explain,
    export,
    identity,
    intake,
    issue,
    new,
    register,
    schema,
    sheet,
    submittal,
    verify,
)

COMMANDS = (
    new, check, draft, issue, countersign, verify, explain, sheet, intake, export, schema, submittal, audit, register,
    identity, completion,
)  # fmt: skip
"""In the order in which the help names them."""
