"""The record of a verification on a page: the answer, its reasons, who signed, every step, the hashes."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from reportgen.gc_pause import collector_off
from reportgen.names import shown
from reportgen.pdf.blocks import Facts, SectionTitle, Verdict, VerdictBanner, running_text, title_text
from reportgen.pdf.endline import EndLine
from reportgen.pdf.flow import CondPageBreak, Flowable
from reportgen.pdf.fonts import drawable
from reportgen.pdf.page import Furniture, build_pages, geometry
from reportgen.pdf.styles import BOLD, FINEST, MUTED
from reportgen.pdf.tables import Column, GroupedTable, Row
from reportgen.pdf.tightening import tightest
from reportgen.words.catalogue import catalogue
from reportgen.words.told import Told, field_in_words, said, told_again

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from reportgen.pdf.page import Laid
    from reportgen.words.catalogue import Words

_MARK = {
    "passed": "conforms", "failed": "does not conform", "indeterminate": "inconclusive", "not done": "not evaluated",
    "superseded": "inconclusive",
}  # fmt: skip
_SIZE, _LEADING, _PAD = 7.0, 8.5, 1.2
_DIGEST = re.compile(r"\b[0-9A-Fa-f]{64}\b")
_FILES_STEP, _STANDING_STEP = 7, 12
_HASHED = "file-hashed"
_STATED_ELSEWHERE = {_HASHED, "hash-of-file"}
"""What the steps found that the record states in places of its own."""
_MOST_DETAILS = 3
_VALUE = 7.8


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
        found = told_again(verification_plain)
        content = _cleaned(found, words.language)
        shown, overall, versions = _plain(name), content["overall"], content["versions"]
        reasons = [reason["sentence"][:1].upper() + reason["sentence"][1:] + "." for reason in content["reasons"]]
        size = words("record.size.value", size=content["size"])
        used = ", ".join(f"{library} {version}" for library, version in versions.items())
        facts = [
            (words("record.at"), f"{_instant(content['verified_at'])}; {size}"),
            (words("record.with"), used or "–"),
            (words("record.by"), words("record.by.program")),
            (words("record.trust"), _trust(content, words)),
        ]
        policy = [(words("record.policy"), content["policy_sha256"])] if content.get("policy_sha256") else []
        beside = [
            (words("record.standing"), _standing(content, words)),
            (words("record.time"), words(f"record.time.{content['time']}")),
            (words("record.revocation"), _revocation(content, words)),
            (words("record.holds-until"), _instant(content.get("holds_until", "–"))),
        ]
        notices = [words("record.notice", told=notice["sentence"]) for notice in content["notices"]]

        def story() -> list[Flowable]:
            return [
                title_text(words("record.title"), "title", 1, bookmark="record"),
                running_text(words("record.subtitle", name=shown), "subtitle"),
                VerdictBanner(_MARK[overall], words(f"record.{overall}"), reasons or [words("record.no-reason")]),
                *(running_text(notice, "note", before=5) for notice in notices),
                Facts([(words("record.sha256"), content["sha256"]), *policy], 1, before=6, size=_VALUE, leading=9.4),
                Facts(facts, 2, size=_VALUE, leading=9.4),
                Facts(beside, 4, size=_VALUE, leading=9.4),
                *_signers(content, words, place.width),
                *_steps(content, found, words, place.width),
                *_files(found, words, place.width),
                running_text(words("record.proves"), "fine", before=4),
                EndLine(words("record.end", name=shown), before=3.0),
            ]

        furniture = Furniture(
            place, f"reportgen {versions.get('reportgen', '')}".strip(), shown, words("record.footer"),
            lambda number, pages: words("page.count", page=number, pages=pages),
        )  # fmt: skip

        def build(ready: Callable[[Any], Any]) -> tuple[Laid, float]:
            laid = build_pages(
                list(map(ready, story())), furniture, title=record_title(name, language), language=words.language
            )
            return laid, laid.filled

        return tightest(build).pdf


def _trust(content: Mapping[str, Any], words: Words) -> str:
    """What was gone by: a policy, else the authorities that signatures lead to."""
    if content.get("policy_sha256"):
        return words("record.trust.policy")
    led_to = dict.fromkeys(one["anchor"].replace(":", "") for one in content["signers"] if one["chain"] == "trusted")
    told = "; ".join(map(_grouped, led_to))
    return words("record.trust.anchors", anchors=told) if told else words("record.trust.none")


def _signers(content: Mapping[str, Any], words: Words, width: float) -> list[Flowable]:
    title = SectionTitle(words("record.signers"), "signers")
    if not content["signers"]:
        return [title, running_text(words("record.no-signers"), before=4)]
    columns = [
        Column(words("record.signer"), 122, face=BOLD),
        Column(words("record.issuer"), 122),
        Column(words("record.time"), 88),
        Column(words("record.certificate"), width - 122 - 122 - 88, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for signer in content["signers"]:
        state, anchor, since = signer["chain"], signer.get("anchor"), signer.get("chain_since")
        if state == "trusted":
            told = words("record.anchor", anchor=anchor)
        else:
            told = words(f"record.chain.{state}{' since' if since else ''}", date=(since or "")[:10])
        issuer = f"{signer['issuer']}; {told}"
        if state == "trusted" and anchor == signer["fingerprint"]:
            issuer = words("record.no-authority")
        if signer.get("proven_time"):
            authority = signer.get("timestamp_authority", "–")
            time = words("record.proven", time=_instant(signer["proven_time"]), authority=authority)
        elif signer.get("claimed_time"):
            time = words("record.claimed", time=_instant(signer["claimed_time"]))
        else:
            time = words("record.no-time")
        certificate = words(
            "record.certificate.value", fingerprint=_grouped(signer["fingerprint"].replace(":", "")),
            algorithm=signer["algorithm"], revocation=signer["revocation"],
        )  # fmt: skip
        who = f"{shown(signer['subject'])} ({words.named('record.kind', signer['kind'])})"
        rows.append([(who, issuer, time, certificate)])
    if content["unfilled_fields"]:
        rows.append(
            [
                (
                    words("record.unfilled"),
                    ", ".join(field_in_words(name, words.language) for name in content["unfilled_fields"]),
                    "–",
                    "–",
                )
            ]
        )
    return [title, _table(columns, rows, words, "record.signers")]


def _table(columns: list[Column], rows: list[list[Row]], words: Words, key: str, **look: Any) -> GroupedTable:
    """A table in small type, which says on a later page that it goes on."""
    usual: dict[str, Any] = {"size": _SIZE, "leading": _LEADING, "pad": _PAD}
    return GroupedTable(columns, rows, words(key), again=words.continued(key), **(usual | look))


def _grouped(text: str) -> str:
    """A text with each hash in it in groups of eight digits, between which a line may end."""
    return _DIGEST.sub(lambda found: " ".join(found[0][start : start + 8] for start in range(0, 64, 8)), text)


def _steps(
    content: Mapping[str, Any], found: Mapping[str, Any], words: Words, width: float
) -> list[Flowable]:  # fmt: skip
    columns = [
        Column("", 18, "RIGHT", ink=MUTED, gap=6),
        Column(words("record.step"), (width - 18 - 72) * 0.47),
        Column(words("record.outcome"), 72),
        Column(words("record.found"), (width - 18 - 72) * 0.53, ink=MUTED, gap=0),
    ]
    rows: list[list[Row]] = []
    for step, as_found in zip(content["steps"], found["steps"], strict=True):
        mark = Verdict(_MARK[step["status"]], words(f"record.status.{step['status']}"), 72, size=_SIZE)
        told = _found(step, as_found, words)
        rows.append([(str(step["number"]), words(f"record.step.{step['number']}"), mark, told)])
    table = _table(columns, rows, words, "record.steps")
    return [CondPageBreak(table.need(2)), SectionTitle(words("record.steps"), "steps"), table]


def _code(text: str) -> str:
    return text.code if isinstance(text, Told) else ""


def _found(step: Mapping[str, Any], as_found: Mapping[str, Any], words: Words) -> str:
    """What a step found, in a few lines: reasons and the file's own hash are above, files below."""
    codes = [_code(text) for text in as_found["details"]]
    told = (text for text, code in zip(step["details"], codes, strict=True) if code not in _STATED_ELSEWHERE)
    details = [*step.get("unproven", ()), *told]
    shown = [_grouped(text) for text in details[:_MOST_DETAILS]]
    if len(details) > _MOST_DETAILS:
        shown.append(words("record.more", count=len(details) - _MOST_DETAILS))
    if _HASHED in codes:
        shown.append(words("record.files-below", count=codes.count(_HASHED)))
    return "; ".join(shown) or "–"


def _standing(content: Mapping[str, Any], words: Words) -> str:
    if content["standing"] == "unknown":
        return words("record.standing.unknown")
    return str(next(step["details"][0] for step in content["steps"] if step["number"] == _STANDING_STEP))


def _revocation(content: Mapping[str, Any], words: Words) -> str:
    if "revocation_until" in content:
        return words("record.revocation.until", value=_instant(content["revocation_until"]))
    return words("record.revocation.unchecked")


def _files(found: Mapping[str, Any], words: Words, width: float) -> list[Flowable]:
    """The embedded files with the hashes that were found; photos are not in the file, only counted here."""
    told = next((step["details"] for step in found["steps"] if step["number"] == _FILES_STEP), ())
    every = [text.facts for text in told if _code(text) == _HASHED]
    if not every:
        return []
    inside = [one for one in every if one["role"] != "photo-hash"]
    columns = [
        Column(words("integrity.file"), width - 92 - 268),
        Column(words("integrity.role"), 92, ink=MUTED),
        Column("SHA-256", 268, gap=0),
    ]
    rows: list[list[Row]] = [
        [tuple(map(_plain, (one["file"], words.named("role", one["role"]), one["sha256"])))] for one in inside
    ]
    table = _table(columns, rows, words, "record.files", size=FINEST, leading=7.6, pad=0.5)
    photos = len(every) - len(inside)
    note = words("record.photos", count=photos) if photos else ""
    return [CondPageBreak(table.need(2)), SectionTitle(words("record.files"), "files", note=note), table]


def _instant(text: str) -> str:
    return text.replace("T", " ").replace("+00:00", " UTC").removesuffix("Z") + (" UTC" if text.endswith("Z") else "")


def _plain(text: str) -> str:
    """One line that the faces can print: anything else is written as its code point."""
    return drawable(" ".join(text.split()))


def _cleaned(value: Any, language: str) -> Any:
    """The same data, every text of it printable, and in a language where it is made of facts."""
    if isinstance(value, str):
        return _plain(said(value, language))
    if isinstance(value, dict):
        return {_plain(str(key)): _cleaned(one, language) for key, one in value.items()}
    return [_cleaned(one, language) for one in value] if isinstance(value, (list, tuple)) else value
