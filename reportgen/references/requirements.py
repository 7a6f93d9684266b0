"""Names a contract may cite, turned into numbers: methods of measurement, grades of cleanliness, grades of profile."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from reportgen.errors import UsageError
from reportgen.references.shipped import editions, standard, standard_files, table

if TYPE_CHECKING:
    from reportgen.references.citations import Confidence

LocationValue = Literal["mean", "maximum"]
MethodKind = Literal["tape", "probe", "comparator", "stylus"]
Comparator = Literal["G", "S"]


@dataclass(frozen=True, slots=True)
class MethodRule:
    """How many readings make a location, and how they make its value, by method and edition.

    A comparison with a comparator has no ``location_value``: it gives a grade, not a number.
    """

    method: str
    edition: str
    kind: MethodKind
    readings_per_location: int
    location_value: LocationValue | None
    source: str
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class CleanlinessGrade:
    """A grade of preparation in its own system; grades of two systems are never compared.

    ``rank`` orders the grades of one system and series from least to cleanest, None for grades outside the order.
    ``maximum_stain`` is the share of each unit area that may stay stained, in percent; None where no number is given.
    """

    name: str
    system: str
    series: str
    rank: int | None
    maximum_stain: Decimal | None
    remains: str
    unit_area: str
    source: str
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class ComparatorGrade:
    """What a comparison says [um]: the profile is at least ``lower`` and below ``upper``, which nothing bounds if None.

    ``comparator`` is G for grit or S for shot: they look and feel different, so that a grade of one says nothing in
    terms of the other.
    """

    name: str
    comparator: Comparator
    lower: Decimal
    upper: Decimal | None


@dataclass(frozen=True, slots=True)
class ProfileGrade:
    """A named grade as limits: ``minimum`` is included, ``maximum`` is excluded where ``excludes_maximum``."""

    name: str
    minimum: Decimal
    maximum: Decimal
    unit: str
    excludes_maximum: bool
    source: str
    confidence: Confidence


def method_rule(method: str, edition: str) -> MethodRule:
    """Return the rule of a method in an edition, such as ``("ASTM D4417 Method C", "2021")``.

    Raises:
        UsageError: an unknown method, or an edition that is not shipped; no other edition is put in its place.
    """
    family, _, _ = method.partition(" Method ")
    identifier = family.lower().replace(" ", "-")
    known = editions(identifier)
    if known and edition not in known:
        raise UsageError(f"edition {edition} of `{family}` is not known", help_text=f"expected {', '.join(known)}")
    methods = standard(identifier, edition).data.get("methods", {}) if known else {}
    entry = next((one for one in methods.values() if one["name"] == method), None)
    if entry is None:
        raise UsageError(f"`{method}` is not a known method", help_text=f"expected {', '.join(method_names())}")
    return MethodRule(
        method, edition, entry["kind"], entry["readings"], entry.get("value"), entry["source"], entry["confidence"]
    )


@lru_cache(maxsize=64)
def known_rule(method: str, edition: str) -> MethodRule | None:
    """Return the rule of a method in an edition; None where it is not shipped."""
    try:
        return method_rule(method, edition)
    except UsageError:
        return None


@lru_cache(maxsize=64)
def method_kind(method: str) -> MethodKind | None:
    """Return with what a method measures, whatever its edition; None for a method that is not known."""
    family, _, _ = method.partition(" Method ")
    found = (known_rule(method, edition) for edition in editions(family.lower().replace(" ", "-")))
    return next((rule.kind for rule in found if rule is not None), None)


def method_names() -> tuple[str, ...]:
    """Return the methods that can be named, sorted."""
    found = (entry for key in standard_files() for entry in standard(*key).data.get("methods", {}).values())
    return tuple(sorted({entry["name"] for entry in found}))


@lru_cache(maxsize=1)
def _cleanliness() -> dict[str, CleanlinessGrade]:
    return {
        row["grade"]: CleanlinessGrade(
            row["grade"], row["system"], row["series"], int(row["rank"]) if row["rank"] else None,
            Decimal(row["maximum_stain"]) if row["maximum_stain"] else None, row["remains"], row["unit_area"],
            row["source"], row["confidence"],  # type: ignore[arg-type]  # text from our own file, checked by a test
        )
        for row in table("cleanliness").rows
    }  # fmt: skip


def cleanliness_grade(name: str) -> CleanlinessGrade:
    """Return a grade of cleanliness by its name, such as ``SSPC-SP 10`` or ``Sa 2½`` (``Sa 2.5`` is accepted).

    Raises:
        UsageError: an unknown grade.
    """
    spelling = " ".join(name.replace("2.5", "2½").replace("2 1/2", "2½").split())
    try:
        return _cleanliness()[spelling]
    except KeyError:
        known = ", ".join(cleanliness_names())
        raise UsageError(f"`{name}` is not a known grade of cleanliness", help_text=f"expected {known}") from None


def cleanliness_names() -> tuple[str, ...]:
    """Return the grades that can be named, in the order of the table."""
    return tuple(_cleanliness())


@lru_cache(maxsize=1)
def _profile_grades() -> dict[str, ProfileGrade]:
    return {
        row["grade"]: ProfileGrade(
            row["grade"], Decimal(row["minimum"]), Decimal(row["maximum"]), row["unit"],
            row["excludes_maximum"] == "yes", row["source"], row["confidence"],  # type: ignore[arg-type]  # text from our own file, checked by a test
        )
        for row in table("profile-grades").rows
    }  # fmt: skip


def profile_grade(name: str) -> ProfileGrade:
    """Return a grade of profile as limits, such as ``ISO 8503-1 medium G`` or ``SSPC-AB 1 grade 3``.

    Raises:
        UsageError: an unknown grade.
    """
    try:
        return _profile_grades()[name]
    except KeyError:
        known = ", ".join(profile_grade_names())
        raise UsageError(f"`{name}` is not a known grade of profile", help_text=f"expected {known}") from None


def profile_grade_names() -> tuple[str, ...]:
    """Return the grades that can be named, in the order of the table."""
    return tuple(_profile_grades())


def profile_grade_named(text: str) -> str | None:
    """Return the full name of a grade of profile that may be written short and with any capitals; None for none.

    >>> profile_grade_named("MEDIUM (G)"), profile_grade_named("medium")
    ('ISO 8503-1 medium G', None)
    """
    spelt = _spelt(text)
    by_name = {name.casefold(): name for name in profile_grade_names()}
    return by_name.get(spelt) or by_name.get(f"{_STANDARD}{spelt}")


_STANDARD = "iso 8503-1 "


def _spelt(text: str) -> str:
    """Return a grade in small letters, its comparator without brackets."""
    return " ".join(text.replace("(", " ").replace(")", " ").split()).casefold()


_COMPARATORS: tuple[Comparator, ...] = ("G", "S")
COMPARATOR_GRADES = ("finer than fine", "fine", "medium", "coarse", "coarser than coarse")
"""What can be seen beside the four segments of a comparator, from the smoothest surface to the roughest."""


def comparator_grade(text: str, comparator: Comparator | None = None) -> ComparatorGrade | None:
    """Return what a comparison says, such as ``medium G``; without a letter it is of ``comparator``.

    None where it is no such grade, or nothing says of which comparator. Capitals do not matter. A grade begins at its
    own segment and ends before the next: a surface like segment 3 is coarse.
    """
    name = _spelt(text).removeprefix(_STANDARD)
    letter = next((one for one in _COMPARATORS if name.endswith(f" {one.casefold()}")), None)
    name, letter = (name, comparator) if letter is None else (name[:-2], letter)
    if letter is None or name not in COMPARATOR_GRADES:
        return None
    rows = table("comparator-segments").rows
    ends = [Decimal(0), *(Decimal(row["nominal"]) for row in rows if row["comparator"] == letter)]
    place = COMPARATOR_GRADES.index(name)
    upper = ends[place + 1] if place + 1 < len(ends) else None
    return ComparatorGrade(f"{name} {letter}", letter, ends[place], upper)
