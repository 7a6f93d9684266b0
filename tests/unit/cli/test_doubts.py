"""Slips of an inspector's thumb, through the command line: asked about, and not released before they are answered."""

import json

import pytest

DAY = "2026-06-08.yaml"
SALTS = "area: 12.5 cm2, volume: 3 ml, blank: 1.8 uS/cm, sample: 8.1"
SLIPS = [
    (
        "steel: 14.5 degC",
        "steel: 85 degC",
        "K-1, K-2, 10:30, gate hall: steel 85 °C, 69.5 °C from the air",
        ["K-1", "K-2"],
    ),
    ("17.0 degC, humidity: 61", "55 degC, humidity: 61", "10:20, weir bridge: air 55 °C", ["G-1", "G-2", "G-3"]),
    (SALTS, SALTS.replace("12.5 cm2", "12.25 m2"), "G-2 location 1: patch of 12.25 m²", ["G-2"]),
    (SALTS, SALTS.replace("12.5 cm2", "1225 cm2"), "G-2 location 1: patch of 1225 cm²", ["G-2"]),
    ("pressure: 700 kPa", "pressure: 7 kPa", "06:58, pot A: air pressure 7 kPa", ["G-1", "G-2", "G-3"]),
    ("{location: 3, spot: a, x1: 3.1}", "{location: 3, spot: a, x1: 3.10}", "G-1: 3.10 mil on g1", ["G-1"]),
    ("{location: 1, spot: a, x1: 2.7}", "{location: 1, spot: a, x1: 0.27}", "spot a on x1: 0.27 mil", ["G-3"]),
]


def slipped(demo, right, wrong):
    day = demo / DAY
    text = day.read_text("utf-8")
    assert right in text
    day.write_text(text.replace(right, wrong, 1), "utf-8")
    return day


def decisions(run, day):
    code, out, _ = run("check", day, "--json")
    evaluation = json.loads(out)
    kinds = {one["code"] for one in evaluation["findings"]} & {"entry-doubtful", "entry-confirmed"}
    return code, {area["id"]: area["decision"] for area in evaluation["areas"]}, kinds


@pytest.mark.parametrize(("right", "wrong", "said", "areas"), SLIPS)
def test_a_slip_is_asked_about_and_not_released(run, demo, right, wrong, said, areas):
    day = slipped(demo, right, wrong)
    code, decided, kinds = decisions(run, day)
    assert (code, kinds) == (1, {"entry-doubtful"})
    assert [area for area, decision in decided.items() if decision != "release"] == [*areas, "H-1"]
    out = " ".join(run("check", day).out.split())
    assert said in out
    assert "correct it, or write `confirmed: yes` beside it" in out
    assert "[entry-doubtful]" in out


def test_what_is_odd_and_true_is_confirmed_and_printed(run, demo):
    from pypdf import PdfReader

    day = slipped(demo, "steel: 20.5 degC", "steel: 41.0 degC, confirmed: yes")
    code, decided, kinds = decisions(run, day)
    assert (code, kinds) == (0, {"entry-confirmed"})
    assert {area for area, decision in decided.items() if decision != "release"} == {"H-1"}
    assert run("draft", day, "-o", "draft.pdf").code == 0
    pages = " ".join(" ".join(page.extract_text() for page in PdfReader("draft.pdf").pages).split())
    assert "steel 41.0 °C, 21.5 °C from the air, confirmed" in pages


@pytest.mark.parametrize("confirmed", ["yes", "no"])
def test_a_reading_is_confirmed_in_its_row_or_its_line(run, demo, confirmed):
    day = slipped(
        demo, "{location: 3, spot: a, x1: 3.1}", f"{{location: 3, spot: a, x1: 3.10, confirmed: {confirmed}}}"
    )
    csv = demo / "readings" / "2026-06-08-G-2.csv"
    lines = csv.read_text("utf-8").splitlines()
    lines = [
        f"{line},{word}" for line, word in zip(lines, ["confirmed", *[""] * (len(lines) - 2), confirmed], strict=True)
    ]
    lines[-1] = lines[-1].replace("3.0,mil", "3.00,mil")
    csv.write_text("\n".join(lines) + "\n", "utf-8")
    code, decided, kinds = decisions(run, day)
    assert kinds == {"entry-confirmed" if confirmed == "yes" else "entry-doubtful"}
    assert (code, decided["G-1"], decided["G-2"]) == (
        (0, "release", "release") if confirmed == "yes" else (1, "hold", "hold")
    )


@pytest.mark.parametrize("where", ["row", "csv"])
def test_a_confirmation_is_yes_or_no(run, demo, where):
    day = demo / DAY
    if where == "row":
        slipped(demo, "{location: 3, spot: a, x1: 3.1}", "{location: 3, spot: a, x1: 3.1, confirmed: sure}")
    else:
        csv = demo / "readings" / "2026-06-08-G-2.csv"
        head, *lines = csv.read_text("utf-8").splitlines()
        csv.write_text("\n".join([f"{head},confirmed", *(f"{line},sure" for line in lines)]) + "\n", "utf-8")
    code, _, err = run("check", day)
    assert (code, "error[JOB127]: `sure` is neither yes nor no" in err) == (2, True)
