"""Diagnostics of one load, collected from every file and check before any of them stops it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen import __version__
from reportgen.diagnostics import Diagnostic, Severity, Span, in_file_order

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from reportgen.job import ShapeProblem
    from reportgen.yamlsource import Document

JOB_FORMAT: Final = 1
"""Newest format of project and day files."""
_NUMBER: Final = re.compile(r"[0-9]{1,9}")


class Collected:
    """What was found wrong so far; what is ``known`` already is not found again."""

    def __init__(self, known: Iterable[Diagnostic] = ()) -> None:
        self._all: list[Diagnostic] = []
        self._known = {_place(one) for one in known}

    def copy(self) -> Collected:
        """Return what was found so far, by itself."""
        other = Collected()
        other._known = self._known
        other.add(self._all)
        return other

    def add(self, diagnostics: Iterable[Diagnostic]) -> None:
        """Take over diagnostics made elsewhere."""
        self._all.extend(one for one in diagnostics if not self._known or _place(one) not in self._known)

    def at(
        self,
        span: Span | Sequence[Span],
        code: str,
        message: str,
        help_text: str | None = None,
        severity: Severity = "error",
    ) -> None:
        """Note one problem at one place, or at several."""
        spans = (span,) if isinstance(span, Span) else tuple(span)
        self.add([Diagnostic(code, message, spans, help_text, severity)])

    def at_first(self, span: Span, code: str, message: str, help_text: str | None) -> None:
        """Note one problem at a place, unless one of its code was noted there before."""
        if not any(one.code == code and span in one.spans for one in self._all):
            self.at(span, code, message, help_text)

    def shape(self, document: Document, problems: Iterable[ShapeProblem]) -> None:
        """Note what is wrong with the shape of a file, unless the text of that value was objected to already."""
        for problem in problems:
            if document.objected(problem.loc):
                continue
            span = document.span(problem.loc, key=problem.at_key)
            self.at(span, problem.code, problem.message, problem.help_text)

    def later_format(self, document: Document) -> bool:
        """Note that a file is of a later format, by which nothing else in it can be judged; say whether it is."""
        stated = str(document.data.get("format", "")).strip()
        if not _NUMBER.fullmatch(stated) or int(stated) <= JOB_FORMAT:
            return False
        message = f"the file is of format {int(stated)}; reportgen {__version__} reads format {JOB_FORMAT}"
        self.at(document.span(["format"]), "JOB115", message, f"use a later release than {__version__}")
        return True

    def complete(self, diagnostics: Sequence[Diagnostic]) -> None:
        """Where something of their code is wrong, take over all of them: those at places not objected to yet."""
        if not {diagnostic.code for diagnostic in diagnostics} & {known.code for known in self._all}:
            return
        places = {(span.file, span.line, span.column) for known in self._all for span in known.spans}
        self.add(
            one for one in diagnostics if (one.spans[0].file, one.spans[0].line, one.spans[0].column) not in places
        )

    @property
    def errors(self) -> bool:
        """Whether anything stands in the way of a job."""
        return any(diagnostic.severity == "error" for diagnostic in self._all)

    def in_order(self) -> list[Diagnostic]:
        """Return all of it, by file and line."""
        return in_file_order(self._all)


def _place(one: Diagnostic) -> tuple[str, str, tuple[tuple[str, int, int], ...]]:
    """Return by what a problem is known again, whatever units its remedy is told in."""
    return one.code, one.message, tuple((span.file, span.line, span.column) for span in one.spans)
