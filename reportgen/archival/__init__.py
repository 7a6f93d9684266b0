"""The pages of a report as an archival file: PDF/A-3 with its sources inside, PDF/UA-1 where the pages are tagged.

`make_archival` finishes what `reportgen.pdf` wrote; `read_attachments` takes the embedded files out of any PDF,
`written_attachment` one out of a report of ours; `repacked` compares two files but for how they are packed.
"""

from __future__ import annotations

from reportgen.archival.attachments import MIME_TYPES, Attachment, read_attachments, written_attachment
from reportgen.archival.finishing import make_archival, repacked, write_archival
from reportgen.archival.metadata import Metadata

__all__ = [
    "MIME_TYPES",
    "Attachment",
    "Metadata",
    "make_archival",
    "read_attachments",
    "repacked",
    "write_archival",
    "written_attachment",
]
