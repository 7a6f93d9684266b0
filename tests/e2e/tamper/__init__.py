"""Rows of the tamper matrix by kind.

A row is one file, judged alone. What it takes more than one file or a process to show stands elsewhere: pages made
again and faults of our own in ``test_nothing_left_out``, renewals in ``unit/verification/test_renewals``, submittals in
``test_submittal_made_again``, audits, their index and names in ``test_audit`` and ``unit/audit``, registers in
``unit/cli/test_forked_register`` and ``unit/register``, what a child may do in ``unit/sandbox``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.e2e.tamper import (
    anchors,
    appended,
    binding,
    carried,
    controls,
    held,
    insiders,
    parameters,
    ranges,
    signers,
    statements,
)

if TYPE_CHECKING:
    from tests.e2e.tamper.rows import Row

KINDS = (controls, appended, ranges, signers, held, insiders, parameters, statements, binding, anchors, carried)


def matrix() -> list[Row]:
    """Return all rows, controls first."""
    return [row for kind in KINDS for row in kind.rows()]
