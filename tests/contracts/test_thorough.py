"""A run leaves out what ``tests/thorough.py`` says and nothing else; with CI=true nothing at all."""

from types import SimpleNamespace

import pytest

from tests import thorough
from tests.conftest import ROOT

FILES = ("tests/e2e/test_a.py", "tests/unit/rules/test_b.py", "tests/contracts/test_c.py")


class Item:
    """A test as pytest collects it."""

    def __init__(self, nodeid, *marks):
        self.nodeid, self.marks = nodeid, marks

    def get_closest_marker(self, name):
        return name if name in self.marks else None


@pytest.fixture
def collected():
    rows = [Item(f"{file}::test_of_a_day[{row}]") for file in FILES for row in range(300)]
    return [*rows, *(Item(f"{file}::test_long", "thorough") for file in FILES)]


@pytest.fixture
def left_out(collected, monkeypatch):
    """The names of what a run leaves out."""

    def of(*, whole):
        monkeypatch.setattr(thorough._run, "whole", whole)
        gone, items = [], [*collected]
        hook = SimpleNamespace(pytest_deselected=lambda items: gone.extend(one.nodeid for one in items))
        thorough.pytest_collection_modifyitems(SimpleNamespace(stash=pytest.Stash(), hook=hook), items)
        assert {one.nodeid for one in items} == {one.nodeid for one in collected} - set(gone)
        return gone

    return of


def test_a_whole_run_leaves_nothing_out(left_out):
    assert left_out(whole=True) == []


def test_a_part_has_its_share_of_each_folder_and_nothing_that_is_thorough(left_out, collected):
    gone = left_out(whole=False)
    assert {one.nodeid for one in collected if one.marks} <= set(gone)
    shares = [sum(one.startswith(f"{file}::test_of") for one in gone) / 300 for file in FILES]
    assert shares == pytest.approx([7 / 8, 2 / 3, 0], abs=0.08)


def test_the_part_is_the_same_whatever_the_order(left_out, collected):
    gone = set(left_out(whole=False))
    collected.reverse()
    assert set(left_out(whole=False)) == gone


def test_of_a_file_with_one_test_it_runs():
    tests = [Item(f"tests/e2e/test_{number}.py::test_only") for number in range(20)]
    assert [thorough._kept(one.nodeid.partition("::")[0], [one]) for one in tests] == [[one] for one in tests]


@pytest.mark.parametrize("folder", thorough.ONE_IN)
def test_each_folder_is_there(folder):
    assert (ROOT / folder).is_dir()


def test_what_repeats_itself_is_done_once_at_least(monkeypatch):
    monkeypatch.setattr(thorough._run, "whole", False)
    assert [thorough.repeats(number) for number in (1, 8, 300)] == [1, 1, 60]
    monkeypatch.setattr(thorough._run, "whole", True)
    assert thorough.repeats(300) == 300
