"""What a process can no longer do once it has opened a stranger's file: Landlock and a system-call filter of Linux.

By ``ctypes``, because the packages for either are pre-releases or need a library of the system. Landlock bounds what
may be opened; it lets owner, mode and times of files be changed, so the filter refuses that as well. Facts: Linux
kernel documentation, "Landlock: unprivileged access control" and "Seccomp BPF"; numbers of calls: ``asm/unistd_64.h``
(x86-64) and ``asm-generic/unistd.h`` (AArch64), with which a test compares them.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import os
import platform
import struct
import sys
import sysconfig
import zoneinfo
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

AUDIT_ARCH: Final = {"x86_64": 0xC000003E, "aarch64": 0xC00000B7}

REFUSED: Final = """
    socket 41 198, connect 42 203, bind 49 200, listen 50 201, accept 43 202, accept4 288 242, sendto 44 206,
    sendmsg 46 211, sendmmsg 307 269,
    fork 57 -, vfork 58 -, clone 56 220, clone3 435 435, execve 59 221, execveat 322 281,
    ptrace 101 117, process_vm_readv 310 270, process_vm_writev 311 271, process_madvise 440 440,
    process_mrelease 448 448, kcmp 312 272, perf_event_open 298 241, pidfd_open 434 434, pidfd_getfd 438 438,
    pidfd_send_signal 424 424, kill 62 129, tkill 200 130, tgkill 234 131, rt_sigqueueinfo 129 138,
    rt_tgsigqueueinfo 297 240,
    prlimit64 302 261, setrlimit 160 164, setpriority 141 140, ioprio_set 251 30, sched_setaffinity 203 122,
    sched_setattr 314 274, sched_setparam 142 118, sched_setscheduler 144 119, migrate_pages 256 238,
    move_pages 279 239,
    chmod 90 -, fchmod 91 52, fchmodat 268 53, fchmodat2 452 452, chown 92 -, fchown 93 55, lchown 94 -,
    fchownat 260 54, truncate 76 45, utime 132 -, utimes 235 -, futimesat 261 -, utimensat 280 88,
    setxattr 188 5, lsetxattr 189 6, fsetxattr 190 7, removexattr 197 14, lremovexattr 198 15, fremovexattr 199 16,
    mount 165 40, umount2 166 39, pivot_root 155 41, chroot 161 51, unshare 272 97, setns 308 268,
    open_by_handle_at 304 265, move_mount 429 429, open_tree 428 428, fsopen 430 430, mount_setattr 442 442,
    swapon 167 224, swapoff 168 225,
    io_uring_setup 425 425, io_uring_enter 426 426, io_uring_register 427 427, bpf 321 280, userfaultfd 323 282,
    fanotify_init 300 262, add_key 248 217, request_key 249 218, keyctl 250 219, shmget 29 194, shmat 30 196,
    msgget 68 186, semget 64 190, mq_open 240 180,
    init_module 175 105, finit_module 313 273, delete_module 176 106, kexec_load 246 104, kexec_file_load 320 294,
    reboot 169 142, settimeofday 164 170, clock_settime 227 112, clock_adjtime 305 266, adjtimex 159 171,
    sethostname 170 161, setdomainname 171 162, acct 163 89, quotactl 179 60, iopl 172 -, ioperm 173 -, syslog 103 116
"""
"""Each system call that is refused with its number on x86-64 and on AArch64: sockets, processes and programs, tracing,
signals and limits of others, marks of files, mounts, shared memory, the machine itself.
"""

# Landlock, linux/landlock.h
_CREATE_RULESET, _ADD_RULE, _RESTRICT_SELF = 444, 445, 446
_VERSION_ASKED, _PATH_BENEATH = 1, 1
_READ_FILE, _READ_DIR = 1 << 2, 1 << 3
_FIRST_RIGHTS = 13
_RIGHT_SINCE: Final = {2: 13, 3: 14, 5: 15}
"""Bit of the right to move between folders, cut files and control devices, by the version that knows it."""
_NO_TCP, _TCP_SINCE = 3, 4
_OWN_SIGNALS_AND_SOCKETS, _SCOPE_SINCE = 3, 6

# seccomp, linux/seccomp.h and linux/filter.h
_LOAD, _JUMP_EQUAL, _JUMP_AT_LEAST, _RETURN = 0x20, 0x15, 0x35, 0x06
_KILL, _ALLOW, _ERROR = 0x80000000, 0x7FFF0000, 0x00050000
_OTHER_NUMBERING = 0x40000000
"""From here on the calls of x86-64 are counted in another way."""
_PR_SET_PDEATHSIG, _PR_SET_DUMPABLE, _PR_SET_SECCOMP, _PR_SET_NO_NEW_PRIVS = 1, 4, 22, 38
_SIGKILL, _FILTER = 9, 2


def confine(readable: Iterable[Path]) -> None:
    """Bind this process, for good, to its memory, its open files and reading the program and what is ``readable``.

    It dies with its parent. Raises ``OSError`` where the system cannot, or does not let us.
    """
    if not sys.platform.startswith("linux") or platform.machine() not in AUDIT_ARCH or sys.maxsize < 1 << 32:
        raise OSError(errno.ENOSYS, "no confinement is known for this system")
    system = ctypes.CDLL(None, use_errno=True)
    _control(system, _PR_SET_PDEATHSIG, _SIGKILL)
    _control(system, _PR_SET_DUMPABLE, 0)
    _control(system, _PR_SET_NO_NEW_PRIVS, 1)
    _allow_reading(system, [*own_files(), *readable])
    _refuse_calls(system)


def own_files() -> list[Path]:
    """Return where the program reads from: its package, libraries of Python and of the system, time zones."""
    installed = {Path(sysconfig.get_path(name)) for name in ("stdlib", "platstdlib", "purelib", "platlib")}
    installed |= {Path(entry) for entry in sys.path if Path(entry).name in ("site-packages", "dist-packages")}
    system = map(Path, ("/lib", "/lib64", "/usr/lib", "/usr/lib64", "/usr/local/lib", "/etc/ld.so.cache"))
    zones = map(Path, zoneinfo.TZPATH)
    return [Path(__file__).parents[1], *sorted(installed), Path(sys.base_prefix, "lib"), *system, *zones]


def _control(system: ctypes.CDLL, option: int, value: int, more: object = None) -> None:
    zero = ctypes.c_ulong(0)
    if system.prctl(option, ctypes.c_ulong(value), more or zero, zero, zero) != 0:
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))


def _call(system: ctypes.CDLL, number: int, *given: object) -> int:
    answer: int = system.syscall(number, *given)
    if answer < 0:
        raise OSError(ctypes.get_errno(), os.strerror(ctypes.get_errno()))
    return answer


def _allow_reading(system: ctypes.CDLL, places: Iterable[Path]) -> None:
    """Deny all of files but reading in ``places``, and where the kernel can, TCP and signals to others."""
    version = _call(system, _CREATE_RULESET, None, 0, _VERSION_ASKED)
    rights = (1 << _FIRST_RIGHTS) - 1
    rights |= sum(1 << bit for since, bit in _RIGHT_SINCE.items() if version >= since)
    handled = struct.pack("=Q", rights)
    handled += struct.pack("=Q", _NO_TCP) if version >= _TCP_SINCE else b""
    handled += struct.pack("=Q", _OWN_SIGNALS_AND_SOCKETS) if version >= _SCOPE_SINCE else b""
    rules = _call(system, _CREATE_RULESET, handled, len(handled), 0)
    for place in dict.fromkeys(places):
        with contextlib.suppress(FileNotFoundError):
            opened = os.open(place, os.O_PATH | os.O_CLOEXEC)
            reading = _READ_FILE | _READ_DIR if place.is_dir() else _READ_FILE
            _call(system, _ADD_RULE, rules, _PATH_BENEATH, struct.pack("=Qi", reading, opened), 0)
            os.close(opened)
    _call(system, _RESTRICT_SELF, rules, 0)
    os.close(rules)


def _refuse_calls(system: ctypes.CDLL) -> None:
    """Have each call of ``REFUSED`` fail, whoever makes it; a call in the numbering of another machine ends us."""
    steps = [(_LOAD, 0, 0, 4), (_JUMP_EQUAL, 1, 0, AUDIT_ARCH[platform.machine()]), (_RETURN, 0, 0, _KILL)]
    steps += [(_LOAD, 0, 0, 0), (_JUMP_AT_LEAST, 0, 1, _OTHER_NUMBERING), (_RETURN, 0, 0, _ERROR | errno.ENOSYS)]
    for name, number in refused_calls(platform.machine()).items():
        # so that the C library falls back on the call before, which is refused as well
        reason = errno.ENOSYS if name == "clone3" else errno.EPERM
        steps += [(_JUMP_EQUAL, 0, 1, number), (_RETURN, 0, 0, _ERROR | reason)]
    steps.append((_RETURN, 0, 0, _ALLOW))
    program = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *step) for step in steps))

    class Filter(ctypes.Structure):
        _fields_ = (("length", ctypes.c_ushort), ("steps", ctypes.c_void_p))

    _control(system, _PR_SET_SECCOMP, _FILTER, ctypes.byref(Filter(len(steps), ctypes.addressof(program))))


def refused_calls(machine: str) -> dict[str, int]:
    """Return the calls that are refused on a kind of machine, with their numbers."""
    place = 1 + list(AUDIT_ARCH).index(machine)
    rows = (row.split() for row in REFUSED.split(","))
    return {row[0]: int(row[place]) for row in rows if row[place] != "-"}
