"""Rows of the tamper matrix by kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.e2e.tamper import appended, binding, controls, held, insiders, ranges, signers, statements

if TYPE_CHECKING:
    from tests.e2e.tamper.rows import Row

KINDS = (controls, appended, ranges, signers, held, insiders, statements, binding)


def matrix() -> list[Row]:
    """Return all rows, controls first."""
    return [row for kind in KINDS for row in kind.rows()]
