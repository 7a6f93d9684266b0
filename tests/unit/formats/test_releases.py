"""What a later release wrote is never called faulty, and an earlier format comes out as it was: proved by seeds."""

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.errors import UsageError
from reportgen.formats import (
    OtherReleaseError,
    build_manifest,
    canonical_json,
    differences,
    encode,
    entry_of,
    head,
    issue_moment,
    read_issue,
    read_manifest,
)
from reportgen.formats.canonical import FormatSpan
from reportgen.formats.evaluation import counters
from reportgen.results import AreaResult, Evaluation, Place, ReportIdentity
from reportgen.results.codes.equipment import TAPE_UNCHECKED, TapeRollNamed
from reportgen.verification import Reason
from tests.unit.register import samples
from tests.unit.verification import signed_material as made
from tests.unit.verification.test_verify_answer import verified

AREA = AreaResult("A-1", "hull", "bow", "conforms", "release", "mil", 3, 3, 9, mean=Decimal("2.50"))
FOUND = TAPE_UNCHECKED.found(TapeRollNamed("x1"), Place("A-1"))
EVALUATION = Evaluation(ReportIdentity("HS-1", 0, "2026-03-02"), "conforms", (AREA,), findings=(FOUND,))


class LaterArea(AreaResult):
    """An area of the release after this one: it has a member more."""

    skewness: Decimal | None = None


LaterArea.__name__ = "AreaResult"
LATER = replace(
    EVALUATION, areas=(LaterArea(**{name: getattr(AREA, name) for name in AREA.__slots__}, skewness=Decimal("0.3")),)
)
SPANS = {"AreaResult.skewness": FormatSpan(since=2), "Finding.severity": FormatSpan(until=2)}


def test_a_member_without_a_value_is_left_out():
    plain = json.loads(encode(EVALUATION))
    assert b"null" not in encode(EVALUATION)
    assert "minimum" not in plain["areas"][0]
    assert "clause" not in plain["findings"][0]
    assert (plain["format"], plain["rules_edition"]) == (1, 1)
    with pytest.raises(TypeError, match="NoneType has no canonical form"):
        canonical_json([None])


def test_the_next_release_writes_the_format_of_this_one_to_the_byte():
    assert encode(LATER, 1, spans=SPANS) == encode(EVALUATION)
    second = json.loads(encode(LATER, 2, spans=SPANS), parse_float=Decimal)
    assert second["areas"][0]["skewness"] == Decimal("0.3")
    assert "severity" not in second["findings"][0]
    assert second["format"] == 2


def test_of_a_later_evaluation_the_head_is_read():
    later = json.loads(encode(EVALUATION)) | {"format": 2, "rules_edition": 4, "mood": {"of": "the steel"}}
    later["areas"][0] |= {"mean": "2.5 mil", "skewness": 0.3}
    found = head(json.dumps(later).encode())
    assert (found.format, found.rules_edition, found.report.number, found.verdict) == (2, 4, "HS-1", "conforms")
    assert [(area.id, area.verdict, area.decision) for area in found.areas] == [("A-1", "conforms", "release")]
    assert [one.code for one in found.findings] == ["tape-check-missing"]
    with pytest.raises(OtherReleaseError, match=r"^format 2 of evaluation\.json is not known to reportgen"):
        counters(json.dumps(later).encode()).require_known()
    with pytest.raises(OtherReleaseError, match=r"^edition 4 of the rules"):
        counters(json.dumps(later | {"format": 1}).encode()).require_known()


@pytest.mark.parametrize("data", [b"", b"[]", b'{"verdict":1}', b'{"report":{},"verdict":"conforms","areas":[]}'])
def test_what_has_no_head_is_refused(data):
    with pytest.raises(ValueError, match=r"^evaluation\.json does not say what was found$"):
        head(data)


def issue(**more):
    told = {
        "number": "HS-1", "revision": 0, "date": "2026-03-02", "issued_at": "2026-03-02T12:00:00Z", "status": "issue",
    }  # fmt: skip
    return {"issue.json": json.dumps(told | more).encode()}


def test_issue_facts_are_open_and_what_is_absent_has_its_default():
    facts = read_issue(issue(format=2, mood="good", register={"sequence": 4, "sha256": "a" * 64, "row": "x"}))
    assert (facts.words, facts.camera, facts.supersedes, facts.register.sequence) == (1, None, None, 4)
    with pytest.raises(ValueError, match="does not say in which language"):
        _ = facts.language
    with pytest.raises(OtherReleaseError, match=r"^edition 2 of the words"):
        _ = read_issue(issue(words=2, template={"language": "en"})).language
    with pytest.raises(OtherReleaseError, match=r"^format 2 of issue\.json .* use reportgen 3 or a later release$"):
        read_issue(issue(format=2, generator="reportgen 3", revision="first"))
    with pytest.raises(ValueError, match=r"^issue\.json does not say how the report was issued$"):
        read_issue(issue(revision="first"))
    assert issue_moment(issue(issued_at="2026-03-02T12:00:00")) is None


def manifest(**more):
    entries = [entry_of("p.yaml", b"p", "project"), entry_of("d.yaml", b"d", "day")]
    data = build_manifest(
        [*entries, entry_of("evaluation.json", b"{}", "evaluation")], generator="reportgen 3", day="d.yaml"
    )
    return json.loads(data) | more


def test_of_a_later_manifest_the_hashes_are_checked():
    plain = manifest(format=2, root="x")
    plain["files"][0]["size"] = 1
    plain["files"].append({"name": "model.step", "sha256": "0" * 64, "role": "drawing"})
    found = read_manifest(json.dumps(plain).encode())
    assert differences(found, {"d.yaml": b"d", "strange": b""}) == []
    assert differences(found, {"d.yaml": b"other"}) == ["d.yaml does not have the SHA-256 the manifest records"]
    with pytest.raises(OtherReleaseError, match=r"^format 2 of manifest\.json .* use reportgen 3 or a later release$"):
        found.require_known()


def test_a_role_that_is_not_known_is_a_file_with_a_hash():
    plain = manifest()
    plain["files"].append({"name": "m.txt", "attachment": "m.txt", "sha256": "0" * 64, "role": "drawing"})
    found = read_manifest(json.dumps(plain).encode())
    assert differences(found, {"d.yaml": b"d", "p.yaml": b"p", "evaluation.json": b"{}", "m.txt": b"x"}) == [
        "m.txt does not have the SHA-256 the manifest records"
    ]
    with pytest.raises(OtherReleaseError, match=r"^the role `drawing` of m\.txt is not known"):
        found.require_known()


def test_a_later_manifest_that_cannot_be_read_at_all():
    with pytest.raises(OtherReleaseError, match=r"^format 7 of"):
        read_manifest(json.dumps(manifest(format=7, files={"d.yaml": "elsewhere"})).encode())
    with pytest.raises(ValueError, match="has a format there never was"):
        read_manifest(json.dumps(manifest(format=0)).encode())


def _with_manifest(alter):
    """The answer about a genuine report whose writer, a later release, lists its files in its own way."""
    own = made.build_manifest

    def later(*entries, **more):
        return canonical_json(alter(json.loads(own(*entries, **more))))

    with made.mock.patch.object(made, "build_manifest", later):
        pdf = made.sealed(made.unsigned())
    return verified(pdf)


def test_step_7_of_a_later_release_is_not_failed():
    answer = _with_manifest(lambda plain: plain | {"format": 2, "generator": "reportgen 3"})
    assert answer.overall == "indeterminate"
    sentence = "format 2 of manifest.json is not known to reportgen 0.1.0: use reportgen 3 or a later release"
    assert answer.steps[6].reasons == (Reason("OTHER_RELEASE", sentence),)


def test_step_7_of_a_later_release_with_a_wrong_hash_is_failed():
    wrong = [{"name": "days/readings.csv", "attachment": "readings.csv", "role": "csv", "sha256": "0" * 64}]
    answer = _with_manifest(lambda plain: plain | {"format": 2, "files": wrong})
    assert answer.overall == "failed"
    assert {reason.name for reason in answer.steps[6].reasons} == {"EMBEDDED_FILES", "OTHER_RELEASE"}


def test_step_7_of_a_later_release_that_lists_otherwise_is_not_failed():
    answer = _with_manifest(lambda plain: plain | {"format": 2, "files": {}})
    assert (answer.overall, answer.steps[6].status) == ("indeterminate", "indeterminate")


def _later_rows(folder, count=2):
    """A register with two reports, the last by the release after this one."""
    samples.issue_some(folder, count)
    path = folder / "register.jsonl"
    lines = path.read_bytes().splitlines()
    for place in (2, 3):
        row = json.loads(lines[place]) | {"format": 2, "previous": samples.sha(lines[place - 1]), "mood": "good"}
        lines[place] = canonical_json(row)
    path.write_bytes(b"".join(line + b"\n" for line in lines))
    return path


def test_rows_of_a_later_format_stand_in_the_chain_and_are_not_read(tmp_path):
    from reportgen.register import check_register, read_register

    before = samples.issue_some(tmp_path / "one", 1) if (tmp_path / "one").mkdir() is None else []
    _later_rows(tmp_path)
    chain = read_register(tmp_path).chain
    assert [row.event for row in chain.rows] == ["intent", "issued", "unread", "unread"]
    assert [number for number, _ in chain.issued] == ["AB-12-001"]
    problems = check_register(tmp_path, pattern=samples.PATTERN)
    assert [(one.code, one.line, one.grave) for one in problems] == [("row-unread", 3, False), ("row-unread", 4, False)]
    assert before


def test_a_later_row_that_was_changed_is_still_found(tmp_path):
    from reportgen.register import check_register

    path = _later_rows(tmp_path)
    path.write_bytes(path.read_bytes().replace(b'"mood":"good"', b'"mood":"grim"', 1))
    (problem,) = check_register(tmp_path)
    assert (problem.code, problem.line) == ("register-changed", 4)


def test_nothing_is_issued_upon_rows_that_are_not_read(tmp_path):
    from reportgen.register import rebuild_register

    path = _later_rows(tmp_path)
    before = path.read_bytes()
    with pytest.raises(UsageError, match=r"has rows of format 2, which reportgen 0\.1\.0 cannot read"):
        samples.issue_some(tmp_path, 1, first=3)
    (witness,) = samples.witnesses_in(tmp_path)
    with pytest.raises(UsageError, match="has rows of format 2"):
        rebuild_register(tmp_path, [witness], at=samples.NOON)
    assert path.read_bytes() == before


def test_a_report_of_a_later_row_is_not_called_unregistered(tmp_path):
    from reportgen.register import contradictions, read_register

    samples.issue_some(tmp_path, 2)
    second = samples.witnesses_in(tmp_path)[1]
    (tmp_path / "register.jsonl").unlink()
    for number in (1, 2):
        (tmp_path / samples.file_of(f"AB-12-{number:03d}")).unlink()
    _later_rows(tmp_path)
    (problem,) = contradictions(read_register(tmp_path).chain, second)
    assert (problem.code, problem.grave) == ("row-unread", False)


LATER_FILES = {
    **issue(generator="reportgen 9", template={"language": "en"}),
    "evaluation.json": json.dumps(
        json.loads(encode(EVALUATION))
        | {"format": 2, "areas": [{"id": "A-1", "verdict": "conforms", "decision": "hold"}]}
    ).encode(),
    "manifest.json": json.dumps(manifest()).encode(),
}


def test_step_9_of_a_later_evaluation_or_later_words_is_not_failed():
    from reportgen.verification.pagetext import text_agrees

    outcome = text_agrees(["page"], LATER_FILES, None)
    assert (outcome.status, outcome.sentences[0][:27]) == ("indeterminate", "format 2 of evaluation.json")
    files = {"evaluation.json": encode(EVALUATION), **issue(words=2, template={"language": "en"})}
    outcome = text_agrees(["page"], files, None)
    assert (outcome.status, outcome.sentences[0][:22]) == ("indeterminate", "edition 2 of the words")


def test_step_11_of_a_later_manifest_is_not_failed():
    from reportgen.pipeline.register_agreement import register_agrees
    from reportgen.register import Chain
    from reportgen.verification import Evidence

    later = read_manifest(json.dumps(manifest(format=2)).encode())
    outcome = register_agrees(Chain(), "r.pdf", Evidence(b"", LATER_FILES, later))
    assert (outcome.status, outcome.sentences[0][:25]) == ("indeterminate", "format 2 of manifest.json")


def test_the_record_of_a_later_evaluation_holds_its_head():
    from reportgen.issued.extraction import NOT_STATED, Recomputation, record_of

    known = Recomputation()
    known.files = LATER_FILES
    record = record_of(known)
    assert (record.number, record.verdict, record.generator) == ("HS-1", "conforms", "reportgen 9")
    assert [(one.id, one.decision, one.unit, one.locations) for one in record.areas] == [
        ("A-1", "hold", NOT_STATED, ())
    ]
    assert [one.code for one in record.findings] == ["tape-check-missing"]
