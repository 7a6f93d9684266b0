"""What a module of codes declares: frozen facts, codes, closed lists, each written once."""

from dataclasses import FrozenInstanceError, fields
from types import ModuleType
from typing import Annotated

import pytest

from reportgen.measurements import MEASUREMENTS
from reportgen.results import codes, values
from reportgen.results.facts import Facts, Nothing, Value, Word
from reportgen.results.statements import GapCode, StepCode, statements_of, words_of


class Rusted(Facts):
    area: str
    share: int = 0


class Named(Value, kw_only=True):
    name: str


def test_facts_are_frozen_and_have_room_for_their_members_alone():
    rusted = Rusted("A", 3)
    assert [field.name for field in fields(rusted)] == ["area", "share"]
    assert rusted == Rusted("A", share=3) != Rusted("A")
    assert not hasattr(rusted, "__dict__")
    with pytest.raises(FrozenInstanceError):
        rusted.area = "B"
    with pytest.raises(TypeError):
        Named("x")


def test_codes_and_lists_are_gathered_from_where_they_are_declared():
    module = ModuleType("declared")
    module.RUSTED = GapCode("rusted", Rusted)
    module.SEEN = {one: StepCode(f"seen-{one}", Nothing) for one in ("near", "far")}
    module.AGAIN = module.SEEN["far"]
    module.Rust = Annotated[Word, "rust", ("red", "brown")]
    assert [one.name for one in statements_of(module)] == ["rusted", "seen-near", "seen-far"]
    assert words_of(module) == {"rust": ("red", "brown")}


def test_no_code_and_no_list_is_declared_twice():
    modules = [values, *(one for one in vars(codes).values() if isinstance(one, ModuleType))]
    modules += [kind.codes for kind in MEASUREMENTS]
    names = [(type(one), one.name) for module in modules for one in statements_of(module)]
    assert len(names) == len(set(names))
    lists = {(group, words) for module in modules for group, words in words_of(module).items()}
    assert len(lists) == len({group for group, _ in lists})
