"""A submittal made again from its verified originals: list, cover, roll-up and trends follow from them, or it fails.

And a release page, from the data inside it.

How well each original was proven to whoever sent it stands in the list. By that the pages are made again and compared;
where what is known here of the originals would let them say otherwise, that is told too.
"""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.certificates import misnamed
from reportgen.errors import MachineError, ProgramError, ReportgenError
from reportgen.formats import OtherReleaseError, made_by
from reportgen.issued import (
    RELEASE_NAME,
    SUBMITTAL_NAME,
    examined_from,
    list_of,
    opened_envelope,
    originals_of,
    release_file_of,
    render_list,
)
from reportgen.pdf.signing import SignerBlock
from reportgen.pipeline.building import REBUILDS, made_with, versions_stated
from reportgen.submittal import Transmittal, submittal_of, write_unsigned
from reportgen.verification import Notice, Reason, Step
from reportgen.verification.verdict import NOTICES, REASONS, broken_off, not_done, step_of
from reportgen.words.told import Told, broke, told, words_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from reportgen.issued import Examined, Listed, SubmittalList
    from reportgen.pdf.signing import Rendered
    from reportgen.submittal.pages.model import Submittal


def submittal_made_again(pdf: bytes, found: tuple[bytes, ...]) -> Step:
    """Return step 10 for a submittal, of whose originals ``found`` are the examinations in the order of its list."""
    return _made_again("submittal-not-made-again", lambda: _compared(pdf, [examined_from(one) for one in found]))


def release_made_again(pdf: bytes) -> Step:
    """Return step 10 for a release page: whether the data inside make it."""
    return _made_again("release-not-made-again", lambda: _compared_release(pdf))


def _made_again(code: str, compared: Callable[[], Step]) -> Step:
    try:
        return compared()
    except OtherReleaseError as later:
        return not_done(10, words_of(later))
    except (MachineError, ProgramError) as fault:
        return broken_off(10, fault)
    except ReportgenError as refusal:
        return _differs(told(code, why=words_of(refusal)))
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as fault:
        return _differs(told(code, why=broke(fault)))


def _differs(sentence: Told) -> Step:
    return step_of(10, [Reason("PAGES_DIFFER", sentence)])


def _compared(pdf: bytes, originals: Sequence[Examined]) -> Step:
    opened = opened_envelope(pdf)
    listed = list_of(opened)
    if listed.generator not in REBUILDS:
        return not_done(10, made_by("submittal-of-release", listed.generator, SUBMITTAL_NAME))
    listed.require_known()
    sent = _transmittal(listed)
    found = [_as_sent(one, row) for one, row in zip(originals, listed.reports, strict=True)]
    content, own_list = submittal_of(found, sent)
    if own_list != render_list(listed):
        return _differs(told("list-otherwise"))
    own = io.BytesIO()
    rendered = write_unsigned(content, own_list, lambda row: next(originals_of(opened, [row])), own)
    differing = _differing(
        pdf, own.getvalue(), rendered, _OF_A_COVER, signer=sent.signer, at=sent.at, place=content.body
    )
    if by_others := _by_other_libraries(differing, sent.made_with):
        return by_others
    details = () if differing else (told("submittal-same-again", size=len(own.getvalue())),)
    return step_of(10, [*differing, *_otherwise(originals, sent, content)], details)


def _by_other_libraries(differing: Sequence[Reason], stated: Mapping[str, str]) -> Step | None:
    """Return step 10 as not done where pages differ that were made with other versions of libraries."""
    here = made_with()
    others = [f"{name} {version}" for name, version in versions_stated(stated).items() if here[name] != version]
    if differing and others and all(one.name == "PAGES_DIFFER" for one in differing):
        return not_done(10, told("submittal-of-other-libraries", libraries=tuple(others)))
    return None


def _compared_release(pdf: bytes) -> Step:
    from reportgen.pipeline.releasing import unsigned_page

    content = release_file_of(opened_envelope(pdf))
    if content.generator not in REBUILDS:
        return not_done(10, made_by("release-of-release", content.generator, RELEASE_NAME))
    if versions_stated(content.made_with) != content.made_with:
        raise ValueError(told("release-is-none", file=RELEASE_NAME))
    own, rendered = unsigned_page(content)
    differing = _differing(
        pdf, own, rendered, _OF_A_RELEASE,
        signer=SignerBlock(content.signer, content.role, content.organisation),
        at=dt.datetime.fromisoformat(content.issued_at).astimezone(dt.UTC),
        place=content.released.project,
    )  # fmt: skip
    details = () if differing else (told("release-same-again", size=len(own)),)
    return _by_other_libraries(differing, content.made_with) or step_of(10, differing, details)


def _transmittal(listed: SubmittalList) -> Transmittal:
    cover = listed.cover
    return Transmittal(
        at=dt.datetime.fromisoformat(listed.issued_at).astimezone(dt.UTC),
        signer=SignerBlock(cover.signer, cover.role, cover.organisation),
        version=listed.generator.removeprefix("reportgen "),
        reference=listed.reference,
        recipient=cover.recipient,
        remarks=cover.remarks,
        partial=cover.partial,
        status=cover.status,
        page=cover.page,
        language=cover.language,
        copied_pages={one.sha256: one.copied_pages for one in listed.reports},
        made_with=versions_stated(listed.made_with),
        registers=cover.registers or (),
    )


def _as_sent(one: Examined, row: Listed) -> Examined:
    """Return the examination with the doubts that its sender had in place of ours."""
    if not {*row.later_doubts} <= {*row.doubts} <= REASONS.keys() or not {*row.notices} <= NOTICES:
        raise ValueError("no doubts that there are")
    first = tuple(name for name in row.doubts if name not in row.later_doubts)
    doubts = tuple(Reason(name, name) for name in row.doubts)
    notices = tuple(Notice(name, name) for name in row.notices)
    steps = [Step(n, "passed") for n in range(1, 13)]
    steps[4] = replace(step_of(5, doubts), notices=notices)
    signers = [
        replace(signer, doubts=row.later_doubts if number else first)
        for number, signer in enumerate(one.verification.signers)
    ]
    upon = one.upon and replace(one.upon, lies=(row.registered_as,) if row.registered_as else ())
    return replace(one, verification=replace(one.verification, steps=tuple(steps), signers=tuple(signers)), upon=upon)


_OF_A_COVER = (
    "cover-otherwise", "cover-field-off-block", "cover-signed-elsewhere", "cover-signed-at-another-time",
    "cover-names-another",
)  # fmt: skip
_OF_A_RELEASE = (
    "release-otherwise", "release-field-off-block", "release-signed-elsewhere", "release-signed-at-another-time",
    "release-names-another",
)  # fmt: skip


def _differing(
    pdf: bytes, own: bytes, rendered: Rendered, codes: tuple[str, ...],
    *, signer: SignerBlock, at: dt.datetime, place: str,
) -> list[Reason]:  # fmt: skip
    """Return where the signed file is not ``own`` with the signature of the person whom its first page names."""
    from reportgen.archival import repacked
    from reportgen.verification.replay import first_signed

    otherwise, off_block, elsewhere, at_another_time, names_another = codes
    signing, claimed, certificate = first_signed(pdf)
    pages, reasons = pdf[: signing.unsigned], []
    if pages != own and not repacked(pages, own):
        reasons.append(Reason("PAGES_DIFFER", told(otherwise)))
    page, *corners = rendered.signature_box
    if [_corners(field.box) for field in signing.fields] != [_corners((page + 1, *corners))]:
        reasons.append(Reason("PAGES_DIFFER", told(off_block)))
    if signing.location != place:
        reasons.append(Reason("PAGES_DIFFER", told(elsewhere)))
    if claimed != at:
        reasons.append(Reason("TIMES_DISAGREE", told(at_another_time)))
    why = misnamed(certificate, signer.name, signer.organisation)
    if why is not None:
        reasons.append(Reason("SIGNER_NOT_NAMED", told(names_another, why=why)))
    return reasons


def _corners(box: tuple[float, ...]) -> list[str]:
    return [f"{number:.3f}" for number in box]


def _otherwise(originals: Sequence[Examined], sent: Transmittal, content: Submittal) -> list[Reason]:
    """Return what the cover would say otherwise by what is known here of the originals, as one reason or none.

    It names each number, what the cover says of it, and what is proven here.
    """
    try:
        own, _ = submittal_of(originals, sent)
    except ReportgenError as refusal:
        return [Reason("COVER_DIFFERS", told("cover-not-made", why=words_of(refusal)))]
    stated, proven = _said(content), _said(own)
    nothing = told("cover-silent")
    things = tuple(
        told("cover-thing", what=thing, stated=stated.get(thing, nothing), proven=proven.get(thing, nothing))
        for thing in sorted(stated.keys() | proven.keys())
        if stated.get(thing) != proven.get(thing)
    )
    if content.groups != own.groups:
        of_trends = {"stated": _values(content), "proven": _values(own)}
        things = (*things, told("cover-trends", **of_trends))
    return [Reason("COVER_DIFFERS", told("cover-says-otherwise", things=things))] if things else []


def _said(content: Submittal) -> dict[Told, Told]:
    """Return what a submittal says of each report, area and nonconformance, and how much of the contract that is."""
    found: dict[Told, Told] = {}
    for row in content.reports:
        what = told("cover-report", number=row.number, revision=row.revision, sha256=row.sha256[:8])
        found[what] = told(f"stands-{row.place.replace(' ', '-')}")
    for area in content.areas:
        decision = told(f"judged-{area.decision.replace(' ', '-')}")
        what = told("cover-area", area=area.id, structure=area.structure)
        found[what] = told("cover-decision", decision=decision, by=area.by, open=tuple(area.open))
    done, listed = content.complete.done, len(content.complete.listed)
    found[told("cover-areas")] = told("cover-count", done=done, whole=listed)
    if (numbers := content.numbers) is not None:
        found[told("cover-numbers")] = told("cover-count", done=numbers.here, whole=numbers.issued)
    for one in content.nonconformances:
        code = f"cover-{one.status}" if one.counts else f"cover-{one.status}-uncounted"
        found[told("cover-nonconformance", id=one.id)] = told(code)
    return found


def _values(content: Submittal) -> int:
    """Return on how many values the trends rest."""
    return sum(len(group.points) for group in content.groups)
