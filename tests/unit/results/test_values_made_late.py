"""Frozen values behave as dataclasses do, though their methods are made late or stand in their base."""

import copy
import dataclasses
import pickle

import pytest

from reportgen.results import facts
from reportgen.results.facts import NOTHING, Facts, Nothing, Place, Value


class Base(Facts):
    first: int
    second: tuple[str, ...] = ()


class Derived(Base):
    third: str = "c"


class ByName(Value, kw_only=True):
    key: str
    made: dict[str, str] = dataclasses.field(default_factory=dict)


def test_equal_values_are_equal_and_hash_alike():
    assert Base(1, ("a",)) == Base(1, second=("a",))
    assert hash(Base(1)) == hash(Base(1))
    assert Base(1) != Base(2)
    assert Base(1) != Derived(1)
    assert (Nothing() == NOTHING, hash(NOTHING) == hash(Nothing())) == (True, True)
    assert Base(1) != 1


def test_a_class_derived_from_one_in_use_has_its_own_members():
    assert Base(1).first == 1
    assert Derived(1, (), "d").third == "d"
    assert repr(Derived(1)) == "Derived(first=1, second=(), third='c')"


@pytest.mark.parametrize(
    ("kind", "given", "named"),
    [(Base, (), {}), (Base, (1, (), 3), {}), (Base, (1,), {"fourth": 2}), (ByName, ("k",), {})],
)
def test_a_value_takes_its_members_and_nothing_else(kind, given, named):
    with pytest.raises(TypeError):
        kind(*given, **named)


def test_a_member_that_is_made_is_made_anew():
    assert ByName(key="k").made is not ByName(key="k").made


def test_no_member_is_changed_taken_away_or_added():
    value = Base(1)
    for change in (
        lambda: setattr(value, "first", 2),
        lambda: setattr(value, "new", 2),
        lambda: delattr(value, "first"),
    ):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    assert not hasattr(value, "__dict__")


def test_copies_and_stored_values_are_equal():
    place = Place("A-1", time="08:00")
    stored = pickle.loads(pickle.dumps(place))  # noqa: S301 - our own
    assert stored == copy.deepcopy(place) == dataclasses.replace(place) == place
    assert dataclasses.replace(place, area="A-2") == Place("A-2", time="08:00")
    assert dataclasses.asdict(place) == {"area": "A-1", "location": None, "spot": None, "time": "08:00"}


def test_all_can_be_made_ahead():
    class Unused(Facts):
        one: int

    assert Unused.__init__ is facts._late_init
    facts.make_all()
    assert Unused.__init__ is not facts._late_init
    assert Unused(1) == Unused(1)
