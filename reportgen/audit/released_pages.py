"""Release pages held against the archive: whether the report they name is here, and still releases the area.

A page decides nothing, and one that is not proven is in doubt by itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.audit.problems import Problem, a_revision
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from reportgen.audit.across_reports import State
    from reportgen.audit.contract_state import ContractAsRead
    from reportgen.audit.index import Index
    from reportgen.words.told import Told

_RELEASED: Final = ("released", "coated")
_PAGES = """
SELECT path, of_contract, of_area, of_number, of_revision, of_sha256 FROM papers JOIN files USING (path)
WHERE releases != '' AND overall = 'passed' ORDER BY path
"""
_NAMED = """
SELECT reports.path, areas.decision FROM left_as JOIN reports USING (path)
LEFT JOIN areas ON areas.path = reports.path AND areas.area = ?
WHERE left_as.sha256 = ? AND reports.contract = ? AND reports.number = ? AND reports.revision = ? LIMIT 1
"""
_OTHERS = "SELECT path FROM files WHERE contract = ? AND number = ? AND revision = ? ORDER BY path"


def release_page_problems(
    index: Index, states: Sequence[State], complete: Iterable[ContractAsRead]
) -> Iterator[Problem]:
    """Yield each proven release page whose report is not here, did not release the area, or releases it no longer."""
    now = {(one.contract, one.area): _word(one) for one in states}
    now |= {(one.contract, area.area): area.word for one in complete for area in one.areas.areas}
    for path, contract, area, number, revision, sha256 in index.rows(_PAGES):
        page = {"file": path, "area": area, "what": a_revision(number, revision)}
        named = index.rows(_NAMED, area, sha256, contract, number, revision)
        if not named:
            others = tuple(other for (other,) in index.rows(_OTHERS, contract, number, revision))
            sentence = told("release-page-of-absent", **page, sha256=sha256[:12], others=others)
            yield Problem(contract, number, "release-page-report-absent", area, sentence, (path,))
            continue
        word = now.get((contract, area), "not inspected")
        if word not in _RELEASED:
            state = told(f"area-{word.replace(' ', '-')}")
            yield _otherwise(contract, number, area, path, told("release-page-overtaken", **page, state=state))
        elif named[0][1] != "release":
            yield _otherwise(contract, number, area, path, told("release-page-unfounded", **page))


def _otherwise(contract: str, number: str, area: str, path: str, sentence: Told) -> Problem:
    return Problem(contract, number, "release-page-overtaken", area, sentence, (path,))


def _word(state: State) -> str:
    """Return how an area stands that no project file lists."""
    if state.decision == "release":
        return "hold" if state.open else "released"
    return state.decision if state.decision in ("rework", "disputed", "unproven") else "hold"
