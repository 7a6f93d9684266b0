"""The answer of an audit: the verdict on each file and what was found across them; also as tables."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import TYPE_CHECKING, Any, Final

from reportgen import atomicfile
from reportgen.audit.across_reports import (
    area_states,
    conduct_problems,
    nonconformance_problems,
    raising_problems,
    requirement_problems,
    revision_problems,
)
from reportgen.audit.contract_state import contract_states
from reportgen.audit.facts import USUAL, fact_problems
from reportgen.audit.listings import listed_since
from reportgen.audit.measured import Measured, measured
from reportgen.audit.numbering import numbering_problems, registered_here
from reportgen.audit.places import certificate_problems, copy_problems
from reportgen.audit.problems import PROBLEMS, Problem
from reportgen.audit.refuted import refuted
from reportgen.audit.released_pages import REPORT_OF_PAGE, release_page_problems
from reportgen.audit.screening import screened
from reportgen.audit.written_alike import area_problems, contract_problems, gauge_problems
from reportgen.diagnostics import printable
from reportgen.errors import MachineError
from reportgen.issued import not_looked_at, spoilt_copies
from reportgen.names import shown
from reportgen.words.told import told, told_again

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from reportgen.audit.across_reports import Held
    from reportgen.audit.contract_state import ContractAsRead
    from reportgen.audit.facts import Usual
    from reportgen.audit.index import Index
    from reportgen.audit.listings import ListedSince
    from reportgen.audit.numbering import Registers
    from reportgen.audit.problems import Screen
    from reportgen.audit.refuted import Judge, Refuted
    from reportgen.words.told import Told


@dataclass(frozen=True, slots=True)
class FileVerdict:
    """One file: verdict, reasons as name and sentence, who signed; what it claims to be."""

    path: str
    sha256: str
    kind: str
    overall: str
    reasons: tuple[tuple[str, str], ...]
    signers: tuple[str, ...]
    verified_at: str
    contract: str = ""
    number: str = ""
    revision: int | None = None
    holds_until: str | None = None


@dataclass(frozen=True, slots=True)
class Audit:
    """Everything an audit has to say, independent of the order in which its files were done."""

    folder: str
    verified_at: str
    counts: dict[str, int]
    contracts: int
    reports: int
    files_with_reasons: tuple[FileVerdict, ...]
    problems: tuple[Problem, ...]
    complete: tuple[ContractAsRead, ...] = ()
    """How much of each contract is done, and what of it is there."""
    papers: int = 0
    """Files that are no reports and do not claim to be: they are in none of the counts."""
    broke_off: int = 0
    """Files of which a step was not done through a fault of this machine."""
    not_looked_at: tuple[str, ...] = ()
    """Files that are no PDF, by their names or by how they begin, and links to folders, whose names end with /."""
    screens: tuple[Screen, ...] = ()
    measured: Measured = field(default_factory=Measured)

    @property
    def said(self) -> tuple[Told, ...]:
        """A sentence for each contract, how complete it is, and one on the files that were not looked at."""
        left = not_looked_at(self.not_looked_at)
        return (*(one.sentence for one in self.complete), *(() if left is None else (left,)))

    @property
    def faults(self) -> int:
        """How many problems are faults: what makes the command end with findings."""
        return sum(problem.weight == "fault" for problem in self.problems)

    @property
    def doubts(self) -> int:
        """How many problems could not be decided, or rest on a file that proves nothing."""
        return sum(problem.weight == "doubt" for problem in self.problems)

    def by_code(self) -> dict[str, int]:
        """Return how many problems of each code there are, in the order of the table of codes."""
        counts = Counter(problem.code for problem in self.problems)
        return {code: counts[code] for code in PROBLEMS if counts[code]}


_NOT_PASSED = """
SELECT path, overall FROM files LEFT JOIN papers USING (path)
WHERE overall != 'passed' AND (kind != 'paper' OR releases != '')
"""


def audit_of(index: Index, judge: Judge | None = None, registers: Registers = (), usual: Usual = USUAL) -> Audit:
    """Compare across all files of a complete index, keep what is found in it, and return the answer.

    ``judge`` judges a report beside others; without it none is judged again. ``registers`` are those of contracts, with
    what contract each is of; ``usual`` is what is asked about.
    """
    index.settle()
    followed = list(nonconformance_problems(index))
    against = [] if judge is None else list(refuted(index, judge))
    closing = {"closing-not-entitled", "closed-by-successor"}
    void = {(one.files[0], one.area) for _, one in followed if one.code in closing}
    screening, since = screened(index), listed_since(index)
    areas = list(area_states(index, _held(followed, against, since), void))
    of_areas = [("", problem) for _, problems in areas for problem in problems]
    not_entitled = {"closing-not-entitled", "release-not-entitled"}  # beside others it may not either, for that reason
    vain = {(one.files[0], one.area, name) for name, one in [*followed, *of_areas] if one.code in not_entitled}
    states = [state for state, _ in areas if state is not None]
    held = registered_here(index) if registers else set()
    complete = tuple(contract_states(index, states, registers, held))
    found = (
        *chain(_paper_problems(index), release_page_problems(index, states, complete)),
        *_file_problems(index),
        *_noticed(index),
        *copy_problems(index),
        *numbering_problems(index, registers, held),
        *chain(contract_problems(index), area_problems(index), gauge_problems(index)),
        *chain(requirement_problems(index), not_told_before(since, against), revision_problems(index)),
        *certificate_problems(index),
        *raising_problems(index),
        *(one.problem for one in against if (one.path, one.area, one.nonconformance) not in vain),
        *conduct_problems(index),
        *fact_problems(index, usual),
        *(problem for _, problem in (*followed, *of_areas)),
        *screening.problems,
    )
    others = dict(index.rows(_NOT_PASSED))

    def worst(one: Problem) -> str:
        """The worst verdict on the files that a problem rests on."""
        return min((others.get(path, "passed") for path in one.files), key=_WORST_FIRST.index, default=one.verdict)

    problems = tuple(replace(one, verdict=worst(one)) for one in sorted(set(found)))
    index.finish(states, problems, complete, screening.screens, screening.alike)
    counts = dict(index.rows(_COUNTED))
    contracts, reports = index.rows("SELECT COUNT(DISTINCT contract), COUNT(*) FROM reports")[0]
    return Audit(
        folder=str(index.value("folder")),
        verified_at=str(index.value("verified_at")),
        counts=counts,
        contracts=contracts,
        reports=reports,
        files_with_reasons=tuple(verdicts(index, "WHERE overall != 'passed' AND inside = '' AND kind != 'paper'")),
        problems=problems,
        complete=complete,
        papers=index.rows("SELECT COUNT(*) FROM files WHERE kind = 'paper'")[0][0],
        broke_off=index.rows("SELECT COUNT(*) FROM files WHERE broke_off AND inside = ''")[0][0],
        screens=screening.screens,
        measured=measured(index, screening.heaped),
    )


def not_told_before(since: ListedSince, against: Sequence[Refuted]) -> Iterator[Problem]:
    """Yield what is in doubt by lists and limits, but for laxer limits by which a release is refuted already."""
    refuted = {(one.problem.contract, one.area) for one in against if one.problem.code.startswith("released-under-")}
    for one in since.problems:
        if one.code != "limits-loosened" or (one.contract, one.area) not in refuted:
            yield one


def _held(followed: Sequence[tuple[str, Problem]], against: Sequence[Refuted], since: ListedSince) -> Held:
    """Return what keeps areas from being released: nonconformances left open, and what other reports found.

    Or that what a report releases is less than what failed.

    What rests on a file that did not pass holds nobody's area.
    """
    held: dict[tuple[str, str], list[Told]] = {where: [why] for where, why in since.not_covered.items()}
    for name, problem in followed:
        if problem.code == "nonconformance-never-closed" and not problem.unproven:
            left_open = told("open-raised-in", name=name, number=problem.number)
            held.setdefault((problem.contract, problem.area), []).append(left_open)
    for one in against:
        if one.problem.weight == "fault":
            why = told("open-not-closed", name=one.nonconformance) if one.nonconformance else one.by
            held.setdefault((one.path, one.area), []).append(why)
    return held


_COUNTED = """
SELECT CASE WHEN kind = 'other' AND overall = 'failed' AND path IN (SELECT path FROM papers WHERE releases = '')
    THEN 'indeterminate' ELSE overall END, COUNT(*)
FROM files WHERE inside = '' AND kind != 'paper' GROUP BY 1 ORDER BY 1
"""
"""A paper that names a contract is in doubt, and no report that failed."""
_WORST_FIRST = ("failed", "indeterminate", "passed")


def verdicts(index: Index, which: str = "") -> Iterator[FileVerdict]:
    """Yield the verdicts on the files in the order of their paths; ``which`` is a condition in SQL."""
    columns = "path, sha256, kind, overall, reasons, signers, verified_at, contract, number, revision, holds_until"
    for row in index.each(f"SELECT {columns} FROM files {which} ORDER BY path"):  # noqa: S608 - conditions of our own
        path, sha256, kind, overall, reasons, signers, at, contract, number, revision, until = row
        yield FileVerdict(
            path=path,
            sha256=sha256,
            kind=kind,
            overall=overall,
            reasons=tuple((one["name"], one["sentence"]) for one in told_again(json.loads(reasons))),
            signers=tuple(printable(shown(one["subject"])) for one in json.loads(signers)),
            verified_at=at,
            contract=contract or "",
            number=number or "",
            revision=revision,
            holds_until=until,
        )


def _paper_problems(index: Index) -> Iterator[Problem]:
    """Yield that there are papers, once, and each that is in doubt."""
    which = {"files-papers": "releases = '' AND draft = ''", "files-release-pages": "releases != ''"}
    for code, kind in which.items():
        query = f"SELECT path FROM papers JOIN files USING (path) WHERE kind = 'paper' AND {kind} ORDER BY path"  # noqa: S608 - our own words
        papers = tuple(path for (path,) in index.rows(query))
        if papers:
            yield Problem("", "", "papers", "", told(code, count=len(papers)), papers)
    drafts = index.rows("SELECT path, title FROM papers WHERE draft != '' ORDER BY path")
    if drafts:
        files = tuple(told("draft-named", file=path, title=title) for path, title in drafts)
        sentence = told("files-drafts", count=len(drafts), files=files)
        yield Problem("", "", "papers", "", sentence, tuple(path for path, _ in drafts))
    yield from _papers_in_doubt(index)


def _papers_in_doubt(index: Index) -> Iterator[Problem]:
    """Yield each paper that names a contract as reports do, says that we made it, or is an unproven release page."""
    for path, name in index.rows("SELECT path, names FROM papers JOIN files USING (path) WHERE kind = 'other'"):
        why = told("paper-names", name=name) if name else told("paper-ours")
        yield Problem("", "", "file-in-doubt", "", told("file-because", file=path, why=(why,), other=None), (path,))
    for one in verdicts(index, "JOIN papers USING (path) WHERE releases != '' AND overall != 'passed'"):
        if [name for name, _ in one.reasons] == ["NOT_DONE"] and not index.rows(REPORT_OF_PAGE, one.path):
            continue  # nothing but that its report is not here, which is told as that
        doubts = tuple(sentence for _, sentence in one.reasons)
        yield Problem(
            "", "", "file-in-doubt", "", told("file-because", file=one.path, why=doubts, other=None), (one.path,)
        )


def spoilt_in(index: Index) -> dict[str, str]:
    """Return the files of an index that are spoilt copies of one that is here and proven, each with that one."""
    return spoilt_copies(index.each("SELECT path, covered, overall FROM files"))


def _file_problems(index: Index) -> Iterator[Problem]:
    """Yield each file that did not pass; a submittal tells of what is inside it."""
    asked = "(overall != 'passed' OR kind = 'other') AND inside = '' AND path NOT IN (SELECT path FROM papers)"
    asked += " AND (copy_of IS NULL OR copy_of NOT IN (SELECT path FROM files WHERE overall = 'passed'))"
    spoilt = spoilt_in(index)
    for one in verdicts(index, f"WHERE {asked}"):
        why = tuple(sentence for _, sentence in one.reasons) or (told("file-no-report"),)
        code = "file-failed" if one.overall == "failed" else "file-in-doubt"
        if one.kind == "other" and one.overall != "failed":
            stopped = any(name == "RESOURCE_LIMIT" for name, _ in one.reasons)
            code = code if stopped else "file-unknown"
        sentence = told("file-because", file=one.path, why=why, other=spoilt.get(one.path))
        yield Problem(one.contract, one.number, code, "", sentence, (one.path,))


_NOTICED: Final = {
    "SINCE_CORRECTED": "rules-corrected",
    "OLD_RULES": "rules-long-replaced",
    "SLIP_NOT_UPHELD": "slip-contradicted",
    "WRITTEN_OTHERWISE": "copy-written-otherwise",
}


def _noticed(index: Index) -> Iterator[Problem]:
    """Yield what a reader has to know of a file that is as it was issued: corrected rules, a slip not upheld."""
    question = "SELECT path, notices, contract, number FROM files WHERE notices != '[]' AND inside = '' ORDER BY path"
    for path, notices, contract, number in index.each(question):
        for one in told_again(json.loads(notices)):
            sentence = told("of-a-file", file=path, what=one["sentence"])
            yield Problem(contract or "", number or "", _NOTICED[one["name"]], "", sentence, (path,))


def plain_audit(audit: Audit) -> dict[str, Any]:
    """Return the answer as JSON types."""
    problems = [
        {
            "code": one.code,
            "weight": one.weight,
            "contract": one.contract,
            "number": one.number,
            "area": one.area,
            "sentence": printable(one.sentence),
            "files": list(one.files),
            "verdict": one.verdict,
        }
        for one in audit.problems
    ]
    files = [
        {
            "file": one.path,
            "overall": one.overall,
            "kind": one.kind,
            **({"sha256": one.sha256} if one.sha256 else {}),
            "reasons": [{"name": name, "sentence": printable(sentence)} for name, sentence in one.reasons],
        }
        for one in audit.files_with_reasons
    ]
    return {
        "format": 1,
        "folder": audit.folder,
        "verified_at": audit.verified_at,
        "files": audit.counts,
        "papers": audit.papers,
        **({"not_looked_at": list(audit.not_looked_at)} if audit.not_looked_at else {}),
        "contracts": audit.contracts,
        "reports": audit.reports,
        "by_code": audit.by_code(),
        "contract_states": [_plain_state(one) for one in audit.complete],
        "problems": problems,
        "screens": [
            {"name": one.name, "tests": one.tests, "found": one.found, "not_visible": str(one.unseen)}
            | ({"level": one.level} if one.level else {})
            for one in audit.screens
        ],
        "files_not_passed": files,
    }


def _plain_state(one: ContractAsRead) -> dict[str, Any]:
    """Return how complete a contract is as JSON types."""
    areas, numbers = one.areas, one.numbers
    stated: dict[str, Any] = {"issued": 0}
    if numbers is not None:
        apart = [{name: value for name, value in one._asdict().items() if name != "apart"} for one in numbers.apart]
        stated = {name: value for name, value in numbers._asdict().items() if name not in ("apart", "pattern")}
        stated |= {"missing": list(numbers.missing)} | ({"apart": apart} if apart else {})
    return {
        "contract": one.contract,
        "areas_listed": len(areas.listed),
        "areas_released": areas.done,
        "areas_by_state": dict(sorted(areas.counts.items())),
        "no_longer_listed_not_released": dict(areas.left),
        "removed_from_the_list": [one._asdict() for one in areas.removed],
        "amounts": [{"released": str(done), "listed": str(whole), "unit": unit} for done, whole, unit in areas.amounts],
        "numbers": stated,
    }


_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def write_tables(audit: Audit, index: Index, folder: Path) -> tuple[Path, Path]:
    """Write ``files.csv`` and ``problems.csv`` into ``folder``, which is made; older ones there are replaced.

    Text that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise MachineError(f"{folder} cannot be made: {error.strerror}") from error
    files, problems = folder / "files.csv", folder / "problems.csv"
    heads = ("file", "verdict", "kind", "contract", "number", "revision", "signers", "reasons", "sha256", "holds until")
    rows = (
        (one.path, one.overall, one.kind, one.contract, one.number, one.revision, "; ".join(one.signers),
         "; ".join(f"{name}: {printable(sentence)}" for name, sentence in one.reasons), one.sha256, one.holds_until)
        for one in verdicts(index)
    )  # fmt: skip
    atomicfile.write_replacing(files, _table(heads, rows))
    columns = ("weight", "code", "contract", "number", "area", "problem", "files", "verdict")
    found = (
        (
            one.weight,
            one.code,
            one.contract,
            one.number,
            one.area,
            printable(one.sentence),
            "; ".join(one.files),
            one.verdict,
        )
        for one in audit.problems
    )
    atomicfile.write_replacing(problems, _table(columns, found))
    return files, problems


def _table(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    """Return a CSV table in UTF-8 with CR LF (RFC 4180)."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(heads)
    writer.writerows(
        [f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell for cell in row] for row in rows
    )
    return text.getvalue().encode("utf-8")
