"""The signature itself: appended, certifying, reproducible, silent about metadata; fields as PDF/A and tags ask."""

from __future__ import annotations

import io
import subprocess
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from reportgen.errors import SealError
from reportgen.increments.fields import SignatureField, place_fields
from reportgen.seal import countersign, seal_report
from tests.outside import needs_program
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(pdf))


@pytest.mark.parametrize("edit", [None, made.tagged])
@pytest.mark.parametrize("mode", [pikepdf.ObjectStreamMode.disable, pikepdf.ObjectStreamMode.generate])
def test_unsigned_bytes_stay_the_beginning(edit: Any, mode: Any) -> None:
    pdf = made.unsigned(count=2, edit=edit, object_stream_mode=mode)
    assert made.sealed(pdf).startswith(pdf)
    assert made.sealed(pdf, countersigners=(made.ENGINEER,)).startswith(pdf)


def test_same_input_and_time_give_the_same_bytes_with_rsa() -> None:
    who = made.identity_of(made.certify(made.named("Ines Perk"), made.rsa_key(), made.root()), made.root())
    pdf = made.unsigned()
    assert made.sealed(pdf, who) == made.sealed(pdf, who)
    assert made.sealed(pdf, who) != made.sealed(pdf, who, at=made.AT + timedelta(seconds=1))


def test_metadata_and_information_stay_as_they_are() -> None:
    pdf = made.unsigned()
    with opened(pdf) as before, opened(made.sealed(pdf)) as after:
        assert dict(after.docinfo.items()) == dict(before.docinfo.items())
        assert after.Root.Metadata.read_bytes() == before.Root.Metadata.read_bytes()
        assert after.trailer.ID[0] == before.trailer.ID[0]
        assert after.trailer.ID[1] != before.trailer.ID[1]


def test_a_file_without_identifier_gets_one() -> None:
    pdf = made.pages()
    bare = pdf[: pdf.index(b"/ID")] + pdf[pdf.index(b"]", pdf.index(b"/ID")) + 1 :]
    with opened(made.sealed(bare)) as after:
        assert after.trailer.ID[0] == after.trailer.ID[1]


def test_signature_dictionary() -> None:
    with opened(made.report()) as pdf:
        value = pdf.Root.AcroForm.Fields[0].V
        assert value.SubFilter == "/ETSI.CAdES.detached"
        assert str(value.Reason) == "inspection report, issued by the inspector"
        assert str(value.Location) == "Harbour shed"
        assert str(value.Name) == "Ines Perk"
        assert str(value.M) == "D:20260302143000Z"
        assert value.Reference[0].TransformParams.P == 1
        assert pdf.Root.Perms.DocMDP.objgen == value.objgen
        assert pdf.Root.Extensions.ESIC.ExtensionLevel == 1


def test_countersigners_get_fields_before_the_first_signature() -> None:
    report = made.open_report()
    with opened(report) as pdf:
        fields = list(pdf.Root.AcroForm.Fields)
        assert [str(field.T) for field in fields] == ["Inspector", "Countersigner-1", "Countersigner-2"]
        assert ["/V" in field for field in fields] == [True, False, False]
        assert fields[0].V.Reference[0].TransformParams.P == 2
        assert [str(field.TU) for field in fields] == [
            "Signature of the inspector, Ines Perk",
            "Countersignature of the coating engineer, Edda Falk",
            "Countersignature of the owner's representative, Olin Marsh",
        ]


def test_widget_is_transparent_printed_and_described() -> None:
    with opened(made.report()) as pdf:
        widget = pdf.Root.AcroForm.Fields[0]
        assert widget.F == 4 | 128
        assert [float(corner) for corner in widget.Rect] == list(made.BOX[1:])
        assert set(widget.AP.keys()) == {"/N"}
        assert widget.AP.N.read_bytes().strip() == b""
        assert [float(corner) for corner in widget.AP.N.BBox] == [0, 0, 200, 70]
        assert str(widget.TU) == "Signature of the inspector, Ines Perk"
        assert [annotation.objgen for annotation in pdf.pages[0].obj.Annots] == [widget.objgen]
        assert widget.P.objgen == pdf.pages[0].obj.objgen
        assert "/StructParent" not in widget
        assert "/DA" not in pdf.Root.AcroForm
        assert pdf.Root.AcroForm.SigFlags == 3


def several_roots(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    tree = pdf.Root.StructTreeRoot
    second = pikepdf.Dictionary(Type=pikepdf.Name("/StructElem"), S=pikepdf.Name("/Part"), P=tree)
    tree["/K"] = pikepdf.Array([tree.K, pdf.make_indirect(second)])


def one_in_list(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    pdf.Root.StructTreeRoot["/K"] = pikepdf.Array([pdf.Root.StructTreeRoot.K])


def numbers_in_leaves(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    tree = pdf.Root.StructTreeRoot
    leaf = pdf.make_indirect(pikepdf.Dictionary(Nums=tree.ParentTree.Nums, Limits=pikepdf.Array([0, 1])))
    tree["/ParentTree"] = pdf.make_indirect(pikepdf.Dictionary(Kids=pikepdf.Array([leaf])))


def everything_apart(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    tree = pdf.Root.StructTreeRoot
    tree.ParentTree["/Nums"] = pdf.make_indirect(tree.ParentTree.Nums)
    tree.K["/K"] = pdf.make_indirect(tree.K.K)
    pdf.pages[0].obj["/Annots"] = pdf.make_indirect(pikepdf.Array())


def leaves_apart(pdf: pikepdf.Pdf) -> None:
    numbers_in_leaves(pdf)
    tree = pdf.Root.StructTreeRoot.ParentTree
    tree["/Kids"] = pdf.make_indirect(tree.Kids)


def no_numbers(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    del pdf.Root.StructTreeRoot["/ParentTree"]
    del pdf.Root.StructTreeRoot["/ParentTreeNextKey"]


def single_kid(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    document = pdf.Root.StructTreeRoot.K
    document["/K"] = document.K[0]


def no_kid(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    del pdf.Root.StructTreeRoot.K["/K"]


def understated_key(pdf: pikepdf.Pdf) -> None:
    made.tagged(pdf)
    pdf.Root.StructTreeRoot["/ParentTreeNextKey"] = 0


def numbers(node: Any) -> dict[int, Any]:
    pairs = list(node.get("/Nums", ()))
    found = {int(key): value for key, value in zip(pairs[::2], pairs[1::2], strict=True)}
    for kid in node.get("/Kids", ()):
        found |= numbers(kid)
    return found


def elements(node: Any) -> list[Any]:
    kids = node.get("/K", [])
    kids = list(kids) if isinstance(kids, pikepdf.Array) else [kids]
    below = [kid for kid in kids if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]
    return below + [element for kid in below for element in elements(kid)]


@pytest.mark.parametrize(
    "edit",
    [
        made.tagged,
        several_roots,
        one_in_list,
        numbers_in_leaves,
        no_numbers,
        everything_apart,
        leaves_apart,
        single_kid,
        no_kid,
        understated_key,
    ],
)
def test_widgets_of_a_tagged_file_are_form_elements(edit: Callable[[pikepdf.Pdf], None]) -> None:
    """ISO 14289-1, 7.18.4 (from memory): a widget is nested within a Form tag, found back by its number."""
    report = made.sealed(made.unsigned(count=2, edit=edit), countersigners=(made.ENGINEER,))
    with opened(report) as pdf:
        tree = pdf.Root.StructTreeRoot
        by_number = numbers(tree.ParentTree)
        forms = [element for element in elements(tree) if element.S == "/Form"]
        assert len(forms) == 2
        assert int(tree.ParentTreeNextKey) > max(by_number)
        for field in pdf.Root.AcroForm.Fields:
            element = by_number[int(field.StructParent)]
            assert element.S == "/Form"
            assert element.K.Obj.objgen == field.objgen
            assert element.K.Type == "/OBJR"
            assert element.Pg.objgen == field.P.objgen
            assert str(element.Alt) == str(field.TU)
            assert element.objgen in [form.objgen for form in forms]
            assert any(element.objgen == other.objgen for other in elements(element.P) or elements(tree))


def refused(**change: Any) -> str:
    wanted: dict[str, Any] = {"at": made.AT, "location": "l", "box": made.BOX, **change}
    pdf = wanted.pop("pdf", None) or made.unsigned()
    with pytest.raises(SealError) as caught:
        seal_report(pdf, wanted.pop("who", made.inspector()), **wanted)
    return caught.value.message


def test_refusals() -> None:
    assert refused(pdf=b"no PDF") == "this is not a PDF that can be signed"
    assert refused(pdf=made.report()) == (
        "the pages already hold form fields; a report is signed once, from its unsigned pages"
    )
    assert refused(box=(2, 1, 1, 9, 9)) == "a signature field is asked for on page 2 of 1"
    assert refused(box=(0, 1, 1, 9, 9)) == "a signature field is asked for on page 0 of 1"
    for box in ((1, -1, 1, 9, 9), (1, 1, 1, 9, 9999), (1, 9, 1, 9, 9)):
        assert refused(box=box) == "the signature field Inspector does not lie on its page"


def test_two_fields_of_one_name() -> None:
    field = SignatureField("Inspector", "Signature", made.BOX)
    with pytest.raises(SealError, match=r"^two signature fields have the same name$"):
        place_fields(IncrementalPdfFileWriter(io.BytesIO(made.unsigned())), [field, field])


def test_box_of_a_page_that_inherits_its_size() -> None:
    def inherit(pdf: pikepdf.Pdf) -> None:
        pdf.Root.Pages["/MediaBox"] = pdf.pages[0].obj.MediaBox
        del pdf.pages[0].obj["/MediaBox"]

    assert made.sealed(made.unsigned(edit=inherit))


def test_countersign_fills_the_field_that_is_named() -> None:
    with opened(made.countersigned(made.open_report(), made.owner(), "Countersigner-2")) as pdf:
        assert ["/V" in field for field in pdf.Root.AcroForm.Fields] == [True, False, True]


def test_countersign_refusals() -> None:
    words = {"at": made.AT, "reason": "r", "location": "l"}
    for pdf, field in ((made.report(), "Countersigner-1"), (made.open_report(), "Inspector")):
        with pytest.raises(SealError, match=f"^this report has no empty signature field `{field}`$"):
            countersign(pdf, made.engineer(), field, **words)
    with pytest.raises(SealError, match=r"^this is not a PDF that can be signed$"):
        countersign(b"no PDF", made.engineer(), "Countersigner-1", **words)


def test_a_long_chain_fits() -> None:
    links = [made.root()]
    for number in range(6):
        links.append(
            made.certify(made.named(f"Middle {number}"), made.ec_key(), links[-1], ca=True, key_usage=made.AUTHORITY)
        )
    own = made.certify(made.named("Ines Perk"), made.rsa_key(4096), links[-1])
    assert made.sealed(who=made.identity_of(own, *reversed(links)), timestamper=made.timestamper())


@needs_program("qpdf")
@pytest.mark.parametrize("make", [made.report, made.open_report, made.complete_report])
def test_structure_is_sound_for_another_program(make: Callable[[], bytes], tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    file.write_bytes(make())
    answer = subprocess.run(["qpdf", "--check", str(file)], capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout + answer.stderr
