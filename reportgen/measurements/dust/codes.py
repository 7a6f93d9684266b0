"""What can be stated about dust: facts, findings, things to do, gaps."""

from typing import Final

from reportgen.results.facts import Facts, Nothing
from reportgen.results.statements import GapCode, TaskCode, fails, missing


class DustSize(Facts):
    """A size class that the highest quantity is stated for."""

    size: int


class DustAllowed(Facts):
    """The limit: highest quantity rating and, where stated, size class; ``sizes`` are those it is stated for."""

    maximum_quantity: int
    maximum_size: int | None = None
    sizes: tuple[DustSize, ...] | None = None


class DustSeen(Facts):
    """What a tape showed."""

    quantity: int
    size: int


class DustAbove(Facts):
    """What a tape showed, and the limit."""

    quantity: int
    size: int
    maximum_quantity: int
    maximum_size: int | None = None
    sizes: tuple[DustSize, ...] | None = None


ABOVE_MAXIMUM: Final = fails("dust-above-maximum", "washing", DustAbove)
MISSING: Final = missing("dust-missing", "entry", DustAllowed)
TAKE_TEST: Final = TaskCode("take-dust-test", DustAllowed, answers=MISSING.name, on_bare=True)
WITHOUT_LIMIT: Final = GapCode("dust-without-limit", Nothing)
FINER: Final = GapCode("dust-finer-than-limited", DustSeen)
ON_CONDITION_D: Final = GapCode("dust-on-condition-d", Nothing)
