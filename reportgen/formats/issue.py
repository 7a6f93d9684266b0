"""How and when a report was issued, as data beside its evaluation: enough to find its place in the register.

Open: a reader passes over members it does not know, and what is not there has its default.
"""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import field
from typing import Any, Final

from reportgen.formats.canonical import FormatSpan, canonical_json, not_in
from reportgen.formats.decoding import value_from
from reportgen.formats.manifest import ISSUE_NAME
from reportgen.formats.releases import OtherReleaseError, is_later
from reportgen.results.facts import Value
from reportgen.results.omitted import Omitted
from reportgen.results.signatories import Signatory
from reportgen.words.editions import WORDS_EDITION
from reportgen.words.told import told

FORMAT = 1
SPANS: Final[Mapping[str, FormatSpan]] = {}
"""Members that are not in every format, as ``IssueFacts.camera``."""


class Head(Value):
    """The state of a register: sequence (0 when empty) and SHA-256 of its last row. Part of every signed report."""

    sequence: int
    sha256: str


class Supersedes(Value):
    """The revision a report replaces, the SHA-256 of that report as it was issued, and why."""

    revision: int
    sha256: str
    reason: str


class CameraNotes(Value):
    """What a camera noted with a photo and the pages print: it cannot be told from the picture on a page."""

    taken: str | None = None
    position: str | None = None


class IssueFacts(Value):
    """One issue. ``issued_at`` is UTC, to the second; ``register`` is the head that the report was issued upon.

    ``made_with`` are the versions of the libraries that decide how the pages come out, to the byte; ``template`` holds
    the entries of the template as a template file writes them; ``camera`` are the notes by photo; ``signers`` are whom
    the job names to sign, for who reads no YAML; ``certificate`` is the SHA-256 of that which the inspector signs with.
    ``site`` is the job's, which the first signature states as its place.
    ``slip`` is the area of a release slip, which is signed before the report of its number. ``omitted`` is what a
    revision leaves out of the reports that it replaces.
    """

    number: str
    revision: int
    date: str
    issued_at: str
    status: str
    generator: str = ""
    made_with: Mapping[str, str] = field(default_factory=dict)
    template: Mapping[str, Any] = field(default_factory=dict)
    register: Head | None = None
    supersedes: Supersedes | None = None
    omitted: Omitted | None = None
    camera: Mapping[str, CameraNotes] | None = None
    certificate: str | None = None
    site: str | None = None
    signers: tuple[Signatory, ...] = ()
    slip: str | None = None
    words: int = WORDS_EDITION
    format: int = FORMAT

    @property
    def moment(self) -> dt.datetime:
        """When the report was issued, aware; ``ValueError`` where that cannot be told."""
        moment = dt.datetime.fromisoformat(self.issued_at)
        if moment.tzinfo is None:
            raise ValueError(told("issue-no-offset", file=ISSUE_NAME))
        return moment

    def require_known(self) -> None:
        """Raise ``OtherReleaseError`` for the format of a later release."""
        if self.format > FORMAT:
            raise OtherReleaseError(told("format-of", number=self.format, file=ISSUE_NAME), self.generator)

    @property
    def language(self) -> str:
        """Language of the pages; ``ValueError`` where it is not told, ``OtherReleaseError`` for later words."""
        if self.words > WORDS_EDITION:
            raise OtherReleaseError(told("edition-of-words", number=self.words), self.generator)
        if not isinstance(self.template.get("language"), str):
            raise ValueError(told("issue-no-language", file=ISSUE_NAME))  # noqa: TRY004 - of the file
        return str(self.template["language"])


def encode_issue(facts: IssueFacts) -> bytes:
    """Return the facts as canonical JSON."""
    return canonical_json(facts, not_in(FORMAT, SPANS))


def read_issue(files: Mapping[str, bytes]) -> IssueFacts:
    """Return the facts among the files of a report; ``ValueError`` with one sentence where they cannot be read.

    ``OtherReleaseError`` where a later format says otherwise what this release knows.
    """
    plain: Any = None
    try:
        plain = json.loads(files[ISSUE_NAME])
        return value_from(IssueFacts, plain)
    except (AttributeError, KeyError, TypeError, ValueError, RecursionError) as reason:
        if isinstance(plain, dict) and is_later(plain.get("format"), FORMAT):
            what, generator = told("format-of", number=plain["format"], file=ISSUE_NAME), str(plain.get("generator"))
            raise OtherReleaseError(what, generator) from reason
        raise ValueError(told("issue-not-told", file=ISSUE_NAME)) from reason


def issue_moment(files: Mapping[str, bytes]) -> dt.datetime | None:
    """Return when a report was issued, from its embedded files: an aware instant; None where that is not told."""
    try:
        return read_issue(files).moment
    except ValueError:
        return None
