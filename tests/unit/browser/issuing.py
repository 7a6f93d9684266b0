"""The small contract with its report issued, in a few lines."""

from reportgen.pipeline import issue
from reportgen.seal import load_identity, new_identity
from tests.unit.cli.conftest import NOW

PASSPHRASE = "a passphrase for tests"


def identity_in(folder):
    """Make an identity of the inspector in a folder."""
    made = new_identity(folder, name="I. Tern", organisation="Body", at=NOW, years=3, passphrase=PASSPHRASE)
    return made.signer_file


def issued_by(file, day):
    """Issue a day with an identity."""
    return issue(day, load_identity(file, PASSPHRASE), at=NOW)
