"""What an audit can object to: stable codes, what each means, and how much it weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Mapping

Weight = Literal["fault", "doubt", "screening"]


class Kind(NamedTuple):
    """Meaning of a code, its weight, and what to do; a screening points at what to look at and proves nothing."""

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
        "a nonconformance was raised in a report that is not among the files",
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
        "Ask the person who named the successor, whom the earlier report names too, for the evidence stated.",
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
        "contract numbers differ in nothing but capitals, blanks, dashes or points",
        "Ask whether it is one contract; have the number put right in a revision of the report that has it wrong.",
    ),
    "requirements-differ": Kind(
        "doubt",
        "reports of one contract were judged by different project files",
        "Ask for the agreement that changed them.",
    ),
    "not-compared": Kind(
        "doubt",
        "a report could not be held against another one",
        "Look at both reports by hand.",
    ),
    "area-left-out": Kind(
        "doubt",
        "a revision is silent about an area that the one before it had not released",
        "Ask why; the area is as it was before the revision.",
    ),
    "revision-in-favour": Kind(
        "doubt",
        "a revision finds better of an area than the one before it, or leaves out what had failed or was open",
        "Ask for the notes of the day behind the correction; a reading that was taken cannot be revised away.",
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
    "readings-copied": Kind(
        "fault",
        "the same readings in the same order stand in two places",
        "Ask for the notes of both days; have the wrong readings put right by a revision.",
    ),
    "digits-uneven": Kind(
        "screening",
        "last digits of a gauge's readings are not spread as a gauge spreads them",
        "Ask who read the gauge and how its readings were written down; it proves nothing.",
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
        "readings of an area agree better than those of the contract do",
        "Ask how the locations were chosen; it proves nothing.",
    ),
}
"""Every code there is."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One objection: where, by which files, and one sentence that stands alone.

    ``verdict`` is the worst on those files. ``unproven`` is an objection that rests on what a file says which did not
    pass, in a contract of which others did: whoever can make such a file must not be able to accuse.
    """

    contract: str
    number: str
    code: str
    area: str
    sentence: str
    files: tuple[str, ...]
    verdict: str = ""
    unproven: bool = False

    @property
    def weight(self) -> Weight:
        """How much it weighs."""
        weight = PROBLEMS[self.code].weight
        return "doubt" if self.unproven and weight == "fault" else weight
