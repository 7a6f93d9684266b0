"""What tells a stranger how to read the files: the JSON Schema of each, and the README of a report.

A schema is published with its format: a data file that never changes once it was released.
"""

from collections.abc import Iterable
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Final

from reportgen.errors import UsageError
from reportgen.formats import evaluation, issue, manifest
from reportgen.formats.manifest import ManifestEntry
from reportgen.rules.editions import RULES_EDITION
from reportgen.words.catalogue import LANGUAGE, catalogue

NAMES: Final = (
    "project", "day", "policy", "evaluation", "issue", "manifest", "register-row", "submittal", "release-page",
    "verification",
)  # fmt: skip
_SUFFIX: Final = ".schema.json"


def urn(name: str, number: int) -> str:
    """Return the name of a schema, which is no address.

    >>> urn("evaluation", 1)
    'urn:reportgen:schema:evaluation:1'
    """
    return f"urn:reportgen:schema:{name}:{number}"


def formats_of(name: str) -> list[int]:
    """Return the formats of a kind of file that this release knows, oldest first."""
    return sorted(int(file.name.removesuffix(_SUFFIX)) for file in _folder(name).iterdir())


def schema_text(name: str, number: int | None = None) -> str:
    """Return the JSON Schema of a kind of file as text, that of its newest format unless told otherwise.

    Raises:
        UsageError: no such kind of file, or no such format.
    """
    if name not in NAMES:
        raise UsageError(f"there is no schema of `{name}`", help_text=f"name one of {', '.join(NAMES)}")
    known = formats_of(name)
    number = known[-1] if number is None else number
    if number not in known:
        listed = ", ".join(map(str, known))
        raise UsageError(f"`{name}` has no format {number} in this release", help_text=f"there is {listed}")
    return _folder(name).joinpath(f"{number}{_SUFFIX}").read_text("utf-8")


def _folder(name: str) -> Traversable:
    return resources.files("reportgen.formats").joinpath("schemas", name)


def render_readme(
    entries: Iterable[ManifestEntry], *, language: str, generator: str, number: str, revision: int
) -> bytes:
    """Return the README of a report in its language, in English where there is none in that: UTF-8, lines end in LF.

    ``entries`` are those of the other files, with their attachments.
    """
    from reportgen.loader.collected import JOB_FORMAT  # the parser of commands has no need of the loader

    attached = {
        "project": JOB_FORMAT, "day": JOB_FORMAT, "evaluation": evaluation.FORMAT, "issue": issue.FORMAT,
        "manifest": manifest.FORMAT,
    }  # fmt: skip
    folder = resources.files("reportgen.formats").joinpath("data")
    text = folder.joinpath(f"readme.{language}.txt")
    if not text.is_file():
        language, text = LANGUAGE, folder.joinpath(f"readme.{LANGUAGE}.txt")
    words, files = catalogue(language), list(entries)
    listed = [f"  {one.attachment}  ({words.named('role', one.role)})" for one in files if one.attachment]
    own = ((manifest.README_NAME, "readme"), (manifest.MANIFEST_NAME, "manifest"))
    listed += [f"  {name}  ({words.named('role', role)})" for name, role in own]
    filled = text.read_text("utf-8").format(
        number=number,
        revision=revision,
        generator=generator,
        rules=RULES_EDITION,
        photos=sum(one.role == "photo-hash" for one in files),
        files="\n".join(listed),
        schemas="\n".join(f"  {urn(name, known)}" for name, known in attached.items()),
    )
    return filled.encode()
