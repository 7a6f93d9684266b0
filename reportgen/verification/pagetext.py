"""Step 9: what the pages say agrees with the embedded evaluation.

The text is read with a library that did not write it, in the order of the content streams. Every printed result has
to stand where a reader expects it: an area's row with its mean, uncertainty and decision; a location's row with spots,
profile, uncertainty and verdict; conditions; each finding in full. Words are looked up in the catalogue of the
report's language, in the edition that it was printed in. Letters that no face of the report has stand on the pages as
their code points.
"""

from __future__ import annotations

import io
import json
import re
import unicodedata
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.errors import UsageError
from reportgen.formats import EVALUATION_NAME, OtherReleaseError, counters, head, read_issue
from reportgen.measurements import MEASUREMENTS
from reportgen.rules.relied_on import relied_on
from reportgen.units import decimal_mark, printed
from reportgen.verification.embedded_files import Outcome
from reportgen.verification.pageread import drawn_frames, page_texts
from reportgen.words.numbers import per_cent, shown_unit, typeset
from reportgen.words.omitted import omitted_texts
from reportgen.words.told import Told, told, words_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.formats import IssueFacts
    from reportgen.results import Evaluation
    from reportgen.verification.embedded_files import Evidence
    from reportgen.words.catalogue import Words
    from reportgen.words.sentences import Sentences

MOST_SENTENCES = 10
_TOLERANCE = 0.02  # points: boxes are written with two decimals
_HEADLINES = {
    "conforms": "headline.conforms",
    "does not conform": "headline.does not conform",
    "inconclusive": "headline.inconclusive",
    "not evaluated": "headline.none",
}
_NOTHING = "–"
_UNCERTAINTIES = (
    "air_uncertainty", "humidity_uncertainty", "steel_uncertainty", "dew_point_uncertainty", "expanded_uncertainty",
)  # fmt: skip
_NAME_WORDS = 60
"""Words that a name can have: it has at most 120 characters."""
_FEW_WORDS = 12
_MOST_BESIDE = 3
"""Spots of a location that stand beside each other, at most."""
_PIECE = 200
"""Letters that stand together where a long text goes on in a further row, at least."""


def page_text_agrees(evidence: Evidence) -> Outcome:
    """Return whether the pages print the results of the embedded evaluation, naming what differs.

    A signature field says whose name it stands under, so it has to lie on the frame that the pages draw for it. Pages
    built again tell that too, but a report with photos is rebuilt only where their originals are at hand.

    Pages that this release built again to the byte say what it prints of the evaluation, and it has read that before it
    issued them: they are not read once more.
    """
    if evidence.rebuilt:
        return text_agrees(None, evidence.files, evidence.results)
    placed: dict[int, list[float]] = {}
    for field in evidence.signing.fields if evidence.signing else ():
        placed.setdefault(field.box[0], []).extend(field.box[1:])
    off = []
    with pikepdf.open(io.BytesIO(evidence.pdf)) as opened:
        for page, corners in placed.items():
            drawn = [corner for frame in drawn_frames(opened.pages[page - 1]) for corner in frame]
            pairs = zip(corners, drawn, strict=False)
            if len(corners) != len(drawn) or any(abs(one - other) > _TOLERANCE for one, other in pairs):
                off.append(told("fields-off-blocks", page=page))
    if off:
        return Outcome("failed", tuple(off))
    pages = page_texts(evidence.pdf)
    outcome = text_agrees(pages, evidence.files, evidence.results)
    if outcome.status != "failed":
        return outcome
    # in a long report, head and foot of a page may stand in the midst of a result
    return text_agrees(pages, evidence.files, evidence.results, page_texts(evidence.pdf, content_only=True))


def text_agrees(
    pages: list[str] | None, files: Any, results: Evaluation | None, content: list[str] | None = None
) -> Outcome:
    """Compare the text of pages, in content order, with the evaluation among ``files``.

    ``files`` maps names to bytes. ``results`` is the same evaluation made again, of whose facts the sentences are;
    without it findings are neither looked for nor counted among what agrees. ``content`` is the text without head and
    foot; without it all text is taken for content. None for pages that are known to agree. The answer is *not done*
    when the report does not say in which language it is.
    """
    from reportgen.words.catalogue import catalogue

    try:
        issue = read_issue(files)
        counters(files[EVALUATION_NAME]).require_known(issue.generator)
        head(files[EVALUATION_NAME])
        evaluation = json.loads(files[EVALUATION_NAME], parse_float=Decimal, parse_int=Decimal)
        catalogue(issue.language, issue.words)
    except OtherReleaseError as later:
        return Outcome("indeterminate", (words_of(later),))
    except (KeyError, TypeError, ValueError, UsageError):
        return Outcome("not done", (told("no-language"),))
    missing: list[Told] = []
    if pages is not None:
        with decimal_mark(catalogue(issue.language, issue.words).decimal):
            missing += text_misses(pages, pages if content is None else content, evaluation, results, issue)
    if issue.slip is not None:
        return slip_agrees(missing, issue.slip)
    if missing:
        more = told("more-places", count=len(missing) - MOST_SENTENCES)
        return Outcome("failed", (*missing[:MOST_SENTENCES], *((more,) if len(missing) > MOST_SENTENCES else ())))
    locations = sum(len(area["locations"]) for area in evaluation["areas"])
    agree = told(
        "text-agrees", areas=len(evaluation["areas"]), locations=locations, conditions=len(evaluation["conditions"]),
        findings=len(results.findings) if results else None,
    )  # fmt: skip
    return Outcome("passed", (agree,))


def text_misses(
    pages: list[str], content: list[str], evaluation: dict[str, Any], results: Evaluation | None, issue: IssueFacts
) -> Iterator[Told]:
    """Yield what the text of pages lacks of an evaluation."""
    from reportgen.words.catalogue import catalogue
    from reportgen.words.sentences import sentences

    words = catalogue(issue.language, issue.words)
    text = " ".join(unicodedata.normalize("NFC", " ".join(content)).split())
    report, verdict = evaluation["report"], evaluation["verdict"]
    identity = [rf"(?<!\S){re.escape(str(report[part]))}(?!\S)" for part in ("number", "revision", "date")]
    for number, page in enumerate(pages, start=1):
        if not all(re.search(part, " ".join(page.split())) for part in identity):
            yield told("page-without-number", page=number)
    if issue.slip is not None:
        yield from slip_misses(text, evaluation, issue.slip, words)
        return
    # the sentence at the top begins with the verdict; what follows it counts areas, which have rows of their own
    begins = re.split("[:.]", words(_HEADLINES[verdict]))[0]
    if not pages or not re.search(rf"(?<!\S){_spaced(begins)}[:.]", pages[0]):
        yield told("page-without-verdict", verdict=told(f"judged-{verdict.replace(' ', '-')}"))
    yield from _results(text, evaluation, words)
    # a finding's text is broken into lines by its column, so it is looked for without any white space
    solid = "".join(text.split())
    for part in omitted_texts(issue.omitted, words, sentences(words.language, issue.words)):
        if not any("".join(_printed(one).split()) in solid for one in (typeset(part), part)):
            yield told("omitted-not-printed", text=part)
    for what, part in sentences_of(results, sentences(words.language, issue.words)) if results else ():
        spelled = (typeset(part), part)  # what a person wrote stands as written: `50 um`, `-2 degC`
        if not any(_stands_in("".join(_printed(one).split()), solid) for one in spelled):
            yield told("not-printed", what=what, text=part)


def slip_agrees(missing: list[Told], area: str) -> Outcome:
    """Return the answer on a release slip that lacks so much of its area."""
    return Outcome("failed", tuple(missing)) if missing else Outcome("passed", (told("area-agrees", area=area),))


def slip_misses(text: str, evaluation: dict[str, Any], area_id: str, words: Words) -> Iterator[Told]:
    """Yield what a release slip does not print of its area: id, decision, each location with its value and verdict."""
    area = next((one for one in evaluation["areas"] if one["id"] == area_id), None)
    if area is None or area["decision"] != "release":
        yield told("slip-not-released", area=area_id)
        return
    if words("slip.released", area=area_id) not in text:
        yield told("slip-without-release", area=area_id)
    for one in area["locations"]:
        value = _graded(one["observed"], words) if "observed" in one else _shown(one.get("profile"))
        said = words("slip.location", location=one["id"], value=value, verdict=words(f"verdict.{one['verdict']}"))
        if _printed(said) not in text:
            yield told("slip-not-printed", area=area_id, location=one["id"], text=value)


def sentences_of(results: Evaluation, said: Sentences) -> Iterator[tuple[Told, str]]:
    """Yield what the pages say in words, with what it is: findings, rules, results of other kinds, nonconformances."""
    yield from ((told("of-finding", code=each.code), said.observed(each)) for each in results.findings)
    yield from ((told("of-rule", topic=each.topic), said.text(each.rule)) for each in relied_on(results))
    yield from ((told("of-nonconformance", id=each.id), each.description) for each in results.nonconformances)
    for kind in (each for each in MEASUREMENTS if not each.placed):
        for result in getattr(results, kind.key):
            yield told("of-result", kind=kind.key), said.say("result", kind.key, kind.result_facts(result))


def _results(text: str, evaluation: dict[str, Any], words: Words) -> Iterator[Told]:
    for area in evaluation["areas"]:
        yield from results_of_area(text, area, words)
    for row in evaluation["conditions"]:
        if not _row_of_reading(row, words).search(text):
            dew_point, margin = str(row["dew_point"]), str(row["margin"])
            yield told("no-row-of-conditions", time=row["time"], dew_point=dew_point, margin=margin)
    for shown in uncertainties_of_readings(evaluation["conditions"]):
        if not re.search(rf"(?<![\d.,]){re.escape(shown)}(?!\d)", text):
            yield told("no-uncertainty", value=shown)


def results_of_area(text: str, area: dict[str, Any], words: Words) -> Iterator[Told]:
    """Yield what the pages do not say of an area: its row, its statistics, the rows of its locations."""
    if not _row_of_area(area, words).search(text):
        low, high = (_shown(area.get(name)) for name in ("minimum", "maximum"))
        yield told(f"no-row-of-{area['decision']}", area=area["id"], low=low, high=high)
    if (statistics := statistics_of(area, words)) and not _sequence(statistics).search(text.replace("; ", " ")):
        yield told("statistics-not-printed", area=area["id"], text=statistics)
    graded = all("observed" in location for location in area["locations"])
    for location in area["locations"]:
        ways = [row_of_grades(location, words)] if graded else rows_of_location(location, words)
        if not any(way.search(text) for way in ways):
            shown = location.get("observed") or _shown(location.get("profile"))
            yield told("no-row-of-location", area=area["id"], location=location["id"], value=shown)


def statistics_of(area: dict[str, Any], words: Words) -> str:
    """How many locations of how many, mean, scatter and uncertainty, as the pages say it; empty without a mean."""
    if "mean" not in area:
        return ""
    taken = words("result.locations", count=area["n_locations"])
    if "required_locations" in area:
        taken = words("result.of", taken=area["n_locations"], required=area["required_locations"])
    valued = sum("profile" in one for one in area["locations"] if "walk_out" not in one)
    if valued < area["n_locations"]:
        taken = f"{taken} {words('result.valued', count=valued)}"
    freedom = area.get("effective_degrees_of_freedom")
    statistics = words(
        "result.statistics.plain" if freedom is None else "result.statistics", mean=_shown(area["mean"]),
        unit=shown_unit(area["unit"]), deviation=_shown(area.get("standard_deviation")),
        expanded=_shown(area.get("expanded_uncertainty")), factor=_shown(area.get("coverage_factor")), freedom=freedom,
    )  # fmt: skip
    return f"{taken} {statistics}".replace("; ", " ")


def _row_of_reading(row: dict[str, Any], words: Words) -> re.Pattern[str]:
    """The row of a reading of the conditions."""
    figures = [_shown(row.get(name)) for name in ("air", "humidity", "steel", "dew_point", "margin")]
    place = _NAME_WORDS + _words(row.get("place") or "")
    return _sequence(row["time"], place, *figures, [words(f"verdict.{row['verdict']}")])


def uncertainties_of_readings(rows: list[dict[str, Any]]) -> Iterator[str]:
    """Yield the smallest and largest uncertainty of each quantity of the conditions, as the pages show them."""
    for name in _UNCERTAINTIES:
        if known := sorted(row[name] for row in rows if name in row):
            yield "–".join(dict.fromkeys((_shown(known[0]), _shown(known[-1]))))


def _row_of_area(area: dict[str, Any], words: Words) -> re.Pattern[str]:
    """The row of page 1: how many locations of the plan conform of how many, lowest and highest, decision."""
    planned = [one for one in area["locations"] if "walk_out" not in one]
    total = max(len(planned), area.get("required_locations") or 0)
    conform = sum(one["verdict"] == "conforms" for one in planned)
    counts: list[Any] = [_NOTHING]
    if area["locations"]:
        counts = [words("areas.of", conform=conform, planned=total)]
    low_high: Any = f"{_shown(area.get('minimum'))} – {_shown(area.get('maximum'))}"
    if "minimum" not in area or not any("profile" in one for one in area["locations"]):
        low_high = _NOTHING
    decisions = [words(f"decision.{area['decision']}")]
    if area["decision"] == "release":
        decisions.append(words("decision.released"))
    if area["decision"] == "hold" and area["n_locations"] == 0:
        decisions.append(words("decision.unseen"))
    named = _NAME_WORDS + _words(area["name"]) + len(area["locations"])  # of the structure, of the area; in the strip
    return _sequence(area["id"], named, *counts, low_high, decisions)


def row_of_grades(location: dict[str, Any], words: Words) -> re.Pattern[str]:
    """The row of a location that was graded beside a comparator, and those of its further comparisons."""
    first, *others = location["spots"]
    parts: list[Any] = [location["id"], _of_apparatus(location), *([first["id"]] if others else [])]
    parts.append(_graded(first["observed"], words))
    parts += [_NAME_WORDS if "walk_out" in location else 0, [words(f"verdict.{location['verdict']}")]]
    return _sequence(*parts, *(part for spot in others for part in (spot["id"], _graded(spot["observed"], words))))


def _of_apparatus(location: dict[str, Any]) -> int:
    """How many words may name the apparatus beside a location, as others may have one of the same name."""
    return _words(location.get("apparatus") or "")


def rows_of_location(location: dict[str, Any], words: Words) -> Iterator[re.Pattern[str]]:
    """The lines of a location in each way in which its spots may stand beside each other.

    Readings by grade, value and code word of each spot; after those of the first line what is said of the location.
    """
    whole: list[Any] = [_shown(location.get(name)) for name in ("profile", "compared", "expanded_uncertainty")]
    whole += [per_cent(location.get("probability_of_conformity")), words_of_verdict(location, words)]
    spots = [_parts_of_spot(spot, words) for spot in location["spots"]]
    for beside in range(1, _MOST_BESIDE + 1):
        lines = [[part for spot in spots[at : at + beside] for part in spot] for at in range(0, len(spots), beside)]
        rest = [part for line in lines[1:] for part in (_FEW_WORDS, *line)]
        yield _sequence(location["id"], _of_apparatus(location), *(lines[0] if lines else ()), *whole, *rest)


def words_of_verdict(location: dict[str, Any], words: Words) -> list[str]:
    """The words of a verdict: of a failing location also which limit it misses, of an open one its band."""
    found, band = [words(f"verdict.{location['verdict']}")], location.get("band")
    if location["verdict"] == "does not conform" and "side" in location:
        found.append(words(f"verdict.{location['side']}", limit=""))
    if location["verdict"] == "inconclusive":
        found.append(words("verdict.no-value"))
        found += [words(f"band.{band}")] if band in {"conditional pass", "conditional fail"} else []
        found += [words("verdict.guarded", limit="")] if band == "conditional pass" else []
    return [one.strip() for one in found]


def _parts_of_spot(spot: dict[str, Any], words: Words) -> list[Any]:
    grades = {"extra coarse": 0, "coarse": 1}
    readings = sorted(spot["readings"], key=lambda each: grades.get(each.get("grade", ""), len(grades)))
    told = [
        _shown(each["net"]) if each["net"] == each["gross"] else f"{_shown(each['gross'])} → {_shown(each['net'])}"
        for each in readings
    ]
    seen = [_graded(spot["observed"], words)] if "observed" in spot else told
    return [*seen, _shown(spot.get("profile")), words(f"combined.{spot['how']}")]


def _graded(seen: str, words: Words) -> str:
    from reportgen.words.sentences import sentences

    return sentences(words.language).graded(seen)


def _stands_in(text: str, solid: str) -> bool:
    """Whether a text stands in another, whole or in long pieces one after the other.

    A very long one goes on in a further row of its table: what stands beside it, and a page's head, come between.
    """
    start = 0
    while text:
        # the longest beginning of the text that is found: what is found of a text is found of its beginnings
        least, most = 0, len(text)
        while least < most:
            middle = (least + most + 1) // 2
            least, most = (middle, most) if solid.find(text[:middle], start) >= 0 else (least, middle - 1)
        if least < min(_PIECE, len(text)):
            return False
        start = solid.find(text[:least], start) + least
        text = text[least:]
    return True


def _printed(text: str) -> str:
    """A text as the pages show it: what no face can print as code points, accents with their letters."""
    from reportgen.pdf.fonts import drawable

    return unicodedata.normalize("NFC", drawable(text))


def _words(text: str) -> int:
    return len(text.split())


def _shown(value: Decimal | None) -> str:
    return _NOTHING if value is None else printed(f"{value:f}")


def _sequence(*parts: str | int | list[str]) -> re.Pattern[str]:
    """Return a pattern: texts in order, each alone between spaces; a number allows up to so many words between.

    One of a list of words may be followed by a comma and a remark.
    """
    kinds: dict[type, Callable[[Any], str]] = {
        str: lambda part: rf"{_spaced(part)}(?!\S)\s*",
        int: lambda part: rf"(?:\S+\s+){{0,{part}}}?",
        list: lambda part: "(?:" + "|".join(map(_spaced, part)) + r"),?(?!\S)\s*",
    }
    return re.compile(r"(?<!\S)" + "".join(kinds[type(part)](part) for part in parts))


def _spaced(text: str) -> str:
    return r"\s+".join(map(re.escape, _printed(text).split()))
