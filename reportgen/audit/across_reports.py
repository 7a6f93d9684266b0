"""What the reports themselves say, across the archive: areas, nonconformances, requirements, conduct.

Only reports that count are heard, and a later one overrides what is proven no better than itself. A revision takes back
by saying so, never by silence: a nonconformance that the one before it left open, and that it does not name, is open.
Who may not revise the report that raised a nonconformance closes it by no other report either, nor releases an area
that the report left on hold or for rework.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.audit.places import filed_as, lacking_files, standing_from
from reportgen.audit.problems import Problem, a_revision
from reportgen.issued import (
    COUNTING,
    NOT_STATED,
    Counting,
    Filed,
    Found,
    Judged,
    RequirementRecord,
    Said,
    Settling,
    Spoken,
    Told,
    as_counted,
    as_successor,
    changes,
    in_favour,
    in_sequence,
    last_words,
    left_out,
    measured_otherwise,
    says_nothing_new,
    settled_as_successor,
    settled_in_doubt,
    settled_in_vain,
)
from reportgen.names import short_title
from reportgen.words.told import told, told_from_json

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator

    from reportgen.audit.index import Index
    from reportgen.issued import Lacking
    from reportgen.issued.requirements import Variation
    from reportgen.words.told import Told as Sentence

_FINDINGS = {
    "coated-without-release": "coated-while-not-released",
    "calibration-overdue": "instrument-past-calibration",
    "measured-before-blasting": "readings-before-blasting",
}
_STANDING = (
    "reports.ordered, reports.number, reports.path, reports.revision, place, reports.overall, reports.unproven, doubts,"
    " certificate, signer, hands"
)
_REPORTS = """
SELECT reports.contract, reports.number, reports.revision, date, unproven, requirements, path, row, issued_at
FROM reports LEFT JOIN upon USING (path)
WHERE requirements != '' AND place IN ('decides', 'disputed', 'superseded') AND reports.contract IN
    (SELECT contract FROM reports GROUP BY contract HAVING COUNT(DISTINCT requirements) > 1)
ORDER BY reports.contract, issued_at, date, reports.number, reports.revision, path
"""
_BEFORE = """
JOIN reports AS before ON before.contract = mine.contract AND before.number = mine.number
    AND mine.revision > 0 AND mine.place IN ('decides', 'disputed', 'superseded')
    AND before.place = 'superseded' AND before.revision = (
        SELECT MAX(revision) FROM reports AS valid WHERE valid.contract = mine.contract AND valid.number = mine.number
        AND valid.place = 'superseded' AND valid.revision < mine.revision)
"""
"""The valid revision before one that is valid."""
_REVISED = f"""
SELECT mine.contract, mine.number, mine.path, mine.supersedes_reason, mine.unproven, areas.area, mine.revision,
    areas.decision, areas.found, before.path, before.revision, was.decision, was.found
FROM reports AS mine JOIN areas ON areas.path = mine.path {_BEFORE}
JOIN areas AS was ON was.path = before.path AND was.area = areas.area
ORDER BY mine.contract, mine.number, mine.revision, mine.path, areas.area, before.path
"""  # noqa: S608 - our own words
_MOVED = f"""
SELECT DISTINCT mine.contract, mine.number, mine.revision, mine.path, mine.unproven, before.path, before.revision,
    was.area, own.area
FROM reports AS mine {_BEFORE}
JOIN reading_sets AS own ON own.path = mine.path
JOIN reading_sets AS was ON was.path = before.path AND was.hash = own.hash AND was.area != own.area
WHERE NOT EXISTS (SELECT 1 FROM reading_sets AS kept WHERE kept.hash = own.hash
    AND ((kept.path = mine.path AND kept.area = was.area) OR (kept.path = before.path AND kept.area = own.area)))
ORDER BY mine.contract, mine.number, mine.revision, mine.path, was.area, own.area
"""  # noqa: S608 - our own words
_RAISED = """
SELECT mine.contract, mine.number, mine.revision, mine.path, mine.unproven, noted.id, noted.area, noted.raised_in,
    (SELECT MIN(held.path) FROM reports AS held WHERE held.contract = mine.contract AND held.number = noted.raised_in),
    (SELECT MIN(other.path) FROM reports AS other WHERE other.contract != mine.contract
        AND other.number = noted.raised_in) AS elsewhere
FROM nonconformances AS noted JOIN reports AS mine ON mine.path = noted.path
WHERE mine.counts AND noted.raised_in != mine.number AND NOT EXISTS (
    SELECT 1 FROM reports AS held JOIN nonconformances AS theirs ON theirs.path = held.path
    WHERE held.contract = mine.contract AND held.number = noted.raised_in AND theirs.raised_in = held.number
        AND theirs.id = noted.id AND theirs.area IS noted.area AND held.date <= mine.date
        AND held.unproven <= mine.unproven)
ORDER BY mine.contract, mine.ordered, mine.path, noted.id, noted.area
"""
_HEARD = "place IN ('decides', 'disputed', 'superseded', 'not entitled')"
_MAY_NOT_CLOSE = "may not close"
"""Place of a report that counts, among those that speak of a thing: it names it, and its closing or release is void."""
_INSPECTED = "areas.verdict != 'not evaluated' OR n_locations > 0"
_MEASURED = (
    "found || areas.n_locations || ' ' || COALESCE(areas.mean, '') || ' ' || COALESCE(standard_deviation, '') || ' '"
    " || COALESCE(areas.minimum, '') || ' ' || COALESCE(areas.maximum, '')"
)
_NOT_SEEN = "not seen"
"""As above: it names an area that it did not inspect, and an earlier one did."""


class _Word(NamedTuple):
    """What a report says of an area or a nonconformance: a decision or a status, and where it was raised.

    ``measured`` is what it measured of the area.
    """

    number: str
    revision: int
    path: str
    overall: str
    unproven: bool
    word: str
    area: str = ""
    raised_in: str = ""
    measured: str = ""

    @property
    def title(self) -> str:
        """The report, by number and revision, briefly."""
        return short_title(self)

    @property
    def named(self) -> Sentence:
        """The report, by number and revision."""
        return a_revision(self.number, self.revision)

    @property
    def said(self) -> Sentence:
        """What it says, in words."""
        return told(f"word-{self.word}")


@dataclass(frozen=True, slots=True)
class _Heard:
    """All that is said of one thing: by reports that count, by revisions replaced since, by those not entitled.

    One that may not close it is among ``spoken``, so that it is not taken for silent.
    """

    counting: list[Said[_Word]]
    spoken: list[Spoken[_Word]]
    barred: list[_Word]


class State(NamedTuple):
    """An area as it stands (``as_counted``); the report that decides, or the last that contradicts.

    ``contested`` are reports that say otherwise and do not count, ``open`` the nonconformances, on the area or on none
    in particular, that are open: no area is released while one is.
    """

    contract: str
    area: str
    decision: str
    path: str
    contested: Sentence | None = None
    open: Sentence | None = None


Held = Mapping[tuple[str, str], Sequence["Sentence"]]
"""What keeps areas from being released, by contract and area, or by the file that decides and area: names.

Without an area it is of all.
"""


def conduct_problems(index: Index) -> Iterator[Problem]:
    """Yield areas coated while not released, instruments used past calibration."""
    for code, problem in _FINDINGS.items():
        yield from _found(index, code, problem)


def area_states(
    index: Index, held: Held, void: Collection[tuple[str, str]]
) -> Iterator[tuple[State | None, list[Problem]]]:
    """Yield each area as it stands, with what later but less proven reports say otherwise, and releases that are void.

    One that would be released is on hold by what is ``held``. ``void`` are reports with areas on which they close a
    nonconformance in vain, or as a successor: that they release these too is not told again. What was not
    released stays so where a revision leaves it out; None for any other area that no report names which counts.
    """
    rows = index.each(
        f"SELECT contract, area, {_STANDING}, decision, {_INSPECTED}, speaks, {_MEASURED}"  # noqa: S608 - our own words
        f" FROM areas JOIN reports USING (path) WHERE {_HEARD}"
        " ORDER BY contract, area, ordered, reports.number, revision, path"
    )
    silent, lacks = _Counted(index), lacking_files(index)
    for (contract, area), members in groupby(rows, key=lambda row: row[:2]):
        of_area = list(members)
        settlings = _settlings(of_area)
        vain = dict(settled_in_vain(settlings))  # each with the report that had not released it
        succeeded = dict(settled_as_successor(settlings))
        hands = {one.what: one.filed for one in settlings}
        said = [_said(row[2:13], _word(row[2:13], row[13], area, measured=row[16])) for row in of_area]
        said = [(_MAY_NOT_CLOSE if one.what in vain else place, one) for place, one in said]
        heard = _heard(list(_as_seen(said, of_area)))
        gone = list(_areas_gone(contract, area, heard, silent))
        releases = [
            *(_release_void(contract, *pair, _namesake(*(hands[one] for one in pair))) for pair in vain.items()),
            *(
                _asked_about(contract, word, told("does-release", area=area), (before.title, before.path), hands[word])
                for word, before in succeeded.items()
            ),
        ]
        releases = [one for one in releases if (one.files[0], area) not in void]
        beside = [*vain, *succeeded.values(), *(word for word, _ in gone)]
        doubted = _Doubted(frozenset(settled_in_doubt(settlings)), lacks)
        state, problems = _state(contract, area, heard, beside, held, doubted)
        state = state or _left_unreleased(contract, area, gone)
        yield state, [*problems, *releases, *(problem for _, problem in gone)]


def _as_seen(
    said: Sequence[tuple[str, Said[_Word]]], rows: Sequence[tuple[Any, ...]]
) -> Iterator[tuple[str, Said[_Word]]]:  # fmt: skip
    """Yield what files say of an area, with the place of those that did not inspect it and leave it as it was."""
    counting = [
        (number, Told(row[13] if row[14] else "", bool(row[15]), one.standing))
        for number, ((place, one), row) in enumerate(zip(said, rows, strict=True))
        if place in COUNTING
    ]
    silent = says_nothing_new(seen for _, seen in counting)
    unseen = {number for (number, _), left in zip(counting, silent, strict=True) if left}
    yield from ((_NOT_SEEN if number in unseen else place, one) for number, (place, one) in enumerate(said))


def _settlings(rows: Sequence[tuple[Any, ...]]) -> list[Settling[_Word]]:
    """Return what reports that count say of an area, where some release it and some do not."""
    counting = [row for row in rows if row[6] in COUNTING and row[14]]
    if len({row[13] == "release" for row in counting}) == 1:
        return []
    return [
        Settling(
            filed_as(row[5], row[9], row[10], row[12]), row[3], row[13] == "release",
            _word(row[2:13], row[13], row[1], measured=row[16]),
        )
        for row in counting
    ]  # fmt: skip


def _namesake(filed: Filed, before: Filed) -> Sentence | None:
    """Say where one signed in the name of the signer of ``before`` and is another by the pin there."""
    return told("named-with-another") if filed.is_namesake_of(before) else None


def _release_void(contract: str, word: _Word, before: _Word, namesake: Sentence | None) -> Problem:
    its = {"what": word.named, "area": word.area, "before": before.named, "word": before.said}
    sentence = told("released-unentitled", **its, namesake=namesake)
    files = (word.path, before.path)
    return Problem(contract, word.number, "release-not-entitled", word.area, sentence, files, unproven=word.unproven)


class _Doubted(NamedTuple):
    """What is not believed of an area: releases that rest on the word of a successor, and files that lack another."""

    releases: frozenset[_Word]
    lacks: Mapping[str, Lacking]


def _state(
    contract: str, area: str, heard: _Heard, beside: Sequence[_Word], held: Held, doubted: _Doubted
) -> tuple[State | None, list[Problem]]:  # fmt: skip
    """Return how an area stands, and what less proven reports say otherwise.

    It is None for an area that no report names which counts.

    ``beside`` is what revisions leave out, releases that are void, and what successors undid.
    """
    if not heard.counting:
        return None, []
    stands, less = last_words(heard.counting)
    decisions = {one.what.word for one in stands}
    last = stands[-1].what
    other = [one.what for one in less if one.what.word not in decisions]
    words = [one for one in (*other, *heard.barred, *beside) if one.word not in decisions]
    names = [name for place in (contract, last.path) for on in (area, "") for name in held.get((place, on), ())]
    disputing = _disputing(stands)
    by = [one.what for one in stands]
    lacks = {short_title(one, doubted.lacks[one.path].revision) for one in by if one.path in doubted.lacks}
    in_doubt = not doubted.releases.isdisjoint(by)
    counted = as_counted(decisions, held=bool(names), lacking=bool(lacks), in_doubt=in_doubt)
    decision = "disputed" if disputing else counted
    apart = {(one.title, one.word): one for one in words}
    contested = [
        *(told("says-otherwise", what=one.path, word=one.said) for one in disputing),
        *(told("says-otherwise", what=one.title, word=one.said) for one in apart.values()),
        *(told("says-missing", what=one) for one in sorted(lacks)),
    ]
    problems = [_less_proven(contract, one, last, told("area-named", area=area)) for one in other]
    problems += _not_followed(contract, last, decision, names)
    return State(contract, area, decision, last.path, *map(_names, (contested, names))), problems


def _left_unreleased(contract: str, area: str, gone: Sequence[tuple[_Word, Problem]]) -> State | None:
    """Return how an area stands of which valid revisions alone are silent: as the last said that did not release it."""
    last = next((word for word, _ in reversed(gone) if word.word != "release"), None)
    return None if last is None else State(contract, area, last.word, last.path)


def _disputing(stands: Sequence[Said[_Word]]) -> list[_Word]:
    """Return what files say that decide otherwise, or claim one number and measured otherwise."""
    words = [one.what for one in stands]
    if len({one.word for one in words}) > 1:
        return words
    apart = measured_otherwise((one.number, one.measured) for one in words)
    return [one for one in words if one.number in apart]


def _names(several: Sequence[Sentence]) -> Sentence | None:
    return told("names-told", names=tuple(several)) if several else None


def _not_followed(contract: str, last: _Word, decision: str, names: Sequence[Sentence]) -> Iterator[Problem]:
    """Yield that an area is to be reworked and nothing is open for it."""
    if decision != "rework" or names:
        return
    sentence = told("rework-without-open", area=last.area, since=last.named)
    files = (last.path,)
    yield Problem(contract, last.number, "rework-not-followed", last.area, sentence, files, unproven=last.unproven)


def _areas_gone(contract: str, area: str, heard: _Heard, silent: _Counted) -> Iterator[tuple[_Word, Problem]]:
    """Yield the last that each number said of an area which its valid revision leaves out.

    Where that was a release, only if nobody speaks of the area any more: else it stands as the others say.
    """
    found = {one.said.what.number: (one.said.what, by) for one, by in left_out(heard.spoken, silent.of(contract))}
    for word, by in found.values():
        if word.word != "release" or not heard.counting:
            what = a_revision(word.number, by.revision)
            sentence = told("area-unmentioned", what=what, area=area, before=word.revision, word=word.said)
            files = (by.file, word.path)
            yield word, Problem(contract, word.number, "area-left-out", area, sentence, files, unproven=word.unproven)


def nonconformance_problems(index: Index) -> Iterator[tuple[str, Problem]]:
    """Yield the number of each nonconformance that is left open, or on which reports differ, and the problem."""
    rows = index.each(
        f"SELECT contract, id, {_STANDING}, nonconformances.status, area, raised_in FROM nonconformances"  # noqa: S608 - our own words
        f" JOIN reports USING (path) WHERE {_HEARD}"
        " ORDER BY contract, id, area, ordered, reports.number, revision, path"
    )  # a number used for two areas is two nonconformances: neither closes the other
    silent = _Counted(index)
    for (contract, name, _), members in groupby(rows, key=lambda row: (*row[:2], row[14])):
        found = [
            (filed_as(row[5], row[9], row[10], row[12]), *_said(row[2:13], _word(row[2:13], *row[13:])))
            for row in members
        ]
        yield from ((name, problem) for problem in _of_one(contract, name, found, silent))


def raising_problems(index: Index) -> Iterator[Problem]:
    """Yield each nonconformance that names as the report that raised it one that did not, or that is not there."""
    for contract, number, revision, path, unproven, name, area, raised_in, held, elsewhere in index.rows(_RAISED):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        raised = {"what": a_revision(number, revision), "name": name, "raised_in": raised_in}
        code, sentence = "raising-report-absent", told("raised-in-none", **raised)
        if held is not None:
            code, sentence = "nonconformance-not-raised", told("raised-in-another", **raised)
        elif elsewhere is not None:
            ((other,),) = index.rows("SELECT contract FROM reports WHERE path = ?", elsewhere)
            sentence = told("raised-elsewhere", **raised, file=elsewhere, other=other)
        files = tuple(file for file in (path, held or elsewhere) if file is not None)
        yield Problem(contract, number, code, area or "", sentence, files, unproven=bool(unproven))


def _of_one(
    contract: str, name: str, found: Sequence[tuple[Filed, str, Said[_Word]]], silent: _Counted
) -> Iterator[Problem]:
    """Yield what is wrong with one nonconformance, of which ``found`` is what each file says."""
    void = _closed_by(found, Filed.may_not_close)
    hands = {one.what: filed for filed, _, one in found}
    filed_at = {one.what.path: filed for filed, _, one in found}
    for word, raised in void.items():
        yield _void(contract, name, word, raised, _namesake(hands[word], filed_at[raised]))
    for word, raised in _closed_by(found, Filed.closes_as_successor).items():
        yield _asked_about(contract, word, told("does-close", name=name), (word.raised_in, raised), hands[word])
    heard = _heard([(_MAY_NOT_CLOSE if one.what in void else place, one) for _, place, one in found])
    gone = [pair for pair in left_out(heard.spoken, silent.of(contract)) if pair[0].said.what.word == "open"]
    by = {one.said.what: revision for one, revision in gone}
    said = [*heard.counting, *(one.said for one, _ in gone)]
    yield from _left_open(contract, name, *last_words(said), by) if said else ()


def _closed_by(
    found: Sequence[tuple[Filed, str, Said[_Word]]], how: Callable[[Filed, Filed], bool]
) -> dict[_Word, str]:
    """Return reports that close what another one raised, by one who stands so to that, with the path of that."""
    counting = [(filed, one) for filed, place, one in found if place in COUNTING]
    raising = [(raised, other) for raised, other in counting if other.what.number == other.what.raised_in]
    void: dict[_Word, str] = {}
    for filed, one in (pair for pair in counting if pair[1].what.word == "closed"):
        for raised, other in raising:
            earlier = other.when < one.when and other.what.number != one.what.number
            if earlier and how(filed, raised):
                void.setdefault(one.what, other.what.path)
    return void


def _asked_about(contract: str, word: _Word, what: Sentence, before: tuple[str, str], filed: Filed) -> Problem:
    """Ask about what a successor closed or released; ``before`` is title and path of the report that had it open."""
    title, path = before
    sentence = as_successor(word.named, what, title, filed)
    files = (word.path, path)
    return Problem(contract, word.number, "closed-by-successor", word.area, sentence, files, unproven=word.unproven)


def _void(contract: str, name: str, word: _Word, raised: str, namesake: Sentence | None) -> Problem:
    its = {"what": word.named, "file": word.path, "name": name, "raised": raised}
    sentence = told("closed-unentitled", **its, namesake=namesake)
    files = (word.path, raised)
    return Problem(contract, word.number, "closing-not-entitled", word.area, sentence, files, unproven=word.unproven)


def _left_open(
    contract: str,
    name: str,
    stands: Sequence[Said[_Word]],
    less: Sequence[Said[_Word]],
    silent: dict[_Word, Counting],
) -> Iterator[Problem]:
    left_open = [one.what for one in stands if one.what.word == "open"]
    last = (left_open or [stands[-1].what])[-1]
    if left_open:
        its = {"name": name, "raised_in": last.raised_in}
        sentence = told("never-closed", **its, last=last.number)
        files: tuple[str, ...] = (last.path,)
        if last in silent:
            by = silent[last]
            sentence = told(
                "never-closed-in-silence", **its, revision=last.revision, number=last.number, by=by.revision
            )
            files = (last.path, by.file)
        yield Problem(
            contract, last.raised_in, "nonconformance-never-closed", last.area, sentence, files, unproven=last.unproven
        )
    for one in less:
        if one.what.word != last.word:
            yield _less_proven(contract, one.what, last, name)


class _Counted:
    """The files that count, by contract and number, of numbers that several files claim; one contract at a time."""

    def __init__(self, index: Index) -> None:
        self._index = index
        self._contract = ""
        self._found: dict[str, list[Counting]] = {}

    def of(self, contract: str) -> dict[str, list[Counting]]:
        """Return those of a contract."""
        if contract != self._contract:
            self._contract, self._found = contract, {}
            rows = self._index.rows(
                "SELECT number, path, revision, ordered FROM reports WHERE contract = ? AND counts AND revision > 0"
                " ORDER BY number, revision, path",
                contract,
            )
            for number, *file in rows:
                self._found.setdefault(number, []).append(Counting(*file))
        return self._found


def _heard(said: Sequence[tuple[str, Said[_Word]]]) -> _Heard:
    valid = [(place, one) for place, one in said if place != "not entitled"]
    spoken = [Spoken(one.what.path, one.what.revision, place != "superseded", one) for place, one in valid]
    barred = [one.what for place, one in said if place == "not entitled"]
    return _Heard([one for place, one in valid if place in COUNTING], spoken, barred)


def _said(row: tuple[Any, ...], word: _Word) -> tuple[str, Said[_Word]]:
    ordered, number, _, _, place, _, _, doubts, certificate, signer, _ = row
    return place, Said((ordered, number), standing_from(doubts, certificate, signer), word)


def _word(
    row: tuple[Any, ...], word: str, area: str | None, raised_in: str = "", measured: str = ""
) -> _Word:  # fmt: skip
    _, number, path, revision, _, overall, unproven, *_ = row
    return _Word(number, revision, path, overall, bool(unproven), word, area or "", raised_in, measured)


def _less_proven(contract: str, less: _Word, last: _Word, what: str) -> Problem:
    sentence = told(
        "says-less-proven", file=less.path, verdict=told(f"overall-{less.overall}"), word=less.said, what=what,
        better=last.path, decided=last.said,
    )  # fmt: skip
    return Problem(contract, less.number, "claim-less-proven", less.area, sentence, (less.path, last.path))


def _found(index: Index, code: str, problem: str) -> Iterator[Problem]:
    rows = index.rows(
        "SELECT DISTINCT reports.contract, reports.number, findings.area, findings.observed, reports.path, unproven"
        " FROM findings JOIN reports USING (path) WHERE findings.code = ? AND counts"
        " ORDER BY reports.path, findings.area, findings.observed",
        code,
    )
    found: dict[tuple[str, str, str, str], dict[str, bool]] = {}  # once, of however many files of a report
    for contract, number, area, observed, path, unproven in rows:
        found.setdefault((contract, number, area or "", observed), {})[path] = bool(unproven)
    for (contract, number, area, observed), files in found.items():
        what = told_from_json(observed) if observed else ""
        of_report = told("finding-of-report", number=number, what=what)
        sentence = told("finding-of-area", number=number, area=area, what=what) if area else of_report
        yield Problem(contract, number, problem, area, sentence, tuple(files), unproven=all(files.values()))


def requirement_problems(index: Index) -> Iterator[Problem]:
    """Yield each version of the requirements of a contract that is not that of the report before.

    Agreed changes happen on real contracts, and who may agree to them is not in the files: it is noted what differs and
    from when. It is a doubt, however many reports have it, where it changes who may decide, and the return from that is
    none, nor are pins changed of people of whom it is sure who they are; limits and areas are in doubt by themselves,
    by ``listed_otherwise``. Owner and inspection body of one contract number are one; two are a fault.
    """

    def read(version: str) -> list[RequirementRecord]:
        rows = index.rows("SELECT part, member, value FROM requirements WHERE version = ?", version)
        return [RequirementRecord(*row) for row in rows]

    for contract, members in groupby(index.rows(_REPORTS), key=lambda row: row[0]):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        ordered = in_sequence(members, lambda one: one[7], lambda one: one[8:])
        reports = {
            path: (number, Judged(a_revision(number, revision), date, bool(unproven), version, path))
            for _, number, revision, date, unproven, version, path, *_ in ordered
        }
        known = [report for _, report in reports.values()]
        for one in changes(known, read):
            number, files = reports[one.after.file][0], (one.after.file, one.before.file)
            code = "contract-not-one" if one.difference.whose else "requirement-changed"
            problem = Problem(contract, number, code, "", one.sentence, files, unproven=one.after.unproven)
            sure = _same_people(index, one.difference.pins, *files)
            yield replace(problem, weighs="doubt") if _who_may_decide(one, known) and not sure else problem


def _who_may_decide(one: Variation[str], known: Sequence[Judged[str]]) -> bool:
    """Whether a report is the first by which others may decide, in a contract that is one."""
    again = any(each.version == one.after.version for each in known[: known.index(one.after)])
    return one.difference.authority and not (one.difference.whose or again)


def _same_people(index: Index, pins: Sequence[str], later: str, before: str) -> bool:
    """Say whether nothing changed but ``pins``, and all those people signed the later file and are who they were."""
    after, earlier = (
        filed_as(*index.rows("SELECT revision, doubts, certificate, hands FROM reports WHERE path = ?", path)[0])
        for path in (later, before)
    )
    return bool(pins) and all(after.signs_as(name, earlier) for name in pins)


def revision_problems(index: Index) -> Iterator[Problem]:
    """Yield what a valid revision finds better of an area than the one before it, or leaves out, with its reason.

    And each sheet of readings that it has under another area: what failed as one may be released as the other.
    """
    for contract, number, path, reason, unproven, area, *both in index.rows(_REVISED):
        revision, decision, found, before_path, before_revision, was_decision, was = both
        now, before = Found(decision, *json.loads(found)), Found(was_decision, *json.loads(was))
        sentence = in_favour(number, area, (before_revision, before), (revision, now), reason or "")
        if sentence is not None:
            files = (path, before_path)
            yield Problem(contract, number, "revision-in-favour", area, sentence, files, unproven=bool(unproven))
    for contract, number, revision, path, unproven, before_path, before_revision, was_area, area in index.rows(_MOVED):
        what = a_revision(number, revision)
        sentence = told("readings-moved", what=what, was=was_area, before=before_revision, area=area)
        files = (path, before_path)
        yield Problem(contract, number, "revision-moves-readings", area, sentence, files, unproven=bool(unproven))
