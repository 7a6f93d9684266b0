"""Tables as one HTML file that asks for nothing: no request leaves it, nothing of a stranger's runs in it.

Style and script are the only ones a browser takes, by their hashes; all else is escaped text.
"""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
from dataclasses import dataclass
from decimal import Decimal
from html import escape
from typing import TYPE_CHECKING, Final

from reportgen.words.numbers import digits

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.export.tables import Table, Value

MOST_ROWS: Final = 5000
"""Rows of a table on a page; of a longer one the page names the CSV file that stands beside it."""

_STYLE: Final = """
:root { color-scheme: light; font: 15px/1.45 system-ui, sans-serif; color: #1c2024; background: #fff }
body { margin: 2rem auto; padding: 0 1.5rem; max-width: 110rem }
h1 { font-size: 1.6rem; margin: 0 } h2 { font-size: 1.15rem; margin: 2.6rem 0 .2rem }
p { margin: .3rem 0; max-width: 60rem } .quiet { color: #555d66 }
nav ul { columns: 16rem; padding-left: 1.1rem } nav span { color: #555d66 }
.scroll { overflow: auto; max-height: 80vh; border: 1px solid #c9ced4; margin-top: .5rem }
table { border-collapse: collapse; font-size: .86rem; width: 100% }
th, td { text-align: left; vertical-align: top; padding: .3rem .6rem; border-bottom: 1px solid #e3e6e9 }
td { min-width: 3rem; max-width: 34rem; overflow-wrap: break-word } td.n { text-align: right; white-space: nowrap }
thead th { position: sticky; top: 0; background: #eef1f4; border-bottom: 1px solid #9aa3ad }
label { display: block; margin-top: .5rem } input { font: inherit; padding: .2rem .4rem; width: 20rem; max-width: 100% }
@media print { .scroll { max-height: none; overflow: visible } label, nav { display: none } }
"""
_SCRIPT: Final = """
for (const box of document.querySelectorAll("input[data-rows]")) {
  const rows = [...document.getElementById(box.dataset.rows).tBodies[0].rows];
  const texts = rows.map((row) => row.textContent.toLowerCase());
  const told = document.getElementById(box.dataset.told);
  box.addEventListener("input", () => {
    const words = box.value.toLowerCase().split(/\\s+/).filter(Boolean);
    let left = 0;
    rows.forEach((row, place) => {
      row.hidden = !words.every((word) => texts[place].includes(word));
      left += row.hidden ? 0 : 1;
    });
    told.textContent = words.length ? `${left} / ${rows.length}` : "";
  });
}
"""


_NOTHING_ELSE: Final = "base-uri 'none'; form-action 'none'"


@dataclass(frozen=True, slots=True)
class Section:
    """A table on a page: its title, what it answers; where it is long, the CSV file beside the page that holds it."""

    title: str
    asks: str
    table: Table
    beside: str | None = None


@dataclass(frozen=True, slots=True)
class PageWords:
    """What a page says of itself, in its language."""

    language: str
    contents: str
    narrow: str
    rows: str
    nothing: str
    beside: str


def render_html(title: str, said: Sequence[str], sections: Sequence[Section], words: PageWords) -> bytes:
    """Return the page: what is said first, the sections with how many rows each has, then the tables."""
    return "\n".join(_page(title, said, sections, words)).encode()


def _page(title: str, said: Sequence[str], sections: Sequence[Section], words: PageWords) -> Iterator[str]:
    policy = f"default-src 'none'; style-src {_own(_STYLE)}; script-src {_own(_SCRIPT)}; {_NOTHING_ELSE}"
    yield f'<!doctype html>\n<html lang="{escape(words.language)}">\n<head>\n<meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>"
    yield f"<h1>{escape(title)}</h1>"
    yield from (f"<p>{escape(one)}</p>" for one in said)
    yield f'<nav aria-label="{escape(words.contents)}"><ul>'
    for number, one in enumerate(sections):
        yield f'<li><a href="#t{number}">{escape(one.title)}</a> <span>{len(one.table.rows)}</span></li>'
    yield "</ul></nav>"
    for number, one in enumerate(sections):
        yield f'<section id="t{number}">\n<h2>{escape(one.title)}</h2>\n<p class="quiet">{escape(one.asks)}</p>'
        yield from _table(number, one, words)
        yield "</section>"
    yield f"</main>\n<script>{_SCRIPT}</script>\n</body>\n</html>\n"


def _table(number: int, one: Section, words: PageWords) -> Iterator[str]:
    rows = one.table.rows
    if not rows or one.beside is not None:
        told = words.nothing if not rows else words.beside.format(rows=len(rows), file=one.beside)
        yield f"<p>{escape(told)}</p>"
        return
    yield (
        f'<label>{escape(words.narrow)} <input type="search" data-rows="r{number}" data-told="s{number}">'
        f' <span class="quiet" id="s{number}" role="status"></span></label>'
    )
    label = escape(f"{one.title}: {words.rows.format(rows=len(rows))}")
    yield f'<div class="scroll" tabindex="0" role="region" aria-label="{label}"><table id="r{number}"><thead><tr>'
    yield "".join(f'<th scope="col">{escape(head)}</th>' for head in one.table.headings)
    yield "</tr></thead><tbody>"
    for row in rows:
        yield f"<tr>{''.join(map(_cell, row))}</tr>"
    yield "</tbody></table></div>"


def _cell(value: Value) -> str:
    if value is None:
        return "<td></td>"
    if isinstance(value, Decimal | int):
        return f'<td class="n">{digits(value)}</td>' if isinstance(value, Decimal) else f'<td class="n">{value}</td>'
    if isinstance(value, dt.datetime):
        return f"<td>{value:%Y-%m-%d %H:%M}</td>"
    return f"<td>{escape(str(value))}</td>"


def _own(content: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(content.encode()).digest()).decode('ascii')}'"
