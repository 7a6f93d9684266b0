"""A contract folder that was copied, in which both copies went on: seen from the reports alone."""

import datetime as dt
import hashlib
import json
import shutil

import pytest
from pypdf import PdfReader

from tests.unit.cli.conftest import _CLOCKS, NOW

pytestmark = pytest.mark.usefixtures("stopped_clock")


@pytest.mark.parametrize("again", [True, False])
def test_two_copies_of_a_folder_that_went_on(run, contract, monkeypatch, tmp_path, again):
    """Each report follows the first; or, where one folder held all, the one before."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", *key).code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    copy = shutil.copytree(contract, tmp_path / "copy") if again else contract
    for number, folder in ((2, contract), (3, copy)):
        monkeypatch.chdir(folder)
        (folder / f"next-{number}.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{number}"), "utf-8")
        said = run("issue", f"next-{number}.yaml", *key)
        assert said.code == 0, said.err
        if folder != contract:
            shutil.copy(folder / "reports" / f"SL-1-00{number}.pdf", contract / "reports")
    trust = ("--trust", contract / "keys" / "i-tern-root.pem")
    told = json.loads(run("audit", contract / "reports", *trust, "--index", contract / "a.sqlite", "--json").out)
    forked = [one["sentence"] for one in told["problems"] if one["code"] == "register-forked"]
    sentence = (
        "SL-1-002 revision 0 and SL-1-003 revision 0 were each issued as the next after row 2 of the same register"
    )
    assert forked == ([sentence] if again else [])


FORK = "{} and {} were each issued as the next after row 2 of the same register"
OTHER = FORK.format("SL-1-002 revision 0", "SL-1-001 revision 1")
REVISED = "revision: 1, supersedes: {revision: 0, reason: a reading was misread},"


@pytest.fixture
def forked(run, contract, monkeypatch, tmp_path):
    """The contract folder with its report and the next; and a copy in which the report was revised instead."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", *key).code == 0
    copy = shutil.copytree(contract, tmp_path / "copy")
    text = (contract / "day.yaml").read_text("utf-8")
    (contract / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    assert run("issue", "next.yaml", *key).code == 0
    monkeypatch.chdir(copy)
    (copy / "day.yaml").write_text(text.replace("revision: 0,", REVISED).replace("x1: 2.9", "x1: 2.8"), "utf-8")
    assert run("issue", "day.yaml", *key).code == 0
    monkeypatch.chdir(contract)
    return copy


def verified(run, *files, more=()):
    said = run("verify", *files, "--trust", "keys/i-tern-root.pem", "--json", *more)
    return said.code, json.loads(said.out)


def test_verify_names_the_fork_of_files_given_together(run, contract, forked):
    """Of a report and a revision, of one number and another; not of what both copies have in common."""
    revision, first, second = forked / "reports/SL-1-001-r1.pdf", "reports/SL-1-001.pdf", "reports/SL-1-002.pdf"
    _, answers = verified(run, second, revision, first)
    notices = [[one["sentence"] for one in answer["notices"]] for answer in answers]
    told = f"{OTHER}: it went on in two copies, and each may hold reports that the other lacks"
    assert notices == [[told], [told], []]
    assert [one["overall"] for one in answers] == ["passed"] * 3
    assert [one["notices"][0]["name"] for one in answers[:2]] == ["REGISTER_FORKED"] * 2
    assert [one["steps"][11]["notices"] != [] for one in answers] == [True, True, False]
    assert verified(run, first, second)[1][1]["notices"] == []
    said = run("verify", second, revision, "--trust", "keys/i-tern-root.pem", "--language", "de").out
    assert "Es wurde in zwei Kopien weitergeführt" in " ".join(said.split())


def test_a_file_that_proves_nothing_accuses_nobody(run, contract, tmp_path, monkeypatch):
    """A stranger's report upon the same row is told of, and speaks of none that passes."""
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("identity", "new", "others", "--name", "I. Tern", "--organisation", "Body").code == 0
    assert run("issue", "day.yaml", "--identity", "keys/i-tern.p12").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    copy = shutil.copytree(contract, tmp_path / "copy")
    for number, folder, keys in ((2, contract, "keys"), (3, copy, "others")):
        monkeypatch.chdir(folder)
        (folder / "next.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{number}"), "utf-8")
        assert run("issue", "next.yaml", "--identity", f"{keys}/i-tern.p12").code == 0
    monkeypatch.chdir(contract)
    _, (own, strange) = verified(run, "reports/SL-1-002.pdf", copy / "reports/SL-1-003.pdf")
    assert (own["overall"], own["notices"]) == ("passed", [])
    assert (strange["overall"], [one["name"] for one in strange["notices"]]) == ("indeterminate", ["REGISTER_FORKED"])


def test_a_submittal_names_the_fork_on_its_cover(run, contract, forked, tmp_path):
    given = ["reports/SL-1-001.pdf", "reports/SL-1-002.pdf", forked / "reports/SL-1-001-r1.pdf"]
    trust = ("--trust", "keys/i-tern-root.pem")
    out = tmp_path / "s.pdf"
    said = run("submittal", *given, "--identity", "demo", *trust, "-o", out)
    assert said.code == 0, said.err
    assert "were each issued as the next after row 2 of the same register" in " ".join((said.out + said.err).split())
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "were each issued as the next after row 2 of the same register: it went on in two copies" in text
    _, (answer,) = verified(run, out)
    assert answer["steps"][9]["status"] == "passed"
    alone = run("submittal", *given[:2], "--identity", "demo", *trust, "-o", tmp_path / "alone.pdf")
    assert "two copies" not in alone.out + alone.err


def told_astray(run, given, tmp_path):
    """What audit, verify and submittal say of a row that does not follow, of the files given and no register."""
    place = tmp_path / "archive"
    place.mkdir()
    for file in given:
        shutil.copy(file, place)
    trust = ("--trust", "keys/i-tern-root.pem")
    audited = json.loads(run("audit", place, *trust, "--index", tmp_path / "a.sqlite", "--json").out)["problems"]
    made = run("submittal", place, "--identity", "demo", *trust, "-o", tmp_path / "s.pdf")
    cover = " ".join(" ".join(page.extract_text() for page in PdfReader(tmp_path / "s.pdf").pages).split())
    _, answers = verified(run, *given)
    verify = [one["sentence"] for answer in answers for one in answer["notices"]]
    return [one["sentence"] for one in audited if one["code"] == "issued-astray"], verify, made.out + made.err, cover


ASTRAY = (
    "SL-1-002 revision 0 was issued upon a row 2 of a register that does not follow from SL-1-001 revision 0 as given"
)


BEFORE_IT = "SL-1-001 revision 0 and SL-1-002 revision 0 follow each other by the numbers of their rows, but row 2 of"


@pytest.mark.parametrize("how", ["another file", "edited register", "as it was", "named otherwise"])
def test_a_row_that_the_report_before_cannot_have_left_is_told_without_a_register(run, contract, tmp_path, how):
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    copy = shutil.copytree(contract, tmp_path / "copy")
    first = () if how != "named otherwise" else ("-o", contract / "first.pdf")
    assert run("issue", "day.yaml", *key, *first).code == 0
    folder = copy if how == "another file" else contract
    if how == "another file":
        (copy / "day.yaml").write_text(text.replace("x1: 2.9", "x1: 2.8"), "utf-8")
        assert run("issue", copy / "day.yaml", *key).code == 0
    if how == "edited register":
        register, previous, lines = contract / "register.jsonl", "0" * 64, []
        for line in register.read_text("utf-8").splitlines():
            row = json.loads(line) | {"previous": previous, "verdict": "inconclusive"}
            lines.append(json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False))
            previous = hashlib.sha256(lines[-1].encode()).hexdigest()
        register.write_text("".join(f"{line}\n" for line in lines), "utf-8")
    (folder / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    issued = run("issue", folder / "next.yaml", *key)
    assert issued.code == 0, issued.err
    own = contract / ("first.pdf" if first else "reports/SL-1-001.pdf")
    audited, verify, submitted, cover = told_astray(run, [own, folder / "reports/SL-1-002.pdf"], tmp_path)
    if how in ("as it was", "named otherwise"):
        assert (audited, verify, "does not follow" in submitted + cover) == ([], [], False)
        return
    assert [len(audited), len(verify)] == [1, 2]
    assert verify[0].startswith(BEFORE_IT)
    assert all(ASTRAY in " ".join(one.split()) for one in (audited[0], verify[1], submitted, cover))


def test_reports_that_were_issued_to_another_folder_accuse_nobody(run, contract, monkeypatch, tmp_path):
    """Nothing moved: the row states where each lies, and so does the folder that is given, or one above it."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    trust = ("--trust", contract / "keys" / "i-tern-root.pem")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    final, beside = contract / "final" / "2026", tmp_path / "beside"
    for place in (final, beside):
        place.mkdir(parents=True)
    (contract / "inner").mkdir()
    folder = contract / "inner"
    shutil.copy(contract / "project.yaml", folder)
    files = [final / "hill-tank.pdf", beside / "gate.pdf", folder / "reports" / "SL-1-003.pdf"]
    for number, file in enumerate(files, 1):
        (folder / f"{number}.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{number}"), "utf-8")
        out = () if number == 3 else ("-o", file)
        said = run("issue", folder / f"{number}.yaml", *key, *out)
        assert said.code == 0, said.err
    (folder / "register.jsonl").rename(tmp_path / "kept-aside")
    audited = json.loads(run("audit", contract, *trust, "--index", tmp_path / "a.sqlite", "--json").out)["problems"]
    assert "issued-astray" not in [one["code"] for one in audited]
    monkeypatch.chdir(final)
    assert [one["notices"] for one in verified_by(run, trust, "hill-tank.pdf", *files[1:])] == [[], [], []]
    out = tmp_path / "s.pdf"
    made = run("submittal", *files, "--identity", "demo", *trust, "-o", out)
    assert (made.code, "does not follow" in made.out + made.err) == (0, False)
    (answer,) = verified_by(run, trust, out)
    assert answer["steps"][9]["status"] == "passed"
    listed = json.loads(PdfReader(out).attachments["submittal.json"][0])["reports"]
    paths = [one.get("registered_as") for one in listed]
    assert paths == ["../final/2026/hill-tank.pdf", "../beside/gate.pdf", None]


def verified_by(run, trust, *files):
    return json.loads(run("verify", *files, *trust, "--json").out)


def test_a_submittal_of_files_whose_place_in_the_register_is_unknown_is_made_the_same_again(run, contract, tmp_path):
    key = ("--identity", contract / "keys" / "i-tern.p12")
    trust = ("--trust", contract / "keys" / "i-tern-root.pem")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    assert run("issue", "day.yaml", *key, "-o", contract / "odd.pdf").code == 0
    (contract / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    assert run("issue", "next.yaml", *key).code == 0
    (contract / "odd.pdf").rename(contract / "first.pdf")
    out = tmp_path / "s.pdf"
    made = run("submittal", "first.pdf", "reports/SL-1-002.pdf", "--identity", "demo", *trust, "-o", out)
    assert "or an earlier file was issued to another folder (-o)" in " ".join((made.out + made.err).split())
    (answer,) = verified_by(run, trust, out)
    assert answer["steps"][9]["status"] == "passed"


def test_what_the_register_knows_is_not_called_astray(run, contract, tmp_path):
    """An honest report that was issued elsewhere and renamed: only the register tells, and it does."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    assert run("issue", "day.yaml", *key, "-o", tmp_path / "odd.pdf").code == 0
    (contract / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    assert run("issue", "next.yaml", *key).code == 0
    place = tmp_path / "archive"
    place.mkdir()
    shutil.move(tmp_path / "odd.pdf", place / "first.pdf")
    shutil.copy("reports/SL-1-002.pdf", place)
    given = ("--trust", "keys/i-tern-root.pem", "--register", ".")
    audited = run("audit", place, *given, "--index", tmp_path / "a.sqlite", "--json").out
    assert "issued-astray" not in [one["code"] for one in json.loads(audited)["problems"]]
    _, answers = verified(run, *sorted(place.iterdir()), more=("--register", "."))
    assert [one["notices"] for one in answers] == [[], []]
    _, alone = verified(run, *sorted(place.iterdir()))
    told = [one["sentence"] for answer in alone for one in answer["notices"]]
    assert len(told) == 2
    assert all(
        f"{one} file was issued to another folder (-o) or has another name since; only" in sentence
        for one, sentence in zip(("an earlier", "the earlier"), sorted(told, key=len), strict=True)
    )


def test_where_the_register_has_not_the_file_nothing_stands_by_it(run, contract, forked):
    """That of the other copy names the fork; the standing is known by neither."""
    revision = forked / "reports/SL-1-001-r1.pdf"
    _, (answer,) = verified(run, revision, more=("--register", "."))
    assert (answer["overall"], answer["standing"]) == ("failed", "unknown")
    (reason,) = answer["reasons"]
    assert "is signed but not in the register, which went on otherwise: SL-1-002 revision 0 and" in reason["sentence"]
    assert answer["steps"][11]["status"] == "not done"
    _, (answer,) = verified(run, "reports/SL-1-001.pdf", more=("--register", forked))
    assert (answer["overall"], answer["standing"]) == ("passed", "superseded by revision 1")
    _, (answer,) = verified(run, "reports/SL-1-002.pdf", more=("--register", "."))
    assert (answer["overall"], answer["standing"]) == ("passed", "current")


def test_an_audit_with_a_register_names_forks_and_what_is_missing(run, contract, forked, tmp_path):
    place = tmp_path / "archive"
    place.mkdir()
    shutil.copy(forked / "reports/SL-1-001-r1.pdf", place)
    shutil.copy(contract / "reports/SL-1-001.pdf", place)
    audit = ("audit", place, "--trust", "keys/i-tern-root.pem", "--index", tmp_path / "a.sqlite", "--json")
    told = json.loads(run(*audit).out)
    assert told["by_code"] == {}
    told = json.loads(run(*audit, "--register", ".").out)
    found = {one["code"]: (one["number"], one["sentence"], one["weight"]) for one in told["problems"]}
    assert set(found) == {"file-failed", "register-forked", "report-missing"}
    assert found["register-forked"][1] == f"{FORK.format('SL-1-001 revision 1', 'SL-1-002 revision 0')}"
    missing = "SL-1-002 revision 0 is in the register and not among the files"
    assert found["report-missing"] == ("SL-1-002", missing, "fault")
    german = " ".join(run(*audit[:-1], "--register", ".", "--language", "de").out.split())
    assert "SL-1-001-r1.pdf: SL-1-001 Revision 1 (`SL-1-001-r1.pdf`) ist unterschrieben, steht aber nicht im" in german
    assert "SL-1-002 Revision 0 steht im Register und ist nicht unter den Dateien" in german
    out = tmp_path / "a.pdf"
    run(*audit[:-1], "--register", ".", "--language", "de", "-o", out)
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "ist unterschrieben, steht aber nicht im Register, das anders weiterging" in pages
    assert "is signed but not in the register" not in pages
    shutil.copy(contract / "reports/SL-1-002.pdf", place)
    told = json.loads(run(*audit, "--register", ".").out)
    assert set(told["by_code"]) == {"file-failed", "register-forked"}


def test_a_register_is_not_rebuilt_from_a_fork(run, contract, forked):
    shutil.copy(forked / "reports/SL-1-001-r1.pdf", "reports")
    (contract / "register.jsonl").unlink()
    said = run("register", "rebuild", ".", "--trust", "keys/i-tern-root.pem")
    assert said.code == 2
    assert FORK.format("SL-1-001 revision 1", "SL-1-002 revision 0") in " ".join((said.out + said.err).split())


UNLIKE = (
    "{} and {} were issued upon rows {} that are not the same: of these numbers there is more than one register, or it "
    "was changed in between; only the registers tell which"
)


def test_two_registers_of_one_numbering_are_told_from_their_reports(run, contract, monkeypatch, tmp_path):
    """Two folders that were each begun anew: no row is the same, and no report is the one before the other."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text, copy = (contract / "day.yaml").read_text("utf-8"), shutil.copytree(contract, tmp_path / "copy")
    for folder, numbers in ((contract, (1, 3, 5)), (copy, (2, 4, 6))):
        monkeypatch.chdir(folder)
        for number in numbers:
            (folder / f"day-{number}.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{number}"), "utf-8")
            said = run("issue", f"day-{number}.yaml", *key)
            assert said.code == 0, said.err
    monkeypatch.chdir(contract)
    given = [(contract if number % 2 else copy) / f"reports/SL-1-00{number}.pdf" for number in (3, 4, 5, 6)]
    audited, verify, submitted, cover = told_astray(run, given, tmp_path)
    sentence = UNLIKE.format("SL-1-003 revision 0", "SL-1-004 revision 0", 2)
    assert audited == [sentence]
    assert verify == [sentence] * 2
    assert all(sentence in " ".join(one.split()) for one in (submitted, cover))
    (alone,) = {one["sentence"] for answer in verified(run, *given[-2:])[1] for one in answer["notices"]}
    assert alone == UNLIKE.format("SL-1-005 revision 0", "SL-1-006 revision 0", 4)
    german = " ".join(run("verify", *given, "--trust", "keys/i-tern-root.pem", "--language", "de").out.split())
    assert "wurden nach Zeilen 2 ausgestellt, die nicht dieselben sind" in german


def test_two_blocks_of_numbers_are_two_registers(run, contract, monkeypatch, tmp_path):
    """Two crews of a contract, each with a folder and a pattern of its own."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    project = (contract / "project.yaml").read_text("utf-8")
    text, copy = (contract / "day.yaml").read_text("utf-8"), shutil.copytree(contract, tmp_path / "copy")
    for folder, block in ((contract, 1), (copy, 2)):
        monkeypatch.chdir(folder)
        numbered = project.replace("contract: SL-1,", f"contract: SL-1, report_numbers: SL-1-{block}##,")
        (folder / "project.yaml").write_text(numbered, "utf-8")
        (folder / "day.yaml").unlink()
        for number in (f"SL-1-{block}01", f"SL-1-{block}02"):
            (folder / f"{number}.yaml").write_text(text.replace("SL-1-001", number), "utf-8")
            said = run("issue", f"{number}.yaml", *key)
            assert said.code == 0, said.err
    monkeypatch.chdir(contract)
    given = [folder / f"reports/SL-1-{block}02.pdf" for folder, block in ((contract, 1), (copy, 2))]
    audited, verify, submitted, cover = told_astray(run, given, tmp_path)
    assert (audited, verify, "not the same" in submitted + cover) == ([], [], False)


@pytest.mark.parametrize("how", ["at once", "days later", "lost and rebuilt", "revised"])
def test_a_register_that_was_repaired_accuses_nobody(run, contract, monkeypatch, tmp_path, how):
    """The run was interrupted before its last row, and a later start closed it; a lost register was made again."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    trust = ("--trust", contract / "keys" / "i-tern-root.pem")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text, register = (contract / "day.yaml").read_text("utf-8"), contract / "register.jsonl"
    assert run("issue", "day.yaml", *key).code == 0
    whole = register.read_text("utf-8")
    if how == "lost and rebuilt":
        register.unlink()
        assert run("register", "rebuild", ".", *trust).code == 0
    else:
        register.write_text(whole.splitlines(keepends=True)[0], "utf-8")
    moments = [NOW + dt.timedelta(hours=20), NOW + dt.timedelta(hours=120)] if how == "days later" else [NOW]
    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: moments[0])
    if how == "days later":  # the same command again closes the row, and is refused
        assert run("issue", "day.yaml", *key).code == 2
    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: moments[-1])
    following = text.replace("SL-1-001", "SL-1-002")
    if how == "revised":
        following = text.replace("revision: 0,", REVISED).replace("x1: 2.9", "x1: 2.8")
    (contract / "next.yaml").write_text(following, "utf-8")
    said = run("issue", "next.yaml", *key)
    assert said.code == 0, said.err
    assert register.read_text("utf-8").startswith(whole) is (how == "lost and rebuilt")
    for place in (".verifying", ".filing", ".auditing"):
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: moments[-1])
    given = sorted((contract / "reports").glob("*.pdf"))
    audited, verify, submitted, cover = told_astray(run, given, tmp_path)
    assert (audited, verify, "does not follow" in submitted + cover) == ([], [], False)


@pytest.mark.parametrize("how", ["written", "announced alone", "waited for", "put back"])
def test_a_repair_and_a_run_that_was_waited_for_put_no_clock_back(run, contract, monkeypatch, how):
    """The moment of an issue is later than every row before it, unless the clock was put back."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text, register = (contract / "day.yaml").read_text("utf-8"), contract / "register.jsonl"
    seconds = iter(range(1, 100))
    monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: NOW + dt.timedelta(seconds=next(seconds)))
    assert run("issue", "day.yaml", *key).code == 0
    if how in ("written", "announced alone"):
        register.write_text(register.read_text("utf-8").splitlines(keepends=True)[0], "utf-8")
    if how == "announced alone":
        (contract / "reports" / "SL-1-001.pdf").unlink()
    if how == "waited for":  # that one began later, and had the register sooner
        seconds = iter([0, *range(100, 200)])
    if how == "put back":
        monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda: NOW)
    (contract / "next.yaml").write_text(text.replace("SL-1-001", "SL-1-002"), "utf-8")
    said = run("issue", "next.yaml", *key)
    assert said.code == 0, said.err
    rows = [json.loads(line) for line in register.read_text("utf-8").splitlines()]
    assert len(rows) == 4
    assert [row["clock_back"] for row in rows] == [False, False, *[how == "put back"] * 2]


@pytest.mark.parametrize("way", ["right", "back", "back for two", "put right by an hour"])
def test_an_issue_with_the_clock_set_back_is_named_by_the_rows(run, contract, monkeypatch, tmp_path, way):
    """The signed row shows which report was there already; the one after it states a time before that of the first."""
    key = ("--identity", contract / "keys" / "i-tern.p12")
    assert run("identity", "new", "keys", "--name", "I. Tern", "--organisation", "Body").code == 0
    text = (contract / "day.yaml").read_text("utf-8")
    (contract / "day.yaml").unlink()
    hours = {"right": (480, 481, 482), "back": (480, 0, 482), "back for two": (480, 0, 1)}.get(way, (480, 479, 482))
    for place, after in enumerate(hours, start=1):
        monkeypatch.setattr("reportgen.pipeline.issuing.now", lambda after=after: NOW + dt.timedelta(hours=after))
        (contract / f"day-{place}.yaml").write_text(text.replace("SL-1-001", f"SL-1-00{place}"), "utf-8")
        said = run("issue", f"day-{place}.yaml", *key)
        assert said.code == 0, said.err
    for place in _CLOCKS:
        monkeypatch.setattr(f"reportgen.pipeline{place}.now", lambda: NOW + dt.timedelta(hours=500), raising=False)
    audited = run("audit", "reports", "--trust", "keys/i-tern-root.pem", "--index", tmp_path / "a", "--json").out
    problems = [one for one in json.loads(audited)["problems"] if one["code"] == "issued-before"]
    back = {"back": ["SL-1-002"], "back for two": ["SL-1-002", "SL-1-003"]}.get(way, [])
    assert [(one["number"], one["weight"]) for one in problems] == [(number, "doubt") for number in back]
    for one in problems:
        assert one["sentence"].endswith("that SL-1-001 revision 0 left, issued on 2026-05-24 15:10 UTC")
