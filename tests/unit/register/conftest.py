"""The tests of this folder look at what is written, not at the disk; lost power has its own model."""

import os
from collections.abc import Iterator
from unittest import mock

import pytest


@pytest.fixture(autouse=True)
def _no_waiting_for_the_disk() -> Iterator[None]:
    with mock.patch.object(os, "fsync"):
        yield
