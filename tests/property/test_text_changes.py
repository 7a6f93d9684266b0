"""A change written into the text of any day file: its content is that of the edit made by hand, its comments stay."""

import copy
import json
import re

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, assume, given, settings

from reportgen.errors import UsageError
from reportgen.intake.changes import FIRST, Change, address_of, changed, content_at
from reportgen.yamlsource import DayText, value_at
from tests.thorough import repeats

LINE_ENDS = ("\n", "\r\n")
WORDS = st.sampled_from(("2.8", "06:40", "pot 1", "Sa 2½", "it's", 'a "b"', "x: y", "#3", "grit, lot 7", "yes", "1"))
COMMENTS = st.sampled_from(("calm", "by the foreman", "torn: again", "{not: yaml}", "- no entry", 'a "quote'))
ROWS = st.fixed_dictionaries(
    {"location": st.sampled_from(("1", "2", "3A1")), "spot": st.sampled_from("ab")},
    optional={"x1": WORDS, "c1": WORDS, "time": st.just("10:20")},
)
SURFACES = st.fixed_dictionaries(
    {"area": st.sampled_from(("G-1", "G-2", "K 3")), "apparatus": WORDS},
    optional={
        "remarks": WORDS,
        "blasted": st.dictionaries(st.sampled_from(("start", "end", "abrasive")), WORDS, min_size=1),
        "profile": st.fixed_dictionaries(
            {"gauge": WORDS}, optional={"readings": st.lists(ROWS, min_size=1, max_size=3, unique_by=str)}
        ),
        "coated": WORDS,
        "reinspects": st.lists(st.sampled_from(("N-1", "N-2")), min_size=1, max_size=2),
    },
)
DAYS = st.fixed_dictionaries(
    {"report": st.dictionaries(st.sampled_from(("number", "date", "present")), WORDS, min_size=1)},
    optional={
        "conditions": st.lists(
            st.dictionaries(st.sampled_from(("time", "air", "steel")), WORDS, min_size=1), min_size=1, max_size=3
        ),
        "surfaces": st.lists(SURFACES, min_size=1, max_size=3),
        "remarks": WORDS,
    },
)


class Writer:
    """Writes content as an inspector's editor may have left it: blocks or brackets, quotes, comments, empty lines."""

    def __init__(self, draw):
        self.draw = draw
        self.comments = []

    def comment(self, chance=0.3):
        if self.draw(st.floats(0, 1)) > chance:
            return ""
        text = f"# {len(self.comments)} {self.draw(COMMENTS)}"
        self.comments.append(text)
        return text

    def text(self, value):
        styles = [f"'{value.replace(chr(39), chr(39) * 2)}'", json.dumps(value, ensure_ascii=False)]
        if re.fullmatch(r"[\w.½][\w. ½]*", value):
            styles.append(value)
        return self.draw(st.sampled_from(styles))

    def flow(self, value):
        if isinstance(value, dict):
            return "{" + ", ".join(f"{key}: {self.flow(part)}" for key, part in value.items()) + "}"
        if isinstance(value, list):
            return "[" + ", ".join(map(self.flow, value)) + "]"
        return self.text(value)

    def lines(self, value, indent):
        margin = " " * indent
        for key, part in value.items():
            above = self.comment(0.15)
            if above:
                yield f"{margin}{above}"
            head, tail = f"{margin}{key}:", self.comment(0.2)
            tail = f"  {tail}" if tail else ""
            if isinstance(part, str):
                yield from self.field(head, part, tail, indent)
            elif self.draw(st.booleans()) or (isinstance(part, list) and isinstance(part[0], str)):
                yield f"{head} {self.flow(part)}{tail}"
            elif isinstance(part, dict):
                yield f"{head}{tail}"
                yield from self.lines(part, indent + 2)
            else:
                yield f"{head}{tail}"
                for entry in part:
                    yield from self.entry(entry, indent + self.draw(st.sampled_from((0, 2))) * 0 + 2)

        below = self.comment(0.3)
        if below:
            yield f"{margin}{below}"

    def field(self, head, part, tail, indent):
        if self.draw(st.integers(0, 9)) == 0 and re.fullmatch(r"\w+ \w+", part):
            first, second = part.split()
            yield f"{head} {first}"
            yield f"{' ' * indent}    {second}{tail}"
        else:
            yield f"{head} {self.text(part)}{tail}"

    def entry(self, entry, indent):
        margin = " " * indent
        if self.draw(st.booleans()):
            tail = self.comment(0.3)
            yield f"{margin}- {self.flow(entry)}{f'  {tail}' if tail else ''}"
            return
        inner = list(self.lines(entry, indent + 2))
        while inner[0].lstrip().startswith("#"):
            yield inner.pop(0)
        yield f"{margin}- {inner[0].lstrip()}"
        yield from inner[1:]


@st.composite
def written(draw):
    content = draw(DAYS)
    writer = Writer(draw)
    end = draw(st.sampled_from(LINE_ENDS))
    lines = list(writer.lines(content, 0))
    empty = draw(st.sets(st.integers(0, len(lines)), max_size=3))
    empty -= {number for number, line in enumerate(lines) if re.match(r" +\S+(?:  #|\Z)", line)}  # inside a text
    shown = [text for number, line in enumerate(lines) for text in (*([""] if number in empty else []), line)]
    return content, end.join(shown) + draw(st.sampled_from(("", end, end * 2))), writer.comments


def places(value, loc=()):
    if loc:
        yield loc
    if isinstance(value, dict):
        for key, part in value.items():
            yield from places(part, (*loc, key))
    elif isinstance(value, list):
        for index, part in enumerate(value):
            yield from places(part, (*loc, index))


def twins(value):
    """Whether a list has two entries of which one has all that the other says: nothing tells that one apart."""
    if isinstance(value, list) and value and isinstance(value[0], dict):
        pairs = [(a, b) for a in range(len(value)) for b in range(len(value)) if a != b]
        if any(flat(value[a]).items() <= flat(value[b]).items() for a, b in pairs):
            return True
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return any(map(twins, parts))


def flat(entry):
    return {key: part for key, part in entry.items() if isinstance(part, str)}


def under(text):
    """Under which fields and entries each comment on a line of its own stands, by its indentation alone."""
    found, above = {}, []
    for line in text.splitlines():
        indent = len(line) - len(line.lstrip())
        if line.lstrip().startswith("#"):
            found[line.strip()] = [name for column, name in above if column < indent]
        elif line.strip():
            above = [*((column, name) for column, name in above if column < indent), (indent, line.partition(":")[0])]
    return found


def in_order(text):
    return re.findall(r"# \d+ [^\r\n]*", text)


@settings(
    max_examples=repeats(60), deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow]
)
@given(st.data())
def test_every_change_is_that_of_a_hand_and_keeps_every_comment(data):
    content, text, comments = data.draw(written())
    day = DayText(text.encode(), "day.yaml")
    assert day.data == content
    assume(not twins(content))
    every = [one for one in places(content) if not isinstance(value_at(content, one), list)]
    entries = [one for one in every if isinstance(value_at(content, one), dict) or isinstance(one[-1], str)]
    loc = data.draw(st.sampled_from(entries))
    at = address_of(content, loc)
    before = value_at(content, loc)
    kinds = ["take out", "add"] + (["replace"] if isinstance(before, str) else [])
    kind = data.draw(st.sampled_from(kinds))
    by_hand = copy.deepcopy(content)
    if kind == "replace":
        change = Change(at, before, data.draw(WORDS))
        value_at(by_hand, loc[:-1])[loc[-1]] = change.now
    elif kind == "add":
        home = loc if isinstance(before, dict) else loc[:-1]
        if not isinstance(value_at(content, home), dict):
            return
        change = Change((address_of(content, home) if home else type(at)(())) / "added", None, data.draw(WORDS))
        value_at(by_hand, home)["added"] = change.now
    else:
        change = Change(at, before, None)
    try:
        made = changed(day, change)
    except UsageError as refused:
        # what cannot be changed without touching a comment, or two entries that nothing tells apart, is said
        assert re.search(r"cannot be changed here|cannot be added to|entries that are", refused.message)  # noqa: PT017
        return
    after = day.encoded().decode()
    if kind != "take out":
        assert day.data == by_hand
    assert in_order(after) == comments, (text, after)
    if kind == "add":
        assert under(after) == under(text), (text, after)
    assert after.count("\n") == after.count("\r\n") or "\r\n" not in text
    kept = set(after.splitlines()) & set(text.splitlines())
    if kind == "replace" and "\n" not in before:
        assert len(set(text.splitlines()) - kept) <= 2
    try:
        changed(day, made.inverse)
    except UsageError as refused:
        assert re.search("entries that are", refused.message)  # noqa: PT017 - as nothing tells them apart by now
        return
    if kind != "take out" or made.after != FIRST or isinstance(loc[-1], int):
        assert json.dumps(full(day.data)) == json.dumps(full(content)), (text, after)
    assert content_at(day.data, at) == (before or None)


def full(value):
    """The content without what is left empty."""
    if isinstance(value, dict):
        kept = {key: full(part) for key, part in value.items()}
        return {key: part for key, part in kept.items() if part not in ("", [], {})}
    return list(map(full, value)) if isinstance(value, list) else value


@pytest.mark.parametrize(
    "value", ["", "a\tb", "a\nb", "\u00e9", "null", "~", "- x", "[", "{", "%", "@", "`", "&a", "*a"]
)
def test_any_text_reads_back_as_it_was_typed(value):
    day = DayText(b"a: {b: old}\nc: 'old'\n", "day.yaml")
    for loc in (("a", "b"), ("c",)):
        day.replace(loc, value)
        assert value_at(day.data, loc) == value
