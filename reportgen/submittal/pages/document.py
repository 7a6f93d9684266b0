"""A submittal's pages: cover with transmittal, index, areas, statistics, log, integrity, page copies on request."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from reportgen.diagnostics import printable
from reportgen.gc_pause import collector_off
from reportgen.pdf.blocks import Facts, SectionTitle, running_text, title_text
from reportgen.pdf.canvas import artifact
from reportgen.pdf.drawn import drawn
from reportgen.pdf.endline import EndLine
from reportgen.pdf.page import BODY_BOTTOM, MARGIN, Furniture, Laid, build_pages, geometry
from reportgen.pdf.signerblock import block_height, paint_block, signer_texts, write_covered
from reportgen.pdf.signing import BOX_GAP, BOX_HEIGHT, TITLE_ROOM, Rendered
from reportgen.pdf.styles import INK, colour
from reportgen.pdf.tagging import group
from reportgen.pdf.tightening import tightest
from reportgen.submittal.pages.copies import copies_section
from reportgen.submittal.pages.sections import (
    areas_section,
    index_section,
    integrity_section,
    log_section,
    open_section,
)
from reportgen.submittal.pages.trends import statistics_section
from reportgen.units import decimal_mark, printed
from reportgen.units.quantity import DISPLAY
from reportgen.words.catalogue import catalogue
from reportgen.words.filing import filing_words
from reportgen.words.numbers import zone_text
from reportgen.words.told import said

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator, Sequence

    from reportgen.issued import Completeness, Numbers
    from reportgen.pdf.flow import Flowable
    from reportgen.pdf.signing import Box, SignerBlock
    from reportgen.submittal.pages.model import Submittal
    from reportgen.words.catalogue import Words


_SECTIONS = (open_section, index_section, areas_section, statistics_section, log_section, integrity_section)
_MOST_NAMED = 12
"""Reports that the cover names as disputed or not proven; the index says it of each."""


def render_submittal(content: Submittal, read: Callable[[str], bytes]) -> Rendered:
    """Return the unsigned pages of a submittal; the same content gives the same bytes.

    ``read(file)`` returns the bytes of an original by its name in the submittal; it is called where pages are copied.
    """
    words, place = filing_words(content.language), geometry(content.page)
    with collector_off(), decimal_mark(words.decimal):
        differing = tuple(printable(said(one, words.language)) for one in content.differing)
        content = drawn(replace(content, differing=differing))
        digest = words("signature.list", digest=content.list_sha256)
        foot = Foot(content, words, place.width, (words("signature.covers"), digest))

        def story() -> list[Flowable]:
            told = _cover(content, words)
            for section in _SECTIONS:
                blocks = section(content, words, place.width)
                told += group("Sect", blocks) if blocks else []
            if copies := copies_section(content, words, (place.width, place.height), read):
                return [*told, *group("Sect", copies)]
            return [*told, EndLine(words("end", reference=content.reference))]

        furniture = Furniture(
            place,
            content.signer.organisation or content.signer.name,
            words("submittal.header", reference=content.reference, contract=content.contract),
            words("submittal.footer"),
            lambda page, pages: words("page.count", page=page, pages=pages),
        )

        title = f"{words('submittal.title')}, {content.reference}"

        def build(ready: Callable[[Any], Any]) -> tuple[Laid, float]:
            laid = build_pages(
                list(map(ready, story())), furniture, title=title, language=words.language,
                first_page_foot=foot.height, finish_first_page=foot.draw,
            )  # fmt: skip
            return laid, laid.filled

        pdf, pages, _ = tightest(build)
        return Rendered(pdf, pages, foot.box())


class Signed(Protocol):
    """What is signed: by whom, when, and whether that is a demonstration."""

    @property
    def signer(self) -> SignerBlock:
        """Who signs."""

    @property
    def at(self) -> dt.datetime:
        """When."""

    @property
    def status(self) -> str:
        """``demonstration`` or ``issue``."""


class Foot:
    """The foot of page 1: who signs, and what the signature covers, with a hash; ``height`` is the room it takes."""

    def __init__(self, content: Signed, words: Words, width: float, covers: tuple[str, str]) -> None:
        self.content, self.words, self.width, self.covers = content, words, width, covers
        signed = words("signature.digital", at=f"{content.at:%Y-%m-%d %H:%M} {zone_text(content.at)}")
        who = replace(content.signer, role=content.signer.role and catalogue(words.language).role(content.signer.role))
        self._texts = signer_texts(content.signer.name, who, signed)
        self._high = max(BOX_HEIGHT, block_height(self._texts, (width - BOX_GAP) / 2))
        self.height = TITLE_ROOM + self._high + BOX_GAP

    def box(self) -> Box:
        """Where the signature lies on page 1."""
        half = (self.width - BOX_GAP) / 2
        y = BODY_BOTTOM + BOX_GAP
        return (0, round(MARGIN, 2), round(y, 2), round(MARGIN + half, 2), round(y + self._high, 2))

    def draw(self, canvas: Any) -> None:
        """Title, block, what the signature covers."""
        title = title_text(self.words("signature.title"), "section", 2, bookmark="signature", outline=False)
        y = BODY_BOTTOM + self.height - TITLE_ROOM + 6
        title.wrapOn(canvas, self.width, 40)
        title.drawOn(canvas, MARGIN, y + 2)
        with artifact(canvas):
            canvas.setStrokeColor(colour(INK))
            canvas.setLineWidth(0.8)
            canvas.line(MARGIN, y, MARGIN + self.width, y)
        demonstration = self.words("signature.demonstration") if self.content.status == "demonstration" else None
        paint_block(canvas, self.box(), self._texts, strong=True, demonstration=demonstration)
        _, _, _, x1, y1 = self.box()
        x, room = x1 + BOX_GAP + 4, MARGIN + self.width - x1 - BOX_GAP - 4
        write_covered(canvas, x, y1 - 10, room, *self.covers)


def _cover(content: Submittal, words: Words) -> list[Flowable]:
    dates = sorted(row.date for row in content.reports)
    first, last = dates[0], dates[-1]
    facts = [
        (words("submittal.reference"), content.reference),
        (words("submittal.date"), f"{content.at:%Y-%m-%d}"),
        (words("submittal.contract"), content.contract),
        (words("submittal.to"), content.recipient),
        (words("submittal.from"), ", ".join(filter(None, (content.signer.name, content.signer.organisation)))),
        (words("submittal.period"), words("submittal.period.value", first=first, last=last)),
        (words("submittal.contractor"), content.contractor),
        (words("submittal.body"), content.body),
    ]
    count = content.count
    reports = words("submittal.one") if count == 1 else words("submittal.many", count=count)
    story: list[Flowable] = [
        title_text(words("submittal.title"), "title", 1, bookmark="cover"),
        running_text(words("submittal.subtitle", contract=content.contract, project=content.project), "subtitle"),
        Facts(facts, 3, before=14),
        running_text(words("submittal.statement", reports=reports, first=first, last=last), before=8),
    ]
    if content.remarks:
        story += [SectionTitle(words("submittal.remarks"), "remarks"), running_text(content.remarks, before=4)]
    story += _state(content, words)
    if barred := content.not_entitled:
        story.append(running_text(words("state.not_entitled", reports=_named(barred, words)), "note", before=4))
    if unproven := content.unproven:
        counted = "state.unproven.some" if len(unproven) < content.count else "state.unproven.all"
        story.append(running_text(words(counted, reports=_named(unproven, words)), "note", before=4))
    if pictured := content.with_photos:
        story.append(running_text(words("state.pictures", reports=_named(pictured, words)), "note", before=4))
    if awaited := content.awaited:
        story.append(running_text(words("state.awaited", reports=_named(awaited, words)), "note", before=4))
    return story + [running_text(f"{one[0].upper()}{one[1:]}.", "note", before=4) for one in content.differing]


def _state(content: Submittal, words: Words) -> list[Flowable]:
    """How much of the contract is done and enclosed, by what it lists and what was issued."""
    complete, now = content.complete, content.complete.counts
    part = now.get("released in part", 0)
    whole = {"whole": complete.done, "total": len(complete.listed), "part": part}
    facts = [
        (words("state.release"), words("state.whole" if part else "state.counted", **whole)),
        (words("state.hold"), str(complete.unsettled("hold"))),
        (words("state.rework"), str(complete.unsettled("rework"))),
        (words("state.uninspected"), str(now.get("not inspected", 0))),
        (words("state.open"), str(content.open_nonconformances)),
    ]
    if undecided := complete.unsettled("disputed") + complete.unsettled("unproven"):
        facts.insert(4, (words("state.undecided"), str(undecided)))
    reason = content.partial
    selection = words("state.selection", reason=reason) if reason else words("state.selection.none")
    told = [(selection, "body")] if content.selection else []
    listed = words("state.listed", report=content.listed_by) if content.listed_by else words("state.met")
    told.append((" ".join([listed, *_done(complete, words)]), "note"))
    if content.numbers is not None:
        told.append((_issued(content.numbers, words), "note"))
    if limits := content.judged_under:
        each = (words("state.judged.by", limits=printed(one), count=count) for one, count in limits)
        told.append((words("state.judged", limits="; ".join(each)), "note"))
    title = SectionTitle(words("state.title"), "state", note=words("state.note"))
    return [title, Facts(facts, len(facts), before=4), *(running_text(*one, before=4) for one in told)]


def _done(complete: Completeness, words: Words) -> Iterator[str]:
    """Yield how many areas are coated, or listed no longer, and how much of their size is released."""
    now = complete.counts
    if coated := now.get("coated", 0):
        yield words("state.coated", count=coated)
    if gone := now.get("no longer listed", 0):
        yield words("state.gone", count=gone)
        if left := [f"{area} ({words(f'state.left.{word}')})" for area, word in complete.left]:
            yield words("state.left", areas=_named(left, words))
    if complete.removed:
        removed = [words(f"state.removed.{one.word}", area=one.area, since=one.since) for one in complete.removed]
        yield words("state.removed", areas=_named(removed, words))
    amounts = [
        words("state.amount", done=one.done, whole=one.whole, unit=DISPLAY.get(one.unit, one.unit))
        for one in complete.amounts
    ]
    if amounts:
        yield words("state.amounts", amounts=", ".join(amounts))
        if complete.unsized:
            yield words("state.unsized", count=complete.unsized)


def _issued(numbers: Numbers, words: Words) -> str:
    """Say what was issued by the newest report, and what of it is not enclosed."""
    counts, read = {"issued": numbers.issued, "here": numbers.here}, numbers.register
    if read is None:
        said = [words("state.issued", **counts, by=numbers.by, last=numbers.counted_to)]
    else:
        said = [words("state.registered", **counts, by=read.by, row=read.row, sha256=read.sha256)]
    if numbers.absent:
        said.append(words("state.missing", missing=_named(numbers.absent, words)))
    series = [words("state.numbering", pattern=one.pattern, here=one.here, issued=one.issued) for one in numbers.apart]
    if series:
        said.append(words("state.numberings", series="; ".join(series)))
    further = [one for one in numbers.sequences if one.further]
    said += [words("state.further", newest=one.newest, further=one.further) for one in further]
    return " ".join(said)


def _named(reports: Sequence[str], words: Words) -> str:
    more = len(reports) - _MOST_NAMED
    return ", ".join(reports[:_MOST_NAMED]) + (words("state.more", count=more) if more > 0 else "")
