"""Project file and day file side by side: models to check, documents to point at, ids to look up."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import Diagnostic, Phrase, closest, known_are
from reportgen.loader.unfinished import Lack, as_written

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.diagnostics import Span
    from reportgen.job import Day, Instrument, Project, SiteClock
    from reportgen.loader.collected import Collected
    from reportgen.yamlsource import Document

Loc = tuple[int | str, ...]

_NOT_THERE: Final = {
    "person": "the project has no person `{name}`",
    "instrument": "the project has no instrument `{name}`",
    "roll": "the project has no roll `{name}`",
    "area": "the project has no area `{name}`",
}


@dataclass(frozen=True)
class Sheets:
    """The two files of a job. When one has faults of shape its model holds the good part, and checks run on that.

    ``clock`` is None when the time zone is unknown. ``gone`` are the unfinished parts of the day file that neither its
    model nor its document has; ``lacks`` is what else is missing, found on the way.
    """

    project: Project
    day: Day
    project_document: Document
    day_document: Document
    found: Collected
    clock: SiteClock | None
    written: Document
    gone: frozenset[Loc] = frozenset()
    lacks: list[Lack] = field(default_factory=list)

    @cached_property
    def ids(self) -> dict[str, tuple[str, ...]]:
        """Ids per kind as the project file names them, whether or not their entries are right."""
        data = self.project_document.data
        kinds = {"person": "people", "instrument": "instruments", "roll": "tape_rolls"}
        found = {kind: tuple(_fields(data.get(block))) for kind, block in kinds.items()}
        structures = entries_of(data.get("structures"))
        areas = (area for structure in structures for area in entries_of(structure.get("areas")))
        return found | {"area": tuple(dict.fromkeys(str(area.get("id", "")).strip() for area in areas))}

    def instrument(self, identifier: str) -> Instrument | None:
        """Return an instrument of the project, or None when there is none or its entry is wrong."""
        return self.project.instruments.get(identifier)

    def place(self, loc: Loc, *, key: bool = False, label: str = "") -> Span:
        """Return a place in the day file."""
        return self.day_document.span(loc, key=key, label=label)

    def refuse(self, loc: Loc, code: str, message: str, help_text: str | None = None, *, key: bool = False) -> None:
        """Note a problem at a place in the day file."""
        self.found.at(self.place(loc, key=key), code, message, help_text)

    def unknown(self, kind: str, name: str) -> tuple[str, str]:
        """Return the sentence for an id that the project file does not have, and the remedy."""
        known = self.ids[kind]
        otherwise = known_are(known) if known else f"enter it in {self.project_document.lines.file}"
        return Phrase(_NOT_THERE[kind], name=name), meant_or(name, known, otherwise)

    def origin(self, loc: Loc) -> Loc:
        """Return the place in the day file as written of a place in what is left of it."""
        return as_written(loc, self.written.data, self.gone)

    def absent(self, part: Loc, loc: Loc, name: str, told: tuple[str, str, str | None]) -> None:
        """Note that nothing else enters what a place in the day file speaks of: ``part`` is set aside for it.

        ``told`` are code, sentence and remedy.
        """
        code, message, help_text = told
        diagnostic = Diagnostic(code, message, (self.place(loc, key=part == loc),), help_text)
        self.lacks.append(Lack(self.origin(part), (), diagnostic, absent=name))


def meant_or(name: str, known: Iterable[str], otherwise: str) -> str:
    """Return the remedy for a name that is not known: the one that was probably meant, else what is told otherwise."""
    meant = closest(name, known)
    return Phrase("did you mean `{meant}`?", meant=meant) if meant else otherwise


def _fields(block: Any) -> dict[str, Any]:
    return block if isinstance(block, dict) else {}


def entries_of(block: Any) -> list[dict[str, Any]]:
    """Return those entries of a list, as written, that are blocks of fields."""
    return [item for item in block if isinstance(item, dict)] if isinstance(block, list) else []
