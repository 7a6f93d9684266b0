"""pyHanko without its network client, which costs more to import than all our own code and is never used here.

What goes over the network, an RFC 3161 timestamp, goes through the standard library, where its limits can be seen.
Verification asks nobody.
"""

from __future__ import annotations

import sys
from contextlib import contextmanager
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

_CLIENT = "aiohttp"


class _Refused(Exception):  # noqa: N818 - stands for classes of every kind, errors among them
    """A class of the client as far as annotations and ``except`` need one; nothing can be made of it."""

    def __init__(self, *_: Any, **__: Any) -> None:
        raise RuntimeError("the network client of pyHanko is not loaded")


class _Placeholder(ModuleType):
    """Stands for the client while pyHanko is imported."""

    def __getattr__(self, name: str) -> type[_Refused]:
        if name.startswith("__"):
            raise AttributeError(name)
        return _Refused


@contextmanager
def network_client_left_out() -> Iterator[None]:
    """Import pyHanko inside: it finds a placeholder for its client; where the real one is loaded, it stays."""
    if _CLIENT in sys.modules:
        yield
        return
    sys.modules[_CLIENT] = _Placeholder(_CLIENT)
    try:
        yield
    finally:
        del sys.modules[_CLIENT]
