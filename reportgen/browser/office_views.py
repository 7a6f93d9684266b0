"""For the engineer and the auditor: reports filed in one submittal, and a folder audited with its questions."""

from __future__ import annotations

import contextlib
import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from reportgen.audit.own_folder import default_index, own_identities
from reportgen.browser.contents import state_word
from reportgen.browser.report_views import awaiting
from reportgen.browser.signing_views import checked_by, loaded_identity
from reportgen.browser.texts import texts
from reportgen.diagnostics import Phrase
from reportgen.errors import ReportgenError, UsageError
from reportgen.issued import pdf_files
from reportgen.loader.assembly import load_project
from reportgen.names import spelt_alike
from reportgen.pipeline.terms import PROJECT_NAME
from reportgen.words.catalogue import LANGUAGE
from reportgen.words.told import said

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from reportgen.browser.texts import Texts
    from reportgen.pipeline.asking import Answer
    from reportgen.pipeline.contract_state import ContractState, ShiftState
    from reportgen.words.catalogue import Words

FILED: Final = "submittals"
"""Folder of the submittals that were made on the page, in the contract's own."""
FILED_NAME: Final = re.compile(r"submittal-\d{1,4}\.pdf\Z")
_COUNTERSIGNED: Final = re.compile(r"(.+)-countersigned-(\d+)\Z")
_MARK: Final = {"passed": "conforms", "failed": "fails", "indeterminate": "open", "not done": "none"}
_WEIGHT: Final = {"fault": "fails", "doubt": "open", "screening": "none", "note": "none"}
_FIRST: Final = ("failed", "indeterminate", "not done", "passed")
"""Verdicts in the order in which files are shown."""
_ROWS: Final = 400


def reports_of(folder: Path) -> list[Path]:
    """Return the reports that a folder has to file: of each the copy with the most signatures, no submittal."""
    found: dict[Path, tuple[int, Path]] = {}
    for path in pdf_files([folder]):
        if path.parent == folder / FILED:
            continue
        copy = _COUNTERSIGNED.match(path.stem)
        original, number = (path, 0) if copy is None else (path.with_name(f"{copy[1]}.pdf"), int(copy[2]))
        if original not in found or number > found[original][0]:
            found[original] = (number, path)
    return [path for _, path in found.values()]


def file_view(folder: Path, language: str) -> dict[str, Any]:
    """Return what the page shows on which reports are filed: what there is, and what is missing or open before it."""
    from reportgen.pipeline.contract_state import contract_state

    say, state = texts(language), contract_state(folder)
    places = [path for path in sorted((folder / FILED).glob("*.pdf")) if FILED_NAME.match(path.name)]
    return {
        "reports": list(_listed(say, folder, state)),
        "lacks": [*awaiting(say, folder, state), *_lacks(say, state)],
        "filed": [path.name for path in places], **_kept(folder),
        "body": "reportgen" if state.project is None else state.project.inspection_body.name,
        "what": folder.name if state.project is None else state.project.project.name,
        "client": "" if state.project is None else state.project.project.client,
    }  # fmt: skip


def _listed(say: Texts, folder: Path, state: ContractState) -> Iterator[dict[str, str]]:
    """Yield the reports that may be enclosed, with what the register knows of each."""
    from reportgen.pipeline.contract_state import decisions_of

    known = {one.issued.file: one for one in state.shifts if one.issued is not None}
    for path in reports_of(folder):
        name = path.relative_to(folder).as_posix()
        original = _COUNTERSIGNED.match(path.stem)
        of = known.get(
            name if original is None else path.with_name(f"{original[1]}.pdf").relative_to(folder).as_posix()
        )
        issued = None if of is None else of.issued
        told = [] if of is None or issued is None else [
            say("report.numbered", number=of.number, revision=issued.revision),
            *([say.day(of.date)] if of.date is not None else []),
            *(f"{say(f'decision.{word}')} {count}" for word, count in decisions_of(of.issued_areas).items() if count),
        ]  # fmt: skip
        page = "" if of is None or issued is None else f"/report/{of.number}/{issued.revision}"
        yield {"file": name, "told": ", ".join(told) or say("file.not-of-register"), "to": page}


def _lacks(say: Texts, state: Any) -> Iterator[dict[str, str]]:
    """Yield what a reader of the submittal would miss, each with the page where it is settled."""
    for shift in state.shifts:
        if shift.state not in ("issued", "revised") and shift.day is not None:
            yield {"to": f"/shift/{shift.day.stem}", "text": _not_issued(say, shift, shift.day.stem)}
    for one in state.nonconformances:
        where = f"/shift/{state.shifts[-1].day.stem}/nonconformances" if state.shifts[-1].day else "/"
        yield {"to": where, "text": say("file.open", number=one.state.id, what=one.state.description)}
    for area in state.areas:
        if area.decision != "release":
            decision = say(f"decision.{area.decision}") if area.decision else say("file.never")
            yield {"to": "/", "text": say("file.area", area=area.id, decision=decision)}
    for problem in state.register_problems:
        yield {"to": "/", "text": problem}


def _not_issued(say: Texts, shift: ShiftState, day: str) -> str:
    """Return that a shift is not issued as it stands; of a revision that is begun that the one before is."""
    state = state_word(say, shift)
    if shift.issued is None:
        return say("file.not-issued", day=day, state=state)
    return say("file.as-issued", day=day, issued=shift.issued.revision, state=state)


def _kept(folder: Path) -> dict[str, Any]:
    """Return the identities that this user made on a page."""
    with contextlib.suppress(ReportgenError):
        kept = own_identities(folder)
        names = sorted(one.name for one in kept.glob("*.p12") if not one.name.endswith("-root.p12"))
        return {"made": names, "kept": str(kept)}
    return {"made": [], "kept": ""}


def filed(
    folder: Path, language: str, identity: bytes | str, passphrase: str, given: Mapping[str, str],
    chosen: Sequence[str], roots: Mapping[str, bytes], policy: bytes = b"",
) -> dict[str, Any]:  # fmt: skip
    """Enclose reports of a folder in one signed file; return what was written, and what is not plainly passed.

    Raises:
        InputError, UsageError, SealError, MachineError: as ``submittal`` and ``checked_by``; a report that is chosen
            and not there.
    """
    from reportgen.pipeline.filing import Sent, submittal
    from reportgen.register import REGISTER_NAME

    say = texts(language)
    reports = {path.relative_to(folder).as_posix(): path for path in reports_of(folder)}
    if gone := [one for one in chosen if one not in reports]:
        raise UsageError(Phrase("there is no report `{name}`", name=gone[0]), help_text="load the page again")
    signer = loaded_identity(folder, identity, passphrase)
    role = given.get("role", "").strip() or _role_of(folder, signer.name)
    place = folder / FILED
    place.mkdir(exist_ok=True)
    taken = {path.name for path in place.iterdir()}
    name = next(each for n in range(1, 10_000) if (each := f"submittal-{n}.pdf") not in taken)
    sent = Sent(
        given.get("reference") or None, given.get("recipient") or None, given.get("remarks", ""),
        role, given.get("organisation") or None, given.get("copies") == "yes",
    )  # fmt: skip
    try:
        with checked_by(folder, roots, policy) as (trust, stated):
            files = [reports[one] for one in chosen]
            own = [folder] if (folder / REGISTER_NAME).exists() else []
            made = submittal(files, signer, place / name, trust=trust, policy=stated, registers=own, sent=sent)
    finally:
        with contextlib.suppress(OSError):  # nothing was written
            place.rmdir()
    told = say("file.made", name=name, reports=made.reports, pages=made.pages, open=made.open_nonconformances)
    return {"name": name, "told": told, "notices": list(made.notices)}


def _role_of(folder: Path, name: str) -> str:
    """Return the role of who signs, as the project file has it.

    Raises:
        UsageError: it lists nobody of that name, or several; a role is never guessed.
    """
    with contextlib.suppress(ReportgenError):
        people = load_project(folder / PROJECT_NAME).people.values()
        roles = {one.role for one in people if spelt_alike(one.name, name)}
        if len(roles) == 1:
            return roles.pop()
    raise UsageError(
        Phrase("the project file does not say in which role {name} signs", name=name),
        help_text="write it into the field for your role",
    )


def submittal_file(folder: Path, name: str) -> bytes:
    """Return a submittal that was made on the page.

    Raises:
        UsageError: there is none of that name.
    """
    path = folder / FILED / name
    if not FILED_NAME.match(name) or path.is_symlink() or not path.is_file():
        raise UsageError(f"there is no submittal `{name}`")
    return path.read_bytes()


# Audit


def audited(
    folder: Path, language: str, roots: Mapping[str, bytes], *,
    quick: bool, policy: bytes = b"", count: Path | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Audit a folder; return the files that did not plainly pass with their reasons, the policy, and the audit as PDF.

    ``count`` is where it says how far it is. What a ``policy`` names are the files beside it, ``roots`` by their names.

    Raises:
        InputError, UsageError, MachineError: as ``audit``.
    """
    from reportgen.pipeline.auditing import audit

    with (
        checked_by(folder, roots, policy) as (trust, stated),
        tempfile.TemporaryDirectory(prefix="reportgen-") as place,
    ):
        report = Path(place) / "audit.pdf"
        done = audit(
            folder, trust=trust, policy=stated, quick=quick, report=report, language=language,
            progress=lambda one, all_: None if count is None else _put(count, f"{one} {all_}"),
        )  # fmt: skip
        pdf = report.read_bytes()
    reasons = [
        {"file": one.path, "reasons": [f"{said(sentence, language)} [{code}]" for code, sentence in one.reasons],
         "signers": ", ".join(one.signers)}
        for one in done.audit.files_with_reasons
    ]  # fmt: skip
    return {"reasons": reasons, "policy": done.policy_sha256 or "", "pdf": pdf}


def _put(count: Path, text: str) -> None:
    with contextlib.suppress(OSError):
        count.write_text(text, "ascii")


def audit_view(
    folder: Path, language: str, verdict: str, asked: str, value: str, told: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what the page of an audit shows: the last answer of its index, by verdict, and one question asked of it.

    Raises:
        UsageError: there is no such question.
    """
    from reportgen.audit import about, offered
    from reportgen.pipeline.asking import audit_query
    from reportgen.words.filing import filing_words

    say, words, index = texts(language), filing_words(language), default_index(folder)
    view: dict[str, Any] = {
        "folder": folder.name, "there": index.exists(), "asked": asked,
        "questions": [(name, words(f"question.{name}")) for name in offered()],
        "verdict": verdict, "value": value, "answer": None, "at": "",
        "policy": told["policy"], "pdf": bool(told["pdf"]),
    }  # fmt: skip
    if not view["there"]:
        return view
    files = audit_query(index, "files")
    listed = [dict(zip(files.heads, map(_cell, row), strict=True)) for row in files.rows]
    counts = {word: sum(one["verdict"] == word for one in listed) for word in _MARK}
    shown = sorted(
        (one for one in listed if verdict in ("", one["verdict"])),
        key=lambda one: (_FIRST.index(one["verdict"]), one["file"]),
    )
    view |= {
        "at": say.moment(files.at), "finished": files.finished, "count": len(listed),
        "counts": [(word, _MARK[word], count) for word, count in counts.items() if count],
        "overall": next((_MARK[word] for word in _FIRST if counts[word]), "none"),
        "files": _files(say, shown[:_ROWS], told["reasons"]), "more": max(0, len(shown) - _ROWS),
        "problems": _problems(say, index),
    }  # fmt: skip
    if asked:
        view["answer"] = _answer(audit_query(index, asked, about(asked, value)), words)
    return view


def _answer(found: Answer, words: Words) -> dict[str, Any]:
    rows = [[_cell(one, words.language) for one in row] for row in found.rows[:_ROWS]]
    return {
        "heads": [words(f"column.{head}") for head in found.heads],
        "below": [said(line, words.language) for line in found.below],
        "rows": rows,
    }


def _cell(value: object, language: str = LANGUAGE) -> str:
    return "" if value is None else said(value if isinstance(value, str) else str(value), language)


def _files(say: Texts, listed: list[dict[str, str]], reasons: list[dict[str, Any]]) -> list[dict[str, Any]]:
    by_file = {one["file"]: one for one in reasons}
    nothing = {"reasons": [], "signers": ""}
    return [
        {"file": one["file"], "mark": _MARK[one["verdict"]], "verdict": one["verdict"],
         "number": say("report.numbered", number=one["number"], revision=one["revision"]) if one["number"] else "",
         **by_file.get(one["file"], nothing)}
        for one in listed
    ]  # fmt: skip


_OPTION_ASIDE: Final = re.compile(r" \(`(?:[a-z]+ )?--[a-z]+`\)")


def _on_a_page(say: Texts, text: str) -> str:
    """Return a sentence of the audit without the options of the command that it names."""
    return _OPTION_ASIDE.sub("", text).replace("with `--trust`", say("audit.with-roots"))


def _problems(say: Texts, index: Path) -> list[dict[str, Any]]:
    """Return what was found across the files, each kind once with its lines."""
    from reportgen.audit import PROBLEMS
    from reportgen.pipeline.asking import audit_query
    from reportgen.words.filing import filing_words

    answer, found, words = audit_query(index, "problems"), dict[str, dict[str, Any]](), filing_words(say.language)
    for row in answer.rows:
        one = dict(zip(answer.heads, (_cell(each, say.language) for each in row), strict=True))
        code, known = one["code"], PROBLEMS[one["code"]]
        key = f"problem.{code}"
        meaning = words(key) if words.knows(key) else known.meaning
        group = found.setdefault(code, {
            "code": code, "mark": _WEIGHT[known.weight], "weight": say(f"audit.{known.weight}"),
            "meaning": _on_a_page(say, f"{meaning[:1].upper()}{meaning[1:]}."),
            "remedy": _on_a_page(say, known.remedy), "lines": [],
        })  # fmt: skip
        group["lines"].append(one["sentence"])
    return list(found.values())
