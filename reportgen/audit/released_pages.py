"""Release pages held against the archive: whether the report they name is here, and still releases the area.

A page decides nothing, and one that is not proven is in doubt by itself.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from reportgen.audit.problems import Problem, a_revision
from reportgen.names import spelling
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.audit.across_reports import State
    from reportgen.audit.contract_state import ContractAsRead
    from reportgen.audit.index import Index

_RELEASED: Final = ("released", "coated")
REPORT_OF_PAGE: Final = """
SELECT 1 FROM papers WHERE path = ? AND (of_sha256 IN (SELECT sha256 FROM left_as)
    OR of_covered IN (SELECT covered FROM files WHERE kind = 'report' AND overall != 'failed'))
"""
"""Whether the report is here that a release page names."""
_PAGES: Final = """
SELECT path, overall, reasons, of_contract, of_area, of_number, of_revision, of_sha256
FROM papers JOIN files USING (path) WHERE releases != '' ORDER BY path
"""
_OTHERS: Final = "SELECT path FROM files WHERE contract = ? AND number = ? AND revision = ? ORDER BY path"


def release_page_problems(
    index: Index, states: Sequence[State], complete: Iterable[ContractAsRead]
) -> Iterator[Problem]:
    """Yield each release page whose report is not here and that is in no other doubt, or that no longer holds.

    What a page says otherwise than the report it names is found where that is settled: it fails.
    """
    now = {(spelling(one.contract), one.area): _word(one) for one in states}
    now |= {(spelling(one.contract), area.area): area.word for one in complete for area in one.areas.areas}
    for path, overall, reasons, contract, area, number, revision, sha256 in index.rows(_PAGES):
        page = {"file": path, "area": area, "what": a_revision(number, revision)}
        word = now.get((spelling(contract), area), "not inspected")
        if overall == "passed" and word not in _RELEASED:
            state = told(f"area-{word.replace(' ', '-')}")
            sentence = told("release-page-overtaken", **page, state=state)
            yield Problem(contract, number, "release-page-overtaken", area, sentence, (path,))
        elif [one["name"] for one in json.loads(reasons)] == ["NOT_DONE"] and not index.rows(REPORT_OF_PAGE, path):
            others = tuple(other for (other,) in index.rows(_OTHERS, contract, number, revision))
            sentence = told("release-page-of-absent", **page, sha256=sha256[:12], others=others)
            yield Problem(contract, number, "release-page-report-absent", area, sentence, (path,))


def _word(state: State) -> str:
    """Return how an area stands that no project file lists."""
    if state.decision == "release":
        return "hold" if state.open else "released"
    return state.decision if state.decision in ("rework", "disputed", "unproven") else "hold"
