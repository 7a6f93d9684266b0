"""Programs that come with neither Python nor the project: present, skipped with the reason, or (in CI) missed loudly."""

import os
import shutil

import pytest


def needs_program(name: str) -> pytest.MarkDecorator:
    """Mark a test that runs an outside program: skipped where it is absent, a failure when CI=true."""
    absent = shutil.which(name) is None
    if absent and os.environ.get("CI") == "true":
        return pytest.mark.usefixtures(f"missing_program_{name.replace('-', '_')}_in_ci")
    return pytest.mark.skipif(absent, reason=f"{name} is not installed")
