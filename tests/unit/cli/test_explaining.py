"""A code explained: what it means, the rule behind it, what to do."""

import json

import pytest

from reportgen.cli.explaining import explain_code
from reportgen.errors import UsageError


@pytest.mark.parametrize(
    ("code", "meaning"),
    [
        ("dew-point-margin", "The steel was too near to the dew point while the area was blasted or coated."),
        ("dust-above-maximum", "The dust tape shows more or coarser dust than allowed."),
    ],
)
def test_a_finding_code(code, meaning):
    facts = json.loads(explain_code(code, as_json=True))
    assert (facts["code"], facts["meaning"]) == (code, meaning)
    assert set(facts) == {"format", "code", "meaning", "rule", "remedy"}
    assert explain_code(code, as_json=False).startswith(f"code:    {code}\nmeaning: {meaning[:40]}")


@pytest.mark.parametrize(
    ("text", "help_text"),
    [
        ("dew-point-margins", "did you mean `dew-point-margin`?"),
        ("dust-misses", "did you mean `dust-missing`?"),
        ("xyzzy", "a day file is explained with --area ID"),
    ],
)
def test_a_code_that_does_not_exist(text, help_text):
    with pytest.raises(UsageError, match=f"`{text}` is neither a finding nor a message") as refused:
        explain_code(text, as_json=False)
    assert refused.value.help_text == help_text
