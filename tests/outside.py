"""Programs that come with neither Python nor the project: present, skipped with the reason, or missed loudly in CI."""

import os
import shutil

import pytest


def needs_program(name: str) -> pytest.MarkDecorator:
    """Mark a test that runs an outside program: skipped with its reason where that is absent, an error when CI=true."""
    absent = shutil.which(name) is None
    if absent and os.environ.get("CI") == "true":
        raise RuntimeError(f"CI=true and {name} is not installed: a skip would hide the tests that need it")
    return pytest.mark.skipif(absent, reason=f"{name} is not installed")
