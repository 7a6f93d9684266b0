"""The tables of a submittal: one size, and the title again where a table goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.pdf.tables import Column, GroupedTable, Row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportgen.words.catalogue import Words

SIZE, LEADING = 7.5, 9.8


def table(columns: list[Column], groups: Sequence[list[Row]], words: Words, key: str, **look: Any) -> GroupedTable:
    """Return a table with groups of lines; ``key`` is that of its title, which it repeats where it goes on."""
    usual: dict[str, Any] = {"size": SIZE, "leading": LEADING}
    return GroupedTable(columns, list(groups), words(key), again=words.continued(key), **(usual | look))
