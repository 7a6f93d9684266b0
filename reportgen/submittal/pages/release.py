"""The page that says that one area is released: by which report, on which values, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from reportgen.charts.profiles import LocationPoint, Ruler, Strip, scale_heads
from reportgen.charts.scale import profile_scale
from reportgen.gc_pause import collector_off
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
    from decimal import Decimal

    from reportgen.pdf.flow import Flowable
    from reportgen.pdf.signing import SignerBlock
    from reportgen.words.catalogue import Words

_SIZE: Final = 8.0
_HEADS: Final = 16.0


@dataclass(frozen=True, slots=True)
class ReleasedArea:
    """The area, who decides, and the values; numbers as printed, empty what is not stated.

    ``locations`` are id, profile, expanded uncertainty and verdict of each.
    """

    contract: str
    project: str
    area: str
    name: str
    structure: str
    size: str
    number: str
    revision: int
    date: str
    inspector: str
    file: str
    sha256: str
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str
    mean: Decimal | None
    lowest: Decimal | None
    highest: Decimal | None
    coated: str
    locations: tuple[tuple[str, Decimal | None, Decimal | None, str], ...]

    def limits(self, words: Words) -> str:
        """Both limits, or the one there is."""
        if self.minimum is not None and self.maximum is not None:
            return f"{printed(f'{self.minimum:f}')} – {printed(f'{self.maximum:f}')} {self.unit}"
        key, value = ("least", self.minimum) if self.minimum is not None else ("most", self.maximum)
        return "" if value is None else words(f"release.{key}", value=printed(f"{value:f}"), unit=self.unit)

    @property
    def values(self) -> str:
        """The mean, the range, and of how many locations."""
        if self.mean is None or self.lowest is None or self.highest is None:
            return ""
        mean, low, high = (printed(f"{value:f}") for value in (self.mean, self.lowest, self.highest))
        return f"{mean} {self.unit}, {low} – {high} {self.unit}, {len(self.locations)}"


@dataclass(frozen=True, slots=True)
class ReleaseNote:
    """A release as its page prints it, with who signs and as of when it was looked up.

    ``closed`` are nonconformances of the area with where each was raised and closed; ``gauges`` what was measured with:
    serial, certificate, when calibration was due. ``register`` is the last row of the register that the reports know,
    ``noted`` what the audit points at or notes in the contract, as code and sentence: no fault and no doubt.
    """

    released: ReleasedArea
    closed: tuple[tuple[str, str, str, str], ...]
    gauges: tuple[tuple[str, str, str], ...]
    register: str
    noted: tuple[tuple[str, str], ...]
    as_of: str
    signer: SignerBlock
    at: dt.datetime
    version: str
    status: str
    data_sha256: str = ""
    language: str = "en"


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
    stated = words("release.stands", date=one.date, number=one.number, revision=one.revision)
    facts = [
        ("area", ", ".join(filter(None, (one.area, one.name, one.structure)))),
        ("size", one.size),
        ("contract", one.contract),
        ("report", f"{one.number} r{one.revision}, {one.date}"),
        ("inspector", one.inspector),
        ("coated", one.coated or words("release.bare")),
        ("limits", one.limits(words)),
        ("values", one.values),
        ("register", content.register or words("release.none")),
        ("as_of", content.as_of),
    ]
    story: list[Flowable] = [
        title_text(words("release.title", area=one.area), "title", 1, bookmark="release"),
        running_text(words("submittal.subtitle", contract=one.contract, project=one.project), "subtitle"),
        VerdictBanner("conforms", stated, ()),
        Facts([(words(f"release.{name}"), value) for name, value in facts if value], 2, before=10),
        running_text(words("release.file", file=one.file, sha256=one.sha256), "dense", before=6),
    ]
    story += profile_strip(content.released, words, width)
    story += _tables(content, words, width)
    story.append(running_text(words("release.meaning"), "muted", before=8))
    return [*story, EndLine(words("release.end", area=one.area))]


def _tables(content: ReleaseNote, words: Words, width: float) -> Iterator[Flowable]:
    """Yield what was closed, what was measured with and what the audit notes, each under its title."""
    listed = (
        ("items", ("id", "raised", "closed", "what"), (60, 90, 90, width - 240), content.closed),
        ("gauges", ("gauge", "certificate", "due"), (140, 200, width - 340), content.gauges),
        ("noted", ("code", "sentence"), (120, width - 120), content.noted),
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
    values = [profile for _, profile, _, _ in one.locations if profile is not None]
    scale = profile_scale(values, one.minimum, one.maximum, one.unit)
    if scale is None or not values:
        return []
    ruler = Ruler(scale, 8.0, width - 60)
    strip = Strip(ruler, [LocationPoint(name, value, None, (), verdict) for name, value, _, verdict in one.locations])
    told = "; ".join(f"{name}: {value}" for name, value, _, _ in one.locations if value is not None)

    def heads(_: float) -> Any:
        return scale_heads(ruler, 7.0)

    return [
        SectionTitle(words("release.locations", unit=one.unit), "locations"),
        Drawing(width, _HEADS, heads, before=4),
        Drawing(width, strip.height, lambda height: strip.marks(height, 2.0), told),
    ]
