"""What a careless or dishonest signer signs along: content that acts or changes, and embedded files that do not fit."""

from __future__ import annotations

import functools
import hashlib
import io
import json
import warnings
from typing import TYPE_CHECKING, Any
from unittest import mock

import pikepdf

from reportgen.formats import MANIFEST_NAME
from tests.e2e.tamper.rows import FILES, MATHEMATICS, NOT_FOUND, Row, doubtful, failed, passed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Edit = Callable[[pikepdf.Pdf], None]

D, N = pikepdf.Dictionary, pikepdf.Name


def rows() -> Iterator[Row]:
    for what, edit, reasons in _contents():
        build = functools.partial(_sealed_with, edit)
        judged = failed if "FILES_DISAGREE" in reasons else doubtful
        yield judged(f"signed along: {what}", build, reasons, why=MATHEMATICS)
    yield doubtful("signed along: a second copy of an object", _second_copy, "ORPHAN_OBJECTS", why=MATHEMATICS)
    yield doubtful("signed along: an object behind a stream", _behind_stream, "ORPHAN_OBJECTS", why=MATHEMATICS)
    yield doubtful("signed along: text before the first object", _before_objects, "ORPHAN_OBJECTS", why=MATHEMATICS)
    yield from _odd_pages()
    yield from _texts_of_the_catalog()
    yield from _files()
    yield from _written_anew()
    yield from _damaged()


def _sealed_with(edit: Edit) -> bytes:
    return made.sealed(made.unsigned(count=2, edit=edit))


def _root(key: str, value: Callable[[pikepdf.Pdf], Any]) -> Edit:
    def edit(pdf: pikepdf.Pdf) -> None:
        pdf.Root[key] = value(pdf)

    return edit


def _page(key: str, value: Callable[[pikepdf.Pdf], Any]) -> Edit:
    def edit(pdf: pikepdf.Pdf) -> None:
        pdf.pages[1].obj[key] = value(pdf)

    return edit


def _annotated(kind: str, **entries: Callable[[pikepdf.Pdf], Any]) -> Edit:
    def annotations(pdf: pikepdf.Pdf) -> Any:
        frame = {"Border": pikepdf.Array([0, 0, 0])} if kind == "Link" else {}
        more = {**frame, **{key: value(pdf) for key, value in entries.items()}}
        more = {key: value for key, value in more.items() if value is not None}
        thing = D(Type=N("/Annot"), Subtype=N(f"/{kind}"), Rect=pikepdf.Array([9, 9, 90, 90]), **more)
        return pikepdf.Array([pdf.make_indirect(thing)])

    return _page("/Annots", annotations)


def _action(kind: str, **entries: Any) -> Callable[[pikepdf.Pdf], Any]:
    return lambda _: D(S=N(f"/{kind}"), **entries)


def _layers(pdf: pikepdf.Pdf) -> Any:
    group = pdf.make_indirect(D(Type=N("/OCG"), Name="cover"))
    return D(OCGs=pikepdf.Array([group]), D=D(OFF=pikepdf.Array([group])))


def _outside_stream(pdf: pikepdf.Pdf) -> Any:
    stream = pdf.make_stream(b"")
    stream["/F"] = "other.bin"
    return stream


def _reference(pdf: pikepdf.Pdf) -> Any:
    stream = pdf.make_stream(b"", Type=N("/XObject"), Subtype=N("/Form"), BBox=pikepdf.Array([0, 0, 9, 9]))
    stream["/Ref"] = D(F="other.pdf", Page=0)
    return D(X=stream)


def _postscript(pdf: pikepdf.Pdf) -> Any:
    return D(X=pdf.make_stream(b"showpage", Type=N("/XObject"), Subtype=N("/PS")))


def _contents() -> Iterator[tuple[str, Edit, str]]:
    script = _action("JavaScript", JS="app.alert(1)")
    acting = "ACTIVE_CONTENT"
    yield "script on opening", _root("/OpenAction", script), acting
    yield "script on a page", _page("/AA", lambda pdf: D(O=script(pdf))), acting
    yield "named scripts", lambda pdf: pdf.Root.Names.update({"/JavaScript": D(Names=["a", script(pdf)])}), acting
    yield "link that starts a program", _annotated("Link", A=_action("Launch", F="other")), acting
    yield "link that opens another file", _annotated("Link", A=_action("GoToR", F="other.pdf")), acting
    yield "link into an embedded file", _annotated("Link", A=_action("GoToE")), acting
    yield "link that submits", _annotated("Link", A=_action("SubmitForm", F="https://example.org/")), acting
    yield "link that switches layers", _annotated("Link", A=_action("SetOCGState")), acting
    yield "link that plays", _annotated("Link", A=_action("Rendition")), acting
    yield "link with a chain of actions", _annotated("Link", A=_action("GoTo", Next=script(None))), acting
    yield (
        "link to a program by address",
        _annotated("Link", A=_action("URI", URI="file:///bin/sh")),
        "EXTERNAL_REFERENCE",
    )
    yield (
        "link with a script for an address",
        _annotated("Link", A=_action("URI", URI="javascript:x")),
        "EXTERNAL_REFERENCE",
    )
    appearance = {"AP": lambda pdf: D(N=pdf.make_stream(b"", Subtype=N("/Form"), BBox=pikepdf.Array([0, 0, 9, 9])))}
    yield "link that draws", _annotated("Link", **appearance), "ANNOTATIONS"
    white, wide = (lambda _: pikepdf.Array([1, 1, 1])), (lambda _: D(W=300, S=N("/S")))
    frames = {"of a width": [0, 0, 800], "of rounded corners": [9, 9, 0], "of dashes": [0, 0, 0, [3]]}
    for what, border in frames.items():
        yield (
            f"link with a frame {what}",
            _annotated("Link", Border=lambda _, b=border: pikepdf.Array(b)),
            "ANNOTATIONS",
        )
    yield "link with a white frame", _annotated("Link", C=white, BS=wide), "ANNOTATIONS"
    yield "link with the frame of those that state none", _annotated("Link", Border=lambda _: None), "ANNOTATIONS"
    for key in ("C", "BS", "BE", "MK", "H", "PA", "QuadPoints", "AS", "CA", "IC", "Popup"):
        yield f"link with an entry {key}", _annotated("Link", **{key: white}), "ANNOTATIONS"
    for kind in ("FreeText", "Stamp", "Square", "Text", "Highlight", "Popup", "FileAttachment", "Redact", "Watermark"):
        yield f"annotation of kind {kind}", _annotated(kind), "ANNOTATIONS"
    for kind in ("Movie", "Sound", "Screen", "3D", "RichMedia"):
        yield f"annotation of kind {kind}", _annotated(kind), "ANNOTATIONS"
    yield "widget without a field", _annotated("Widget"), "ANNOTATIONS"
    yield "layers", _root("/OCProperties", _layers), "LAYERS"
    yield "a page in a layer", _page("/OC", lambda _: D(Type=N("/OCG"), Name="x")), "LAYERS"
    yield "stream from another file", _page("/Contents", _outside_stream), "EXTERNAL_REFERENCE"
    yield "page of another file", _page("/Resources", lambda pdf: D(XObject=_reference(pdf))), "EXTERNAL_REFERENCE"
    yield (
        "file outside",
        _root("/AF", lambda _: [D(Type=N("/Filespec"), F="other.txt")]),
        "EXTERNAL_REFERENCE FILES_DISAGREE",
    )
    yield "printer's program", _page("/Resources", lambda pdf: D(XObject=_postscript(pdf))), "EXTERNAL_REFERENCE"
    yield "requirements", _root("/Requirements", lambda _: [D(S=N("/EnableJavaScripts"))]), acting


def _odd_pages() -> Iterator[Row]:
    """Pages of which a part is not shown, and what readers take for damage, on a page that holds no field."""
    box = pikepdf.Array
    boxes: dict[str, Any] = {
        "a part of a page": box([0, 500, 595, 842]),
        "a page of no size": box([0, 0, 0, 0]),
        "a page too large to be shown": box([0, 0, 9999999, 9999999]),
        "a page whose box has three numbers": box([0, 0, 595]),
        "a page whose box is a text": pikepdf.String("x"),
    }
    for what, value in boxes.items():
        edit = _page("/MediaBox", lambda _, value=value: value)
        yield failed(f"signed along: {what}", functools.partial(_sealed_with, edit), "FORMAT_FAILURE", why=MATHEMATICS)
    lacking: dict[str, Edit] = {
        "a page without a box": lambda pdf: pdf.pages[1].obj.__delitem__("/MediaBox"),
        "a page without resources": lambda pdf: pdf.pages[1].obj.__delitem__("/Resources"),
        "a page whose resources are a text": _page("/Resources", lambda _: pikepdf.String("x")),
    }
    for what, edit in lacking.items():
        yield failed(f"signed along: {what}", functools.partial(_sealed_with, edit), "FORMAT_FAILURE", why=MATHEMATICS)


def _texts_of_the_catalog() -> Iterator[Row]:
    """Texts that signing would write otherwise than they stand, in a revision that leaves them as they are."""
    zero = _root("/Lang", lambda _: pikepdf.String(b"\xfe\xff\0e\0n\0\0\0G\0B"))
    mark = _root("/MarkInfo", lambda _: D(Marked=True, X=pikepdf.String(b"\xff\xfea\0")))
    build = functools.partial(_sealed_as_it_stands, zero)
    yield failed("signed along: a language with a zero", build, "CHANGED_WHEN_SIGNING", why=MATHEMATICS)
    build = functools.partial(_sealed_as_it_stands, mark)
    yield doubtful("signed along: a mark of the other byte order", build, "OTHER_RELEASE", why=MATHEMATICS)


def _sealed_as_it_stands(edit: Edit) -> bytes:
    """Seal with a writer that keeps a zero and bytes in the other order."""
    from pyhanko.pdf_utils import generic

    encode, guess = generic.encode_pdfdocencoding, generic._guess_enc_by_bom

    def without_zero(text: str) -> bytes:
        return encode("\u2603" if "\0" in text else text)

    def as_bytes(data: bytes) -> Any:
        return mock.Mock(decode=lambda _: b"\xff".decode()) if data.startswith(b"\xff\xfe") else guess(data)

    with mock.patch.multiple(generic, encode_pdfdocencoding=without_zero, _guess_enc_by_bom=as_bytes):
        return _sealed_with(edit)


def _second_copy() -> bytes:
    """Return a report in which the first page's content stands twice, the second copy waiting for a table."""
    pdf = made.unsigned()
    place = pdf.index(b"xref\n0 ")
    hidden = b"7 0 obj\n<< /Length 3 >>\nstream\nabc\nendstream\nendobj\n"
    start = int(pdf[pdf.rindex(b"startxref") :].split()[1])
    return made.sealed(pdf[:place] + hidden + pdf[place:].replace(b"%d" % start, b"%d" % (start + len(hidden))))


def _behind_stream() -> bytes:
    """Return a report in which an object hides between the end of a stream and the end of its object."""
    pdf = made.unsigned(object_stream_mode=pikepdf.ObjectStreamMode.disable)
    place = pdf.index(b"xref\n0 ")
    start = int(pdf[pdf.rindex(b"startxref") :].split()[1])
    hidden = b"(does not conform) endobj 99 0 obj (x)\nendobj\n"
    return made.sealed(pdf[:place] + hidden + pdf[place:].replace(b"%d" % start, b"%d" % (start + len(hidden))))


def _before_objects() -> bytes:
    pdf = made.unsigned()
    comment = pdf.index(b"\n%") + 1
    return made.sealed(pdf[:comment] + b"x" + pdf[comment + 1 :])


def _embedding(contents: dict[str, bytes]) -> Callable[[], bytes]:
    return lambda: made.sealed(made.unsigned(contents=contents))


def _files() -> Iterator[Row]:
    plain = {name: content for name, (content, _) in made.INPUTS.items()}
    manifest = made.manifest_of(made.INPUTS)
    whole = {**plain, MANIFEST_NAME: manifest}
    wrong, differs = "EMBEDDED_FILES", "EVALUATION_DIFFERS"

    def without(name: str) -> dict[str, bytes]:
        return {key: value for key, value in whole.items() if key != name}

    def recorded(**changes: tuple[bytes, Any]) -> dict[str, bytes]:
        files = {**made.INPUTS, **changes}
        return {**{name: content for name, (content, _) in files.items()}, MANIFEST_NAME: made.manifest_of(files)}

    def rewritten(edit: Callable[[dict[str, Any]], None]) -> dict[str, bytes]:
        data = json.loads(manifest)
        edit(data)
        return {**plain, MANIFEST_NAME: json.dumps(data).encode()}

    other = {**whole, "days/readings.csv": b"location,mil\nL1,2.9\n"}
    yield failed("embedded readings exchanged", _embedding(other), f"{wrong} {differs}", why=FILES)
    yield failed("embedded readings missing", _embedding(without("days/readings.csv")), f"{wrong} {differs}", why=FILES)
    yield failed("embedded evaluation missing", _embedding(without("evaluation.json")), f"{wrong} {differs}", why=FILES)
    yield failed("embedded manifest missing", _embedding(without(MANIFEST_NAME)), wrong, why=FILES)
    yield failed("embedded file not listed", _embedding({**whole, "more.txt": b"x"}), wrong, why=FILES)
    no_files = functools.partial(made.unsigned, edit=lambda pdf: pdf.Root.__delitem__("/Names"))
    yield failed("no embedded files", lambda: made.sealed(no_files()), wrong, why=FILES)
    other = made.evaluation_naming([made.WHO], verdict="does not conform")
    better = recorded(**{"evaluation.json": (other, "evaluation")})
    yield failed("evaluation that its input does not give", _embedding(better), differs, why=FILES)
    lower = recorded(**{"days/readings.csv": (b"location,mil\nL1,1.1\n", "csv")})
    yield failed("input that does not give its evaluation", _embedding(lower), differs, why=FILES)
    blank = made.INPUTS["evaluation.json"][0].replace(b'"verdict":', b'"verdict": ')
    spelling = recorded(**{"evaluation.json": (blank, "evaluation")})
    yield failed("evaluation spelt otherwise", _embedding(spelling), differs, why=FILES)
    no_json = recorded(**{"evaluation.json": (b"conforms", "evaluation")})
    yield failed("evaluation that is not JSON", _embedding(no_json), differs, why=FILES)
    release = {**better, MANIFEST_NAME: better[MANIFEST_NAME].replace(b"reportgen 0.1.0", b"reportgen 0.0.9")}
    yield failed("another evaluation, by another release", _embedding(release), differs, why=FILES)
    for what, data in (("format", b'{"format":2}'), ("edition of the rules", b'{"rules_edition":2}')):
        newer = recorded(**{"evaluation.json": (data, "evaluation")})
        newer[MANIFEST_NAME] = newer[MANIFEST_NAME].replace(
            b'"rules_edition":1', b'"rules_edition":%d' % (2 - (what == "format"))
        )
        yield doubtful(f"evaluation of a later {what}", _embedding(newer), "OTHER_RELEASE", why=FILES)
    swapped = {**whole, MANIFEST_NAME: manifest.replace(b'"rules_edition":1', b'"rules_edition":2')}
    yield failed("manifest that names another edition of the rules", _embedding(swapped), differs, why=FILES)
    same = {**whole, MANIFEST_NAME: manifest.replace(b"reportgen 0.1.0", b"reportgen 0.0.9")}
    yield passed("the same evaluation, by another release", _embedding(same))
    later = ("manifest of a later format", "manifest with a role of a later release")
    for what, edit in zip(later, (_of_later_format, _with_later_role), strict=True):
        yield doubtful(what, _embedding(rewritten(edit)), "OTHER_RELEASE", why=FILES)
    wrong_hash = {**rewritten(_of_later_format), "days/readings.csv": b"location,mil\nL1,3.4\n"}
    reasons = f"{wrong} OTHER_RELEASE"
    yield failed("manifest of a later format, and other readings", _embedding(wrong_hash), reasons, why=FILES)
    forms: tuple[tuple[str, Callable[[dict[str, Any]], Any]], ...] = (
        ("with a further field", lambda data: data.update(more=1)),
        ("that lists a file twice", lambda data: data["files"].append(data["files"][0])),
        ("with a name that leaves its folder", lambda data: data["files"][0].update(name="../day.yaml")),
        ("with an absolute name", lambda data: data["files"][0].update(name="/etc/passwd")),
        ("with a hash too short", lambda data: data["files"][0].update(sha256="12")),
        ("with an unknown role", lambda data: data["files"][0].update(role="other")),
        ("without a day", lambda data: data.update(day="x.yaml")),
        ("that is a list", lambda data: data.update(files={})),
    )
    for what, edit in forms:
        yield failed(f"manifest {what}", _embedding(rewritten(edit)), wrong, why=FILES)
    yield failed("manifest that is not JSON", _embedding({**plain, MANIFEST_NAME: b"\xff"}), wrong, why=FILES)
    yield failed("two embedded files of one name", lambda: _sealed_with(_named_twice), wrong, why=FILES)
    yield failed("an embedded file under two names", lambda: _sealed_with(_two_names), wrong, why=FILES)
    yield failed("an embedded file too large when unpacked", lambda: _sealed_with(_bomb), wrong, why=FILES)
    yield failed("an embedded file packed otherwise", lambda: _sealed_with(_run_lengths), wrong, why=FILES)
    yield failed("an embedded file packed badly", lambda: _sealed_with(_badly_packed), wrong, why=FILES)
    yield failed("a list of files without end", lambda: _sealed_with(_endless), wrong, why=FILES)


def _of_later_format(data: dict[str, Any]) -> None:
    data.update(format=2, generator="reportgen 9.0.0")


def _with_later_role(data: dict[str, Any]) -> None:
    next(row for row in data["files"] if row["role"] == "csv").update(role="drawing")


def _leaf(pdf: pikepdf.Pdf) -> Any:
    return pdf.Root.Names.EmbeddedFiles.Names


def _named_twice(pdf: pikepdf.Pdf) -> None:
    _leaf(pdf).extend([_leaf(pdf)[0], _leaf(pdf)[1]])


def _two_names(pdf: pikepdf.Pdf) -> None:
    _leaf(pdf)[1]["/UF"] = pikepdf.String("other.yaml")


def _bomb(pdf: pikepdf.Pdf) -> None:
    import zlib

    packer = zlib.compressobj(9)
    packed = b"".join([*(packer.compress(bytes(1 << 20)) for _ in range(65)), packer.flush()])
    stream = pdf.make_stream(b"")
    stream.write(packed, filter=N("/FlateDecode"))
    _leaf(pdf)[1]["/EF"] = D(F=stream, UF=stream)


def _packed(pdf: pikepdf.Pdf, content: bytes, kind: pikepdf.Name) -> None:
    stream = pdf.make_stream(b"")
    stream.write(content, filter=kind)
    _leaf(pdf)[1]["/EF"] = D(F=stream, UF=stream)


def _run_lengths(pdf: pikepdf.Pdf) -> None:
    _packed(pdf, b"\x02abc\x80", N("/RunLengthDecode"))


def _badly_packed(pdf: pikepdf.Pdf) -> None:
    _packed(pdf, b"no deflated data", N("/FlateDecode"))


def _endless(pdf: pikepdf.Pdf) -> None:
    tree = pdf.Root.Names.EmbeddedFiles
    del tree["/Names"]
    tree["/Kids"] = pikepdf.Array([tree, tree])


def _written_anew() -> Iterator[Row]:
    def again(**options: Any) -> bytes:
        with pikepdf.open(io.BytesIO(made.report())) as pdf:
            return made.saved(pdf, **options)

    anew = "UNCOVERED_BYTES SIGNATURE_COUNT"
    yield failed("saved again", again, anew, pdfsig="invalid")
    yield failed("linearised", lambda: again(linearize=True), f"{anew} ORPHAN_OBJECTS", pdfsig="invalid")
    packed = {"object_stream_mode": pikepdf.ObjectStreamMode.generate}
    yield failed("packed into object streams", lambda: again(**packed), anew, pdfsig="invalid")
    for password in ("user", ""):
        build = functools.partial(_encrypted, password)
        opinion = "none" if password else "invalid"
        what = "encrypted, password needed" if password else "encrypted, opens without password"
        yield doubtful(what, build, "ENCRYPTED", pdfsig=opinion, why=NOT_FOUND)
    yield failed("copied into another file", _merged, "UNCOVERED_BYTES EMBEDDED_FILES ANNOTATIONS", pdfsig="invalid")


def _encrypted(password: str) -> bytes:
    stream = io.BytesIO()
    with pikepdf.open(io.BytesIO(made.report())) as pdf:
        pdf.save(stream, encryption=pikepdf.Encryption(owner="owner", user=password))
    return stream.getvalue()


def _merged() -> bytes:
    with pikepdf.open(io.BytesIO(made.report())) as pdf, pikepdf.new() as other, warnings.catch_warnings():
        warnings.simplefilter("ignore", pikepdf.PageCopyWarning)  # that the form is lost is what is wanted here
        other.pages.extend(pdf.pages)
        return made.saved(other)


def _damaged() -> Iterator[Row]:
    damaged = "FORMAT_FAILURE"
    report = made.report()

    def revisions() -> bytes:
        size, start = report[report.rindex(b"/Size") :].split()[1], report[report.rindex(b"startxref") :].split()[1]
        grown, previous = report, int(start)
        for _ in range(60):
            place = len(grown)
            trailer = b"xref\n0 0\ntrailer\n<< /Size %b /Root 1 0 R /Prev %d >>\nstartxref\n%d\n%%%%EOF\n"
            grown += trailer % (size, previous, place)
            previous = place
        return grown

    yield failed(
        "sixty revisions", revisions, "TOO_MANY_REVISIONS", why="it reads them all and finds the first signature intact"
    )
    yield failed("table lost", lambda: report.replace(b"startxref", b"startxrex"), damaged, pdfsig="invalid")
    yield failed("all blanks", lambda: b"%PDF-1.7\n" + b" " * 5000 + b"%%EOF\n", damaged, pdfsig="none", why=NOT_FOUND)
    nested = b"%PDF-1.7\n1 0 obj\n" + b"[" * 20000 + b"\nendobj\ntrailer\n<< /Root 1 0 R >>\nstartxref\n9\n%%EOF\n"
    yield failed("nested without end", lambda: nested, damaged, pdfsig="none", why=NOT_FOUND)
    circle = made.unsigned(edit=lambda pdf: pdf.Root.Pages.Kids.append(pdf.Root.Pages))
    yield failed("pages in a circle", lambda: circle, damaged, pdfsig="none", why=NOT_FOUND)
    noise = hashlib.shake_256(b"noise").digest(20000)
    yield failed("noise", lambda: b"%PDF-1.7\n" + noise + b"\n%%EOF\n", damaged, pdfsig="none", why=NOT_FOUND)
