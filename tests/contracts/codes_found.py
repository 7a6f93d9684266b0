"""Every code that ``told`` is called with anywhere in the package, and the facts that it is given there."""

import ast
import functools
import re
from pathlib import Path

from reportgen.errors import BROKEN
from reportgen.words.sentences import sentences
from reportgen.words.told import GROUP

ROOT = Path(__file__).parents[2] / "reportgen"
MAKERS = {"told", "line", "told_in_sql"}
"""What makes a sentence of a code and facts: ``line`` does it in one language, ``told_in_sql`` in a row of an index."""


def texts(node):
    """Every text in a piece of code, and a pattern for each that is put together and begins with letters of its own."""
    for one in ast.walk(node):
        if isinstance(one, ast.Constant) and isinstance(one.value, str):
            yield re.escape(one.value)
        elif isinstance(one, ast.JoinedStr) and isinstance(one.values[0], ast.Constant):
            parts = (re.escape(str(part.value)) if isinstance(part, ast.Constant) else "[a-z-]+" for part in one.values)
            yield "".join(parts)


def calls(tree):
    """The calls in a module that make a sentence."""
    found = [one for one in ast.walk(tree) if isinstance(one, ast.Call) and one.args]
    return [one for one in found if isinstance(one.func, ast.Name) and one.func.id in MAKERS]


def given(call, tree):
    """Names of the facts of a call, with those of every mapping in its module where it hands one on."""
    names = {one.arg for one in call.keywords}
    return names - {None} | mapped(tree) if None in names else names


def mapped(tree):
    """Every key that is written in a mapping of a module."""
    keys = (key for one in ast.walk(tree) if isinstance(one, ast.Dict) for key in one.keys)
    return {key.value for key in keys if isinstance(key, ast.Constant)}


@functools.cache
def codes_found():
    """Names of facts by code; a code that is chosen elsewhere may name whatever any call gives."""
    known = set(sentences()._texts[GROUP])
    found, chosen, every = {f"broke-{kind}": set() for kind in BROKEN}, set(), set()
    for path in sorted(ROOT.rglob("*.py")):
        source = path.read_text("utf-8")
        if not any(one in source for one in ("reportgen.words.told", "told_in_sql")) and path.name != "told.py":
            continue
        tree = ast.parse(source)
        for call in calls(tree):
            code, names = call.args[0], given(call, tree)
            every |= names
            if isinstance(code, ast.Constant):
                found[code.value] = found.get(code.value, names) & names
        chosen |= {code for pattern in set(texts(tree)) for code in known if re.fullmatch(pattern, code)}
    return found | dict.fromkeys(chosen - found.keys(), every)


CODES_FOUND = codes_found()
