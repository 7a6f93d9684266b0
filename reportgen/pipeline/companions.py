"""Files that lie beside the reports of a submittal and are not enclosed: release pages and release slips."""

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
    """Whether a file repeats what reports say: a release page, or a release slip, that is not broken."""
    if one.kind == "slip":
        return not one.verification.against_vouching
    return one.kind == "paper" and one.paper is not None and bool(one.paper.releases)


def companions(examined: Mapping[Path, Examined], checks: Checks) -> Iterator[str]:
    """Yield a sentence for each companion: of which area, that it is not enclosed, and whether it is proven.

    Of a slip also what the report of its shift says, with the limits of ``checks``.
    """
    for path, one in examined.items():
        if not is_companion(one):
            continue
        proven = "" if one.verification.overall == "passed" else "; its signature is not proven"
        if one.paper is not None:
            what, why = f"is a release page ({one.paper.releases})", "it decides nothing and is not enclosed"
        else:
            area = "" if one.upon is None else f" of area {one.upon.area} for {one.upon.number}"
            what, why = f"is a release slip{area}", f"it is not enclosed; {_of_slip(path, examined, checks)}"
        yield f"{shown_name(path)} {what}: {why}{proven}"


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
