"""Strict YAML with marks: the only door to the yaml library.

Bytes become text (strict UTF-8, no control or invisible characters), the
text becomes maps, lists and text, and every place keeps its line and column. Nothing is interpreted: every value
stays the text that was written.
"""

from reportgen.yamlsource.characters import HIDDEN, scalar, unprintable
from reportgen.yamlsource.daytext import DayText, Loc, value_at
from reportgen.yamlsource.document import Document, parse_yaml
from reportgen.yamlsource.text import Lines, decoded_text

__all__ = [
    "HIDDEN",
    "DayText",
    "Document",
    "Lines",
    "Loc",
    "decoded_text",
    "parse_yaml",
    "scalar",
    "unprintable",
    "value_at",
]
