"""The field sheet: an ordinary PDF form for one shift, to print and write on, or to fill in on a tablet."""

from reportgen.intake.form import (
    FORM_FIELD,
    field_name,
    parse_form,
    sheet_identity,
)
from reportgen.sheet.plan import SheetPlan, sheet_plan

__all__ = [
    "FORM_FIELD",
    "field_name",
    "parse_form",
    "render_sheet",
    "sheet_identity",
    "sheet_plan",
]


def render_sheet(plan: SheetPlan) -> bytes:
    """Return the PDF of a plan; the same plan gives the same bytes."""
    from reportgen.sheet.drawing import drawn

    return drawn(plan)
