"""Files that are whole or of no use: a template, shipped or of one's own, and what other rooms read in that way."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from reportgen.diagnostics import closest
from reportgen.errors import InputError, UsageError
from reportgen.job import Model, validated
from reportgen.job.template import Template
from reportgen.loader.collected import Collected
from reportgen.loader.paths import UnreadableFileError, read_under
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

TEMPLATE_LIMIT: Final = 256 * 1024
_SUFFIX: Final = ".yaml"
M = TypeVar("M", bound=Model)


def load_template(name: str | Path) -> Template:
    """Load a template: a shipped one by its name, such as ``a4-en``; an own one by a path that ends in ``.yaml``.

    Raises:
        UsageError: when there is no template of that name, or the path cannot be read.
        InputError: when the file is not a template; with every diagnostic.
    """
    text = str(name)
    if isinstance(name, Path) or text.endswith(_SUFFIX) or "/" in text:
        path = Path(text)
        try:
            return whole(Template, read_under(path.parent, path.name, TEMPLATE_LIMIT), text)
        except UnreadableFileError as failure:
            raise UsageError(f"template: {failure.message}", help_text=failure.help_text) from failure
    shipped = {item.name.removesuffix(_SUFFIX): item for item in _folder().iterdir() if item.name.endswith(_SUFFIX)}
    if text not in shipped:
        meant, listed = closest(text, sorted(shipped)), ", ".join(f"`{each}`" for each in sorted(shipped))
        known = f"use one of {listed}, or a path that ends in `.yaml`"
        raise UsageError(f"there is no template `{text}`", help_text=f"did you mean `{meant}`?" if meant else known)
    return whole(Template, shipped[text].read_bytes(), f"templates/{text}{_SUFFIX}")


def _folder() -> Traversable:
    """Folder of the shipped templates: in an installed package, or beside the package in a checkout."""
    packaged = resources.files("reportgen").joinpath("templates")
    return packaged if packaged.is_dir() else Path(__file__).parents[2] / "templates"


def whole(model: type[M], data: bytes, shown: str) -> M:
    """Return what a YAML file states that is either whole or of no use; ``InputError`` with all that is wrong in it."""
    found = Collected()
    document = parse_yaml(data, shown)
    found.add(document.problems)
    outcome = validated(model, document.data)
    if not isinstance(outcome, tuple) and not found.errors:
        return outcome
    if isinstance(outcome, tuple):
        found.shape(document, outcome)
    raise InputError(found.in_order())
