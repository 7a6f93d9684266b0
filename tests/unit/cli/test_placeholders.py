"""What `new` leaves open is named by `check`, marked in a draft, and never signed."""

import io
import json
import re

import pypdf
import pytest

from tests.unit.cli.test_onsite import answers


@pytest.fixture
def crane(run, contract):
    """A new contract with only what the contract decides; and what stands in brackets in its two files."""
    assert run("new", "crane", "--date", "2026-05-04", *answers()).code == 0
    places = set()
    for name in ("project.yaml", "2026-05-04.yaml"):
        lines = (contract / "crane" / name).read_text(encoding="utf-8").split("\n")
        places |= {
            (f"crane/{name}", number)
            for number, line in enumerate(lines, start=1)
            if re.search(r"<[^<>]+>", line.partition("#")[0])
        }
    return places


@pytest.fixture
def identity(run, contract, monkeypatch):
    monkeypatch.setenv("REPORTGEN_PASSPHRASE", "a passphrase for tests")
    assert run("identity", "new", "keys", "--name", "N.Tern", "--organisation", "Body").code == 0
    return "keys/n-tern.p12"


@pytest.mark.parametrize("who", ["demo", "a signer"])
def test_none_is_signed(run, contract, crane, identity, who):
    """Every one is named with its file, its line and what to write; the register is not even begun."""
    signer = "demo" if who == "demo" else identity
    code, out, err = run("issue", "crane/2026-05-04.yaml", "--identity", signer, "--json")
    assert (code, err) == (2, "")
    told = json.loads(out)["diagnostics"]
    assert {(one["places"][0]["file"], one["places"][0]["line"]) for one in told} == crane
    assert {one["code"] for one in told} == {"JOB128"}
    assert "write the serial number of the gauge here" in {one["help"] for one in told}
    assert not (contract / "crane" / "register.jsonl").exists()
    assert list(contract.rglob("*.pdf")) == []


def test_one_of_a_batch_costs_only_itself(run, contract, crane):
    code, out, err = run("issue", "crane/2026-05-04.yaml", "day.yaml", "--identity", "demo", "--processes", "1")
    assert code == 2
    assert "crane/2026-05-04.yaml: `project.client` is still to be filled in" in err
    assert "SL-1-001" in out


def test_check_names_them_and_a_draft_shows_and_marks_them(run, contract, crane):
    _, out, _ = run("check", "crane/2026-05-04.yaml", "--all")
    listed = out.partition("To be filled in before `issue`\n")[2].partition("\n\n")[0]
    assert listed.count("\n") + 1 == len(crane)
    assert "crane/project.yaml:8: write the name of the client here" in listed
    code, _, err = run("draft", "crane/2026-05-04.yaml", "-o", "draft.pdf")
    assert code == 0
    assert f"note: {len(crane)} entries still to be filled in; `reportgen check` names them" in err
    page = pypdf.PdfReader(io.BytesIO((contract / "draft.pdf").read_bytes())).pages[0].extract_text()
    words = " ".join(page.split())
    assert f"Not fit for issue. Entries still to be filled in: {len(crane)}." in words
    assert "<name of the client>" in words
    assert run("draft", "day.yaml", "-o", "other.pdf").err == ""
    other = pypdf.PdfReader(io.BytesIO((contract / "other.pdf").read_bytes())).pages[0].extract_text()
    assert "Not fit for issue" not in other


def test_a_reason_that_nobody_gave_is_not_signed(run, contract):
    """The next shift lists what is due as not inspected; why it was not is for the inspector to say."""
    assert run("new", "--next", "day.yaml", "--date", "2026-05-05").code == 0
    following = contract / "2026-05-05.yaml"
    assert run("check", following.name).code == 1
    code, _, err = run("issue", following.name, "--identity", "demo")
    assert (code, "write the reason why it was not inspected here" in " ".join(err.split())) == (2, True)
    text = following.read_text(encoding="utf-8")
    following.write_text(text.replace("<reason why it was not inspected>", "rain"), encoding="utf-8")
    assert run("issue", following.name, "--identity", "demo").code == 0


@pytest.mark.parametrize("text", ["(from the certificate)", "(client)", "<T-1>"])
def test_those_of_the_first_release_and_of_anybody_else(run, contract, text):
    project = contract / "project.yaml"
    project.write_text(
        project.read_text(encoding="utf-8").replace("serial: T-1", f'serial: "{text}"'), encoding="utf-8"
    )
    code, _, err = run("issue", "day.yaml", "--identity", "demo")
    assert code == 2
    assert "error[JOB128]: `instruments.g1.serial` is still to be filled in" in err
    assert "project.yaml:12:" in err


@pytest.mark.parametrize(
    ("file", "before", "after"),
    [
        ("project.yaml", "serial: T-1", "serial: T-1 <serial number of the gauge>"),
        ("project.yaml", "client: Board", "client: <name of the client> Board"),
        ("project.yaml", "address: Lane 1", "address: <address of the inspection body> Lane 1"),
        ("day.yaml", "reason: scaffold", "reason: rain <reason why it was not inspected>"),
        ("day.yaml", "apparatus: pot 1", "apparatus: pot 1 <name of the apparatus>"),
    ],
)
def test_nor_one_beside_which_something_was_typed(run, contract, file, before, after):
    path = contract / file
    path.write_text(path.read_text(encoding="utf-8").replace(before, after), encoding="utf-8")
    code, _, err = run("issue", "day.yaml", "--identity", "demo")
    placeholder = re.search("<.*>", after)[0]
    assert (code, f"replace `{placeholder}`, brackets included" in " ".join(err.split())) == (2, True)
    assert f"{file}:{path.read_text(encoding='utf-8').partition(after)[0].count(chr(10)) + 1}:" in err


@pytest.mark.parametrize("beside", ["", "rain "])
def test_what_intake_could_not_take_in_is_not_signed(run, contract, beside):
    day = contract / "day.yaml"
    reason = f"{beside}<entries of this area that were not taken in>"
    text = day.read_text(encoding="utf-8").replace("reason: scaffold not released", f"reason: '{reason}'")
    day.write_text(text, encoding="utf-8")
    code, _, err = run("issue", "day.yaml", "--identity", "demo")
    assert (code, "JOB128" in err, f"day.yaml:{text.partition(reason)[0].count(chr(10)) + 1}:" in err) == (
        2,
        True,
        True,
    )


@pytest.mark.parametrize("text", ["scaffold <3 m and >2 m not", "<ask B. Hollow>", "see <plan 4>, scaffold"])
def test_brackets_in_free_text_are_text(run, contract, text):
    day = contract / "day.yaml"
    day.write_text(
        day.read_text(encoding="utf-8").replace("reason: scaffold not released", f"reason: '{text}'"), "utf-8"
    )
    assert run("issue", "day.yaml", "--identity", "demo").code == 0


NOTHING = (
    "TBD", "t.b.c.", "to be confirmed", "???", "from the certificate", "see certificate", "n/a", "N.A.", "xxx", "-",
    "--", "...", "unknown", "not known", "unbekannt", "k. A.", "siehe Kalibrierschein", "vom Typenschild",
    "wird nachgereicht",
)  # fmt: skip


@pytest.mark.parametrize("written", NOTHING)
def test_what_tells_no_instrument_from_another_is_not_signed_as_its_number(run, contract, written):
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace("serial: T-1", f'serial: "{written}"'), "utf-8")
    said = run("issue", "day.yaml", "--identity", "demo", "-o", "one.pdf")
    assert said.code == 2
    assert "`instruments.g1.serial` is still to be filled in" in said.err
    assert not (contract / "one.pdf").exists()


@pytest.mark.parametrize(
    "written",
    [
        "0",
        "X",
        "NA-17",
        "XX-3",
        "A-1",
        "none",
        "111",
        "K.A. 12",
        "TBD-200",
        "unknown maker 7",
        "8",
        "XANTEN",
        "certificate 12",
    ],
)
def test_odd_numbers_are_numbers(run, contract, written):
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace("serial: T-1", f'serial: "{written}"'), "utf-8")
    assert "to be filled in" not in run("check", "day.yaml", "--all").out


def test_what_is_to_come_is_not_signed_in_any_field(run, contract):
    day = contract / "day.yaml"
    text = day.read_text("utf-8")
    for written, open_ in (("TBD", True), ("wird nachgereicht", True), ("scaffold to be done by the yard", False)):
        day.write_text(text.replace("reason: scaffold not released", f"reason: {written}"), "utf-8")
        assert ("to be filled in" in run("check", "day.yaml", "--all").out.lower()) is open_


LEFT = [
    ("project.yaml", "address: Lane 1", "address: address"),
    ("project.yaml", "address: Lane 1", "address: Anschrift"),
    ("project.yaml", "client: Board", "client: Name of the client"),
    ("project.yaml", "client: Board", "client: Name des Auftraggebers"),
    ("project.yaml", "client: Board", "client: Company name"),
    ("project.yaml", "client: Board", "client: Firmenname"),
    ("project.yaml", "serial: T-1", "serial: your serial"),
    ("project.yaml", "serial: T-1", "serial: Ihre Seriennummer"),
    ("project.yaml", "serial: T-1", "serial: No."),
    ("project.yaml", "serial: T-1", "serial: Nr."),
    ("project.yaml", "serial: T-1", "serial: &lt;serial&gt;"),
    ("project.yaml", "address: Lane 1", "address: <address>"),
    ("project.yaml", "address: Lane 1", "address: <1 Quay Lane, Harbour>"),
    ("project.yaml", "address: Lane 1", "address: Lane 1 <address of the"),
    ("project.yaml", "serial: T-1", "serial: \uff1cserial\uff1e"),
    ("project.yaml", "serial: T-1", "serial: T-1 \u27e8serial number of the gauge\u27e9"),
    ("project.yaml", "serial: T-1", "serial: serial number of the gauge>"),
    ("project.yaml", 'lot: "7"', "lot: <lot number of the coarse tape"),
    ("day.yaml", "abrasive: steel grit", "abrasive: steel grit <lot"),
    ("day.yaml", "abrasive: steel grit", "abrasive: name and lot> steel grit"),
    ("day.yaml", "reason: scaffold not released", "reason: <reason why it was not inspected"),
    ("day.yaml", "reason: scaffold not released", "reason: reason why it was not inspected"),
    *(("project.yaml", "serial: T-1", f"serial: {text}") for text in (
        "serial number", "Serial no.", "S/N", "serial number of the gauge", "Seriennummer des Messgeräts",
    )),
    *(("project.yaml", 'lot: "7"', f"lot: {text}") for text in ("lot number", "the lot number of the tape", "Charge")),
    ("project.yaml", "client: Board", "client: Name of the client"),
    ("project.yaml", "contractor: Blasters", "contractor: Auftragnehmer"),
    ("project.yaml", "name: I. Tern", "name: Name"),
    ("project.yaml", "site: Weir", "site: the site"),
    *(("project.yaml", "serial: T-1", f"serial: {text}") for text in (
        "serial number here", "Seriennummer hier", "test", "Demo serial", "sample",
    )),
    *(("project.yaml", "client: Board", f"client: {text}") for text in ("Firma", "Example Ltd", "Muster GmbH")),
    *(("project.yaml", "address: Lane 1", f"address: {text}") for text in (
        "street, town", "Straße, Ort", "Musterstraße 1, 12345 Musterstadt",
    )),
    ("project.yaml", "name: I. Tern", "name: Demo"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "before", "after"), LEFT)
def test_nor_what_is_left_of_one(run, contract, file, before, after):
    path = contract / file
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(before, f"{after.partition(': ')[0]}: '{after.partition(': ')[2]}'"), "utf-8")
    said = run("issue", "day.yaml", "--identity", "demo", "-o", "one.pdf")
    assert (said.code, "error[JOB128]" in said.err) == (2, True)
    assert not (contract / "one.pdf").exists()
    assert f"{file}:{text.partition(before)[0].count(chr(10)) + 1}:" in said.err


LABELS = [
    *(("project.yaml", "name: I. Tern", f"name: {one}") for one in (
        "Inspector", "INSPECTOR", "the inspector", "Prüferin", "Prüfer", "Engineer", "Auftraggeber", "Inspection body",
    )),
    *(("project.yaml", "client: Board", f"client: {one}") for one in ("Owner", "Contractor", "Bauherr")),
    *(("project.yaml", "contractor: Blasters", f"contractor: {one}") for one in ("client", "Auftraggeber")),
    *(("project.yaml", "name: Body", f"name: {one}") for one in ("Inspection Body", "Prüfstelle", "inspector")),
    *(("project.yaml", "document: SL-1 Part 2", f"document: {one}") for one in (
        "Specification", "specification", "Spec.", "Spezifikation", "Document", "Vertrag", "specification and revision",
        "Spezifikation und Ausgabe", "n/a",
    )),
    ("project.yaml", "name: Sluice", "name: name of the structure"),
    ("project.yaml", "name: gate", "name: Name der Fläche"),
    *(("day.yaml", "apparatus: pot 1", f"apparatus: {one}") for one in ("apparatus", "Name of the apparatus")),
    *(("day.yaml", "abrasive: steel grit", f"abrasive: {one}") for one in (
        "Abrasive", "name and lot of the abrasive", "Strahlmittel und Charge",
    )),
]  # fmt: skip


@pytest.mark.parametrize(("file", "before", "after"), LABELS)
def test_what_a_field_or_a_role_is_called_is_not_signed_in_its_place(run, contract, file, before, after):
    test_nor_what_is_left_of_one(run, contract, file, before, after)


TOLD = [
    *(("project.yaml", "name: I. Tern", f"name: {one}") for one in ("A. Prüfer", "I. Engineer", "Client, B.")),
    ("project.yaml", "client: Board", "client: Owners Board"),
    ("project.yaml", "contractor: Blasters", "contractor: Bauherr & Sons"),
    *(
        ("project.yaml", "document: SL-1 Part 2", f"document: {one}")
        for one in (
            "Specification 7",
            "Project Specification",
            "Leistungsverzeichnis",
            "Vertrag 12",
            "Coating specification, rev. B",
        )
    ),
    ("project.yaml", "name: Sluice", "name: Structure 4"),
    ("project.yaml", "name: gate", "name: Area"),
    ("project.yaml", "role: inspector", "role: coating inspector"),
    ("day.yaml", "apparatus: pot 1", "apparatus: Strahlgerät"),
    ("day.yaml", "abrasive: steel grit", "abrasive: grit, lot 4"),
    ("project.yaml", "address: Lane 1", "address: Address House, Lane 1"),
    ("project.yaml", "client: Board", "client: Client Board"),
    ("project.yaml", "contractor: Blasters", "contractor: Contractor 2000"),
    ("project.yaml", "site: Weir", "site: Site C"),
    ("project.yaml", "name: Sluice,", "name: Inspection area,"),
    ("project.yaml", 'lot: "7"', "lot: Charge 7"),
    ("project.yaml", "serial: T-1", "serial: SN-7"),
    ("day.yaml", "abrasive: steel grit", "abrasive: steel grit <2 mm"),
    ("day.yaml", "abrasive: steel grit", "abrasive: grit, >0.4 mm and <2 mm"),
    ("day.yaml", "apparatus: pot 1", "apparatus: pot 1, depth <900 mm>"),
    ("project.yaml", "site: Weir", "site: Weir R&D, R & D; T"),
    ("project.yaml", "serial: T-1", "serial: No. 7"),
    ("project.yaml", "serial: T-1", "serial: DEMO-3"),
    ("project.yaml", "client: Board", "client: Testa GmbH"),
    ("project.yaml", "client: Board", "client: Inspection Company"),
    ("project.yaml", "address: Lane 1", "address: 1 Test Road"),
    ("project.yaml", "name: gate,", "name: test area,"),
    ("day.yaml", "apparatus: pot 1", "apparatus: pot 1 -> east"),
    ("day.yaml", "apparatus: pot 1", "apparatus: pot A>B"),
    ("day.yaml", "reason: scaffold not released", "reason: the reason is rain"),
    ("day.yaml", "reason: scaffold not released", "reason: <ask B. Hollow"),
]


@pytest.mark.parametrize(("file", "before", "after"), TOLD)
def test_what_tells_something_is_taken(run, contract, file, before, after):
    path = contract / file
    path.write_text(
        path.read_text("utf-8").replace(
            before,
            f"{after.partition(': ')[0]}: '{after.partition(': ')[2].strip(',')}'"
            + ("," if after.endswith(",") else ""),
        ),
        "utf-8",
    )
    said = run("check", "day.yaml", "--all")
    assert "To be filled in" not in said.out
    assert "error" not in said.err


STILL_LEFT = [
    *(("serial: T-1", f"serial: '{one}'") for one in (
        "insert here", "insert serial", "put serial here", "write serial here", "type here", "fill me in", "enter here",
        "your text here", "hier eintragen", "bitte eintragen", "bitte ausfüllen", "eintragen", "a.n.", "same", "ditto",
    )),
    *(("address: Lane 1", f"address: '{one}'") for one in (
        "insert address here", "12 Street Name, City", "No. 1, Street, Town", "Address 1",
    )),
]  # fmt: skip


@pytest.mark.parametrize(("before", "after"), STILL_LEFT)
def test_what_asks_to_be_filled_in_is_not_signed(run, contract, before, after):
    project = (contract / "project.yaml").read_text("utf-8")
    (contract / "project.yaml").write_text(project.replace(before, after), "utf-8")
    said = run("issue", "day.yaml", "--identity", "demo", "-o", "one.pdf")
    assert (said.code, "still to be filled in" in said.err) == (2, True)


@pytest.mark.parametrize(
    ("before", "after"),
    [("client: Board", "client: Leer"), ("name: I. Tern", "name: A. Test"), ("address: Lane 1", "address: 1 Street"),
     ("address: Lane 1", "address: Main Street 1"), ("address: Lane 1", "address: 12 Test Lane")],
)  # fmt: skip
def test_towns_and_people_may_be_called_so(run, contract, before, after):
    project = (contract / "project.yaml").read_text("utf-8")
    assert before in project
    (contract / "project.yaml").write_text(project.replace(before, after), "utf-8")
    assert "to be filled in" not in run("check", "day.yaml", "--all").out


@pytest.mark.parametrize(
    ("file", "before", "after"),
    [
        ("project.yaml", "name: Body", "name: Your Company Ltd"), ("project.yaml", "name: Body", "name: My Company"),
        ("day.yaml", "number: SL-1-001", "number: SL-1-XXX"), ("day.yaml", "number: SL-1-001", "number: SL-1-"),
    ],
)  # fmt: skip
def test_nor_a_company_or_a_number_that_is_still_anybodys(run, contract, file, before, after):
    path = contract / file
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after), "utf-8")
    assert run("issue", "day.yaml", "--identity", "demo", "-o", "one.pdf").code == 2
    assert not (contract / "one.pdf").exists()


NO_NUMBERS = (
    "Serien-Nr.", "from cert", "Zertifikatsnummer", "certificate", "Lot number", "lorem ipsum", "foo", "XXX-XXX", "%s",
    "the gauge", "Thickness gauge", "Gauge serial", "kind", "calibrated", "see plate", "*", "xX-xx", "__serial__",
    "Rolle", "vom Ger\u00e4t", "abc", "S/N:", "SERIAL NO.", "LOT", "XXX-1", "xxx1", "0000", "000-000", "LOT 00",
)  # fmt: skip
NUMBERS = (
    "T-1", "0042", "SN-7", "SN 118", "A", "7", "Charge 118", "L-0", "TEST-9", "XX-12", "Batch 7", "Lot 7", "N-A-7",
    "2026-01", "NN-4", "S/N 88", "DEMO-3", "X", "SN-A", "ABD", "Lot A", "?12", "gauge 4", "12", "1042",
    "T-1234", "23456", "100",
)  # fmt: skip
FORMS = (
    "Vorname Nachname", "First name Last name", "Name des Pr\u00fcfers", "Project engineer", "Your name", "Full name",
    "Inspector's name", "first, last", "Name of the inspector", "Vor- und Nachname", "Lead Inspector",
    "Name of the client's contact", "Inspector 1", "Inspector A", "Inspector no. 2", "Mr Inspector", "Ms X",
    "Herr N. N.", "Test Inspector", "Demo user", "QC Inspector", "Pr\u00fcferin B", "X", "Mr.", "Person 3",
)  # fmt: skip
NAMES = (
    "A. Pr\u00fcfer", "S. Inspector", "Ann Given", "P. Project", "Last, B.", "E. Engineer", "Site, C.", "V. Name",
    "Owner-Hill, D.", "Na Mei", "Chief R. Hill", "B. Leitend", "Inspector, A.", "Mr S. Inspector", "A. Tester",
    "Ms Renn", "Hill B", "I. Tern 2", "A. B.", "User-Hill, A.",
)  # fmt: skip


@pytest.mark.parametrize(("before", "written", "says"), [
    *((before, one, "") for before in ("serial: T-1", 'lot: "7"') for one in NUMBERS),
    *(("name: I. Tern", one, "") for one in NAMES),
    *(("client: Board", one, "") for one in ("Inspection Company", "Owners Board", "Firma Hill", "First Coatings")),
    *(("serial: T-1", one, "write the serial number as it stands on the instrument; where") for one in NO_NUMBERS
      if one != "LOT"),
    *(('lot: "7"', one, "write the lot number as it stands on the roll") for one in NO_NUMBERS if "S" not in one),
    *(("name: I. Tern", one, "write the name of the person, not of the role") for one in FORMS),
    *(("client: Board", one, "write what belongs there") for one in ("Name of your firm", "Firma des Auftraggebers")),
])  # fmt: skip
def test_a_number_has_a_digit_or_a_code_and_a_name_more_than_words_for_names(run, contract, before, written, says):
    project = (contract / "project.yaml").read_text("utf-8")
    assert before in project
    (contract / "project.yaml").write_text(project.replace(before, f"{before.partition(':')[0]}: '{written}'" if
        "'" not in written else f'{before.partition(":")[0]}: "{written}"'), "utf-8")  # fmt: skip
    out = " ".join(run("check", "day.yaml", "--all").out.split())
    assert ("To be filled in" in out) is bool(says)
    assert says in out


COUNTED = ("ABC", "12345", "1234567890", "SN 1234", "ABC-123", "4321", "9999")


@pytest.mark.parametrize(
    ("before", "of"), [("serial: T-1", "instruments.g1.serial"), ('lot: "7"', "tape_rolls.x1.lot")]
)
@pytest.mark.parametrize("written", COUNTED)
def test_a_number_that_counts_is_asked_about_and_taken_once_it_is_confirmed(run, contract, before, of, written):
    """It holds no steel, and a gauge may have it: whoever looked again says so beside it, once for the contract."""
    project = contract / "project.yaml"
    text = project.read_text("utf-8")
    key = before.partition(":")[0]
    project.write_text(text.replace(before, f"{key}: '{written}'"), "utf-8")
    said = run("issue", "day.yaml", "--identity", "demo")
    assert (said.code, f"`{of}` is still to be filled in" in said.err) == (2, True)
    assert f"where `{written}` stands there, add `confirmed: yes` to this entry" in " ".join(said.err.split())
    assert "release" in run("check", "day.yaml", "--all").out
    project.write_text(text.replace(before, f"{key}: '{written}', confirmed: yes"), "utf-8")
    assert run("issue", "day.yaml", "--identity", "demo").code == 0


def test_nothing_else_is_taken_for_being_confirmed(run, contract):
    project = contract / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("serial: T-1", "serial: XXX-1, confirmed: yes"), "utf-8")
    assert run("issue", "day.yaml", "--identity", "demo").code == 2
