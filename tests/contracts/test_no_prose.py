"""No prose below the edge: what rules, formulas and results state is data, and sentences are made in `words` alone."""

import ast
import re
from pathlib import Path

import pytest

from reportgen.measurements import WORDS

ROOT = Path(__file__).parents[2] / "reportgen"
ROOMS = ("measurements", "rules", "metrology", "results", "formats", "verification")
PROSE = re.compile(r"[A-Za-z]{2,}[,;:]? +[A-Za-z]{2,}")
"""Two words."""
RAISED = re.compile(r"(Error|Exception)$")
CLOSED = {word for words in WORDS.values() for word in words}
"""Members of closed lists: their keys, not what is said of them."""
KEYS = {
    "tests of an area", "one per surface", "log of the shift",  # scopes of a kind of measurement
    "out of limits",  # part of a check
    "dew point", "wet bulb above air", "wet bulb impossible",  # what a formula refuses
    "areal density",  # what a limit of salts is
    "not done",  # status of a step
    "not named",  # role of a signer
    "own word",  # by what a certificate is bound to a person
    "checked until ",  # state of revocation, with its date
    "headline.does not conform",  # name of a sentence
    "q Q BT ET Tf Td TD Tm T* ' \" Tj TJ Do",  # operators of page content
    " BMC BDC EMC",
    "q Q cm re m l c v y h S s f F f* B B* b b* n",
}  # fmt: skip
"""Other closed lists, of the code itself."""


def texts(node):
    """Yield every text that is not a docstring, an annotation, or said by an exception."""
    for child in ast.iter_child_nodes(node):
        if not passed_over(child):
            if isinstance(child, ast.Constant) and isinstance(child.value, str):
                yield child.lineno, child.value
            yield from texts(child)


def passed_over(node):
    """Whether what a node holds is no prose of a rule: said by an exception, of a type, or to the loader's reader."""
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    if isinstance(node, ast.Call | ast.ClassDef):
        return bool(RAISED.search(_called(node) if isinstance(node, ast.Call) else node.name))
    if isinstance(node, ast.Subscript):
        return _named(node.value) in ("Literal", "Annotated")
    if isinstance(node, ast.Assign):
        return _named(node.targets[0]) == "message"
    if isinstance(node, ast.FunctionDef):
        return node.name == "differences"  # of a manifest and a file: the text of a refusal
    return isinstance(node, ast.Raise) or (isinstance(node, ast.keyword) and node.arg == "noun")


def _called(call):
    return _named(call.func)


def _named(node):
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


def prose(source):
    """Lines and texts of two words or more in a module that belong to no closed list."""
    found = ((line, text) for line, text in texts(ast.parse(source)) if PROSE.search(text))
    return [(line, text) for line, text in found if text not in CLOSED | KEYS]


@pytest.mark.parametrize("room", [room for room in ROOMS if (ROOT / room).is_dir()])
def test_no_prose_below_the_edge(room):
    found = {
        f"{path.relative_to(ROOT)}:{line}": text
        for path in sorted((ROOT / room).rglob("*.py"))
        for line, text in prose(path.read_text("utf-8"))
    }
    assert found == {}


OF_PERSONS = {
    "names.py": "what a person writes where nobody is named",
    "job/project.py": "what a person writes as a role",
}
"""Modules whose regexes hold prose, and whose prose that is; no other regex reads a sentence, least of all ours."""


def regexes(source):
    """Lines and patterns of the regexes of a module that hold two words, or that a catalogue's sentence goes into."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and _named(node.func.value) == "re":
            within = [one for argument in node.args[:1] for one in ast.walk(argument)]
            parts = [one.value for one in within if isinstance(one, ast.Constant)]
            held = [part.decode("latin-1") if isinstance(part, bytes) else str(part) for part in parts]
            if any(IN_A_REGEX.search(part) for part in held) or any(_named(one) == "escape" for one in within):
                yield node.lineno, " ".join(held)


IN_A_REGEX = re.compile(r"[A-Za-z]{3,}[,;:]?(?: |\s[+*]?)+[A-Za-z]{2,}")
ESCAPED = {
    "compared/reports.py": "what of a difference the inspector's own reason of a revision names",
    "register/numbering.py": "a report's number around its digits",
    "starter/following.py": "a report's number around its digits",
    "verification/pagetext.py": "step 9: a number, within the text of a page",
}
"""Modules that look for a given text, and for which."""


def test_no_regex_reads_a_sentence_of_ours():
    found = {
        f"{name}:{line}": pattern
        for path in sorted(ROOT.rglob("*.py"))
        if (name := path.relative_to(ROOT).as_posix()) not in OF_PERSONS | ESCAPED
        for line, pattern in regexes(path.read_text("utf-8"))
    }
    assert found == {}
    assert [name for name in OF_PERSONS | ESCAPED if not list(regexes((ROOT / name).read_text("utf-8")))] == []


def test_a_regex_over_a_sentence_would_be_found():
    assert list(regexes('re.match(r"superseded by (.+)", told)')) == [(1, "superseded by (.+)")]
    assert [line for line, _ in regexes("re.compile(re.escape(sentence))")] == [1]
    assert list(regexes(r're.compile(r"startxref\s+\d+")')) == []


def test_prose_would_be_found():
    assert prose('"""Two words."""\nx = "two words"\nraise ValueError("two words")\n') == [(2, "two words")]
    assert prose('x = f"only {n} left over"\ny = f"n = {1} left over"') == [(1, " left over"), (2, " left over")]
