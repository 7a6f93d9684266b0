"""What does not fit together in what several reports state, or one states of itself: dates, places, photos, pace.

These are facts and no statistics: two entries cannot both be so, or are unusual enough to be asked about. Only reports
that count are held against each other, and revisions of one report are one.
"""

from __future__ import annotations

import datetime as dt
import json
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.audit.instruments import shared_certificates, stated_otherwise
from reportgen.audit.problems import Problem, ScreenEvidence, a_moment
from reportgen.issued import NOT_STATED, sequences
from reportgen.names import plain_words, shown
from reportgen.register.numbering import position
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportgen.audit.index import Index

PACE: Final = 60
"""Seconds a spot, below which readings are asked about: placing the tape, rubbing it and reading it takes longer."""
LATE: Final = 7
"""Days after the shift from which on a report is late."""
_CAMERA: Final = dt.timedelta(minutes=90)
"""By how much a camera's clock may differ: an hour of daylight saving time, and some."""
_MINUTE: Final = 60


class Usual(NamedTuple):
    """What is asked about: a pace [s a spot], and days after which a report is late."""

    pace: float = PACE
    late: float = LATE


USUAL: Final = Usual()


def fact_problems(index: Index, usual: Usual) -> Iterator[Problem]:
    """Yield all that does not fit together."""
    yield from _calibrations(index)
    yield from stated_otherwise(index)
    yield from shared_certificates(index)
    yield from _photos_outside(index)
    yield from _photos_again(index)
    yield from _two_places(index)
    yield from _pace(index, usual.pace)
    yield from _issued_late(index, usual.late)
    yield from _not_countersigned(index)
    yield from _date_order(index)


def _alike(name: str) -> str:
    """Return a name as it is compared: `CFG 1` is `CFG-1`, and `cfg-1`."""
    return " ".join(plain_words(name)) or name


def _calibrations(index: Index) -> Iterator[Problem]:
    """Yield each certificate of an instrument that project files state with different dates."""
    rows = index.rows(
        "SELECT DISTINCT serial, tools.certificate, calibrated, due, reports.contract, number, revision, path"
        " FROM instruments AS tools JOIN reports USING (project)"
        " WHERE counts AND serial != '' AND tools.certificate != '' ORDER BY issued_at, path"
    )
    found: dict[tuple[str, str], dict[tuple[str, str], tuple[Any, ...]]] = {}
    for serial, certificate, *dates, contract, number, revision, path in rows:
        stated = found.setdefault((_alike(serial), _alike(certificate)), {})
        stated.setdefault(tuple(dates), (serial, certificate, contract, number, revision, path))
    for stated in found.values():
        for (before, first), (after, then) in pairwise(stated.items()):
            serial, certificate, contract, number, *_ = then
            sentence = told(
                "calibration-rewritten", serial=serial, certificate=certificate, report=_title(first),
                other=_title(then), before=_dates(before), after=_dates(after),
            )  # fmt: skip
            yield Problem(contract, number, "calibration-rewritten", "", sentence, (then[-1], first[-1]))


def _title(row: tuple[Any, ...]) -> str:
    return f"{row[3]} r{row[4]}"


def _dates(dates: tuple[str, str]) -> str:
    return " / ".join(one or "–" for one in dates)


def _photos_outside(index: Index) -> Iterator[Problem]:
    """Yield photos that are stated, or noted by their camera, to be of a time outside the shift."""
    rows = index.rows(
        "SELECT contract, number, area, file, at, taken, began, ended, path FROM photos JOIN reports USING (path)"
        " WHERE counts AND began != '' ORDER BY path, file, area"
    )
    for contract, number, area, file, at, taken, began, ended, path in rows:
        first, last = map(dt.datetime.fromisoformat, (began, ended))
        stated = [("photo-stated", at, dt.timedelta())] if at else []
        stated += [("photo-taken", taken, _CAMERA)] if taken else []
        for how, moment, slack in stated:
            if not first - slack <= dt.datetime.fromisoformat(moment) <= last + slack:
                sentence = told(
                    "photo-outside", number=number, area=area, file=file, how=told(how, at=a_moment(moment)),
                    began=a_moment(began), ended=a_moment(ended),
                )  # fmt: skip
                yield Problem(contract, number, "photo-outside-shift", area, sentence, (path,))
                break


def _photos_again(index: Index) -> Iterator[Problem]:
    """Yield each photo whose file stands in reports of several numbers."""
    rows = index.rows(
        "SELECT original, contract, number, photos.area, path FROM photos JOIN reports USING (path)"
        " WHERE counts AND original != '' ORDER BY original, ordered, path"
    )
    for _, members in groupby(rows, key=lambda row: row[0]):
        places = {(contract, number): (area, path) for _, contract, number, area, path in reversed(list(members))}
        if len(places) > 1:
            ordered = list(places.items())[::-1]
            named = tuple(told("photo-place", number=number, area=area) for (_, number), (area, _) in ordered)
            (contract, number), (area, _) = ordered[-1]
            files = tuple(path for _, (_, path) in reversed(ordered))
            yield Problem(contract, number, "photo-again", area, told("photo-again", places=named), files)


class _Stay(NamedTuple):
    """Somebody, or a gauge, at a site for a time [moments in UTC], as a report says."""

    who: str
    name: str
    certificate: str
    began: str
    ended: str
    site: str
    contract: str
    number: str
    path: str


def _two_places(index: Index) -> Iterator[Problem]:
    """Yield who signed for, and which gauge was read in, overlapping times at two sites."""
    people = index.rows(
        "SELECT certificate, signer, '', began, ended, site, contract, number, path FROM reports"
        " WHERE counts AND began != '' AND certificate != '' ORDER BY began, path"
    )
    gauges = index.rows(
        "SELECT DISTINCT serial || ' ' || kind, serial, stated, first, last, site, reports.contract, number, path"
        " FROM uses JOIN reports USING (path)"
        " JOIN (SELECT project, id, kind, certificate AS stated FROM instruments) AS tools"
        " ON tools.project = reports.project AND tools.id = instrument"
        " WHERE counts AND purpose = 'readings' AND serial != '' ORDER BY first, path"
    )
    yield from _overlapping("signer-two-places", (_Stay(*row) for row in people))
    yield from _overlapping("gauge-two-places", (_Stay(_alike(row[0]), *row[1:]) for row in gauges))


def _overlapping(code: str, stays: Iterable[_Stay]) -> Iterator[Problem]:
    """Yield each pair of reports that have one at two sites at one time; a pair once, however often it overlaps."""
    found: dict[str, list[_Stay]] = {}
    pairs: dict[tuple[str, str], Problem] = {}
    for stay in stays:  # by when they began
        here = [one for one in found.get(stay.who, ()) if one.ended >= stay.began]
        for one in (one for one in here if _apart(one, stay)):
            pairs.setdefault((one.path, stay.path), _in_two_places(code, one, stay))
        found[stay.who] = [*here, stay]
    yield from pairs.values()


def _apart(one: _Stay, other: _Stay) -> bool:
    """Whether two stays are at sites of different names; two gauges of one serial have certificates of their own."""
    if one.certificate and other.certificate and _alike(one.certificate) != _alike(other.certificate):
        return False
    return bool(one.site and other.site) and _alike(one.site) != _alike(other.site)


def _in_two_places(code: str, one: _Stay, other: _Stay) -> Problem:
    places = tuple(
        told("at-site", number=stay.number, site=stay.site, began=a_moment(stay.began), ended=a_moment(stay.ended))
        for stay in (one, other)
    )
    sentence = told(code, name=other.name, places=places)
    return Problem(other.contract, other.number, "two-places", "", sentence, (other.path, one.path))


def _pace(index: Index, least: float) -> Iterator[Problem]:
    """Yield surfaces whose spots were read faster, by the times written beside them, than one in ``least`` seconds.

    Times are whole minutes: what was read before the last of them took at most a minute more than they say.
    """
    rows = index.rows(
        "SELECT contract, number, area, path, times, spots, locations, unproven FROM reading_sets"
        " JOIN reports USING (path) WHERE counts ORDER BY path, surface"
    )
    for contract, number, area, path, *told_of, unproven in rows:
        times, spots, locations = map(json.loads, told_of)
        stated = sorted(one for one in times if one)
        if not stated or stated[0] == stated[-1] or len(stated) != len(times):
            continue
        before = {
            (location, spot) for time, location, spot in zip(times, locations, spots, strict=True) if time < stated[-1]
        }
        first, last = map(dt.datetime.fromisoformat, (stated[0], stated[-1]))
        took = ((last - first).total_seconds() + _MINUTE) / len(before)
        if took < least:
            sentence = told(
                "pace", number=number, area=area, count=len(before), first=a_moment(stated[0]),
                last=a_moment(stated[-1]), seconds=round(took), least=round(least),
            )  # fmt: skip
            seen = ScreenEvidence(effect=f"{took:.0f} s")
            yield Problem(contract, number, "pace", area, sentence, (path,), unproven=bool(unproven), evidence=seen)


def _issued_late(index: Index, days: float) -> Iterator[Problem]:
    """Yield reports that were issued so many days after the end of their shift; a revision is a matter of its own."""
    rows = index.rows(
        "SELECT contract, number, date, ended, issued_at, path FROM reports"
        " WHERE revision = 0 AND ended != '' AND place NOT IN ('set aside', 'not entitled') ORDER BY path"
    )
    for contract, number, date, ended, issued_at, path in rows:
        after = dt.datetime.fromisoformat(issued_at) - dt.datetime.fromisoformat(ended)
        if after > dt.timedelta(days=days):
            sentence = told("issued-late", number=number, date=date, issued=issued_at[:10], days=after.days)
            yield Problem(contract, number, "issued-late", "", sentence, (path,))


def _not_countersigned(index: Index) -> Iterator[Problem]:
    """Yield reports that count and that somebody whom they name has still to sign, in each of their copies."""
    rows = index.rows(
        "SELECT contract, number, revision, path, hands FROM reports"
        " WHERE place IN ('decides', 'disputed') ORDER BY contract, number, revision, path"
    )
    for (contract, number, revision), copies in groupby(rows, key=lambda row: row[:3]):
        known = [(path, json.loads(hands)["awaited"]) for *_, path, hands in copies]
        people = [one for one in known[0][1] if all(one in awaited for _, awaited in known)]
        if people:
            title = told("a-revision", number=number, revision=revision)
            sentence = told("not-countersigned", what=title, people=tuple(map(shown, people)))
            yield Problem(contract, number, "not-countersigned", "", sentence, tuple(path for path, _ in known))


def _date_order(index: Index) -> Iterator[Problem]:
    """Yield each report of a number above that of another one, and of an earlier date than all such before it."""
    rows = index.rows(
        "SELECT contract, number, MIN(date), MIN(path), pattern FROM reports"
        " WHERE revision = 0 AND place NOT IN ('set aside', 'not entitled')"
        " GROUP BY contract, number ORDER BY contract, MIN(date) DESC, number DESC"
    )
    for contract, members in groupby(rows, key=lambda row: row[0]):
        own = {} if contract.startswith(f"{NOT_STATED} (") else {row[1]: row[1:] for row in members}
        known = sequences((pattern, number) for number, _, _, pattern in own.values())
        for pattern, numbers in known.items():
            ordered = sorted(numbers, key=lambda number: position(pattern, number) or 0)
            yield from dates_back(contract, [own[number][:3] for number in ordered])


def dates_back(contract: str, placed: Iterable[tuple[str, str, str]]) -> Iterator[Problem]:
    """Yield those that are of an earlier date than one before them: number, date and file of each in their order."""
    latest = ("", "", "")
    for one in placed:
        number, date, path = one
        if date < latest[1]:
            sentence = told("date-order", number=number, date=date, other=latest[0], later=latest[1])
            yield Problem(contract, number, "date-order", "", sentence, (path, latest[2]))
        else:
            latest = one
