"""Papers: PDFs that are no reports and do not claim to be, such as drawings, data sheets and letters.

What a program of ours made, or what holds files or signatures as a report does, is none: it is a report that lost what
made it one. Whether a paper names a contract only whoever knows the contracts can say, so the beginning of it is kept.
"""

from __future__ import annotations

import io
import re
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from reportgen.diagnostics import printable
from reportgen.formats import EVALUATION_NAME, ISSUE_NAME, MANIFEST_NAME
from reportgen.issued.release_file import RELEASE_NAME, ReleaseFile
from reportgen.issued.submittal_file import SUBMITTAL_NAME
from reportgen.results.signatories import ENGINEER_FIELD, INSPECTOR_FIELD
from reportgen.verification.embedded_files import attachments
from reportgen.verification.forbidden_content import open_strictly

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.verification import Verification

_OURS = frozenset({MANIFEST_NAME, EVALUATION_NAME, ISSUE_NAME, SUBMITTAL_NAME, RELEASE_NAME})
_MOST_NODES = 10_000
_PAGES = 3
_CHARACTERS = 8000
_LEAST = 3
"""Letters and digits that a number has to have, to be one that nothing else is called by chance."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A PDF that is no report: its title, the beginning of its text, and whether it says that we made it.

    ``releases`` is the contract and the area of a release page, empty for any other paper; ``released`` its data.
    """

    title: str
    text: str
    ours: bool
    releases: str = ""
    released: ReleaseFile | None = None


def paper_of(pdf: bytes, verification: Verification) -> Paper | None:
    """Return what a file without the record of a report is; None for what is damaged, or holds what reports hold."""
    from pypdf import PdfReader

    opened, _ = open_strictly(pdf)
    if opened is None or {one.field for one in verification.signers} & {INSPECTOR_FIELD, ENGINEER_FIELD}:
        return None
    try:
        if _OURS & attachments(opened.pdf, most_nodes=_MOST_NODES).keys():
            return None
        told = {name: str(opened.pdf.docinfo.get(name, "")) for name in ("/Title", "/Producer", "/Creator")}
    except Exception:  # noqa: BLE001 - a stranger's file, in a child: whatever is wrong with it, it is no paper
        return None
    ours = any(told[name].startswith("reportgen") for name in ("/Producer", "/Creator"))
    found: list[str] = []
    with suppress(Exception):  # as above: what was read counts
        found.extend(page.extract_text() for page in islice(PdfReader(io.BytesIO(pdf)).pages, _PAGES))
    return Paper(printable(told["/Title"])[:200], " ".join(" ".join(found).split())[:_CHARACTERS], ours)


def mentioned(texts: Iterable[str], numbers: Iterable[str]) -> str | None:
    """Return which of the ``numbers`` of contracts, or patterns of report numbers, some text names; None for none.

    >>> mentioned(["Letter on HM-1-IR-031"], ["HM-1-IR-###"]), mentioned(["page 12 of 31"], ["12", "HM-12"])
    ('HM-1-IR-031', None)
    """
    said = " ".join(texts)
    for number in numbers:
        if sum(one.isalnum() or one == "#" for one in number) < _LEAST or not any(one.isalpha() for one in number):
            continue
        parts = (re.escape(one) if one != "#" else "[0-9]" for one in number)
        found = re.search(rf"(?<![^\W_]){''.join(parts)}(?![^\W_])", said, re.IGNORECASE)
        if found:
            return found[0]
    return None
