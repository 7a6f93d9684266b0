"""A code explained: what it means, the rule behind it, what to do."""

import pytest

from reportgen.cli.commands.explain import explain_code
from reportgen.errors import UsageError
from reportgen.verification import REASONS
from reportgen.verification.verdict import NOTICES
from reportgen.words.verdict_names import MEANINGS


@pytest.mark.parametrize(
    ("code", "meaning"),
    [
        ("dew-point-margin", "The steel was too near to the dew point while the area was blasted or coated."),
        ("dust-above-maximum", "The dust tape shows more or coarser dust than allowed."),
    ],
)
def test_a_finding_code(code, meaning):
    facts = explain_code(code).data
    assert (facts["code"], facts["meaning"]) == (code, meaning)
    assert set(facts) == {"code", "meaning", "rule", "remedy"}
    assert explain_code(code).text.startswith(f"code:    {code}\nmeaning: {meaning[:40]}")


def test_every_name_that_verify_gives_behind_a_sentence():
    assert set(MEANINGS) == {*REASONS, *NOTICES}
    for name in MEANINGS:
        facts = explain_code(name).data
        assert facts == {"code": name, "meaning": MEANINGS[name], "weight": REASONS.get(name, "note")}
    assert "An audit calls it `register-forked` or `issued-astray`." in explain_code("REGISTER_FORKED").data["meaning"]


@pytest.mark.parametrize(
    ("text", "help_text"),
    [
        ("dew-point-margins", "did you mean `dew-point-margin`?"),
        ("dust-misses", "did you mean `dust-missing`?"),
        ("xyzzy", "a day file is explained with --area ID"),
    ],
)
def test_a_code_that_does_not_exist(text, help_text):
    with pytest.raises(UsageError, match=f"`{text}` is no code of this program") as refused:
        explain_code(text)
    assert refused.value.help_text == help_text
