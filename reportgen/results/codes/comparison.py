"""What can be stated about somebody else's readings beside the inspector's: facts, codes, closed lists."""

from decimal import Decimal
from typing import Annotated, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import GapCode, StepCode, notes

Basis = Annotated[
    Word, "comparison-basis", ("stated", "from-accuracy", "not-stated", "no-scatter", "own-unknown", "same-replicas")
]
"""What the uncertainty of the other's values rests on; or why there is none, or none of the difference."""
Unlike = Annotated[Word, "comparison-lacking", ("not-measured", "one-location")]


class Biased(Facts):
    """By how much somebody's readings lie above the inspector's in the mean (below where negative), over locations.

    ``unstated`` is there where nothing is known of the error of the other's gauge.
    """

    by: str
    mean: Amount
    uncertainty: Amount
    locations: int
    unstated: Basis | None = None


class Apart(Facts):
    """Locations at which the difference is greater than both uncertainties allow, of so many, and the largest E_n."""

    by: str
    apart: tuple[str, ...]
    count: int
    largest: Decimal


class Equal(Facts):
    """How many readings of somebody equal the inspector's, of so many; as many do by chance in one of ``one_in``."""

    by: str
    equal: int
    readings: int
    one_in: int


class Shifted(Facts):
    """By what constant all readings of somebody differ from the inspector's; by chance they do in one of ``one_in``."""

    by: str
    shift: Amount
    readings: int
    one_in: int


class BasisOf(Facts):
    """Whose values, and what their uncertainty rests on."""

    by: str
    basis: Basis


class NotCompared(Facts):
    """Whose readings are not compared, and why."""

    by: str
    why: Unlike


class Both(Facts):
    """One location as somebody and as the inspector found it."""

    theirs: Amount
    own: Amount


class Differs(Facts):
    """The difference at a location, with its expanded uncertainty and E_n where these are known."""

    difference: Amount
    uncertainty: Amount | None = None
    normalized: Decimal | None = None


class MeanDiffers(Facts):
    """The mean difference over locations, with its expanded uncertainty and coverage factor."""

    mean: Amount
    uncertainty: Amount
    factor: Decimal
    locations: int


class Beside(Facts):
    """Whose readings stand beside the inspector's."""

    by: str


BIASED: Final = notes("comparison-biased", Biased)
APART: Final = notes("comparison-apart", Apart)
EQUAL: Final = notes("comparison-equal", Equal)
SHIFTED: Final = notes("comparison-shifted", Shifted)
NO_NORMALIZED_ERROR: Final = GapCode("comparison-without-error", BasisOf)
NOT_COMPARED: Final = GapCode("comparison-not-made", NotCompared)
COMPARED: Final = StepCode("comparison", Beside)
BOTH: Final = StepCode("comparison-values", Both)
BY_DIFFERENCE: Final = StepCode("comparison-rule", BasisOf)
DIFFERS: Final = StepCode("comparison-came", Differs)
MEAN_COMPARED: Final = StepCode("comparison-mean", Beside)
BY_MEAN: Final = StepCode("comparison-mean-rule", Beside)
MEAN_DIFFERS: Final = StepCode("comparison-mean-came", MeanDiffers)
