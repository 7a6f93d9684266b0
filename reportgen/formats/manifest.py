"""The list of files embedded in a report: name, SHA-256 and role of each, written with them and checked by strangers.

Written as canonical JSON: UTF-8, keys sorted, no spaces, no line end::

    {"day": "2026-03-02.yaml", "files": [{"attachment": ..., "name": ..., "role": ..., "sha256": ...}], "format": 1,
     "generator": ..., "rules_edition": 1}

``name`` is the path that the job files name; ``attachment`` is the name under which the file is embedded, which any
viewer and any system can save: without folders. A list of a later format, or with a role that is not known here, is
read as far as its hashes go.
"""

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import PurePosixPath
from typing import Any, Final, Literal, get_args

from reportgen.errors import ToldError
from reportgen.formats.canonical import FormatSpan, canonical_json, not_in
from reportgen.formats.releases import OtherReleaseError, is_later
from reportgen.results.facts import Value
from reportgen.rules.editions import RULES_EDITION
from reportgen.words.told import Told, told

MANIFEST_NAME = "manifest.json"
EVALUATION_NAME = "evaluation.json"
ISSUE_NAME = "issue.json"
README_NAME = "README.txt"
FORMAT = 1
SPANS: Final[Mapping[str, FormatSpan]] = {}
"""Members that are not in every format, as ``ManifestEntry.size``."""

# what Windows refuses in a name: these characters, a dot or space at its end, and names of devices before the first dot
_UNSAFE = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f-\x9f]|[. ]+\Z|\A +')
_DEVICE = re.compile(r"(?:con|prn|aux|nul|(?:com|lpt)[\d¹²³]|conin\$|conout\$)(?:\.|\Z)", re.IGNORECASE)

Role = Literal[
    "day",
    "project",
    "csv",
    "photo-hash",
    "evaluation",
    "issue",
    "earlier-day",
    "earlier-project",
    "earlier-basis",
    "readings",
    "readme",
    "slip",
]
ROLES: tuple[Role, ...] = get_args(Role)
Relationship = Literal["Source", "Data", "Supplement"]
RELATIONSHIPS: Final[Mapping[str, Relationship]] = {
    **dict.fromkeys(("day", "project", "csv", "earlier-day", "earlier-project", "earlier-basis", "slip"), "Source"),
    **dict.fromkeys(("evaluation", "issue", "readings", "manifest"), "Data"),
    "readme": "Supplement",
}
"""What a file is to the pages, in the words of ISO 19005-3, by its role; the manifest's own is no role of its list."""
_EMBEDDED = frozenset(ROLES) - {"photo-hash"}
_MADE = frozenset({"evaluation", "issue", "readings", "readme"})


class ManifestEntry(Value):
    """One file: relative POSIX path, SHA-256 as 64 lower-case hexadecimal digits, role, name of the attachment.

    A ``photo-hash`` is the hash of an original photo (or logo); that file itself is not embedded and has no
    ``attachment``. ``issue`` is how and when the report was issued: time, status, template, and the register's head
    before it. A ``role`` that is none of ``ROLES`` is one of a later release.
    """

    name: str
    sha256: str
    role: str
    attachment: str | None = None


class Manifest(Value):
    """All embedded files of one report, the program that wrote it, the name of its day file, and what it counts by."""

    generator: str
    day: str
    files: tuple[ManifestEntry, ...]
    rules_edition: int = RULES_EDITION
    format: int = FORMAT

    def embedded(self) -> tuple[ManifestEntry, ...]:
        """Return the entries whose bytes must be in the report: all but the hashes of photos."""
        return tuple(entry for entry in self.files if entry.attachment or entry.role in _EMBEDDED)

    def inputs(self) -> dict[str, str]:
        """Return the SHA-256 of what the report was made from, by name: all but what the program wrote."""
        return {entry.name: entry.sha256 for entry in self.files if entry.role not in _MADE}

    def require_known(self) -> None:
        """Raise ``OtherReleaseError`` where the format or a role is that of a later release."""
        if self.format > FORMAT:
            raise OtherReleaseError(told("format-of", number=self.format, file=MANIFEST_NAME), self.generator)
        for entry in self.files:
            if entry.role not in ROLES:
                raise OtherReleaseError(told("role-of", role=entry.role[:40], file=entry.name), self.generator)


def entry_of(name: str, content: bytes | str, role: Role) -> ManifestEntry:
    """The entry for a file of these bytes or of this SHA-256; ``ValueError`` for a name that leaves its folder."""
    sha256 = content if isinstance(content, str) else hashlib.sha256(content).hexdigest()
    return ManifestEntry(_checked_name(name), sha256, role)


def with_attachments(entries: Iterable[ManifestEntry]) -> tuple[ManifestEntry, ...]:
    """Return the entries in the order of their names, each that is embedded with the name of its attachment.

    That is the name of the file itself where no other has it, in whatever case, and it can be saved on any system.
    """
    files = sorted(entries, key=lambda entry: entry.name)
    taken = {_folded(MANIFEST_NAME)}
    names: dict[str, str] = {}
    # what lies in no folder has the first claim to its name
    for entry in sorted(files, key=lambda entry: (entry.name.count("/"), entry.name)):
        if entry.role != "photo-hash":
            names[entry.name] = _free_name(PurePosixPath(entry.name).name, taken)
    return tuple(replace(entry, attachment=names.get(entry.name)) for entry in files)


def _free_name(name: str, taken: set[str]) -> str:
    """Return a name for an attachment that is not among the ``taken``, and note it there.

    >>> taken = set()
    >>> [_free_name(name, taken) for name in ("a.csv", "A.csv", "nul.csv", "1: a?.csv")]
    ['a.csv', 'A-2.csv', '_nul.csv', '1_ a_.csv']
    """
    safe = _UNSAFE.sub("_", unicodedata.normalize("NFC", name))
    safe = f"_{safe}" if _DEVICE.match(safe) else safe
    stem, dot, suffix = safe.rpartition(".") if "." in safe[1:] else (safe, "", "")
    free, count = safe, 1
    while _folded(free) in taken:
        count += 1
        free = f"{stem}-{count}{dot}{suffix}"
    taken.add(_folded(free))
    return free


def _folded(name: str) -> str:
    """Return what two names have in common that some file systems hold for one."""
    return unicodedata.normalize("NFC", name).casefold()


def build_manifest(entries: Iterable[ManifestEntry], *, generator: str, day: str) -> bytes:
    """Return the manifest as canonical JSON, entries in the order of their names.

    Raises ``ValueError`` when a name is used twice, or when it has not exactly one project, day and evaluation file.
    """
    manifest = _checked(Manifest(generator, day, with_attachments(entries)))
    return canonical_json(manifest, not_in(FORMAT, SPANS))


def read_manifest(data: bytes) -> Manifest:
    """Return the manifest in ``data``; ``ValueError`` with one sentence for anything that is not one.

    Of one of a later format the files with their hashes are read; ``OtherReleaseError`` where even that cannot be.
    """
    try:
        plain = json.loads(data.decode("utf-8"), object_pairs_hook=_no_duplicates)
    except (UnicodeDecodeError, RecursionError, json.JSONDecodeError) as reason:
        raise ValueError(told("manifest-no-json", file=MANIFEST_NAME)) from reason
    if isinstance(plain, dict) and is_later(plain.get("format"), FORMAT):
        return _of_a_later_format(plain)
    if not isinstance(plain, dict) or set(plain) != _FIELDS:
        raise ValueError(told("manifest-fields", file=MANIFEST_NAME, fields=tuple(sorted(_FIELDS))))
    if type(plain["format"]) is not int or plain["format"] != FORMAT:
        raise ValueError(told("manifest-format", file=MANIFEST_NAME))
    if type(plain["rules_edition"]) is not int or plain["rules_edition"] < 1:
        raise ValueError(told("manifest-edition", file=MANIFEST_NAME))
    if not isinstance(plain["files"], list):
        raise ValueError(told("manifest-no-list", file=MANIFEST_NAME))  # noqa: TRY004 - a fault of the file, not of the caller
    generator, day = _text(plain["generator"], "generator"), _text(plain["day"], "day")
    files = tuple(_read_entry(row) for row in plain["files"])
    return _checked(Manifest(generator, day, files, plain["rules_edition"]))


def _of_a_later_format(plain: dict[str, Any]) -> Manifest:
    generator = str(plain.get("generator", ""))
    try:
        files = tuple(_read_entry({name: row[name] for name in _ENTRY_FIELDS if name in row}) for row in plain["files"])
        return Manifest(generator, str(plain["day"]), files, int(plain.get("rules_edition", 0)), plain["format"])
    except (AttributeError, KeyError, TypeError, ValueError) as reason:
        raise OtherReleaseError(told("format-of", number=plain["format"], file=MANIFEST_NAME), generator) from reason


_FIELDS = frozenset({"day", "files", "format", "generator", "rules_edition"})
_ENTRY_FIELDS = frozenset({"attachment", "name", "role", "sha256"})


def differences(manifest: Manifest, attached: Mapping[str, bytes]) -> list[Told]:
    """Return one sentence for each file missing, added or altered; ``attached`` maps attachments to contents.

    Of a later format only what was altered is certain: how it lists its files is not known.
    """
    expected = {str(entry.attachment): entry for entry in manifest.embedded()}
    present = {name: content for name, content in attached.items() if name != MANIFEST_NAME}
    absent = sorted(expected[name].name for name in expected.keys() - present)
    sentences: list[Told] = []
    if manifest.format <= FORMAT:
        strange = sorted(present.keys() - expected)
        sentences += [told("listed-not-embedded", file=name) for name in absent]
        sentences += [told("embedded-not-listed", file=name) for name in strange]
    for name in sorted(expected.keys() & present):
        if hashlib.sha256(present[name]).hexdigest() != expected[name].sha256:
            sentences.append(told("hash-otherwise", file=expected[name].name))
    return sentences


def required(files: Mapping[str, bytes], name: str) -> bytes:
    """Return a file that every report embeds; ``ToldError``, a ``ValueError``, where it is not there."""
    if name not in files:
        raise ToldError(told("holds-no-file", file=name))
    return files[name]


def by_path(manifest: Manifest, attached: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the listed files by the paths that the job files name, and the manifest itself; no others."""
    pairs = ((entry.name, str(entry.attachment)) for entry in manifest.embedded())
    found = {name: attached[attachment] for name, attachment in pairs if attachment in attached}
    return found | {MANIFEST_NAME: required(attached, MANIFEST_NAME)}


def _no_duplicates(pairs: list[tuple[str, object]]) -> dict[str, object]:
    if len({key for key, _ in pairs}) != len(pairs):
        raise ValueError(told("manifest-field-twice", file=MANIFEST_NAME))
    return dict(pairs)


def _read_entry(row: object) -> ManifestEntry:
    if not isinstance(row, dict) or set(row) - {"attachment"} != {"name", "sha256", "role"}:
        raise ValueError(told("manifest-entry", file=MANIFEST_NAME))
    digest, role = _text(row["sha256"], "sha256"), _text(row["role"], "role")
    if not re.fullmatch(r"[0-9a-f]{64}", digest):
        raise ValueError(told("manifest-hash", file=MANIFEST_NAME))
    attachment = _text(row["attachment"], "attachment") if "attachment" in row else None
    return ManifestEntry(_checked_name(_text(row["name"], "name")), digest, role, attachment)


def _text(value: object, field: str) -> str:
    if not isinstance(value, str):
        raise ValueError(told("manifest-no-text", file=MANIFEST_NAME, field=field))  # noqa: TRY004 - a fault of the file
    return value


def is_plain(name: str) -> bool:
    """Say whether a file can be listed by this name: a path within its folder, as every system writes it."""
    parts = PurePosixPath(name).parts
    bare = name and "\\" not in name and "\0" not in name and name == "/".join(parts) and ".." not in parts
    return bool(bare) and not name.startswith("/")


def _checked_name(name: str) -> str:
    if not is_plain(name):
        raise ValueError(told("manifest-path", file=MANIFEST_NAME))
    return name


def _checked(manifest: Manifest) -> Manifest:
    names = [entry.name for entry in manifest.files]
    attached = [entry.attachment for entry in manifest.embedded()]
    flat = all(name and name == _free_name(name, set()) for name in attached)
    once = len({_folded(str(name)) for name in (*attached, MANIFEST_NAME)}) > len(attached)
    hashed = any(entry.role == "photo-hash" and entry.attachment for entry in manifest.files)
    unsafe = ValueError(told("manifest-attachments", file=MANIFEST_NAME))
    by_role = {role: [entry.name for entry in manifest.files if entry.role == role] for role in ROLES}
    consistent = by_role["day"] == [manifest.day] and by_role["evaluation"] == [EVALUATION_NAME]
    unlike = ValueError(told("manifest-day", file=MANIFEST_NAME, other=EVALUATION_NAME))
    for kept, refusal in (
        (len(set(names)) == len(names), ValueError(told("manifest-twice", file=MANIFEST_NAME))),
        (MANIFEST_NAME not in names, ValueError(told("manifest-itself", file=MANIFEST_NAME))),
        (flat, unsafe),
        (once, unsafe),
        (not hashed, unsafe),
        (len(by_role["project"]) == 1, ValueError(told("manifest-one-project", file=MANIFEST_NAME))),
        (len(by_role["day"]) == 1, ValueError(told("manifest-one-day", file=MANIFEST_NAME))),
        (len(by_role["evaluation"]) == 1, ValueError(told("manifest-one-evaluation", file=MANIFEST_NAME))),
        (consistent, unlike),
        (len(by_role["readings"]) <= 1, ValueError(told("manifest-readings", file=MANIFEST_NAME))),
    ):
        if not kept:
            raise refusal
    return manifest
