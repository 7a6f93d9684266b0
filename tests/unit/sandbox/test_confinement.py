"""What a child cannot do, and could without confinement; and that honest work is not hindered."""

import ctypes
import errno
import json
import os
import re
import socket
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from reportgen import sandbox
from reportgen.sandbox import confined, confinement
from tests.unit.sandbox import probes

ROOT = Path(__file__).parents[3]
HEADERS = {
    "x86_64": Path("/usr/include/x86_64-linux-gnu/asm/unistd_64.h"),
    "aarch64": Path("/usr/include/asm-generic/unistd.h"),
}


@pytest.fixture(scope="module")
def where(tmp_path_factory):
    """A file of the user's and a socket that somebody listens to; the secret is in our environment meanwhile."""
    sandbox._end_all()  # so that the next one is begun while the secret is there
    os.environ[probes.SECRET] = probes.SECRET
    folder = tmp_path_factory.mktemp("foreign")
    for name in ("diary", "diary-old"):
        (folder / name).write_text("private")
    listening = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    listening.bind(str(folder / "socket"))
    yield {"socket": str(folder / "socket"), "file": str(folder / "diary"), "home": str(Path.home())}
    listening.close()
    del os.environ[probes.SECRET]


@pytest.fixture(scope="module")
def confining():
    if not sandbox.is_confined():
        pytest.skip("this kernel cannot confine a process")


@pytest.mark.parametrize("probe", probes.PROBES, ids=[probe.__name__ for probe in probes.PROBES])
def test_a_child_is_refused(probe, where, confining):
    assert confined(partial(probes.tried, probe, where), "a.pdf") == b"PermissionError"
    assert Path(where["file"]).read_text() == "private"
    assert sorted(path.name for path in Path(where["file"]).parent.iterdir()) == ["diary", "diary-old", "socket"]


def test_without_confinement_each_would_succeed(where):
    command = [sys.executable, "-m", "tests.unit.sandbox.probes", *(where[name] for name in ("socket", "file", "home"))]
    told = json.loads(subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout)
    assert told == dict.fromkeys((probe.__name__ for probe in probes.PROBES), "open")
    for name in ("diary", "diary-old"):
        Path(where["file"]).with_name(name).write_text("private")
    Path(where["file"] + "-new").unlink()


def calls_that_come_through():
    system = ctypes.CDLL(None, use_errno=True)
    refused = {"clone3": errno.ENOSYS}
    found = []
    for name, number in confinement.refused_calls(os.uname().machine).items():
        answer = system.syscall(number, *[ctypes.c_long(-1)] * 6)
        if answer != -1 or ctypes.get_errno() != refused.get(name, errno.EPERM):
            found.append(name)
    return json.dumps(found).encode()


def test_every_call_of_the_list_is_refused(confining):
    assert json.loads(confined(calls_that_come_through, "a.pdf")) == []


@pytest.mark.parametrize("machine", HEADERS)
def test_the_numbers_of_the_calls_are_those_of_the_kernel(machine):
    if not HEADERS[machine].exists():
        pytest.skip("the headers of the kernel are not installed")
    text = HEADERS[machine].read_text()
    known = {name: int(number) for name, number in re.findall(r"#define __NR(?:3264)?_(\w+)\s+(\d+)", text)}
    ours = confinement.refused_calls(machine)
    newer = {"fchmodat2"}  # Linux 6.6; the headers may be older
    assert {name: known.get(name) for name in ours.keys() - newer} == {name: ours[name] for name in ours.keys() - newer}
    named = {row.split()[0] for row in confinement.REFUSED.split(",")}
    assert not (named - ours.keys()) & known.keys()


def reading(path):
    return path.read_bytes()


def test_a_folder_that_was_named_can_be_read(where, confining):
    folder = Path(where["file"]).parent
    work = partial(reading, folder / "diary")
    assert confined(work, "a.pdf", readable=(folder,)) == b"private"


def test_the_program_s_own_files_can_be_read():
    import reportgen

    assert confined(partial(reading, Path(reportgen.__file__)), "a.pdf").startswith(b'"""')


def test_it_is_not_confined_where_the_system_cannot(monkeypatch):
    for platform, machine in (("darwin", "x86_64"), ("linux", "riscv64")):
        monkeypatch.setattr(confinement.sys, "platform", platform)
        monkeypatch.setattr(confinement.platform, "machine", lambda machine=machine: machine)
        with pytest.raises(OSError, match="no confinement is known"):
            confinement.confine(())
