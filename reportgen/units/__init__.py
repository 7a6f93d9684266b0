"""The only unit registry: strict text to quantity and back, and exact conversion.

User text is read by this module's own grammar, never by an expression evaluator, and only the spellings of
``SPELLINGS`` are units. A conversion factor is an exact fraction.
"""

from reportgen.units.numbers import decimal_mark, parse_number, printed, render_number, rounded
from reportgen.units.quantity import (
    DISPLAY,
    EXAMPLES,
    SPELLINGS,
    SYSTEMS,
    Kind,
    Quantity,
    UnitSystem,
    elapsed,
    kind_of,
    later,
    parse_quantity,
    parse_unit,
    render_quantity,
    unit_of_difference,
    unit_of_scale,
    unit_system,
)

__all__ = [
    "DISPLAY",
    "EXAMPLES",
    "SPELLINGS",
    "SYSTEMS",
    "Kind",
    "Quantity",
    "UnitSystem",
    "decimal_mark",
    "elapsed",
    "kind_of",
    "later",
    "parse_number",
    "parse_quantity",
    "parse_unit",
    "printed",
    "render_number",
    "render_quantity",
    "rounded",
    "unit_of_difference",
    "unit_of_scale",
    "unit_system",
]
