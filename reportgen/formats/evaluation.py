"""The evaluation as a file: written in any format there was, and its head read in any format there will be."""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Final

from reportgen.formats.canonical import Span, canonical_json, not_in
from reportgen.formats.decoding import value_from
from reportgen.formats.manifest import EVALUATION_NAME
from reportgen.formats.releases import RULES_EDITION, OtherReleaseError
from reportgen.results import ReportIdentity  # noqa: TC001 - the hints are read while it runs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.results import Evaluation

FORMAT = 1
SPANS: Final[Mapping[str, Span]] = {}
"""Members that are not in every format, as ``AreaResult.mean``."""


def encode(
    evaluation: Evaluation,
    in_format: int = FORMAT,
    *,
    rules_edition: int = RULES_EDITION,
    spans: Mapping[str, Span] = SPANS,
) -> bytes:
    """Return an evaluation as canonical JSON, in a format that this release knows."""
    without = not_in(in_format, spans)
    members = {
        name: getattr(evaluation, name)
        for name in type(evaluation).__dataclass_fields__
        if f"{type(evaluation).__name__}.{name}" not in without
    }
    return canonical_json(members | {"format": in_format, "rules_edition": rules_edition}, without)


@dataclass(frozen=True, slots=True)
class AreaHead:
    """What every format says of an area."""

    id: str
    verdict: str
    decision: str


@dataclass(frozen=True, slots=True)
class FindingHead:
    """What every format says of a finding."""

    code: str


@dataclass(frozen=True, slots=True)
class EvaluationHead:
    """What every format says, a later one too: report, verdict, areas, findings, and by which rules."""

    report: ReportIdentity
    verdict: str
    areas: tuple[AreaHead, ...]
    findings: tuple[FindingHead, ...] = ()
    rules_edition: int = 1
    format: int = 1


def require_known(data: bytes) -> EvaluationHead:
    """Return the head of an evaluation; ``OtherReleaseError`` where its format or rules are of a later release."""
    found = head(data)
    if found.format > FORMAT:
        raise OtherReleaseError(f"format {found.format} of {EVALUATION_NAME}")
    if found.rules_edition > RULES_EDITION:
        raise OtherReleaseError(f"edition {found.rules_edition} of the rules")
    return found


def head(data: bytes) -> EvaluationHead:
    """Return the head of an evaluation of any format; ``ValueError`` with one sentence for anything else."""
    try:
        return value_from(EvaluationHead, json.loads(data, parse_float=Decimal))
    except (AttributeError, KeyError, TypeError, ValueError, ArithmeticError, RecursionError) as reason:
        raise ValueError(f"{EVALUATION_NAME} does not say what was found") from reason
