"""Imported before everything else of the room: pyHanko, without the network client it never needs here."""

from reportgen.lean_import import network_client_left_out

with network_client_left_out():
    import pyhanko.sign.signers
    import pyhanko.sign.timestamps
    import pyhanko.sign.validation  # noqa: F401 - imported for its effect
