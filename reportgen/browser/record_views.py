"""What the pages of nonconformances and of photos show."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, Any, Final

from reportgen.browser.contents import choice_text, place_text
from reportgen.browser.fields import choices, field, row, section
from reportgen.browser.sight import Sight, seen
from reportgen.errors import InputError, UsageError
from reportgen.intake.changes import Address, address_of
from reportgen.pipeline.as_issued import Folder
from reportgen.starter.following import next_number
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.results import Finding

_DISPOSITIONS: Final = ("rework", "repair", "use-as-is", "reject")
_FIRST: Final = ("description", "disposition", "decided_by", "status")
"""Fields of a nonconformance that stand open; the others fold."""
_TURNS: Final = ("", "90", "180", "270")


def nonconformances_view(day: Path, language: str) -> dict[str, Any]:
    """Return what the page of nonconformances shows: those of the day, and findings that want one.

    Raises:
        InputError: the day file cannot be used.
    """
    sight = seen(day, language)
    say = sight.say
    rows = [
        _nonconformance_row(sight, index, entry) for index, entry in enumerate(sight.data.get("nonconformances") or [])
    ]  # fmt: skip
    again = [
        {"id": one.id, "area": one.area, "to": f"{sight.address}/area/{one.area}", "what": one.description}
        for one in sight.evaluation.nonconformances
        if one.status == "open" and one.raised_in != sight.job.day.report.number and one.area
    ]  # fmt: skip
    made = section("nonconformances", say("nav.nonconformances"), [one for each in rows for one in each["fields"]])
    return sight.common("nonconformances") | {
        "part": made | {"rows": rows, "fresh": []}, "wanted": _wanted(sight), "again": again,
    }  # fmt: skip


def _nonconformance_row(sight: Sight, index: int, entry: Mapping[str, Any]) -> dict[str, Any]:
    """Return one nonconformance as fields, with how it stands after the day."""
    say = sight.say
    people = tuple((name, one.name) for name, one in sight.project.people.items())
    at = address_of(sight.data, ("nonconformances", index))
    closed = entry.get("status") == "closed"
    how: dict[str, dict[str, Any]] = {
        "description": {"kind": "long", "wanted": True, "wide": True},
        "disposition": {
            "kind": "choice",
            "wanted": True,
            "options": tuple((one, say(f"disposition.{one}")) for one in _DISPOSITIONS),
        },
        "decided_by": {"kind": "choice", "wanted": True, "options": people},
        "corrective_action": {"kind": "long", "wide": True},
        "responsible": {},
        "due": {"kind": "text"},
        "status": {
            "kind": "choice",
            "wanted": True,
            "options": tuple((one, say(f"status.{one}")) for one in ("open", "closed")),
        },
        "evidence": {"kind": "long", "wide": True, "wanted": closed},
    }
    fields = [field(sight.data, Address((*at.steps, name)), say(f"ncr.{name}"), **more) for name, more in how.items()]
    state = next((one for one in sight.evaluation.nonconformances if one.id == entry.get("id")), None)
    named = (choice_text(say, "finding", str(code)) for code in entry.get("findings") or [])
    text = ", ".join(filter(None, (entry.get("area"), *named)))
    shown = {
        "state": "conforms" if state and state.status == "closed" else "open",
        "word": say(f"status.{state.status if state else 'open'}"),
        "text": text,
    }
    first = (*_FIRST, *(["evidence"] if closed else []))
    later = [one for one in fields if one.at.rpartition("/")[2] not in first]
    return row(at, [one for one in fields if one not in later], shown) | {
        "name": entry.get("id", ""), "later": later, "more": say("ncr.more"),
    }  # fmt: skip


def _wanted(sight: Sight) -> list[dict[str, Any]]:
    """Return findings that fail and against which none was raised or begun, by area."""
    begun = _begun(sight)
    found: dict[str | None, list[Finding]] = {}
    for one in sight.evaluation.findings:
        if one.severity == "nonconformance" and one.nonconformance is None and (one.area, one.code) not in begun:
            found.setdefault(one.area, []).append(one)
    return [
        {
            "area": area, "codes": list(dict.fromkeys(one.code for one in several)),
            "texts": list(dict.fromkeys(sight.said.told(one) for one in several)),
        }
        for area, several in found.items()
    ]  # fmt: skip


def still_wanted(sight: Sight, area: str, codes: list[str]) -> list[str]:
    """Return which findings of an area still want a nonconformance: what was raised meanwhile is not raised again."""
    wanted = {code for one in _wanted(sight) if (one["area"] or "") == area for code in one["codes"]}
    return [code for code in codes if code in wanted]


def _begun(sight: Sight) -> set[tuple[str | None, str]]:
    """Return area and code of what was raised in entries that are still unfinished."""
    whole = {one.id for one in sight.job.day.nonconformances}
    begun = [one for one in sight.data.get("nonconformances") or [] if one.get("id") not in whole]
    return {(one.get("area"), code) for one in begun for code in one.get("findings") or []}


def nonconformance_begun(sight: Sight, area: str, codes: list[str]) -> tuple[str, dict[str, Any]]:
    """Return id and entry of a nonconformance that is raised against findings on an area."""
    raised = [one.id for each in (*sight.job.earlier, sight.job) for one in each.day.nonconformances]
    raised += [one.get("id", "") for one in sight.data.get("nonconformances") or []]
    taken = {*raised, *_raised_elsewhere(sight.day)}
    name = next_number(raised[-1], None, taken) if raised else "NCR-001"
    name = next_number(name, None, taken) if name in taken else name
    entry: dict[str, Any] = {"id": name, **({"area": area} if area else {}), "findings": codes, "status": "open"}
    return name, entry


def _raised_elsewhere(day: Path) -> Iterator[str]:
    """Yield the ids of nonconformances in the other day files of the folder, of later days too."""
    for name, data in Folder(day.parent).days.values():
        with contextlib.suppress(InputError):
            listed = parse_yaml(data, name).data.get("nonconformances")
            yield from (str(one.get("id", "")) for one in listed or () if isinstance(one, dict))


def photos_view(day: Path, language: str, area: str = "") -> dict[str, Any]:
    """Return what the page of photos shows: those of each area, and where to bring one.

    Raises:
        InputError: the day file cannot be used.
    """
    sight, shown = seen(day, language), []
    say = sight.say
    for index, surface in enumerate(sight.data.get("surfaces") or []):
        for number, photo in enumerate(surface.get("photos") or []):
            at = address_of(sight.data, ("surfaces", index, "photos", number))
            fields = [
                field(
                    sight.data,
                    Address((*at.steps, "caption")),
                    say("photo.caption"),
                    kind="long",
                    wanted=True,
                    wide=True,
                ),
                field(sight.data, Address((*at.steps, "time")), say("photo.time"), kind="clock"),
                field(sight.data, Address((*at.steps, "location")), say("photo.location")),
                field(
                    sight.data,
                    Address((*at.steps, "turn")),
                    say("photo.turn"),
                    kind="choice",
                    options=tuple((one, say(f"turn.{one}")) for one in _TURNS if one),
                ),
            ]
            turn = photo.get("turn", "")
            shown.append(
                row(at, fields, None)
                | {
                    "area": surface.get("area"),
                    "file": photo.get("file", ""),
                    "name": photo.get("file", ""),
                    "turn": turn if turn in _TURNS else "",
                    "number": f"{index}-{number}",
                    "caption": photo.get("caption", ""),
                }
            )
    names = [str(one.get("area")) for one in sight.data.get("surfaces") or []]
    places = [address_of(sight.data, ("surfaces", n)) for n in range(len(names))]
    areas = [
        (str(at), name if names.count(name) == 1 else place_text(say, at))
        for at, name in zip(places, names, strict=True)
    ]
    fitting = [str(at) for at, name in zip(places, names, strict=True) if area in ("", name)]
    chosen = fitting[0] if len(fitting) == 1 else ""  # where there are several, nobody's is guessed
    return sight.common("photos") | {"photos": shown, "areas": areas, "chosen": chosen, "choices": choices([])}


def photo_bytes(day: Path, number: str) -> bytes:
    """Return a photo of the day by its place in the day file, small enough for a page; drawn in a confined child.

    The day is not evaluated, and no other photo looked at: a page asks for each of its photos.

    Raises:
        UsageError: it cannot be read. InputError: the day file cannot be used. LookupError: there is no such photo.
    """
    from functools import partial

    from reportgen.loader.paths import YAML_LIMIT, UnreadableFileError, read_under
    from reportgen.loader.pictures import PICTURE_LIMIT
    from reportgen.sandbox import confined

    surface, _, photo = number.partition("-")
    try:
        data = parse_yaml(read_under(day.parent, day.name, YAML_LIMIT), day.name).data
        file = data["surfaces"][int(surface)]["photos"][int(photo)]["file"]
        picture = read_under(day.parent, file, PICTURE_LIMIT)
    except UnreadableFileError as failure:
        raise UsageError(failure.message, help_text=failure.help_text) from failure
    return confined(partial(small_picture, picture), file, load=load_pictures)


def load_pictures() -> None:
    """Import what reads pictures: a child can open nothing of it."""
    from PIL import Image

    Image.preinit()


def small_picture(data: bytes) -> bytes:
    """Return a picture as a JPEG of at most 640 pixels, upright by what its camera says."""
    import io

    from PIL import Image, ImageOps

    with Image.open(io.BytesIO(data)) as opened:
        picture = ImageOps.exif_transpose(opened).convert("RGB")
        picture.thumbnail((640, 640))
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=80)
    return out.getvalue()
