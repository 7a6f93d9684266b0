"""Report numbers by the project's pattern, without gaps; revisions one after the other, each with its reason."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Phrase
from reportgen.errors import UsageError
from reportgen.formats import Supersedes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.register.chain import Chain


UNPADDED: Final = "#\u2026"
"""In a pattern, numbers without zeros in front: 9, 10, 11."""


def position(pattern: str, number: str) -> int | None:
    """Return the place of ``number`` in the sequence of ``pattern`` (``AB-12-###``), None when it does not fit."""
    before, digits, after = _pieces(pattern)
    run = f"[0-9]{{{digits}}}" if digits else "[1-9][0-9]*"
    found = re.fullmatch(f"{re.escape(before)}({run}){re.escape(after)}", number)
    return int(found[1]) if found and int(found[1]) > 0 else None


def number_at(pattern: str, place: int) -> str:
    """Return the number at ``place`` (from 1); ``UsageError`` when the pattern has no digits left for it."""
    before, digits, after = _pieces(pattern)
    if digits and place >= 10**digits:
        raise UsageError(
            f"the pattern `{pattern}` is used up: it has no number after {number_at(pattern, 10**digits - 1)}",
            help_text="give `report_numbers` another `#`, or another fixed part",
        )
    return f"{before}{place:0{digits}d}{after}"


def _pieces(pattern: str) -> tuple[str, int, str]:
    """Return what is before the sequence, its digits, and what is after it; ``#…`` has 0 digits, for any."""
    before, unpadded, after = pattern.partition(UNPADDED)
    if unpadded:
        return before, 0, after
    run = re.search("#+", pattern)
    if run is None:
        raise UsageError(f"the pattern `{pattern}` has no `#` for the sequence")
    return pattern[: run.start()], len(run[0]), pattern[run.end() :]


def next_number(pattern: str, issued: Iterable[str]) -> str:
    """Return the number after the highest issued one of ``pattern``; its first number is 1.

    Raises ``UsageError`` when the pattern is used up.
    """
    return number_at(pattern, max((position(pattern, number) or 0 for number in issued), default=0) + 1)


def missing_numbers(pattern: str, issued: Iterable[str]) -> list[str]:
    """Return the numbers of ``pattern`` below the highest issued one that were never issued."""
    places = {place for number in issued if (place := position(pattern, number))}
    return [number_at(pattern, place) for place in range(1, max(places, default=0)) if place not in places]


def admit(
    chain: Chain, number: str, revision: int, *, pattern: str | None = None, replaces: tuple[int, str] | None = None
) -> Supersedes | None:
    """Say what ``number`` and ``revision`` supersede, if they may be issued next; None for revision 0.

    ``pattern`` is the project's, if it states one; ``replaces`` the revision and the reason the day file states.

    Raises ``UsageError`` when that revision is issued already, when the number leaves a gap or does not fit the
    pattern, and when a revision is not the next one or does not say what it replaces and why.
    """
    for (issued, later), row in chain.issued.items():
        if issued == number and later >= revision and row.report is not None:
            day, _, time = row.report.issued_at.partition("T")
            raise UsageError(
                f"{number} revision {later} was already issued on {day} at {time[:5]} UTC as `{row.report.file}`",
                help_text=f"a correction is a new revision; the next one is {_next_revision(chain, number)}",
            )
    if revision > 0 or replaces is not None:
        return _superseded(chain, number, revision, replaces)
    if pattern is not None:
        due = next_number(pattern, [issued for issued, _ in chain.issued])
        if position(pattern, number) is None:
            fit = f"{number} does not fit the project's pattern `{pattern}`"
            raise UsageError(f"{fit}; the next report number is {due}")
        if number > due:  # of one pattern, so that digits compare as numbers
            gap = Phrase("{number} would leave a gap: the next report number is {due}", number=number, due=due)
            raise UsageError(gap)
        if number < due:  # issued once perhaps, and lost since: it must not be given twice
            behind = "{number} lies before the last issued number: the next report number is {due}"
            raise UsageError(Phrase(behind, number=number, due=due))
    return None


def _superseded(chain: Chain, number: str, revision: int, replaces: tuple[int, str] | None) -> Supersedes:
    if revision == 0:
        raise UsageError(f"{number} revision 0 cannot supersede anything; a correction is a new revision")
    row = chain.issued.get((number, revision - 1))
    if row is None or row.report is None:
        due = _next_revision(chain, number)
        raise UsageError(
            f"{number} revision {revision} cannot be issued: revision {revision - 1} was not",
            help_text=f"the next revision is {due}",
        )
    if replaces is None:
        raise UsageError(
            f"{number} revision {revision} does not say which revision it replaces, and why",
            help_text=f"add `supersedes:` with `revision: {revision - 1}` and a `reason:`",
        )
    told, reason = replaces
    if told != revision - 1:
        raise UsageError(f"{number} revision {revision} supersedes revision {revision - 1}, not {told}")
    if not reason.strip():
        raise UsageError(f"{number} revision {revision} states no reason for replacing revision {told}")
    return Supersedes(told, row.report.signed_sha256, reason)


def _next_revision(chain: Chain, number: str) -> int:
    return max((revision for issued, revision in chain.issued if issued == number), default=-1) + 1
