"""Each sentence on rules applied and on steps of a derivation once, in English and in German."""

from decimal import Decimal

import pytest

from reportgen.results import Amount, Place, Word
from reportgen.results.codes import derivation, ranges, rules
from reportgen.results.facts import NOTHING
from reportgen.results.statements import statements_of
from reportgen.results.values import BudgetInput, Chance, PlanMisses
from reportgen.words.sentences import sentences

ENGLISH, GERMAN = sentences("en"), sentences("de")
D = Decimal


def mil(number):
    return Amount(D(number), "mil")


MEAN, LARGEST = Word("value-of-spots", "mean"), Word("value-of-spots", "maximum")
CONFORMS, FAILS = Word("verdict", "conforms"), Word("verdict", "does not conform")
HERE = Place("A", "3", "b")
RANGES = [
    (ranges.AtLeast(mil("2.0")), "at least 2.0 mil", "mindestens 2.0 mil"),
    (ranges.AtMost(mil("3.5")), "at most 3.5 mil", "höchstens 3.5 mil"),
    (ranges.Below(mil("3.5")), "below 3.5 mil", "unter 3.5 mil"),
    (ranges.Between(D("2.0"), mil("3.5")), "2.0 to 3.5 mil", "2.0 bis 3.5 mil"),
    (ranges.BetweenBelow(D("2.0"), mil("3.5")), "2.0 to below 3.5 mil", "2.0 bis unter 3.5 mil"),
]
TO_EVEN = "rounded to the last digit of the limit, an exact half to the even digit"
UP = "rounded to the last digit of the limit, an exact half up"
BESIDE_U = "; the distance to the limit is compared with U unrounded"
COMMON = (
    (
        "gauge, calibration, resolution and film are common to all readings; one spot is never surer than two: "
        "where each location has one, the scatter of the locations stands for that of spots"
    ),
    (
        "Messuhr, Kalibrierung, Auflösung und Folie sind allen Messwerten gemeinsam; ein Messpunkt ist nie sicherer "
        "als zwei: wo jede Messstelle einen hat, steht die Streuung der Messstellen für die der Punkte"
    ),
)
FLAT = (
    (
        "t distribution about the measured value, within the limits as stated, which no rounding extends; every profile"
        " is held to be as likely as any other beforehand (a flat prior)"
    ),
    (
        "t-Verteilung um den Messwert, innerhalb der Grenzen, wie sie angegeben sind: keine Rundung erweitert sie; "
        "vorab gilt jede Rautiefe als gleich wahrscheinlich (flache Vorverteilung)"
    ),
)
MISSED = (
    (
        "1 location chosen at random would pass an area with a probability of 0.80 where 20 % of its locations do not "
        "conform"
    ),
    (
        "mit 1 zufällig gewählten Messstelle geht eine Fläche durch mit einer Wahrscheinlichkeit von 0.80, wo 20 % "
        "ihrer Messstellen abweichen"
    ),
)

APPLIED = [
    (rules.PROFILE_REQUIRED.of(rules.ProfileRequired(RANGES[3][0], "ASTM D4417 Method C", "2021")),
     "2.0 to 3.5 mil, ASTM D4417 Method C, edition 2021", "2.0 bis 3.5 mil, ASTM D4417 Method C, Ausgabe 2021"),
    (rules.LOCATION_VALUE.of(rules.LocationValue(MEAN, 2)), "mean of 2 spots per location",
     "Mittel aus 2 Messpunkten je Messstelle"),
    (rules.LOCATION_VALUE.of(rules.LocationValue(LARGEST, 1)), "maximum of 1 spot per location",
     "Höchstwert aus 1 Messpunkt je Messstelle"),
    (rules.METHOD_EDITION.of(rules.MethodEdition(MEAN, 2, "2021")), "mean of 2 in edition 2021; the contract governs",
     "Mittel aus 2 in der Ausgabe 2021; der Vertrag geht vor"),
    (rules.GRADE_STATED.of(rules.GradeStated("medium G")), "medium G as limits", "mittel G als Grenzen"),
    (rules.FILM.of(rules.FilmThickness(mil("2.0"), Amount(D(50), "um"))),
     "2.0 mil or 50 µm, taken off in the unit of the gauge",
     "2.0 mil oder 50 µm, in der Einheit der Messuhr abgezogen"),
    (rules.OVERLAP["average"].of(NOTHING),
     ("average: a reading in the overlap of the two grades calls for a second on the other grade; both in it: their "
      "mean counts; one outside: that one counts"),
     ("gemittelt: ein Messwert im Überlappungsbereich der beiden Sorten verlangt einen zweiten auf der anderen Sorte; "
      "liegen beide darin, zählt ihr Mittel; liegt einer außerhalb, zählt dieser")),
    (rules.OVERLAP["non-averaging"].of(NOTHING),
     "non-averaging: one grade alone counts: coarse below the changeover, extra coarse from there on",
     "ohne Mittelung: eine Sorte allein zählt: grob unter dem Umschaltpunkt, extra grob von dort an"),
    (rules.OVERLAP["single-grade"].of(NOTHING),
     "single-grade: one grade is enough wherever its range holds the reading",
     "eine Sorte: eine Sorte genügt überall, wo ihr Bereich den Messwert enthält"),
    (rules.TAPE_RANGES.of(NOTHING), "used in the unit of the gauge", "in der Einheit der Messuhr verwendet"),
    (rules.DECISION["simple"].of(NOTHING),
     "simple: a value within the limits conforms; a value at the limit has a risk of up to 50 %",
     "einfach: ein Wert innerhalb der Grenzen erfüllt; ein Wert auf der Grenze birgt ein Risiko von bis zu 50 %"),
    (rules.DECISION["guarded"].of(NOTHING),
     "guarded: a value inside the limits by at least U conforms; within them but nearer, it is measured again",
     ("mit Sicherheitsband: ein Wert, der um mindestens U innerhalb der Grenzen liegt, erfüllt; liegt er innerhalb, "
      "aber näher daran, wird noch einmal gemessen")),
    (rules.DECISION["banded"].of(NOTHING),
     "banded: within the expanded uncertainty U of a limit, on either side, the verdict is inconclusive",
     ("mit Bändern: liegt ein Wert auf einer der beiden Seiten um weniger als die erweiterte Unsicherheit U neben "
      "einer Grenze, bleibt das Urteil offen")),
    (rules.ROUNDING["half-up"].of(NOTHING), UP,
     "auf die letzte Stelle der Grenze gerundet, genau eine Hälfte aufwärts"),
    (rules.SAMPLING["length-rate"].of(NOTHING), "length rate", "nach Länge"),
    (rules.SAMPLING["fixed"].of(NOTHING), "fixed", "feste Zahl"),
    (rules.OWN_PLACE.of(NOTHING), "a reading counts for the areas of its own place, and for no others",
     "eine Messung zählt für die Flächen ihres eigenen Ortes und für keine anderen"),
    (rules.MAGNUS.of(NOTHING), "Magnus form over water", "Magnus-Formel über Wasser"),
    (rules.PSYCHROMETER.of(rules.ByPsychrometer(Word("psychrometer", "ams"))), "AMS psychrometer coefficient",
     "Psychrometerkonstante nach AMS"),
    (rules.MARGIN.of(rules.MarginJudged(Amount(D(3), "delta_degC"))),
     "steel at least 3 °C above the dew point, judged in this unit",
     "Stahl mindestens 3 °C über dem Taupunkt, in dieser Einheit beurteilt"),
    (rules.UNCERTAINTY.of(NOTHING), "root sum of squares, effective degrees of freedom, factor from t",
     "Wurzel der Quadratsumme, effektive Freiheitsgrade, Faktor aus t"),
    (rules.BUDGET.of(NOTHING), *COMMON),
    (rules.PROBABILITY.of(NOTHING), *FLAT),
    (rules.ROUNDING["half-even"].of(NOTHING), TO_EVEN,
     "auf die letzte Stelle der Grenze gerundet, genau eine Hälfte zur geraden Ziffer"),
    (rules.ROUNDING_BESIDE_U["half-even"].of(NOTHING), TO_EVEN + BESIDE_U,
     ("auf die letzte Stelle der Grenze gerundet, genau eine Hälfte zur geraden Ziffer; der Abstand zur "
      "Grenze wird ungerundet mit U verglichen")),
    (rules.ROUNDING_BESIDE_U["half-up"].of(NOTHING), UP + BESIDE_U,
     ("auf die letzte Stelle der Grenze gerundet, genau eine Hälfte aufwärts; der Abstand zur Grenze wird "
      "ungerundet mit U verglichen")),
    (rules.ROUNDING_BESIDE_U["none"].of(NOTHING), "none: the unrounded value is compared (absolute method)",
     "keine: der ungerundete Wert wird verglichen"),
    (rules.METHOD_UNKNOWN.of(rules.MethodUnknown("House method", "3")),
     "what `House method`, edition 3, says itself is not known here; the contract governs",
     "was `House method`, Ausgabe 3, selbst sagt, ist hier nicht bekannt; der Vertrag geht vor"),
    (rules.COMPARISONS.of(rules.Comparisons(1)),
     "1 comparison per location; the grade seen is judged, and there is no number",
     "1 Vergleich je Messstelle; beurteilt wird der gesehene Grad, eine Zahl gibt es nicht"),
    (rules.COMPARISON_EDITION.of(rules.ComparisonEdition(2, "2012")),
     "2 comparisons per location in edition 2012; the contract governs",
     "2 Vergleiche je Messstelle in der Ausgabe 2012; der Vertrag geht vor"),
    (rules.GRADES_COMPARED.of(NOTHING),
     ("a grade holds every profile from its own segment to below the next; it conforms where all of them are allowed, "
      "does not where none is, and else there is no verdict. A comparison has no uncertainty: none is stated, and no "
      "guard band enters"),
     ("ein Grad umfasst jede Rautiefe von seinem eigenen Segment bis unter das nächste; er erfüllt, wo alle davon "
      "zulässig sind, erfüllt nicht, wo keine es ist, und sonst bleibt das Urteil offen. Ein Vergleich hat keine "
      "Messunsicherheit: Angegeben wird keine, und kein Sicherheitsband geht ein")),
    (rules.EVERY_LOCATION.of(NOTHING), "every location must conform; the mean does not decide",
     "jede Messstelle muss erfüllen; der Mittelwert entscheidet nicht"),
    (rules.SAMPLING["per-shift-and-apparatus"].of(NOTHING), "per shift and apparatus, each counted by itself",
     "je Schicht und Strahlgerät, jedes für sich gezählt"),
    (rules.SAMPLING["area-rate"].of(NOTHING), "area rate", "nach Flächeninhalt"),
    (rules.REPEATABILITY_STATED.of(rules.RepeatabilityStated(Amount(D("0.15"), "mil"), 240, "reports 1 to 20")),
     "0.15 mil with 240 degrees of freedom, stated: reports 1 to 20",
     "0.15 mil mit 240 Freiheitsgraden, angegeben: reports 1 to 20"),
    (rules.OUTLIERS.of(rules.OutlierTest(6)),
     "two-sided at 5 %, from 6 locations on, beyond the gauge's resolution; never removed",
     "zweiseitig auf 5 %, ab 6 Messstellen, jenseits der Auflösung der Messuhr; nie entfernt"),
]  # fmt: skip
JUDGED = derivation.Judged(
    FAILS, D("1.9"), Word("band", "conditional fail"), D("0.3121")
)  # fmt: skip
HUMIDITY_INPUT = BudgetInput(
    Word("component", "relative humidity"), Amount(D("3"), "%"), Word("distribution", "rectangular"), D("1.732"),
    D("0.20"), D("0.346"), Word("budget-source", "limits-of-error"), D("47.0"),
)  # fmt: skip
STEPS = [
    (derivation.SPOT.of(NOTHING, HERE), "location 3, spot b", "Messstelle 3, Messpunkt b"),
    (derivation.ON_TAPE.of(derivation.OnTape("x1", Word("tape-grade", "extra coarse"), mil("5.0"), mil("3.0"))),
     "x1 (extra coarse): 5.0 mil, net 3.0 mil", "x1 (extra grob): 5.0 mil, ohne Folie 3.0 mil"),
    (derivation.SEEN.of(derivation.Seen("medium G")), "seen: medium G", "gesehen: medium G"),
    (derivation.BESIDE_COMPARATOR.of(NOTHING),
     "every profile that the grade holds against the limits; no number and no uncertainty",
     "jede Rautiefe, die der Grad umfasst, gegen die Grenzen; keine Zahl und keine Messunsicherheit"),
    (derivation.MISSES.of(NOTHING), "what the plan can miss", "was der Plan übersehen kann"),
    (derivation.AT_RANDOM.of(NOTHING), "locations chosen at random, none that does not conform is accepted",
     "Messstellen zufällig gewählt, keine abweichende wird angenommen"),
    (derivation.MISSED.of(derivation.CanMiss(PlanMisses(1, (Chance(20, D("0.80")),)))), *MISSED),
    (derivation.BY_GAUGE.of(derivation.ByGauge(Amount(D(75), "um"))), "gauge: 75 µm", "Messgerät: 75 µm"),
    (derivation.STANDS.of(NOTHING), "the reading stands", "der Messwert gilt"),
    (derivation.TWO_GRADES.of(derivation.ByTwoGrades(Word("overlap-rule", "average"), mil("2.0"))),
     "rule for two tape grades: average; film of 2.0 mil taken off",
     "Regel für zwei Bandsorten: gemittelt; Folie von 2.0 mil abgezogen"),
    (derivation.LOCATION.of(NOTHING, HERE), "location 3", "Messstelle 3"),
    (derivation.LACKING.of(NOTHING, HERE), "spot b", "Messpunkt b"),
    (derivation.ALL_SPOTS.of(NOTHING), "a location has a value when all its spots have one",
     "eine Messstelle hat einen Wert, wenn alle ihre Messpunkte einen haben"),
    (derivation.OF_SPOT.of(derivation.Number(D("1.90")), HERE), "spot b: 1.90", "Messpunkt b: 1.90"),
    (derivation.BY_SPOTS.of(derivation.ValueOf(LARGEST)),
     "maximum of the spots, exactly, in the unit of the specification",
     "Höchstwert der Messpunkte, exakt, in der Einheit der Spezifikation"),
    (derivation.CAME.of(derivation.Came(mil("2.45"))), "2.45 mil", "2.45 mil"),
    (derivation.VERDICT.of(NOTHING, HERE), "location 3, verdict", "Messstelle 3, Urteil"),
    (derivation.COMPARED.of(derivation.Number(D("2.45"))), "2.45", "2.45"),
    (derivation.LIMITS.of(rules.RangeOf(RANGES[3][0])), "limits 2.0 to 3.5 mil", "Grenzen 2.0 bis 3.5 mil"),
    (derivation.EXPANDED.of(derivation.Expanded(D("0.40"), D("2.45"))), "U = 0.40 (k = 2.45)", "U = 0.40 (k = 2.45)"),
    (derivation.JUDGED_BY.of(derivation.JudgedBy(Word("decision-rule", "guarded"), Word("rounding", "half-even"))),
     "guarded, rounding method, half to even", "mit Sicherheitsband, mit Rundung, Hälfte zur geraden Ziffer"),
    (derivation.JUDGED.of(JUDGED),
     ("does not conform; compared: 1.9; outside the limits, nearer to them than U; probability of conformity 0.3121"),
     ("nicht erfüllt; verglichen: 1.9; außerhalb der Grenzen, näher daran als U; Konformitätswahrscheinlichkeit "
      "0.3121")),
    (derivation.JUDGED.of(derivation.Judged(Word("verdict", "inconclusive"))), "inconclusive", "offen"),
    (derivation.OF_LOCATION.of(NOTHING), "uncertainty of a location", "Unsicherheit einer Messstelle"),
    (derivation.OF_MEAN.of(NOTHING), "uncertainty of the mean", "Unsicherheit des Mittels"),
    (derivation.ROOT_SUM.of(NOTHING), "root sum of squares, factor from t", "Wurzel der Quadratsumme, Faktor aus t"),
    (derivation.BUDGET_INPUT.of(HUMIDITY_INPUT),
     "relative humidity: 3 %, rectangular, over 1.732, times 0.20: 0.346",
     "relative Feuchte: 3 %, Rechteck, geteilt durch 1.732, mal 0.20: 0.346"),
    (derivation.OF_RESULT.of(derivation.OfResult(Word("quantity", "dew-point-margin"))),
     "uncertainty of the margin of the steel above the dew point",
     "Unsicherheit: Abstand des Stahls vom Taupunkt"),
    (derivation.RESULT_EXPANDED.of(
        derivation.Combined(Amount(D("0.50"), "delta_degC"), Amount(D("1.0"), "delta_degC"), D("1.96"))),
     "u = 0.50 °C, k = 1.96, U = 1.0 °C",
     "u = 0.50 °C, k = 1.96, U = 1.0 °C"),
    (derivation.AT_EACH.of(NOTHING), "U as at each location", "U wie bei jeder Messstelle"),
    (derivation.MEAN_EXPANDED.of(derivation.Expanded(D("0.40"), D("2.45"))), "U = 0.40, k = 2.45",
     "U = 0.40, k = 2.45"),
    (derivation.SAMPLING.of(NOTHING), "sampling", "Stichprobe"),
    (derivation.REGULAR.of(derivation.Count(1)), "1 regular location", "1 reguläre Messstelle"),
    (derivation.REGULAR.of(derivation.Count(5)), "5 regular locations", "5 reguläre Messstellen"),
    (derivation.PLAN.of(derivation.PlanNamed(Word("plan", "length-rate"))), "length rate", "nach Länge"),
    (derivation.REQUIRED.of(derivation.Count(3)), "3 required", "3 gefordert"),
    (derivation.NOT_KNOWN.of(NOTHING), "number required not known", "geforderte Zahl nicht bekannt"),
    (derivation.MEAN.of(NOTHING), "mean of the locations", "Mittel der Messstellen"),
    (derivation.AT_LOCATION.of(derivation.Number(D("2.90")), HERE), "location 3: 2.90", "Messstelle 3: 2.90"),
    (derivation.ARITHMETIC.of(NOTHING), "arithmetic mean; it does not decide",
     "arithmetisches Mittel; es entscheidet nicht"),
    (derivation.MEAN_CAME.of(derivation.Mean(D("73.0"), 2, D("3.54"))), "73.0, s = 3.54, n = 2",
     "73.0, s = 3.54, n = 2"),
    (derivation.DECISION.of(NOTHING), "decision", "Entscheidung"),
    (derivation.RECOMMENDED.of(NOTHING),
     "rework where something does not conform, hold where something is missing, else release",
     "Nacharbeit, wo etwas nicht erfüllt; zurückgestellt, wo etwas fehlt; sonst Freigabe"),
    (derivation.BY_INSPECTOR.of(NOTHING), "recommendation of the inspector under the contract",
     "Empfehlung des Prüfers nach dem Vertrag"),
    (derivation.CONCLUDED.of(derivation.Concluded(CONFORMS, Word("decision", "release"))), "conforms: release",
     "erfüllt: Freigabe"),
]  # fmt: skip


@pytest.mark.parametrize(("limits", "english", "german"), RANGES)
def test_a_range(limits, english, german):
    assert (ENGLISH.shown(limits), GERMAN.shown(limits)) == (english, german)


@pytest.mark.parametrize(("stated", "english", "german"), [*APPLIED, *STEPS])
def test_a_step_or_a_rule(stated, english, german):
    assert (ENGLISH.text(stated), GERMAN.text(stated)) == (english, german)


def test_every_step_and_every_rule_of_the_profile_is_among_them():
    assert {stated.code for stated, _, _ in APPLIED} == {one.name for one in statements_of(rules)}
    assert {stated.code for stated, _, _ in STEPS} == {one.name for one in statements_of(derivation)}


def test_a_topic_is_named():
    assert (ENGLISH.topic("two-tape-grades"), GERMAN.topic("two-tape-grades")) == ("Two tape grades", "Zwei Bandsorten")
    assert ENGLISH.topic("dust") == "Dust"
    assert ENGLISH.topic("nothing of the kind") is None
    assert ENGLISH.name("profile") is None  # a requirement's row has a name of its own
