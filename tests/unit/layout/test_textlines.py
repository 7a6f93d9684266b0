import pytest

from reportgen.layout.styles import BOLD, REGULAR
from reportgen.layout.textlines import MissingGlyph, checked, lines_of, shortened, text_width


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


def test_a_word_too_long_for_its_column_breaks_after_punctuation_first():
    assert lines_of("photos/long-name_of-a-picture.jpg", REGULAR, 8.5, 60)[0].endswith(("/", "-", "_"))
    name = "A" * 60
    lines = lines_of(name, BOLD, 8.5, 70)
    assert "".join(lines) == name
    assert all(text_width(line, BOLD, 8.5) <= 70 for line in lines)


def test_a_line_feed_ends_a_line_and_an_empty_text_is_one_empty_line():
    assert lines_of("a\n\nb", REGULAR, 8.5, 100) == ("a", "", "b")
    assert lines_of("", REGULAR, 8.5, 100) == ("",)


def test_a_character_without_a_glyph_is_refused_not_boxed():
    with pytest.raises(MissingGlyph, match="漆"):
        lines_of("paint 漆", REGULAR, 8.5, 100)
    assert checked("2½ µm, Sa 2½ ≤ 3 °C") == "2½ µm, Sa 2½ ≤ 3 °C"


def test_shortened_ends_in_an_ellipsis_inside_the_width():
    assert shortened("short", REGULAR, 8.5, 100) == "short"
    cut = shortened("a name that is much too long for its place", REGULAR, 8.5, 60)
    assert cut.endswith("…")
    assert text_width(cut, REGULAR, 8.5) <= 60
    assert shortened("wide", REGULAR, 8.5, 0.5) == "…"


def test_widths_are_those_reportlab_sets():
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for text in ("0123456789", "Surface profile, 2.0–3.5 mil", "µ½²"):
        assert text_width(text, REGULAR, 9) == pytest.approx(stringWidth(text, REGULAR, 9))
