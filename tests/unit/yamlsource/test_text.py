"""Decoding on its own, as the loader does it for CSV files."""

import pytest

from reportgen.errors import InputError
from reportgen.yamlsource import Lines, decoded_text, unprintable


def test_a_limit_of_its_own():
    assert decoded_text(b"abc", "f", limit=3) == "abc"
    with pytest.raises(InputError) as caught:
        decoded_text(b"x" * 2_000_000, "f", limit=1_048_576)
    assert caught.value.diagnostics[0].message == "the file has 1.9 MiB; at most 1 MiB are read"


def test_an_empty_file_has_the_remedy_of_its_kind():
    with pytest.raises(InputError) as caught:
        decoded_text(b" \n", "f", when_empty="name the columns")
    assert caught.value.diagnostics[0].help_text == "name the columns"


def test_what_the_report_can_and_cannot_print():
    assert unprintable().search("Sa 2½ µm °C Ωλ Жш Łódź – “x” ≤ 3 × 4\t\r\n") is None
    assert [found[0] for found in unprintable().finditer("漢 😀 אב e\u0301 \ue000")] == [*"漢😀אב\u0301\ue000"]


def test_places_by_index():
    lines = Lines("f", "ab\r\ncd\re\n")
    assert [(lines.span_at(i).line, lines.span_at(i).column) for i in (0, 1, 4, 5, 7)] == [
        (1, 1), (1, 2), (2, 1), (2, 2), (3, 1),
    ]  # fmt: skip
    assert [lines.content(number) for number in (1, 2, 3, 4, 0)] == ["ab", "cd", "e", "", ""]
