"""What is done with an issued report beside verifying it: countersigned, and compared with another revision."""

from __future__ import annotations

import contextlib
import json
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from reportgen.browser.contents import place_text, shown
from reportgen.browser.signing_views import issued_file, loaded_identity
from reportgen.browser.texts import texts
from reportgen.errors import ReportgenError, UsageError
from reportgen.formats.manifest import ISSUE_NAME
from reportgen.loader.assembly import load_project
from reportgen.pipeline.terms import PROJECT_NAME

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from reportgen.browser.texts import Texts
    from reportgen.pipeline.contract_state import ContractState
    from reportgen.pipeline.revising import EntryDiffers, ResultDiffers

_DECIDED = ("verdict", "decision")


def countersigned_copies(file: Path) -> list[Path]:
    """Return the copies of an issued report to which signatures were added here, the one with the most last."""
    found = [one for one in file.parent.glob(f"{file.stem}-countersigned-*.pdf") if _number(one).isdigit()]
    return sorted(found, key=lambda one: int(_number(one)))


def _number(copy: Path) -> str:
    return copy.stem.rpartition("-")[2]


def countersigning(file: Path) -> dict[str, Any]:
    """Return the copies of a report with more signatures, and whom it still awaits, each as the job names them.

    ``makers`` are those of them for whom an identity can be made: their field, and who they are.
    """
    awaited = [(one["field"], f"{one['name']} ({one['role']})") for one in awaited_by(file)]
    copies = [one.name for one in countersigned_copies(file)]
    return {"copies": copies, "awaited": [told for _, told in awaited], "makers": awaited}


def awaited_by(file: Path) -> list[dict[str, Any]]:
    """Return whom an issued report still awaits, in no copy of which they signed, as the job names them."""
    newest = [file, *countersigned_copies(file)][-1]
    stat = newest.stat()
    return _awaited_in(newest, stat.st_mtime_ns, stat.st_size)


@lru_cache(maxsize=512)
def _awaited_in(file: Path, *as_it_is: int) -> list[dict[str, Any]]:
    """Read a file once as long as it stays as it is, however often a page asks."""
    del as_it_is
    from pypdf import PdfReader

    reader = PdfReader(file)
    fields = reader.get_fields() or {}
    empty = {name for name, one in fields.items() if one.get("/FT") == "/Sig" and one.get("/V") is None}
    facts = json.loads(reader.attachments[ISSUE_NAME][0])
    return [one for one in facts.get("signers", ()) if one["field"] in empty]


def awaiting(say: Texts, folder: Path, state: ContractState) -> Iterator[dict[str, str]]:
    """Yield each report of a contract that somebody has still to countersign, with its page.

    Of a file that is not there, or cannot be read, nothing is said: the register and verifying do.
    """
    from pypdf.errors import PyPdfError

    issued = [(one.number, one.issued) for one in state.shifts if one.issued is not None and one.number]
    for number, row in issued:
        with contextlib.suppress(ReportgenError, PyPdfError, OSError, ValueError, LookupError, TypeError):
            file, _ = issued_file(folder, number, row.revision)
            if people := [f"{one['name']} ({one['role']})" for one in awaited_by(file)]:
                text = say("countersign.awaited", number=number, people=", ".join(people))
                yield {"to": f"/report/{number}/{row.revision}", "text": text}


def countersigner_of(folder: Path, number: str, revision: int, field: str) -> tuple[str, str]:
    """Return name and organisation of who is to sign a field of an issued report, as a certificate has to state them.

    Raises:
        UsageError: it was not issued here, or awaits nobody there.
    """
    file, _ = issued_file(folder, number, revision)
    who = next((one for one in awaited_by(file) if one["field"] == field), None)
    if who is None:
        raise UsageError("the page sent what it was not given", help_text="load it again")
    organisation = who.get("organisation") or load_project(folder / PROJECT_NAME).inspection_body.name
    return str(who["name"]), str(organisation)


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
