"""What one signature appends to a file, all but its value: ``seal`` fills the value in, ``verify`` writes it again.

One writer for both: whatever else stands in the revision of a signature was not put there by signing.
"""

from reportgen.increments.fields import Box, SignatureField, described
from reportgen.increments.validation_data import (
    RevocationData,
    UnreadableItemError,
    answered_by,
    answers_about,
    listed_by,
    lists_all,
    needed,
    of_unknown,
    read_answer,
    read_list,
    signing_certificates,
    stored,
)
from reportgen.increments.writing import (
    LONGEST_WORDS,
    REASONS,
    PreparedRevision,
    Statement,
    append_first,
    append_further,
    append_renewal,
)

__all__ = [
    "LONGEST_WORDS",
    "REASONS",
    "Box",
    "PreparedRevision",
    "RevocationData",
    "SignatureField",
    "Statement",
    "UnreadableItemError",
    "answered_by",
    "answers_about",
    "append_first",
    "append_further",
    "append_renewal",
    "described",
    "listed_by",
    "lists_all",
    "needed",
    "of_unknown",
    "read_answer",
    "read_list",
    "signing_certificates",
    "stored",
]
