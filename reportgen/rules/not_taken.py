"""What came in from the site and was not taken holds what it is about: nobody knows what it would have said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.results import Outcome, Place
from reportgen.results.codes.doubts import ENTRY_NOT_TAKEN, EntryNotTaken

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.results import Finding
    from reportgen.rules.scene import JobView


def entries_not_taken(view: JobView) -> Outcome[Finding]:
    """State each entry that was not taken, for its area; one without an area concerns the whole report.

    An area that was not inspected is on hold as it is.
    """
    return Outcome((), tuple(_found(view)))


def _found(view: JobView) -> Iterator[Finding]:
    inspected = {area.id for area in view.areas}
    for one in view.job.day.not_taken:
        if one.area is None or one.area in inspected:
            facts = EntryNotTaken(one.where, one.entry, one.written, one.reason)
            yield ENTRY_NOT_TAKEN.found(facts, Place(one.area))
