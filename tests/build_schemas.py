"""Write the JSON Schemas of files that outlive a release: ``python -m tests.build_schemas``, while none is released.

Those of project and day files come from the models, the others from the dataclasses that are encoded, the codes that
can be stated and their facts. What a member means stands in ``schema_members.toml``, by class and member or by the
member alone; a member of facts that is not there is described by its name and by what its class says.
"""

import json
import re
import sys
import tomllib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from reportgen.formats import evaluation, issue, manifest, schemas
from reportgen.formats.canonical import not_in
from reportgen.issued import release_file, submittal_file
from reportgen.issued.release_file import ReleaseFile
from reportgen.issued.submittal_file import SubmittalList
from reportgen.loader.collected import JOB_FORMAT
from reportgen.measurements import CODES, MEASUREMENTS, STATEMENTS, WORDS
from reportgen.names import Pin
from reportgen.register import rows
from reportgen.results import values
from reportgen.results.facts import Facts, Word
from reportgen.results.signatories import Signatory
from reportgen.results.statements import CheckCode, Code, GapCode, TaskCode
from reportgen.verification.verdict import NOTICES, REASONS, Notice, Reason, Signer, Step, Verification
from tests.job_schemas import DIALECT, json_schema

FOLDER = Path(schemas.__file__).parent / "schemas"
MEMBERS = tomllib.loads(Path(__file__).with_name("schema_members.toml").read_text("utf-8"))
SHA256 = "^[0-9a-f]{64}$"
SPANS = {**evaluation.SPANS, **issue.SPANS, **manifest.SPANS}


class Definitions:
    """The schema of one file under construction: a definition for each dataclass that it needs."""

    def __init__(self, number: int, *, open_members: bool = False) -> None:
        self.number = number
        self.open = open_members
        self.found: dict[str, Any] = {}

    def object_of(self, kind: type, **instead: Any) -> dict[str, Any]:
        """Return the object that a dataclass is encoded as; ``instead`` are members that are encoded otherwise."""
        left_out = not_in(self.number, SPANS)
        members, required = {}, []
        hints = hints_of(kind)
        for field in fields(kind):
            if f"{kind.__name__}.{field.name}" in left_out:
                continue
            members[field.name] = described(kind, field.name) | (
                instead[field.name] if field.name in instead else self.of(hints[field.name])
            )
            if NoneType not in get_args(hints[field.name]):
                required.append(field.name)
        return {
            "description": " ".join((kind.__doc__ or "").split()),
            "type": "object",
            "properties": members,
            "required": required,
            "additionalProperties": self.open,
        }

    def refer(self, kind: type, **instead: Any) -> dict[str, Any]:
        """Return a reference to the definition of a dataclass."""
        if kind.__name__ not in self.found:
            self.found[kind.__name__] = {}  # it may hold itself
            self.found[kind.__name__] = self.object_of(kind, **instead)
        return {"$ref": f"#/$defs/{kind.__name__}"}

    def of(self, hint: Any) -> dict[str, Any]:
        """Return the schema of a value by its type."""
        origin, inner = get_origin(hint), [part for part in get_args(hint) if part is not NoneType]
        if origin in (Union, UnionType):
            return self.of(inner[0]) if len(inner) == 1 else {"anyOf": [self.of(part) for part in inner]}
        if origin is Annotated:
            return {"enum": list(WORDS[hint.__metadata__[0]])}
        if origin is Literal:
            return {"enum": list(inner)}
        if origin is tuple:
            return {"type": "array", "items": self.of(inner[0])}
        if origin is not None and issubclass(origin, dict | Mapping):
            return {"type": "object", "additionalProperties": self.of(inner[1])}
        if hint is Facts:
            return {"type": "object"}
        if is_dataclass(hint) and hint is not Word:
            return self.refer(hint)
        return dict(PLAIN[hint])


PLAIN = {
    str: {"type": "string"}, int: {"type": "integer"}, bool: {"type": "boolean"}, Decimal: {"type": "number"},
    Any: {}, Word: {"type": "string", "pattern": "^[a-z0-9]+([- ][a-z0-9]+)*$"},
}  # fmt: skip


@cache
def hints_of(kind: type) -> dict[str, Any]:
    """Return the types of the members of a dataclass; some modules import these for the type checker alone."""
    late = {"Decimal": Decimal, "Mapping": Mapping, "Signatory": Signatory, "Pin": Pin}
    return get_type_hints(kind, {**late, **vars(sys.modules[kind.__module__])}, include_extras=True)


def described(kind: type, name: str) -> dict[str, Any]:
    """Return description, unit and first format of a member; KeyError where nobody wrote what it means."""
    of_kind = MEMBERS.get(kind.__name__, {})
    told = of_kind[name] if name in of_kind else MEMBERS["any"].get(name)
    if told is None and issubclass(kind, Facts):
        told = f"{name.replace('_', ' ')}; of: {' '.join((kind.__doc__ or '').split())}"
    if told is None:
        raise KeyError(f"tests/schema_members.toml does not say what {kind.__name__}.{name} is")
    written = {"description": told} if isinstance(told, str) else dict(told)
    if re.search(r"sha256$", name) and "pattern" not in written:
        written["pattern"] = SHA256
    return written | {"since": SPANS[f"{kind.__name__}.{name}"].since if f"{kind.__name__}.{name}" in SPANS else 1}


def _evaluation() -> dict[str, Any]:
    made = Definitions(evaluation.FORMAT)
    made.refer(values.BudgetLine, source={"type": "string"})  # or the key of a citation
    for kind in (values.Finding, values.Task, values.LeftOut, values.CheckResult):
        made.refer(kind)
        made.found[kind.__name__]["allOf"] = _facts_by_code(made, kind)
    made.found["Finding"]["properties"]["code"] |= {"enum": sorted(CODES)}
    results = {kind.key: {"type": "array", "items": made.refer(kind.result)} for kind in MEASUREMENTS}
    whole = made.object_of(values.Evaluation, **results)
    whole["properties"]["rules_edition"] = MEMBERS["Evaluation"]["rules_edition"] | {"since": 1}
    whole["required"].append("rules_edition")
    return _whole("evaluation", evaluation.FORMAT, whole, made)


def _facts_by_code(made: Definitions, kind: type) -> list[dict[str, Any]]:
    """Return which facts each code has that a finding, a thing to do, a gap or a check may bear."""
    wanted = {"Finding": Code, "Task": TaskCode, "LeftOut": GapCode, "CheckResult": CheckCode}[kind.__name__]
    stated = [one for one in STATEMENTS if isinstance(one, wanted)]
    by = "kind" if wanted is CheckCode else "code"
    return [
        {
            "if": {"properties": {by: {"const": one.name}}, "required": [by, "facts"]},
            "then": {"properties": {"facts": either(made, one.kinds if wanted is Code else (one.facts,))}},
        }
        for one in sorted(stated, key=lambda one: one.name)
    ]


def either(made: Definitions, kinds: tuple[type, ...]) -> dict[str, Any]:
    """Return the schema of facts of one of several kinds."""
    found = [made.refer(kind) for kind in kinds]
    return found[0] if len(found) == 1 else {"anyOf": found}


def _issue() -> dict[str, Any]:
    made = Definitions(issue.FORMAT, open_members=True)
    return _whole("issue", issue.FORMAT, made.object_of(issue.IssueFacts), made)


def _manifest() -> dict[str, Any]:
    made = Definitions(manifest.FORMAT)
    made.refer(manifest.ManifestEntry, role={"enum": list(manifest.ROLES)})
    return _whole("manifest", manifest.FORMAT, made.object_of(manifest.Manifest), made)


def _register_row() -> dict[str, Any]:
    """A row of a report, or one that stands for lost rows: one flat object each."""
    made = Definitions(rows.FORMAT)
    row, report = made.object_of(rows.Row, report={}), made.object_of(rows.Report)
    _, lost, mark = (row["properties"].pop(name) for name in ("report", "original_sha256", "clock_back"))
    shared = ["event", "format", "previous", "sequence"]
    events = [one for one in get_args(rows.Event) if one != "rebuilt"]

    def of(events: list[str], members: dict[str, Any], required: list[str]) -> dict[str, Any]:
        event = described(rows.Row, "event") | {"enum": events}
        properties = row["properties"] | {"event": event} | members
        return {
            "type": "object",
            "properties": properties,
            "required": shared + required,
            "additionalProperties": False,
        }

    either = [
        of(events, report["properties"] | {"clock_back": mark}, [*report["required"], "clock_back"]),
        of(["rebuilt"], {"original_sha256": lost}, ["original_sha256"]),
    ]
    return _whole("register-row", rows.FORMAT, {"description": row["description"], "oneOf": either}, made)


def _submittal() -> dict[str, Any]:
    made = Definitions(submittal_file.FORMAT)
    return _whole("submittal", submittal_file.FORMAT, made.object_of(SubmittalList), made)


def _release_page() -> dict[str, Any]:
    made = Definitions(release_file.FORMAT)
    return _whole("release-page", release_file.FORMAT, made.object_of(ReleaseFile), made)


def _verification() -> dict[str, Any]:
    """The answer of ``verify --json``: as the verdict's ``plain``, and with the name of the file."""
    made = Definitions(1, open_members=True)
    made.refer(Reason, name={"enum": sorted(REASONS)})
    made.refer(Notice, name={"enum": sorted(NOTICES)})
    made.refer(Step)
    made.refer(Signer)
    for kind, member, of in (
        (Reason, "code", "string"), (Reason, "facts", "object"), (Notice, "code", "string"),
        (Notice, "facts", "object"), (Step, "told", "object"), (Signer, "told", "object"),
    ):  # fmt: skip
        made.found[kind.__name__]["properties"][member] = described(kind, member) | {"type": of}
    made.found["Step"]["properties"]["title"] = described(Step, "title") | {"type": "string"}
    whole = made.object_of(Verification, versions={"type": "object", "additionalProperties": {"type": "string"}})
    more = {
        "format": {"type": "integer"}, "overall": {"enum": ["passed", "failed", "indeterminate"]},
        "reasons": {"type": "array", "items": made.refer(Reason)},
        "notices": {"type": "array", "items": made.refer(Notice)}, "file": {"type": "string"},
        "standing": {"type": "string", "pattern": "^(unknown$|current(:|$)|superseded by )"},
        "time": {"enum": ["proven", "claimed"]}, "revocation": {"type": "string"},
        "revocation_until": {"type": "string"}, "holds_until": {"type": "string"},
    }  # fmt: skip
    whole["properties"] |= {name: described(Verification, name) | part for name, part in more.items()}
    whole["required"] += ["format", "overall", "reasons", "notices", "standing", "time", "revocation"]
    return _whole("verification", 1, whole, made)


def _whole(name: str, number: int, schema: dict[str, Any], made: Definitions) -> dict[str, Any]:
    found = {"$schema": DIALECT, "$id": schemas.urn(name, number), "title": MEMBERS["titles"][name], **schema}
    for branch in (found, *found.get("oneOf", ())):
        if "format" in branch.get("properties", {}):
            branch["properties"]["format"] |= {"const": number}
    return found | ({"$defs": dict(sorted(made.found.items()))} if made.found else {})


def _job_file(kind: Literal["project", "day", "policy"]) -> dict[str, Any]:
    schema = json_schema(kind)
    for block in (schema, *schema["$defs"].values()):
        for member in block.get("properties", {}).values():
            member["since"] = 1
    return {"$schema": DIALECT, "$id": schemas.urn(kind, JOB_FORMAT), **schema}


def generated() -> dict[Path, str]:
    """Return the text of every schema of the newest formats, by its file."""
    made = (
        _job_file("project"), _job_file("day"), _job_file("policy"), _evaluation(), _issue(), _manifest(),
        _register_row(), _submittal(), _release_page(), _verification(),
    )  # fmt: skip
    texts = {}
    for schema in made:
        *_, name, number = schema["$id"].split(":")
        texts[FOLDER / name / f"{number}.schema.json"] = json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
    return texts


def main() -> None:
    """Write them."""
    for file, text in generated().items():
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
        print(file.relative_to(FOLDER))


if __name__ == "__main__":
    main()
