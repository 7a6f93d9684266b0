"""Write one entry into the day file, and take it back: in place, whole, and never over what somebody else wrote.

The day file is read, changed in memory, evaluated, and put in the place of the file that was read. What stood there in
that moment keeps a hidden name until it was compared: where an editor saved meanwhile, its text is put beside the day
file, under a name that says when. A write that was killed leaves the file before or after it, and what it kept is found
by the next.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from reportgen import atomicfile
from reportgen.diagnostics import Phrase
from reportgen.errors import UsageError
from reportgen.intake.changes import Address, Change, OtherwiseError, changed
from reportgen.pipeline.as_issued import Folder
from reportgen.pipeline.clock import now
from reportgen.pipeline.confirming import rests_on, with_flags, without_flags
from reportgen.pipeline.looking import DOUBTS, SINGLE, Look, looked, needs_clock, site_clock, with_inspected
from reportgen.register.lock import close_locked, open_locked
from reportgen.yamlsource import DayText

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from reportgen.intake.changes import Content

_PATIENCE: Final = 20.0
"""Seconds to wait for another page that writes the same file; one takes less than one."""
_MARK: Final = 12
"""Hexadecimal digits of a hash that tell two states of one file apart."""


_WHOLE: Final = (Change(Address(("report",)), None, None),)
"""Stands for a change of everything, where something is to be looked at."""


class IssuedError(UsageError):
    """The day was issued: it is not changed any more until a revision is started."""


@dataclass(frozen=True, slots=True)
class Wrote:
    """What stands in the day file now.

    ``at`` is when it was written. ``changes`` are those that were made, with what they brought along: a reading that
    began a row has the row. ``sha256`` is that of the file; ``elsewhere`` says that the file was not the one that was
    seen (``seen``), so that the page is drawn again. ``set_aside`` is where something lies that an editor saved in the
    very moment of writing. ``look`` is the evaluation as it is now, of a day. ``previous`` is the file before.
    """

    day: Path
    at: dt.datetime
    changes: tuple[Change, ...]
    sha256: str
    elsewhere: bool
    set_aside: Path | None
    look: Look | None
    previous: bytes


@dataclass(frozen=True, slots=True)
class Conflict:
    """The place says something else by now: then, now, typed. Nothing was written.

    ``then`` is what the person saw, ``present`` what stands there now, ``typed`` what was to be written; None is
    nothing. To write it anyway is the same change with ``present`` before.
    """

    change: Change
    present: Content | None
    sha256: str

    @property
    def then(self) -> Content | None:
        """What the person saw."""
        return self.change.before

    @property
    def typed(self) -> Content | None:
        """What the person typed."""
        return self.change.now


@dataclass(frozen=True, slots=True)
class Objection:
    """The entry is refused (``look.refused``) or asked about (``asked``, ``outside_shift``, ``shift``); not written."""

    look: Look


def write_entry(
    day: Path,
    changes: Change | Sequence[Change],
    *,
    seen: str | None = None,
    believed: bool = False,
    unsettled: bool = False,
    at: dt.datetime | None = None,
) -> Wrote | Conflict | Objection:
    """Write changes into a day file, all or none; comments, order and spelling of everything else stay to the byte.

    The first entry of an area takes it out of those that were not inspected; undoing puts it back.

    ``seen`` is the SHA-256 of the file that the person saw. ``believed`` says that the person looked again and the
    entry is true: it is written with ``confirmed: yes`` where that is what was asked. What another entry is doubted
    for because of it is asked there (``look.beside``): this one is written, and never confirmed for the other. So is
    what another field of the entry is doubted for. ``unsettled`` says that it is true and what it was compared with may
    not be: it is written, and the question stands. A flag that an entry has goes with any other value of it.

    Raises:
        InputError: the day file cannot be read, so nothing can be written.
        IssuedError: it was issued. UsageError: the file is written in a way that cannot be changed there.
        MachineError: the disk failed.
    """
    wanted = tuple(changes) if isinstance(changes, Sequence) else (changes,)
    with alone(day):
        before = file_now(day)
        refuse_issued(day, before)
        text = DayText(before, str(day)).data
        wanted = with_inspected(text, wanted)
        conflict, made, data = made_in(day, before, without_flags(text, wanted))
        if conflict is not None:
            return conflict
        look = looked(day, data, wanted, at=at)
        if not look.refused and _is_doubted(look):
            conflict, with_it, then = made_in(day, before, with_flags(text, wanted))
            assert conflict is None  # noqa: S101 - nothing was written meanwhile
            after = looked(day, then, wanted, at=at)
            look = _left_unsettled(_apart(look, after, wanted), unsettled=unsettled)
            if believed and _is_doubted(look) and not after.refused:
                made, data, look = with_it, then, _apart(after, after, wanted)
        if look.refused or (not believed and (look.asked or look.outside_shift or look.shift)):
            return Objection(look)
        return put(day, before, data, made, look, seen=seen)


def _left_unsettled(look: Look, *, unsettled: bool) -> Look:
    """Return a look in which, where it is ``unsettled``, what is asked stays open beside what is written."""
    if not unsettled:
        return look
    return replace(look, asked=(), beside=(*(one for one in look.asked if one.code in SINGLE), *look.beside))


def _is_doubted(look: Look) -> bool:
    return any(one.code in DOUBTS for one in look.asked)


def _apart(look: Look, confirmed: Look, changes: Sequence[Change]) -> Look:
    """Return a look with what is asked of other entries, or of other fields of the own, by itself.

    What is asked of the own is told whole, what was open in it before too: one flag says that all of it is true.
    """
    own = tuple(one for one in look.doubted if one not in confirmed.doubted)
    beside = tuple(one for one in look.asked if one.code in SINGLE and one not in own)
    asked = tuple(one for one in look.asked if one not in beside)
    if own and not any(rests_on(one, changes) for one in asked if one in own):
        return replace(look, asked=tuple(one for one in asked if one not in own), beside=(*own, *beside))
    return replace(look, asked=tuple(dict.fromkeys((*asked, *own))), beside=beside)


def taken_back(wrote: Wrote, over: Mapping[str, Content | None]) -> tuple[Change, ...]:
    """Return the changes that take back what was written; ``over`` is what stands at places by now and is to go."""
    back = (one.inverse for one in reversed(wrote.changes))
    return tuple(replace(one, before=over[str(one.at)]) if str(one.at) in over else one for one in back)


def undo(
    day: Path, wrote: Wrote, *, over: Mapping[str, Content | None] | None = None, at: dt.datetime | None = None
) -> Wrote | Conflict:
    """Take back what was written, under the same rules: to the byte where nothing was written since.

    ``over`` is what was written since at some places, by their addresses, and is to be taken back with it.

    Raises:
        InputError, IssuedError, UsageError, MachineError: as ``write_entry``.
    """
    back = taken_back(wrote, over or {})
    with alone(day):
        before = file_now(day)
        refuse_issued(day, before)
        if _sha256(before) == wrote.sha256:
            made, data = back, wrote.previous
        elif not back:
            raise UsageError(
                f"`{day.name}` was changed since: it cannot be put back as a whole",
                help_text="take out what is not to stay",
            )
        else:
            conflict, made, data = made_in(day, before, back)
            if conflict is not None:
                return conflict
        return put(day, before, data, made, looked(day, data, back or _WHOLE, at=at), seen=wrote.sha256)


def change_whole(day: Path, changes: Sequence[Change], *, at: dt.datetime | None = None) -> Wrote:
    """Change a day file although it was issued, as a revision does; nothing in it is asked about.

    Raises:
        UsageError: it says something else by now. InputError, MachineError: as ``write_entry``.
    """
    with alone(day):
        before = file_now(day)
        conflict, made, data = made_in(day, before, changes)
        if conflict is not None:
            raise UsageError(f"`{day.name}` was changed meanwhile", help_text="look at it again")
        return put(day, before, data, made, looked(day, data, changes, at=at), seen=None)


def replace_whole(day: Path, data: bytes, *, seen: str | None = None, at: dt.datetime | None = None) -> Wrote:
    """Put a whole content in the place of a day file's, of that with the SHA-256 ``seen`` alone if it is given.

    Undoing brings the content before back, while nothing else was written.

    Raises:
        UsageError: it is not the one that was seen. UsageError, MachineError: as ``write_entry``.
    """
    with alone(day):
        before = file_now(day)
        if seen not in (None, _sha256(before)):
            raise UsageError(f"`{day.name}` was changed meanwhile", help_text="look at it again")
        return put(day, before, data, (), looked(day, data, _WHOLE, at=at), seen=seen)


def put_in_place(day: Path, before: bytes, data: bytes) -> Path | None:
    """Put a content in the place of the one that was read; return where something lies that was saved in between.

    Raises:
        UsageError: the day file is no regular file. MachineError: the disk failed.
    """
    old = _sha256(before)
    kept = atomicfile.write_in_place_of(day, data, mark=f"{old[:_MARK]}-{_sha256(data)[:_MARK]}")
    return _settled(day, kept, known={old})


def put(
    day: Path, before: bytes, data: bytes, made: tuple[Change, ...], look: Look | None, *, seen: str | None
) -> Wrote:  # fmt: skip
    """Put a content in the place of the one that was read, and say what was done; ``alone`` goes around it.

    Raises:
        UsageError, MachineError: as ``put_in_place``.
    """
    set_aside = None if data == before else put_in_place(day, before, data)
    sha256 = _sha256(data)
    elsewhere = set_aside is not None or (seen is not None and seen != _sha256(before))
    told = None if look is None else replace(look, sha256=sha256)
    return Wrote(day, now(), made, sha256, elsewhere, set_aside, told, before)


def made_in(
    day: Path, before: bytes, changes: Sequence[Change]
) -> tuple[Conflict | None, tuple[Change, ...], bytes]:  # fmt: skip
    """Return what stands against changes in a content, or None, the changes with what they brought along, and it then.

    Raises:
        InputError: the content cannot be read. UsageError: it is written in a way that cannot be changed there.
    """
    text = DayText(before, str(day))
    clock = site_clock(day, text.data) if needs_clock(changes) else None
    try:
        made = tuple([changed(text, change, clock) for change in changes])
    except OtherwiseError as other:
        return Conflict(other.change, other.present, _sha256(before)), (), before
    return None, made, text.encoded()


def confirming(data: Mapping[str, Any], change: Change) -> tuple[Change, ...]:
    """Return a change of nothing, and that somebody looked again at the entry that it is of."""
    return with_flags(data, [change])


def refuse_issued(day: Path, data: bytes) -> None:
    """Refuse to change a day that was issued in the revision that it states.

    Raises:
        IssuedError: naming the report.
    """
    issued = issued_as(day, DayText(data, str(day)).data)
    if issued is not None:
        number, revision, date = issued
        message = Phrase(
            "{number} was issued as revision {revision} on {date}: it can no longer be changed",
            number=number, revision=revision, date=date,
        )  # fmt: skip
        raise IssuedError(message, help_text="start a revision, which names its reason")


def issued_as(day: Path, content: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """Return number, revision and date by which a day with some content was issued as it states; None if it was not."""
    report = content.get("report")
    number, revision = (report.get("number"), report.get("revision")) if isinstance(report, dict) else (None, None)
    known = [one for (name, each), one in Folder(day.parent).issued.items() if (name, str(each)) == (number, revision)]
    return (str(number), str(revision), known[0].issued_at[:10]) if known else None


# The file


@contextlib.contextmanager
def alone(day: Path) -> Iterator[None]:
    """One page after the other, in whatever process; what a killed one kept is settled first."""
    lock = day.with_name(f".{day.name}.writing")
    if not day.parent.is_dir():
        raise UsageError(f"cannot write `{day}`: there is no such folder")
    try:
        descriptor = open_locked(lock, _PATIENCE)
    except OSError as error:
        raise atomicfile.refusal(error, day) from error
    try:
        _recover(day)
        yield
    finally:
        close_locked(descriptor, lock)


def refuse_gone(day: Path) -> None:
    """Refuse to go on with a file that is not there any more.

    Raises:
        UsageError: it is not.
    """
    if not day.exists():
        gone = Phrase("`{name}` is gone: it was removed or renamed", name=day.name)
        raise UsageError(gone, help_text="put it back, and do it once more; what you typed stands in its field")


def file_now(day: Path) -> bytes:
    """Return the bytes of a day or project file.

    Raises:
        UsageError: it is gone, or cannot be read.
    """
    from reportgen.loader.paths import YAML_LIMIT, UnreadableFileError, read_under

    try:
        refuse_gone(day)
        return read_under(day.parent, day.name, YAML_LIMIT)
    except UnreadableFileError as failure:
        raise UsageError(f"day file: {failure.message}", help_text=failure.help_text) from failure


def _recover(day: Path) -> None:
    """Settle what killed writes kept, and take away what they had not put in place."""
    for kept in atomicfile.parts_of(day, ".kept"):
        marks = kept.name.split(".")[-2].split("-")
        _settled(day, kept, known=set(marks))
    for part in atomicfile.parts_of(day, ".part"):
        if part.name.split(".")[-2].count("-") == 1:  # of a write of ours
            atomicfile.remove(part)


def _settled(day: Path, kept: Path, *, known: set[str]) -> Path | None:
    """Take away what is known to have stood there, or was to; anything else was saved by somebody, and stays."""
    try:
        digest = _sha256(kept.read_bytes())
        if any(digest.startswith(one) for one in known):
            kept.unlink()
            return None
        for number in range(1000):
            target = day.with_name(_saved_name(day, number))
            with contextlib.suppress(FileExistsError):
                atomicfile.publish(kept, target)
                atomicfile.sync_folder(day.parent)
                return target
    except OSError as error:
        raise atomicfile.refusal(error, kept) from error
    raise UsageError(f"`{kept}` is what an editor saved; there are too many such files beside it")


def _saved_name(day: Path, number: int) -> str:
    again = f"-{number}" if number else ""
    return f"{day.stem}.saved-{now():%Y%m%dT%H%M%SZ}{again}{day.suffix}"


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
