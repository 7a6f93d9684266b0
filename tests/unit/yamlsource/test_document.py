"""YAML as text with places: what is taken, what is refused, and where a place is."""

import pytest
import yaml

from reportgen.errors import InputError, MachineError
from reportgen.yamlsource import parse_yaml


def _parsed(text):
    return parse_yaml(text.encode("utf-8"), "f.yaml")


def _place(text, *loc, key=False):
    span = _parsed(text).span(loc, key=key)
    return span.line, span.column, span.length


PLAIN = [
    "1:30", "12:30:45", "012", "0777", "08", "1_000", "on", "off", "yes", "no", "y", "n", "true", "=", "1e3", "1e400",
    "1.0e+400", ".inf", ".nan", "63.50", "0x1F", "-0", "+1", "2024-13-45", "2026-05-14",
]  # fmt: skip


@pytest.mark.parametrize("scalar", PLAIN)
def test_no_value_is_interpreted(scalar):
    assert _parsed(f"a: {scalar}\nb: [{scalar}]\n").data == {"a": scalar, "b": [scalar]}


def test_blocks_lists_and_texts():
    document = _parsed("a: {b: [1, {c: d}]}\ne: |\n  two\n  lines\nf: >-\n  one\n  line\ng: ''\nh:\n? i\n: j\n")
    expected = {"a": {"b": ["1", {"c": "d"}]}, "e": "two\nlines\n", "f": "one line", "g": "", "h": "", "i": "j"}
    assert document.data == expected
    assert document.problems == ()


def test_tab_after_a_colon_and_comments_are_fine():
    assert _parsed("a:\tb  # comment\n# c #d\nc: d # e #f\n").data == {"a": "b", "c": "d"}


def test_a_hash_inside_a_word_or_in_quotes_is_text():
    document = _parsed("a: b#c\nd: 'e #f'\ng: \"h #i\"\nj: [k, l] #m\n")
    assert document.data == {"a": "b#c", "d": "e #f", "g": "h #i", "j": ["k", "l"]}
    assert document.problems == ()


def test_hash_in_a_list_suggests_only_its_word():
    (problem,) = _parsed("a: [b #c, d\n  ]\n").problems
    assert problem.help_text == 'quote the text: `"b #c,"`; a comment needs a space after `#`'


def test_escapes_that_stand_for_ordinary_characters():
    assert _parsed('a: "\\u00b5m \\"x\\" \\\\ \\n"\n').data == {"a": 'µm "x" \\ \n'}
    assert _parsed('a: "\\u00b5m"\n').problems == ()


def test_a_refused_character_in_the_text_itself_is_said_once():
    document = _parsed('a: "漢\\n"\n')
    assert [problem.code for problem in document.problems] == ["SRC106"]


def test_a_key_with_a_tag_or_an_anchor():
    document = _parsed("z: 1\n&x a: b\n!!str c: d\n")
    assert [problem.code for problem in document.problems] == ["SRC112", "SRC114"]
    assert document.data == {"z": "1"}


def test_places_of_values_and_keys():
    text = "a: one\nb:\n  - c: two\n    d: [x, yy]\n  - {e: f}\n"
    assert _place(text, "a") == (1, 4, 3)
    assert _place(text, "a", key=True) == (1, 1, 1)
    assert _place(text, "b", 0, "d", 1) == (4, 12, 2)
    assert _place(text, "b", 0, "d", 1, key=True) == (4, 12, 2)
    assert _place(text, "b", 1) == (5, 5, 6)
    assert _place(text, "b", 0) == (3, 5, 6)
    assert _place(text) == (1, 1, 6)


def test_places_skip_what_is_not_in_the_file():
    text = "a:\n  csv: r.csv\n"
    assert _place(text, "a", "csv", "csv") == (2, 8, 5)
    assert _place(text, "a", "inline", "csv") == (2, 8, 5)
    assert _place(text, "a", "none") == (2, 3, 10)
    assert _place(text, "none", 7) == (1, 1, 2)
    assert _place("a: [b]\n", "a", 3) == (1, 4, 3)


def test_an_empty_entry_is_pointed_at_by_its_colon():
    assert _place("abc:\nd: e\n", "abc") == (1, 4, 1)
    assert _place("a: {b: , c: d}\n", "a", "b") == (1, 7, 1)


def test_a_text_over_several_lines_is_pointed_at_on_its_first():
    assert _place("a: one\n  two\nb: c\n", "a") == (1, 4, 3)


def _locs(value, loc=()):
    yield loc
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for part, inner in parts:
        yield from _locs(inner, (*loc, part))


def test_a_place_in_the_text_gives_the_place_in_the_data():
    text = "# note\na: b\nlist:\n  - {c: d, e: [f, g]}\n\n  - h: i\n    j: {k: l}\nempty:\nlast: []\n"
    document = _parsed(text)
    for loc in (loc for loc in _locs(document.data) if loc and loc != ("empty",)):
        first_of_a_block = loc[-1] == "h"
        assert document.loc_at(document.span(loc)) == loc
        assert document.loc_at(document.span(loc, key=True)) == (loc[:-1] if first_of_a_block else loc)
    assert document.loc_at(document.span(["empty"], key=True)) == ("empty",)


def test_lines_of_a_list():
    assert _parsed("a:\n  - b\n\n  - c\n").lines_of(["a"]) == [2, 4]
    assert _parsed("a: b\n").lines_of(["a"]) == []


def test_columns_count_characters_not_bytes():
    assert _place("µ: é\nä: ö x\n", "ä") == (2, 4, 3)


def test_problems_of_one_file_are_found_in_one_run():
    document = _parsed("a: 1\na: 2\nb: &x c\nd: ~\ne: Tank #3\nf: {g: h, i}\n")
    codes = [problem.code for problem in document.problems]
    assert codes == ["SRC111", "SRC112", "SRC121", "SRC118", "SRC119"]
    assert document.objected(["b"])
    assert not document.objected(["a"])


def test_comma_after_a_nested_value_or_at_the_start():
    problems = _parsed("a: {b, c: [d], e}\n").problems
    assert [(p.code, p.message, p.help_text) for p in problems] == [
        ("SRC119", "`b` stands in a `{…}` without a field", "write `field: value`"),
        ("SRC119", "`e` stands in a `{…}` without a field", "write `field: value`"),
    ]


def test_comma_after_a_refused_key():
    (first, second) = _parsed("{? [a] : b, c}\n").problems
    assert (first.code, first.help_text) == ("SRC119", 'quote the text: `field: "b, c"`')
    assert second.code == "SRC120"


@pytest.mark.parametrize("text", ["", "\n", "  \n\t\n", "# only\n", "---\n", "...\n"])
def test_nothing_in_it(text):
    with pytest.raises(InputError) as caught:
        _parsed(text)
    assert caught.value.diagnostics[0].code in {"SRC104", "SRC110", "SRC116"}


@pytest.mark.parametrize(("text", "what"), [("just text\n", "text"), ("- a\n", "a list"), ("''\n", "text")])
def test_top_level_that_is_no_block(text, what):
    with pytest.raises(InputError) as caught:
        _parsed(text)
    assert [d.message for d in caught.value.diagnostics] == [f"the file is {what}, not a block of fields"]


def test_top_level_with_an_anchor_says_that_alone():
    with pytest.raises(InputError) as caught:
        _parsed("&a [b]\n")
    assert [d.code for d in caught.value.diagnostics] == ["SRC112"]


def test_an_error_of_the_parser_that_has_no_sentence_of_ours(monkeypatch):
    def broken(*_, **__):
        raise yaml.YAMLError("odd")

    monkeypatch.setattr("reportgen.yamlsource.document.yaml.compose", broken)
    with pytest.raises(InputError) as caught:
        _parsed("a: b\n")
    assert caught.value.diagnostics[0].message == "this is not YAML: unreadable"


def test_without_libyaml_nothing_is_read(monkeypatch):
    monkeypatch.setattr("reportgen.yamlsource.document.yaml.__with_libyaml__", False)
    with pytest.raises(MachineError, match="PyYAML is installed without libyaml"):
        _parsed("a: b\n")


def test_a_place_beyond_the_file_is_an_empty_line():
    assert _parsed("a: b\n").lines.content(7) == ""
