"""Dust on tape, as the contract limits it and as the inspector records it."""

from typing import Annotated, Self

from pydantic import Field

from reportgen.fields import Clause, Clock, Ident, Model, Rating, checked_whole, refusal


class DustLimit(Model):
    """Limits of dust by tape: quantity rating and size class, or a quantity rating for some size classes."""

    clause: Clause = None
    maximum_quantity: Rating
    maximum_size: Rating | None = None
    sizes: Annotated[
        list[Rating] | None,
        Field(min_length=1, description="size classes that `maximum_quantity` is stated for, up to the coarsest, 5"),
    ] = None

    @checked_whole
    def _sizes_are_a_run(self) -> Self:
        if self.sizes is None:
            return self
        if self.maximum_size is not None:
            raise refusal(
                "JOB165", "the dust limit has both `maximum_size` and `sizes`",
                "keep the one the contract states: the largest size class, or those that the quantity is for",
            )  # fmt: skip
        run = tuple(range(min(self.sizes), 6))
        if tuple(sorted(self.sizes)) != run:
            given, wanted = (", ".join(map(str, sizes)) for sizes in (self.sizes, run))
            raise refusal(
                "JOB165", f"`sizes` {given} leaves out or repeats a class; coarser dust is never allowed more",
                f"write `sizes: [{wanted}]`, or `maximum_size` for the largest class allowed",
            )  # fmt: skip
        return self


class DustTest(Model):
    """A dust-tape test: quantity rating and size class."""

    location: Ident
    quantity: Rating
    size: Rating
    time: Clock | None = None
