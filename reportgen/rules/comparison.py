"""Somebody else's readings beside the inspector's at the same locations: difference, E_n, mean difference, copies.

They are of other replicas, read on another gauge, and enter no verdict: neither can be right for the other. What is
compared is the value of a location, by the contract's rule for both. Both values scatter with their replicas; where the
other states no uncertainty, that of the other's gauge with the inspector's own scatter of spots stands for it, and
where nothing is on record there is no E_n. A copy is told by readings that agree more often than replicas do.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from reportgen.measurements.uncertain import share_of
from reportgen.metrology.comparison import (
    COPY_LEVEL,
    chance_of_agreeing,
    chance_of_as_many,
    difference_uncertainty,
    error_of_the_other,
    mean_difference,
    normalized_error,
)
from reportgen.metrology.tape import film_thickness, film_tolerance
from reportgen.metrology.uncertainty import Gauge, location_budget, printed_uncertainty, with_share
from reportgen.results import Amount, ComparedLocation, ComparisonResult, Outcome, Place, Word
from reportgen.results.codes import comparison as codes
from reportgen.rules.readings import location_value
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.job.recorded import ComparedValue, Comparison
    from reportgen.metrology.uncertainty import Component
    from reportgen.results import Finding, LeftOut
    from reportgen.rules.profile import AreaProfile, JudgedLocation
    from reportgen.rules.scene import JobView, SurfaceView

_E_N_PLACES = 2
_MOST = 1e12
_FEWEST_SHIFTED = 5
_K = 2
"""Coverage factor of E_n: both uncertainties cover about 95 %."""


class _Pair(NamedTuple):
    """One location of both: values and expanded uncertainties [specification's unit], as exact numbers."""

    own: JudgedLocation
    theirs: Fraction
    value: Fraction
    own_expanded: Fraction | None
    their_expanded: Fraction | None

    @property
    def difference(self) -> Fraction:
        """Theirs less the inspector's."""
        return self.theirs - self.value

    @property
    def expanded(self) -> Fraction | None:
        """Expanded uncertainty of the difference; None where one of the two is not known."""
        if self.own_expanded is None or self.their_expanded is None:
            return None
        return difference_uncertainty(self.own_expanded, self.their_expanded)


def comparisons(view: JobView, profiles: Sequence[AreaProfile]) -> Outcome[ComparisonResult]:
    """Compare what somebody else read on each surface with what the inspector read there."""
    compared = (
        _Compared(view, profile, surface, surface.record.comparison).outcome()
        for profile in profiles
        for surface in profile.area.surfaces
        if surface.record.comparison is not None
    )
    return Outcome.joined(compared)


class _Compared:
    """One comparison, with what is known of both sides."""

    def __init__(self, view: JobView, profile: AreaProfile, surface: SurfaceView, record: Comparison) -> None:
        self.view, self.profile, self.surface, self.record = view, profile, surface, record
        self.unit, self.places = profile.requirement.unit, profile.places
        own = [one for one in profile.locations if one.surface.surface is surface and one.value is not None]
        self.own = {one.result.id: one for one in own}
        rows: dict[str, list[ComparedValue]] = defaultdict(list)
        for row in record.values:
            rows[row.location].append(row)
        self.rows = rows
        self.measured = own[0].surface if own else None
        self.basis = self._basis()

    def outcome(self) -> Outcome[ComparisonResult]:
        """Return the result with its findings and what could not be compared."""
        pairs = [self._pair(self.own[name], rows) for name, rows in self.rows.items() if name in self.own]
        record, time = self.record, self.record.time
        result = ComparisonResult(
            self.profile.area.id, self.surface.record.apparatus, record.by, self.unit, self.basis, record.organisation,
            record.gauge, None if time is None else self.view.printed(self.view.at(time)),
            tuple(map(self._location, pairs)),
        )  # fmt: skip
        findings: list[Finding] = []
        result = self._with_mean(result, pairs, findings)
        apart = [one for one in pairs if one.expanded and abs(one.difference) > one.expanded]
        if apart:
            largest = max((self._error(one) for one in apart), key=abs)
            names = tuple(one.own.result.id for one in apart)
            facts = codes.Apart(record.by, names, sum(one.expanded is not None for one in pairs), largest)
            findings.append(codes.APART.found(facts, self._place))
        result = self._with_equals(result, findings)
        return Outcome((result,), tuple(findings), not_evaluated=tuple(self._gaps(pairs)))

    @property
    def _place(self) -> Place:
        return Place(self.profile.area.id)

    def _basis(self) -> Word:
        record = self.record
        if record.same_replicas:
            return _basis("same-replicas")
        if self.measured is not None and self.profile.uncertainty.of_location(self.measured, 1) is None:
            return _basis("own-unknown")
        if record.expanded_uncertainty is not None:
            return _basis("stated")
        if record.gauge_accuracy is None and record.gauge_accuracy_of_reading is None:
            return _basis("not-stated")
        known = self.measured is not None and self.profile.uncertainty.of_spots(self.measured) is not None
        return _basis("from-accuracy" if known else "no-scatter")

    def _pair(self, own: JudgedLocation, rows: Sequence[ComparedValue]) -> _Pair:
        assert own.value is not None  # noqa: S101 - only such are compared
        value = location_value([row.profile.in_unit(self.unit) for row in rows], self._rule)
        assert value is not None  # noqa: S101 - every row has a value
        known = self.basis.key in ("stated", "from-accuracy")
        uncertainty = self.profile.uncertainty.of_location(own.surface, len(own.measured.spots), own.measured.value)
        # a row without a spot is of a whole location, of as many spots as the contract asks for
        spots = len(rows) if rows[0].spot is not None else self.profile.requirement.record.readings_needed
        return _Pair(
            own, value, own.value,
            uncertainty.expanded if known and uncertainty is not None else None,
            self._their_expanded(value, own.surface.on_tape, spots) if known else None,
        )  # fmt: skip

    @property
    def _rule(self) -> str:
        return self.profile.requirement.record.value_rule

    def _their_limit(self, height: Fraction, on_tape: bool) -> Fraction | None:  # noqa: FBT001 - about the readings
        """Return the limit of error of their gauge at a height [specification's unit]; on tape it measures the film."""
        accuracy, share = self.record.gauge_accuracy, share_of(self.record.gauge_accuracy_of_reading)
        film = film_thickness(self._film_unit).in_unit(self.unit) if on_tape else Fraction(0)
        return with_share(None if accuracy is None else accuracy.in_unit(self.unit), share, height + film)

    @property
    def _film_unit(self) -> str:
        return "mil" if self.unit == "mil" else "um"

    def _their_expanded(self, value: Fraction, on_tape: bool, spots: int) -> Fraction:  # noqa: FBT001 - about the readings
        """Return the expanded uncertainty of one of their values, of about 95 % coverage."""
        record = self.record
        if record.expanded_uncertainty is not None:
            return record.expanded_uncertainty.in_unit(self.unit) * _K / Fraction(record.coverage_factor or _K)
        assert self.measured is not None  # noqa: S101 - so says the basis
        film = film_tolerance(self._film_unit).in_unit(self.unit) if on_tape else None
        gauge = Gauge(self.unit, self._their_limit(value, on_tape), resolution=self._step, film=film)
        scatter = self.profile.uncertainty.of_spots(self.measured)
        return location_budget(gauge, scatter, spots if self._rule == "mean" else 1).expanded

    @property
    def _step(self) -> Fraction:
        """The last digit of their finest value [specification's unit]."""
        steps = (Quantity(Decimal(1).scaleb(-one.profile.places), one.profile.unit) for one in self.record.values)
        return min(step.in_unit(self.unit) for step in steps)

    def _location(self, pair: _Pair) -> ComparedLocation:
        expanded = pair.expanded
        return ComparedLocation(
            pair.own.result.id, rounded(pair.theirs, self.places), rounded(pair.value, self.places),
            rounded(pair.difference, self.places),
            None if expanded is None else printed_uncertainty(expanded, self.places),
            self._error(pair) if expanded else None,
        )  # fmt: skip

    @staticmethod
    def _error(pair: _Pair) -> Decimal:
        assert pair.own_expanded is not None and pair.their_expanded is not None  # noqa: S101, PT018 - both are known
        error = normalized_error(pair.difference, pair.own_expanded, pair.their_expanded)
        places = _E_N_PLACES
        while abs(rounded(error, places)) == 1 and abs(error) != 1:  # as many digits as show on which side of 1 it is
            places += 1
        return rounded(error, places)

    def _with_mean(
        self, result: ComparisonResult, pairs: Sequence[_Pair], findings: list[Finding]
    ) -> ComparisonResult:  # fmt: skip
        if len(pairs) < 2 or self.measured is None:
            return result
        height = sum((one.value for one in pairs), Fraction(0)) / len(pairs)
        theirs = self._their_common(sum((one.theirs for one in pairs), Fraction(0)) / len(pairs))
        common = [*self.profile.uncertainty.common(self.measured, height), *theirs]
        mean, budget = mean_difference([one.difference for one in pairs], common, self.unit)
        biased = abs(mean) > budget.expanded
        places = self.places
        while biased != (abs(rounded(mean, places)) > printed_uncertainty(budget.expanded, places)):
            places += 1
        expanded = printed_uncertainty(budget.expanded, places)
        scatter = next((part for part in budget.components if part.name == "scatter of differences"), None)
        if biased:
            unstated = None if theirs else _basis("not-stated")
            of = (Amount.of_number(mean, self.unit, places), Amount.of_number(expanded, self.unit, places))
            findings.append(codes.BIASED.found(codes.Biased(self.record.by, *of, len(pairs), unstated), self._place))
        return replace(
            result,
            mean_difference=rounded(mean, places),
            standard_deviation=rounded(Fraction(0) if scatter is None else scatter.number, places + 1),
            expanded_uncertainty=expanded,
            coverage_factor=rounded(budget.coverage_factor, 2),
            biased=biased,
        )

    def _their_common(self, height: Fraction) -> tuple[Component, ...]:
        """Return what of the other's error does not average out over the locations, as far as it is on record."""
        record = self.record
        stated = None if record.expanded_uncertainty is None else record.expanded_uncertainty.in_unit(self.unit)
        accuracy = self._their_limit(height, self.measured is not None and self.measured.on_tape)
        factor = Fraction(record.coverage_factor or _K)
        return error_of_the_other(self.unit, stated=stated, factor=factor, accuracy=accuracy)

    def _with_equals(self, result: ComparisonResult, findings: list[Finding]) -> ComparisonResult:
        """Count the readings that are the inspector's own numbers, and say by what chance as many are.

        Readings of the same replicas agree when both gauges are right: that says nothing.
        """
        if self.record.same_replicas or self.measured is None:
            return result
        chances: list[float] = []
        apart: list[Fraction] = []
        scatter = self.profile.uncertainty.of_spots(self.measured)
        for row in self.record.values:
            for own, averaged in self._own_numbers(row):
                step = Fraction(10) ** -row.profile.places
                printed = rounded(Quantity(own, self.unit).in_unit(row.profile.unit), row.profile.places)
                apart.append(row.profile.in_unit(self.unit) - Quantity(printed, row.profile.unit).in_unit(self.unit))
                step = Quantity(step, row.profile.unit).in_unit(self.unit)
                chances.append(chance_of_agreeing(scatter, step, averaged))
        equal = apart.count(Fraction(0))
        findings += self._shifted(apart, chances)
        exchanged, anywhere = self._anywhere()
        if anywhere > equal and chance_of_as_many(exchanged, anywhere) < COPY_LEVEL:
            chances, equal = exchanged, anywhere
        if not equal:
            return replace(result, compared=len(chances), equal=equal)
        chance = max(chance_of_as_many(chances, equal), 1 / _MOST)
        if chance < COPY_LEVEL:
            facts = codes.Equal(self.record.by, equal, len(chances), _round_number(1 / chance))
            findings.append(codes.EQUAL.found(facts, self._place))
        told = rounded(Fraction(chance), 2) if chance >= 0.1 else Decimal(f"{chance:.1g}")
        return replace(result, compared=len(chances), equal=equal, chance_of_equal=Decimal(f"{told:f}"))

    def _anywhere(self) -> tuple[list[float], int]:
        """Return the chances and the number of readings that are the inspector's at any spot of their location.

        By what letter a spot goes is anybody's. Each may agree with any of them, by at most the sum of the chances.
        """
        chances, equal = [], 0
        for name, rows in self.rows.items():
            own = list(self._spots_of(name))
            spots = [row for row in rows if row.spot is not None and own]
            chances += [min(1.0, len(own) * self._chance(row)) for row in spots]
            equal += sum(self._is_taken(row, own) for row in spots)
        return chances, equal

    def _chance(self, row: ComparedValue) -> float:
        """Return the chance that a reading at a spot agrees with one of the inspector's."""
        scatter = None if self.measured is None else self.profile.uncertainty.of_spots(self.measured)
        step = Quantity(Fraction(10) ** -row.profile.places, row.profile.unit).in_unit(self.unit)
        return chance_of_agreeing(scatter, step, 1)

    def _is_taken(self, row: ComparedValue, left: list[Fraction]) -> bool:
        """Whether a reading is one of the inspector's numbers that are left; it is gone then."""
        unit, places = row.profile.unit, row.profile.places
        for at, own in enumerate(left):
            if rounded(Quantity(own, self.unit).in_unit(unit), places) == row.profile.magnitude:
                del left[at]
                return True
        return False

    def _spots_of(self, location: str) -> Iterator[Fraction]:
        """Yield the inspector's numbers at the spots of a location."""
        own = self.own.get(location)
        if own is not None and own.value is not None:
            scale = Quantity(Fraction(1), own.surface.unit).in_unit(self.unit)
            yield from (spot.profile * scale for spot in own.measured.spots if spot.profile is not None)

    def _shifted(self, apart: Sequence[Fraction], chances: Sequence[float]) -> Iterator[Finding]:
        """Find readings that are the inspector's and a constant: the others then agree once the first is given."""
        if len(apart) < _FEWEST_SHIFTED or len(set(apart)) > 1 or not apart[0]:
            return
        chance = max(chance_of_as_many(sorted(chances)[1:], len(apart) - 1), 1 / _MOST)
        if chance < COPY_LEVEL:
            shift = Amount.of_number(apart[0], self.unit, self.places)
            facts = codes.Shifted(self.record.by, shift, len(apart), _round_number(1 / chance))
            yield codes.SHIFTED.found(facts, self._place)

    def _own_numbers(self, row: ComparedValue) -> Iterator[tuple[Fraction, int]]:
        """Yield the inspector's number beside one of theirs, if there is one, and of how many spots it is the mean."""
        own = self.own.get(row.location)
        if own is None or own.value is None:
            return
        if row.spot is None:
            yield own.value, len(own.measured.spots) if self._rule == "mean" else 1
            return
        scale = Quantity(Fraction(1), own.surface.unit).in_unit(self.unit)
        yield from (
            (spot.profile * scale, 1) for spot in own.measured.spots if spot.id == row.spot and spot.profile is not None
        )

    def _gaps(self, pairs: Sequence[_Pair]) -> Iterator[LeftOut]:
        by = self.record.by
        if self.basis.key not in ("stated", "from-accuracy"):
            yield codes.NO_NORMALIZED_ERROR.at(codes.BasisOf(by, self.basis), self._place)
        for name in (one for one in self.rows if one not in self.own):
            place = Place(self.profile.area.id, self.profile.area.located(self.surface, name))
            yield codes.NOT_COMPARED.at(codes.NotCompared(by, Word("comparison-lacking", "not-measured")), place)
        if len(pairs) == 1:
            yield codes.NOT_COMPARED.at(codes.NotCompared(by, Word("comparison-lacking", "one-location")), self._place)


def _basis(key: str) -> Word:
    return Word("comparison-basis", key)


def _round_number(number: float) -> int:
    """Return a large number with its first digit alone: 20000 of 23456."""
    return int(Decimal(f"{min(number, _MOST):.0e}"))
