"""Invented records of reports, for tests of what is done with many."""

import dataclasses
import hashlib
from decimal import Decimal

from reportgen.issued import (
    AreaRecord,
    Examined,
    FindingRecord,
    LocationRecord,
    NonconformanceRecord,
    PersonRecord,
    ReportRecord,
    ScatterRecord,
    SurfaceRecord,
)
from reportgen.verification import Reason, Signer, Step, Verification
from reportgen.verification.verdict import End
from reportgen.words.told import told, told_json


def report(place=1, revision=0, *, date=None, areas=(), surfaces=(), **more):
    number = more.pop("number", f"HM-1-IR-{place:03d}")
    given = {
        "contract": "HM-1",
        "contract_name": "Hollin Mere sluice",
        "client": "Mere Trust",
        "contractor": "Blasters",
        "body": "Inspectors",
        "number_pattern": "HM-1-IR-###",
        "number": number,
        "revision": revision,
        "date": date or f"2026-03-{place:02d}",
        "issued_at": f"2026-03-{place:02d}T18:{revision:02d}:00Z",
        "status": "issue",
        "generator": "reportgen 0.1.0",
        "inspector": "N. Hoxley",
        "verdict": "conforms",
        "supersedes_revision": None,
        "supersedes_sha256": None,
        "supersedes_reason": None,
        "day_sha256": f"day of {number} {revision}",
        "earlier": (),
        "minimum": Decimal("2.5"),
        "maximum": Decimal("4.5"),
        "unit": "mil",
        "areas": tuple(areas),
        "surfaces": tuple(surfaces),
        "scatter": (ScatterRecord("G-1", "mil", 12, "1/50", Decimal("0.1")),),
        "may_revise": (PersonRecord("N. Hoxley", "Inspectors"), PersonRecord("C. Olleague", "Inspectors")),
    }
    return ReportRecord(**{**given, **more})


def area(name="A", *values, decision="release", **more):
    locations = tuple(
        LocationRecord(str(n), Decimal(value), "conforms", (Decimal(value),), "pot A", "grit")
        for n, value in enumerate(values, start=1)
    )
    given = AreaRecord(
        name, "gate", "Gate", f"part {name}", "conforms", decision, "mil", len(values), None, None, None, locations
    )
    return dataclasses.replace(given, **more)


def surface(name, readings, *, gauge="T1", coated=None):
    values = tuple(Decimal(text) for text in readings.split())
    return SurfaceRecord(name, "pot A", "grit", coated, gauge, "mil", values)


def nonconformance(name="NC-1", status="open", **more):
    given = NonconformanceRecord(
        name, "A", ("profile-below-minimum",), "too low", "rework", "eng", status, "HM-1-IR-001"
    )
    return dataclasses.replace(given, **more)


def finding(code, where="A", observed="seen"):
    return FindingRecord(code, "nonconformance", told_json(told("in-its-own-words", words=observed)), where)


def examined(
    record, *, failed=False, doubts=(), by="N. Hoxley", body="Inspectors", content=None, countersigned=False, until=None
):
    """The examination of a file of that record; ``content`` stands for its bytes, ``doubts`` are names of reasons.

    ``countersigned``: by another person too, whom the doubts are about; a text is who that is.
    ``until``: when it ceases to hold.
    """
    alone = hashlib.sha256((content or repr((record, doubts, by))).encode()).hexdigest()
    who = countersigned if isinstance(countersigned, str) else "C. Other"
    digest = hashlib.sha256(f"{alone} {who}".encode()).hexdigest() if countersigned else alone
    reasons = tuple(Reason(name, "undecided") for name in doubts)
    reasons = (Reason("HASH_FAILURE", "altered"),) if failed else reasons
    status = "failed" if failed else "indeterminate" if doubts else "passed"
    steps = tuple(Step(n, status, reasons) if n == 5 else Step(n, "passed") for n in range(1, 12))
    signer = Signer(
        "Inspector", "inspector", f"{by}, {body}", "Root", f"AA:BB:{by}", "root", "2026-03-01T18:00:00+00:00", None,
        None, "not checked", "RSA", demonstration=False, chain="trusted", doubts=() if countersigned else tuple(doubts),
        left_sha256=alone,
    )  # fmt: skip
    second = dataclasses.replace(
        signer, field=f"Countersigner of {who}", subject=f"{who}, Inspectors", fingerprint="CC", doubts=tuple(doubts),
        left_sha256=digest,
    )  # fmt: skip
    signers = (signer, second) if countersigned else (signer,)
    ends = (End("proof", until),) if until else ()
    return Examined(Verification(digest, 1000, "2026-04-01T00:00:00+00:00", steps, signers, ends=ends), record)
