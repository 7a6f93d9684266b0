"""Text → Job: every failure a diagnostic with its place, all of them in one run.

The job folder is the folder of the day file; every file a day names lies in it or below it. The same code reads a
folder on disk and the files embedded in a report.
"""

from reportgen.loader.assembly import job_from_files, load_job, superseded_by, with_basis, with_replaced
from reportgen.loader.codes import CODES

__all__ = ["CODES", "job_from_files", "load_job", "superseded_by", "with_basis", "with_replaced"]
