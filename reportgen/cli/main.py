"""Entry point: guards, dispatch, and one answer for every kind of failure, with what stands in spite of it."""

from __future__ import annotations

import gc
import os
import sys
import traceback
from typing import TYPE_CHECKING

from reportgen.cli.output import AnswerLostError, standard_streams, what_is_finished
from reportgen.errors import EXIT_BUG, EXIT_INPUT, MachineError, ReportgenError, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

_NEW_OBJECTS = 500_000
EXIT_INTERRUPTED = 130
"""What shells answer for a program ended by Ctrl-C."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 findings, 2 input, 3 our bug, 4 the machine, 130 Ctrl-C.

    ``arguments`` defaults to the process's own.
    """
    given = sys.argv[1:] if arguments is None else arguments
    with standard_streams():
        try:
            if arguments is None:
                _start_sooner()
            _ignore_code_beside_the_job()
            # only now, so that neither is taken from the current folder, and a failure of theirs is answered as any
            from reportgen.cli.answers import show
            from reportgen.cli.commands import build_parser

            parser = build_parser(given)
            options = parser.parse_args(given)
            if options.run is None:
                parser.print_help()
                return EXIT_INPUT
            return show(options.run(options), as_json=options.json)
        except ReportgenError as error:
            return _report(error, as_json="--json" in given)
        except KeyboardInterrupt:
            print("\ninterrupted; nothing half-written is left behind", file=sys.stderr)
            _say_what_is_finished()
            return EXIT_INTERRUPTED
        except MemoryError:
            return _report(MachineError("this machine has too little memory free"), as_json="--json" in given)
        except Exception:  # noqa: BLE001 - the last line of defence: a bug must not look like a verdict
            print("reportgen: internal error, which ended the command. This is a bug of the program:", file=sys.stderr)
            traceback.print_exc()
            _say_what_is_finished()
            return EXIT_BUG


def _start_sooner() -> None:
    """Spare a process of our own what its start does not need.

    What is imported stays, so looking through it again and again for garbage finds none. Plugins of pydantic could
    change how a job is validated. The threads numpy begins for large matrices only keep a core busy here.
    """
    gc.set_threshold(_NEW_OBJECTS, 20, 20)
    os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _ignore_code_beside_the_job() -> None:
    """Drop the current folder from the import path: a received job folder must not be able to carry code."""
    try:
        here = os.path.realpath(os.getcwd())  # noqa: PTH109 - pathlib costs start-up time here
    except FileNotFoundError:
        raise UsageError("the current folder is gone", help_text="change to one that exists") from None
    sys.path[:] = [entry for entry in sys.path if entry and os.path.realpath(entry) != here]
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _report(error: ReportgenError, *, as_json: bool) -> int:
    from reportgen.cli.terminal import render_failure, render_failure_json

    if as_json and not isinstance(error, AnswerLostError):
        try:
            print(render_failure_json(error), flush=True)
        except AnswerLostError as lost:
            print(render_failure(lost), file=sys.stderr)
        else:
            return error.exit_code
    print(render_failure(error), file=sys.stderr)
    _say_what_is_finished()
    return error.exit_code


def _say_what_is_finished() -> None:
    from reportgen.cli.terminal import wrapped

    for sentence in what_is_finished():
        print("\n".join(wrapped(f" done: {sentence}", further=7)), file=sys.stderr)
