"""Files that lie beside the reports of a submittal and are not enclosed: release pages and slips, drafts, papers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.issued import read_pdf, shown_name, slip_beside
from reportgen.names import short_title, spelt_alike

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.issued import Checks, Examined


def is_companion(one: Examined) -> bool:
    """Whether a file is none that a submittal encloses, and not broken: a release page or slip, a draft, a letter.

    What we made and is none of these was a report once.
    """
    if one.kind == "slip":
        return not one.verification.against_vouching
    paper = one.paper
    return one.kind == "paper" and paper is not None and bool(paper.releases or paper.draft or not paper.ours)


def companions(examined: Mapping[Path, Examined], checks: Checks) -> Iterator[str]:
    """Yield a sentence for each companion: what it is, that it is not enclosed, and of ours whether it is proven.

    Of a slip also what the report of its shift says, with the limits of ``checks``.
    """
    for path, one in examined.items():
        if not is_companion(one):
            continue
        proven = "" if one.verification.overall == "passed" else "; its signature is not proven"
        if one.paper is None:
            area = "" if one.upon is None else f" of area {one.upon.area} for {one.upon.number}"
            what = f"is a release slip{area}: it is not enclosed; {_of_slip(path, examined, checks)}{proven}"
        elif one.paper.releases:
            what = f"is a release page ({one.paper.releases}): it decides nothing and is not enclosed{proven}"
        elif one.paper.draft:
            what = f"is a draft of {one.paper.draft}, which nobody issued: it is not enclosed"
        else:
            what = "is a paper and no report: it is not enclosed"
        yield f"{shown_name(path)} {what}"


def _of_slip(path: Path, examined: Mapping[Path, Examined], checks: Checks) -> str:
    """What the last report of its number, of those given, says of a slip."""
    slip = examined[path].upon
    reports = [
        (one.record, other)
        for other, one in examined.items()
        if slip is not None
        and one.record is not None
        and one.record.number == slip.number
        and spelt_alike(one.record.contract, slip.contract)
    ]
    if not reports:
        return "the report of its shift is not given either"
    record, other = max(reports, key=lambda one: one[0].revision)
    try:
        beside = slip_beside(read_pdf(path), read_pdf(other), shown_name(path), checks)
    except UsageError as fault:
        return f"against {short_title(record)}: {fault.message}"
    holds = "encloses it" if beside.held else "does not enclose it"
    return f"{short_title(record)} {holds}" + ("" if beside.why is None else f", and does not uphold it: {beside.why}")
