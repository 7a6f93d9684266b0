"""The reference validator on what people get: a draft, a demonstration, a countersigned report, a verification record.

And on each kind of document with letters that no face has, letters of the fallback and bytes that are no text.

Judged as PDF/A-3a and as PDF/UA-1, each by one run of Java over all files.
"""

import datetime as dt
from dataclasses import replace

import pytest

from reportgen.diagnostics import printable
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
    from reportgen.pdf.signing import SignerBlock
    from reportgen.report.document import render_report
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


def record(name="report.pdf", who="R. Hethe"):
    """The record of a verification of the countersigned report, as a stranger without roots gets it."""
    from reportgen.pipeline.verifying import verification_record
    from reportgen.verification.verdict import Signer, Verification, not_done, step_of

    steps = tuple(step_of(number, (), ("SHA-256 " + "a" * 64,)) for number in range(1, 10))
    signer = Signer(
        "Inspector", "inspector", who, "Root", "AA:BB", None, AT.isoformat(), None, None, "good", "ecdsa",
        demonstration=True, chain="unknown",
    )  # fmt: skip
    found = Verification(
        "a" * 64, 4711, dt.datetime(2026, 6, 4, tzinfo=dt.UTC).isoformat(),
        (*steps, not_done(10, "no photos"), not_done(11, "no register")), (signer,),
    )  # fmt: skip
    return verification_record(found, name)


def report_with(text):
    """A report whose remarks, reasons and names hold a text."""
    from reportgen.job.template import Template
    from reportgen.report.document import render_report

    job = sample.job(2, 3)
    missed = job.day.not_inspected[0].model_copy(update={"reason": text})
    day = job.day.model_copy(update={"remarks": text, "not_inspected": [missed]})
    people = {key: one.model_copy(update={"name": f"{one.name} {text}"}) for key, one in job.project.people.items()}
    body = job.project.inspection_body.model_copy(update={"name": text})
    project = job.project.model_copy(update={"people": people, "inspection_body": body})
    issue = replace(sample.ISSUE, signer=replace(sample.ISSUE.signer, name=text))
    pdf = render_report(replace(job, day=day, project=project), sample.evaluation(2, 3), issue, Template()).pdf
    return archived(pdf)


def slip():
    """A release slip of the first area."""
    from reportgen.job.template import Template
    from reportgen.report.slip import render_slip

    return render_slip(sample.job(2, 3), sample.evaluation(2, 3), sample.ISSUE, Template(), None, "TR-1").pdf


def submittal_with(text):
    """A submittal whose reference, recipient, remarks and signer hold a text."""
    from reportgen.pdf.signing import SignerBlock
    from reportgen.submittal import Transmittal, submittal_of
    from reportgen.submittal.pages.document import render_submittal
    from tests.unit.issued import records as made

    areas, text = [made.area("A", "3.1"), made.area("B", "3.3")], printable(text)
    sent = Transmittal(AT, SignerBlock(text, text, text), "0.1.0", reference="S-1 橋 ⌀", recipient=text, remarks=text)
    content, _ = submittal_of([made.examined(made.report(1, areas=areas))], sent)
    return archived(render_submittal(content, bytes).pdf, f"Submittal of inspection reports, {content.reference}")


def audit_with(text):
    """The report of an audit of files with such names."""
    from reportgen.audit.report import render_audit
    from reportgen.audit.reportmodel import AuditPages, FileRow, ProblemGroup, ProblemRow

    rows = (FileRow(f"{text}.pdf", "failed", text),)
    groups = (ProblemGroup("file-failed", "fault", "a file is not sound", (ProblemRow(text, text, f"{text}.pdf"),)),)
    content = AuditPages(
        folder=text, verified_at=AT.isoformat(), version="0.1.0", files=1, passed=0, failed=1, indeterminate=0,
        contracts=1, reports=1, faults=1, doubts=0, rows=rows, groups=groups, states=(text,),
    )  # fmt: skip
    return archived(render_audit(content), f"Audit of inspection reports, {text}")


ANY = "Wehrbru\u0308cke 橋 ⌀12 ✓ \udcff\udcfe\u202e\U0001f642"


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
        "draft-language": archived(
            report(2, 3, language="es").pdf,
            "Inspección de la preparación de superficies, MM-31-IR-007 · revisión 0 · 2026-06-03",
        ),
        "slip": archived(slip(), "Release slip, TR-1, MM-31-IR-007 · revision 0 · 2026-06-03"),
        "countersigned": countersigned(),
        "record": record(),
        "report-any": report_with(ANY),
        "record-any": record(f"{ANY}.pdf", ANY),
        "submittal-any": submittal_with(ANY),
        "audit-any": audit_with(ANY),
    }
    paths = []
    for name, data in made.items():
        path = folder / f"{name}.pdf"
        path.write_bytes(data)
        paths.append(path)
    return paths


@needs_verapdf
def test_reference_validator_finds_nothing(files):
    assert verapdf(files, "3a", "ua1") == {path: [] for path in files}
