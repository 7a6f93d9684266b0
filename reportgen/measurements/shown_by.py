"""Which instruments show the quantities of a reading of the conditions.

Those that it names; of a quantity that none of them shows, any that the contract has of a kind that does, or `other`.
"""

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Any, Final

from reportgen.measurements.slice import Instrument

_SHOWN_BY: Final[Mapping[str, tuple[tuple[str, ...], ...]]] = {
    "air": (("air thermometer",), ("hygrometer", "psychrometer")),
    "humidity": (("hygrometer",), ("psychrometer",)),
    "steel": (("surface thermometer",),),
    "steel_warmest": (("surface thermometer",),),
    "wet_bulb": (("psychrometer",),),
    "pressure": (("barometer",),),
}
"""Field of a reading → kinds of instrument that show it: those named first, where a reading names one of them."""
_DRY_BULB: Final = (("psychrometer",), ("air thermometer",))


def named_for(record: Any, field: str, tools: Mapping[str, Instrument]) -> tuple[str, ...]:
    """Return the instruments that a reading names and that show a field of it."""
    each = (
        tuple(one for one in record.instruments if one in tools and tools[one].kind in kinds)
        for kinds in _kinds(record, field)
    )
    return next(filter(None, each), ())


def shown_by(record: Any, field: str, tools: Mapping[str, Instrument]) -> tuple[str, ...]:
    """Return the instruments that showed a field of a reading, or may have where it names none that does."""
    kinds = frozenset(chain(*_kinds(record, field), ("other",)))
    return named_for(record, field, tools) or tuple(name for name, one in tools.items() if one.kind in kinds)


def unnamed_in(record: Any, tools: Mapping[str, Instrument]) -> Iterator[str]:
    """Yield the fields of a reading that none of the instruments it names shows.

    The pressure of the air may be another's, where the contract has no barometer.
    """
    barometer = any(one.kind == "barometer" for one in tools.values())
    for field in measured(record):
        if not named_for(record, field, tools) and (field != "pressure" or barometer):
            yield field


def measured(record: Any) -> Iterator[str]:
    """Yield the fields of a reading that count; pressure does so beside a wet bulb alone."""
    for field in _SHOWN_BY:
        if getattr(record, field) is not None and (field != "pressure" or record.wet_bulb is not None):
            yield field


def _kinds(record: Any, field: str) -> tuple[tuple[str, ...], ...]:
    return _DRY_BULB if field == "air" and record.wet_bulb is not None else _SHOWN_BY[field]
