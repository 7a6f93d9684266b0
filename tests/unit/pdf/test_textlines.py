import re

import pytest

from reportgen.pdf.styles import BOLD, REGULAR
from reportgen.pdf.textlines import (
    SMALLEST,
    fitting,
    lines_of,
    markup,
    one_line,
    text_width,
    widest_piece,
)


def test_a_text_that_fits_is_one_line():
    assert lines_of("mean 2.50 mil", REGULAR, 8.5, 200) == ("mean 2.50 mil",)


def test_lines_fit_their_width_and_lose_no_word():
    text = "Replica tape on the north face between the second and the third stiffener, light from the left"
    lines = lines_of(text, REGULAR, 8.5, 90)
    assert len(lines) > 3
    assert all(text_width(line, REGULAR, 8.5) <= 90 for line in lines)
    assert " ".join(lines) == text


def test_a_number_stays_with_its_unit():
    for width in range(30, 140, 3):
        for line in lines_of("stain at most 5 % and 50 mg/m² at 3.0 mil", REGULAR, 8.5, width):
            assert not line.startswith(("%", "mg/m²", "mil")), (width, line)


@pytest.mark.parametrize(
    "kept", ["3 ml", "30 s", "12.5 cm²", "90 psi", "location 3", "clause 6.3.2", "Messstelle 4", "Seite 12", "21 °C"]
)
def test_no_line_parts_a_number_from_its_unit_or_from_what_it_names(kept):
    for width in range(60, 140, 3):
        assert kept in "|".join(lines_of(f"at most as stated here, {kept}, of the day", REGULAR, 8.5, width)), width


def test_a_path_may_break_after_a_slash_and_nowhere_else():
    path = "photos/2026-05-14/PIER-04-EAST_weld.jpg"
    assert lines_of(path, REGULAR, 8.5, 110) == ("photos/2026-05-14/", "PIER-04-EAST_weld.jpg")
    assert widest_piece(path, REGULAR, 8.5) == text_width("PIER-04-EAST_weld.jpg", REGULAR, 8.5)


@pytest.mark.parametrize("name", ["PIER-04-EAST", "SPAN-17W-18", "a.b_c-d", "W" * 40])
@pytest.mark.parametrize("face", [REGULAR, BOLD])
def test_an_id_fits_a_width_that_was_computed_from_its_own(name, face):
    """Sum and quotient of binary fractions differ in the last digit: that broke ids at a hyphen."""
    for size in (6.4, 6.8, 7.5, 8.5, 13.5):
        assert lines_of(name, face, size, text_width(name, face, size) + 8.0 - 8.0) == (name,)
        assert fitting(name, face, size, text_width(name, face, size)) == size


def test_text_is_set_smaller_only_where_a_word_would_break():
    assert fitting("two words", REGULAR, 8.5, text_width("words", REGULAR, 8.5)) == 8.5
    small = fitting("W" * 40, REGULAR, 8.5, 250)
    assert SMALLEST < small < 8.5
    assert text_width("W" * 40, REGULAR, small) <= 250
    assert fitting("W" * 400, REGULAR, 8.5, 250) == SMALLEST
    assert text_width("two words", REGULAR, one_line("two words", REGULAR, 8.5, 32)) <= 32
    assert one_line("two words", REGULAR, 8.5, 300) == 8.5


def test_a_word_wider_than_any_line_may_be_is_chopped_and_loses_no_letter():
    name = "A" * 60
    lines = lines_of(name, BOLD, 8.5, 70)
    assert "".join(lines) == name
    assert all(text_width(line, BOLD, 8.5) <= 70 for line in lines)


def test_a_line_feed_ends_a_line_and_an_empty_text_is_one_empty_line():
    assert lines_of("a\n\nb", REGULAR, 8.5, 100) == ("a", "", "b")
    assert lines_of("", REGULAR, 8.5, 100) == ("",)


def test_a_character_without_a_glyph_is_shown_as_its_code_point_not_boxed():
    assert lines_of("paint 漆", REGULAR, 8.5, 200) == ("paint [U+6F06]",)
    assert lines_of("2½ µm, Sa 2½ ≤ 3 °C", REGULAR, 8.5, 200) == ("2½ µm, Sa 2½ ≤ 3 °C",)


def test_what_the_typeface_lacks_is_measured_and_marked_in_the_fallback():
    from reportlab.pdfbase.pdfmetrics import stringWidth

    assert text_width("⌀", REGULAR, 9) == pytest.approx(stringWidth("⌀", "DejaVuSans", 9))
    assert markup("⌀ 12 <漆>") == '<font face="DejaVuSans">⌀</font> 12 &lt;[U+6F06]&gt;'


def test_widths_are_those_reportlab_sets():
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for text in ("0123456789", "Surface profile, 2.0–3.5 mil", "µ½²"):
        assert text_width(text, REGULAR, 9) == pytest.approx(stringWidth(text, REGULAR, 9))


@pytest.mark.parametrize("text", ["by 1.3 °C ± 1.0 °C while coating", "location 3: 1.48 mil ± 0.38 mil, rounded 1.5"])
def test_a_value_is_not_torn_from_its_uncertainty(text):
    for width in range(70, 160, 3):
        for line in lines_of(text, REGULAR, 8.5, width):
            assert not line.endswith("±")
            assert not line.startswith("±")
            assert ("±" in line) is bool(re.search(r"\d \S+ ± \d", line))
