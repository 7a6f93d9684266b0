"""A last page with little on it is pulled back, where somewhat less space between things does it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from reportgen.pdf.blocks import Runs, SectionTitle, TextBlock
from reportgen.pdf.columns import Columns
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.styles import DENSE, FINE
from reportgen.pdf.tables import GroupedTable
from reportgen.pdf.tagging import Tagged

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

_GAINED = 0.16
"""Of each page, about what less space gives: a last page that is fuller than the sum is not worth the try."""
_GAP, _LEADING = 5.0, 1.4
_ENDLESS = 1e6


class _Paged(Protocol):
    @property
    def pages(self) -> int:
        """How many there are."""


P = TypeVar("P", bound=_Paged)


def tightest(build: Callable[[Callable[[Any], Any]], tuple[P, float]]) -> P:
    """Return the pages, with less space between things where that takes a page less.

    ``build`` lays out its story, of which each piece has gone through what it is given, and says how much of the last
    page is filled. Nothing is left out, and no letter becomes smaller than that of a note.
    """
    usual, filled = build(lambda one: one)
    if usual.pages == 1 or filled > _GAINED * usual.pages:
        return usual
    tighter, _ = build(tightened)
    return tighter if tighter.pages < usual.pages else usual


class BreakUnless(CondPageBreak):  # type: ignore[misc] # reportlab has no types
    """A new page unless so much of this one is left; where space is short, unless ``least`` is."""

    def __init__(self, height: float, least: float) -> None:
        super().__init__(height)
        self.least = least


class WhicheverFits(Flowable):  # type: ignore[misc] # reportlab has no types
    """A block that is not broken under its title, and what goes with it: that comes first where the block has no room.

    ``after`` stands below the block; ``before``, the same under a title of its own, in place of that above it, where
    only that has room on this page. ``least`` is the room that it begins with.
    """

    def __init__(
        self, title: Flowable, block: Flowable, after: Sequence[Flowable], before: Sequence[Flowable], least: float
    ) -> None:
        super().__init__()
        self.title, self.block, self.after, self.before, self.least = title, block, list(after), list(before), least

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803, ARG002 - reportlab's names
        """More than there is: it is always split into its pieces."""
        return aW, _ENDLESS

    def split(self, aW: float, aH: float) -> list[Flowable]:  # noqa: N803 - reportlab's names
        """The pieces in the order in which the first of them fits; none where none does."""

        def high(*some: Flowable) -> float:
            return sum(
                float(one.wrapOn(None, aW, aH)[1]) + float(one.getSpaceBefore() + one.getSpaceAfter()) for one in some
            )

        whole = high(self.title, self.block)
        if whole <= aH:
            return [self.title, self.block, *self.after]
        if self.before and self.least <= aH:
            return [*self.before, CondPageBreak(whole), self.title, self.block]
        return []


def tightened(one: Any) -> Any:
    """Take space out of a flowable, and return it."""
    if isinstance(one, Tagged):
        tightened(one.flowable)
    elif isinstance(one, WhicheverFits):
        for block in (one.title, *one.after, *one.before):
            tightened(block)
    elif isinstance(one, Columns):
        for block in one.blocks:
            tightened(block)
    elif isinstance(one, SectionTitle):
        one.spaceBefore = _GAP
    elif isinstance(one, BreakUnless):
        one.height = one.least
    elif isinstance(one, GroupedTable):
        one.tighten()
    elif isinstance(one, TextBlock) and FINE < one.size <= DENSE:
        one.size, one.leading, one.lines = FINE, min(one.leading, FINE + _LEADING), ()
    elif isinstance(one, Runs) and not one.given:
        one.asked = min(one.asked, FINE)
        one.size, one.leading = one.asked, min(one.leading, one.asked + _LEADING)
    return one
