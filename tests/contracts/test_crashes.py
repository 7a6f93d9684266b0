"""A worker that ends in the middle of a test leaves evidence of how and where."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WAYS = {
    "signal": ("ctypes.string_at(0)", f"ended with {-signal.SIGSEGV}, signal {signal.SIGSEGV}", "in test_ends"),
    "too long": ("time.sleep(60)", "ended with 1;", "Timeout (0:00:01)!"),
    "killed": ("os.kill(os.getpid(), 9)", "ended with -9, signal 9; since the run began the system ended 0", ""),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_worker_that_ends_is_told_of(way, tmp_path):
    does, told, trace = WAYS[way]
    (tmp_path / "test_it.py").write_text(f"import ctypes, os, time\ndef test_ends():\n    {does}\n", encoding="utf-8")
    settings = "[pytest]\nfaulthandler_timeout = 1\nfaulthandler_exit_on_timeout = true\n"
    (tmp_path / "pytest.ini").write_text(settings, encoding="utf-8")
    run = [sys.executable, "-m", "pytest", "-n", "1", "--max-worker-restart", "0", "-p", "tests.crashes", str(tmp_path)]
    answer = subprocess.run(run, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, check=False)
    assert answer.returncode == 1
    assert told in answer.stdout
    assert trace in answer.stdout
