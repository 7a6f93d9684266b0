"""What a report must not hold: anything that acts, that can change its look, or that lies outside the file.

Read with another library than the signatures are, in strict mode: a file the two understand differently does not pass.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.verification.verdict import Reason

if TYPE_CHECKING:
    from collections.abc import Iterator

_ACTING_KEYS = frozenset({"/AA", "/JS", "/JavaScript", "/OpenAction", "/XFA", "/RichMediaContent", "/Requirements"})
_LAYER_KEYS = frozenset({"/OC", "/OCProperties", "/OCGs", "/OCMD"})
_ACTIONS = frozenset(
    f"/{name}"
    for name in (
        *("JavaScript", "Launch", "GoToR", "GoToE", "SubmitForm", "ResetForm", "ImportData", "Hide", "Named"),
        *("Rendition", "Movie", "Sound", "Thread", "SetOCGState", "Trans", "GoTo3DView", "RichMediaExecute"),
    )
)
_LINK_SCHEMES = ("https://", "http://", "mailto:")
_BOOKKEEPING = frozenset({"/XRef", "/ObjStm"})


def open_strictly(data: bytes) -> tuple[pikepdf.Pdf | None, list[Reason]]:
    """Return the opened file, or None and why not: damaged, or encrypted."""
    try:
        pdf = pikepdf.open(io.BytesIO(data), attempt_recovery=False, suppress_warnings=True)
    except pikepdf.PasswordError:
        return None, [Reason("ENCRYPTED", "the file is encrypted")]
    except pikepdf.PdfError:
        return None, [Reason("FORMAT_FAILURE", "the file's structure is damaged")]
    if pdf.is_encrypted:
        return None, [Reason("ENCRYPTED", "the file is encrypted")]
    return pdf, []


def content_faults(pdf: pikepdf.Pdf) -> list[Reason]:
    """Return everything found in the file that a report never holds, each kind once."""
    faults: dict[str, Reason] = {}
    reached: set[tuple[int, int]] = set()
    # what a form may hold is known from writing the revision of its signature again
    fields = {field.objgen for field in pdf.Root.get("/AcroForm", pikepdf.Dictionary()).get("/Fields", ())}
    for thing in reachable(pdf, reached):
        for reason in _faults_of(thing, fields):
            faults.setdefault(reason.name, reason)
    if "/Collection" in pdf.Root:
        portfolio = "the file is a portfolio: a reader shows a list of its files in place of its pages"
        faults["PORTFOLIO"] = Reason("PORTFOLIO", portfolio)
    unreached = (thing for thing in pdf.objects if isinstance(thing, pikepdf.Object) and thing.objgen not in reached)
    if not all(isinstance(thing, pikepdf.Stream) and _name(thing, "/Type") in _BOOKKEEPING for thing in unreached):
        faults["ORPHAN_OBJECTS"] = Reason("ORPHAN_OBJECTS", "the file holds objects that nothing refers to")
    if pdf.get_warnings():
        faults["FORMAT_FAILURE"] = Reason("FORMAT_FAILURE", "the file's structure is damaged")
    return list(faults.values())


def reachable(pdf: pikepdf.Pdf, reached: set[tuple[int, int]]) -> Iterator[Any]:
    """Yield each dictionary and stream that can be reached from the trailer, once; their numbers are in ``reached``."""
    waiting: list[Any] = [pdf.trailer]
    while waiting:
        thing = waiting.pop()
        if isinstance(thing, pikepdf.Array):
            waiting += [item for item in thing if _unseen(item, reached)]
        elif isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
            yield thing
            waiting += [value for value in thing.values() if _unseen(value, reached)]


def _unseen(value: Any, reached: set[tuple[int, int]]) -> bool:
    if not isinstance(value, pikepdf.Object):
        return False
    number = value.objgen
    if number == (0, 0):
        return isinstance(value, pikepdf.Array | pikepdf.Dictionary)
    if number in reached:
        return False
    reached.add(number)
    return True


def _faults_of(thing: Any, fields: set[tuple[int, int]]) -> Iterator[Reason]:
    keys = set(thing.keys())
    if keys & _ACTING_KEYS or (_name(thing, "/S") in _ACTIONS and _name(thing, "/Type") != "/StructElem"):
        yield Reason("ACTIVE_CONTENT", "the file holds scripts or actions")
    if keys & _LAYER_KEYS or _name(thing, "/Type") in {"/OCG", "/OCMD"}:
        yield Reason("LAYERS", "the file holds layers, which can be switched on and off")
    if _refers_outside(thing, keys):
        yield Reason("EXTERNAL_REFERENCE", "the file refers to content outside of itself")
    kind = _name(thing, "/Subtype")
    plain = thing.objgen in fields if kind == "/Widget" else kind == "/Link" and "/AP" not in keys
    if not plain and (_name(thing, "/Type") == "/Annot" or {"/Rect", "/Subtype"} <= keys):
        yield Reason("ANNOTATIONS", "the pages hold annotations other than plain links and the fields to sign")


def _name(thing: Any, key: str) -> str:
    value = thing.get(key)
    return str(value) if isinstance(value, pikepdf.Name) else ""


def _refers_outside(thing: Any, keys: set[str]) -> bool:
    if isinstance(thing, pikepdf.Stream):
        return bool(keys & {"/F", "/FFilter", "/Ref", "/OPI"}) or _name(thing, "/Subtype") == "/PS"
    if _name(thing, "/S") == "/URI" and not str(thing.get("/URI", "")).startswith(_LINK_SCHEMES):
        return True
    return _name(thing, "/Type") in {"/Filespec", "/F"} and "/EF" not in keys
