"""The screens over the readings, conditions and photos of an index: what they point at, and what they cannot see.

Files that passed and files that did not are screened apart: whoever adds files that do not pass can neither hide nor
accuse what passed. What agrees between the two is said of the file that did not pass, whose maker may have had the
other.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import replace
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.audit.problems import Problem, Screen, ScreenEvidence
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from reportgen.audit.index import Index
    from reportgen.screens import Floor, Heaped, Picture, ReadingSheet, Screened, Sign, Weather
    from reportgen.words.told import Told

_PROVEN, _OPEN = VERDICTS = ("passed", "indeterminate")
_READINGS = (
    "SELECT reports.contract, reports.number, reports.ordered, reading_sets.area, reading_sets.path,"
    " COALESCE(reading_sets.gauge, ''), COALESCE(NULLIF(surfaces.inspector, ''), reports.inspector),"
    " surfaces.apparatus, surfaces.abrasive, COALESCE(unit, ''), digit, readings, locations, reading_sets.steel,"
    " counted, unproven FROM reading_sets JOIN reports USING (path) JOIN surfaces USING (path, surface)"
    " WHERE counts AND overall = ? ORDER BY ordered, reports.contract, reports.number, path, surface"
)
_WEATHER = (
    "SELECT path, contract, number, at, date, air, humidity, steel FROM conditions JOIN reports USING (path)"
    " WHERE counts AND overall = ? ORDER BY ordered, contract, number, path, at"
)
_PHOTOS = (
    "SELECT path, contract, number, ordered, area, file, original, look FROM photos JOIN reports USING (path)"
    " WHERE counts AND overall = ? AND look != '' ORDER BY ordered, contract, number, path, file"
)
_SMALL = 1e-4
_MOST_LENGTHS = 5
_WHOLE = frozenset({"alike", "regular", "weather", "photo"})
NAMES: Final = ("alike", "surface", "group", "digits", "regular", "repeats", "weather", "photo")
"""The screens, in the order in which they are told."""


class Alike(NamedTuple):
    """Two sheets that agree so that fewer than one such pair is expected by chance: more than a screen points at."""

    path: str
    area: str
    other_path: str
    other_area: str
    how: str
    agreeing: int
    of: int
    tests: int
    expected: str


class Screening(NamedTuple):
    """What all screens found, what each looked at, and how much is rounded with each gauge, in files that passed."""

    problems: tuple[Problem, ...]
    screens: tuple[Screen, ...]
    heaped: tuple[Heaped, ...] = ()
    alike: tuple[Alike, ...] = ()


def screened(index: Index) -> Screening:
    """Run all screens over an index whose files that count are known."""
    from reportgen import screens

    sheets, unproven = _sheets(index)
    found = _Found(unproven)
    for verdict in VERDICTS:
        own = sheets[verdict]
        rows = [screens.Weather(*row) for row in index.rows(_WEATHER, verdict)]
        pictures = [screens.Picture(*row) for row in index.rows(_PHOTOS, verdict)]
        for screen in (screens.narrow_surfaces, screens.narrow_groups, screens.heaped_digits, screens.regular):
            found.of_sheets(screen(own), own, verdict)
        found.of_sheets(screens.repeats_avoided(own), own, verdict)
        found.of_sheets(screens.alike(own), own, verdict)
        found.of_others(screens.weather_alike(rows), partial(_of_weather, rows=rows, verdict=verdict))
        found.of_others(screens.photos_alike(pictures), partial(_of_photos, pictures=pictures, verdict=verdict))
    proven, every = sheets[_PROVEN], [*sheets[_PROVEN], *sheets[_OPEN]]
    if 0 < len(proven) < len(every):
        between = screens.alike(proven, sheets[_OPEN])
        said = (sign._replace(sheets=tuple(sorted(sign.sheets))) for sign in between.signs)  # of the one that is open
        found.of_sheets(replace(between, signs=tuple(said)), every, _OPEN)
    what = tuple(_screen(name, found.done[name]) for name in NAMES)
    return Screening(tuple(found.problems), what, screens.digit_table(proven), tuple(found.pairs))


class _Found:
    """What is found, as it is gathered; ``unproven`` are files that may not accuse."""

    def __init__(self, unproven: frozenset[str]) -> None:
        self.problems: list[Problem] = []
        self.pairs: list[Alike] = []
        self.done: dict[str, list[Screened]] = defaultdict(list)
        self._unproven = unproven

    def of_sheets(self, one: Screened, sheets: Sequence[ReadingSheet], verdict: str) -> None:
        """Keep what a screen over sheets found."""
        self.done[one.screen].append(one)
        self.problems += (_of_sheets(sign, sheets, verdict, self._unproven) for sign in one.signs)
        for sign in (*one.signs, *one.weak) if one.screen == "alike" else ():
            first, other = (sheets[place] for place in sign.sheets)
            count, of, expected = int(sign.facts["count"]), int(sign.facts["of"]), str(_times(sign.expected))
            told = (other.path, other.area, first.path, first.area, sign.how, count, of, sign.tests, expected)
            self.pairs.append(Alike(*told))

    def of_others(self, one: Screened, told_of: Callable[[Sign], Problem]) -> None:
        """Keep what a screen over something else found."""
        self.done[one.screen].append(one)
        self.problems += map(told_of, one.signs)


def _sheets(index: Index) -> tuple[dict[str, list[ReadingSheet]], frozenset[str]]:
    """Return the sheets by verdict, in one base for each unit, and the files that may not accuse."""
    rows = {verdict: index.rows(_READINGS, verdict) for verdict in VERDICTS}
    both = [*rows[_PROVEN], *rows[_OPEN]]
    places: dict[str, int] = defaultdict(int)
    for row in both:
        exponents = (int(Decimal(text).as_tuple().exponent) for text in (*row[11].split(), row[10] or "1"))
        places[row[9]] = max(places[row[9]], -min(exponents))
    unproven = frozenset(row[4] for row in both if row[15])
    return {verdict: list(_sheets_of(rows[verdict], places)) for verdict in VERDICTS}, unproven


def _sheets_of(rows: Sequence[tuple[Any, ...]], places: Mapping[str, int]) -> Iterator[ReadingSheet]:
    from reportgen.screens import ReadingSheet

    order: dict[str, dict[str, int]] = defaultdict(dict)
    for contract, number, when, area, path, gauge, who, apparatus, abrasive, unit, digit, *rest, _ in rows:
        readings, locations, steel, counted = rest
        values, once = (_whole(text, places[unit]) for text in (readings, counted))
        step = max(1, *_whole(digit, places[unit])) if digit else 1
        place = order[contract].setdefault(number, len(order[contract]))
        yield ReadingSheet(
            contract, number, place, when, area, path, gauge, who, apparatus, abrasive, unit, step, values,
            tuple(json.loads(locations)), (steel,) if steel else (), once,
        )  # fmt: skip


def _whole(text: str, places: int) -> tuple[int, ...]:
    return tuple(int(Decimal(one).scaleb(places)) for one in text.split())


_CODES: Final = {
    "alike": "readings-partly-alike", "surface": "spread-narrow", "group": "spread-narrow-in-group",
    "digits": "digits-heaped", "regular": "readings-by-rule", "repeats": "repeats-avoided",
}  # fmt: skip


def _of_sheets(sign: Sign, sheets: Sequence[ReadingSheet], verdict: str, unproven: frozenset[str]) -> Problem:
    said = sheets[sign.sheets[-1]]
    same = sign.screen == "alike" and sign.how == "as-is" and sign.effect == 1
    code = "readings-alike" if same else _CODES[sign.screen]
    several = sign.screen in {"group", "digits", "repeats"}
    number, area = ("", "") if several else (said.number, said.area)
    contracts = dict.fromkeys(sheets[place].contract for place in sign.sheets)
    contract = ", ".join(contracts) if sign.screen == "digits" else said.contract
    of_all = sign.screen in {"group", "repeats"}  # of so many files that naming them says nothing
    files = () if of_all else tuple(dict.fromkeys(sheets[place].path for place in sign.sheets))
    what, causes = _TELLING[sign.screen](sign, sheets)
    sentence = told("screened", what=what, causes=causes)
    return Problem(
        contract, number, code, area, sentence, files, verdict, unproven=any(path in unproven for path in files),
        evidence=_evidence(sign),
    )  # fmt: skip


def _evidence(sign: Sign) -> ScreenEvidence:
    low, high = sign.facts.get("low"), sign.facts.get("high")
    interval = f"{low} to {high}" if low is not None else ""
    return ScreenEvidence(sign.tests, str(_times(sign.expected)), f"{sign.effect:.3g}", interval)


def _number(text: str | int) -> Decimal:
    """Return a number of a sign as pages print numbers, with the decimal mark of their language."""
    return Decimal(text)


def _times(expected: float) -> Decimal | str:
    """Return an expected number with one digit: a power of ten where it is very small."""
    return Decimal(f"{expected:.1g}") if expected >= _SMALL else f"{expected:.0e}" if expected else "0"


def _alike(sign: Sign, sheets: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    first, other = (sheets[place] for place in sign.sheets)
    facts = sign.facts
    same = sign.how == "as-is" and sign.effect == 1
    how = told(f"alike-{'same' if same else sign.how}", count=facts["count"], of=facts["of"])
    what = told(
        "alike", how=how, area=other.area, number=other.number, other_area=first.area, other=first.number,
        contract=other.contract if other.contract != first.contract else (), share=_number(facts["share"]),
        tests=sign.tests, nearness=told(f"pairs-{facts['nearness']}"), expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("alike-causes")


def _surface(sign: Sign, sheets: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    one, facts = sheets[sign.sheets[0]], sign.facts
    what = told(
        "surface-narrow", number=one.number, area=one.area, count=facts["count"], own=_number(facts["own"]),
        usual=_number(facts["usual"]), tests=sign.tests, expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("surface-causes")


def _group(sign: Sign, _: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    facts = sign.facts
    ratio, low, high = (_number(facts[name]) for name in ("ratio", "low", "high"))
    what = told(
        f"group-{sign.how}", name=facts["name"], count=facts["count"], others=facts["others"], ratio=ratio, low=low,
        high=high, tests=sign.tests, expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("group-causes")


def _digits(sign: Sign, _: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    facts = sign.facts
    what = told(
        "digits-heaped", gauge=facts["gauge"], count=facts["count"], reports=facts["reports"],
        share=_number(facts["share"]), on=told(f"on-{facts['on']}"), tests=sign.tests, expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("digits-causes")


def _regular(sign: Sign, sheets: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    one, facts = sheets[sign.sheets[0]], sign.facts
    what = told(
        f"regular-{sign.how}", number=one.number, area=one.area, fixed=facts["fixed"], count=facts["count"],
        share=_number(facts["share"]), tests=sign.tests, expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("regular-causes")


def _repeats(sign: Sign, _: Sequence[ReadingSheet]) -> tuple[Told, Told]:
    facts = sign.facts
    what = told(
        "repeats-avoided", name=facts["name"], count=facts["count"], seen=facts["seen"], due=_number(facts["due"]),
        tests=sign.tests, expected=_times(sign.expected),
    )  # fmt: skip
    return what, told("repeats-causes")


_TELLING: Final = {
    "alike": _alike, "surface": _surface, "group": _group, "digits": _digits, "regular": _regular,
    "repeats": _repeats,
}  # fmt: skip


def _of_weather(sign: Sign, rows: Sequence[Weather], verdict: str) -> Problem:
    first, later = (rows[place] for place in sign.sheets)
    what = told(
        "weather-rows", number=later.number, count=sign.facts["count"], other=first.number, day=first.day,
        tests=sign.tests,
    )  # fmt: skip
    sentence = told("screened", what=what, causes=told("weather-causes"))
    return Problem(later.contract, later.number, "weather-alike", "", sentence, (first.path, later.path), verdict,
                   evidence=_evidence(sign))  # fmt: skip


def _of_photos(sign: Sign, pictures: Sequence[Picture], verdict: str) -> Problem:
    first, later = (pictures[place] for place in sign.sheets)
    what = told(
        "photo-looks", file=later.file, area=later.area, number=later.number, other_file=first.file,
        other_area=first.area, other=first.number, apart=sign.facts["apart"], of=sign.facts["of"], tests=sign.tests,
    )  # fmt: skip
    sentence = told("screened", what=what, causes=told("photo-causes"))
    files = tuple(dict.fromkeys((first.path, later.path)))
    return Problem(later.contract, later.number, "photos-alike", later.area, sentence, files, verdict,
                   evidence=_evidence(sign))  # fmt: skip


def _screen(name: str, done: Sequence[Screened]) -> Screen:
    """Return what a screen did over all files; what it could not see is that of the files that passed, if it can."""
    tests, found = sum(one.tests for one in done), sum(len(one.signs) for one in done)
    level = max(one.level for one in done)
    main = next((one for one in done if one.tests), done[0])
    shown = f"{level:g}" if level else ""
    if not main.tests or (main.least is None and not main.floors):
        unseen = told(f"unseen-{name}-all")
    else:
        least = {} if main.least is None else {"least": Decimal(f"{main.least:.{0 if name in _WHOLE else 2}f}")}
        unseen = told(f"unseen-{name}", **floors_told(main.floors) if main.floors else least)
    return Screen(name, "", tests, shown, shown, found, unseen)


def floors_told(floors: Sequence[Floor]) -> dict[str, Any]:
    """Return how many readings have to agree in sheets of how many, and in which not even all are enough.

    Of many lengths the shortest, the longest and those that most sheets have are told.
    """
    often = sorted(floors, key=lambda one: -one.sheets)[: _MOST_LENGTHS - 2]
    shown = [one for one in floors if one in (floors[0], floors[-1], *often)]
    enough = tuple(
        told("unseen-alike-floor", least=one.near, of=one.of, far=one.far if one.far != one.near else None)
        for one in shown
        if one.near is not None
    )
    short = tuple(str(one.of) for one in shown if one.near is None)
    return {"floors": enough or None, "short": short or None}


def unseen_told(screens: Sequence[Screen]) -> Told:
    """Return what no screen could see; first, where none points anywhere, that it is so."""
    unseen = tuple(dict.fromkeys(one.unseen for one in screens))
    return told("not-visible", unseen=unseen) if any(one.found for one in screens) else told("nowhere", unseen=unseen)
