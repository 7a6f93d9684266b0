"""What a report must not hold: anything that acts, that can change its look, or that lies outside the file.

Read with another library than the signatures are, in strict mode: a file the two understand differently does not pass.
"""

from __future__ import annotations

import contextlib
import io
import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.verification.pageread import are_of_one_size, hang_on_one_tree
from reportgen.verification.verdict import Reason
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterator

_ACTING_KEYS = frozenset({"/AA", "/JS", "/JavaScript", "/OpenAction", "/XFA", "/RichMediaContent", "/Requirements"})
_LAYER_KEYS = frozenset({"/OC", "/OCProperties", "/OCGs", "/OCMD", "/Properties", "/Usage"})
# marked content that names an entry of /Properties, and what that states for screen and paper: some readers ask no more
_ACTIONS = frozenset(
    f"/{name}"
    for name in (
        *("JavaScript", "Launch", "GoToR", "GoToE", "GoToDp", "SubmitForm", "ResetForm", "ImportData", "Hide", "Named"),
        *("Rendition", "Movie", "Sound", "Thread", "SetOCGState", "Trans", "GoTo3DView", "RichMediaExecute"),
    )
)
_HARMLESS = frozenset({"/GoTo", "/URI"})
_LINK_SCHEMES = ("https://", "http://", "mailto:")
_LINK = frozenset(
    f"/{name}" for name in ("Type", "Subtype", "Rect", "Border", "Contents", "Dest", "A", "F", "StructParent")
)
_BOOKKEEPING = frozenset({"/XRef", "/ObjStm"})
_OUTSIDE_KEYS = frozenset({"/F", "/FFilter", "/Ref", "/OPI"})
_FILE_NAMES = frozenset({"/EF", "/EmbeddedFile"})
_OTHER_NAMES = frozenset({"/OCG", "/OCMD", "/PS", "/URI", "/Filespec", "/Annot", "/Annots", "/Rect", "/A", "/PA"})

_STRING = re.compile(rb"\((?:[^\\()]|\\.)*+\)|<[0-9A-Fa-f]*+>", re.DOTALL)
_REFERENCE = re.compile(rb"(?<![^\s\[])(\d+) (\d+) R(?![^\s\]])")
_ASKED_ABOUT = sorted(_ACTING_KEYS | _LAYER_KEYS | _ACTIONS | _OUTSIDE_KEYS | _FILE_NAMES | _OTHER_NAMES)
_NOTED = re.compile("|".join(rf"{name}\b" for name in _ASKED_ABOUT).encode())
"""Every name that a rule about what a file holds asks for; one that is not here is not looked at."""


def open_strictly(data: bytes) -> tuple[Opened | None, list[Reason]]:
    """Return the opened file, or None and why not: damaged, or encrypted, also with a password that nobody has to type.

    The latter is read from the trailer: what unpacks an encrypted file wants more than a confined process has.
    """
    if b"/Encrypt" in data:
        from pyhanko.pdf_utils.generic import DictionaryObject
        from pyhanko.pdf_utils.reader import PdfFileReader

        with contextlib.suppress(Exception):  # a damaged file: the library below says so
            if isinstance(PdfFileReader(io.BytesIO(data), strict=False).trailer_view["/Encrypt"], DictionaryObject):
                return None, [Reason("ENCRYPTED", told("encrypted"))]
    try:
        pdf = pikepdf.open(io.BytesIO(data), attempt_recovery=False, suppress_warnings=True)
    except pikepdf.PasswordError:
        return None, [Reason("ENCRYPTED", told("encrypted"))]
    except pikepdf.PdfError:
        return None, [Reason("FORMAT_FAILURE", told("structure-damaged"))]
    if pdf.is_encrypted:
        return None, [Reason("ENCRYPTED", told("encrypted"))]
    return Opened(pdf), []


class Opened:
    """A file as this library opened it; what can be reached in it is looked through once, for all who ask."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self.pdf = pdf

    @cached_property
    def reached(self) -> ReachedObjects:
        """Look through each object that can be reached from the trailer, as the library spells it.

        It spells every name and reference in one way, whatever the file does, so the few objects with a name that a
        rule asks about are found by a search, and taken apart, as is whatever has a name elsewhere; strings are left
        out of it.
        """
        numbers: set[tuple[int, int]] = set()
        names: set[tuple[int, int]] = set()
        noted: list[Any] = []
        waiting: list[Any] = [self.pdf.trailer]
        while waiting:
            thing = waiting.pop()
            spelled = thing.stream_dict if isinstance(thing, pikepdf.Stream) else thing
            text = _STRING.sub(b"()", spelled.unparse(resolved=True))
            named = {(int(number), int(generation)) for number, generation in _REFERENCE.findall(text)}
            for number in named - numbers:
                other = self.pdf.get_object(number)
                waiting += [other] if isinstance(other, pikepdf.Object) else []
                if isinstance(other, pikepdf.Name):
                    names.add(number)
            numbers |= named
            if _NOTED.search(text) or named & names:
                noted += _within(thing)
        return ReachedObjects(frozenset(numbers), tuple(noted))


@dataclass(frozen=True, slots=True)
class ReachedObjects:
    """The numbers of all objects that can be reached, and the dictionaries and streams of those a rule may mean."""

    numbers: frozenset[tuple[int, int]]
    noted: tuple[Any, ...]


def content_faults(opened: Opened) -> list[Reason]:
    """Return everything found in the file that a report never holds, each kind once."""
    pdf, reached = opened.pdf, opened.reached
    faults: dict[str, Reason] = {}
    # what a form may hold is known from writing the revision of its signature again
    fields = {field.objgen for field in pdf.Root.get("/AcroForm", pikepdf.Dictionary()).get("/Fields", ())}
    for thing in reached.noted:
        for reason in _faults_of(thing, fields):
            faults.setdefault(reason.name, reason)
    if "/Collection" in pdf.Root:
        faults["PORTFOLIO"] = Reason("PORTFOLIO", told("portfolio"))
    unreached = (
        thing for thing in pdf.objects if isinstance(thing, pikepdf.Object) and thing.objgen not in reached.numbers
    )
    if not all(isinstance(thing, pikepdf.Stream) and _name(thing, "/Type") in _BOOKKEEPING for thing in unreached):
        faults["ORPHAN_OBJECTS"] = Reason("ORPHAN_OBJECTS", told("orphan-objects"))
    if not hang_on_one_tree(pdf):
        faults["FORMAT_FAILURE"] = Reason("FORMAT_FAILURE", told("page-tree-unsound"))
    elif not are_of_one_size(pdf):
        faults["FORMAT_FAILURE"] = Reason("FORMAT_FAILURE", told("pages-of-sizes"))
    if pdf.get_warnings():
        faults["FORMAT_FAILURE"] = Reason("FORMAT_FAILURE", told("structure-damaged"))
    return list(faults.values())


def _within(thing: Any) -> Iterator[Any]:
    """Yield the dictionaries and the stream of one object, those written in place in others among them."""
    waiting = [thing]
    while waiting:
        thing = waiting.pop()
        if isinstance(thing, pikepdf.Array):
            waiting += [item for item in thing if _in_place(item)]
        elif isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
            yield thing
            waiting += [value for value in thing.values() if _in_place(value)]


def _in_place(value: Any) -> bool:
    return isinstance(value, pikepdf.Array | pikepdf.Dictionary) and value.objgen == (0, 0)


def _faults_of(thing: Any, fields: set[tuple[int, int]]) -> Iterator[Reason]:
    keys = set(thing.keys())
    # whatever it calls itself besides: who follows a link asks for no type
    if keys & _ACTING_KEYS or _name(thing, "/S") in _ACTIONS or _acts(thing):
        yield Reason("ACTIVE_CONTENT", told("active-content"))
    if keys & _LAYER_KEYS or _name(thing, "/Type") in {"/OCG", "/OCMD"}:
        yield Reason("LAYERS", told("layers"))
    if _refers_outside(thing, keys):
        yield Reason("EXTERNAL_REFERENCE", told("external-reference"))
    kind = _name(thing, "/Subtype")
    plain = thing.objgen in fields if kind == "/Widget" else kind == "/Link" and _draws_nothing(thing)
    listed = thing.get("/Annots", pikepdf.Array())
    stated = isinstance(listed, pikepdf.Array) and all(
        isinstance(one, pikepdf.Dictionary) and {"/Rect", "/Subtype"} <= set(one.keys()) for one in listed
    )
    if not stated or (not plain and (_name(thing, "/Type") == "/Annot" or {"/Rect", "/Subtype"} <= keys)):
        yield Reason("ANNOTATIONS", told("annotations"))


def _draws_nothing(link: Any) -> bool:
    """Say whether a link is what our pages have: without a frame, which is drawn where none is stated, too."""
    border = link.get("/Border")
    frameless = isinstance(border, pikepdf.Array) and [str(width) for width in border] == ["0"] * 3
    return frameless and set(link.keys()) <= _LINK


def _acts(thing: Any) -> bool:
    """Say whether what stands in the place of an action does more than go to a place or an address.

    Attributes of the structure stand under the same key, but have an owner and no kind.
    """
    stated = [thing.get(key) for key in ("/A", "/PA")]
    listed = [item for one in stated for item in (one if isinstance(one, pikepdf.Array) else (one,))]
    held = [one for one in listed if isinstance(one, pikepdf.Dictionary) and not ("/O" in one and "/S" not in one)]
    return any(_name(one, "/S") not in _HARMLESS or "/Next" in one for one in held)


def _name(thing: Any, key: str) -> str:
    value = thing.get(key)
    return str(value) if isinstance(value, pikepdf.Name) else ""


def _refers_outside(thing: Any, keys: set[str]) -> bool:
    if isinstance(thing, pikepdf.Stream):
        return bool(keys & _OUTSIDE_KEYS) or _name(thing, "/Subtype") == "/PS"
    if _name(thing, "/S") == "/URI" and not str(thing.get("/URI", "")).startswith(_LINK_SCHEMES):
        return True
    return _name(thing, "/Type") in {"/Filespec", "/F"} and "/EF" not in keys
