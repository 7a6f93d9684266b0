"""What an audit can object to: stable codes, what each means, and how much it weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

Weight = Literal["fault", "doubt", "screening"]


class Kind(NamedTuple):
    """Meaning of a code and its weight; a screening points at what to look at and proves nothing."""

    weight: Weight
    meaning: str


PROBLEMS: Mapping[str, Kind] = {
    "file-failed": Kind("fault", "the file does not pass its own verification"),
    "file-in-doubt": Kind("doubt", "the verification of the file came to no end"),
    "file-unknown": Kind("doubt", "the file is neither an inspection report nor a submittal"),
    "number-missing": Kind("fault", "a report number below the highest one has no report"),
    "number-duplicate": Kind("fault", "one revision of one number exists in different files"),
    "revision-missing": Kind("fault", "a revision was issued, the one before it is not there"),
    "revision-without-reason": Kind("fault", "a revision does not say what it replaces and why"),
    "revision-of-other-file": Kind("fault", "a revision replaces another file than the one that is there"),
    "revision-less-proven": Kind("fault", "a file claims to replace a better proven one: it replaces nothing"),
    "revision-not-entitled": Kind(
        "fault", "a revision is signed by one whom the report that it revises does not name: it replaces nothing"
    ),
    "revision-by-other-signer": Kind("doubt", "a revision is signed by another than the report that it revises"),
    "claim-less-proven": Kind("doubt", "a file says otherwise than a better proven one, which decides"),
    "superseded-in-use": Kind("fault", "something builds upon a revision that had been superseded"),
    "nonconformance-never-closed": Kind("fault", "the last report that names a nonconformance leaves it open"),
    "closing-not-entitled": Kind(
        "fault", "a nonconformance is closed by one whom the report that raised it does not name: it stays open"
    ),
    "failure-not-undone": Kind(
        "fault", "an area is released or a nonconformance closed against another report, on the same steel"
    ),
    "released-under-other-limits": Kind(
        "fault", "an area is released that is not by the limits of an earlier report on that area, or of that day"
    ),
    "contract-not-one": Kind("fault", "reports under one contract number name different owners or inspection bodies"),
    "requirements-differ": Kind("doubt", "reports of one contract were judged by different project files"),
    "not-compared": Kind("doubt", "a report could not be held against another one"),
    "area-left-out": Kind("doubt", "a revision is silent about an area that the one before it had not released"),
    "coated-while-not-released": Kind("fault", "an area was coated although it was not released"),
    "instrument-past-calibration": Kind("fault", "an instrument was used after its calibration had fallen due"),
    "readings-copied": Kind("fault", "the same readings in the same order stand in two places"),
    "digits-uneven": Kind("screening", "last digits of a gauge's readings are not spread as a gauge spreads them"),
    "rules-corrected": Kind("screening", "a verdict or decision is another by rules that were corrected since"),
    "rules-long-replaced": Kind("screening", "a report was issued under rules replaced more than a year before"),
    "spread-narrow": Kind("screening", "readings of an area agree better than those of the contract do"),
}
"""Every code there is."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One objection: where, by which files, and one sentence that stands alone.

    ``verdict`` is the worst on those files. ``unproven`` is an objection that rests on what a file says which did not
    pass, in a contract of which others did: whoever can make such a file must not be able to accuse.
    """

    contract: str
    number: str
    code: str
    area: str
    sentence: str
    files: tuple[str, ...]
    verdict: str = ""
    unproven: bool = False

    @property
    def weight(self) -> Weight:
        """How much it weighs."""
        weight = PROBLEMS[self.code].weight
        return "doubt" if self.unproven and weight == "fault" else weight
