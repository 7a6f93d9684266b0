"""The evaluation as a file: written in any format there was, and its head read in any format there will be."""

import json
from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from typing import Final, TypeVar

from reportgen.formats.canonical import FormatSpan, canonical_json, not_in
from reportgen.formats.decoding import value_from
from reportgen.formats.manifest import EVALUATION_NAME
from reportgen.formats.releases import OtherReleaseError
from reportgen.results import Evaluation, ReportIdentity
from reportgen.results.facts import Value
from reportgen.rules.editions import EDITIONS, RULES_EDITION, Edition
from reportgen.words.told import told

T = TypeVar("T")

FORMAT = 1
SPANS: Final[Mapping[str, FormatSpan]] = {}
"""Members that are not in every format, as ``AreaResult.mean``."""


def encode(
    evaluation: Evaluation,
    in_format: int = FORMAT,
    *,
    rules_edition: int = RULES_EDITION,
    spans: Mapping[str, FormatSpan] = SPANS,
) -> bytes:
    """Return an evaluation as canonical JSON, in a format that this release knows."""
    without = not_in(in_format, spans)
    members = {
        field.name: getattr(evaluation, field.name)
        for field in fields(evaluation)
        if f"Evaluation.{field.name}" not in without
    }
    return canonical_json(members | {"format": in_format, "rules_edition": rules_edition}, without)


class AreaHead(Value):
    """What every format says of an area."""

    id: str
    verdict: str
    decision: str


class FindingHead(Value):
    """What every format says of a finding."""

    code: str


class EvaluationHead(Value):
    """What every format says, a later one too: report, verdict, areas, findings, and by which rules."""

    report: ReportIdentity
    verdict: str
    areas: tuple[AreaHead, ...]
    findings: tuple[FindingHead, ...] = ()
    rules_edition: int = 1
    format: int = 1


class Counters(Value):
    """By what an evaluation counts: the format it is written in, and the edition of the rules it was made under."""

    format: int = 1
    rules_edition: int = 1

    @property
    def rules(self) -> Edition:
        """Its edition of the rules; ``OtherReleaseError`` as from ``require_known``."""
        self.require_known()
        return EDITIONS[self.rules_edition]

    def require_known(self, generator: str = "") -> None:
        """Raise ``OtherReleaseError`` where it counts by what a later release knows alone."""
        if self.format > FORMAT:
            raise OtherReleaseError(told("format-of", number=self.format, file=EVALUATION_NAME), generator)
        if self.rules_edition > RULES_EDITION:
            raise OtherReleaseError(told("edition-of-rules", number=self.rules_edition), generator)


def counters(data: bytes) -> Counters:
    """Return what an evaluation counts by; ``ValueError`` with one sentence where that cannot be or is not said."""
    found = _told(Counters, data, ValueError(told("evaluation-no-counters", file=EVALUATION_NAME)))
    if min(found.format, found.rules_edition) < 1:
        raise ValueError(told("evaluation-format", file=EVALUATION_NAME))
    return found


def head(data: bytes) -> EvaluationHead:
    """Return the head of an evaluation of any format; ``ValueError`` with one sentence for anything else."""
    return _told(EvaluationHead, data, ValueError(told("evaluation-no-results", file=EVALUATION_NAME)))


def _told(kind: type[T], data: bytes, refusal: ValueError) -> T:
    try:
        return value_from(kind, json.loads(data, parse_float=Decimal))
    except (AttributeError, KeyError, TypeError, ValueError, ArithmeticError, RecursionError) as reason:
        raise refusal from reason
