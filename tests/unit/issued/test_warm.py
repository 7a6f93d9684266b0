"""What the process that opens files does once, so that its children need not."""

import json
from functools import partial

import pytest

from reportgen.issued import examination
from reportgen.results import facts
from reportgen.sandbox import confined
from reportgen.words.sentences import sentences


def begun_with() -> bytes:
    """What a child finds done, before it has read anything."""
    import sys

    late = [one.__name__ for one in facts.Facts.__subclasses__() if one.__init__ is facts._late_init]
    return json.dumps([len(late), "scipy.special" in sys.modules]).encode()


def test_the_day_that_warms_up_is_one_that_can_be_evaluated():
    examination.warm_up.__wrapped__()


def test_a_first_file_waits_for_no_warming_up_and_a_second_is_ready(monkeypatch):
    warmed = []
    monkeypatch.setattr(examination, "_ASKED", iter(range(9)))
    monkeypatch.setattr(examination, "warm_up", lambda: warmed.append(1))
    found = []
    for _ in range(4):
        examination.load_for_examination()
        found.append(len(warmed))
    assert found == [0, 1, 1, 1]


def test_what_is_forked_after_getting_ready_finds_all_of_it_done():
    examination.make_ready(examination.load_for_examination)
    assert json.loads(confined(begun_with, "a.pdf")) == [0, True]


@pytest.mark.parametrize("named", [partial(sentences), partial(sentences, "en"), partial(sentences, language="en")])
def test_a_catalogue_is_read_once_however_it_is_asked_for(named):
    assert named() is sentences()
