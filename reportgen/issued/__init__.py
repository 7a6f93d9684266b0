"""What an issued report says of itself, read in the child process that verified it; and submittals, which hold reports.

A stranger's file is opened nowhere else on the way to a submittal or an audit: ``examine`` returns plain values.
"""

from reportgen.issued.examination import (
    Checks,
    Examined,
    examine,
    examined_from,
    load_for_examination,
    read_trust,
    render_examined,
)
from reportgen.issued.extraction import NOT_STATED, Recomputation
from reportgen.issued.files import pdf_files, read_pdf, shown_name
from reportgen.issued.originals import (
    Inside,
    copy_faults,
    examine_original,
    inside_of,
    verify_submittal,
    with_originals,
)
from reportgen.issued.record import (
    AreaRecord,
    FindingRecord,
    LocationRecord,
    NonconformanceRecord,
    ReportRecord,
    SurfaceRecord,
)
from reportgen.issued.standing import Filed, Place, Said, Standing, filed, last_words, places, standing_of, successors
from reportgen.issued.submittal_file import SUBMITTAL_NAME, Listed, looks_like_submittal, read_list, render_list

__all__ = [
    "NOT_STATED",
    "SUBMITTAL_NAME",
    "AreaRecord",
    "Checks",
    "Examined",
    "Filed",
    "FindingRecord",
    "Inside",
    "Listed",
    "LocationRecord",
    "NonconformanceRecord",
    "Place",
    "Recomputation",
    "ReportRecord",
    "Said",
    "Standing",
    "SurfaceRecord",
    "copy_faults",
    "examine",
    "examine_original",
    "examined_from",
    "filed",
    "inside_of",
    "last_words",
    "load_for_examination",
    "looks_like_submittal",
    "pdf_files",
    "places",
    "read_list",
    "read_pdf",
    "read_trust",
    "render_examined",
    "render_list",
    "shown_name",
    "standing_of",
    "successors",
    "verify_submittal",
    "with_originals",
]
