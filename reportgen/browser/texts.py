"""The words of the pages, in two languages; sentences about findings are those of ``words``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, Final

from reportgen.units import decimal_mark
from reportgen.words.catalogue import LANGUAGE, catalogue
from reportgen.words.numbers import digits
from reportgen.words.sentences import Sentences, sentences

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

LANGUAGES: Final = ("en", "de")


class Texts:
    """What the pages say in one language."""

    def __init__(self, language: str) -> None:
        self.language = language if language in LANGUAGES else LANGUAGE
        self.groups = groups(self.language)
        self._said = Sentences(self.language, self.groups).marked()

    def __call__(self, key: str, /, **facts: Any) -> str:
        """Return the text of ``group.key``, filled in."""
        group, _, name = key.partition(".")
        said = (
            self._said if group in self.groups else sentences(self.language).marked()
        )  # verdicts are called as in the report
        return said.filled(group, name, facts)

    def knows(self, key: str) -> bool:
        """Whether there is a text of ``group.key``."""
        group, _, name = key.partition(".")
        return self._said.knows(group, name)

    def named(self, group: str, name: str) -> str:
        """Return the text of a key, or the key itself where a file may say what no catalogue lists."""
        return self._said.say(group, name) if self._said.knows(group, name) else name

    def number(self, value: Decimal | None) -> str:
        """Return a number with exactly its own digits and the decimal mark of the language."""
        with decimal_mark(catalogue(self.language).decimal):
            return digits(value)

    def day(self, date: dt.date, *, year: bool = True) -> str:
        """Return a date as it is spoken of: ``9 June 2026``."""
        month = self(f"month.{date.month}")
        return self("date.full" if year else "date.short", day=date.day, month=month, year=str(date.year))

    def moment(self, instant: str) -> str:
        """Return an instant as the register has it, to the minute: ``2026-06-09 18:24 UTC``."""
        return f"{instant[:10]} {instant[11:16]} UTC"

    def weekday(self, date: dt.date) -> str:
        """Return a date with its weekday: ``Tuesday 9 June``."""
        return self("date.weekday", weekday=self(f"weekday.{date.weekday()}"), date=self.day(date, year=False))

    def left(self, minutes: int) -> str:
        """Return how long that is: ``in 3 h 25 min``, or ``25 min ago``."""
        hours, rest = divmod(abs(minutes), 60)
        long = self("time.hours", hours=hours, minutes=f"{rest:02d}") if hours else self("time.minutes", minutes=rest)
        return self("time.in" if minutes >= 0 else "time.ago", long=long)


@cache
def texts(language: str) -> Texts:
    """Return the texts of a language; English where there is none of that name."""
    return Texts(language)


@cache
def groups(language: str) -> dict[str, dict[str, str]]:
    """Return the groups of texts of a language, as its file has them."""
    return tomllib.loads(resources.files("reportgen.browser").joinpath(f"data/{language}.toml").read_text("utf-8"))
