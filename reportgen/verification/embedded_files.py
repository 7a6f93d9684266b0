"""Steps 7 and 8: the files inside a report are all there and as recorded, and evaluating them again gives the same."""

from __future__ import annotations

import hashlib
import json
import zlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.errors import MachineError, ProgramError, ReportgenError
from reportgen.formats import (
    EVALUATION_NAME,
    MANIFEST_NAME,
    RELATIONSHIPS,
    Manifest,
    OtherReleaseError,
    by_path,
    counters,
    differences,
    read_manifest,
    readings_table,
    require_whole_characters,
)
from reportgen.formats.manifest import FORMAT
from reportgen.verification.pageread import ContentError
from reportgen.verification.verdict import Reason, Status, Step, broken_off, not_done, step_of
from reportgen.words.told import Told, broke, told, words_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from reportgen.formats import Signatory
    from reportgen.job import Job
    from reportgen.results import Evaluation
    from reportgen.verification.forbidden_content import Opened
    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import Notice, Signer

_SPECIFICATION = frozenset(f"/{key}" for key in ("Type", "F", "UF", "Desc", "AFRelationship", "EF"))
_REFUSALS = (ReportgenError, ValueError, RecursionError)
LARGEST_FILE = 64 << 20
"""Decoded bytes read of any one embedded file, and of all together."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the later steps work on: the signed bytes, the embedded files by path, their manifest.

    ``signing`` is what the first signature's revision states, ``job`` is the embedded input as it was read for step 8,
    ``results`` what it gives when it is evaluated again, each where that can be had. ``rebuilt`` says that step 10
    built the same bytes again. ``signers`` are who signed, where that could be looked at.
    """

    pdf: bytes
    files: Mapping[str, bytes]
    manifest: Manifest
    signing: Signing | None = None
    job: Job | None = None
    results: Evaluation | None = None
    rebuilt: bool = False
    signers: tuple[Signer, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """The answer of an injected check: status, a sentence per thing found, and one per thing that was not compared.

    ``same`` says that the pages, built again, are so to the byte: then they need not be read. ``notices`` are what a
    reader has to know of a file that passed.
    """

    status: Status
    sentences: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()
    same: bool = False
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True, slots=True)
class Recomputed:
    """What follows from the embedded input: results, these as canonical JSON, who is to sign, the contract's place.

    ``number``, ``revision`` and ``date`` are those of the day file, ``replaces`` the revision and the reason that it
    states, ``began`` is when its shift did (aware). The results follow by the rules and in the format that the report
    names; there are none where a later release knows these alone. ``notices`` say what has changed since, ``ahead``
    which times in the day file lie after the moment of issue. ``job`` is what was evaluated.
    """

    results: Evaluation | None
    evaluation: bytes
    signatories: tuple[Signatory, ...]
    site: str
    number: str
    revision: int
    date: str
    replaces: tuple[int, str] | None
    began: datetime
    notices: tuple[Notice, ...] = ()
    job: Job | None = None
    ahead: tuple[str, ...] = ()


if TYPE_CHECKING:
    Check = Callable[[Evidence], Outcome]
    Recompute = Callable[[Mapping[str, bytes]], Recomputed]


def attachments(pdf: pikepdf.Pdf, *, most_nodes: int) -> dict[str, Any]:
    """Return the file specifications by name, the tree of embedded files walked breadth first, nothing unpacked.

    ``ValueError`` with one sentence for a name used twice or a tree of more than ``most_nodes`` nodes.
    """
    waiting = [pdf.Root.get("/Names", pikepdf.Dictionary()).get("/EmbeddedFiles", pikepdf.Dictionary())]
    found: dict[str, Any] = {}
    for visited, node in enumerate(waiting):
        if visited > most_nodes:
            raise ValueError(told("files-without-end"))
        names = list(node.get("/Names", ()))
        for name, specification in zip(map(str, names[::2]), names[1::2], strict=True):
            if name in found:
                raise ValueError(told("file-name-twice"))
            found[name] = specification
        waiting += list(node.get("/Kids", ()))
    return found


def embedded_files(pdf: pikepdf.Pdf) -> dict[str, bytes]:
    """Return name and decoded content of each embedded file, under the names of their attachments.

    ``ValueError`` with one sentence for a name used twice, a file without content or with two, or more than 64 MiB in
    all.
    """
    files: dict[str, bytes] = {}
    left = LARGEST_FILE
    for name, specification in attachments(pdf, most_nodes=1000).items():
        files[name] = _decoded(content_of(name, specification), left)
        left -= len(files[name])
    return files


def content_of(name: str, specification: pikepdf.Object) -> pikepdf.Stream:
    """Return the one content that an embedded file has, whatever a viewer goes by; ``ValueError`` with one sentence."""
    streams = specification.get("/EF", pikepdf.Dictionary())
    stream = streams.get("/F")
    if not isinstance(stream, pikepdf.Stream):
        raise ValueError(told("file-without-content"))  # noqa: TRY004 - a fault of the file, not of the caller
    if {str(specification.get(key, "")) for key in ("/F", "/UF")} != {name}:
        raise ValueError(told("file-of-two-names"))
    if set(streams.keys()) != {"/F", "/UF"} or streams["/UF"].objgen != stream.objgen:
        raise ValueError(told("file-of-two-contents"))
    if set(specification.keys()) - _SPECIFICATION:
        raise ValueError(told("file-more-than-that"))
    if [str(one.get("/Type", "")) for one in (specification, stream)] != ["/Filespec", "/EmbeddedFile"]:
        raise ValueError(told("file-not-marked"))
    return stream


def _unlisted(opened: Opened, manifest: Manifest) -> list[Told]:
    """Return a sentence for each way in which a file is shown otherwise than the manifest lists it, or beside it."""
    pdf, held = opened.pdf, opened.reached.noted
    tree = attachments(pdf, most_nodes=1000)
    listed = sorted(one.objgen for one in tree.values())
    # what is written in place has no number, and could be another each time
    loose = [one for one in held if "/EF" in one and (one.objgen not in listed or one.objgen == (0, 0))]
    contents = [one for one in held if str(one.get("/Type", "")) == "/EmbeddedFile"]
    belonging = sorted(one.objgen for one in pdf.Root.get("/AF", ()))
    wrong = {
        told("belonging-not-listed"): belonging != listed,
        told("file-beside-list"): bool(loose),
        told("files-and-list", held=len(contents), listed=len(tree)): len(contents) != len(tree),
    }
    relations = {str(entry.attachment): RELATIONSHIPS.get(entry.role) for entry in manifest.embedded()}
    relations[MANIFEST_NAME] = RELATIONSHIPS["manifest"]
    stated = {name: _relation(one) for name, one in tree.items()}
    otherwise = [name for name, relation in relations.items() if relation and stated.get(name, relation) != relation]
    return [sentence for sentence, is_so in wrong.items() if is_so] + [
        told("embedded-as", file=name, stated=stated[name], expected=relations[name])
        if stated[name]
        else told("embedded-as-nothing", file=name, expected=relations[name])
        for name in otherwise
    ]


def _relation(specification: pikepdf.Object) -> str:
    """Return in what relation to the document a file is said to stand; empty where that is no name."""
    stated = specification.get("/AFRelationship")
    return str(stated)[1:] if isinstance(stated, pikepdf.Name) else ""


def _decoded(stream: pikepdf.Stream, left: int) -> bytes:
    """Return the content of a stream without filter or with Flate alone, at most ``left`` bytes of it."""
    raw = stream.read_raw_bytes()
    filters = stream.get("/Filter")
    names = [str(name) for name in filters] if isinstance(filters, pikepdf.Array) else [str(filters)] if filters else []
    if names not in ([], ["/FlateDecode"]) or "/DecodeParms" in stream:
        raise ValueError(told("file-packed-oddly"))
    if names:
        inflater = zlib.decompressobj()
        try:
            raw = inflater.decompress(raw, left + 1)
        except zlib.error as reason:
            raise ValueError(told("file-not-unpacked")) from reason
    if len(raw) > left:
        raise ValueError(told("files-too-large", most=LARGEST_FILE >> 20))
    return raw


def check_files(pdf: bytes, opened: Opened, signing: Signing | None) -> tuple[Evidence | None, Step]:
    """Return step 7, and the evidence for the later steps where there is a manifest."""
    try:
        files = embedded_files(opened.pdf)
        for name in files:
            require_whole_characters(name, files[name])
        manifest = read_manifest(files[MANIFEST_NAME]) if MANIFEST_NAME in files else None
    except OtherReleaseError as later:
        return None, step_of(7, [Reason("OTHER_RELEASE", words_of(later))])
    except ValueError as reason:
        return None, step_of(7, [Reason("EMBEDDED_FILES", words_of(reason))])
    if manifest is None:
        lacks = told("no-such-file", file=MANIFEST_NAME) if files else told("nothing-embedded")
        return None, step_of(7, [Reason("EMBEDDED_FILES", lacks)])
    wrong = [Reason("EMBEDDED_FILES", sentence) for sentence in differences(manifest, files)]
    if manifest.format <= FORMAT:
        wrong += [Reason("FILES_DISAGREE", sentence) for sentence in _unlisted(opened, manifest)]
    try:
        manifest.require_known()
    except OtherReleaseError as later:
        wrong.append(Reason("OTHER_RELEASE", words_of(later)))
    own = hashlib.sha256(files[MANIFEST_NAME]).hexdigest()
    listed = [(entry.name, entry.role, entry.sha256) for entry in manifest.files] + [(MANIFEST_NAME, "manifest", own)]
    details = [told("file-hashed", file=name, role=role, sha256=sha256) for name, role, sha256 in listed]
    return Evidence(pdf, by_path(manifest, files), manifest, signing), step_of(7, wrong, details)


def check_evaluation(evidence: Evidence, recompute: Recompute | None) -> tuple[Step, Recomputed | None]:
    """Return step 8, the embedded evaluation compared byte for byte with that of ``recompute``; and what it gave.

    Nothing is decoded and no member skipped, and which release the report names decides nothing. Only what a later
    release knows, and an input that is refused here, forged or through a defect of ours, remain open.
    """
    if recompute is None:
        return not_done(8, told("nothing-evaluates")), None
    uncounted = _uncounted(evidence)
    try:
        again = recompute(evidence.files)
    except MemoryError:
        raise
    except Exception as fault:  # noqa: BLE001 - a stranger's input that breaks the evaluation must not end the verification
        if not isinstance(fault, _REFUSALS) or isinstance(fault, MachineError | ProgramError):
            return broken_off(8, fault), None
        refused = Reason("INPUT_REFUSED", told("input-refused", why=broke(fault)))
        return step_of(8, [uncounted or refused]), None
    if uncounted:
        return step_of(8, [uncounted]), again
    embedded = evidence.files.get(EVALUATION_NAME, b"")
    if again.evaluation == embedded:
        if wrong := _other_readings(evidence, again.results):
            return step_of(8, [_differs(evidence, wrong)]), again
        same = told("evaluation-same", sha256=hashlib.sha256(embedded).hexdigest())
        return replace(step_of(8, [], [same]), notices=again.notices), again
    try:
        places = _walk(json.loads(embedded), json.loads(again.evaluation), "") or [told("differs-in-spelling")]
    except (ValueError, RecursionError):
        places = [told("differs-no-json")]
    return step_of(8, [_differs(evidence, told("evaluation-differs", places=tuple(places[:5])))]), again


def _other_readings(evidence: Evidence, results: Evaluation | None) -> Told | None:
    """Return what is wrong with the table of readings, where the report has one; nothing where it follows."""
    name = next((entry.name for entry in evidence.manifest.files if entry.role == "readings"), None)
    if name is None or results is None or evidence.files.get(name) == readings_table(results):
        return None
    return told("readings-otherwise", file=name)


def _uncounted(evidence: Evidence) -> Reason | None:
    """Return why the evaluation cannot be compared: it counts by what is not known, or its manifest by another."""
    listed = evidence.manifest
    try:
        named = counters(evidence.files.get(EVALUATION_NAME, b""))
        if listed.format > FORMAT or named.rules_edition == listed.rules_edition:
            named.require_known(listed.generator)
            return None
    except OtherReleaseError as later:
        return Reason("OTHER_RELEASE", words_of(later))
    except ValueError as fault:
        return _differs(evidence, words_of(fault))
    stated, own = listed.rules_edition, named.rules_edition
    sentence = told("editions-disagree", file=MANIFEST_NAME, edition=stated, other=EVALUATION_NAME, own=own)
    return Reason("EVALUATION_DIFFERS", sentence)


def _differs(evidence: Evidence, sentence: Told) -> Reason:
    """Return a failure, or a doubt where a list of a later format may name its files in another way."""
    listed = evidence.manifest
    if listed.format <= FORMAT:
        return Reason("EVALUATION_DIFFERS", sentence)
    later = OtherReleaseError(told("format-of", number=listed.format, file=MANIFEST_NAME))
    return Reason("OTHER_RELEASE", told("differs-in-later", what=sentence, why=words_of(later)))


def _walk(left: Any, right: Any, path: str) -> list[str]:
    """Return the paths at which two JSON values differ."""
    if isinstance(left, dict) and isinstance(right, dict):
        keys = sorted(left.keys() | right.keys())
        return [place for key in keys for place in _walk(left.get(key), right.get(key), f"{path}.{key}".lstrip("."))]
    if isinstance(left, list) and isinstance(right, list) and len(left) == len(right):
        pairs = enumerate(zip(left, right, strict=True))
        return [place for index, (one, other) in pairs for place in _walk(one, other, f"{path}[{index}]")]
    return [] if left == right else [path]


def check_standing(evidence: Evidence | None, check: Check | None) -> Step:
    """Return step 12: whether a later revision stands in the place of the report, where that can be told."""
    if check is None or evidence is None:
        return not_done(12, told("no-register-nor-files"))
    try:
        outcome = check(evidence)
    except MemoryError:
        raise
    except Exception as fault:  # noqa: BLE001 - as above
        return broken_off(12, fault)
    if outcome.status == "not done":
        return not_done(12, *outcome.sentences)
    return Step(12, outcome.status, (), outcome.sentences)


def check_injected(
    number: int, evidence: Evidence | None, check: Check | None, *, name: str, absent: str
) -> tuple[Step, bool]:
    """Return one of steps 9 to 11 from its injected check; ``name`` is the reason when it fails, ``absent`` the
    code of what is told where there is no check.

    And whether the pages were built again to the byte.
    """
    if check is None:
        return not_done(number, told(absent)), False
    if evidence is None:
        return not_done(number, told("no-files-to-compare")), False
    try:
        outcome = check(evidence)
    except MemoryError:
        raise
    except ContentError as damaged:
        outcome = Outcome("failed", (words_of(damaged),))
    except Exception as fault:  # noqa: BLE001 - as above
        return broken_off(number, fault), False
    if outcome.status == "passed":
        step = step_of(number, [], outcome.sentences)
        return replace(step, unproven=outcome.unproven, notices=outcome.notices), outcome.same
    if outcome.status == "not done":
        return not_done(number, *outcome.sentences), False
    reason = name if outcome.status == "failed" else "OTHER_RELEASE"
    found = outcome.sentences or (told("no-agreement"),)
    return step_of(number, [Reason(reason, sentence) for sentence in found]), False
