"""The reference validator on what people get: a draft, a demonstration, a countersigned report, a verification record.

Judged as PDF/A-3a and as PDF/UA-1, each by one run of Java over all files.
"""

import datetime as dt
from dataclasses import replace

import pytest

from tests.golden import sample_evaluation as sample
from tests.golden.pages import WITH_REPLICAS, report
from tests.verapdf import needs_verapdf, verapdf

AT = sample.ISSUE.at
PEOPLE = ("Edda Falk", "T. Orme")


def archived(pdf, title="Surface preparation inspection, MM-31-IR-007 · revision 0 · 2026-06-03"):
    from reportgen.archival import Metadata, make_archival

    return make_archival(pdf, metadata=Metadata(title, "MM-31-IR-007 revision 0", AT, "reportgen", "Hethe and Pike"))


def placed(box):
    """The box with its page counted from 1, as signing counts."""
    return (box[0] + 1, *box[1:])


def countersigned():
    """A report signed by the inspector and by two countersigners, as identities made on the spot."""
    from reportgen.job.template import Template
    from reportgen.layout.document import render_report
    from reportgen.layout.issue import SignerBlock
    from reportgen.seal import Countersigner, countersign, seal_report
    from reportgen.seal.authority import demo_identity

    blocks = tuple(SignerBlock(name, "engineer", "Lowfold Blastworks") for name in PEOPLE)
    issue = replace(sample.ISSUE, countersigners=blocks)
    template = Template(sections=WITH_REPLICAS)
    rendered = render_report(sample.job(2, 3), sample.evaluation(2, 3), issue, template)
    words = {"at": AT, "location": "Marrowmere"}
    roles = ("engineer", "client")
    boxes = zip(roles, PEOPLE, rendered.countersign_boxes, strict=True)
    awaited = [Countersigner(role, name, placed(box)) for role, name, box in boxes]
    inspector = demo_identity("R. Hethe", AT)
    signed = seal_report(
        archived(rendered.pdf), inspector, box=placed(rendered.signature_box), countersigners=awaited, **words
    )
    for field, name in zip(("Countersigner-1", "Countersigner-2"), PEOPLE, strict=True):
        signed = countersign(signed, demo_identity(name, AT), field, reason="seen", **words)
    return signed


def record():
    """The record of a verification of the countersigned report, as a stranger without roots gets it."""
    from reportgen.pipeline.recording import verification_record
    from reportgen.verify.verdict import Signer, Verification, not_done, step_of

    steps = tuple(step_of(number, (), ("SHA-256 " + "a" * 64,)) for number in range(1, 10))
    signer = Signer(
        "Inspector", "inspector", "R. Hethe", "Root", "AA:BB", None, AT.isoformat(), None, None, "good", "ecdsa",
        demonstration=True,
    )  # fmt: skip
    found = Verification(
        "a" * 64, 4711, dt.datetime(2026, 6, 4, tzinfo=dt.UTC).isoformat(),
        (*steps, not_done(10, "no photos"), not_done(11, "no register")), (signer,),
    )  # fmt: skip
    return verification_record(found, "report.pdf")


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("validator")
    made = {
        "draft": archived(report(2, 3, status="draft").pdf),
        "demonstration": archived(report(2, 3).pdf),
        "german": archived(
            report(2, 3, language="de").pdf,
            "Prüfung der Oberflächenvorbereitung, MM-31-IR-007 · Revision 0 · 2026-06-03",
        ),
        "countersigned": countersigned(),
        "record": record(),
    }
    paths = []
    for name, data in made.items():
        path = folder / f"{name}.pdf"
        path.write_bytes(data)
        paths.append(path)
    return paths


@needs_verapdf
@pytest.mark.parametrize("flavour", ["3a", "ua1"])
def test_reference_validator_finds_nothing(files, flavour):
    assert verapdf(files, flavour) == {path: [] for path in files}
