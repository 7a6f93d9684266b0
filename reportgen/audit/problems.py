"""What an audit can object to: stable codes, what each means, and how much it weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal, NamedTuple, get_args

from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from reportgen.words.told import Told

Weight = Literal["fault", "doubt", "screening", "note"]


class Kind(NamedTuple):
    """Meaning of a code, its weight, and what to do; a screening points at what to look at and proves nothing.

    A note is to be known and nothing more.
    """

    weight: Weight
    meaning: str
    remedy: str

    def explained(self) -> dict[str, str]:
        """Return what the code means, how much it weighs and what to do, by these words."""
        meaning = f"{self.meaning[0].upper()}{self.meaning[1:]}."
        return {"meaning": meaning, "weight": self.weight, "remedy": self.remedy}


PROBLEMS: Mapping[str, Kind] = {
    "file-failed": Kind(
        "fault",
        "the file does not pass its own verification",
        "Ask whoever issued it for the file as it was issued; do not use this one.",
    ),
    "file-in-doubt": Kind(
        "doubt",
        "the verification of the file came to no end",
        "Name with `--trust` the authority of its signer; let `reportgen verify` say what is in doubt.",
    ),
    "file-unknown": Kind(
        "doubt",
        "the file is neither an inspection report nor a submittal",
        "Move it out of the folder, or look at it by hand.",
    ),
    "papers": Kind(
        "note",
        "files that are neither reports nor submittals: release pages, drafts, what names no contract of reports",
        "Nothing is to be done; `reportgen audit query papers` lists them.",
    ),
    "release-page-report-absent": Kind(
        "doubt",
        "a release page names a report that is not among the files",
        "Ask whoever signed the page for that report, as it was issued; until then the page proves nothing.",
    ),
    "release-page-overtaken": Kind(
        "doubt",
        "a release page says that an area is released, and by the reports it is not any more",
        "Go by the reports; tell whoever holds the page, and have it made anew once the area is released.",
    ),
    "number-missing": Kind(
        "fault",
        "a report number below the highest one has no report",
        "Ask for the report with that number, or for the record of why the number was not used.",
    ),
    "number-duplicate": Kind(
        "fault",
        "one revision of one number exists in different files",
        "Ask who issued both; have one of them withdrawn by a revision of the other.",
    ),
    "revision-missing": Kind(
        "fault",
        "a revision was issued, the one before it is not there",
        "Ask for the revision that is not there.",
    ),
    "revision-without-reason": Kind(
        "fault",
        "a revision does not say what it replaces and why",
        "Have a further revision issued that says what it replaces and why.",
    ),
    "revision-of-other-file": Kind(
        "fault",
        "a revision replaces another file than the one that is there",
        "Ask for the file that the revision names, and how there came to be two.",
    ),
    "revision-less-proven": Kind(
        "fault",
        "a file claims to replace a better proven one: it replaces nothing",
        "Ask who made the file; name with `--trust` the authority of its signer if it is known.",
    ),
    "revision-not-entitled": Kind(
        "fault",
        "a revision is signed by one whom the report that it revises does not name: it replaces nothing",
        "Have the revision issued by whoever signed the report, or by a person whom it names beside its inspector.",
    ),
    "revision-by-other-signer": Kind(
        "doubt",
        "a revision is signed by another than the report that it revises",
        "Ask whether the second person was to answer for the report.",
    ),
    "several-certificates": Kind(
        "screening",
        "one person signs reports of a contract with several certificates",
        "Ask whether the certificate was renewed; pin the right one in a policy (`verify --policy`).",
    ),
    "shared-certificate": Kind(
        "screening",
        "one certificate signs in the name of several people of a contract",
        "Ask whose it is; pin each person's certificate in a policy (`verify --policy`).",
    ),
    "names-look-alike": Kind(
        "screening",
        "two people who sign reports of a contract have names that look alike and are not one",
        "Ask whether they are two people; pin each person's certificate in a policy (`verify --policy`).",
    ),
    "claim-less-proven": Kind(
        "doubt",
        "a file says otherwise than a better proven one, which decides",
        "Ask who made the file; what is better proven decides.",
    ),
    "superseded-in-use": Kind(
        "fault",
        "something builds upon a revision that had been superseded",
        "Have a revision issued that builds upon the newest revision; make the submittal anew.",
    ),
    "report-missing": Kind(
        "fault",
        "a register that was given has a report that is not among the files",
        "Ask for the report; where only part of a contract is audited, look whether it belongs to that part.",
    ),
    "issued-astray": Kind(
        "screening",
        "reports were issued upon rows of a register that do not fit together",
        "Ask for the register and give it with `--register`: it was changed in between, begun anew, went on in two"
        " copies or was repaired, or a file was issued to another folder (`-o`) or has another name since.",
    ),
    "register-forked": Kind(
        "fault",
        "two reports were each issued as the next after one row of a register: it went on in two copies",
        "Ask who issued them for both registers, and look for reports that are in one of them only; from now on issue"
        " from one folder.",
    ),
    "copy-written-otherwise": Kind(
        "note",
        "a copy of a report differs from another in what nobody signs, or is proven less: it counts as that one",
        "Keep the copy that is proven better; nothing that was signed is in doubt.",
    ),
    "copy-signed-apart": Kind(
        "doubt",
        "copies of a report have one field signed with several certificates",
        "Ask the person whose field it is which certificate is theirs, and keep that copy; pin it in a policy"
        " (`verify --policy`).",
    ),
    "nonconformance-never-closed": Kind(
        "fault",
        "the last report that names a nonconformance leaves it open",
        "Inspect the area again, or have the decision recorded, in a report that closes it.",
    ),
    "rework-not-followed": Kind(
        "fault",
        "an area is left to be reworked, and no nonconformance is open for it",
        "Have the area reworked and inspected again, or a nonconformance raised for what failed.",
    ),
    "nonconformance-not-raised": Kind(
        "fault",
        "a nonconformance names as the report that raised it one that did not",
        "Have the report corrected by a revision: what the nonconformance was raised on is not what it says.",
    ),
    "raising-report-absent": Kind(
        "screening",
        "a nonconformance was raised in a report that is not among the files of its contract",
        "Ask for that report; where it is on paper, compare by hand what it raised the nonconformance on.",
    ),
    "closing-not-entitled": Kind(
        "fault",
        "a nonconformance is closed by one whom the report that raised it does not name: it stays open",
        "Have it closed in a report of whoever raised it, or of a person whom that report names beside its"
        " inspector. For a newcomer, issue a revision of that report whose project file names them; where nobody is"
        " left who may, have a successor named (`takes_over` in the project file).",
    ),
    "release-not-entitled": Kind(
        "fault",
        "an area is released by one whom the report that had not released it does not name: it stays as it was",
        "Have the area released in a report of whoever had not released it, or of a person whom that report names"
        " beside its inspector. For a newcomer, issue a revision of that report whose project file names them; where"
        " nobody is left who may, have a successor named (`takes_over` in the project file).",
    ),
    "closed-by-successor": Kind(
        "doubt",
        "a nonconformance is closed, or an area released, by one who was named successor of an earlier inspector",
        "Ask the person who named the successor, whom the earlier report names too, for the evidence stated, and to"
        " countersign the report (`countersigners` in its day file): then it counts, and is asked about no more.",
    ),
    "failure-not-undone": Kind(
        "fault",
        "an area is released or a nonconformance closed against another report, on the same steel",
        "Hold the area. Issue a revision of the report in the folder that holds all of them, or inspect the steel"
        " once it is blasted again.",
    ),
    "released-under-other-limits": Kind(
        "fault",
        "an area is released that is not by the limits of an earlier report on that area, or of that day",
        "Hold the area. Issue a revision of the report whose limits are wrong; or have the steel accepted as it is,"
        " by a nonconformance in a revision of the report that released it, on every finding by the former limits."
        " Where a variation of the contract states other limits, name its document in `specification.document`, also"
        " in that revision.",
    ),
    "released-under-varied-limits": Kind(
        "doubt",
        "an area is released that is not by the limits of an earlier report, and another document is named for them",
        "Ask the owner for the document that the specification names.",
    ),
    "contract-not-one": Kind(
        "fault",
        "reports under one contract number name different owners or inspection bodies",
        "Ask whose contract it is; have the wrong project file put right by a revision.",
    ),
    "contract-written-otherwise": Kind(
        "doubt",
        "contract numbers differ in nothing but capitals, blanks, dashes, points, zeros in front or characters that"
        " look alike",
        "Ask whether it is one contract; have the number put right in a revision of the report that has it wrong.",
    ),
    "area-written-otherwise": Kind(
        "screening",
        "areas of a contract differ in nothing but capitals, blanks, dashes, points or letters that look alike",
        "Ask whether it is one area: what is found of one is not held against the other.",
    ),
    "gauge-written-otherwise": Kind(
        "screening",
        "serials of gauges differ in nothing but capitals, blanks, dashes, zeros in front or letters that look alike",
        "Ask whether it is one gauge: what is found of one serial is not held against the other; `recall` shows both.",
    ),
    "requirement-changed": Kind(
        "note",
        "reports of one contract were judged by different project files",
        "Ask for the agreement that changed them; where they change who may decide (a doubt), who said so.",
    ),
    "area-size-changed": Kind(
        "doubt",
        "an area is listed with another size after it was inspected",
        "Ask which size it has, and who said so; what failed is covered by a new inspection of that much alone.",
    ),
    "area-replaced": Kind(
        "doubt",
        "an area that was not released went from the list, and another one may be the same steel",
        "Ask whether it is; have the area put back on the list under its former id, and inspected as that.",
    ),
    "limits-loosened": Kind(
        "doubt",
        "an area was judged by laxer limits than the reports before it or after it, and no new document states them",
        "Ask for the agreement; where there is none, have the area judged by the limits of the contract in a revision.",
    ),
    "calibration-rewritten": Kind(
        "doubt",
        "one certificate of one instrument is stated with different dates",
        "Ask for the certificate; have the project file that has it wrong put right by a revision.",
    ),
    "instrument-stated-otherwise": Kind(
        "note",
        "a report states other data of an instrument than the reports around it, and no new calibration explains it",
        "Ask for the certificate of the instrument that was valid that day, and which of the reports has it right.",
    ),
    "certificate-shared": Kind(
        "doubt",
        "one certificate is stated of several instruments of a kind",
        "Ask for the certificate, and which serials it names; a note where one project file states it of all of them.",
    ),
    "readings-before-blasting": Kind(
        "doubt",
        "readings are of a time before the surface was blasted, or while it was",
        "Ask when the surface was blasted and when it was read; have it measured again, or the times put right.",
    ),
    "photo-outside-shift": Kind(
        "doubt",
        "a photo was taken outside the shift of its report",
        "Ask for the photo as it was taken, and which day it is of; a camera may run by another clock.",
    ),
    "photo-again": Kind(
        "doubt",
        "one photo stands in several reports",
        "Ask which of them it is of, and for the one that is missing.",
    ),
    "two-places": Kind(
        "doubt",
        "one signer, or one gauge, was at two sites at one time",
        "Ask who signed where, and which gauge was used; two gauges may have one serial, and a site two names.",
    ),
    "pace": Kind(
        "screening",
        "spots were read faster than one in the time that is asked about (`--pace`)",
        "Ask how the times were written down, and for the memory of the gauge; it proves nothing.",
    ),
    "issued-late": Kind(
        "note",
        "a report was issued later after its shift than is asked about (`--late`)",
        "Ask why, where what was found had to be known sooner.",
    ),
    "not-countersigned": Kind(
        "note",
        "a report names somebody to sign it whose signature is in none of its copies here",
        "Ask whether it was signed since, and for that copy.",
    ),
    "date-order": Kind(
        "note",
        "a report has a higher number and an earlier date than another one",
        "Nothing is wrong where several inspect or one day was written up later; else ask which date is right.",
    ),
    "issued-before": Kind(
        "doubt",
        "a report states that it was issued before one upon whose row of the register it builds",
        "Ask when each was issued, and whose clock was wrong: one of the two times is not so.",
    ),
    "not-compared": Kind(
        "doubt",
        "a report could not be held against another one",
        "Look at both reports by hand.",
    ),
    "area-left-out": Kind(
        "doubt",
        "a revision is silent about an area that the one before it had not released, or that it alone had",
        "Ask why; what was not released stays so, and what was released counts as not inspected.",
    ),
    "revision-in-favour": Kind(
        "doubt",
        "a revision finds better of an area than the one before it, or leaves out what had failed or was open",
        "Ask for the notes of the day behind the correction; a reading that was taken cannot be revised away.",
    ),
    "revision-moves-readings": Kind(
        "note",
        "a revision has the readings of an area under another one",
        "Ask which steel was read; the field sheet and the memory of the gauge tell.",
    ),
    "coated-while-not-released": Kind(
        "fault",
        "an area was coated although it was not released",
        "Have the decision on the coating recorded by whoever may accept it, or the coating removed.",
    ),
    "instrument-past-calibration": Kind(
        "fault",
        "an instrument was used after its calibration had fallen due",
        "Ask for a calibration since; without one the readings prove nothing.",
    ),
    "readings-alike": Kind(
        "doubt",
        "the same readings in the same order stand in two places",
        "Ask for the field sheets of both and for the memory of the gauge; where one surface was entered twice, have it"
        " put right by a revision.",
    ),
    "readings-partly-alike": Kind(
        "screening",
        "readings of two places agree more than chance makes them",
        "Ask for the field sheets of both and for the memory of the gauge; it proves nothing.",
    ),
    "readings-by-rule": Kind(
        "screening",
        "readings of a surface follow each other by a rule",
        "Ask for the field sheet and for the memory of the gauge; it proves nothing.",
    ),
    "repeats-avoided": Kind(
        "screening",
        "readings repeat the one before more seldom than chance makes them",
        "Ask how the gauge was read and its readings were written down; it proves nothing.",
    ),
    "digits-heaped": Kind(
        "screening",
        "readings of a gauge are often rounded",
        "Ask how the gauge was read and its readings were written down; it proves nothing.",
    ),
    "slip-contradicted": Kind(
        "screening",
        "a release slip was given for an area of which the report of its shift says otherwise",
        "Ask whether whoever held the slip was told in time, and what was done with the steel.",
    ),
    "rules-corrected": Kind(
        "screening",
        "a verdict or decision is another by rules that were corrected since",
        "Read in the changes of the releases what was corrected, and decide whether the area is to be judged anew.",
    ),
    "rules-long-replaced": Kind(
        "screening",
        "a report was issued under rules replaced more than a year before",
        "Ask why the report was not issued by a newer release.",
    ),
    "spread-narrow": Kind(
        "screening",
        "readings of a surface agree better than those of other surfaces",
        "Ask how the locations were chosen, and for the memory of the gauge; it proves nothing.",
    ),
    "spread-narrow-in-group": Kind(
        "screening",
        "readings in the reports of one inspector, or with one gauge, agree better than those beside them",
        "Ask how the locations were chosen, and for the memory of the gauge; it proves nothing.",
    ),
    "weather-alike": Kind(
        "screening",
        "whole rows of the weather stand under two days",
        "Ask for the field sheets of both days and for the memory of the logger; it proves nothing.",
    ),
    "photos-alike": Kind(
        "screening",
        "photos of two places look alike",
        "Ask for the original files, and look at both; it proves nothing.",
    ),
}
"""Every code there is."""


class ScreenEvidence(NamedTuple):
    """What a screening rests on: how many comparisons, how many such findings chance gives in them, how large it is.

    ``interval`` is in what the effect surely lies. Nothing of this is known of what is no screening.
    """

    tests: int | None = None
    expected: str = ""
    effect: str = ""
    interval: str = ""


NOTHING_MORE: Final = ScreenEvidence()


class Screen(NamedTuple):
    """What a screen looked at in a contract, or in all where none is named, and what it could not have seen.

    ``level`` is the share of honest archives in which all its tests together may find something.
    """

    name: str
    contract: str
    tests: int
    level: str
    expected: str
    found: int
    unseen: Told


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One objection: where, by which files, and one sentence that stands alone, as code and facts.

    ``verdict`` is the worst on those files. ``unproven`` is an objection that rests on what a file says which did not
    pass, in a contract of which others did: whoever can make such a file must not be able to accuse. ``weighs`` is how
    much it weighs where that is not the usual of its code.
    """

    contract: str
    number: str
    code: str
    area: str
    sentence: Told
    files: tuple[str, ...]
    verdict: str = ""
    unproven: bool = False
    evidence: ScreenEvidence = NOTHING_MORE
    weighs: Weight | None = None

    @property
    def usually(self) -> Weight:
        """How much it weighs where it rests on what is proven."""
        return self.weighs or PROBLEMS[self.code].weight

    @property
    def weight(self) -> Weight:
        """How much it weighs."""
        weight = self.usually
        return "doubt" if self.unproven and weight == "fault" else weight


def a_moment(text: str) -> str:
    """Return a moment as people read it."""
    return f"{text[:16].replace('T', ' ')} UTC"


def a_revision(number: str, revision: int) -> Told:
    """Name a revision of a report."""
    return told("a-revision", number=number, revision=revision)


def grouped(problems: Iterable[Problem]) -> Iterator[tuple[str, Weight, list[Problem]]]:
    """Yield the problems of each code and weight, the gravest first, then in the order of the table of codes."""
    found: dict[tuple[str, Weight], list[Problem]] = {}
    for one in problems:
        found.setdefault((one.code, one.usually), []).append(one)
    codes, weights = list(PROBLEMS), get_args(Weight)
    order = sorted(found, key=lambda key: (weights.index(key[1]), codes.index(key[0])))
    yield from ((*key, found[key]) for key in order)
