"""Nothing is set too small to read, no id is broken, labels have their room, marks and open areas their names."""

from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace

import pytest

from reportgen.measurements.salts import SALTS
from reportgen.pdf.blocks import Runs
from reportgen.pdf.styles import FINE, INK, REGULAR
from reportgen.pdf.tables import Column, GroupedTable
from reportgen.pdf.textlines import Run, text_width
from reportgen.report import method
from reportgen.report.area import _LABEL, FactRows, label_room
from reportgen.report.area_facts import Fact, _inputs, further_facts, profile_fact
from reportgen.report.signature import SignatureFoot
from reportgen.report.summary import strip_in_words
from reportgen.report.verdicts import lowered
from reportgen.results import Word
from reportgen.results.facts import Amount
from reportgen.units import Quantity
from tests.unit.report.test_page_1 import seen
from tests.unit.rules.factory import surface

LONG = "NCR-WITH-AN-ID-OF-FORTY-CHARACTERS-00001"
SMALLEST = 6.5


def runs_of(tagged):
    """The runs of a tagged paragraph."""
    return next(one.runs for one in vars(tagged).values() if isinstance(one, Runs))


def cells_of(*texts, width=60.0):
    """The ready cells of a row whose second column holds such text."""
    columns = [Column("a", 200.0), Column("b", width), Column("c", 60.0)]
    runs = [Run(text, REGULAR, INK) for text in texts]
    made = GroupedTable(columns, [[("one", Runs(runs, width, verdict="conforms", size=8.0, leading=9.0), "x")]], "")
    (row,) = (row for group in made._groups for row in group)
    return row, made


@pytest.mark.parametrize("width", [24.0, 60.0, 150.0, 230.0])
def test_an_id_of_forty_letters_is_neither_broken_nor_shrunk_below_what_can_be_read(width):
    row, made = cells_of("low at 3 of 4; ", LONG, width=width)
    cell = row.cells[1]
    assert cell.size >= SMALLEST
    assert any(LONG in run.text for line in cell.lines for _, run in line)
    assert row.height >= made.leading * len(cell.lines)
    if cell.start is not None:  # across the table, and inside it
        widest = max(x + text_width(run.text, run.face, cell.size) for line in cell.lines for x, run in line)
        assert cell.start >= 0
        assert cell.start + cell.indent + widest <= sum(column.width for column in made.columns) + 0.1


def test_text_that_fits_stays_in_its_column():
    assert cells_of("low at 3")[0].cells[1].start is None


@pytest.mark.parametrize("label", ["positions of the locations, 1", "dust", "Positionen der Messstellen, 1, 2, 3"])
def test_the_label_of_a_fact_has_lines_of_its_own_beside_the_text(label):
    rows = FactRows([Fact(label, None, "", "mid web")], 400.0)
    rows.wrapOn(None, 400.0, 700.0)
    (lines,) = rows.labels
    assert " ".join(lines) == label
    assert max(text_width(one, REGULAR, FINE) for one in lines) < _LABEL
    assert rows.height >= 9.0 * len(lines)


def test_no_word_of_a_label_is_broken_unless_it_would_take_the_line():
    facts = [Fact(label, None, "", "300 lx") for label in ("dust", "Beleuchtungsstärkemessung")]
    wide = FactRows(facts, 400.0, room=label_room(facts, 400.0))
    assert [len(lines) for lines in wide.labels] == [1, 1]
    assert wide.room > label_room(facts[:1], 400.0) == _LABEL
    assert label_room([Fact("x" * 300, None, "", "")], 400.0) == 120.0


def test_an_input_that_is_the_result_is_not_printed_twice():
    context = seen()
    test = SimpleNamespace(area=Quantity(Decimal("12.5"), "cm2"), chloride=Quantity(Decimal("5.0"), "ug/cm2"))
    told = [
        _inputs(context, SALTS, test, SimpleNamespace(chloride=Amount(Decimal(value), "ug/cm2")))
        for value in ("5.0", "5.1")
    ]
    assert ["chloride 5.0" in one for one in told] == [False, True]
    assert all("12.5 cm²" in one for one in told)


@pytest.mark.parametrize("language", ["en", "de"])
def test_positions_that_nobody_recorded_are_said_to_be_missing(language):
    for given, missing in (({}, True), ({"positions": {"1": "mid web"}}, False)):
        context = seen(language=language, surfaces=[surface(**given)])
        (area,) = context.evaluation.areas
        label = lowered(context, context.said.shown(Word("record", "positions")))
        told = f"{label} {context.words('equipment.not-recorded')}"
        assert (told in profile_fact(context, area).rest) == missing
        said = [fact.rest for fact in further_facts(context, area) if fact.label.startswith(label)]
        assert said == ([] if missing else ["mid web"])


@pytest.mark.parametrize("first", ["secondary", "memory"])
def test_the_marks_of_sources_mean_the_same_in_every_report(first):
    secondary = "read in a secondary text, not in the standard itself"
    memory = "from memory, not checked against a text; check it against the edition in force"
    order = [secondary, memory] if first == "secondary" else [memory, secondary]
    blocks = method._sources(seen(), {(f"Standard {text[:4]}", text): at for at, text in enumerate(order, 1)})
    told = "".join(run.text for run in runs_of(blocks[0]))
    assert "Standard from †" in told
    assert "Standard read ‡" in told


def test_time_to_primer_names_what_is_open_and_not_what_conforms():
    spec = {"specification.time_to_coat": {"clause": "6.4.1", "maximum": "6 h"}}
    both = [surface(coated="12:00"), surface(area="B")]
    context = seen(surfaces=both, spec=spec)
    (row,) = (one for one in context.requirements.rows() if one.topic == "time")
    told = "".join(run.text for run in row.found)
    assert "B" in told
    assert "A: " not in told
    late = [surface(coated="16:00"), surface(area="B")]
    context = seen(surfaces=late, spec=spec)
    (row,) = (one for one in context.requirements.rows() if one.topic == "time")
    told = "".join(run.text for run in row.found)
    assert told.startswith("A ")
    assert "B" in told


def test_the_words_of_a_strip_state_its_result():
    """The locations planned and those of walk-outs by themselves, the limits, and a location without a value."""
    context = seen()
    area = context.evaluation.areas[0]
    told = strip_in_words(context, area)
    assert f"{area.id}: 1 planned location, 1 conform; " in told
    assert ", required " in told
    (one,) = area.locations
    walked = [replace(one, id=name, walk_out=one.id) for name in "xyz"]
    walked[0] = replace(walked[0], verdict="does not conform")
    without = replace(one, id="7", verdict="inconclusive", profile=None)
    told = strip_in_words(context, replace(area, locations=(one, without, *walked)))
    assert "2 planned locations, 1 conform; " in told
    assert "; of the walk-out 3, 2 conform; " in told
    assert "location 7: –, no value" in told


def test_a_slip_speaks_of_itself_and_of_no_list_that_it_lacks():
    for of, told in (("slip", "This slip supports"), ("report", "This report supports")):
        said = "".join(run.text for run in SignatureFoot(seen(), of=of).told)
        assert told in said
        assert ("list of files" in said) == (of == "report" and bool(seen().issue.files))
