"""A check of a day as a colleague would put it, in one screen.

First what is wrong in the files, then what is out of limits, what is missing before one may leave, what was to be
measured and is too late for, what to measure next, and until when to coat.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from reportgen.cli.terminal import WIDTH, tinted, verdict_sentence
from reportgen.diagnostics import printable
from reportgen.job import PLACEHOLDER
from reportgen.names import full_title
from reportgen.units import DISPLAY
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.numbers import by_number, digits
from reportgen.words.omitted import omitted_texts
from reportgen.words.sentences import amount_text, sentences
from reportgen.words.standing import StandingText

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.pipeline import Checked
    from reportgen.results import AreaResult, Deadline

SHOWN_ENTRIES = 6
SHOWN_AREAS = 10
_DECISION_WORD = {"release": "conforms", "rework": "does not conform", "hold": "inconclusive"}


def render_check(checked: Checked, now: dt.datetime, *, colour: bool = False, everything: bool = False) -> str:
    """Render a check for a person; long lists are cut, with their number, unless ``everything`` is wanted."""
    evaluation, standing, said = checked.evaluation, checked.standing, StandingText()
    missed = [missed.area for missed in checked.job.day.not_inspected]
    lines = [f"{full_title(evaluation.report)}, {evaluation.report.date}"]
    # wrapped before it is coloured: the colour must not reach into the measuring of its width
    verdict = textwrap.wrap(printable(verdict_sentence(evaluation, missed)), WIDTH)
    lines += [tinted(line, evaluation.verdict, colour=colour) for line in verdict]
    missing = [*map(said.cause, standing.missing), *map(said.asked, standing.asked)]
    left_out = omitted_texts(checked.omitted, catalogue(LANGUAGE), sentences(LANGUAGE))
    sections = [
        ("Wrong in the day file", map(said.cause, standing.wrong)),
        ("Out of limits", map(said.cause, standing.out_of_limits)),
        ("Missing before you leave the site", missing),
        ("Missing, and too late to measure", map(said.cause, standing.past)),
        ("Measure next", map(said.task, standing.next)),
        ("Not coated yet", (f"{said.deadline(one)}{_time_left(one, now)}" for one in standing.deadlines)),
        ("Noted", [*left_out, *map(said.cause, standing.noted)]),
        ("To be filled in before `issue`", _placeholders(checked)),
    ]
    for title, entries in sections:
        lines += _section(title, list(entries), everything=everything)
    lines += _not_evaluated([printable(said.left_out(gap)) for gap in standing.left_out], everything=everything)
    areas = evaluation.areas
    lines += ["", "Areas"] if areas else []
    if everything or len(areas) <= SHOWN_AREAS:
        return "\n".join([*lines, *(_area_line(area, area.id in missed, colour=colour) for area in areas)])
    # of a great many only those that are not released, and the rest by their number
    objected = [area for area in areas if area.decision != "release"]
    lines += [_area_line(area, area.id in missed, colour=colour) for area in objected[:SHOWN_AREAS]]
    other = f", {len(objected) - SHOWN_AREAS} others not" if len(objected) > SHOWN_AREAS else ""
    first = "and " if objected else ""
    return "\n".join([*lines, f"  {first}{len(areas) - len(objected)} to release{other}; --all lists them"])


def _placeholders(checked: Checked) -> list[str]:
    """Return what is to be replaced; what an entry lacks is told with the entry."""
    found = (one for one in checked.job.unfilled if one.code == PLACEHOLDER)
    return [f"{one.spans[0].file}:{one.spans[0].line}: {one.help_text}" for one in found]


def _time_left(deadline: Deadline, now: dt.datetime) -> str:
    """Return how long that is, when it is today (or tonight) at the site; nothing for a day long past."""
    minutes = int((deadline.instant - now).total_seconds() // 60)
    today = now.astimezone(deadline.instant.tzinfo).date() == deadline.instant.date()
    if not today and not 0 <= minutes < 24 * 60:
        return ""
    hours, rest = divmod(abs(minutes), 60)
    long = f"{hours} h {rest} min" if hours else f"{rest} min"
    return f", {long} left" if minutes >= 0 else f", {long} ago: prepare the surface again"


def _section(title: str, entries: list[str], *, everything: bool) -> list[str]:
    shown = entries if everything or len(entries) <= SHOWN_ENTRIES + 1 else entries[:SHOWN_ENTRIES]
    wrapped: list[str] = []
    for entry in shown:
        wrapped += textwrap.wrap(
            printable(entry), WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
        )
    if len(shown) < len(entries):
        wrapped.append(f"  and {len(entries) - len(shown)} more; --all lists them")
    return ["", title, *wrapped] if wrapped else []


def _not_evaluated(points: list[str], *, everything: bool) -> list[str]:
    """Return what no rule judged: in one line, or all of it."""
    if everything:
        return _section("Not evaluated", points, everything=True)
    if not points:
        return []
    head, rest = "Not evaluated: ", f" and {len(points) - 1} more (--all)" if len(points) > 1 else ""
    if len(head) + len(points[0]) + len(rest) > WIDTH:
        rest = rest or " (--all)"
        points[0] = textwrap.shorten(points[0], WIDTH - len(head) - len(rest), placeholder=" ...")
    return ["", f"{head}{points[0]}{rest}"]


def _area_line(area: AreaResult, missed: bool, *, colour: bool) -> str:  # noqa: FBT001 - a fact about the area
    if missed:
        return f"  {printable(area.id):<12} not inspected"
    verdict = area.verdict if area.by_decision else _DECISION_WORD[area.decision]
    word = tinted(f"{area.decision:<8}", verdict, colour=colour)
    required = f" ({area.required_locations} required)" if area.required_locations is not None else ""
    numbers = f"{by_number('no location|# location|# locations', area.n_locations)}{required}"
    for part in area.sampling:
        if part.taken < part.required:
            numbers += f", {printable(part.apparatus)} {part.taken} of {part.required}"
    if area.mean is not None:
        numbers += f", mean {digits(area.mean)} {DISPLAY.get(area.unit, area.unit)}"
    if area.expanded_uncertainty is not None:
        numbers += f" ± {digits(area.expanded_uncertainty)}"
    if area.released_part is not None and area.released_part.size is not None:
        cleaned, size = (amount_text(one) for one in (area.released_part.today, area.released_part.size))
        numbers += f", of the part cleaned: {cleaned} of {size}"
    numbers += ", by decision: not said to conform" * area.by_decision
    return f"  {printable(area.id):<12} {word} {numbers}"
