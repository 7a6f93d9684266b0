"""Dust on tape, as the contract limits it and as the inspector records it."""

from reportgen.fields import Clause, Clock, Ident, Model, Rating


class DustLimit(Model):
    """Limits of dust by tape: quantity rating and size class."""

    clause: Clause = None
    maximum_quantity: Rating
    maximum_size: Rating | None = None


class DustTest(Model):
    """A dust-tape test: quantity rating and size class."""

    location: Ident
    quantity: Rating
    size: Rating
    time: Clock | None = None
