"""Mutants of good files: whatever the bytes, the answer is a job or an InputError whose places are in the files."""

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.diagnostics import with_caret
from reportgen.errors import InputError
from reportgen.loader import CODES, job_from_files
from reportgen.readings import parse_readings_csv
from reportgen.yamlsource import decoded_text, parse_yaml
from tests.thorough import repeats

GOOD = Path(__file__).parents[1] / "diagnostics" / "good"
FILES = {str(path.relative_to(GOOD)): path.read_bytes() for path in sorted(GOOD.rglob("*")) if path.is_file()}
TOKENS = [
    b"\n", b" ", b"  ", b"\t", b": ", b":", b"- ", b", ", b",", b"{", b"}", b"[", b"]", b"#", b" #x", b"&a ", b"*a",
    b"!t ", b"<<", b"'", b'"', b"|", b">", b"---\n", b"...\n", b"%YAML 1.2\n", b"? ", b"\\", b"\\u202e", b"\xff",
    b"\x00", b"\x1b", "\u202e".encode(), "\u00a0".encode(), "漢".encode(), "µ".encode(), "−".encode(), b"nan", b"~",
    b"null", b"1e9", b"-1", b"0", b"999999999", b"2,2 mil", b"2.2 mm", b"..", b"/", b"a" * 70, b"1", b"x1", b"time",
    b"project", b"report", b"\r", b";", b"\n\n", b"Mean", b"surfaces:\n", b"csv: readings/day.csv", b"photos/wall.png",
]  # fmt: skip
MUTANTS = 1_600


def _mutant(data: bytes, chance: random.Random) -> bytes:
    """Cut, repeat, swap or insert at one to three places."""
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(data) + 1)
        other = chance.randrange(len(data) + 1)
        low, high = min(at, other), max(at, other)
        high = min(high, low + chance.choice([1, 3, 20, 400]))
        match chance.randrange(5):
            case 0:
                data = data[:low] + data[high:]
            case 1:
                data = data[:at] + data[low:high] + data[at:]
            case 2 | 3:
                data = data[:at] + chance.choice(TOKENS) + data[at:]
            case _:
                data = data[:low] + chance.choice(TOKENS) + data[high:]
    return data


def _judge(files: dict[str, bytes]) -> bool:
    """Load; a refusal must be whole. Return whether it was one."""
    refusal = None
    try:
        job_from_files(files, "day.yaml")
    except InputError as failure:
        refusal = failure
    if refusal is None:
        return False
    assert refusal.diagnostics
    for diagnostic in refusal.diagnostics:
        assert diagnostic.code in CODES
        assert diagnostic.spans
        assert all(line.isprintable() for line in with_caret(diagnostic).split("\n"))
        for span in diagnostic.spans:
            assert span.file in files
            assert span.line >= 1
            assert 1 <= span.column <= len(span.source_line) + 1
            assert span.length >= 1
    return True


@pytest.mark.parametrize("name", ["day.yaml", "project.yaml", "readings/day.csv"])
def test_mutants_of_each_file(name):
    chance = random.Random(f"{name} 1")  # noqa: S311 - reproducible, not secret
    refused = sum(_judge(FILES | {name: _mutant(FILES[name], chance)}) for _ in range(MUTANTS // 4))
    assert 0 < refused < MUTANTS // 4


def test_mutants_of_yaml_text_alone():
    """The same on the reader of YAML alone, where thousands cost little."""
    chance = random.Random("yaml 1")  # noqa: S311 - reproducible, not secret
    refused = 0
    for _ in range(MUTANTS):
        try:
            problems = parse_yaml(_mutant(FILES["day.yaml"], chance), "f").problems
        except InputError as refusal:
            problems = refusal.diagnostics
        assert all(diagnostic.spans and diagnostic.code.startswith("SRC") for diagnostic in problems)
        refused += bool(problems)
    assert 0 < refused < MUTANTS


def test_mutants_of_csv_text_alone():
    chance = random.Random("csv 1")  # noqa: S311 - reproducible, not secret
    header = b"location;spot;roll;reading;unit;time\n"
    for number in range(4 * MUTANTS):
        data = _mutant(FILES["readings/day.csv"] if number % 2 else header + b"1;a;x1;2,6;mil;09:50\n" * 3, chance)
        try:
            text = decoded_text(data, "f")
        except InputError:
            continue
        table = parse_readings_csv(text, "f")
        assert all(row.value is not None and row.place >= 2 for row in table.rows)
        assert all(d.code.startswith("CSV") and d.spans for d in table.problems)


@given(st.binary(max_size=300))
@settings(max_examples=repeats(300), deadline=None)
def test_any_bytes(data):
    _judge(FILES | {"day.yaml": data})


@given(st.text(max_size=200))
@settings(max_examples=repeats(300), deadline=None)
def test_any_text_as_csv(text):
    assert parse_readings_csv(text, "f").problems


PRINTED = st.text(
    st.characters(
        codec="utf-8",
        min_codepoint=0x20,
        max_codepoint=0x17F,
        exclude_characters="\x7f\xad",
        categories=["L", "N", "P", "S", "Zs"],
    ),
    min_size=1,
    max_size=30,
).filter(lambda text: text.strip() == text and text not in {"~", "null", "Null", "NULL"})
PLAIN_DATA = st.recursive(
    PRINTED, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(PRINTED, inner, max_size=4), max_leaves=12
)


@given(st.dictionaries(PRINTED, PLAIN_DATA, min_size=1, max_size=5))
@settings(max_examples=repeats(300), deadline=None)
def test_what_another_writer_writes_is_read_back_as_text(data):
    """Round trip through PyYAML's own writer, every text in double quotes: nothing is interpreted, nothing lost."""
    import yaml

    text = yaml.dump(data, allow_unicode=True, default_style='"', sort_keys=False, width=10_000)
    if "<<" not in data and '"<<"' not in text:
        assert parse_yaml(text.encode("utf-8"), "f").data == data


@given(
    st.lists(
        st.tuples(st.integers(1, 30), st.sampled_from("abc"), st.decimals(0, 5, places=2)),
        min_size=1,
        max_size=30,
        unique_by=lambda row: row[:2],
    ),
    st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", ".")]),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
)
@settings(max_examples=repeats(200), deadline=None)
def test_rows_written_in_any_way_read_the_same(rows, marks, line_end, quoted):
    separator, point = marks
    lines = [separator.join(["location", "spot", "roll", "reading"])]
    for location, spot, value in rows:
        cells = [str(location), spot, "x1", str(value).replace(".", point)]
        lines.append(separator.join(f'"{cell}"' if quoted else cell for cell in cells))
    table = parse_readings_csv(line_end.join(lines), "f")
    assert table.problems == []
    assert [(int(row.location), row.spot, row.value) for row in table.rows] == rows
