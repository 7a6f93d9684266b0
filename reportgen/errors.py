"""The exceptions of the package and the exit code of each.

::

    ReportgenError                  never raised itself
    ├── InputError            2     a job, template or CSV file is wrong; carries diagnostics
    │   └── ChangedFileError  2     a photo has changed while its report was made
    ├── UsageError            2     the command line, or the state of the folder, does not allow the request
    ├── QuantityError         2     a text is not a quantity of the kind asked for
    ├── RangeError            2     a value lies outside the valid range of a formula
    ├── SealError             2     an identity cannot sign this report
    ├── ProgramError          3     this program found its own work wrong
    └── MachineError          4     disk, key store or timestamp service failed

Anything else that escapes is a bug of ours: exit code 3.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.diagnostics import Diagnostic

EXIT_DONE = 0
EXIT_FINDINGS = 1
EXIT_INPUT = 2
EXIT_BUG = 3
EXIT_ENVIRONMENT = 4


class ReportgenError(Exception):
    """Base of every exception this package raises on purpose; ``exit_code`` is the process's answer."""

    exit_code = EXIT_INPUT

    def __init__(self, message: str, *, help_text: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.help_text = help_text


class InputError(ReportgenError):
    """A file the user wrote cannot be used; ``diagnostics`` name file, line, column and the remedy."""

    def __init__(self, diagnostics: Sequence[Diagnostic]) -> None:
        super().__init__(diagnostics[0].message if diagnostics else "unusable input")
        self.diagnostics = tuple(diagnostics)

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Diagnostic, ...]]]:
        """Go whole from one process to another."""
        return type(self), (self.diagnostics,)


class ChangedFileError(InputError):
    """A file is another, or gone, since the job was loaded that it belongs to."""


class UsageError(ReportgenError):
    """The command line asks for something that cannot be done as asked."""


class QuantityError(ReportgenError):
    """A text is not a quantity of the kind asked for; ``message`` says expected and got."""


class RangeError(ReportgenError):
    """A value lies outside the valid range of a formula; ``message`` names the range and its source."""


class SealError(ReportgenError):
    """An identity cannot sign this report: wrong passphrase, expired, too weak, not its inspector."""


class ProgramError(ReportgenError):
    """The program's own check of its work failed: a bug of ours, and nothing was issued."""

    exit_code = EXIT_BUG


class MachineError(ReportgenError):
    """The machine failed, not the user: disk full, folder read-only, key store or timestamp service out of reach."""

    exit_code = EXIT_ENVIRONMENT


class ToldError(ValueError):
    """What is wrong with a file that was read, as a sentence for a person."""


def told_of(fault: BaseException) -> str:
    """Return what broke, in words for a person: never the name of an exception, nor a value of whatever was read."""
    if isinstance(fault, ReportgenError):
        return fault.message
    if isinstance(fault, ToldError):
        return str(fault)
    if isinstance(fault, OSError):
        return f"this computer says: {fault.strerror or 'it cannot be done'}"
    return BROKEN[kind_of_fault(fault)]


BROKEN = {
    "library": "a library that it needs cannot be loaded here",
    "memory": "there is not enough memory",
    "nesting": "it is nested too deeply",
    "missing": "something that belongs there is missing",
    "value": "a value is not one that belongs there",
    "structure": "its structure is damaged",
}
"""What broke, by the kind of the fault."""


def kind_of_fault(fault: BaseException) -> str:
    """Return the key in ``BROKEN`` of a fault that is none of ours and none of the computer's."""
    kinds: tuple[tuple[tuple[type[BaseException], ...], str], ...] = (
        ((ImportError,), "library"),
        ((MemoryError,), "memory"),
        ((RecursionError,), "nesting"),
        ((LookupError, AttributeError), "missing"),
        ((TypeError, ValueError, ArithmeticError), "value"),
    )
    return next((kind for types, kind in kinds if isinstance(fault, types)), "structure")
