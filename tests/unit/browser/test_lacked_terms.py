"""What a project file can hold and the pages cannot write yet is named in the README, field by field."""

import re
from typing import get_args

from pydantic import BaseModel

from reportgen.browser import terms_views
from reportgen.job import Project
from reportgen.measurements import MEASUREMENTS
from tests.conftest import ROOT

PAGES = re.search(
    r"Some things the pages do not have yet\.(.*?)\n## ", (ROOT / "README.md").read_text("utf-8"), re.DOTALL
)
OWN = {"format", "id"}  # of the file itself, and what a form gives


def models_in(annotation):
    """The models that an annotation holds, however deep."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [one for each in get_args(annotation) for one in models_in(each)]


def leaves(model, path=()):
    """Path and name of every field that holds a value, entries of lists by the name of the list."""
    for name, field in model.model_fields.items():
        inner = models_in(field.annotation)
        for one in inner:
            yield from leaves(one, (*path, name))
        if not inner:
            yield "/".join(path), name


def offered():
    """Place and name of what the page of the terms has a field or a form for."""
    for paths in terms_views._SHEET.values():
        for path in paths:
            yield tuple(path.partition(":")[0].rpartition("/")[::2])
    own = {path.split("/")[1] for paths in terms_views._SHEET.values() for path in paths}
    for kind in MEASUREMENTS:
        if kind.limit_key not in own:
            yield from ((f"specification/{kind.limit_key}", side.limit) for side in kind.sides)
    for key, names in terms_views._OF_LISTS.items():
        yield from ((key, name) for name in names)
    yield from (("structures", name) for name in ("name", "id", "drawing", "place"))
    yield from (("structures/areas", name) for name in ("name", "id", "size", "drawing", "place"))
    yield from (("specification/hold_points", name) for name in ("step", "before", "clause"))
    yield from (("specification/soluble_salts", "expressed_as"), ("project", "time_zone"))


def test_every_field_that_no_page_writes_is_named():
    has = set(offered())
    lacking = sorted({(path, name) for path, name in leaves(Project) if (path, name) not in has and name not in OWN})
    named = set(re.findall(r"`([a-z_]+)`", PAGES[1]))
    assert len(lacking) > 20
    missing = [one for one in lacking if one[1] not in named]
    assert not missing, missing


def test_nothing_is_said_to_lack_that_the_pages_have():
    assert "`place`" not in PAGES[1]
