"""Whatever object of a report a signer writes along with a signature, as it was or changed, is found."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest

from reportgen.verification import verify_report
from tests.e2e.tamper import insiders
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable

PAIR = (made.ENGINEER, made.OWNER)


def rich(**more: Any) -> bytes:
    return made.unsigned(count=2, edit=insiders._rich, **more)


def reasons(pdf: bytes) -> set[str]:
    answer = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
    return {reason.name for reason in answer.reasons}


def again(number: int, *, changed: bool) -> Callable[[Any], None]:
    """Return how to write object ``number`` along, as it was or with something added."""

    def edit(writer: Any) -> None:
        from pyhanko.pdf_utils.generic import DictionaryObject, NullObject, Reference, pdf_name

        thing = writer.get_object(Reference(number, 0, writer))
        if changed:
            if isinstance(thing, DictionaryObject):
                thing[pdf_name("/Note")] = pdf_name("/x")
            else:
                thing = NullObject()
        writer.objects[(0, number)] = thing

    return edit


def numbers(pdf: bytes) -> list[int]:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return [thing.objgen[0] for thing in opened.objects if isinstance(thing, pikepdf.Object) and thing.is_indirect]


def written_by_signing(report: bytes, before: bytes) -> set[int]:
    """Return the numbers of objects that signing itself writes again: the catalog, the page, the tree of tags ..."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    reader = PdfFileReader(io.BytesIO(report))
    last = reader.total_revisions - 1
    return {one.idnum for one in reader.xrefs.explicit_refs_in_revision(last)} & set(numbers(before))


@pytest.mark.parametrize("changed", [False, True], ids=["as it was", "changed"])
def test_any_object_in_the_first_signatures_revision(changed: bool) -> None:
    own = written_by_signing(made.sealed(rich()), rich())
    assert own, "signing writes the catalog and the page"
    found = {
        number: reasons(insiders._sealed_while(again(number, changed=changed), rich())) for number in numbers(rich())
    }
    assert len(found) > 20
    missed = {number for number, names in found.items() if "CHANGED_WHEN_SIGNING" not in names}
    assert missed == (set() if changed else own)


@pytest.mark.parametrize("changed", [False, True], ids=["as it was", "changed"])
def test_any_object_in_a_countersignatures_revision(changed: bool) -> None:
    waiting = made.sealed(rich(countersigners=PAIR), countersigners=PAIR)
    own = written_by_signing(made.countersigned(waiting, made.engineer()), waiting)
    assert len(own) == 1, "signing writes the field"
    missed = set()
    for number in numbers(waiting):
        tampered = insiders._countersigned_while(again(number, changed=changed), rich(countersigners=PAIR))
        # a copy of the first signature's value has a byte range more than there are signatures
        if not reasons(tampered) & {"CHANGED_AFTER_SIGNING", "SIGNATURE_COUNT"}:
            missed.add(number)
    assert missed == (set() if changed else own)


def test_what_differs_is_said() -> None:
    def sentences(edit: Any) -> list[str]:
        pdf = insiders._sealed_while(edit, rich())
        answer = verify_report(pdf, at=made.LATER, roots=[made.root().certificate], **made.CHECKS)
        return [reason.sentence for reason in answer.reasons if reason.name == "CHANGED_WHEN_SIGNING"]

    def content(writer: Any) -> None:
        page = writer.root["/Pages"]["/Kids"].raw_get(1)
        page.get_object()["/Rotate"] = page.get_object()["/MediaBox"][0]
        writer.mark_update(page)

    (said,) = sentences(content)
    assert said.startswith("the revision of the signature in Inspector is not as signing writes it: Page (object ")

    def many(writer: Any) -> None:
        for number in numbers(rich()):
            again(number, changed=False)(writer)

    assert re.search(r" and \d+ more$", sentences(many)[0])
