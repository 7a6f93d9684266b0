"""Random days made from the demo contracts: what each evaluates to, for comparing two states of the code.

``python -m tests.bench.random_days OUT --days 3000`` writes a line a day; ``--against OTHER`` compares value by value.
"""

from __future__ import annotations

import argparse
import contextlib
import copy
import json
import random
import re
import shutil
import tempfile
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
_NUMBER = re.compile(r"(?<![\w.-])\d+(?:\.\d+)?(?![\w.])")
_CLOCK = re.compile(r"^\d\d:\d\d$")
_CHOICES = {
    "decision_rule": ("simple", "guarded", "banded"), "overlap_rule": ("average", "non-averaging", "single-grade"),
    "rounding": ("half-even", "half-up", "none"),
    "plan": ("per-shift-and-apparatus", "fixed"), "apparatus": ("pot 1", "pot 2"),
    "initial_condition": ("A", "B", "C", "D"), "oil": ("yes", "no"), "anvils": ("clean", "cleaned", "not checked"),
}  # fmt: skip


def _plain(path: Path) -> Any:
    return yaml.load(path.read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - it makes nothing but text


def _days() -> list[tuple[Path, Any, Any]]:
    return [
        (
            day,
            _plain(day),
            _plain(day.parent / "project.yaml"),
        )
        for day in sorted((ROOT / "jobs").glob("*/*.yaml"))
        if day.name != "project.yaml"
    ]


def _leaves(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(node, dict):
        return [leaf for key, one in node.items() for leaf in _leaves(one, (*path, key))]
    if isinstance(node, list):
        return [leaf for index, one in enumerate(node) for leaf in _leaves(one, (*path, index))]
    return [path]


def _holder(node: Any, path: tuple[Any, ...]) -> Any:
    for part in path[:-1]:
        node = node[part]
    return node


def _changed(rng: random.Random, data: Any, keep: tuple[str, ...]) -> None:
    """Change, or leave out, up to thirteen entries."""
    leaves = [leaf for leaf in _leaves(data) if not any(part in keep for part in leaf)]
    for leaf in rng.sample(leaves, min(len(leaves), rng.randrange(1, 14))):
        with contextlib.suppress(KeyError, IndexError, TypeError):  # it went with another one
            _change(rng, data, leaf)


def _change(rng: random.Random, data: Any, leaf: tuple[Any, ...]) -> None:
    holder, last = _holder(data, leaf), leaf[-1]
    text, kind = holder[last], rng.random()
    if last in _CHOICES and kind < 0.9:
        holder[last] = rng.choice(_CHOICES[last])
    elif kind < 0.12 and len(leaf) > 1:
        above = _holder(data, leaf[:-1])
        if isinstance(above, list) and isinstance(leaf[-2], int) and len(above) > 1:
            del above[leaf[-2]]
        elif isinstance(holder, dict):
            del holder[last]
    elif _CLOCK.match(text):
        minutes = (int(text[:2]) * 60 + int(text[3:]) + rng.randrange(-90, 91)) % 1440
        holder[last] = f"{minutes // 60:02}:{minutes % 60:02}"
    elif (found := _NUMBER.search(text)) and not re.match(r"\d{4}-", text):
        places = len(found[0].partition(".")[2])
        value = float(found[0]) * rng.choice((0.6, 0.85, 0.95, 1.0, 1.05, 1.2, 1.5))
        holder[last] = f"{text[: found.start()]}{value:.{places}f}{text[found.end() :]}"


def _texts(evaluation: Any) -> dict[str, Any]:
    try:
        from reportgen.words.sentences import sentences
    except ImportError:
        return {
            "findings": [
                [one.code, one.area, one.location, one.clause, one.observed, one.requirement]
                for one in evaluation.findings
            ],
            "next": [[one.area, one.what, one.reason, one.locations] for one in evaluation.measure_next],
            "left": list(evaluation.not_evaluated),
        }
    said = sentences("en")
    return {
        "findings": [
            [one.code, one.area, one.location, one.clause, said.observed(one), said.required(one)]
            for one in evaluation.findings
        ],
        "next": [[one.area, said.task(one), said.because(one), one.count] for one in evaluation.measure_next],
        "left": [said.left_out(one) for one in evaluation.not_evaluated],
    }


def _values(evaluation: Any) -> dict[str, Any]:
    """Numbers and verdicts, without sentences."""
    from reportgen.formats import plain

    whole = plain(evaluation)
    areas = [
        {key: one for key, one in area.items() if key not in {"reasons", "not_evaluated"}} for area in whole["areas"]
    ]
    kept = {
        key: whole[key]
        for key in ("report", "verdict", "conditions", "salts", "dust", "cleanliness", "comparators", "coating_times")
        if key in whole
    }
    checks = [[one["kind"], one["subject"], one.get("time"), one["verdict"]] for one in whole["checks"]]
    logged = [
        [key, one[subject], one.get("time"), one["verdict"]]
        for key, subject in (("air", "apparatus"), ("abrasive", "abrasive"))
        for one in whole.get(key, ())
    ]
    after = sum(one[0] in {"gauge", "tape"} for one in checks)
    return {**kept, "areas": areas, "checks": [*checks[:after], *logged, *checks[after:]]}


def days(count: int, seed: int = 2026) -> Any:
    """Yield name and job of ``count`` days that can be loaded."""
    from reportgen.errors import InputError
    from reportgen.loader import load_job

    rng, bases, found = random.Random(seed), _days(), 0  # noqa: S311 - a seeded simulation
    folder = Path(tempfile.mkdtemp())
    for base in {day.parent for day, _, _ in bases}:
        shutil.copytree(base, folder / base.name)
    attempt = 0
    while found < count:
        attempt += 1
        day, data, project = rng.choice(bases)
        data, project = copy.deepcopy(data), copy.deepcopy(project)
        data.pop("photos", None)
        _changed(rng, data, ("project", "number", "revision", "date", "csv", "raised_in", "supersedes"))
        if rng.random() < 0.5:
            _changed(rng, project["specification"], ("method", "edition", "document", "clause"))
        target = folder / day.parent.name
        if day.name.endswith("11.yaml") and rng.random() < 0.7:
            continue
        (target / "project.yaml").write_text(yaml.safe_dump(project, allow_unicode=True), "utf-8")
        (target / day.name).write_text(yaml.safe_dump(data, allow_unicode=True), "utf-8")
        try:
            job = load_job(target / day.name)
        except InputError:
            job = None
        (target / "project.yaml").write_bytes((day.parent / "project.yaml").read_bytes())
        (target / day.name).write_bytes(day.read_bytes())
        if job is not None:
            found += 1
            yield f"{attempt} {day.parent.name}/{day.name}", job
    shutil.rmtree(folder)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--days", type=int, default=3000)
    parser.add_argument("--against", type=Path)
    options = parser.parse_args()
    try:
        from reportgen.rules import evaluate
    except ImportError:
        from reportgen.rules import evaluate

    with options.out.open("w", encoding="utf-8") as out:
        for name, job in days(options.days):
            try:
                evaluation = evaluate(job)
                line = {"day": name, "values": _values(evaluation), "texts": _texts(evaluation)}
            except Exception as error:  # noqa: BLE001 - compared like any other outcome
                line = {"day": name, "error": f"{type(error).__name__}: {error}"}
            out.write(json.dumps(line, default=str, sort_keys=True) + "\n")
    if options.against:
        pairs = list(zip(options.against.open(encoding="utf-8"), options.out.open(encoding="utf-8"), strict=True))
        differing = [(json.loads(a), json.loads(b)) for a, b in pairs if a != b]
        print(
            f"{len(pairs)} days, {len(differing)} differ, in values "
            f"{sum(a.get('values') != b.get('values') for a, b in differing)}"
        )
        for a, b in differing[:5]:
            for part in ("error", "values", "texts"):
                if a.get(part) != b.get(part):
                    print(a["day"], part, *_first(a.get(part), b.get(part)))


def _first(a: Any, b: Any, path: str = "") -> tuple[Any, ...]:
    if isinstance(a, dict) and isinstance(b, dict):
        return next(
            (_first(a.get(k), b.get(k), f"{path}.{k}") for k in sorted(a.keys() | b.keys()) if a.get(k) != b.get(k)),
            (path,),
        )
    if isinstance(a, list) and isinstance(b, list) and len(a) == len(b):
        return next(
            (_first(x, y, f"{path}[{i}]") for i, (x, y) in enumerate(zip(a, b, strict=True)) if x != y), (path,)
        )
    return path, a, b


if __name__ == "__main__":
    main()
