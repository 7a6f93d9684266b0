"""``export``: day file, contract folder or issued report → tables for a spreadsheet, or data for a program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse

DOES = "write the data of a day file, a folder or an issued report for a spreadsheet or a program"
EXAMPLE = "reportgen export reports/AB-12-IR-001.pdf --to xlsx -o readings.xlsx"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("source", type=Path, metavar="DAY.yaml|FOLDER|REPORT.pdf")
    parser.add_argument("--to", required=True, choices=("csv", "xlsx", "json"))
    parser.add_argument("--table", metavar="NAME", help="only this table, as one CSV file, such as `readings`")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="OUT", help="new file, or new folder for several CSV tables"
    )


def run(options: argparse.Namespace) -> Answer:
    """Write the export; nothing is overwritten."""
    from reportgen import atomicfile
    from reportgen.export import Exported, reports_at
    from reportgen.export import export as exported
    from reportgen.pipeline.checking import evaluated
    from reportgen.pipeline.onsite import write_together

    def of_day(day: Path) -> Exported:
        checked = evaluated(day)
        return Exported(checked.job, checked.evaluation)

    try:
        files = exported(reports_at(options.source, of_day), options.to, table=options.table)
    except KeyError:
        raise UsageError(f"there is no table `{options.table}`", help_text="without --table all are written") from None
    out = options.output or Path(f"{options.source.stem}-export{'' if len(files) > 1 else '.' + options.to}")
    targets = (
        {out / name: data for name, data in files.items()} if len(files) > 1 else {out: next(iter(files.values()))}
    )
    if len(files) > 1:
        if out.exists():
            raise UsageError(f"`{out}` exists already and is never overwritten; nothing was written")
        try:
            out.mkdir(parents=True)
        except OSError as error:
            raise atomicfile.refusal(error, out) from error
    write_together(targets, folder=out if len(files) > 1 else None)
    written = [str(path) for path in targets]
    finished(f"written: {', '.join(written)}")
    return Answer(
        data={"written": written}, text="\n".join(line for one in written for line in wrapped(f"wrote {one}"))
    )
