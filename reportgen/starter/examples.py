"""Values that show how an entry looks, in the units of a contract; in angle brackets wherever one could be believed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.metrology.tape import film_thickness

if TYPE_CHECKING:
    from reportgen.units import UnitSystem

_GAUGES: Final = {
    "mil": {"example_resolution": "0.1 mil", "example_accuracy": "0.2 mil", "shim": "3.0 mil", "unused": "5.5 mil"},
    "um": {"example_resolution": "1 um", "example_accuracy": "5 um", "shim": "75 um", "unused": "140 um"},
}
"""Of a gauge of either unit: usual limits of error of gauges for replica tape; common practice, no source."""

_THERMOMETERS: Final = {"degF": "1 delta_degF", "degC": "0.5 delta_degC"}
_COMPRESSED: Final = {"psi": "100 psi", "kPa": "700 kPa"}
_READINGS: Final = {"mil": ("2.8", "3.0"), "um": ("71", "76")}


def examples(units: UnitSystem) -> dict[str, str]:
    """Return the example for every name of the starter files that shows one."""
    film = film_thickness(units.height)
    return {
        "example_height": units.such_as("height")[0],
        "example_temperature": units.such_as("temperature")[0],
        "example_area": units.such_as("area")[0],
        "example_thermometer": _THERMOMETERS[units.temperature],
        "margin": units.such_as("temperature difference")[0],
        "salts": units.such_as("areal density")[0],
        "air": {"degF": "63.5 degF", "degC": "17.5 degC"}[units.temperature],
        "steel": units.such_as("temperature")[0],
        "compressed": _COMPRESSED[units.air],
        "preset": f"-{film.magnitude} {film.unit}",
        **_GAUGES[units.height],
    }


def example_readings(units: UnitSystem) -> tuple[str, str]:
    """Return what the gauge may show at the two spots of a location."""
    return _READINGS[units.height]
