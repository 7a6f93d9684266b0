"""What one signature appends to a file, all but its value: ``seal`` fills the value in, ``verify`` writes it again.

One writer for both: whatever else stands in the revision of a signature was not put there by signing.
"""

from reportgen.increments.fields import Box, SignatureField, described
from reportgen.increments.validation_data import RevocationData, needed, signing_certificates, stored
from reportgen.increments.writing import REASONS, Prepared, Statement, append_first, append_further, append_renewal

__all__ = [
    "REASONS",
    "Box",
    "Prepared",
    "RevocationData",
    "SignatureField",
    "Statement",
    "append_first",
    "append_further",
    "append_renewal",
    "described",
    "needed",
    "signing_certificates",
    "stored",
]
