"""Oil and water in the compressed air, as the contract limits them and as the inspector records the blotter test."""

from typing import Literal

from reportgen.fields import AirPressure, Clause, Clock, Confirmed, Duration, Model, Named

Blotted = Literal["clean", "oil", "water", "oil and water"]
"""What the blotter shows."""


class CompressedAir(Model):
    """Blotter test of the compressed air."""

    clause: Clause = None
    interval: Duration | None = None
    minimum_duration: Duration | None = None


class AirCheck(Model):
    """Blotter test of the compressed air."""

    time: Clock
    apparatus: Named
    duration: Duration
    result: Blotted
    pressure: AirPressure | None = None
    confirmed: Confirmed = False
