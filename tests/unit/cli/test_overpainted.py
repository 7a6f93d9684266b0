"""A signer who holds a trusted certificate and paints over his own pages: `verify`, `audit`, `submittal` notice it.

The originals of photos are not in the report. All but what the photos show is compared all the same, and that these
were not compared is said.
"""

import hashlib
import io
import json
from dataclasses import replace
from unittest import mock

import pikepdf
import pytest
from PIL import Image

from reportgen.pipeline import building, issuing
from reportgen.report import photos as placed
from tests.unit.verification.signed_material import agreed

TRUST = ("--trust", "keys/i-tern-root.pem")
REPORT = "reports/SL-1-001.pdf"
UNSEEN = "note: what the photos show was not compared, as no report holds their originals: SL-1-001 r0\n"


pytestmark = pytest.mark.usefixtures("stopped_clock")


def picture(colour, *, size=(640, 480), note=None):
    """A photo, as a camera writes it; ``note`` is the time that it noted."""
    exif = Image.Exif()
    if note:
        exif.get_ifd(0x8769)[0x9003] = note
    file = io.BytesIO()
    Image.new("RGB", size, colour).save(file, "JPEG", exif=exif)
    return file.getvalue()


@pytest.fixture
def photographed(run, contract):
    """A contract whose day has two photos of one area, and an inspector with a certificate."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    (contract / "photos").mkdir()
    (contract / "photos/a.jpg").write_bytes(picture("#886655", note="2026:05:04 09:12:33"))
    (contract / "photos/b.jpg").write_bytes(picture("#556688", size=(300, 500)))
    day = contract / "day.yaml"
    text = day.read_text("utf-8")
    assert "    profile:" in text
    photos = (
        "    photos:\n      - {file: photos/a.jpg, caption: before}\n      - {file: photos/b.jpg, caption: after}\n"
    )
    day.write_text(text.replace("    profile:", f"{photos}    profile:", 1), "utf-8")
    return contract


def issued(run, edit=None):
    """Issue the day; the signer's own program changes the pages before it signs them, and proves nothing."""

    def changed(checked, terms):
        built = building.build(checked, terms)
        if edit is None:
            return built
        with pikepdf.open(io.BytesIO(built.pdf)) as pdf:
            edit(pdf)
            out = io.BytesIO()
            pdf.save(out, compress_streams=False, object_stream_mode=pikepdf.ObjectStreamMode.disable)
        return replace(built, pdf=out.getvalue())

    with mock.patch.object(issuing, "build", changed), mock.patch.object(issuing, "_require_sound"):
        done = run("issue", "day.yaml", "--identity", "keys/i-tern.p12")
    assert done.code == 0, done.err
    return done


def verified(run, *more):
    code, out, _ = run("verify", REPORT, *TRUST, *more, "--json")
    return code, json.loads(out)[0]


# What a page can be made to show with other things than text


def _page(pdf):
    """The page with the photos."""
    return next(page for page in pdf.pages if _photos(page))


def _photos(page):
    drawn = page.obj.Resources.get("/XObject", {})
    return [name for name in list(drawn.keys()) if drawn[name].Subtype == pikepdf.Name.Image]


def _jpeg(pdf, colour="#ffffff", size=(200, 100), **more):
    image = pdf.make_stream(picture(colour, size=size))
    image.update({
        "/Type": pikepdf.Name.XObject, "/Subtype": pikepdf.Name.Image, "/Width": size[0], "/Height": size[1],
        "/ColorSpace": pikepdf.Name.DeviceRGB, "/BitsPerComponent": 8, "/Filter": pikepdf.Name.DCTDecode,
    })  # fmt: skip
    for key, value in more.items():
        image[f"/{key}"] = value
    return pdf.make_indirect(image)


def _over(code, **drawn):
    def edit(pdf):
        page = pdf.pages[0]
        resources = page.obj.Resources
        resources["/XObject"] = resources.get("/XObject", pikepdf.Dictionary())
        for name, make in drawn.items():
            resources.XObject[f"/{name}"] = make(pdf)
        page.contents_add(pdf.make_stream(code), prepend=False)

    return edit


def _form(pdf):
    form = pdf.make_stream(b"1 g 0 0 500 600 re f")
    form.update({"/Type": pikepdf.Name.XObject, "/Subtype": pikepdf.Name.Form, "/BBox": [0, 0, 600, 800]})
    return pdf.make_indirect(form)


def _mask(pdf):
    mask = pdf.make_stream(b"\0" * 8)
    mask.update({
        "/Type": pikepdf.Name.XObject, "/Subtype": pikepdf.Name.Image, "/Width": 8, "/Height": 8, "/ImageMask": True,
        "/BitsPerComponent": 1,
    })  # fmt: skip
    return pdf.make_indirect(mask)


def _changed_photo(**entries):
    def edit(pdf):
        page = _page(pdf)
        image = page.obj.Resources.XObject[_photos(page)[0]]
        for key, value in entries.items():
            image[f"/{key}"] = value(pdf) if callable(value) else value

    return edit


def _enlarged(pdf):
    """The photo as large as the page, in its own place in the content."""
    page = _page(pdf)
    name = _photos(page)[0]
    code = page.obj.Contents.read_bytes()
    at = code.index(name.encode() + b" Do")
    placed = code.rindex(b"\n", 0, code.rindex(b" cm", 0, at)) + 1
    end = code.index(b" cm", placed)
    page.obj.Contents = pdf.make_stream(code[:placed] + b"595 0 0 842 0 0" + code[end:])


def _swapped_resources(pdf):
    """Two photos under each other's names."""
    page = _page(pdf)
    one, other = _photos(page)[:2]
    drawn = page.obj.Resources.XObject
    drawn[one], drawn[other] = drawn[other], drawn[one]


def _annotated(pdf):
    link = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Link, Rect=[0, 0, 500, 700], Border=[0, 0, 900], C=[1, 1, 1],
        A=pikepdf.Dictionary(S=pikepdf.Name.URI, URI="https://example.org"),
    )  # fmt: skip
    page = pdf.pages[0].obj
    page["/Annots"] = pikepdf.Array([*page.get("/Annots", ()), pdf.make_indirect(link)])


EDITS = {
    "content stream": _over(b"q 1 g 40 300 500 400 re f Q"),
    "image on the first page": _over(b"q 500 0 0 600 40 100 cm /Over Do Q", Over=_jpeg),
    "photo drawn again elsewhere": _over(
        b"q 500 0 0 600 40 100 cm /Over Do Q",
        Over=lambda pdf: _page(pdf).obj.Resources.XObject[_photos(_page(pdf))[0]],
    ),
    "form": _over(b"/Over Do", Over=_form),
    "image mask": _over(b"q 1 g 500 0 0 600 40 100 cm /Over Do Q", Over=_mask),
    "inline image": _over(b"q 500 0 0 600 40 100 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \xff EI Q"),
    "soft mask": _changed_photo(SMask=_mask),
    "stencil of colours": _changed_photo(Mask=lambda _: pikepdf.Array([0, 255, 0, 255, 0, 255])),
    "decoded otherwise": _changed_photo(Decode=lambda _: pikepdf.Array([1, 0, 1, 0, 1, 0])),
    "alternate": _changed_photo(
        Alternates=lambda pdf: pikepdf.Array([pikepdf.Dictionary(Image=_jpeg(pdf), DefaultForPrinting=True)])
    ),
    "enlarged photo": _enlarged,
    "changed resources": _swapped_resources,
    "link that covers": _annotated,
    "rotated page": lambda pdf: pdf.pages[0].obj.__setitem__("/Rotate", 180),
    "crop box": lambda pdf: pdf.pages[0].obj.__setitem__("/CropBox", pikepdf.Array([0, 400, 595, 842])),
    "optional content": _changed_photo(OC=lambda pdf: pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG))),
    "another kind of JPEG": lambda pdf: _page(pdf).obj.Resources.XObject[_photos(_page(pdf))[0]].write(
        picture("#123456", note="2026:05:04 09:12:33"), filter=pikepdf.Name.DCTDecode
    ),
}  # fmt: skip


@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS)
def test_whatever_is_drawn_besides_is_noticed_without_the_originals(run, photographed, edit):
    issued(run, edit)
    code, said = verified(run)
    assert (code, said["overall"], said["steps"][9]["status"]) == (1, "failed", "failed")
    assert "PAGES_DIFFER" in {reason["name"] for reason in said["reasons"]}
    out = run("verify", REPORT, *TRUST).out
    assert "come out the same" not in out


def test_what_photos_show_is_said_not_to_be_compared(run, photographed):
    issued(run)
    code, said = verified(run)
    assert (code, said["overall"], said["steps"][9]["status"]) == (0, "passed", "passed")
    (unproven,) = said["steps"][9]["unproven"]
    assert unproven == (
        "what the 2 pictures show was not compared, nor when and where their cameras say it was, only place, size and "
        "text: the originals are not embedded; name their job folder with `verify --photos`"
    )
    out = " ".join(run("verify", REPORT, *TRUST).out.split())
    assert f"passed but {unproven}" in out
    assert "the pages, made again from what is embedded, come out the same, but for what the pictures on them" in out
    details = " ".join(run("verify", REPORT, *TRUST, "--details").out.split())
    assert unproven in details


def test_with_the_originals_all_is_compared(run, photographed):
    issued(run)
    code, said = verified(run, "--photos", ".")
    assert (code, said["steps"][9]["status"], said["steps"][9]["unproven"]) == (0, "passed", [])
    out = " ".join(run("verify", REPORT, *TRUST, "--photos", ".").out.split())
    assert "come out the same." in out
    assert "passed standing: unknown; time: claimed; revocation: not checked; holds until" in out


def test_an_original_that_is_another_is_named(run, photographed):
    issued(run)
    (photographed / "photos/a.jpg").write_bytes(picture("#000000"))
    (photographed / "photos/b.jpg").unlink()
    code, said = verified(run, "--photos", ".")
    assert (code, said["steps"][9]["status"]) == (0, "passed")
    first, *why = said["steps"][9]["unproven"]
    assert first.startswith("what the 2 pictures show was not compared")
    assert why[0] == "photos/a.jpg is not the one whose SHA-256 the report holds"
    assert why[1].startswith("photos/b.jpg: ")


def test_what_a_photo_shows_is_for_its_original_to_prove(run, photographed):
    """Another picture in the frame, under the name and the hash of the one that was taken."""
    real = placed.printed_photo

    def other(original, *room):
        own = real(original, *room)
        if original.name != "photos/a.jpg":
            return own
        white = picture("#ffffff")
        shown = real(replace(original, sha256=hashlib.sha256(white).hexdigest(), read=lambda: white), *room)
        return replace(shown, sha256=own.sha256, taken=own.taken)

    with mock.patch.object(placed, "printed_photo", other):
        issued(run)
    code, said = verified(run)
    assert (code, said["overall"], len(said["steps"][9]["unproven"])) == (0, "passed", 1)
    code, said = verified(run, "--photos", ".")
    assert (code, said["overall"], said["steps"][9]["status"]) == (1, "failed", "failed")


def test_pages_that_were_not_made_again_are_not_said_to_be_compared(run, photographed, monkeypatch):
    issued(run)
    monkeypatch.setattr("reportgen.pipeline.rebuilding.REBUILDS", ())
    monkeypatch.setattr("reportgen.issued.examination.confined", lambda work, *_, **__: work())  # a child knows all
    code, said = verified(run)
    assert (code, said["overall"], said["steps"][9]["status"]) == (1, "indeterminate", "not done")
    out = " ".join(run("verify", REPORT, *TRUST).out.split())
    assert "because step 10 was not done: the report was made by reportgen" in out
    assert "then verify with that [NOT_REBUILT]" in out
    assert "and the text of the pages agrees with them." in out
    assert "come out the same" not in out


@pytest.mark.parametrize("name", ["content stream", "enlarged photo", "soft mask"])
def test_audit_and_submittal_notice_it_too(run, photographed, name):
    issued(run, EDITS[name])
    code, out, _ = run("audit", "reports", *TRUST)
    assert (code, "1 file, 1 failed" in out) == (1, True)
    code, _, err = run("submittal", REPORT, *TRUST, "--identity", "demo", "-o", "s.pdf")
    assert code == 2
    assert "building the report again from its own input gives other pages" in " ".join(err.split())


def test_audit_and_submittal_take_the_genuine_one(run, photographed):
    issued(run)
    code, out, _ = run("audit", "reports", *TRUST)
    assert (code, "1 file, 1 passed" in out) == (0, True)
    assert "pages: of what passed, made again and compared, but for what photos show" in out
    code, out, _ = run("audit", "reports", *TRUST, "--quick")
    assert (code, "1 file, 1 indeterminate" in out) == (1, True)
    assert "pages: only their text was compared (--quick), so nothing passed;" in " ".join(out.split())
    code, _, err = run("submittal", REPORT, *TRUST, "--identity", "demo", "-o", "s.pdf", "--page-copies")
    assert (code, err) == (0, UNSEEN)
    said = json.loads(run("verify", "s.pdf", *TRUST, "--json").out)[0]
    assert said["steps"][7]["details"][0].endswith(
        "its pages, made again, come out the same, but for what their pictures show"
    )


def test_an_overpainted_original_in_a_submittal_fails_it(run, photographed):
    """The sender's own program does not look; the reader's does."""
    from reportgen.pipeline import filing

    issued(run, EDITS["content stream"])
    blind = filing.examination_checks
    with mock.patch.object(
        filing, "examination_checks", lambda *given, **more: replace(blind(*given, **more), rebuild_check=agreed)
    ):
        code, _, err = run("submittal", REPORT, *TRUST, "--identity", "demo", "-o", "s.pdf", "--page-copies")
    assert (code, err) == (0, UNSEEN)
    code, out, _ = run("verify", "s.pdf", *TRUST, "--json")
    said = json.loads(out)[0]
    assert (code, said["overall"], said["steps"][7]["status"]) == (1, "failed", "failed")


@pytest.mark.parametrize("file", ["logo.png", "photos/a.jpg"])
@pytest.mark.parametrize("shown", ["yes", "no"])
def test_a_logo_is_a_picture_too(run, photographed, file, shown):
    if file == "logo.png":
        Image.new("RGB", (400, 100), "#224466").save(photographed / file)
    project = photographed / "project.yaml"
    text = project.read_text("utf-8").replace("address: Lane 1}", f"address: Lane 1, logo: {file}}}")
    project.write_text(f"{text}template: plain.yaml\n", "utf-8")
    (photographed / "plain.yaml").write_text(f"logo: {shown}\n", "utf-8")
    issued(run)
    code, said = verified(run)
    assert (code, said["steps"][9]["status"]) == (0, "passed"), said["reasons"]
    pictures = 3 if shown == "yes" else 2
    assert said["steps"][9]["unproven"][0].startswith(f"what the {pictures} pictures show was not compared")
    assert verified(run, "--photos", ".")[1]["steps"][9]["unproven"] == []


def test_a_photo_that_is_shown_twice_is_compared_at_both_places(run, photographed):
    day = photographed / "day.yaml"
    line = "      - {file: photos/a.jpg, caption: before}\n"
    day.write_text(day.read_text("utf-8").replace(line, line + line.replace("before", "once more")), "utf-8")
    issued(run)
    code, said = verified(run)
    assert (code, said["steps"][9]["status"]) == (0, "passed")
