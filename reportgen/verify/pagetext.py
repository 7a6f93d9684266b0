"""Step 9: what the pages say agrees with the embedded evaluation.

The text is read with a library that did not write it, in the order of the content streams. Every printed result has
to stand where a reader expects it: an area's row with its mean, uncertainty and decision; a location's row with spots,
profile, uncertainty and verdict; conditions; each finding in full. Words are looked up in the catalogue of the
report's language.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from reportgen.archival_manifest import EVALUATION_NAME, ISSUE_NAME
from reportgen.errors import UsageError
from reportgen.verify.embedded import Outcome
from reportgen.verify.pageread import page_texts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from reportgen.layout.wording import Words
    from reportgen.verify.embedded import Evidence

MOST_SENTENCES = 10
_HEADLINES = {
    "conforms": "headline.release.report",
    "does not conform": "headline.rework.report",
    "inconclusive": "headline.hold.report",
    "not evaluated": "headline.none",
}
_NOTHING = "–"
_NAME_WORDS = 60
_READING_WORDS = 12


def page_text_agrees(evidence: Evidence) -> Outcome:
    """Return whether the pages print the results of the embedded evaluation, naming what differs."""
    return text_agrees(page_texts(evidence.pdf), evidence.files)


def text_agrees(pages: list[str], files: Any) -> Outcome:
    """Compare the text of pages, in content order, with the evaluation among ``files``.

    ``files`` maps names to bytes. The answer is *not done* when the report does not say in which language it is.
    """
    from reportgen.layout.wording import catalogue

    try:
        evaluation = json.loads(files[EVALUATION_NAME], parse_float=Decimal, parse_int=Decimal)
        words = catalogue(json.loads(files[ISSUE_NAME])["template"]["language"])
    except (KeyError, TypeError, ValueError, UsageError):
        return Outcome("not done", ("the report does not say in which language its pages are",))
    text = " ".join(" ".join(pages).split())
    missing = [
        *_identity(pages, evaluation),
        *_headline(pages, evaluation, words),
        *_results(text, evaluation, words),
        *_findings(text, evaluation),
    ]
    if missing:
        more = f"and {len(missing) - MOST_SENTENCES} more places"
        return Outcome("failed", (*missing[:MOST_SENTENCES], *((more,) if len(missing) > MOST_SENTENCES else ())))
    locations = sum(len(area["locations"]) for area in evaluation["areas"])
    compared = f"{len(evaluation['areas'])} areas, {locations} locations, {len(evaluation['findings'])} findings"
    return Outcome("passed", (f"{compared} and {len(evaluation['conditions'])} readings of the conditions agree",))


def _identity(pages: list[str], evaluation: dict[str, Any]) -> Iterator[str]:
    report = evaluation["report"]
    for number, page in enumerate(pages, start=1):
        line = " ".join(page.split())
        if any(_alone(str(report[part])).search(line) is None for part in ("number", "revision", "date")):
            yield f"page {number} does not bear number, revision and date of the report"


def _headline(pages: list[str], evaluation: dict[str, Any], words: Words) -> Iterator[str]:
    """The sentence at the top begins with the verdict; what follows it counts areas, which have rows of their own."""
    verdict = evaluation["verdict"]
    begins = re.split("[:.]", words(_HEADLINES[verdict]))[0]
    if not pages or not re.search(rf"(?<!\S){_spaced(begins)}[:.]", pages[0]):
        yield f"page 1 does not say that the report's verdict is: {verdict}"


def _results(text: str, evaluation: dict[str, Any], words: Words) -> Iterator[str]:
    for area in evaluation["areas"]:
        if not _row_of_area(area, words).search(text):
            yield f"area {area['id']}: no row with mean {_shown(area['mean'])} and decision {area['decision']}"
        for location in area["locations"]:
            if not _row_of_location(location, words).search(text):
                yield f"area {area['id']}, location {location['id']}: no row with {_shown(location['profile'])}"
    for row in evaluation["conditions"]:
        if not _row_of_condition(row, words).search(text):
            yield f"conditions at {row['time']}: no row with dew point {row['dew_point']} and margin {row['margin']}"


def _row_of_area(area: dict[str, Any], words: Words) -> re.Pattern[str]:
    uncertainty = [_shown(area["expanded_uncertainty"])]
    if area["coverage_factor"] is not None:
        uncertainty.append(f"({_shown(area['coverage_factor'])})")
    decisions = [words(f"decision.{area['decision']}")]
    if area["decision"] == "hold" and area["n_locations"] == 0:
        decisions.append(words("decision.unseen"))
    return _sequence(area["id"], _NAME_WORDS, _shown(area["mean"]), *uncertainty, decisions)


def _row_of_location(location: dict[str, Any], words: Words) -> re.Pattern[str]:
    """The location's row and those of its further spots, up to the readings between them."""
    parts: list[Any] = [location["id"]]
    for index, spot in enumerate(location["spots"]):
        parts += [] if index == 0 else [_READING_WORDS]
        parts += [spot["id"], _READING_WORDS, words(f"how.{spot['how']}"), _shown(spot["profile"])]
        if index == 0:
            parts += [_shown(location["profile"]), _shown(location["expanded_uncertainty"])]
            parts += [_verdicts(location, words)]
    return _sequence(*parts)


def _verdicts(location: dict[str, Any], words: Words) -> list[str]:
    """Return the words for a verdict: of a failing location also which limit it misses, of an open one its band."""
    said, band = [words(f"verdict.{location['verdict']}")], location["band"]
    if location["verdict"] == "does not conform" and location["side"] is not None:
        said.append(words(f"verdict.{location['side']}", limit=""))
    if location["verdict"] == "inconclusive" and band in {"conditional pass", "conditional fail"}:
        said += [words(f"band.{band}"), *([words("verdict.guarded", limit="")] if band == "conditional pass" else [])]
    return [one.strip() for one in said]


def _row_of_condition(row: dict[str, Any], words: Words) -> re.Pattern[str]:
    figures = [_shown(row["steel"]), _shown(row["dew_point"]), _shown(row["margin"])]
    return _sequence(row["time"], _NAME_WORDS, *figures, _NAME_WORDS, [words(f"verdict.{row['verdict']}")])


def _findings(text: str, evaluation: dict[str, Any]) -> Iterator[str]:
    """A finding's text is broken into lines by its column, so it is looked for without any white space."""
    solid = "".join(text.split())
    for finding in evaluation["findings"]:
        for part in ("observed", "requirement"):
            if "".join(finding[part].split()) not in solid:
                yield f"finding {finding['code']}: the pages do not print `{finding[part]}`"


def _shown(value: Decimal | None) -> str:
    return _NOTHING if value is None else f"{value:f}"


def _alone(token: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\S){re.escape(token)}(?!\S)")


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
    return r"\s+".join(map(re.escape, text.split()))
