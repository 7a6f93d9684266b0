"""``release``: a signed page on the release of one area, as the reports of a folder stand now."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from reportgen.cli.answers import Answer
from reportgen.cli.options import add_language, add_passphrase, add_processes, add_registers, add_trust, passed_over
from reportgen.cli.output import finished
from reportgen.diagnostics import printable
from reportgen.names import full_title

if TYPE_CHECKING:
    import argparse

DOES = "write a signed page on the release of one area: only of a proven release with nothing open on it"
EXAMPLE = "reportgen release A-12 archive/ --identity engineer.p12 --trust authority.pem -o a-12.pdf"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("area", metavar="AREA", help="the area, as the project file calls it")
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the folder of its reports, which is audited now")
    parser.add_argument(
        "--identity",
        required=True,
        metavar="ID",
        help="a PKCS#12 file of whoever writes it; or `demo`: made on the spot, labelled as not valid",
    )
    add_passphrase(parser)
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="a new file")
    parser.add_argument("--contract", metavar="NUMBER", help="where several contracts have an area of that name")
    parser.add_argument("--role", metavar="TEXT", help="your role; default: as the reports name you")
    parser.add_argument("--organisation", metavar="TEXT", help="your organisation")
    parser.add_argument("--index", type=Path, metavar="FILE", help="the index; default: that of the folder")
    add_trust(parser)
    add_registers(parser)
    add_language(parser)
    add_processes(parser)


def run(options: argparse.Namespace) -> Answer:
    """Write the page and say what it rests on."""
    from reportgen.cli.progress import Progress
    from reportgen.cli.signers import file_signer, notes_on
    from reportgen.issued import not_looked_at, shown_name
    from reportgen.pipeline.filing import Sent
    from reportgen.pipeline.releasing import release_note
    from reportgen.pipeline.workers import Spread
    from reportgen.words.filing import filing_words

    passed = passed_over(options.trust)
    identity = None if options.identity == "demo" else file_signer(options)  # None: made on the spot
    with Progress("examined") as progress:
        made = release_note(
            options.area,
            options.folder,
            identity,
            options.output,
            Sent(role=options.role, organisation=options.organisation, language=options.language),
            contract=options.contract,
            trust=options.trust,
            policy=options.policy,
            registers=options.register,
            index=options.index,
            spread=Spread(options.processes),
            progress=progress,
        )
    finished(f"`{made.path}` is written")
    name, report = shown_name(made.path), full_title(made)
    facts = {"area": made.area, "contract": made.contract, "number": made.number, "revision": made.revision}
    text = f"{printable(name)}: area {printable(made.area)} is released by {printable(report)}, as of {made.as_of}"
    if made.further:
        words = filing_words("en")
        each = [words("release.further", newest=one.newest, further=one.further) for one in made.further]
        told = printable(" ".join([*each, words("release.unseen")]))
        text = f"{text}\n{told}\nhold the folder against the register: --register CONTRACT-FOLDER"
    left = not_looked_at(made.not_looked_at)
    if left is not None:
        text = f"{text}\n{printable(left)}"
    return Answer(
        data={
            **facts,
            "report_sha256": made.report_sha256,
            "as_of": made.as_of,
            "file": name,
            "sha256": made.sha256,
            "further_issues": [{"newest": one.newest, "further": one.further} for one in made.further],
            **({"not_looked_at": list(made.not_looked_at)} if left is not None else {}),
        },
        text=text,
        notes=(*passed, *notes_on(identity)),
    )
