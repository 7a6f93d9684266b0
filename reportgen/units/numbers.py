"""Numbers as a person writes them: read strictly, rounded by a named rule, never through binary floating point."""

from __future__ import annotations

import re
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from reportgen.diagnostics import Phrase
from reportgen.errors import QuantityError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

RoundingRule = Literal["half-even", "half-up"]

_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,9})?\Z", re.ASCII)
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+\Z", re.ASCII)
_LOOKS = re.compile(r"[+-]?(nan|inf|infinity)\Z", re.IGNORECASE)
_MINUS = "\u2212"
_MARK: ContextVar[str] = ContextVar("decimal mark", default=".")


def parse_number(text: str) -> Decimal:
    """Read a plain decimal number: at most nine digits before and after the point, ASCII, no exponent.

    The digits written are kept: ``parse_number("2.10")`` has two decimals.

    Raises:
        QuantityError: for anything else, saying what to write.
    """
    if _NUMBER.match(text):
        return Decimal(text)
    remedy = "write digits with at most one decimal point, such as `2.4`"
    if _COMMA.match(text):
        remedy = f"write `{text.replace(',', '.')}` with a decimal point"
    elif _LOOKS.match(text.lstrip(".")):
        remedy = "leave the entry out and say why under `remarks` when nothing was measured"
    elif text.startswith(_MINUS):
        remedy = f"write `-{text[1:]}` with an ordinary hyphen"
    raise QuantityError(Phrase("`{text}` is not a number", text=text), help_text=remedy)


def rounded(value: Fraction | Decimal | int, places: int, rule: RoundingRule = "half-even") -> Decimal:
    """Round an exact value to ``places`` decimals (may be negative) by ``rule``; an exact half is decided by the rule.

    Source: ASTM E29 (half to even); half up as some contracts prescribe instead.
    """
    over, under = value.as_integer_ratio()  # in whole numbers: a fraction would be brought to lowest terms each time
    if places >= 0:
        over *= 10**places
    else:
        under *= 10**-places
    below, rest = divmod(over, under)
    twice = 2 * rest - under
    half = over >= 0 if rule == "half-up" else below % 2 == 1
    if twice > 0 or (twice == 0 and half):
        below += 1
    return Decimal(f"{below}E{-places}")  # exact, where arithmetic of decimals would keep 28 digits


def render_number(value: Fraction | Decimal | int, places: int, rule: RoundingRule = "half-even") -> str:
    """Render with exactly ``places`` decimals; a result that rounds to zero has no sign."""
    text = f"{rounded(value, places, rule):f}"
    return printed(text.lstrip("-") if not text.strip("-0.") else text)


@contextmanager
def decimal_mark(mark: str) -> Iterator[None]:
    """Have numbers rendered with a decimal mark: on pages of a language, and where those are read again.

    Everything else is written with a point, whatever the language: files, what a person is to enter, tables.
    """
    before = _MARK.set(mark)
    try:
        yield
    finally:
        _MARK.reset(before)


def printed(number: str) -> str:
    """Return the text of a number, or of one with its unit, with the decimal mark of the pages being made."""
    return number.replace(".", _MARK.get())
