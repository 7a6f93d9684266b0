"""Reports that do not hold each other: the audit holds what one releases or closes against what others found.

Each case is an archive of its own. What several begin with is issued once.
"""

import datetime as dt
import json
import shutil

import pypdf
import pytest

from tests.command import run
from tests.e2e.conftest import PASSPHRASE, trusted
from tests.footbridge import (
    BODY,
    CLOSED,
    COLLEAGUE,
    CONTRACTORS,
    FIRST_BLASTING,
    INSPECTOR,
    OPEN,
    PROJECT,
    SMOOTH,
    day,
    folder,
)

FAILED, FAILED_AND_RAISED = day(1, SMOOTH), day(1, SMOOTH, raised=OPEN)
OLD = {"blasted": FIRST_BLASTING, "inspector": "sandrel"}
AGAIN = {"inspector": "sandrel"}
LATER = {"first": day(1), "second": day(2, **OLD)}
"""The first report released B-1, and the second went on upon it: of the same steel."""
LOW = "1.9, c1: 1.9"
"""Readings below the limit of the contract, and above that of a project file with laxer ones."""
ACCEPTED = (
    "  - {id: NCR-002, area: B-1, findings: [profile-below-minimum, walk-out-missing], disposition: use-as-is,"
    " description: too smooth by the former limit, decided_by: eng, status: closed, evidence: letter of 5 May}\n"
)
LAX = PROJECT.replace("minimum: 2.0 mil", "minimum: 1.0 mil")


def with_second_pot():
    """The first day, on which a second apparatus blasted the area too, and too smooth."""
    other = day(1, SMOOTH).partition("surfaces:\n")[2].replace("pot 1", "pot 2").replace("failing: 2", "failing: 5")
    for location in (1, 2, 3):
        other = other.replace(f"location: {location}", f"location: {location + 3}")
    return f"{day(1).rstrip()}\n{other}"


def primed(text, coated):
    return text.replace("    blasted:", f'    coated: "{coated}"\n    blasted:')


def sized(size, text):
    return text.replace("    blasted:", f"    cleaned: {size} m2\n    blasted:")


def walked(text):
    """What failed is bounded by places that comply on each side."""
    for way in ("up", "down", "left", "right"):
        text = text.replace(f"{way}, locations: [], no_room: yes", f"{way}, locations: [{way}1, {way}2]")
        for place in (f"{way}1", f"{way}2"):
            spots = "".join(f'        - {{location: {place}, spot: {spot}, time: "10:40", x1: 2.8}}\n' for spot in "ab")
            text = text.replace("      walk_outs:", f"{spots}      walk_outs:")
    return text


PROJECTS = {
    "lax": LAX,
    "varied": LAX.replace("document: HD-9 Part 4", "document: HD-9 Part 4 with variation 2"),
    "small": PROJECT.replace("contract: HD-9", "contract: hd-9"),
    "dashed": PROJECT.replace("contract: HD-9", "contract: HD–9"),
    "grown": PROJECT.replace("size: 12 m2}]", "size: 12 m2}, {id: B-3, name: deck, size: 9 m2}]").replace(
        "  eng: {name: E. Torrance", "  new: {name: N. Ostrey, role: inspector}\n  eng: {name: E. Torrance"
    ),
    "hired": PROJECT.replace("role: contractor's inspector, organisation: Pellworth", "role: inspector"),
    "body": PROJECT.replace(f"{{name: {BODY},", "{name: Ardley Inspection,"),
}
"""Project files of folders that have one of their own."""
CASES = {
    "closed, old steel": {"one/1": FAILED_AND_RAISED, "two/2": day(2, raised=CLOSED, reinspects=True, **OLD)},
    "released, old steel": {"one/1": FAILED, "two/2": day(2, **OLD)},
    "primed twice": {"one/1": primed(day(1), "12:00"), "two/2": primed(day(2, **OLD), "12:00")},
    "closed, blasted again": {"one/1": FAILED_AND_RAISED, "two/2": day(2, raised=CLOSED, reinspects=True, **AGAIN)},
    "released, blasted again": {"one/1": FAILED, "two/2": day(2, **AGAIN)},
    "both good": {"one/1": day(1), "two/2": day(2, **OLD)},
    "another area": {"one/1": FAILED, "two/2": day(2, area="B-2", **AGAIN)},
    "revised since": {"one/1": day(1), "one/2": day(2, **OLD), "one/3": day(1, SMOOTH, raised=OPEN, revision=1)},
    "revised since, bare": {"one/1": day(1), "one/2": day(2, **OLD), "one/3": day(1, SMOOTH, revision=1)},
    "revised since, blasted again": {"one/1": day(1), "one/2": day(2, **AGAIN), "one/3": day(1, SMOOTH, revision=1)},
    "revised since, dealt with": {
        "one/1": day(1), "one/2": day(2, **OLD), "one/3": day(1, SMOOTH, raised=OPEN, revision=1),
        "one/4": day(3, raised=CLOSED, reinspects=True),
    },
    "closed by the contractor": {
        "one/1": FAILED_AND_RAISED, "hired/2": day(2, raised=CLOSED, reinspects=True, inspector="maddock"),
    },
    "closed again": {
        "one/1": FAILED_AND_RAISED, "hired/2": day(2, raised=CLOSED, reinspects=True, inspector="maddock"),
        "one/3": day(3, raised=CLOSED, reinspects=True),
    },
    "the body stands above, closed": {
        "one/1": day(1, SMOOTH, raised=OPEN, inspector="maddock"),
        "two/2": day(2, raised=CLOSED, reinspects=True, **AGAIN),
    },
    "the body stands above, released": {"one/1": day(1, SMOOTH, inspector="maddock"), "two/2": day(2, **AGAIN)},
    "released by the contractor": {"one/1": FAILED, "hired/2": day(2, inspector="maddock")},
    "released again": {"one/1": FAILED, "hired/2": day(2, inspector="maddock"), "one/3": day(3, **AGAIN)},
    "left out of a revision": {"one/1": with_second_pot(), "one/2": day(1, revision=1)},
    "corrected by a revision": {"one/1": FAILED, "one/2": day(1, revision=1)},
    "shrunk by a revision": {"one/1": sized(8, FAILED), "one/2": sized(2, day(1, SMOOTH, revision=1))},
    "sized by a revision": {"one/1": FAILED, "one/2": sized(2, day(1, SMOOTH, revision=1))},
    "bounded by a revision": {"one/1": FAILED, "one/2": walked(day(1, SMOOTH, revision=1))},
    "better graded by a revision": {
        "one/1": FAILED.replace("observed: SSPC-SP 10", "observed: SSPC-SP 6"), "one/2": day(1, SMOOTH, revision=1),
    },
    "more of it by a revision": {"one/1": sized(2, day(1)), "one/2": sized(12, day(1, revision=1))},
    "a part is good": {
        "one/1": sized(2, FAILED_AND_RAISED), "one/2": primed(sized(4, day(2, **AGAIN)), "12:00"),
        "one/3": sized(2, day(3, raised=CLOSED, reinspects=True)),
    },
    "laxer, by a variation": {"one/1": FAILED, "varied/2": day(2, LOW, **AGAIN)},
    "laxer, accepted": {"one/1": FAILED, "lax/2": day(2, LOW, raised=ACCEPTED, **AGAIN)},
    "small letters": {"one/1": FAILED, "small/2": day(2, **OLD)},
    "another dash": {"one/1": FAILED, "dashed/2": day(2, **OLD)},
    "laxer, same area": {"one/1": FAILED, "lax/2": day(2, LOW, **AGAIN)},
    "laxer, another day and area": {"one/1": day(1), "lax/2": day(2, LOW, area="B-2", **AGAIN)},
    "laxer, same day": {"one/1": day(1), "lax/2": day(2, LOW, area="B-2", **AGAIN).replace("05-05", "05-04")},
    "laxer, of no matter": {"one/1": day(1), "lax/2": day(2, **AGAIN)},
    "people and areas gone": {"grown/1": day(1), "one/2": day(2, **AGAIN), "one/3": day(3)},
    "failed, and not named": {"one/1": FAILED, "one/2": day(2, area="B-2")},
    "good, and not named": {"one/1": day(1), "one/2": day(2, area="B-2")},
    "raised nowhere": {"one/1": day(1), "two/2": day(2, raised=CLOSED, reinspects=True, **AGAIN)},
    "raised in what is not there": {
        "two/1": day(2, raised=CLOSED.replace("HD-9-001", "P-7"), reinspects=True, **AGAIN).replace("002", "001"),
    },
    "another body": {"one/1": day(1), "body/2": day(2, **AGAIN)},
    "grown since": {"one/1": day(1), "grown/2": day(2, **AGAIN), "grown/3": day(3)},
}  # fmt: skip
"""Day files by folder and the order of their issue."""
CONTRACT = "HD-9"


def called(place, *arguments, codes=(0,)):
    """What the command says when it is called in a folder."""
    said = run(*arguments, cwd=place, env={"REPORTGEN_PASSPHRASE": PASSPHRASE, "COLUMNS": "200"})
    assert said.returncode in codes, f"exit {said.returncode}\n{said.stdout}\n{said.stderr}"
    return said.stdout, " ".join(said.stderr.split())


STATES = {"hold", "rework", "disputed", "unproven", "released in part", "not inspected", "unprimed past its time"}
"""Kinds of open items that say how an area stands."""


class Archive:
    """The cases, each made when it is first asked for: its folder, with what the audit of its reports answers."""

    def __init__(self, place, signers):
        self._place, self._signers = place, signers
        self.trust = [part for root in trusted(signers) for part in ("--trust", root)]
        self._begin = dt.datetime.now(dt.UTC) - dt.timedelta(seconds=10)
        self._contracts, self._answers = {}, {}

    def __getitem__(self, case):
        """The folder of a case; its reports are in ``reports``."""
        place = self._place / f"case-{list(CASES).index(case)}"
        if not place.exists():
            issued = {}
            for second, (where, text) in enumerate(CASES[case].items()):
                at, _, file = where.partition("/")
                issued[at] = (*issued.get(at, (PROJECTS.get(at, PROJECT),)), (second, file, text))
                self._issue(issued[at])
            (place / "reports").mkdir(parents=True)
            for days in issued.values():
                for report in (self._contracts[days] / "reports").glob("*.pdf"):
                    shutil.copy(report, place / "reports")
        return place

    def _issue(self, days):
        """Issue the last day of a contract folder upon those before it, each a second after the one before."""
        if days in self._contracts:
            return
        project, *_, (second, file, text) = days
        place = self._place / f"contract-{len(self._contracts)}"
        if days[:-1] in self._contracts:
            shutil.copytree(self._contracts[days[:-1]], place)
        folder(place, project=project, **{file: text})
        who = {"vintry": INSPECTOR, "sandrel": COLLEAGUE, "maddock": CONTRACTORS}
        inspector = text.partition("inspector: ")[2].partition("}")[0].partition(",")[0]
        with pytest.MonkeyPatch.context() as patch:
            moment = self._begin + dt.timedelta(seconds=second)
            patch.setattr("reportgen.pipeline.issuing.now", lambda: moment)
            patch.setattr("reportgen.pipeline.checking.left_out", lambda *_: ())  # refused: who else let it pass?
            called(place, "issue", f"{file}.yaml", "--identity", self._signers[who[inspector]])
        self._contracts[days] = place

    def answers(self, case):
        """What an audit finds, and its answers on areas and what is open."""
        if case not in self._answers:
            index = ("--index", "i.sqlite", "--json")
            found = called(self[case], "audit", "reports", *self.trust, *index, codes=(0, 1))[0]
            rows = {
                one: json.loads(called(self[case], "audit", "query", one, *index)[0])["rows"]
                for one in ("areas", "open")
            }
            self._answers[case] = {
                "problems": json.loads(found)["problems"],
                "areas": [row for row in rows["areas"] if "decision" in row],
                "open": [row for row in rows["open"] if row["kind"] not in STATES],
            }
        return self._answers[case]


@pytest.fixture(scope="module")
def archive(tmp_path_factory, signers):
    return Archive(tmp_path_factory.mktemp("archive"), signers)


@pytest.fixture(scope="module")
def trust(archive):
    """The options that name who is trusted."""
    return archive.trust


@pytest.fixture(scope="module")
def audited(archive):
    """What an audit of a case says of its contract, but that its reports are issued long after their shifts."""
    return lambda case, what: [
        row for row in archive.answers(case)[what] if row["contract"] == CONTRACT and row.get("code") != "issued-late"
    ]


def submitted(archive, trust, case, code):
    """What is said on the way to a submittal of a case."""
    out = archive[case] / "submittal.pdf"
    said = called(archive[case], "submittal", "reports", *trust, "--identity", "demo", "-o", out, codes=(code,))[1]
    assert out.exists() is (code == 0)
    return said


def number(sequence):
    return f"{CONTRACT}-00{sequence}"


def words_of(pdf):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(pdf).pages).split())


@pytest.mark.parametrize(
    ("case", "what", "since"),
    [
        ("closed, old steel", "closes NCR-001", 0),
        ("released, old steel", "releases area B-1", 0),
        ("primed twice", "releases area B-1", 0),
        ("revised since", "releases area B-1", 1),
        ("revised since, bare", "releases area B-1", 1),
    ],
)
def test_steel_measured_again_without_blasting_is_found(archive, audited, trust, case, what, since):
    """Whether the other folder found it before, or a revision of what was built upon finds it afterwards."""
    (one,) = [one for one in audited(case, "problems") if one["code"] == "failure-not-undone"]
    first, second = number(1), number(2)
    assert (one["weight"], one["number"], one["area"]) == ("fault", second, "B-1")
    which = "which was issued after it" if since else "upon which it was not built"
    assert one["sentence"].startswith(f"{second} revision 0 {what}; beside {first} revision {since}, {which}, it may")
    assert number(1) in one["sentence"].partition(" may not: ")[2]
    assert one["files"] == [f"{second}.pdf", f"{first}{'-r1' if since else ''}.pdf"]
    (area,) = audited(case, "areas")
    assert (area["area"], area["decision"]) == ("B-1", "hold")
    assert (f"{first} revision {since}" in area["open_items"]) is what.startswith("releases")
    assert one["sentence"] in [row["what"] for row in audited(case, "open")]
    pages = ("--index", "i.sqlite", "-o", "audit.pdf")
    called(archive[case], "audit", "reports", *trust, *pages, codes=(1,))
    pages = words_of(archive[case] / "audit.pdf")
    assert f"{second} revision 0 {what}" in pages
    assert "another folder" not in pages


@pytest.mark.parametrize("case", ["closed, old steel", "revised since"])
def test_it_is_not_submitted(archive, trust, case):
    what = "closes NCR-001" if case.startswith("closed") else "releases area B-1"
    assert f"{number(2)}.pdf {what}; beside" in submitted(archive, trust, case, 2)


GOOD = [
    "closed, blasted again",
    "released, blasted again",
    "both good",
    "revised since, blasted again",
    "the body stands above, closed",
    "the body stands above, released",
]


@pytest.mark.parametrize("case", GOOD)
def test_steel_blasted_again_is_no_fault(audited, case):
    assert audited(case, "problems") == []
    assert audited(case, "open") == []
    assert audited(case, "areas")[-1]["decision"] == "release"


def test_rework_that_nothing_follows_is_named(audited):
    """The area failed, no nonconformance was raised, and the later report is of another area."""
    (one,) = audited("another area", "problems")
    assert (one["code"], one["weight"], one["area"]) == ("rework-not-followed", "fault", "B-1")
    assert audited("another area", "areas")[-1]["decision"] == "release"


def test_a_nonconformance_that_the_report_named_did_not_raise_is_found(audited):
    """The other folder is not at hand where it is written; the audit holds both reports, or not that one."""
    (one,) = audited("raised nowhere", "problems")
    assert (one["code"], one["weight"], one["number"]) == ("nonconformance-not-raised", "fault", number(2))
    assert (
        f"{number(2)} revision 0 says that NCR-001 was raised in {number(1)}, which does not raise it"
        in one["sentence"]
    )
    (one,) = audited("raised in what is not there", "problems")
    assert (one["code"], one["weight"]) == ("raising-report-absent", "screening")


@pytest.mark.parametrize(
    ("case", "decision"), [("failed, and not named", "rework"), ("good, and not named", "release")]
)
def test_an_area_that_a_report_does_not_name_keeps_its_standing(archive, audited, case, decision):
    """The report rests on what may be open there, and on no other: one that is registered as good it does not hold."""
    stands = {row["area"]: row["decision"] for row in audited(case, "areas")}
    assert stands == {"B-1": decision, "B-2": "release"}
    held = pypdf.PdfReader(archive[case] / "reports" / f"{number(2)}.pdf").attachments
    assert ("1.yaml" in " ".join(held)) is (decision == "rework")
    page = pypdf.PdfReader(archive[case] / "reports" / f"{number(2)}.pdf").pages[0].extract_text()
    assert ("profile below minimum of HD-9-001" in " ".join(page.split())) is (decision == "rework")


def test_what_is_no_fault_is_submitted(archive, trust):
    submitted(archive, trust, "released, blasted again", 0)


def test_a_later_report_deals_with_what_a_revision_found(archive, audited, trust):
    """The release upon the withdrawn basis stays a fault; the area is released by the report that came after."""
    case = "revised since, dealt with"
    assert [one["number"] for one in audited(case, "problems")] == [number(2)]
    (area,) = audited(case, "areas")
    assert (area["decision"], area["number"]) == ("release", number(3))
    assert "a later report has decided since" in submitted(archive, trust, case, 0)


def test_who_may_not_revise_the_report_that_raised_it_closes_no_nonconformance(archive, audited, trust):
    """The contractor's inspector has a project file of his own, by which he may, and a report that passes."""
    case = "closed by the contractor"
    one = next(one for one in audited(case, "problems") if one["code"] == "closing-not-entitled")
    assert (one["weight"], one["number"], one["area"]) == ("fault", number(2), "B-1")
    assert codes(audited(case, "problems")) == [
        ("closing-not-entitled", "fault"), ("nonconformance-never-closed", "fault"), OTHERS,
    ]  # fmt: skip
    (area,) = audited(case, "areas")
    assert (area["decision"], area["open_items"]) == ("rework", f"NCR-001 (raised in {number(1)})")
    said = submitted(archive, trust, case, 0)
    assert f"{number(2)} r0 says otherwise of NCR-001 than {number(1)}, and may not" in said
    pages = words_of(archive[case] / "submittal.pdf")
    assert f"{number(2)} r0 says otherwise, and may not." in pages


def test_a_colleague_of_who_raised_it_closes_it_after_that(audited):
    case = "closed again"
    assert codes(audited(case, "problems")) == [("closing-not-entitled", "fault"), OTHERS, BACK]
    (area,) = audited(case, "areas")
    assert (area["decision"], area["open_items"]) == ("release", "")


def codes(problems):
    return sorted((one["code"], one["weight"]) for one in problems)


DIFFER = BACK = ("requirement-changed", "note")
OTHERS = ("requirement-changed", "doubt")
"""Where the project files differ in who may decide; that they are as before again is noted."""
LAXER = ("limits-loosened", "doubt")
"""What is said of the area that was judged by the laxer limits, where its release is not refuted."""


@pytest.mark.parametrize("case", ["laxer, same area", "laxer, same day"])
def test_a_release_by_laxer_limits_than_those_of_its_area_or_day_is_a_fault(archive, audited, trust, case):
    problems = audited(case, "problems")
    assert codes(problems) == [("released-under-other-limits", "fault"), DIFFER]
    told = {one["code"]: one["sentence"] for one in problems}
    first, second = f"{number(1)} revision 0", f"{number(2)} revision 0"
    since = "2026-05-05" if "area" in case else "2026-05-04"
    assert told["requirement-changed"] == (
        f"requirements differ between {first} and {second}, from {since} on: profile minimum 2 mil / 1 mil"
    )
    area = "B-1" if "area" in case else "B-2"
    assert told["released-under-other-limits"].startswith(
        f"{second} releases area {area}; under the limits of {first} it may not: "
    )
    (stands,) = [row for row in audited(case, "areas") if row["area"] == area]
    assert (stands["decision"], stands["open_items"]) == ("hold", f"limits of {first}")
    assert told["released-under-other-limits"] in [row["what"] for row in audited(case, "open")]
    said = submitted(archive, trust, case, 2)
    assert f"{number(2)}.pdf releases area {area}; under the limits of" in said
    assert "issue a revision of the report whose project file has the wrong limits" in said


@pytest.mark.parametrize("case", ["laxer, another day and area", "laxer, of no matter"])
def test_limits_that_differ_are_a_doubt(archive, audited, trust, case):
    """A change may be agreed upon; steel that conforms by either is released."""
    assert codes(audited(case, "problems")) == [LAXER, DIFFER]
    assert audited(case, "areas")[-1]["decision"] == "release"
    said = submitted(archive, trust, case, 0)
    pdf = pypdf.PdfReader(archive[case] / "submittal.pdf")
    for one in audited(case, "problems"):
        assert one["sentence"] in said
        assert one["sentence"][1:] in " ".join(pdf.pages[0].extract_text().split())


def test_people_and_areas_that_are_gone_are_named_once(audited):
    case = "people and areas gone"
    (one,) = audited(case, "problems")
    first, second, third = (f"{number(sequence)} revision 0" for sequence in (1, 2, 3))
    assert one["sentence"] == (
        f"requirements differ between {first} and {second}, from 2026-05-05 on: areas (B-3 removed);"
        " people (N. Ostrey removed);"
        f" those of {second} have {third} too"
    )


def test_a_contract_that_grows_by_areas_and_people_is_no_doubt(archive, audited, trust):
    (one,) = audited("grown since", "problems")
    assert (one["code"], one["weight"], one["verdict"]) == ("requirement-changed", "note", "passed")
    assert "areas (B-3 added)" in one["sentence"]
    submitted(archive, trust, "grown since", 0)


def test_two_inspection_bodies_under_one_number_are_a_fault(audited):
    (one,) = audited("another body", "problems")
    assert (one["code"], one["weight"]) == ("contract-not-one", "fault")
    assert one["sentence"].endswith("from 2026-05-05 on: inspection body Vintry Inspection / Ardley Inspection")


def test_who_may_not_revise_a_report_releases_nothing_that_it_did_not(archive, audited, trust):
    """No nonconformance was raised, and the steel was blasted again: who had not released it has to say it is good."""
    case = "released by the contractor"
    first, second = number(1), number(2)
    assert codes(audited(case, "problems")) == [
        ("release-not-entitled", "fault"), OTHERS, ("rework-not-followed", "fault"),
    ]  # fmt: skip
    one = next(one for one in audited(case, "problems") if one["code"] == "release-not-entitled")
    assert (one["number"], one["area"]) == (second, "B-1")
    assert one["sentence"].startswith(f"{second} revision 0 releases area B-1; who signed it is not named in {first}")
    assert one["files"] == [f"{second}.pdf", f"{first}.pdf"]
    assert one["sentence"] in [row["what"] for row in audited(case, "open")]
    (area,) = audited(case, "areas")
    assert (area["decision"], area["number"]) == ("rework", first)
    assert area["contested"] == f"{second} r0: release"
    said = submitted(archive, trust, case, 0)
    assert f"{second} r0 says otherwise of area B-1 than {first} r0, which it may not revise" in said
    pages = words_of(archive[case] / "submittal.pdf")
    assert f"disputed by {second} r0, which may not revise it" in pages


def test_a_colleague_of_who_found_it_against_releases_it_after_that(audited):
    case = "released again"
    assert codes(audited(case, "problems")) == [("release-not-entitled", "fault"), OTHERS, BACK]
    (area,) = audited(case, "areas")
    assert (area["decision"], area["number"]) == ("release", number(3))


@pytest.mark.parametrize(
    ("case", "gone"),
    [
        ("left out of a revision", "an entry of pot 2 is gone; location 5, which did not conform, is gone"),
        ("corrected by a revision", "location 2, which did not conform, conforms"),
    ],
)
def test_a_revision_in_favour_of_the_steel_is_a_doubt_that_names_what_is_gone(archive, audited, trust, case, gone):
    (one,) = audited(case, "problems")
    first = number(1)
    assert (one["code"], one["weight"], one["area"]) == ("revision-in-favour", "doubt", "B-1")
    assert one["sentence"] == (
        f"{first} revision 1 finds better of area B-1 than revision 0: the decision is `release`, not `rework`; {gone};"
        " reason given: a reading was wrong"
    )
    said = submitted(archive, trust, case, 0)
    assert one["sentence"] in said
    assert one["sentence"][1:] in " ".join(
        pypdf.PdfReader(archive[case] / "submittal.pdf").pages[0].extract_text().split()
    )


@pytest.mark.parametrize(
    ("case", "what"),
    [
        ("shrunk by a revision", "pot 1 cleaned 2 m², not 8 m²"),
        ("sized by a revision", "pot 1 cleaned 2 m², not an unstated size"),
        ("bounded by a revision", "walk-outs bound 1.00 m² around location 2, which nothing bounded"),
        ("better graded by a revision", "`grade-not-met` is no longer found"),
        ("more of it by a revision", "released is the whole area, not 2.0 m² of 12 m²"),
    ],
)
def test_a_revision_under_which_less_steel_failed_is_one_in_favour_of_it(audited, case, what):
    """Whoever shrinks what failed has less to blast again."""
    (one,) = [one for one in audited(case, "problems") if one["code"] == "revision-in-favour"]
    first = number(1)
    assert one["weight"] == "doubt"
    assert one["sentence"] == (
        f"{first} revision 1 finds better of area B-1 than revision 0: {what}; reason given: a reading was wrong"
    )


def test_a_part_released_is_not_said_to_be_the_area(archive, audited, trust):
    """The part that failed was blasted again, the next one is good, and nobody has seen the rest."""
    case = "a part is good"
    assert codes(audited(case, "problems")) == []
    (area,) = audited(case, "areas")
    assert (area["decision"], area["part"]) == ("release", "6.0 m² of 12 m²")
    submitted(archive, trust, case, 0)
    cover = " ".join(pypdf.PdfReader(archive[case] / "submittal.pdf").pages[0].extract_text().split())
    assert "0 of 2 whole, 1 in part" in cover
    pages = words_of(archive[case] / "submittal.pdf")
    assert pages.count("release, part") >= 2  # in the index, and beside the area
    assert "the part cleaned: 6.0 m² of 12 m²" in pages


def test_limits_that_another_document_of_the_contract_states_are_a_doubt(archive, audited, trust):
    case = "laxer, by a variation"
    problems = audited(case, "problems")
    assert codes(problems) == [("released-under-varied-limits", "doubt"), DIFFER]
    told = next(one["sentence"] for one in problems if one["code"] == "released-under-varied-limits")
    assert told.endswith(f"; the specification is {CONTRACT} Part 4 with variation 2, no longer {CONTRACT} Part 4")
    assert audited(case, "areas")[-1]["decision"] == "release"
    said = submitted(archive, trust, case, 0)
    assert f"under the limits of reports/{number(1)}.pdf it may not" in said
    assert f"the specification is {CONTRACT} Part 4 with variation 2, no longer {CONTRACT} Part 4" in said


def test_steel_accepted_beside_laxer_limits_is_no_fault(archive, audited, trust):
    """The way out where no document names the change: who may decide accepts what the former limits forbid."""
    case = "laxer, accepted"
    assert codes(audited(case, "problems")) == [LAXER, DIFFER]
    assert "use-as-is" in submitted(archive, trust, "laxer, same area", 2)
    submitted(archive, trust, case, 0)


def test_a_contract_number_in_small_letters_is_the_same_contract(archive, audited, trust):
    case = "small letters"
    assert codes(audited(case, "problems")) == [
        ("contract-written-otherwise", "doubt"),
        ("failure-not-undone", "fault"),
    ]
    assert f"{number(2)}.pdf releases area B-1; beside" in submitted(archive, trust, case, 2)


def test_a_contract_number_with_another_dash_is_told(audited):
    case = "another dash"
    one, _ = sorted(audited(case, "problems"), key=lambda each: each["code"])
    assert (one["code"], one["weight"]) == ("contract-written-otherwise", "doubt")
    other = CONTRACT.replace("-", "–<U+2013>")
    assert (
        one["sentence"]
        == f"contracts {CONTRACT} and {other} are written much alike, and were not held against each other"
    )
