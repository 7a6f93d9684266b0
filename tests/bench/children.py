"""Cost of a child's start as a ratio to a bare fork of the same process: ``python -m tests.bench.children``.

The opener has loaded what a verification needs, as it has for every file of an audit.
"""

import os
from functools import partial

from reportgen import sandbox
from reportgen.pipeline.rebuilding import load_for_rebuilding
from reportgen.sandbox import confinement, opener
from tests.bench.measuring import by_turns, noise, warm

CHILDREN = 20
RUNS = 15


def forked(work):
    """Fork a process that does ``work``, and wait for its end."""
    child = os.fork()
    if child == 0:
        work()
        os._exit(0)
    os.waitpid(child, 0)


def answered():
    """A child of the opener that has nothing to read: asked, limited, confined, answering, ended."""
    sandbox.confined(bytes, "nothing", load=load_for_rebuilding)


def main():
    """Print each way to begin a child beside the bare one."""
    load_for_rebuilding()
    answered()
    places = confinement.own_files()
    ways = {
        "fork alone": lambda: None,
        "fork, limits": partial(opener.limit, opener.Limits()),
        "fork, confined": partial(confinement.confine, places[:0]),
    }
    measures = {
        name: lambda work=work: warm(lambda: [forked(work) for _ in range(CHILDREN)]) for name, work in ways.items()
    }
    measures["child of the opener"] = lambda: warm(lambda: [answered() for _ in range(CHILDREN)])
    ratios, costs = by_turns(measures, "fork alone", RUNS)
    print(f"fork alone: {noise(costs['fork alone'])} for {CHILDREN}")
    for name, ratio in ratios.items():
        print(f"{name:<20} clock {ratio.wall:5.2f} ({ratio.low:.1f} to {ratio.high:.1f}) x a fork alone")
    print("confined" if sandbox.is_confined() else "not confined on this system")


if __name__ == "__main__":
    main()
