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
from reportgen.issued.extraction import NOT_STATED, Recomputation, record_of
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
    PersonRecord,
    ReportRecord,
    RequirementRecord,
    SurfaceRecord,
)
from reportgen.issued.requirements import Change, Judged, changes, limits_of
from reportgen.issued.revisions import (
    COUNTING,
    Counting,
    Filed,
    Outcome,
    Place,
    Spoken,
    filed,
    left_out,
    named_later,
    outcomes,
)
from reportgen.issued.standing import Said, Standing, last_words, standing_of
from reportgen.issued.submittal_file import SUBMITTAL_NAME, Listed, looks_like_submittal, read_list, render_list
from reportgen.issued.together import Undone, undone_together, undone_under, what_undone, which_of

__all__ = [
    "COUNTING",
    "NOT_STATED",
    "SUBMITTAL_NAME",
    "AreaRecord",
    "Change",
    "Checks",
    "Counting",
    "Examined",
    "Filed",
    "FindingRecord",
    "Inside",
    "Judged",
    "Listed",
    "LocationRecord",
    "NonconformanceRecord",
    "Outcome",
    "PersonRecord",
    "Place",
    "Recomputation",
    "ReportRecord",
    "RequirementRecord",
    "Said",
    "Spoken",
    "Standing",
    "SurfaceRecord",
    "Undone",
    "changes",
    "copy_faults",
    "examine",
    "examine_original",
    "examined_from",
    "filed",
    "inside_of",
    "last_words",
    "left_out",
    "limits_of",
    "load_for_examination",
    "looks_like_submittal",
    "named_later",
    "outcomes",
    "pdf_files",
    "read_list",
    "read_pdf",
    "read_trust",
    "record_of",
    "render_examined",
    "render_list",
    "shown_name",
    "standing_of",
    "undone_together",
    "undone_under",
    "verify_submittal",
    "what_undone",
    "which_of",
    "with_originals",
]
