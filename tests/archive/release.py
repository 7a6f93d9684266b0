"""What a release does in a process of its own.

``issue DAY FOLDER`` writes the report of a day and its forgeries, ``verify FILE...`` judges files.

Every file is signed by an authority that is trusted: whoever forges here holds a good certificate.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
from dataclasses import replace
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest import mock

from cryptography.hazmat.primitives.serialization import Encoding

from reportgen.formats import canonical_json
from reportgen.issued import Recomputation
from reportgen.job.template import Template
from reportgen.pipeline import building
from reportgen.pipeline.checking import Checked, check
from reportgen.pipeline.rebuilding import pages_rebuilt
from reportgen.rules.editions import RULES_EDITION
from reportgen.seal import seal_report
from reportgen.verification import verify_report
from reportgen.verification.pagetext import page_text_agrees
from reportgen.words.editions import WORDS_EDITION
from reportgen.words.sentences import Sentences
from tests.footbridge import INSPECTOR
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

    Edit = Callable[[dict[str, Any]], None]

AT = dt.datetime(2026, 5, 4, 18, 30, tzinfo=dt.UTC)
ROOT = "root.pem"


def _number(plain: dict[str, Any]) -> None:
    plain["salts"][0]["density"] = 1


def _finding(plain: dict[str, Any]) -> None:
    plain["findings"].pop()


def _fact(plain: dict[str, Any]) -> None:
    next(one for one in plain["findings"] if one["code"] == "salts-missing")["facts"]["count"] = 2


def _other(counter: str) -> Edit:
    def swap(plain: dict[str, Any]) -> None:
        plain[counter] = 2 if plain[counter] == 1 else 1

    return swap


FORGED: dict[str, Edit] = {
    "number": _number,
    "finding": _finding,
    "fact": _fact,
    "edition": _other("rules_edition"),
    "format": _other("format"),
}


def issue(day: Path, folder: Path) -> None:
    """Write the report of a day, and one forgery of each kind, with the root that their signer leads to."""
    folder.mkdir()
    (folder / ROOT).write_bytes(made.root().certificate.public_bytes(Encoding.PEM))
    checked = check(day, at=AT)
    _write(checked, folder / "good.pdf")
    for name, edit in FORGED.items():
        plain = json.loads(checked.canonical, parse_float=Decimal)
        edit(plain)
        forged = replace(checked, canonical=canonical_json(plain))
        _write(forged, folder / f"{name}.pdf", plain["rules_edition"])
    _write(replace(checked, canonical=checked.canonical[:-1] + b',"zone":null}'), folder / "null.pdf")
    words = 2 if WORDS_EDITION == 1 else 1
    with mock.patch.object(building, "IssueFacts", partial(building.IssueFacts, words=words)):
        _write(checked, folder / "words.pdf")
    with mock.patch.object(Sentences, "observed", return_value="nothing of note"):
        _write(checked, folder / "sentence.pdf")


def _write(checked: Checked, path: Path, edition: int = RULES_EDITION) -> None:
    whole = building.build_manifest

    def manifest(*given: Any, **more: Any) -> bytes:
        return canonical_json(json.loads(whole(*given, **more)) | {"rules_edition": edition})

    with mock.patch.object(building, "build_manifest", manifest):
        built = building.build(checked, building.Terms("issue", AT, Template()))
    own, *_ = building.signature_boxes(built)
    signer = made.identity_of(made.certify(made.named(INSPECTOR), made.ec_key(), made.root()), made.root())
    path.write_bytes(seal_report(built.pdf, signer, at=AT, location=checked.job.project.project.site, box=own))


def verify(path: Path) -> dict[str, Any]:
    """Return what is said of a file."""
    answer = verify_report(
        path.read_bytes(), at=AT + dt.timedelta(days=30), roots=[path.with_name(ROOT)], recompute=Recomputation(),
        page_text_check=page_text_agrees, rebuild_check=partial(pages_rebuilt, None),
    )  # fmt: skip
    return answer.plain()


if __name__ == "__main__":
    verb, *places = sys.argv[1:]
    if verb == "issue":
        issue(Path(places[0]), Path(places[1]))
    else:
        print(json.dumps([verify(Path(place)) for place in places]))
