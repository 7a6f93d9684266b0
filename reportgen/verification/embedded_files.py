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
)
from reportgen.formats.manifest import FORMAT
from reportgen.verification.forbidden_content import reachable
from reportgen.verification.pageread import ContentError
from reportgen.verification.verdict import Reason, Status, Step, broken_off, not_done, step_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from reportgen.formats import Signatory
    from reportgen.results import Evaluation
    from reportgen.verification.replay import Signing
    from reportgen.verification.verdict import Notice

_SPECIFICATION = frozenset(f"/{key}" for key in ("Type", "F", "UF", "Desc", "AFRelationship", "EF"))
_REFUSALS = (ReportgenError, ValueError, RecursionError)
LARGEST_FILE = 64 << 20
"""Decoded bytes read of any one embedded file, and of all together."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the later steps work on: the signed bytes, the embedded files by path, their manifest.

    ``signing`` is what the first signature's revision states, ``results`` what the embedded input gives when it is
    evaluated again, each where that can be had.
    """

    pdf: bytes
    files: Mapping[str, bytes]
    manifest: Manifest
    signing: Signing | None = None
    results: Evaluation | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """The answer of an injected check: status, a sentence per thing found, and one per thing that was not compared."""

    status: Status
    sentences: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Recomputed:
    """What follows from the embedded input: results, these as canonical JSON, who is to sign, the contract's place.

    ``number``, ``revision`` and ``date`` are those of the day file, ``replaces`` the revision and the reason that it
    states, ``began`` is when its shift did (aware). The results follow by the rules and in the format that the report
    names; there are none where a later release knows these alone. ``notices`` say what has changed since.
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
            raise ValueError("the list of embedded files has no end")
        names = list(node.get("/Names", ()))
        for name, specification in zip(map(str, names[::2]), names[1::2], strict=True):
            if name in found:
                raise ValueError("two embedded files have the same name")
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
        streams = specification.get("/EF", pikepdf.Dictionary())
        stream = streams.get("/F")
        if not isinstance(stream, pikepdf.Stream):
            raise ValueError("an embedded file has no content")  # noqa: TRY004 - a fault of the file, not of the caller
        # whatever else a viewer may take for name or content
        if {str(specification.get(key, "")) for key in ("/F", "/UF")} != {name}:
            raise ValueError("an embedded file has two names")
        if set(streams.keys()) != {"/F", "/UF"} or streams["/UF"].objgen != stream.objgen:
            raise ValueError("an embedded file has two contents")
        if set(specification.keys()) - _SPECIFICATION:
            raise ValueError("an embedded file is more than its name, description and content")
        files[name] = _decoded(stream, left)
        left -= len(files[name])
    return files


def _unlisted(pdf: pikepdf.Pdf, manifest: Manifest) -> list[str]:
    """Return a sentence for each way in which a file is shown otherwise than the manifest lists it, or beside it."""
    tree = attachments(pdf, most_nodes=1000)
    listed = sorted(one.objgen for one in tree.values())
    held = list(reachable(pdf, set()))
    # what is written in place has no number, and could be another each time
    loose = [one for one in held if "/EF" in one and (one.objgen not in listed or one.objgen == (0, 0))]
    contents = [one for one in held if str(one.get("/Type", "")) == "/EmbeddedFile"]
    belonging = sorted(one.objgen for one in pdf.Root.get("/AF", ()))
    wrong = {
        "the files that belong to the report are not those of its list of embedded files": belonging != listed,
        "the report holds a file that its list of embedded files does not": bool(loose),
        f"the report holds {len(contents)} files, its list of embedded files {len(tree)}": len(contents) != len(tree),
    }
    relations = {str(entry.attachment): RELATIONSHIPS.get(entry.role) for entry in manifest.embedded()}
    relations[MANIFEST_NAME] = RELATIONSHIPS["manifest"]
    told = {name: str(one.get("/AFRelationship", ""))[1:] for name, one in tree.items()}
    otherwise = [name for name, relation in relations.items() if relation and told.get(name, relation) != relation]
    return [sentence for sentence, is_so in wrong.items() if is_so] + [
        f"{name} is embedded as `{told[name]}`, its role makes it `{relations[name]}`" for name in otherwise
    ]


def _decoded(stream: pikepdf.Stream, left: int) -> bytes:
    """Return the content of a stream without filter or with Flate alone, at most ``left`` bytes of it."""
    raw = stream.read_raw_bytes()
    filters = stream.get("/Filter")
    names = [str(name) for name in filters] if isinstance(filters, pikepdf.Array) else [str(filters)] if filters else []
    if names not in ([], ["/FlateDecode"]) or "/DecodeParms" in stream:
        raise ValueError("an embedded file is packed in an unusual way")
    if names:
        inflater = zlib.decompressobj()
        try:
            raw = inflater.decompress(raw, left + 1)
        except zlib.error as reason:
            raise ValueError("an embedded file cannot be unpacked") from reason
    if len(raw) > left:
        raise ValueError(f"the embedded files are larger than {LARGEST_FILE >> 20} MiB")
    return raw


def check_files(pdf: bytes, opened: pikepdf.Pdf, signing: Signing | None) -> tuple[Evidence | None, Step]:
    """Return step 7, and the evidence for the later steps where there is a manifest."""
    try:
        files = embedded_files(opened)
        manifest = read_manifest(files[MANIFEST_NAME]) if MANIFEST_NAME in files else None
    except OtherReleaseError as later:
        return None, step_of(7, [Reason("OTHER_RELEASE", str(later))])
    except ValueError as reason:
        return None, step_of(7, [Reason("EMBEDDED_FILES", str(reason))])
    if manifest is None:
        return None, step_of(7, [Reason("EMBEDDED_FILES", f"the report holds no {MANIFEST_NAME}")])
    wrong = [Reason("EMBEDDED_FILES", sentence) for sentence in differences(manifest, files)]
    if manifest.format <= FORMAT:
        wrong += [Reason("FILES_DISAGREE", sentence) for sentence in _unlisted(opened, manifest)]
    try:
        manifest.require_known()
    except OtherReleaseError as later:
        wrong.append(Reason("OTHER_RELEASE", str(later)))
    details = [f"{entry.name} ({entry.role}) SHA-256 {entry.sha256}" for entry in manifest.files]
    details.append(f"{MANIFEST_NAME} (manifest) SHA-256 {hashlib.sha256(files[MANIFEST_NAME]).hexdigest()}")
    return Evidence(pdf, by_path(manifest, files), manifest, signing), step_of(7, wrong, details)


def check_evaluation(evidence: Evidence, recompute: Recompute | None) -> tuple[Step, Recomputed | None]:
    """Return step 8, the embedded evaluation compared byte for byte with that of ``recompute``; and what it gave.

    Nothing is decoded and no member skipped, and which release the report names decides nothing. Only what a later
    release knows, and an input that is refused here, forged or through a defect of ours, remain open.
    """
    if recompute is None:
        return not_done(8, "nothing that evaluates was given"), None
    uncounted = _uncounted(evidence)
    try:
        again = recompute(evidence.files)
    except MemoryError:
        raise
    except Exception as fault:  # noqa: BLE001 - a stranger's input that breaks the evaluation must not end the verification
        if not isinstance(fault, _REFUSALS) or isinstance(fault, MachineError | ProgramError):
            return broken_off(8, fault), None
        told = f": {fault.message}" if isinstance(fault, ReportgenError) else f" ({type(fault).__name__})"
        refused = Reason("INPUT_REFUSED", f"the embedded input cannot be evaluated{told}")
        return step_of(8, [uncounted or refused]), None
    if uncounted:
        return step_of(8, [uncounted]), again
    embedded = evidence.files.get(EVALUATION_NAME, b"")
    if again.evaluation == embedded:
        same = f"evaluation SHA-256 {hashlib.sha256(embedded).hexdigest()}, the same again"
        return replace(step_of(8, [], [same]), notices=again.notices), again
    try:
        places = _walk(json.loads(embedded), json.loads(again.evaluation), "") or ["spelling"]
    except (ValueError, RecursionError):
        places = ["not JSON"]
    sentence = f"evaluating the embedded input again gives another result ({', '.join(places[:5])})"
    return step_of(8, [_differs(evidence, sentence)]), again


def _uncounted(evidence: Evidence) -> Reason | None:
    """Return why the evaluation cannot be compared: it counts by what is not known, or its manifest by another."""
    listed = evidence.manifest
    try:
        told = counters(evidence.files.get(EVALUATION_NAME, b""))
        if listed.format > FORMAT or told.rules_edition == listed.rules_edition:
            told.require_known(listed.generator)
            return None
    except OtherReleaseError as later:
        return Reason("OTHER_RELEASE", str(later))
    except ValueError as fault:
        return _differs(evidence, str(fault))
    editions = f"edition {listed.rules_edition} of the rules, {EVALUATION_NAME} edition {told.rules_edition}"
    return Reason("EVALUATION_DIFFERS", f"{MANIFEST_NAME} names {editions}")


def _differs(evidence: Evidence, sentence: str) -> Reason:
    """Return a failure, or a doubt where a list of a later format may name its files in another way."""
    listed = evidence.manifest
    if listed.format <= FORMAT:
        return Reason("EVALUATION_DIFFERS", sentence)
    return Reason("OTHER_RELEASE", f"{sentence}; {OtherReleaseError(f'format {listed.format} of {MANIFEST_NAME}')}")


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
        return not_done(12, "neither a register nor further files were given")
    try:
        outcome = check(evidence)
    except MemoryError:
        raise
    except Exception as fault:  # noqa: BLE001 - as above
        return broken_off(12, fault)
    if outcome.status == "not done":
        return not_done(12, "; ".join(outcome.sentences))
    return Step(12, outcome.status, (), outcome.sentences)


def check_injected(number: int, evidence: Evidence | None, check: Check | None, *, name: str, absent: str) -> Step:
    """Return one of steps 9 to 11 from its injected check; ``name`` is the reason when it fails."""
    if check is None:
        return not_done(number, absent)
    if evidence is None:
        return not_done(number, "there are no embedded files to compare with")
    try:
        outcome = check(evidence)
    except MemoryError:
        raise
    except ContentError as damaged:
        outcome = Outcome("failed", (str(damaged),))
    except Exception as fault:  # noqa: BLE001 - as above
        return broken_off(number, fault)
    if outcome.status == "passed":
        return replace(step_of(number, [], outcome.sentences), unproven=outcome.unproven)
    if outcome.status == "not done":
        return not_done(number, "; ".join(outcome.sentences))
    reason = name if outcome.status == "failed" else "OTHER_RELEASE"
    return step_of(number, [Reason(reason, sentence) for sentence in outcome.sentences or ("they do not agree",)])
