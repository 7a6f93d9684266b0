"""Write ``samples/fields.md``: every field of project file, day file and readings table, with an example of each.

``python -m tests.build_fields`` makes it of the schemas, which are made of the models; a test compares the two.
"""

import json
import re
from pathlib import Path

from reportgen.formats.schemas import schema_text

PAGE = Path(__file__).parents[1] / "samples" / "fields.md"
HEAD = """\
# Every field of the files

Made of the models by `python -m tests.build_fields`. A field in **bold** has to be there. A number is written with its
unit, except for readings, which are in the unit of their gauge. `reportgen schema project` and `reportgen schema day`
print the same as JSON Schema, by which an editor checks while one types. A table of readings has the columns
`location`, `spot`, `roll`, `reading` and `unit`, and may have `area` and `time`; or, wider, a column for each roll.

"""
EXAMPLES = {
    "blasted_again": "[pot A]", "reinspects": "[NCR-001]", "countersigners": "[ambleweir]", "comparator": "G",
    "thrown_away": "creased while it was lifted", "kept": "affixed", "rubbed": "fully", "grain": "uniform",
    "supersedes": "{revision: 0, reason: a reading was misread}", "template": "a4-de",
    "takes_over": "{inspector: rusketh, named_by: ambleweir, evidence: letter of 2026-07-01}",
    "walk_outs": "[{failing: 3, interval: 0.6 m, directions: [{towards: up, locations: [3N1, 3N2]}]}]",
    "directions": "[{towards: up, locations: [3N1, 3N2]}]", "no_reading": "[{location: 9, reason: behind the stay}]",
    "replicas": "[{location: 4, spot: b, thrown_away: creased}]", "id": "G-6", "name": "girder 1", "confirmed": "yes",
    "oil_free": "yes", "wet_bulb_iced": "yes", "same_replicas": "yes", "client_contact": "P. Ambleweir",
    "accreditation": "none", "make": "as on its plate", "model": "as on its plate", "uncertainty": "0.1 mil",
    "coverage_factor": "2", "shim_accuracy": "0.05 mil", "source": "reports of 2025", "constant": "5",
    "subject": "CN=A. Name,O=Body", "named_by": "ambleweir", "angle": "90 degrees", "against": "salt solution",
    "responsible": "Fenlark Blasting and Painting", "where": "sheet.pdf, page 2, row 3", "entry": "x1",
    "written": "2.?", "change": "nozzle renewed", "after": "4", "to": "S. Ollendry", "weather": "dry, then rain",
    "wind": "light, from the west", "equipment": "two pots", "agreements": "none", "deviations": "none",
    "results_from_others": "none",
    "client_data": "none", "requires": "[weather, UFGS 09972]", "exact": "yes",
    "clause": '"6.3.2"', "values": "[{location: 2, profile: 2.6 mil}]", "by": "P. Ambleweir", "asked": '"10:00"',
    "released": '"10:30"', "refused": '"10:20"', "step": "profile release", "before": "coating", "turn": "90",
    "areas": "[G-4, G-5]", "positions": "{1: web beside the stiffener}", "logo": "logo.png", "format": "1",
    "comparator_grade": "medium G", "grade": "medium", "depth": "2.4", "spot": "a", "roll": "x1", "location": "3",
}  # fmt: skip
"""Of fields that the demonstration jobs do not have, or that say another thing there."""
LONGEST = 150


def known_examples() -> dict[str, str]:
    """Return by the name of a field what it says first in the demonstration jobs, as written there."""
    from reportgen.yamlsource import parse_yaml
    from reportgen.yamlsource.daytext import flow

    found: dict[str, str] = {}
    for path in sorted((PAGE.parents[1] / "jobs").glob("*/*.yaml")):
        waiting: list[object] = [parse_yaml(path.read_bytes(), path.name).data]
        while waiting:
            one = waiting.pop(0)
            if isinstance(one, dict):
                found |= {key: flow(value) for key, value in one.items() if key not in found and value}
            waiting += one.values() if isinstance(one, dict) else one if isinstance(one, list) else []
    return {key: text for key, text in found.items() if len(text) <= LONGEST} | EXAMPLES


def page() -> str:
    """Return the reference as text."""
    return HEAD + "\n".join(_file(kind, known_examples()) for kind in ("project", "day"))


def _file(kind: str, known: dict[str, str]) -> str:
    schema = json.loads(schema_text(kind, None))
    blocks = {"": schema, **schema["$defs"]}
    used = _reached(schema, schema["$defs"])
    title = {"project": "The project file", "day": "The day file"}[kind]
    parts = [f"## {title}\n"]
    for name in ["", *sorted(used)]:
        block = blocks[name]
        if "properties" not in block:
            continue
        if name:
            parts.append(f"### {_words(name)}\n")
        if block.get("description"):
            parts.append(f"{block['description'].splitlines()[0]}\n")
        parts.append("| field | what it says | example |\n| --- | --- | --- |")
        for field, said in block["properties"].items():
            needed = field in block.get("required", ())
            parts.append(
                f"| {f'**`{field}`**' if needed else f'`{field}`'} | {_told(said)} | {_example(field, said, known)} |"
            )
        parts.append("")
    return "\n".join(parts)


def _reached(one: object, known: dict) -> set[str]:
    """Return the blocks that a part of a schema leads to."""
    found: set[str] = set()
    waiting = [one]
    while waiting:
        names = set(
            re.findall(r'"#/\$defs/(\w+)"', json.dumps({k: v for k, v in waiting.pop().items() if k != "$defs"}))
        )
        waiting += [known[name] for name in names - found]
        found |= names
    return found


def _words(name: str) -> str:
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def _blocks(said: dict) -> list[str]:
    return [_words(one) for one in dict.fromkeys(re.findall(r'"#/\$defs/(\w+)"', json.dumps(said)))]


def _told(said: dict) -> str:
    """Return what a field says, on one line of a table."""
    blocks = [f"[{one}](#{one.replace(' ', '-')})" for one in _blocks(said)]
    inside = said.get("items", said.get("additionalProperties"))
    inside = inside if isinstance(inside, dict) else {}
    choices = said.get("enum") or inside.get("enum") or []
    parts = [said.get("description", "")]
    if said.get("type") == "array":
        parts.append("a list of " + (" or ".join(blocks) or inside.get("description", "texts")))
    elif said.get("type") == "object" and inside:
        parts.append("by name: " + (" or ".join(blocks) or inside.get("description", "texts")))
    elif blocks:
        parts.append(" or ".join(blocks))
    if choices:
        parts.append(" or ".join(f"`{one}`" for one in choices))
    return "; ".join(one for one in parts if one).replace("|", "\\|")


def _example(field: str, said: dict, known: dict[str, str]) -> str:
    """Return an example as it is written in the file; of a block there are those of its own fields."""
    if _blocks(said) and field not in EXAMPLES:
        return ""
    inside = said.get("items") if isinstance(said.get("items"), dict) else said
    own = next(iter(said.get("examples") or inside.get("examples") or inside.get("enum") or []), None)
    text = known.get(field, "")
    if own is not None and (field not in known or not re.search(inside.get("pattern", ""), text.strip('"'))):
        text = f"[{own}]" if said.get("type") == "array" else str(own)
    if inside.get("enum") and text.strip("[]") not in map(str, inside["enum"]):
        text = str(inside["enum"][0])
    return f"`{field}: {text or own}`".replace("|", "\\|")


def main() -> None:
    """Write the page anew."""
    PAGE.write_text(page(), "utf-8")
    print(f"{PAGE.name}: {PAGE.read_text('utf-8').count(chr(10))} lines")


if __name__ == "__main__":
    main()
