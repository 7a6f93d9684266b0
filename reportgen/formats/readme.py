"""The README of a report: what is attached to it and how to check that with nothing but general tools."""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen.formats import evaluation, issue, manifest
from reportgen.formats.schemas import urn
from reportgen.loader.collected import JOB_FORMAT
from reportgen.rules.editions import RULES_EDITION
from reportgen.words.catalogue import LANGUAGE, catalogue

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reportgen.formats.manifest import ManifestEntry

_SCHEMAS: Final = (
    ("project", JOB_FORMAT),
    ("day", JOB_FORMAT),
    ("evaluation", evaluation.FORMAT),
    ("issue", issue.FORMAT),
    ("manifest", manifest.FORMAT),
)


def render_readme(
    entries: Iterable[ManifestEntry], *, language: str, generator: str, number: str, revision: int
) -> bytes:
    """Return the README of a report in its language, in English where there is none in that: UTF-8, lines end in LF.

    ``entries`` are those of the other files, with their attachments.
    """
    folder = resources.files("reportgen.formats").joinpath("data")
    text = folder.joinpath(f"readme.{language}.txt")
    if not text.is_file():
        language, text = LANGUAGE, folder.joinpath(f"readme.{LANGUAGE}.txt")
    words, files = catalogue(language), list(entries)
    listed = [f"  {one.attachment}  ({words.named('role', one.role)})" for one in files if one.attachment]
    own = (f"  {name}  ({words.named('role', role)})" for name, role in _OWN)
    filled = text.read_text("utf-8").format(
        number=number,
        revision=revision,
        generator=generator,
        rules=RULES_EDITION,
        photos=sum(one.role == "photo-hash" for one in files),
        files="\n".join([*listed, *own]),
        schemas="\n".join(f"  {urn(name, known)}" for name, known in _SCHEMAS),
    )
    return filled.encode()


_OWN: Final = ((manifest.README_NAME, "readme"), (manifest.MANIFEST_NAME, "manifest"))
