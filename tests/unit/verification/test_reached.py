"""What a search over the spelling of objects finds is what taking every object apart finds."""

from __future__ import annotations

import io
import random
from typing import Any

import pikepdf
import pytest

from reportgen.verification.forbidden_content import _ASKED_ABOUT, Opened, _faults_of, content_faults

PLAIN = ("/Kid", "/F1", "/Refs", "/Annotation", "/OCs", "/A 5 0 R", "/x)(", "/JS>", "/S", "/Type", "/Subtype")
STRINGS = (
    b"",
    b"2 0 R",
    b"(/JS",
    b"\\",
    b"\\)(",
    b")/JS 3 0 R(",
    b"\xfe\xff\0/",
    b"\x80\x81<>",
    b"<<",
    b"javascript:x",
)


def anything(chance: random.Random, known: list[Any], depth: int) -> Any:
    """Return some object: a number, a string, a name, a reference, or a container of such."""
    kind = chance.randrange(7 if depth else 4)
    if kind == 0:
        return chance.choice([7, 0, True, -1])
    if kind == 1:
        return pikepdf.String(chance.choice(STRINGS))
    if kind == 2:
        return pikepdf.Name(chance.choice((*PLAIN, *_ASKED_ABOUT)))
    if kind == 3:
        return chance.choice(known)
    if kind == 4:
        return pikepdf.Array([anything(chance, known, depth - 1) for _ in range(chance.randrange(4))])
    return dictionary(chance, known, depth)


def dictionary(chance: random.Random, known: list[Any], depth: int) -> Any:
    found = pikepdf.Dictionary()
    for _ in range(chance.randrange(4)):
        found[chance.choice((*PLAIN, *_ASKED_ABOUT))] = anything(chance, known, depth - 1)
    return found


def some_file(seed: int) -> pikepdf.Pdf:
    """Return a file of objects that refer to others, some of which nothing refers to."""
    chance = random.Random(seed)  # noqa: S311 - a drawn file, no secret
    pdf = pikepdf.new()
    known: list[Any] = [pdf.make_indirect(pikepdf.Dictionary())]
    for _ in range(12):
        stream = pikepdf.Stream(pdf, b"/JS 1 0 R", dictionary(chance, known, 3))
        name = pikepdf.Name(chance.choice(_ASKED_ABOUT))
        known.append(pdf.make_indirect(chance.choice([stream, dictionary(chance, known, 3), pikepdf.Array([]), name])))
    for name in chance.sample(_ASKED_ABOUT, 3):
        pdf.Root[name] = anything(chance, known, 2)
    pdf.Root.Held = pikepdf.Array(chance.sample(known, 4))
    return pdf


def taken_apart(pdf: pikepdf.Pdf) -> tuple[set[tuple[int, int]], list[Any]]:
    """Return the numbers of the containers that can be reached, and all dictionaries and streams there."""
    numbers: set[tuple[int, int]] = set()
    found, waiting = [], [pdf.trailer]
    while waiting:
        thing = waiting.pop()
        if not isinstance(thing, pikepdf.Array):
            found.append(thing)
        for value in thing if isinstance(thing, pikepdf.Array) else thing.values():
            if not isinstance(value, pikepdf.Object) or value.objgen in numbers:
                continue
            if value.is_indirect:
                numbers.add(value.objgen)
            if isinstance(value, pikepdf.Array | pikepdf.Dictionary | pikepdf.Stream):
                waiting.append(value)
    return numbers, found


@pytest.mark.parametrize("seed", range(60))
def test_all_that_a_rule_asks_about_is_found(seed: int) -> None:
    pdf = some_file(seed)
    numbers, found = taken_apart(pdf)
    reached = Opened(pdf).reached
    assert reached.numbers >= numbers
    held = {one.objgen for one in pdf.objects if isinstance(one, pikepdf.Object)}
    assert reached.numbers & held == numbers
    faults = sorted(reason.name for thing in found for reason in _faults_of(thing, set()))
    assert sorted(reason.name for thing in reached.noted for reason in _faults_of(thing, set())) == faults
    assert sum("/EF" in thing for thing in reached.noted) == sum("/EF" in thing for thing in found)


def test_a_name_may_be_spelled_in_any_way() -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.Root.Held = pikepdf.Dictionary({"/JXXX": pikepdf.String("x")})
    written = io.BytesIO()
    pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    spelled = written.getvalue().replace(b"/JXXX", b"/J#53")
    assert spelled != written.getvalue()
    with pikepdf.open(io.BytesIO(spelled)) as opened:
        assert [reason.name for reason in content_faults(Opened(opened))] == ["ACTIVE_CONTENT"]


def test_it_is_looked_through_once() -> None:
    opened = Opened(pikepdf.new())
    assert opened.reached is opened.reached


def test_a_text_that_reads_like_a_kind_makes_no_page() -> None:
    pdf = pikepdf.new()
    pdf.add_blank_page()
    assert content_faults(Opened(pdf)) == []
    pdf.pages[0].obj.Type = pikepdf.String("/Page")
    assert "FORMAT_FAILURE" in [reason.name for reason in content_faults(Opened(pdf))]
