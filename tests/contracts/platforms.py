"""Types as Windows and macOS have them: ``python -m tests.contracts.platforms``, after ``mypy`` has checked for Linux.

Inspectors carry laptops of either kind. A call that only POSIX has is an error there, unless its module is named here
with what keeps it from being reached.
"""

import re
import subprocess
import sys

from tests.conftest import ROOT

NEVER_REACHED = {
    "win32": {
        "reportgen/sandbox/__init__.py": "an opener is asked only where `can_fork` says so",
        "reportgen/sandbox/opener.py": "forks, and bounds a process, only where it was begun as an opener",
        "reportgen/sandbox/confinement.py": "raises OSError at once on any system but Linux",
        "reportgen/audit/index_faults.py": "asks for them on POSIX alone: the rest of a function is not reached",
        "reportgen/audit/own_folder.py": "asks for the owner of a file on POSIX alone",
    },
    "darwin": {"reportgen/sandbox/confinement.py": "raises OSError at once on any system but Linux"},
}
_FAULT = re.compile(r"([^:]+\.py):\d+: error: ")


def faults(platform: str) -> list[str]:
    """Return what mypy says of the package on a platform."""
    kept = f"--cache-dir=.mypy_cache/{platform}"
    command = [sys.executable, "-m", "mypy", "--platform", platform, kept, "--no-error-summary"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if done.stderr:
        raise SystemExit(done.stderr)
    return [line for line in done.stdout.splitlines() if _FAULT.match(line)]


def unexpected(found: list[str], expected: dict[str, str]) -> list[str]:
    """Return the faults outside the modules named, and the modules named that have none."""
    files = {line: line.partition(":")[0].replace("\\", "/") for line in found}
    idle = expected.keys() - set(files.values())
    return [
        *(line for line, file in files.items() if file not in expected),
        *(f"{file}: has no fault any more, and need not be named" for file in sorted(idle)),
    ]


def main() -> None:
    """Check for each platform; say what is wrong, and end with 1 where something is."""
    wrong = [
        f"{platform}: {line}"
        for platform, expected in NEVER_REACHED.items()
        for line in unexpected(faults(platform), expected)
    ]
    sys.exit("\n".join(wrong) or None)


if __name__ == "__main__":
    main()
