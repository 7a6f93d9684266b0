"""What is done with an issued report beside verifying it: countersigned, and compared with another revision."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from reportgen.browser.contents import place_text, shown
from reportgen.browser.signing_views import issued_file, loaded_identity
from reportgen.browser.texts import texts
from reportgen.formats.manifest import ISSUE_NAME

if TYPE_CHECKING:
    from pathlib import Path

    from reportgen.browser.texts import Texts
    from reportgen.pipeline.revising import EntryDiffers, ResultDiffers

_DECIDED = ("verdict", "decision")


def countersigned_copies(file: Path) -> list[Path]:
    """Return the copies of an issued report to which signatures were added here, the one with the most last."""
    found = [one for one in file.parent.glob(f"{file.stem}-countersigned-*.pdf") if _number(one).isdigit()]
    return sorted(found, key=lambda one: int(_number(one)))


def _number(copy: Path) -> str:
    return copy.stem.rpartition("-")[2]


def countersigning(file: Path) -> dict[str, list[str]]:
    """Return the copies of a report with more signatures, and whom it still awaits, each as the job names them."""
    from pypdf import PdfReader

    copies = countersigned_copies(file)
    reader = PdfReader([file, *copies][-1])
    fields = reader.get_fields() or {}
    empty = {name for name, one in fields.items() if one.get("/FT") == "/Sig" and one.get("/V") is None}
    facts = json.loads(reader.attachments[ISSUE_NAME][0])
    awaited = [f"{one['name']} ({one['role']})" for one in facts.get("signers", ()) if one["field"] in empty]
    return {"copies": [one.name for one in copies], "awaited": awaited}


def countersigned(
    folder: Path, number: str, revision: int, identity: bytes | str, passphrase: str, reason: str, location: str
) -> str:
    """Add a signature to an issued report, in a copy beside it; return the copy's name.

    Raises:
        SealError, UsageError, MachineError: as ``countersign``.
    """
    from reportgen.pipeline.countersigning import countersign

    file, _ = issued_file(folder, number, revision)
    copies = countersigned_copies(file)
    signer = loaded_identity(folder, identity, passphrase)
    out = file.with_name(f"{file.stem}-countersigned-{len(copies) + 1}.pdf")
    countersign(copies[-1] if copies else file, signer, out, reason=reason, location=location)
    return out.name


def compare_view(folder: Path, language: str, number: str, first: int, second: int | None) -> dict[str, Any]:
    """Return what differs between two revisions; ``second`` is None for the day file as it is now.

    Raises:
        UsageError, InputError: as ``compare``.
    """
    from reportgen.pipeline.contract_state import contract_state
    from reportgen.pipeline.revising import compare

    say, found = texts(language), compare(folder, number, first, second)
    state = contract_state(folder)
    return {
        "number": number, "first": first, "second": second, "reason": found.reason or "",
        "results": [_result(say, one) for one in found.results],
        "entries": [_entry(say, one) for one in found.entries], "terms": [_entry(say, one) for one in found.terms],
        "body": "reportgen" if state.project is None else state.project.inspection_body.name,
    }  # fmt: skip


def _entry(say: Texts, one: EntryDiffers) -> dict[str, str]:
    before, after = shown(one.before), shown(one.after)
    nothing = say("conflict.nothing")
    return {"where": place_text(say, one.at), "before": before or nothing, "after": after or nothing}


def _result(say: Texts, one: ResultDiffers) -> dict[str, str]:
    place = say("compare.result", area=one.area, location=one.location, member=say(f"member.{one.member}"))
    sides = [
        say("conflict.nothing") if value is None else say(f"{one.member}.{value}") if one.member in _DECIDED else value
        for value in (one.before, one.after)
    ]
    return {"where": place, "before": sides[0], "after": sides[1]}
