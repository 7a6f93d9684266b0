"""For the engineer and the auditor, sent as the pages send it: reports filed, a folder audited and asked."""

import html
import shutil

import pytest

from tests.e2e.test_open_following import SECRET, issued
from tests.unit.browser.site import Site

WHOSE = {"made": "d-rusketh.p12", "passphrase": SECRET, "organisation": "Ostrel Surface Inspection"}


@pytest.fixture
def reports(site, folder, identities):
    """The folder's reports, the first of which is issued."""
    issued(site)
    return folder / "reports"


def files_report(site, reports, **given):
    """Send the form that files every report."""
    names = [f"reports/{one.name}" for one in sorted(reports.iterdir())]
    return site.post("/file", {**WHOSE, "report": names, **given})


def text_of(answer):
    return html.unescape(answer.text)


def test_reports_are_filed_with_what_is_open_said_first(site, folder, reports):
    shown = text_of(site.get("/file"))
    assert "2026-06-09 is not issued: ready to issue, areas on hold" in shown
    (report,) = reports.iterdir()
    assert f"reports/{report.name}" in shown
    answer = files_report(site, reports, reference="S-1")
    assert "submittal-1.pdf is written: 1 report on" in text_of(answer)
    given = site.get("/file/submittal-1.pdf")
    assert given.content == (folder / "submittals" / "submittal-1.pdf").read_bytes()
    assert "submittal-1.pdf" in text_of(site.get("/file"))
    assert "submittal-2.pdf is written: 1 report on" in text_of(files_report(site, reports))  # none is enclosed in it


def test_a_countersigned_copy_is_filed_instead_of_its_original(site, reports):
    (report,) = reports.iterdir()
    for number in (1, 2, 10):
        shutil.copy(report, report.with_name(f"{report.stem}-countersigned-{number}.pdf"))
    shown = text_of(site.get("/file"))
    assert f"{report.stem}-countersigned-10.pdf" in shown
    assert f"{report.stem}-countersigned-2.pdf" not in shown
    assert report.name not in shown


def test_what_cannot_be_filed_is_refused_and_leaves_nothing(site, folder, reports):
    for sent, why in (
        ({"passphrase": ""}, "passphrase"),
        ({"passphrase": "another"}, "passphrase"),
        ({"organisation": "Somebody Else"}, "would not name the signer"),
        ({"report": []}, "Choose at least one report"),
        ({"report": ["project.yaml"]}, "there is no report"),
    ):
        answer = files_report(site, reports, **sent)
        assert "refused" in answer.text
        assert why in text_of(answer)
    assert not (folder / "submittals").exists()
    (report,) = reports.iterdir()
    data = bytearray(report.read_bytes())
    data[2000] ^= 1
    report.write_bytes(data)
    assert "refused" in files_report(site, reports).text
    assert not (folder / "submittals").exists()


@pytest.mark.parametrize(
    ("language", "what", "spoilt", "passphrase"),
    [
        ("en", "reports/{} does not verify: ", "the file was altered",
         "the passphrase does not open the identity file"),
        ("de", "reports/{} besteht die Prüfung nicht: ", "Die Datei wurde verändert",
         "Die Passphrase öffnet die Identitätsdatei nicht"),
    ],
)  # fmt: skip
def test_a_refusal_is_a_sentence_and_names_files_as_they_lie_in_the_folder(
    folder, reports, language, what, spoilt, passphrase
):
    """The path on this computer is nothing that the page told before, and no use to whoever reads it."""
    site = Site(folder, language).opened()
    assert f">{passphrase}</p>" in text_of(files_report(site, reports, passphrase="another"))
    written = text_of(files_report(site, reports))
    assert ("originals: " in written) is (language == "en")
    assert ("Originale: " in written) is (language == "de")
    assert 'lang="en"' not in written
    (report,) = reports.iterdir()
    data = bytearray(report.read_bytes())
    data[2000] ^= 1
    report.write_bytes(data)
    told = text_of(files_report(site, reports))
    assert what.format(report.name) in told
    assert spoilt in told
    assert str(folder) not in told


def test_a_listed_report_leads_to_its_page_and_what_no_register_has_says_so(site, folder, reports):
    (report,) = reports.iterdir()
    shutil.copy(report, folder / "copy.pdf")
    shown = " ".join(text_of(site.get("/file")).split())
    assert f'<a class="plain" href="/report/QW-14-IR-001/0">reports/{report.name}</a>' in shown
    unknown = "A PDF that the register of this folder does not have:"
    assert f'<b>{unknown}</b> <span class="muted">copy.pdf</span>' in shown
    assert shown.count(unknown) == 1


def test_the_engineer_chooses_what_is_filed(site, folder, reports):
    (report,) = reports.iterdir()
    shutil.copy(report, reports / "another.pdf")
    shown = text_of(site.get("/file"))
    assert "QW-14-IR-001, revision 0, 8 June 2026, release 5" in shown
    assert shown.count('name="report"') == shown.count("checked>") == 2
    answer = site.post("/file", {**WHOSE, "report": [f"reports/{report.name}"]})
    assert "1 report on" in text_of(answer)


def policy_of(folder, identities):
    """A policy and the root that it names, as the page of an audit sends them."""
    (root,) = identities.glob("*-root.pem")
    policy = b"format: 1\nroots: [root.pem]\nrequire: [timestamp]\n"
    return {"policy": ("policy.yaml", policy), "trust": ("root.pem", root.read_bytes())}


def test_an_audit_goes_by_a_policy_and_is_given_out_as_a_pdf(site, folder, reports, identities):
    assert site.get("/audit/audit.pdf").status_code == 404
    files = policy_of(folder, identities)
    assert site.post("/audit", files=files).headers.get("hx-redirect") == "/audit"
    shown = text_of(site.get("/audit"))
    assert "By the policy with SHA-256 " in shown
    assert "indeterminate 1" in " ".join(shown.split())  # without the timestamp that is required
    pdf = site.get("/audit/audit.pdf")
    assert pdf.content.startswith(b"%PDF-")
    assert pdf.headers["content-type"] == "application/pdf"
    lacking = site.post("/audit", files={"policy": files["policy"]})
    assert "the policy names `root.pem`" in text_of(lacking)
    outside = ("policy.yaml", b"format: 1\nroots: [../root.pem]\n")
    assert "the policy names `../root.pem`" in text_of(site.post("/audit", files={**files, "policy": outside}))
    assert "refused" in site.post("/audit", files={"policy": ("policy.yaml", b"rootz: []\n")}).text


def test_filing_and_verifying_go_by_a_policy_too(site, folder, reports, identities):
    files = policy_of(folder, identities)
    (report,) = reports.iterdir()
    page = "/report/QW-14-IR-001/0"
    for address in ("/file", page):
        assert 'name="policy"' in site.get(address).text
    for proof, by_policy in ((site.post(f"{page}/proof"), False), (site.post(f"{page}/proof", files=files), True)):
        assert ("By the policy with SHA-256 " in text_of(proof)) is by_policy
        assert ("indeterminate" in proof.text) is by_policy  # without the timestamp that is required
    lacking = site.post(f"{page}/proof", files={"policy": files["policy"]})
    assert "the policy names `root.pem`" in text_of(lacking)
    given = {**WHOSE, "report": [f"reports/{report.name}"]}
    assert "the policy names `root.pem`" in text_of(site.post("/file", given, files={"policy": files["policy"]}))
    assert "1 report on" in text_of(filed := site.post("/file", given, files=files))
    assert '<div class="say open">' in filed.text  # the report is proven less than the policy asks


def test_an_audit_says_how_far_it_is_while_it_runs(site, reports, monkeypatch):
    from reportgen.browser import office_views

    said, put = [], office_views._put

    def put_and_ask(count, text):
        put(count, text)
        said.append((site.get("/audit/progress").text, text_of(site.post("/audit"))))

    monkeypatch.setattr(office_views, "_put", put_and_ask)
    assert site.get("/audit/progress").text == ""
    site.post("/audit")
    ((far, second),) = said
    assert far == "1 of 1 files examined"
    assert "An audit of this folder is running." in second
    assert site.get("/audit/progress").text == ""


def test_a_folder_is_audited_and_asked(site, folder, reports):
    assert "Audit this folder" in text_of(site.get("/audit"))
    (report,) = reports.iterdir()
    spoilt = folder / "box" / "spoilt.pdf"
    spoilt.parent.mkdir()
    data = bytearray(report.read_bytes())
    data[2000] ^= 1
    spoilt.write_bytes(data)
    assert site.post("/audit").headers.get("hx-redirect") == "/audit"
    shown = text_of(site.get("/audit"))
    assert "failed 1, passed 1" in " ".join(shown.split()) or "passed 1, failed 1" in " ".join(shown.split())
    assert shown.index("box/spoilt.pdf") < shown.index(f"reports/{report.name}</b>")  # failed first
    assert "HASH_FAILURE" in shown
    only = text_of(site.get("/audit?verdict=passed"))
    assert "box/spoilt.pdf</b>" not in only
    asked = text_of(site.get("/audit?ask=contracts&value=QW-14"))
    assert '<td class="nowrap">QW-14</td>' in asked
    assert "Nothing was found." in text_of(site.get("/audit?ask=contracts&value=none"))
    assert site.get("/audit?ask=DROP").status_code == 404


def test_a_folder_of_reports_alone_opens_with_its_audit(tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    site = Site(tmp_path, "de").opened()
    assert site.get("/").headers["location"] == "/audit"
    site.post("/audit")
    assert "Nichts verlässt diesen Rechner" in site.get("/audit").text
    assert "nicht bestanden" in site.get("/audit").text


# What the pages are guarded against


def test_t3_t7_nothing_that_is_sent_to_any_page_is_taken_from_elsewhere(site, folder):
    """Every address of a form there is, new ones too."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    forms = [one.path for one in site.app.routes if "POST" in (one.methods or ())]
    assert {"/terms/write", "/terms/add", "/file", "/audit"} <= set(forms)
    for form in forms:
        address = form.replace("{day}", "2026-06-09").replace("{area}", "G-6").replace("{number}", "QW-14-IR-001")
        address = address.replace("{revision:int}", "0")
        assert "{" not in address, address
        assert site.post(address, {}, without=("x-page-key",)).status_code == 403, address
        assert site.post(address, {}, origin="http://127.0.0.1:1").status_code == 403, address
        assert site.post(address, {}, **{"sec-fetch-site": "cross-site"}).status_code == 403, address
        assert site.client.post(address).status_code == 403, address
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_t8_script_in_the_terms_in_names_of_files_and_in_reports_is_text(site, folder):
    script = "<script>alert(1)</script>"
    project = folder / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("D. Rusketh", script), "utf-8")
    (folder / "<img src=x onerror=alert(1)>.pdf").write_bytes(b"%PDF-1.7")
    site.post("/audit")
    for address in ("/terms", "/file", "/audit", "/audit?ask=files&value=%3Cscript%3Ealert(1)%3C/script%3E"):
        answer = site.get(address)
        assert answer.status_code == 200
        assert script not in answer.text
        assert "<img src=x" not in answer.text
    assert "&lt;img" in site.get("/audit").text


def test_t9_the_passphrase_of_a_submittal_is_nowhere_afterwards(site, folder, reports, capfd):
    answers = [
        files_report(site, reports, passphrase=f"{SECRET}-not"),
        files_report(site, reports),
        site.get("/file"),
    ]
    said = capfd.readouterr()
    texts = [*(one.text for one in answers), said.out, said.err, repr(vars(site.app.state))]
    texts += [path.read_bytes().decode("latin-1") for path in folder.rglob("*") if path.is_file()]
    assert [text[:80] for text in texts if SECRET in text] == []


@pytest.mark.parametrize("name", ["..%2Fproject.yaml", "project.yaml", "submittal-1.pdf%00", "submittal-1.txt"])
def test_t10_no_address_of_a_submittal_leads_elsewhere(site, folder, name):
    (folder / "submittals").mkdir()
    (folder / "submittals" / "submittal-1.txt").write_text("secret:")
    assert site.get(f"/file/{name}").status_code == 404
    (folder / "submittals" / "submittal-7.pdf").symlink_to(folder / "project.yaml")
    assert site.get("/file/submittal-7.pdf").status_code == 422


def test_t11_t12_a_hostile_root_and_a_hostile_report_are_refused_in_words(site, folder):
    (folder / "evil.pdf").write_bytes(b"%PDF-1.7" + b"[" * 200_000)
    root = {"trust": ("root.pem", b"-----BEGIN CERTIFICATE-----")}
    assert "refused" in site.post("/audit", files=root).text
    assert site.post("/audit").headers.get("hx-redirect") == "/audit"
    assert "evil.pdf" in site.get("/audit").text
    many = {f"trust{n}": ("root.pem", b"x" * 9000) for n in range(20)}
    assert site.post("/audit", files=many).status_code in (400, 413)


def test_t13_looking_at_these_pages_writes_nothing(site, folder):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for address in ("/terms", "/file", "/audit", "/audit?ask=files", "/audit/progress", "/terms/write", "/terms/add"):
        site.get(address)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
