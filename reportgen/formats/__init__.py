"""Every file that is to outlive the release that wrote it: how it is written, and read when it is older or newer.

Three counters, none of them the release. ``format`` stands in each file and rises when a byte could come out otherwise
for the same facts; the edition of the rules stands in manifest and evaluation, that of the words in the issue facts.
"""

from reportgen.formats.canonical import canonical_json, plain
from reportgen.formats.evaluation import EvaluationHead, counters, encode, head
from reportgen.formats.issue import CameraNotes, Head, IssueFacts, Supersedes, encode_issue, issue_moment, read_issue
from reportgen.formats.manifest import (
    EVALUATION_NAME,
    ISSUE_NAME,
    MANIFEST_NAME,
    README_NAME,
    Manifest,
    ManifestEntry,
    Role,
    build_manifest,
    by_path,
    differences,
    entry_of,
    read_manifest,
    with_attachments,
)
from reportgen.formats.releases import OtherReleaseError, is_later

__all__ = [
    "EVALUATION_NAME",
    "ISSUE_NAME",
    "MANIFEST_NAME",
    "README_NAME",
    "CameraNotes",
    "EvaluationHead",
    "Head",
    "IssueFacts",
    "Manifest",
    "ManifestEntry",
    "OtherReleaseError",
    "Role",
    "Supersedes",
    "build_manifest",
    "by_path",
    "canonical_json",
    "counters",
    "differences",
    "encode",
    "encode_issue",
    "entry_of",
    "head",
    "is_later",
    "issue_moment",
    "plain",
    "read_issue",
    "read_manifest",
    "with_attachments",
]
