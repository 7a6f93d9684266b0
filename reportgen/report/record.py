"""The record of a verification on a page: the answer, its reasons, who signed, every step, the hashes."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from reportgen.gc_pause import collector_off
from reportgen.pdf.blocks import Facts, SectionTitle, Verdict, VerdictBanner, running_text, title_text
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.fonts import drawable
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.styles import BOLD, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.words.catalogue import catalogue

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.words.catalogue import Words

_MARK = {
    "passed": "conforms", "failed": "does not conform", "indeterminate": "inconclusive", "not done": "not evaluated",
    "superseded": "inconclusive",
}  # fmt: skip
_SIZE, _LEADING = 7.2, 9.0
_HASHED = re.compile(r"(?P<name>.+) \((?P<role>[^()]*)\) SHA-256 (?P<hash>[0-9a-f]{64})")
_FILES_STEP = 7
_MOST_DETAILS = 3


def record_title(name: str, language: str = "en") -> str:
    """The title of the record of the file ``name``, as its pages and its metadata bear it."""
    return f"{catalogue(language)('record.title')}, {_plain(name)}"


def render_record(verification_plain: Mapping[str, Any], name: str, *, page: str = "A4", language: str = "en") -> bytes:
    """Return the pages of the record; the same arguments give the same bytes.

    ``verification_plain`` is what a verification says of itself as JSON types; ``name`` is the name of the file that
    was verified. Characters that the faces do not have are written as their code points: names in a stranger's
    certificate may hold anything. One page of A4 or letter for a report with up to a dozen files in it. KeyError when
    ``verification_plain`` is something else.
    """
    with collector_off():
        words, place = catalogue(language), geometry(page)
        content = _cleaned(verification_plain)
        shown, overall, versions = _plain(name), content["overall"], content["versions"]
        reasons = [reason["sentence"][:1].upper() + reason["sentence"][1:] + "." for reason in content["reasons"]]
        size = words("record.size.value", size=content["size"])
        used = ", ".join(f"{library} {version}" for library, version in versions.items())
        facts = [
            (words("record.at"), f"{_instant(content['verified_at'])}; {size}"),
            (words("record.with"), used or "–"),
        ]
        policy = [(words("record.policy"), content["policy_sha256"])] if content.get("policy_sha256") else []
        beside = [
            (words("record.standing"), content["standing"]),
            (words("record.time"), content["time"]),
            (words("record.revocation"), content["revocation"]),
            (words("record.holds-until"), _instant(content.get("holds_until", "–"))),
        ]
        notices = [words("record.notice", told=notice["sentence"]) for notice in content["notices"]]
        story = [
            title_text(words("record.title"), "title", 1, bookmark="record"),
            running_text(words("record.subtitle", name=shown), "subtitle"),
            VerdictBanner(_MARK[overall], words(f"record.{overall}"), reasons or [words("record.no-reason")]),
            *(running_text(notice, "note", before=5) for notice in notices),
            Facts([(words("record.sha256"), content["sha256"]), *policy], 1, before=9),
            Facts(facts, 2),
            Facts(beside, 2),
            *_signers(content, words, place.width),
            *_steps(content, words, place.width),
            *_files(content, words, place.width),
            running_text(words("record.proves"), "note", before=5),
            EndLine(words("record.end", name=shown), before=6.0),
        ]
        furniture = Furniture(
            place, f"reportgen {versions.get('reportgen', '')}".strip(), shown, words("record.footer"),
            lambda number, pages: words("page.count", page=number, pages=pages),
        )  # fmt: skip
        return build_pages(story, furniture, title=record_title(name, language), language=words.language)[0]


def _signers(content: Mapping[str, Any], words: Words, width: float) -> list[Flowable]:
    title = SectionTitle(words("record.signers"), "signers")
    if not content["signers"]:
        return [title, running_text(words("record.no-signers"), before=4)]
    columns = [
        Column(words("record.signer"), 134, face=BOLD),
        Column(words("record.issuer"), 118),
        Column(words("record.time"), 92),
        Column(words("record.certificate"), width - 134 - 118 - 92, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for signer in content["signers"]:
        anchor = words("record.anchor", anchor=signer["anchor"]) if signer.get("anchor") else words("record.no-anchor")
        if signer.get("proven_time"):
            authority = signer.get("timestamp_authority", "–")
            time = words("record.proven", time=_instant(signer["proven_time"]), authority=authority)
        elif signer.get("claimed_time"):
            time = words("record.claimed", time=_instant(signer["claimed_time"]))
        else:
            time = words("record.no-time")
        certificate = words(
            "record.certificate.value", fingerprint=signer["fingerprint"].replace(":", ""),
            algorithm=signer["algorithm"], revocation=signer["revocation"],
        )  # fmt: skip
        who = f"{signer['subject']} ({words.named('record.kind', signer['kind'])})"
        rows.append([(who, f"{signer['issuer']}; {anchor}", time, certificate)])
    if content["unfilled_fields"]:
        rows.append([(words("record.unfilled"), ", ".join(content["unfilled_fields"]), "–", "–")])
    return [title, GroupedTable(columns, rows, words("record.signers"), size=_SIZE, leading=_LEADING)]


def _steps(content: Mapping[str, Any], words: Words, width: float) -> list[Flowable]:
    columns = [
        Column("", 18, "RIGHT", ink=MUTED, gap=6),
        Column(words("record.step"), (width - 18 - 76) * 0.42),
        Column(words("record.outcome"), 76),
        Column(words("record.found"), (width - 18 - 76) * 0.58, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for step in content["steps"]:
        mark = Verdict(_MARK[step["status"]], words(f"record.status.{step['status']}"), 76, size=_SIZE)
        rows.append([(str(step["number"]), step["title"], mark, _found(step, words, content["sha256"]))])
    table = GroupedTable(columns, rows, words("record.steps"), size=_SIZE, leading=_LEADING)
    return [CondPageBreak(table.need(2)), SectionTitle(words("record.steps"), "steps"), table]


def _found(step: Mapping[str, Any], words: Words, sha256: str) -> str:
    """What a step found, in a few lines: reasons and the file's own hash are above, files below."""
    hashed = sum(_HASHED.fullmatch(text) is not None for text in step["details"])
    details = [
        text
        for text in (*step.get("unproven", ()), *step["details"])
        if not _HASHED.fullmatch(text) and text != f"SHA-256 {sha256}"
    ]
    shown = details[:_MOST_DETAILS]
    if len(details) > _MOST_DETAILS:
        shown.append(words("record.more", count=len(details) - _MOST_DETAILS))
    if hashed:
        shown.append(words("record.files-below.one" if hashed == 1 else "record.files-below", count=hashed))
    return "; ".join(shown) or "–"


def _files(content: Mapping[str, Any], words: Words, width: float) -> list[Flowable]:
    """The embedded files with the hashes that were found; photos are not in the file, only counted here."""
    told = next((step["details"] for step in content["steps"] if step["number"] == _FILES_STEP), ())
    every = [match for text in told if (match := _HASHED.fullmatch(text))]
    if not every:
        return []
    found = [one for one in every if one["role"] != "photo-hash"]
    columns = [
        Column(words("integrity.file"), width - 96 - 262),
        Column(words("integrity.role"), 96, ink=MUTED),
        Column("SHA-256", 262, gap=0),
    ]
    rows: list[list[Row]] = [[(one["name"], words.named("role", one["role"]), one["hash"])] for one in found]
    table = GroupedTable(columns, rows, words("record.files"), size=6.4, leading=7.6)
    photos = len(every) - len(found)
    note = words("record.photos.one" if photos == 1 else "record.photos", count=photos) if photos else ""
    return [CondPageBreak(table.need(2)), SectionTitle(words("record.files"), "files", note=note), table]


def _instant(text: str) -> str:
    return text.replace("T", " ").replace("+00:00", " UTC").removesuffix("Z") + (" UTC" if text.endswith("Z") else "")


def _plain(text: str) -> str:
    """One line that the faces can print: anything else is written as its code point."""
    return drawable(" ".join(text.split()))


def _cleaned(value: Any) -> Any:
    """The same data, every text of it printable."""
    if isinstance(value, str):
        return _plain(value)
    if isinstance(value, dict):
        return {_plain(str(key)): _cleaned(one) for key, one in value.items()}
    return [_cleaned(one) for one in value] if isinstance(value, (list, tuple)) else value
