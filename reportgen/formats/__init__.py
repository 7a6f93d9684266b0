"""Every file that is to outlive the release that wrote it: how it is written, and read when it is older or newer.

Three counters, none of them the release. ``format`` stands in each file and rises when a byte could come out otherwise
for the same facts; the edition of the rules stands in manifest and evaluation, that of the words in the issue facts.
"""

from reportgen.formats.canonical import canonical_json, plain, require_whole_characters
from reportgen.formats.evaluation import counters, encode, head
from reportgen.formats.issue import (
    CameraNotes,
    Head,
    IssueFacts,
    Supersedes,
    encode_issue,
    issue_moment,
    read_issue,
)
from reportgen.formats.manifest import (
    EVALUATION_NAME,
    ISSUE_NAME,
    MANIFEST_NAME,
    README_NAME,
    RELATIONSHIPS,
    Manifest,
    ManifestEntry,
    Role,
    build_manifest,
    by_path,
    differences,
    entry_of,
    is_plain,
    read_manifest,
    required,
    with_attachments,
)
from reportgen.formats.readings import readings_name, readings_table
from reportgen.formats.releases import OtherReleaseError, is_later, made_by
from reportgen.results.signatories import (
    ENGINEER_FIELD,
    INSPECTOR_FIELD,
    Signatory,
    countersigner_field,
)

__all__ = [
    "ENGINEER_FIELD",
    "EVALUATION_NAME",
    "INSPECTOR_FIELD",
    "ISSUE_NAME",
    "MANIFEST_NAME",
    "README_NAME",
    "RELATIONSHIPS",
    "CameraNotes",
    "Head",
    "IssueFacts",
    "Manifest",
    "ManifestEntry",
    "OtherReleaseError",
    "Role",
    "Signatory",
    "Supersedes",
    "build_manifest",
    "by_path",
    "canonical_json",
    "counters",
    "countersigner_field",
    "differences",
    "encode",
    "encode_issue",
    "entry_of",
    "head",
    "is_later",
    "is_plain",
    "issue_moment",
    "made_by",
    "plain",
    "read_issue",
    "read_manifest",
    "readings_name",
    "readings_table",
    "require_whole_characters",
    "required",
    "with_attachments",
]
