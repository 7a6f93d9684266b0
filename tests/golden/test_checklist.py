"""Each item that ISO/IEC 17020:2012 §7.4.2 and ISO/IEC 17025:2017 §7.8.2.1 ask for, and the page and element with it.

The items are named in our words; the letters are those of the standards.
"""

import re
from dataclasses import replace
from functools import cache

import pytest

from reportgen.job.day import Supersedes
from reportgen.job.recorded import ReleaseTold
from reportgen.job.template import Template
from reportgen.report.document import render_report
from tests.golden import sample_evaluation as sample
from tests.golden.pages import report, texts

FIRST, LAST, EVERY, SOME = "first page", "last page", "every page", "some page"

ISO_17020 = {
    "a issuing body": (FIRST, r"Inspection body Hethe and Pike Inspection · 2 Sluice Row"),
    "b unique identification": (EVERY, r"MM-31-IR-007 · revision 0"),
    "b date of issue": (FIRST, r"Inspected · issued .* · 2026-06-03 17:42 UTC"),
    "c date of inspection": (FIRST, r"Inspected · issued 2026-06-03, 06:00–17:42 UTC"),
    "d items inspected": (FIRST, r"TR-1 Trough, north face, bay 1.*TR-3 Trough, soffit, bay 1"),
    "e signature of the authorised person": (FIRST, r"R\. Hethe inspector .* digital signature"),
    "f statement of conformity": (FIRST, r"Does not conform: of 3 areas inspected"),
    "g results": (SOME, r"Areas mil .* spot a spot b location xc"),
}

ISO_17025 = {
    "a title": (FIRST, r"Surface preparation inspection"),
    "b name and address": (FIRST, r"Hethe and Pike Inspection · 2 Sluice Row, Marrowmere"),
    "c place of performance": (FIRST, r"Place of inspection Marrowmere, east bank"),
    "d every component recognised as part of the report": (EVERY, r"MM-31-IR-007 · revision 0 .* \d+ of \d+"),
    "d clear end": (LAST, r"End of report MM-31-IR-007, revision 0"),
    "e customer": (FIRST, r"Client, contact Marrowmere Waterworks"),
    "f method": (SOME, r"ASTM D4417 Method C \(2021\)"),
    "g item, identification and condition": (SOME, r"TR-1 Trough, north face, bay 1 .* initial condition C"),
    "h dates of sampling": (SOME, r"pot 1, 07:00–08:40"),
    "i dates of performance": (FIRST, r"Inspected · issued 2026-06-03"),
    "j date of issue": (FIRST, r"issued .* · 2026-06-03 17:42"),
    "k sampling plan": (SOME, r"Sampling at least 3 locations per shift and apparatus · 7\.3\.2"),
    "l results relate only to the items": (EVERY, r"Results relate only to the areas and times stated"),
    "m results with units": (SOME, r"mean 2\.\d\d mil"),
    "n deviations and exclusions": (SOME, r"Deviations from the method: none recorded"),
    "o person authorising": (FIRST, r"R\. Hethe inspector · Hethe and Pike Inspection · level 3 / 8810"),
    "p results of external providers": (SOME, r"Results from others: none recorded"),
    "note not reproduced except in full": (EVERY, r"Not to be reproduced except in full"),
}

FURTHER = {
    "17025 7.8.2.2 data from the client": (SOME, r"Data from the client: none recorded"),
    "17025 7.8.3.1 environment": (SOME, r"06:40 trough 14\.5 71 13\.5 9\.3 4\.2"),
    "17025 7.8.3.1 uncertainty": (SOME, r"U of the mean 0\.28 \(k 2\.1, ν 11\)"),
    "17025 7.8.6 decision rule": (FIRST, r"simple acceptance, no guard band"),
    "D4417 gauge": (SOME, r"g1 thickness gauge not recorded TG-4410"),
    "D4417 tape": (SOME, r"x1 tape, extra coarse not recorded 2214"),
    "8503-5 single readings": (SOME, r"spot a spot b location xc c value xc c value value judged U P, % verdict"),
    "contract action, who and when": (FIRST, r"Closes NCR-004\. not stated no date stated"),
    "contract primer": (FIRST, r"released 12:10"),
    "contract time of the test": (SOME, r"work it covers 06:40"),
    "17025 7.8.3.1 combined uncertainty": (SOME, r"divisor std\. unc\. d\.o\.f\. .* 1\.732 0\.115"),
    "17025 7.8.6 decision rule in the annex": (
        SOME,
        r"Each location is judged for itself; an area conforms only if every location does",
    ),
    "D4417 lowest and highest": (FIRST, r"low – high .* 2\.33 – 2\.87"),
    "D4417 mean and number of locations": (SOME, r"4 locations, 3 required ?; mean 2\.\d\d mil, s "),
    "D4417 extent of the area": (SOME, r"24 m² \(258 ft²\) · drawing"),
    "contract what was raised": (SOME, r"NCR-004 TR-2 Two locations below 2\.0 mil"),
}
"""What other documents ask for."""


REVISED = {
    "17025 7.8.8 what a revision replaces, and why, under the title": (
        FIRST, r"shift 06:00–18:00 This report replaces revision 0\. Reason: wrong lot of tape"
    ),
    "17025 7.8.8 the same in the annex": (
        LAST, r"what this revision replaces, and why: This report replaces revision 0\. Reason: wrong lot of tape"
    ),
    "17025 k position of each location": (SOME, r"positions of the locations, 1 top flange, east"),
    "contract who was told of the release": (SOME, r"Q\. Maddock, 12:05"),
}  # fmt: skip
"""Items of which a day need not have anything."""


@cache
def revised():
    """The sample day as a revision, with a position and a release that was told."""
    job = sample.job(3, 4)
    report = job.day.report.model_copy(update={"supersedes": Supersedes(revision="0", reason="wrong lot of tape")})
    first, *others = job.day.surfaces
    placed = first.model_copy(update={"positions": {"1": "top flange, east"}})
    told = ReleaseTold(area=first.area, to="Q. Maddock", time="12:05")
    day = job.day.model_copy(update={"report": report, "surfaces": [placed, *others], "told_released": [told]})
    return render_report(replace(job, day=day), sample.evaluation(3, 4), sample.ISSUE, Template())


@pytest.mark.parametrize("item", REVISED.items(), ids=lambda item: item[0])
def test_what_a_day_need_not_have_is_on_its_page_where_it_has_it_and_nowhere_else(item):
    """Without the entry in the day file the item is missing: nothing else on the pages stands for it."""
    _, (where, pattern) = item
    assert there(texts(revised()), where, pattern), pattern
    assert not there(texts(report()), where, pattern)


@pytest.mark.parametrize(
    ("where", "pattern"),
    [*ISO_17020.values(), *ISO_17025.values(), *FURTHER.values()],
    ids=[*(f"17020 {item}" for item in ISO_17020), *(f"17025 {item}" for item in ISO_17025), *FURTHER],
)
def test_the_item_is_on_its_page(where, pattern):
    pages = texts(report())
    assert there(pages, where, pattern), pattern


def there(pages, where, pattern):
    """Whether a pattern is on the pages where it is asked for."""
    found = [re.search(pattern, page) is not None for page in pages]
    return {FIRST: found[0], LAST: found[-1], EVERY: all(found), SOME: any(found)}[where]


@pytest.mark.parametrize("item", [*ISO_17020.items(), *ISO_17025.items(), *FURTHER.items()], ids=lambda item: item[0])
def test_an_item_whose_element_is_removed_is_missed(item):
    """Nothing else on the pages is taken for it: without what was found, the item is not there."""
    _, (where, pattern) = item
    without = [re.sub(pattern.split(" .* ")[0], "", page) for page in texts(report())]
    assert not there(without, where, pattern)


def test_all_letters_are_there():
    assert {item[0] for item in ISO_17020} == set("abcdefg")
    assert {item.split()[0] for item in ISO_17025} - {"note"} == set("abcdefghijklmnop")
