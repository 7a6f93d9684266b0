"""``export``: day file, contract folder or issued reports → tables for a spreadsheet, or data for a program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_processes, add_quick, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.cli.terminal import wrapped
from reportgen.errors import UsageError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from reportgen.export import Exported, Format, Table

DOES = "write the data of a day file, a folder or issued reports for a spreadsheet or a program"
EXAMPLE = (
    "reportgen export reports/AB-12-IR-001.pdf --to csv --table readings\n"
    "  reportgen export reports/*.pdf --trust authority.pem -o readings.xlsx"
)


_KINDS: Final[tuple[Format, ...]] = ("csv", "xlsx", "json")


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "source", nargs="+", type=Path, metavar="DAY.yaml|FOLDER|REPORT.pdf|INDEX",
        help="a day file, a folder of them, or a report; several reports, or a folder of them, which are verified"
        " first; or the index of an audit, which says how its reports stand",
    )  # fmt: skip
    parser.add_argument("--to", choices=_KINDS, help="default: as the name of OUT ends, else xlsx")
    parser.add_argument("--table", metavar="NAME", help="only this table, as one CSV file, such as `readings`")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="OUT", help="new file, or new folder for several CSV tables"
    )
    add_trust(parser)
    add_quick(parser)
    add_processes(parser)


def run(options: argparse.Namespace) -> Answer:
    """Write the export; nothing is overwritten."""
    from reportgen import atomicfile
    from reportgen.export import export
    from reportgen.pipeline.onsite import write_together
    from reportgen.words.numbers import counted

    passed, kind = passed_over(options.trust), kind_asked(options)
    reports, first, left_out = _reports(options)
    try:
        files = export(reports, kind, table=options.table, first=first)
    except KeyError:
        raise UsageError(f"there is no table `{options.table}`", help_text="without --table all are written") from None
    named = options.source[0].stem or "reports"
    stem = f"{named if len(options.source) == 1 else 'reports'}-export"
    out = options.output or Path(f"{stem}{'' if len(files) > 1 else '.' + kind}")
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
    said = [] if left_out is None else [f"{counted(len(reports), 'report')} exported"]
    said += [f"no data of {counted(left_out, 'file')}: the table `files` says why"] if left_out else []
    return Answer(
        data={
            "written": written,
            **({} if left_out is None else {"reports": len(reports), "files_left_out": left_out}),
        },
        text="\n".join(line for one in (*said, *(f"wrote {one}" for one in written)) for line in wrapped(one)),
        notes=passed,
    )


def kind_asked(options: argparse.Namespace) -> Format:
    """Return as what to write: as is said, else as the name to write ends; ``UsageError`` where the two differ."""
    ending = options.output.suffix.lower().removeprefix(".") if options.output else ""
    if options.to and ending in _KINDS and ending != options.to:
        raise UsageError(
            f"`{options.output}` is not to hold {options.to}", help_text=f"leave out `--to {options.to}`, or rename it"
        )
    if ending == "csv" and not options.to and not options.table:
        raise UsageError(f"`{options.output}` can hold one table only", help_text="name it: --table; or --to csv")
    by_ending: dict[str, Format] = {kind: kind for kind in _KINDS}
    chosen: Format = options.to or by_ending.get(ending) or ("csv" if options.table else "xlsx")
    return chosen


def _reports(options: argparse.Namespace) -> tuple[Sequence[Exported], Sequence[Table], int | None]:
    """Return the reports; of many PDFs also the table of the files, and how many of them gave nothing."""
    from reportgen.audit import is_index
    from reportgen.cli.progress import Progress
    from reportgen.export import Exported, day_files, reports_at
    from reportgen.pipeline.checking import evaluated
    from reportgen.pipeline.exporting import exported_index, exported_together
    from reportgen.pipeline.workers import Spread

    def of_day(day: Path) -> Exported:
        checked = evaluated(day)
        return Exported(checked.job, checked.evaluation)

    only = options.source[0]
    with Progress("read") as progress:
        if len(options.source) == 1 and is_index(only):
            many = exported_index(only, progress)
            return many.reports, (many.files,), many.left_out
    if len(options.source) == 1 and not (only.is_dir() and not day_files(only) and any(only.rglob("*.[pP][dD][fF]"))):
        return reports_at(only, of_day), (), None
    with Progress("verified") as progress:
        many = exported_together(
            options.source,
            trust=options.trust,
            policy=options.policy,
            quick=options.quick,
            spread=Spread(options.processes),
            progress=progress,
        )
    return many.reports, (many.files,), many.left_out
