"""The two processes behind the pages: one thing after another, failures as they are, and a death that is survived."""

import asyncio
import os
import signal

import pytest

from reportgen.browser.workers import Processes
from reportgen.errors import InputError, MachineError, UsageError


@pytest.fixture(scope="module")
def workers():
    both = Processes()
    yield both
    both.stop()


def test_what_is_asked_is_answered_by_another_process_each(workers):
    async def both():
        return await workers.quick(os.getpid), await workers.slow(os.getpid)

    quick, slow = asyncio.run(both())
    assert len({quick, slow, os.getpid()}) == 3


def test_a_refusal_comes_as_it_was_raised(workers):
    with pytest.raises(UsageError, match="no such") as caught:
        asyncio.run(workers.quick(refuse, "no such area"))
    assert caught.value.help_text == "name another"
    with pytest.raises(InputError):
        asyncio.run(workers.quick(refuse_input))


def test_one_that_dies_is_replaced_and_says_so(workers):
    first = asyncio.run(workers.quick(os.getpid))
    with pytest.raises(MachineError, match="ended"):
        asyncio.run(workers.quick(die))
    assert asyncio.run(workers.quick(os.getpid)) != first


def test_what_it_prints_is_no_answer(workers):
    assert asyncio.run(workers.quick(shout)) == "quiet"


def refuse(text):
    raise UsageError(text, help_text="name another")


def refuse_input():
    raise InputError([])


def die():
    os.kill(os.getpid(), signal.SIGKILL)


def shout():
    print("loud", flush=True)
    return "quiet"
