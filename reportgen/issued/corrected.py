"""What a report's readers have to know when the rules that it was issued under were corrected since."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import ReportgenError
from reportgen.formats import plain
from reportgen.rules import evaluate
from reportgen.rules.editions import NEWEST
from reportgen.verification import Changed, Notice
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.job import Job
    from reportgen.results import Evaluation
    from reportgen.rules.editions import Edition

_JUDGED: Final = frozenset({"verdict", "decision"})
_NAMES: Final = ("id", "location", "area", "time")
_ABSENT: Final = "–"


def notices(
    job: Job, evaluation: Evaluation, edition: Edition, at: dt.datetime | None, newest: Edition = NEWEST
) -> tuple[Notice, ...]:
    """Return what is to be said of an evaluation under an earlier edition: nothing where no verdict has changed.

    ``at`` is the moment of issue: nobody chooses the kinder formula by issuing under rules long replaced.
    """
    if edition.succeeded is None or edition.number == newest.number:
        return ()
    corrected = {"on": str(edition.succeeded), "edition": edition.number, "newest": newest.number}
    found = []
    try:
        again = evaluate(job, at=at, edition=newest)
    except ReportgenError as refusal:
        found.append(Notice("SINCE_CORRECTED", told("corrected-not-taken", **corrected, why=words_of(refusal))))
    else:
        places = tuple(_differing(plain(evaluation), plain(again), ""))
        if places:
            first, more = places[0], len(places) - 1
            differs = {"spot": first.place, "now": _word(first.now), "then": _word(first.then), "more": more or None}
            found.append(Notice("SINCE_CORRECTED", told("corrected-since", **corrected, **differs), places))
    replaced = edition.succeeded
    if at is not None and (at.year - 1, at.month, at.day) > (replaced.year, replaced.month, replaced.day):
        sentence = told("under-old-rules", at=str(at.date()), edition=edition.number, replaced=str(replaced))
        found.append(Notice("OLD_RULES", sentence))
    return tuple(found)


def _word(judged: str) -> str:
    """Return a verdict or a decision as it is told."""
    return judged if judged == _ABSENT else told(f"judged-{judged.replace(' ', '-')}")


def _differing(then: Any, now: Any, path: str) -> Iterator[Changed]:
    """Yield the verdicts and decisions that are others, by their places in the evaluation."""
    if isinstance(then, dict) and isinstance(now, dict):
        for name in sorted(then.keys() | now.keys()):
            place, left, right = f"{path}.{name}".lstrip("."), then.get(name), now.get(name)
            if name not in _JUDGED:
                yield from _differing(left, right, place)
            elif left != right:
                yield Changed(place, str(left or _ABSENT), str(right or _ABSENT))
    elif isinstance(then, list) and isinstance(now, list):
        for index, (left, right) in enumerate(zip(then, now, strict=False)):
            yield from _differing(left, right, f"{path}[{_name(left, index)}]")


def _name(item: Any, index: int) -> str:
    """Return what a row is called in its list: by its own name, after that of its area where it has both."""
    if not isinstance(item, dict):
        return str(index)
    area, own = item.get("area"), next((item[name] for name in _NAMES if name in item), index)
    return str(own) if area in (None, own) else f"{area} {own}"
