"""A submittal whose reports show photos: what they show is compared with no original, and all who are told say so."""

import shutil

import pytest
from pypdf import PdfReader

from tests.build_samples import DAYS

pytestmark = pytest.mark.usefixtures("stopped_clock")
SHOWN = "- {file: gate.jpg, caption: gate after blasting, time: '10:40'}"


@pytest.mark.parametrize("photos", [True, False])
def test_what_photos_show_is_said_to_be_not_compared(run, contract, photos):
    shutil.copy(next((DAYS[0].parent / "photos").glob("*.jpg")), contract / "gate.jpg")
    day = contract / "day.yaml"
    readings = "    profile: {gauge: g1, readings"
    if photos:
        text = day.read_text("utf-8").replace(readings, f"    photos:\n      {SHOWN}\n{readings}")
        day.write_text(text, "utf-8")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    trust = ("--trust", "keys/i-tern-root.pem")
    made = run("submittal", "reports/SL-1-001.pdf", "--identity", "keys/i-tern.p12", *trust, "-o", "s.pdf")
    assert made.code == 0, made.err
    cover = PdfReader(contract / "s.pdf").pages[0].extract_text()
    answer = run("verify", "s.pdf", *trust)
    assert answer.code == 0, answer.out
    for said, what in (
        (made.out + made.err, "what the photos show was not compared, as no report holds their originals:"),
        (cover, "What the photos show was not compared, as no report holds their originals: SL-1-001 r0."),
        (answer.out, "what the pictures show was not compared, only place, size and text: SL-1-001.pdf"),
    ):
        assert (what in " ".join(said.split())) is photos, said
    with_originals = run("verify", "s.pdf", *trust, "--photos", ".")
    assert with_originals.code == 0
    assert "was not compared" not in with_originals.out
