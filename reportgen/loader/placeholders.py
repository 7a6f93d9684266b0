"""Entries that are still to be filled in: harmless while a day is typed, false under a signature.

A placeholder is a text in angle brackets, alone or beside something else, or what is left of one where a bracket was
deleted. That is what the starter files write for what they cannot know, and it is a rule of form, so that no list has
to be kept. In free text people use angle brackets for their own ends; there only the words of the starter files
themselves are placeholders.

So is an entry that says no more than that it is to come (`TBD`, `wird nachgereicht`), wherever it stands; and, where
something is told by name or number, one that tells it from nothing else: no letter or digit, one letter over and over,
`n/a`, `unknown`, `from the certificate`. These words are a list, in English and German (`names`, and below): a form
they do not have. Numbers have one: a digit, or a code in capitals; and a name is not made of words for names and roles,
numbered or lettered (`Inspector 1`), or behind a title alone (`Ms X`). A number that counts, such as 12345, is mostly
typed to get on, and may be one: it is still to be filled in until its record says ``confirmed: yes``. That holds no
steel, for how a gauge reads does not hang on its number, and is asked once a contract.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from reportgen.diagnostics import Diagnostic
from reportgen.job import PLACEHOLDER, place_name
from reportgen.names import (
    counts_on,
    is_no_number,
    is_to_come,
    names_anybody,
    plain_words,
    tells_nothing,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from reportgen.yamlsource import Document

_NUMBERS: Final = {
    "serial": "write the serial number as it stands on the instrument; where there is none, give it one, marked on it",
    "lot": "write the lot number as it stands on the roll or its box; where there is none, give it one, marked on it",
    "certificate": "write the number of the certificate, or leave this line out",
}
"""Numbers, and what to write where there stands none."""
_FORMER: Final = frozenset(
    {"(client)", "(contractor)", "(site)", "(inspection body)", "(address)", "(from the certificate)"}
)
"""What the starter files of the first release wrote; contracts begun with it are in use."""


FREE_TEXT: Final = frozenset(
    {
        "remarks",
        "reason",
        "description",
        "corrective_action",
        "evidence",
        "caption",
        "change",
        "thrown_away",
        "weather",
        "wind",
        "equipment",
        "agreements",
        "deviations",
        "results_from_others",
        "client_data",
    }
)
"""Fields in which a person writes sentences."""

IN_FREE_TEXT: Final = ("<reason why it was not inspected>", "<what is wrong, where, and the clause>")
"""What the starter files write into those."""

NOT_TAKEN: Final = "<entries of this area that were not taken in>"
"""What intake writes for an area of which something was written and nothing could be taken in."""

_CALLED: Final = {
    "name": "name firmenname firma company project projekt",
    "organisation": "organisation organization firmenname firma company",
    "address": "address anschrift adresse street road town city postcode strasse hausnummer ort stadt plz",
    "contract": "contract vertrag vertragsnummer no nr nummer number",
    "client": "client auftraggeber auftraggebers auftraggeberin name firmenname firma company",
    "contractor": "contractor auftragnehmer auftragnehmers name firmenname firma company",
    "site": "site place location baustelle ort standort",
    "document": "",
    "make": "make maker manufacturer hersteller brand marke",
    "model": "model modell type typ",
}
"""Fields that tell one instrument, roll, person or contract from others, and what each is called.

A text of these and the following words alone says what belongs there, and not it.
"""

_TELLING: Final = frozenset((*_CALLED, *_NUMBERS))

_BESIDE: Final = re.compile(
    "a|an|and|the|of|its|your|ihre?|company|client|firma|auftraggebers|number|no|nr|nummer|id|name|work|gauge|"
    "inspection|body|structure|area|person|inspector|apparatus|abrasive|"
    "here|goes|enter|insert|put|write|please|hier|bitte|eintragen|der|die|das|des|dem|den|vom|von|und|bauwerks|fläche"
)

_ROLES: Final = (
    "inspector;coating inspector;client;owner;contractor;engineer;supervisor;foreman;"
    "inspection body;quality control;quality manager;prüfer;prüferin;inspektor;inspektorin;inspekteur;"
    "ingenieur;ingenieurin;bauleiter;bauleiterin;bauherr;bauherrin;auftraggeber;auftraggeberin;auftragnehmer;auftragnehmerin;vorarbeiter;vorarbeiterin;"
    "polier;prüfstelle;beschichtungsprüfer;beschichtungsprüferin"
)
_OF_A_NAME: Final = frozenset(plain_words(
    "name full first last middle given family surname forename vorname nachname familienname zuname vor und and or of "
    "the your my ihr ihre der die das des company firm firma firmenname organisation organization client contractor "
    "owner contact auftraggeber auftragnehmer bauherr ansprechpartner"
))  # fmt: skip
_OF_A_ROLE: Final = frozenset(plain_words(
    "project site lead chief senior resident responsible person inspecting projekt baustelle leitend verantwortlich "
    "lorem ipsum"
))  # fmt: skip
_OF_ANYBODY: Final = frozenset(plain_words(
    "user operator technician tester employee worker staff qc qa insp mitarbeiter mitarbeiterin benutzer techniker"
))  # fmt: skip
"""Words of which no name consists: those of what it is called, and of a person those of roles too. The last stand for
anybody only where they are numbered, or beside others."""
_STRUCTURE: Final = frozenset(
    ["name", "name of the structure", "name of the area", "name des bauwerks", "name der fläche"]
)
_LABELS: Final = {
    **dict.fromkeys(("client", "contractor", "organisation", "site"), frozenset(_ROLES.split(";"))),
    "name": frozenset((*_ROLES.split(";"), "name")),
    "document": frozenset([
        "specification", "specifications", "spec", "document", "contract", "name", "title",
        "specification and revision", "specification number", "name of the specification", "title of the specification",
        "name of the document", "spezifikation", "dokument", "vertrag", "titel",
        "spezifikation und ausgabe", "name der spezifikation", "titel des dokuments",
    ]),
    "clause": frozenset(
        ["clause", "clause of the contract", "clause of the contract with these limits", "abschnitt",
         "ziffer", "klausel"]
    ),
    "apparatus": frozenset(["apparatus", "name of the apparatus", "name des strahlgeräts"]),
    "abrasive": frozenset([
        "abrasive", "lot", "name and lot", "name and lot of the abrasive", "abrasive and lot",
        "strahlmittel", "charge", "strahlmittel und charge", "name und charge",
        "name und charge des strahlmittels",
    ]),
}  # fmt: skip
_ARTICLES: Final = frozenset(["the", "your", "der", "die", "das", "ihr", "ihre"])
"""What fields that `new` fills, and those beside them, are called, and the roles of people: whole values that name
nothing. German for one blasting apparatus may be all that a site calls it by."""

_MADE_UP: Final = frozenset(["test", "demo", "example", "sample", "dummy", "beispiel", "muster"])
_MADE_UP_NAME: Final = re.compile(
    r"(?:muster|beispiel)(?:firma|kunde|mann|frau|projekt|stadt|ort|hausen|strasse|weg)|ltd|limited|inc|gmbh|ag|\d+"
)
"""What is written to try the program, and the made-up names of German forms.

The first are refused alone, with the words above, or in the name of a company; a loaned `Demo 3` has a number. They are
left alone in names of areas and structures: a test area is blasted too.
"""

_ANYBODY: Final = _OF_A_NAME | _OF_A_ROLE | _OF_ANYBODY | _MADE_UP | set(plain_words(_ROLES))
_PLACES: Final = frozenset({"site", "client", "contractor"})
"""Fields that may hold the name of a town alone: Leer is one, and a word for what is empty."""
_INITIAL_TEST: Final = re.compile(r"[A-Z]\. Test")
"""A surname, with its initial."""

_YOURS: Final = re.compile(
    r"(?i)(?:your|my|ihre|meine) (?:company|firma|organi[sz]ation)(?: (?:ltd|limited|inc|llc|plc|gmbh|ag))?\.?"
)
_UNNUMBERED: Final = re.compile(r"(?i)[-_/](?:x{2,})?\Z")
"""A report number whose last part is still to come: `R-7-`, `R-7-XXX`."""

_PERSON: Final = frozenset({"client_contact", "contact", "organisation"})
"""Fields of the project file that say who, as the name of a person does; those of the day file are refused as they are
read."""

_MAYBE_TO_COME: Final = re.compile(
    r"(?i)\bt\.?b\.?[acd]\b|\bto ?(?:do|be)\b|follow|pending|fill|here|place|later|sp(?:ä|ae)ter|kommt|folgt|nach|aus|"
    r"tragen|füllen|fuellen|zu |\?|number: *\S*[-_/]x*[\"',}\s]|"
    r"(?:apparatus|abrasive|clause): *[\"']?(?:the |name|apparatus|abrasive|clause|strahlmittel|lot|charge|abschnitt|"
    r"ziffer)"
)
"""What a file has in which such words may stand, so that long ones without are not read word by word."""

_BRACKETED: Final = re.compile(r"\A<(?=\S)[^<>]+(?<=\S)>\Z|<(?=[^\W\d])[^<>]+(?<=\S)>|&lt;[^<>&]+&gt;")
"""Anything in brackets alone, or beside something else where it does not begin as a measure does: `depth <900 mm>`."""
_HALF: Final = re.compile(r"(?<!\w)<(?=[^\W\d])[^<>]*\Z|\A[^<>]*[^\W\d]>(?!\w)")
"""What is left where one bracket was deleted: before or behind a letter, for beside numbers it is a sign."""
_LIKE_BRACKETS: Final = str.maketrans("\uff1c\uff1e\ufe64\ufe65\u27e8\u27e9\u2329\u232a", "<><><><>")


def unfilled(document: Document) -> tuple[Diagnostic, ...]:
    """Return the entries of a file that hold a placeholder, in the order of the file."""
    left_over = []  # what intake could not take: what was written there is still to be entered
    entries = document.data.get("not_taken")
    for index, entry in enumerate(entries if isinstance(entries, list) else ()):
        where = entry.get("where", "") if isinstance(entry, dict) else entry
        message = f"`{where}` was not taken in, and is still to be entered"
        help_text = "enter what was meant where it belongs, then delete this entry of `not_taken`"
        left_over.append(Diagnostic(PLACEHOLDER, message, (document.span(("not_taken", index)),), help_text))
    text = document.lines.text.translate(_LIKE_BRACKETS)
    told = any(f"{field}:" in text for field in (_TELLING | _PERSON) - {"contract"})
    told = told or any(one[1:-1] in text for one in (*IN_FREE_TEXT, NOT_TAKEN))
    if not {"<", ">", "(", "&"} & set(text) and not told and not _MAYBE_TO_COME.search(text):
        return tuple(left_over)
    empty = tuple(
        Diagnostic(
            PLACEHOLDER,
            f"`{place_name(loc)}` is still to be filled in",
            (document.span(loc),),
            _help(loc, text, within),
        )
        for loc, text, within in _held(document.data)
        if within is not None
    )
    return (*empty, *left_over)


def places_unfilled(data: Mapping[str, Any]) -> Iterator[tuple[int | str, ...]]:
    """Yield where the plain data of a file hold a placeholder, or say what intake could not take in."""
    entries = data.get("not_taken")
    yield from (("not_taken", index) for index in range(len(entries) if isinstance(entries, list) else 0))
    for loc, _, within in _held(data):
        if within is not None:
            yield loc


def _held(data: Mapping[str, Any]) -> Iterator[tuple[tuple[int | str, ...], str, str | None]]:
    """Yield where the texts of a file stand, with each the first placeholder in it; not of what was not taken in."""
    texts = [(loc, text.strip()) for loc, text in _texts({**data, "not_taken": {}}, ())]
    sure = {loc[:-1] for loc, text in texts if (loc[-1], text) == ("confirmed", "yes")}
    yield from ((loc, text, _placeholder(loc, text, sure)) for loc, text in texts)


def _placeholder(
    loc: tuple[int | str, ...], text: str, sure: Collection[tuple[int | str, ...]]
) -> str | None:  # fmt: skip
    """Return the first placeholder of a text; None where there is none. ``sure`` are entries looked at again."""
    if _counts(loc, text) and loc[:-1] not in sure:
        return text
    if is_to_come(text) or _names_none(loc, text) or (loc[-1] in _NUMBERS and is_no_number(text)):
        return text
    if FREE_TEXT & {part for part in loc[-1:] if isinstance(part, str)}:
        known = next((one for one in (*IN_FREE_TEXT, NOT_TAKEN) if one[1:-1] in text), None)
        return known if known is None or known in text else text  # with a bracket deleted
    return _within(text) or (text if text in _FORMER else None)


def _counts(loc: tuple[int | str, ...], text: str) -> bool:
    """Whether a text is the number of an instrument or a roll, and counts on."""
    return loc[-1] in _NUMBERS and loc[0] != "people" and counts_on(text)


def _names_none(loc: tuple[int | str, ...], text: str) -> bool:
    """Whether a text names nothing and nobody where it has to, or only what was made up."""
    field = str(loc[-1])
    who = field in _PERSON or (loc[0] == "people" and field == "name")
    named = (who or field in _TELLING) and loc[0] != "structures"
    if (field in _PLACES and text.casefold() == "leer") or (who and _INITIAL_TEST.fullmatch(text)):
        return False
    if (named and _YOURS.fullmatch(text)) or (loc == ("report", "number") and _UNNUMBERED.search(text)):
        return True
    return (
        _is_label(loc, field, text)
        or _tells_none(field, text)
        or (who and names_anybody(text, _ANYBODY))
        or (named and _is_made_up(field, text))
    )


def _is_label(loc: tuple[int | str, ...], field: str, text: str) -> bool:
    """Whether a text is only what its field, or the role of who belongs there, is called: `Inspector`."""
    label = _STRUCTURE if loc[0] == "structures" and field == "name" else _LABELS.get(field)
    person = field in ("client_contact", "contact") or (loc[0] == "people" and field == "name")
    if person or field in ("client", "contractor", "organisation") or loc == ("inspection_body", "name"):
        known = _OF_A_NAME | _OF_A_ROLE | set(plain_words(_ROLES)) if person else _OF_A_NAME
        parts = plain_words(re.sub(r"['\u2019]s\b", "", text))
        if parts and all(word in known or word.removesuffix("s") in known for word in parts):
            return True  # `Vorname Nachname`, `Project engineer`
    first, *words = plain_words(text) or ("",)
    return label is not None and " ".join(words if first in _ARTICLES else (first, *words)) in label


def _tells_none(field: str, text: str) -> bool:
    """Whether a text tells nothing where it has to, or only what is to stand there: `n/a`, `serial number`."""
    if field not in _TELLING or tells_nothing(text):
        return field in _TELLING
    words, called = plain_words(text), _CALLED.get(field, "").split()
    if field == "address" and len(words) > 1 and not (len(words) == 2 and words[0].isdigit()):  # `1 Street` may be one
        parts = [word for word in words if not word.isdigit()]
        if len(words) - len(parts) == 1 and all(one in (*called, "no", "nr", "name") for one in parts):
            return True  # a form with a number in it: `12 Street Name, City`
    own = [word for word in words if word in called and word not in ("firma", "company")]  # a body may be called so
    return "".join(words) in called or bool(
        own and all(map(_BESIDE.fullmatch, (word for word in words if word not in own)))
    )


def _is_made_up(field: str, text: str) -> bool:
    """Whether a text was only written to try the program: `test`, `demo serial`, `Musterstraße 1, Musterstadt`."""
    words, called = plain_words(text), _CALLED.get(field, "").split()
    rest = [word for word in words if word not in called and not _BESIDE.fullmatch(word)]
    names = [word for word in rest if word not in _MADE_UP]
    if not all(map(_MADE_UP_NAME.fullmatch, names)):
        return False
    return any(word[:6] in ("muster", "beispi") for word in rest) or (
        len(names) < len(rest) and not any(map(str.isdigit, rest))
    )


def _within(text: str) -> str | None:
    """Return the first placeholder by its brackets, or what is left of one, as written."""
    plain = text.translate(_LIKE_BRACKETS)
    within = _BRACKETED.search(plain) or _HALF.search(plain)
    return text[slice(*within.span())] if within else None


def in_brackets(field: str, text: str) -> str | None:
    """Return what a field would be taken to have still to be filled in: ``<b>`` in a name; None in a sentence."""
    return None if field in FREE_TEXT else _within(text)


def _help(loc: tuple[int | str, ...], text: str, placeholder: str) -> str:
    if _counts(loc, text):
        return f"{_NUMBERS[str(loc[-1])]}; where `{text}` stands there, add `confirmed: yes` to this entry"
    bracketed = placeholder.translate(_LIKE_BRACKETS)
    if placeholder in _FORMER or not {"<", ">"} & set(bracketed):
        person = loc[0] == "people" and loc[-1] == "name"
        own = "write the name of the person, not of the role" if person else "write what belongs there here"
        return _NUMBERS.get(str(loc[-1]), own)
    if text == placeholder and _BRACKETED.fullmatch(bracketed):
        return f"write the {placeholder[1:-1]} here"
    return f"replace `{placeholder}`, brackets included, or delete it"


def _texts(value: Any, loc: tuple[int | str, ...]) -> Iterator[tuple[tuple[int | str, ...], str]]:
    if isinstance(value, str):
        yield loc, value
        return
    for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
        yield from _texts(inner, (*loc, part))
