"""Each item that ISO/IEC 17020:2012 §7.4.2 and ISO/IEC 17025:2017 §7.8.2.1 ask for, and the page and element with it.

The items are named in our words; the letters are those of the standards.
"""

import re

import pytest

from tests.golden.pages import report, texts

FIRST, LAST, EVERY, SOME = "first page", "last page", "every page", "some page"

ISO_17020 = {
    "a issuing body": (FIRST, r"Inspection body Hethe and Pike Inspection · 2 Sluice Row"),
    "b unique identification": (EVERY, r"MM-31-IR-007 · revision 0"),
    "b date of issue": (FIRST, r"Inspected · issued .* · 2026-06-03 17:42 UTC"),
    "c date of inspection": (FIRST, r"Inspected · issued 2026-06-03, 06:00–18:00 UTC"),
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
    "h dates of sampling": (SOME, r"blasted 07:00–08:40"),
    "i dates of performance": (FIRST, r"Inspected · issued 2026-06-03"),
    "j date of issue": (FIRST, r"issued .* · 2026-06-03 17:42"),
    "k sampling plan": (SOME, r"Sampling at least 3 locations per shift and apparatus · 7\.3\.2"),
    "l results relate only to the items": (EVERY, r"Results relate only to the areas and times stated"),
    "m results with units": (SOME, r"mean 2\.\d\d mil"),
    "n deviations and exclusions": (SOME, r"TR-900 was due and not inspected: scaffold not handed over"),
    "o person authorising": (FIRST, r"R\. Hethe inspector · Hethe and Pike Inspection · level 3 / 8810"),
    "p results of external providers": (FIRST, r"R\. Hethe inspector"),
    "note not reproduced except in full": (EVERY, r"Not to be reproduced except in full"),
}
"""Item p: the report has no results of others; the inspector named on page 1 is the source of all of them."""


@pytest.mark.parametrize(
    ("where", "pattern"),
    [*ISO_17020.values(), *ISO_17025.values()],
    ids=[*(f"17020 {item}" for item in ISO_17020), *(f"17025 {item}" for item in ISO_17025)],
)
def test_the_item_is_on_its_page(where, pattern):
    pages = texts(report())
    found = [re.search(pattern, page) is not None for page in pages]
    asked = {FIRST: found[0], LAST: found[-1], EVERY: all(found), SOME: any(found)}
    assert asked[where], pattern


def test_all_letters_are_there():
    assert {item[0] for item in ISO_17020} == set("abcdefg")
    assert {item.split()[0] for item in ISO_17025} - {"note"} == set("abcdefghijklmnop")
