"""That somebody looked again at an entry: said of the values that stand there, and of none that come after them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.intake.changes import Address, Change, Entry, content_at
from reportgen.results.codes.doubts import DoubtedEntry

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from reportgen.intake.changes import Step
    from reportgen.results import Finding

FLAG: Final = "confirmed"
_NO_VALUE: Final = (FLAG, "remarks")
_OF_BLASTING: Final = ("area", "apparatus")
"""What a surface says beside ``blasted`` and is asked about there."""
_READINGS: Final = ("reading", "readings")
_NAMED: Final = {"air-pressure": "pressure", "blasting-pressure": "pressure"}
_COMPARED: Final = {"air": ("air",), "from-air": ("air",), "steel": ("steel",)}
_REFERENCES: Final = {"shim-reading": "shim", "shown": "reference"}


def field_of(finding: Finding) -> str:
    """Return the field of an entry that a doubt is about; nothing where it is that of a reading, as the roll is called.

    Most are called as what they hold, with a hyphen for a low line.
    """
    facts = finding.facts
    what = facts.entry.key if isinstance(facts, DoubtedEntry) else ""
    return "" if what in _READINGS else _NAMED.get(what, what.replace("-", "_"))


def compared_with(finding: Finding) -> tuple[str, ...]:
    """Return the fields of the same entry that a doubt rests on beside its own: either may be the slip."""
    facts = finding.facts
    if not isinstance(facts, DoubtedEntry) or facts.beside is None:
        return ()
    other = _REFERENCES.get(facts.entry.key) if facts.beside.key == "reference" else None
    return (other,) if other else _COMPARED.get(facts.beside.key, ())


def rests_on(finding: Finding, changes: Sequence[Change]) -> bool:
    """Whether a doubt rests on a value that changes enter; one that is of no single field rests on all of its entry."""
    field, changed = field_of(finding), set(_fields(changes))
    return not field or bool({field, *compared_with(finding)} & changed)


def _fields(changes: Sequence[Change]) -> Iterator[str]:
    for change in changes:
        last = change.at.steps[-1]
        if isinstance(last, str):
            yield last
        if isinstance(change.now, dict):
            yield from change.now


def with_flags(data: Mapping[str, Any], changes: Sequence[Change]) -> tuple[Change, ...]:
    """Return changes, and that somebody looked again at each entry that they are of."""
    records = dict.fromkeys(record_of(change) for change in changes if change.now is not None)
    return _with(data, changes, records, "yes")


def without_flags(data: Mapping[str, Any], changes: Sequence[Change]) -> tuple[Change, ...]:
    """Return changes, and that nobody looked again yet at what they leave: a flag goes with any value it was given for.

    One that the changes state themselves stays.
    """
    stated = {str(change.at) for change in changes}
    left = [
        record for change in changes for record in _touched(change)
        if str(Address((*record, FLAG))) not in stated
        and not (change.now is None and change.at.steps == record[: len(change.at.steps)])
    ]  # fmt: skip
    return _with(data, changes, dict.fromkeys(left), None)


def _touched(change: Change) -> Iterator[tuple[Step, ...]]:
    """Yield the entries whose flag a change may outdate."""
    steps = change.at.steps
    if steps[-1] in _NO_VALUE:
        return
    yield record_of(change)
    if len(steps) == 2 and steps[-1] in _OF_BLASTING:
        yield (steps[0], "blasted")


def _with(
    data: Mapping[str, Any], changes: Sequence[Change], records: Iterable[tuple[Step, ...]], flag: str | None
) -> tuple[Change, ...]:
    """Return changes with the flags of entries: taken before them, or before new names of theirs."""
    first: list[Change] = []
    rest: list[Change] = []
    for record in records:
        at = Address((*record, FLAG))
        present = content_at(data, at)
        if present != flag:
            (first if flag is None or _renamed(record, changes) else rest).append(Change(at, present, flag))
    return (*first, *changes, *rest)


def _renamed(record: tuple[Step, ...], changes: Sequence[Change]) -> bool:
    """Whether a change gives an entry another name, so that it is found by the one that it had no longer."""
    return any(
        isinstance(step, Entry) and change.at.steps[:-1] == record[: number + 1]
        and change.at.steps[-1] in dict(step.names)
        for number, step in enumerate(record) for change in changes
    )  # fmt: skip


def record_of(change: Change) -> tuple[Step, ...]:
    """Return the record that a change is of: the innermost entry of a list, or how a surface was blasted."""
    steps = change.at.steps
    if "blasted" in steps:
        return steps[: steps.index("blasted") + 1]
    last = max((number for number, step in enumerate(steps) if isinstance(step, Entry)), default=len(steps) - 1)
    if len(steps) == last + 2 and last == 0 and steps[-1] in _OF_BLASTING:
        return (steps[0], "blasted")
    return steps[: last + 1]
