"""Writes the shipped tables of distributions: ``python -m tests.unit.references.distribution_tables``.

The tables only save importing scipy; a test computes every row again.
"""

from __future__ import annotations

from pathlib import Path

from scipy import stats

from reportgen.metrology.distributions import LARGEST_TABLED, computed_grubbs_critical, computed_two_sided_factor

TABLES = Path(__file__).parents[3] / "reportgen" / "references" / "data" / "tables"


def student_t() -> list[str]:
    """Two-sided 95 % t factors for 1 to 200 degrees of freedom and for infinitely many."""
    rows = [f"{dof},{stats.t.ppf(0.975, dof):.9f}" for dof in range(1, LARGEST_TABLED + 1)]
    return ["dof,factor", *rows, f"inf,{stats.norm.ppf(0.975):.9f}"]


def tolerance() -> list[str]:
    """Two-sided 95/95 tolerance factors for 2 to 200 values."""
    rows = [f"{n},{computed_two_sided_factor(n, 0.95, 0.95):.6f}" for n in range(2, LARGEST_TABLED + 1)]
    return ["n,factor", *rows]


def grubbs() -> list[str]:
    """Grubbs' 5 % critical values for 3 to 200 values."""
    rows = [
        f"{n},{computed_grubbs_critical(n, 1, 0.05):.6f},{computed_grubbs_critical(n, 2, 0.05):.6f}"
        for n in range(3, LARGEST_TABLED + 1)
    ]
    return ["n,one_sided,two_sided", *rows]


WRITERS = {"student-t-95": student_t, "tolerance-two-sided-95-95": tolerance, "grubbs-5": grubbs}

if __name__ == "__main__":
    for name, rows in WRITERS.items():
        (TABLES / f"{name}.csv").write_text("\n".join(rows()) + "\n", "utf-8")
