"""What a report says in several places: times, status, number, those to sign, and under which names files are shown.

Whoever makes these files holds a trusted certificate; the signatures are sound and cover everything.
"""

from __future__ import annotations

import functools
import json
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pikepdf

from reportgen.formats import Supersedes
from reportgen.results import AreaResult
from reportgen.results.values import CoatingTime
from tests.e2e.tamper.rows import FILES, MATHEMATICS, Row, doubtful, failed, passed
from tests.unit.verification import signed_material as made

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

D, N = pikepdf.Dictionary, pikepdf.Name
SECOND, HOUR = timedelta(seconds=1), timedelta(hours=1)


def rows() -> Iterator[Row]:
    yield from _times()
    yield from _countersigned()
    yield from _timestamps()
    yield from _status_and_number()
    yield from _replaced()
    yield from _shown_otherwise()
    yield from _slips()


def _slips() -> Iterator[Row]:
    """Release slips of an area whose data have it as primed already, or have not."""
    counts = {"required_locations": 1, "n_locations": 0, "n_spots": 0}
    area = AreaResult(id="A-1", structure="S", name="Deck", verdict="conforms", decision="release", unit="um", **counts)
    for what, hours in (("not primed yet", None), ("primed already", Decimal("1.5"))):
        told = {"areas": (area,), "coating_times": (CoatingTime("A-1", hours, None, "not evaluated"),)}
        evaluation = made.evaluation_naming([made.WHO], **told)
        files = {**made.inputs(slip="A-1"), "evaluation.json": (evaluation, "evaluation")}

        def again(inside: Any, told: Any = told, evaluation: bytes = evaluation) -> Any:
            return replace(made.recompute(inside), results=replace(made.RESULTS, **told), evaluation=evaluation)

        build, options = functools.partial(_sealed_of, files), {"recompute": again}
        name = f"slip of an area that is {what}"
        if hours is None:
            yield passed(name, build, options=options)
        else:
            yield failed(name, build, "FILES_DISAGREE", why=FILES, options=options)


def _sealed_of(files: Any) -> bytes:
    return made.sealed(made.unsigned(files=files))


def issued(*, signed: Any = made.AT, **facts: Any) -> Callable[[], bytes]:
    """Return how to seal, at the time ``signed``, a report whose issue facts say this."""
    return lambda: made.sealed(made.unsigned(files=made.inputs(**facts)), at=signed)


def _with_one_more_to_sign() -> bytes:
    more = made.inputs([made.ENGINEER])
    files = {**made.inputs(), **{name: more[name] for name in ("issue.json", "evaluation.json")}}
    return made.sealed(made.unsigned(countersigners=[made.ENGINEER], files=files), countersigners=[made.ENGINEER])


def _times() -> Iterator[Row]:
    wrong = "TIMES_DISAGREE"
    for what, at in (("a second before", made.AT - SECOND), ("an hour after", made.AT + HOUR)):
        yield failed(f"issued {what} it was signed", issued(at=at), wrong, why=MATHEMATICS)
    back = made.AT - timedelta(days=7)
    yield failed("issue dated back by a week", issued(at=back), wrong, why=MATHEMATICS)
    yield failed("issue and signature dated back", issued(signed=back, at=back), wrong, why=MATHEMATICS)
    early = made.BEGAN - SECOND
    yield failed("issued before its shift began", issued(signed=early, at=early), wrong, why=MATHEMATICS)
    for what, text in (("without its offset", "2026-03-02T14:30:00"), ("in words", "this afternoon")):
        yield failed(f"time of issue {what}", issued(issued_at=text), "EMBEDDED_FILES", why=FILES)
    files = {name: held for name, held in made.INPUTS.items() if name != "issue.json"}
    yield failed(
        "says nowhere how it was issued", lambda: made.sealed(made.unsigned(files=files)), "EMBEDDED_FILES", why=FILES
    )
    no_json = {**made.INPUTS, "issue.json": (b"issued", "issue")}
    build = functools.partial(made.unsigned, files=no_json)
    yield failed("how it was issued is not JSON", lambda: made.sealed(build()), "EMBEDDED_FILES", why=FILES)
    yield passed("issued when its shift began", issued(signed=made.BEGAN, at=made.BEGAN))
    yield passed("time of issue in another zone", issued(issued_at="2026-03-02T23:30:00+09:00"))


def _countersigned() -> Iterator[Row]:
    for what, early in (("a second", SECOND), ("a day", timedelta(days=1))):
        build = functools.partial(made.countersigned, made.open_report(), made.engineer(), at=made.AT - early)
        yield failed(f"countersigned {what} before the report", build, "TIMES_DISAGREE", why=MATHEMATICS)
    same = functools.partial(made.countersigned, made.open_report(), made.engineer(), at=made.AT)
    yield passed("countersigned in the same second", same)

    def turned_round() -> bytes:
        first = made.countersigned(made.open_report(), made.owner(), at=made.AT + 3 * HOUR)
        return made.countersigned(first, made.engineer(), at=made.AT + HOUR)

    yield passed("countersigned by a clock that is slow, the second of two", turned_round)


def _timestamps() -> Iterator[Row]:
    wrong = "SIG_CONSTRAINTS_FAILURE"

    def stamped(after: timedelta) -> Callable[[], bytes]:
        return lambda: made.sealed(timestamper=made.timestamper(made.AT + after))

    yield doubtful("timestamp a day later", stamped(timedelta(days=1, seconds=1)), wrong, why=MATHEMATICS)
    ahead = {"at": made.AT + HOUR}
    yield doubtful("timestamp in the future", stamped(2 * HOUR), wrong, why=MATHEMATICS, **ahead)
    yield passed("timestamp within a day", stamped(timedelta(hours=23, minutes=59)))
    yield passed("timestamp by a clock that is slow", stamped(timedelta(minutes=-4)))


def _status_and_number() -> Iterator[Row]:
    for status in ("draft", "approved", ""):
        what = f"status `{status}`"
        yield failed(f"signed with {what}", issued(status=status), "NOT_ISSUED", why=MATHEMATICS)
    yield doubtful("signed as a demonstration", issued(status="demonstration"), "DEMONSTRATION", why=MATHEMATICS)
    wrong = "FILES_DISAGREE"
    yield failed("issued under another number", issued(number="HS-2"), wrong, why=FILES)
    yield failed("issued as another revision", issued(revision=1), wrong, why=FILES)
    perk, other = made.signatories([made.WHO])[0], made.signatories([("inspector", "Edda Falk", None)])[0]
    body = made.signatories([("inspector", "Ines Perk", "Rival Works")])[0]
    role = made.signatories([("owner", "Ines Perk", None)])[0]
    pair = made.signatories([made.WHO, made.WHO])
    for what, named in (("person", (other,)), ("organisation", (body,)), ("role", (role,))):
        yield failed(f"issue that names another {what} to sign", issued(signers=named), wrong, why=FILES)
    both = f"CHANGED_WHEN_SIGNING {wrong}"
    for what, named in (("nobody", ()), ("one more", pair), ("another field", pair[1:])):
        yield failed(f"issue that names {what} to sign", issued(signers=named), both, why=FILES)
    yield passed("issue that names the signer", issued(signers=(perk,)))
    yield failed("issue that names another site", issued(site="Other shed"), both, why=FILES)
    elsewhere = functools.partial(made.unsigned, files=made.inputs(site="Other shed"))
    yield failed(
        "signed at the other site that its issue names",
        lambda: made.sealed(elsewhere(), location="Other shed"), wrong, why=FILES,
    )  # fmt: skip
    yield failed(
        "field to sign for one whom its issue and evaluation name, and its job does not",
        _with_one_more_to_sign, f"{wrong} EVALUATION_DIFFERS", why=FILES,
    )  # fmt: skip
    yield failed("issue that names no site", issued(site=None), wrong, why=FILES)
    yield failed("issued as of another day", issued(date="2026-03-03"), wrong, why=FILES)


def _replaced() -> Iterator[Row]:
    """What a report says of the one that it replaces, beside what its day file says of it."""
    before = Supersedes(0, "ab" * 32, "a reading was wrong")
    stated = {"revision": 1, "replaces": [0, before.reason]}

    def revised(day: dict[str, Any], supersedes: Supersedes | None) -> Callable[[], bytes]:
        files = made.inputs(revision=day.get("revision", 0), supersedes=supersedes)
        evaluation = made.evaluation_naming([made.WHO], day.get("revision", 0))
        files["evaluation.json"] = (evaluation, "evaluation")
        files[made.DAY] = (json.dumps({**json.loads(files[made.DAY][0]), **day}).encode(), "day")
        return lambda: made.sealed(made.unsigned(files=files))

    for what, day, told in (
        ("nothing", stated, None),
        ("another, by its reason", stated, replace(before, reason="the client asked")),
        ("another, by its revision", stated, replace(before, revision=7)),
        ("what has no hash", stated, replace(before, sha256="")),
        ("a report where its day file names none", {"revision": 1}, before),
        ("a report before the first", {}, before),
        # day file and issue facts agree
        ("nothing, nor does its day file", {"revision": 1}, None),
        ("another than the one before", {"revision": 2, "replaces": [0, before.reason]}, before),
        ("itself", {"revision": 1, "replaces": [1, before.reason]}, replace(before, revision=1)),
        ("one before the first, as its day file", {"replaces": [-1, before.reason]}, replace(before, revision=-1)),
        ("one for no reason", {"revision": 1, "replaces": [0, " "]}, replace(before, reason=" ")),
    ):
        yield failed(f"revision that replaces {what}", revised(day, told), "FILES_DISAGREE", why=FILES)
    yield passed("revision that says what it replaces", revised(stated, before))
    third = {"revision": 3, "replaces": [2, before.reason]}
    yield passed("a third revision, of the second", revised(third, replace(before, revision=2)))


def _shown_otherwise() -> Iterator[Row]:
    wrong, differs = "EMBEDDED_FILES", "FILES_DISAGREE"

    def with_edit(edit: Callable[[pikepdf.Pdf, Any], None]) -> Callable[[], bytes]:
        def change(pdf: pikepdf.Pdf) -> None:
            edit(pdf, pdf.Root.Names.EmbeddedFiles.Names[1])

        return lambda: made.sealed(made.unsigned(edit=change))

    def content(pdf: pikepdf.Pdf) -> Any:
        stream = pdf.make_stream(b'{"verdict":"released"}')
        stream["/Type"] = N("/EmbeddedFile")
        return stream

    def specification(pdf: pikepdf.Pdf) -> Any:
        held = D(Type=N("/Filespec"), F="more.json", UF="more.json", EF=D(F=content(pdf)))
        return pdf.make_indirect(held)

    for what, edit in (
        ("another content by its second name", lambda pdf, one: one.EF.update(UF=content(pdf))),
        ("a content for one system", lambda pdf, one: one.EF.update(Unix=content(pdf))),
        ("another name for old readers", lambda _, one: one.update(F="other.json")),
        ("files that go with it", lambda pdf, one: one.update(RF=D(F=pikepdf.Array(["x", content(pdf)])))),
        ("a further entry", lambda _, one: one.update(Thumb=pikepdf.String("x"))),
    ):
        yield failed(f"an embedded file has {what}", with_edit(_updating(edit)), wrong, why=FILES)
    edits: tuple[tuple[str, Callable[[pikepdf.Pdf, Any], None]], ...] = (
        ("does not say which files belong to it", lambda pdf, _: pdf.Root.__delitem__("/AF")),
        ("says that a file belongs to it twice", lambda pdf, one: pdf.Root.AF.append(one)),
        ("has a file that belongs to it and is not listed", lambda pdf, _: pdf.Root.AF.append(specification(pdf))),
        ("has a file on a page", lambda pdf, _: _set(pdf.pages[0].obj, "/AF", pikepdf.Array([specification(pdf)]))),
        ("has a file on a page, written in place", lambda pdf, _: _set(pdf.pages[0].obj, "/AF", [_in_place(pdf)])),
        ("has the contents of a file on a page", lambda pdf, _: _set(pdf.pages[0].obj, "/Note", content(pdf))),
        ("embeds its day file as a result", lambda _, one: _set(one, "/AFRelationship", N("/Data"))),
        (
            "embeds a file as an alternative of its pages",
            lambda _, one: _set(one, "/AFRelationship", N("/Alternative")),
        ),
        ("embeds a file as nothing in particular", lambda _, one: one.__delitem__("/AFRelationship")),
        ("embeds a file as several things", lambda _, one: _set(one, "/AFRelationship", pikepdf.Array([N("/Data")]))),
    )
    for what, change in edits:
        yield failed(f"report that {what}", with_edit(change), differs, why=FILES)
    portfolio = with_edit(lambda pdf, _: _set(pdf.Root, "/Collection", D(View=N("/T"))))
    yield failed("report that is a portfolio", portfolio, "PORTFOLIO", why=MATHEMATICS)
    yield passed(
        "embedded files with descriptions", with_edit(lambda _, one: _set(one, "/Desc", pikepdf.String("data")))
    )
    yield passed("a list of embedded files in leaves", with_edit(_in_leaves))


def _in_place(pdf: pikepdf.Pdf) -> Any:
    """Return a file without numbers and marks of one."""
    return D(F="more.json", UF="more.json", EF=D(F=pdf.make_stream(b"{}")))


def _set(thing: Any, key: str, value: Any) -> None:
    thing[key] = value


def _updating(edit: Callable[[pikepdf.Pdf, Any], None]) -> Callable[[pikepdf.Pdf, Any], None]:
    """Let an edit update dictionaries of the library, which have no ``update``."""

    class Updated:
        def __init__(self, thing: Any) -> None:
            self.thing = thing

        @property
        def EF(self) -> Updated:  # noqa: N802 - the key's name
            return Updated(self.thing.EF)

        def update(self, **entries: Any) -> None:
            for key, value in entries.items():
                self.thing[f"/{key}"] = value

    return lambda pdf, one: edit(pdf, Updated(one))


def _in_leaves(pdf: pikepdf.Pdf, _: Any) -> None:
    tree, names = pdf.Root.Names.EmbeddedFiles, list(pdf.Root.Names.EmbeddedFiles.Names)
    del tree["/Names"]
    halves = (names[:2], names[2:])
    leaves = [D(Limits=pikepdf.Array([half[0], half[-2]]), Names=pikepdf.Array(half)) for half in halves]
    tree["/Kids"] = pikepdf.Array([pdf.make_indirect(leaf) for leaf in leaves])
