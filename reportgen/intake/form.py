"""What a sheet carries besides its fields: whose it is, and what each block of fields means.

One hidden read-only text field holds it as JSON, so that a filled sheet explains itself whoever filled it. The names of
the other fields are ``b03_r02_roll1``: block, row (both from 1), cell; they hold no dot, which would make a hierarchy.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen import __version__
from reportgen.errors import UsageError
from reportgen.formats import is_later

if TYPE_CHECKING:
    from reportgen.job import Job

FORM_FIELD: Final = "reportgen_sheet"
FORMAT: Final = 1

FORM_LIMIT: Final = 1 << 20
"""Characters of the hidden field: a sheet of some nine hundred areas."""

_BLOCKS: Final = 6000
_ROWS: Final = 1000
_GENERATOR: Final = f"reportgen {__version__}"
_NOT_OURS: Final = "it does not say which job it belongs to"


@dataclass(frozen=True, slots=True)
class SheetIdentity:
    """Which report a sheet belongs to, and the SHA-256 of the two job files it was made from."""

    contract: str
    number: str
    revision: int
    date: str
    project_sha256: str
    day_sha256: str


@dataclass(frozen=True, slots=True)
class BlockForm:
    """One block: kind of its rows, area, cells, which of them were filled in beforehand, their units, the rolls."""

    kind: str
    area: str | None
    cells: tuple[str, ...]
    given: tuple[str, ...]
    units: dict[str, str]
    rolls: dict[str, str]
    rows: int


@dataclass(frozen=True, slots=True)
class SheetForm:
    """Identity and blocks of a sheet."""

    identity: SheetIdentity
    blocks: tuple[BlockForm, ...]


def sheet_identity(job: Job) -> SheetIdentity:
    """Return the identity of a job's sheets."""
    sha256 = {file.role: file.sha256 for file in job.files if file.role in ("project", "day")}
    report = job.day.report
    return SheetIdentity(
        job.project.project.contract,
        report.number,
        report.revision,
        report.date.isoformat(),
        sha256["project"],
        sha256["day"],
    )


def field_name(block: int, row: int, cell: str) -> str:
    """Return the name of a field; block and row count from 1.

    >>> field_name(3, 2, "roll1")
    'b03_r02_roll1'
    """
    return f"b{block:02d}_r{row:02d}_{cell}"


def render_form(form: SheetForm) -> str:
    """Return the text of the hidden field.

    Raises:
        UsageError: a form so large that the filled sheet could not be taken in.
    """
    plain = {"format": FORMAT, "generator": _GENERATOR, **asdict(form)}
    text = json.dumps(plain, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    longest = max((block.rows for block in form.blocks), default=0)
    if len(text) > FORM_LIMIT or len(form.blocks) > _BLOCKS or longest > _ROWS:
        areas = len({block.area for block in form.blocks if block.area is not None})
        raise UsageError(
            f"a sheet of {areas} areas and up to {longest} rows to a table is more than one sheet can carry",
            help_text="name the areas of the shift with `--area`; readings by the thousand go in as a CSV file",
        )
    return text


def parse_form(text: str) -> SheetForm:
    """Read the text of the hidden field.

    Raises:
        UsageError: when it is not what a sheet of ours carries; or a newer format.
    """
    try:
        return _form(json.loads(text) if len(text) <= FORM_LIMIT else None)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise UsageError(f"this PDF is not a field sheet: {_NOT_OURS}") from None


def _form(plain: Any) -> SheetForm:
    if is_later(plain["format"], FORMAT):
        raise UsageError(
            f"this field sheet is of format {plain['format']}, made by {str(plain.get('generator'))[:40]}; "
            f"{_GENERATOR} reads format {FORMAT}",
            help_text="take it in with the release that made it, or a later one",
        )
    if plain["format"] != FORMAT:
        raise ValueError(_NOT_OURS)
    identity = SheetIdentity(**plain["identity"])
    texts = (identity.contract, identity.number, identity.date, identity.project_sha256, identity.day_sha256)
    if not all(isinstance(text, str) for text in texts) or not isinstance(identity.revision, int):
        raise ValueError(_NOT_OURS)
    if len(plain["blocks"]) > _BLOCKS:
        raise ValueError(_NOT_OURS)
    blocks = []
    for block in plain["blocks"]:
        kind, area, rows = block["kind"], block["area"], block["rows"]
        cells, given = tuple(block["cells"]), tuple(block["given"])
        units, rolls = dict(block["units"]), dict(block["rolls"])
        words = [kind, "" if area is None else area, *cells, *given, *units.values(), *rolls.values()]
        if not all(isinstance(word, str) for word in words) or not isinstance(rows, int) or not 0 < rows <= _ROWS:
            raise ValueError(_NOT_OURS)
        blocks.append(BlockForm(kind, area, cells, given, units, rolls, rows))
    return SheetForm(identity, tuple(blocks))
