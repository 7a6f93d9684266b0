"""What hostile code would try once it runs in the process that reads a file; each says how far it came.

``python -m tests.unit.sandbox.probes SOCKET FILE HOME`` tries them all without any confinement.
"""

import ctypes
import json
import os
import resource
import socket
import subprocess
import sys
from functools import partial
from pathlib import Path

SECRET = "REPORTGEN_SECRET_OF_A_TEST"
_TRACE_ME = 0


def network_socket(_where):
    socket.socket(socket.AF_INET, socket.SOCK_DGRAM).close()


def network_connection(_where):
    try:
        socket.create_connection(("127.0.0.1", 9), timeout=2)
    except ConnectionRefusedError:
        """Nobody listens there: it was asked."""


def connection_within_the_machine(where):
    pair = socket.socketpair(socket.AF_UNIX, socket.SOCK_DGRAM)
    pair[0].connect(where["socket"])


def users_of_the_system(_where):
    Path("/etc/passwd").read_bytes()


def file_beside(where):
    Path(where["file"]).read_bytes()


def home(where):
    os.listdir(where["home"])  # noqa: PTH208 - the call of the system is what is tried


def new_file(where):
    Path(where["file"] + "-new").write_bytes(b"x")


def change_a_file(where):
    with open(where["file"], "ab") as stream:  # noqa: PTH123 - as above
        stream.write(b"x")


def mark_a_file(where):
    Path(where["file"]).chmod(0o600)


def remove_a_file(where):
    Path(where["file"] + "-old").unlink()


def program(_where):
    subprocess.run(["/bin/true"], check=True)


def program_in_place(_where):
    os.execv("/bin/echo", ["echo", "-n", "open"])  # noqa: S606 - a shell would hide what is refused


def another_process(_where):
    if os.fork() == 0:
        os._exit(0)


def signal_to_the_parent(_where):
    os.kill(os.getppid(), 0)


def tracing(_where):
    if ctypes.CDLL(None, use_errno=True).ptrace(_TRACE_ME, 0, 0, 0) != 0:
        raise OSError(ctypes.get_errno(), "ptrace")


def limits_of_the_parent(_where):
    resource.prlimit(os.getppid(), resource.RLIMIT_NOFILE)


def environment(_where):
    known = json.dumps(dict(os.environ)).encode()
    for process in ("self", str(os.getppid())):
        try:
            known += Path(f"/proc/{process}/environ").read_bytes()
        except OSError:
            """Nothing more is known."""
    if SECRET.encode() not in known:
        raise PermissionError("it is not there")


PROBES = (
    network_socket,
    network_connection,
    connection_within_the_machine,
    users_of_the_system,
    file_beside,
    home,
    new_file,
    change_a_file,
    mark_a_file,
    remove_a_file,
    program,
    program_in_place,
    another_process,
    signal_to_the_parent,
    tracing,
    limits_of_the_parent,
    environment,
)


def tried(probe, where):
    """Return ``open``, or the kind of the error that stopped the probe."""
    try:
        probe(where)
    except Exception as stopped:  # noqa: BLE001 - whatever it is, it is the answer
        return type(stopped).__name__.encode()
    return b"open"


def in_a_process_of_its_own(work):
    """Run it in a process that was merely forked; return what that wrote."""
    reading, writing = os.pipe()
    if os.fork() == 0:
        os.dup2(writing, 1)
        os.write(1, work())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        return stream.read().decode()


if __name__ == "__main__":
    place = {"socket": sys.argv[1], "file": sys.argv[2], "home": sys.argv[3]}
    print(json.dumps({probe.__name__: in_a_process_of_its_own(partial(tried, probe, place)) for probe in PROBES}))
