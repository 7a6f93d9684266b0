"""One row of the tamper matrix: how the file is made, what verification must say, and what another program says."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from tests.unit.verification.signed_material import LATER, root

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime

Pdfsig = Literal["valid", "invalid", "none"]

LATER_REVISION = (
    "it judges each signature over its own bytes; what came later shows only as `not total document signed`"
)
MATHEMATICS = "it checks the mathematics of the signature, not what a signed file may hold or who may sign"
CERTIFICATES = "asked not to check certificates, it has no opinion on the signer"
FILES = "it does not look at embedded files"
LENIENT = "it repairs or overlooks the damage and finds the signed bytes intact"
NOT_FOUND = "it does not find the signature, which is its way of failing"


@dataclass(frozen=True)
class Row:
    """``reasons`` is the exact set of names; ``pdfsig`` what poppler 22.12 says, ``why`` explains a difference."""

    name: str
    build: Callable[[], bytes]
    overall: Literal["passed", "failed", "indeterminate"]
    reasons: frozenset[str]
    pdfsig: Pdfsig = "valid"
    why: str = ""
    at: datetime = LATER
    roots: Callable[[], tuple[Any, ...]] = lambda: (root().certificate,)
    options: dict[str, Any] = field(default_factory=dict)


def passed(name: str, build: Callable[[], bytes], **more: Any) -> Row:
    return Row(name, build, "passed", frozenset(), **more)


def failed(name: str, build: Callable[[], bytes], reasons: str, **more: Any) -> Row:
    return Row(name, build, "failed", frozenset(reasons.split()), **more)


def doubtful(name: str, build: Callable[[], bytes], reasons: str, **more: Any) -> Row:
    return Row(name, build, "indeterminate", frozenset(reasons.split()), **more)
