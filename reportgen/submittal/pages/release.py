"""The page that says that one area is released: by which report, on which values, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen.charts.profiles import LocationPoint, Ruler, Strip, scale_heads
from reportgen.charts.scale import profile_scale
from reportgen.gc_pause import collector_off
from reportgen.names import short_title
from reportgen.pdf.blocks import Facts, SectionTitle, VerdictBanner, running_text, title_text
from reportgen.pdf.charted import Drawing
from reportgen.pdf.drawn import drawn
from reportgen.pdf.endline import EndLine
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.signing import Rendered
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.submittal.pages.document import Foot
from reportgen.units import decimal_mark, printed
from reportgen.words.filing import filing_words

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.issued import ReleasedArea, ReleaseFile
    from reportgen.pdf.flow import Flowable
    from reportgen.pdf.signing import SignerBlock
    from reportgen.words.catalogue import Words

_SIZE: Final = 8.0
_HEADS: Final = 16.0


@dataclass(frozen=True, slots=True)
class ReleaseNote:
    """A release as its page prints it: its data ``told`` with their SHA-256, and of these the signer and the moment."""

    told: ReleaseFile
    signer: SignerBlock
    at: dt.datetime
    data_sha256: str

    @property
    def released(self) -> ReleasedArea:
        """The area."""
        return self.told.released

    @property
    def status(self) -> str:
        """Whether it is a demonstration."""
        return self.told.status

    @property
    def language(self) -> str:
        """That of the page."""
        return self.told.language


def area_limits(one: ReleasedArea, words: Words) -> str:
    """Both limits, or the one there is."""
    if one.minimum is not None and one.maximum is not None:
        return f"{printed(f'{one.minimum:f}')} – {printed(f'{one.maximum:f}')} {one.unit}"
    key, value = ("least", one.minimum) if one.minimum is not None else ("most", one.maximum)
    return "" if value is None else words(f"release.{key}", value=printed(f"{value:f}"), unit=one.unit)


def area_values(one: ReleasedArea) -> str:
    """The mean, the range, and of how many locations."""
    if one.mean is None or one.lowest is None or one.highest is None:
        return ""
    mean, low, high = (printed(f"{value:f}") for value in (one.mean, one.lowest, one.highest))
    return f"{mean} {one.unit}, {low} – {high} {one.unit}, {len(one.locations)}"


def render_release(content: ReleaseNote) -> Rendered:
    """Return the unsigned pages; the same content gives the same bytes."""
    words, place = filing_words(content.language), geometry("A4")
    with collector_off(), decimal_mark(words.decimal):
        content = drawn(content)
        covers = (words("release.covers"), words("release.data", digest=content.data_sha256))
        foot = Foot(content, words, place.width, covers)
        one = content.released
        title = words("release.title", area=one.area)
        furniture = Furniture(
            place,
            content.signer.organisation or content.signer.name,
            words("submittal.header", reference=title, contract=one.contract),
            words("release.footer"),
            lambda page, pages: words("page.count", page=page, pages=pages),
        )
        pdf, pages, _ = build_pages(
            _story(content, words, place.width), furniture, title=f"{title}, {one.contract}", language=words.language,
            first_page_foot=foot.height, finish_first_page=foot.draw,
        )  # fmt: skip
        return Rendered(pdf, pages, foot.box())


def _story(content: ReleaseNote, words: Words, width: float) -> list[Flowable]:
    one = content.released
    others = content.told.of_other_areas
    key = "release.stands.others" if others else "release.stands"
    unseen = [words("release.further", newest=each.newest, further=each.further) for each in content.told.further or ()]
    still = words("release.open.here" if unseen else "release.open.none")
    stated = words(key, date=one.date, number=one.number, revision=one.revision, others=others, open=still)
    facts = [
        ("area", ", ".join(filter(None, (one.area, one.name, one.structure)))),
        ("size", one.size),
        ("contract", one.contract),
        ("report", f"{short_title(one)}, {one.date}"),
        ("inspector", one.inspector),
        ("coated", one.coated or words("release.bare")),
        ("limits", area_limits(one, words)),
        ("values", area_values(one)),
        ("register", " ".join([content.told.register or words("release.none"), *unseen])),
        ("as_of", content.told.as_of),
    ]
    story: list[Flowable] = [
        title_text(words("release.title", area=one.area), "title", 1, bookmark="release"),
        running_text(words("submittal.subtitle", contract=one.contract, project=one.project), "subtitle"),
        VerdictBanner("conforms", stated, [*unseen, words("release.unseen")] if unseen else ()),
        Facts([(words(f"release.{name}"), value) for name, value in facts if value], 2, before=10),
        running_text(words("release.file", file=one.file, sha256=one.sha256), "dense", before=6),
    ]
    story += profile_strip(content.released, words, width)
    story += _tables(content, words, width)
    story.append(running_text(words("release.meaning"), "muted", before=8))
    return [*story, EndLine(words("release.end", area=one.area))]


def _tables(content: ReleaseNote, words: Words, width: float) -> Iterator[Flowable]:
    """Yield what was closed, what was measured with and what the audit notes, each under its title."""
    told = content.told
    listed: tuple[tuple[str, tuple[str, ...], tuple[float, ...], list[tuple[str, ...]]], ...] = (
        (
            "items",
            ("id", "raised", "closed", "what"),
            (60, 90, 90, width - 240),
            [(one.id, one.raised_in, one.closed_in, one.what) for one in told.closed],
        ),
        (
            "gauges",
            ("gauge", "certificate", "due"),
            (140, 200, width - 340),
            [(one.serial, one.certificate, one.due) for one in told.gauges],
        ),
        ("noted", ("code", "sentence"), (120, width - 120), [(one.code, one.sentence) for one in told.noted]),
    )
    for name, heads, widths, rows in listed:
        if rows or name == "gauges":
            title = words(f"release.{name}")
            yield SectionTitle(title, name)
            yield _table([words(f"release.{head}") for head in heads], widths, [[row] for row in rows], title)


def _table(heads: list[str], widths: tuple[float, ...], rows: list[list[Row]], summary: str) -> GroupedTable:
    columns = [Column(head, each) for head, each in zip(heads, widths, strict=True)]
    return GroupedTable(columns, rows, summary, row_head=True, size=_SIZE)


def profile_strip(one: ReleasedArea, words: Words, width: float) -> list[Flowable]:
    """Return the profile of each location on the scale of the limits; nothing where none has one."""
    values = [profile for profile in (each.profile for each in one.locations) if profile is not None]
    scale = profile_scale(values, one.minimum, one.maximum, one.unit)
    if scale is None or not values:
        return []
    ruler = Ruler(scale, 8.0, width - 60)
    strip = Strip(ruler, [LocationPoint(each.location, each.profile, None, (), each.verdict) for each in one.locations])
    told = "; ".join(f"{each.location}: {each.profile}" for each in one.locations if each.profile is not None)

    def heads(_: float) -> Any:
        return scale_heads(ruler, 7.0)

    return [
        SectionTitle(words("release.locations", unit=one.unit), "locations"),
        Drawing(width, _HEADS, heads, before=4),
        Drawing(width, strip.height, lambda height: strip.marks(height, 2.0), told),
    ]
