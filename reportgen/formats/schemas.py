"""The JSON Schema of each file, as published with its format: a data file that never changes once it was released."""

from __future__ import annotations

from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen.errors import UsageError

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

NAMES: Final = ("project", "day", "evaluation", "issue", "manifest", "register-row", "submittal", "verification")
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
