"""How names of people and organisations are compared, what stands for a name, a pin, and how a revision is named."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

UNSEEN: Final = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
"""General categories of characters that a page does not show: control, format, unassigned, private, line ends."""
_SPELT: Final = (
    "äae öoe üue ßss æae œoe øo łl đd ðd þth ħh ıi ŋn ŧt αa βv γg δd εe ζz ηi θth ιi κk λl μm νn ξx οo πp ρr σs ςs "
    "τt υy φf χch ψps ωo аa бb вv гg ґg дd еe єye жzh зz иi іi кk лl мm нn оo пp рr сs тt уu фf хkh цts чch шsh "
    "щshch ъ ыy ь эe юyu яya ђdj јj љlj њnj ћc џdz"
)
"""Letters beyond a to z, each followed by what stands for it in an id; other accents are taken off.

Common practice of writing German, Nordic, Polish, Greek and Cyrillic names in Latin letters, not a standard: an id only
has to be read and typed.
"""
_LATIN: Final = {pair[0]: pair[1:] for pair in _SPELT.split()}


@dataclass(frozen=True, slots=True)
class Pin:
    """By which certificate a person signs: the SHA-256 of it; or the SHA-256 of its issuer's, and its subject.

    Hashes are 64 hexadecimal digits in lower case, the subject is written as in RFC 4514.
    """

    certificate: str | None = None
    issuer: str | None = None
    subject: str | None = None

    def is_of(self, certificate: str, issued_by: Collection[str], subject: str) -> bool:
        """Say whether it is that of a certificate, by the SHA-256 of it and of its issuers, and its subject."""
        if self.certificate is not None:
            return certificate == self.certificate
        return self.issuer in issued_by and subject == self.subject


def natural(name: str) -> tuple[tuple[str, int], ...]:
    """Return by what an identifier is sorted as a person counts: numbers in it by their value.

    >>> sorted(["S-10", "S-2", "T", "S-1"], key=natural)
    ['S-1', 'S-2', 'S-10', 'T']
    """
    return tuple((text, int(number or 0)) for text, number in re.findall(r"(\D*)([0-9]*)", name))


def latin(text: str) -> str:
    """Return a text in small Latin letters, as far as its own have such; the others stay.

    >>> [latin(name) for name in ("Nöra Größ", "Δέλτα", "Łódź", "Щука", "Åse Størdal", "橋")]
    ['noera groess', 'delta', 'lodz', 'shchuka', 'ase stordal', '橋']
    """
    whole = "".join(_LATIN.get(one, one) for one in unicodedata.normalize("NFC", text.lower()))
    bare = (one for one in unicodedata.normalize("NFKD", whole) if not unicodedata.combining(one))
    return "".join(_LATIN.get(one, one) for one in bare)


class Revised(Protocol):
    """What has a number, and is a revision of it."""

    @property
    def number(self) -> str:
        """Number of the report."""

    @property
    def revision(self) -> int:
        """From 0."""


def full_title(one: Revised) -> str:
    """Return number and revision as a sentence has them: ``AB-12-001 revision 0``."""
    return f"{one.number} revision {one.revision}"


def short_title(one: Revised, revision: int | None = None) -> str:
    """Return number and revision as a table has them, ``AB-12-001 r0``; ``revision`` where another of it is meant."""
    return f"{one.number} r{one.revision if revision is None else revision}"


def file_stem(one: Revised) -> str:
    """Return number and revision as the name of a file has them, without an ending: ``AB-12-001``, ``AB-12-001-r1``."""
    return f"{one.number}-r{one.revision}" if one.revision else one.number


@lru_cache(maxsize=4096)
def spelling(name: str) -> str | None:
    """Return how a name is compared: composed (NFC), case folded, blanks joined; nothing is transliterated.

    None for a name with a character that a page does not show, which therefore equals no other, not even itself.
    """
    if any(unicodedata.category(letter) in UNSEEN for letter in name):
        return None
    folded = unicodedata.normalize("NFC", name).casefold()
    return " ".join(unicodedata.normalize("NFC", folded).split())


def spelt_alike(one: str, other: str) -> bool:
    """Say whether two names are one as names are compared everywhere."""
    spelt = spelling(one)
    return spelt is not None and spelt == spelling(other)


def look_alike(one: str, other: str) -> bool:
    """Say whether two names that are not one look the same, or so nearly that a reader takes them for one."""
    return not spelt_alike(one, other) and bool(looks(one) & looks(other))


def looks(name: str) -> frozenset[tuple[str, str]]:
    """Return how a name looks, as written, in capitals and in small letters: names that share one look alike."""
    cases = {"as written": name, "capitals": name.upper(), "small": name.casefold()}
    return frozenset((case, _look(written)) for case, written in cases.items())


def shown(name: str) -> str:
    """Return a name with the code points of what cannot be told by looking: ``<U+0410>`` after such a letter.

    Those are letters of another script beside Latin ones, and of names that could be Latin letters throughout; in the
    place of a character that a page does not show stands its code point. Scripts that are written together with
    others, such as those of Japanese, are no doubt.
    """
    letters = [letter for letter in name if letter.isalpha()]
    foreign = {letter for letter in letters if _script(letter) not in _LATIN_OR_APART}
    mixed = any(_script(letter) == "LATIN" for letter in letters)
    disguised = bool(foreign) and all(_look(letter).isascii() for letter in letters)
    told = foreign if mixed or disguised else set()
    return "".join(_coded(letter) if letter in told else visible(letter) for letter in name)


def visible(name: str) -> str:
    """Return a name with the code points of characters that a page does not show in their place."""
    return "".join(f"<U+{ord(one):04X}>" if unicodedata.category(one) in UNSEEN else one for one in name)


def told_apart(name: str, other: str) -> str:
    """Return ``name`` with the code points of what is not ASCII in it, or else of where it differs from ``other``."""
    foreign = {one for one in name if not one.isascii()}
    if not foreign and other.isascii():
        pairs = zip(name, other, strict=False)
        foreign = {one for one, its in pairs if one.casefold() != its.casefold()}
    return "".join(
        _coded(one) if one in foreign and unicodedata.category(one) not in UNSEEN else visible(one) for one in name
    )


def _coded(letter: str) -> str:
    return f"{letter}<U+{ord(letter):04X}>"


def _script(letter: str) -> str:
    return unicodedata.name(letter, "").split(" ", 1)[0]


def _look(name: str) -> str:
    """Return what a name looks like, in Latin letters as far as its own look like them."""
    plain = unicodedata.normalize("NFKC", "".join(one for one in name if unicodedata.category(one) not in UNSEEN))
    return " ".join(plain.translate(_LOOKS).replace("rn", "m").casefold().split())


def plain_words(name: str) -> tuple[str, ...]:
    """Return the words and numbers of a name: without capitals, blanks, dashes and points."""
    plain = unicodedata.normalize("NFKC", name).casefold()
    return tuple(re.findall(r"\d+|[^\W\d_]+", plain))


def plain_serial(serial: str) -> tuple[str, ...]:
    """Return letters and numbers of a serial as they look: without capitals, blanks, dashes and zeros in front.

    >>> {plain_serial(one) for one in ("T-1", "t-1", "T - 1", "T-01", "\u0422-1")} == {plain_serial("T1")}
    True
    """
    words = (word.lstrip("0") or "0" for word in plain_words(serial))
    return tuple(word if word.isdecimal() else _look(word.upper()) for word in words)


def identifier_looks(name: str) -> frozenset[str]:
    """Return how a number or id looks: such as share one are taken for one another by a reader.

    Once as words and numbers, without what is between them, and once with 0 and O, 1, l and I for one.

    >>> all(identifier_looks("K-1") & identifier_looks(one) for one in ("k 1", "K-I", "\u041a-1"))
    True
    >>> any(identifier_looks("K-1") & identifier_looks(one) for one in ("K-11", "K-2", "K-01"))
    False
    """
    words = (word if word.isdecimal() else _look(word.upper()) for word in plain_words(name))
    return frozenset({" ".join(words), re.sub(r"[\W_]+", "-", _look(name.upper()))})


def number_looks(number: str) -> frozenset[str]:
    """Return how a number of a contract looks at a glance: blanks, zeros in front, and 5 and S, 8 and B for one, too.

    What stands between two digits stays, and an I or l beside digits is a 1 or a stroke between them.

    >>> all(number_looks("SK-7") & number_looks(one) for one in ("S K-7", "5K-7", "SK-07", "SK-I7"))
    True
    >>> any(number_looks("SK-7") & number_looks(one) for one in ("SK-17", "SK-70", "SL-7", "SK-7-1"))
    False
    """
    latin = "".join(one if one.isascii() else _look(one) for one in unicodedata.normalize("NFKC", number)).upper()
    plain = re.sub(r"(?<![0-9])[^0-9A-Z]+|[^0-9A-Z]+(?![0-9])", "", latin)
    bare = re.sub(r"(?<![0-9])[IL](?=[0-9])", "", plain)
    return frozenset(re.sub(r"(?<![0-9])0+(?=[0-9])", "", one).translate(_GLANCE) for one in (plain, bare))


_GLANCE: Final = str.maketrans("58IL0", "SB11O")


def alike_in(names: Iterable[str], looks_of: Callable[[str], Iterable[object]] = identifier_looks) -> list[list[str]]:
    """Return the names that look like others, group by group, each in its order and once."""
    of: dict[object, list[str]] = {}
    for name in dict.fromkeys(names):
        keys = set(looks_of(name))
        group, *others = list({id(of[key]): of[key] for key in keys if key in of}.values()) or [[]]
        for other in others:  # which this name joins
            group += other
            keys |= {key for key, held in of.items() if held is other}
        group.append(name)
        of |= dict.fromkeys(keys, group)
    return [group for group in {id(group): group for group in of.values()}.values() if len(group) > 1]


def disguised(names: Iterable[str]) -> bool:
    """Say whether names that look alike differ in letters of other scripts, which nobody types by a slip."""
    return len({"".join(sorted({_script(one) for one in name if one.isalpha()})) for name in names}) > 1


def perhaps_one(one: str, other: str) -> bool:
    """Say whether two names may be one person's: the same words in any order, without marks, points and titles.

    The shorter may leave words out, or have the first letter of one: `Ollendry`, `S. Ollendry`, `Sam Ollendry`; one
    word at least is common to both. For what a person may not do alone: here a doubt is enough, where ``spelt_alike``
    must be sure.
    """
    first, second = sorted((_words(one), _words(other)), key=len)
    common = first & second
    if not any(len(word) > 1 for word in common):
        return bool(first) and first == second
    left, others = first - common, second - common
    return all(any(len(min(word, each, key=len)) == 1 and word[0] == each[0] for each in others) for word in left)


def names_somebody(text: str, person: str) -> bool:
    """Say whether a text may speak of a person by the surname, among whatever other words; an initial is none."""
    before, comma, _ = person.partition(",")
    words = [word for word in _listed(before if comma else person) if len(word) > 1]
    return bool(words) and words[-1] in _words(text, inside=True)


def names_person(text: str) -> bool:
    """Say whether a text is a person's name and nothing else: an initial or a title, and a surname.

    What is no surname, however it is written, makes it none: a word for what is missing, for an office, a signature.

    >>> names_person("P. Amble"), names_person("Frau Renn, by phone"), names_person("Mr Unknown")
    (True, False, False)
    """
    composed = " ".join(unicodedata.normalize("NFC", text).split())
    words = [latin(word) for word in re.findall(r"[^\W\d_]{2,}", composed)]
    names = [word for word in words if word not in _TITLES]
    short = names == words and len("".join(names[-1:])) < _SHORT  # an initial before two letters may be anything
    return _PERSON.fullmatch(composed) is not None and not (
        short or any(word in _NO_SURNAME or names_nobody(word) for word in names)
    )


def is_name_of(text: str, person: str) -> bool:
    """Say whether a text is a person's name and nothing else: the surname, and what else of the name, no word more.

    As in ``perhaps_one``, marks, points, titles and the order aside; what is left out may be there as an initial.

    >>> [is_name_of(text, "Sam Ollendry") for text in ("S. Ollendry", "Ollendry, Sam", "Ollendry absent")]
    [True, True, False]
    """
    said, known = _listed(text), _listed(person)
    if not said or not known or _ONLY_NAMES.fullmatch(text.strip()) is None:
        return False
    initials = {word[0] for word in known}
    return known[-1] in said and all(word in known or (len(word) == 1 and word in initials) for word in said)


def is_name_of_house(text: str, house: str) -> bool:
    """Say whether a text is the name of an organisation and nothing else, capitals and what it is in law aside."""
    said, known = (_words(name) - _LEGAL_FORMS or _words(name) for name in (text, house))
    return bool(said) and said == known and _ONLY_NAMES.fullmatch(text.strip()) is not None


def names_house(text: str, house: str, *others: str) -> bool:
    """Say whether a text is or contains the name of an organisation, however short that is, or its first word.

    Only a word that tells it from the ``others``: `Dunlow` is enough of Dunlow Coatings where none is Dunlow Bridge.
    """
    said, known = _words(text, inside=True), _words(house)
    shared = _LEGAL_FORMS.union(*map(_words, others))
    own = [word for word in _listed(house) if len(word) > 1 and word not in shared]
    return bool(known) and (known <= said or (bool(own) and own[0] in said))


def without_name(text: str, person: str) -> str:
    """Return the words of a text that are not those of a person's name."""
    known = _listed(person)
    return " ".join(word for word in _listed(text) if word not in known)


def perhaps_one_house(one: str, other: str) -> bool:
    """Say whether two names may be one organisation's: all words of the one among those of the other, in any order.

    Marks, points, capitals, what a company is in law and a letter that was mistyped aside. As ``perhaps_one``, for what
    a doubt forbids.

    >>> [perhaps_one_house(one, "Dunlow Coatings") for one in ("Dunlow Coating Ltd", "Dunllow", "Harlow Coatings")]
    [True, True, False]
    """
    first, second = (_words(name) - _LEGAL_FORMS for name in (one, other))
    if not (first and second):  # a house may be called by nothing else
        return bool(_words(one)) and _words(one) == _words(other)
    return _near_all(first, second) or _near_all(second, first)


def _near_all(words: frozenset[str], others: frozenset[str]) -> bool:
    return words <= others or all(any(_is_near(word, other) for other in others) for word in words)


def _is_near(word: str, other: str) -> bool:
    """Whether two words are one but for a slip: the first letter is seldom it, and tells Eastern from Western."""
    return word[0] == other[0] and SequenceMatcher(None, word, other, autojunk=False).ratio() >= _NEAR


def is_to_come(text: str) -> bool:
    """Say whether a text says only that something is to come: the whole of it, without regard to capitals.

    >>> is_to_come("TBD"), is_to_come("wird nachgereicht"), is_to_come("follow the drawing")
    (True, True, False)
    """
    return _TO_COME.fullmatch(_bare(text)) is not None


def tells_nothing(text: str) -> bool:
    """Say whether a text tells nothing from anything else: no letter or digit, one over and over, `from the label`.

    >>> tells_nothing("n/a"), tells_nothing("---"), tells_nothing("T-114")
    (True, True, False)
    """
    bare = _bare(text)
    return _says_nothing(bare) or _ELSEWHERE.fullmatch(bare) is not None


def is_no_number(text: str) -> bool:
    """Say whether a text has neither a digit nor a code in capitals: `from cert`, `XXX-XXX`, `%s`; `none` says so.

    Nor is one what has a digit in the form of one alone: `XXX-1`, `0000`.

    >>> [is_no_number(text) for text in ("foo", "XX-XX", "the gauge", "SN-A", "Lot A", "X", "none")]
    [True, True, True, False, False, False, False]
    >>> [is_no_number(text) for text in ("XXX-1", "SN 0000", "XX-1", "0", "0042")]
    [True, True, False, False, False]
    """
    words = re.findall(r"[^\W_]+", text.replace("S/N", "SN"))
    if any(re.fullmatch(r"(?i)x{3,}\d*", one) for one in words) or re.fullmatch(r"0{2,}", _own_number(text)):
        return True
    if text in ("none", "X") or any(map(str.isnumeric, text)):
        return False
    return not any(one == one.upper() and one not in _OF_A_NUMBER and set(one) != {"X"} for one in words)


def counts_on(text: str) -> bool:
    """Say whether a number is one that is typed to get on: it counts up or down, or is one digit over and over.

    >>> [counts_on(text) for text in ("12345", "SN 1234567890", "ABC", "ABC-123", "4321", "9999")]
    [True, True, True, True, True, True]
    >>> [counts_on(text) for text in ("111", "12", "A", "T-1", "12346", "1042", "ABD", "LX 12345", "23456", "BCD-7")]
    [False, False, False, False, False, False, False, False, False, False]
    """
    letters, digits = re.match(r"([A-Z]*)(.*)", _own_number(text), re.DOTALL).groups()  # type: ignore[union-attr] # always
    up = any(run.startswith(digits) for run in (_COUNTED, _COUNTED[1:]))
    if letters:
        return len(letters) >= _COUNTING and "ABCDEFGHIJKLMNOPQRSTUVWXYZ".startswith(letters) and up
    down = len(digits) > _COUNTING and digits[::-1] in _COUNTED
    return len(digits) >= _COUNTING and (up or down or (len(digits) > _COUNTING and len(set(digits)) == 1))


_COUNTED: Final = "0123456789" * 3
_COUNTING: Final = 3


def _own_number(text: str) -> str:
    """Return a number in capitals without what stands between, and without the words for it: `SN-0042` as `0042`."""
    words = re.findall(r"[^\W_]+", text.upper().replace("S/N", "SN"))
    return re.sub(r"^(?:SN|NO|NR)(?=\d)", "", "".join(one for one in words if one not in _OF_A_NUMBER or one == "X"))


def names_anybody(text: str, known: Collection[str]) -> bool:
    """Say whether a text names nobody, or anybody of a role; ``known`` are words for roles and for what is made up.

    Before a surname an initial stands, behind it one with a comma: `S. Inspector` and `Inspector, S.` are people.

    >>> [names_anybody(text, {"inspector"}) for text in ("Inspector 1", "Inspector A", "Ms X", "Mr Inspector")]
    [True, True, True, True]
    >>> [names_anybody(text, {"inspector"}) for text in ("S. Inspector", "Inspector, S.", "Ms Renn", "Inspector")]
    [False, False, False, False]
    """
    bare = re.sub(rf"\A(?:(?i:{'|'.join(sorted(_TITLES))})\b\.? *)+", "", text.strip())
    if names_nobody(bare):
        return True
    titled = bare != text.strip()
    *first, last = [word for word in plain_words(bare) if word not in ("no", "nr")] or [""]
    if not first:
        return len(last) < 2 or (titled and last in known)
    behind = last.isdecimal() or (len(last) == 1 and "," not in text)
    return all(word in known for word in first) and (behind or last in known)


def says_nothing(text: str, *, none: bool = False) -> bool:
    """Say whether a text, where something is to be recorded, records nothing; ``none`` says something where it is so.

    >>> says_nothing("not recorded"), says_nothing("siehe Protokoll"), says_nothing("none"), says_nothing("dry")
    (True, True, True, False)
    """
    bare = _bare(text)
    return is_to_come(text) or _says_nothing(bare) or (not none and _NONE.fullmatch(bare) is not None)


def names_nobody(text: str) -> bool:
    """Say whether a text, where a person is to be named, names none: it says nothing, or that there is nobody.

    >>> names_nobody("not yet"), names_nobody("niemand"), names_nobody("N. O. Body")
    (True, True, False)
    """
    return says_nothing(text) or tells_nothing(text) or _NOBODY.fullmatch(_bare(text)) is not None


def _says_nothing(bare: str) -> bool:
    return _SAYS_NOTHING.fullmatch(bare or "-") is not None


def _bare(text: str) -> str:
    plain = unicodedata.normalize("NFC", text).casefold().translate(_PLAIN)
    return " ".join(plain.split()).strip("()[]{}\"'`.,:;! ")


def _words(name: str, *, inside: bool = False) -> frozenset[str]:
    """Return the words that name somebody; those in brackets too where it is asked who may be meant ``inside``."""
    return frozenset(_listed(name if inside else re.sub(r"\(.*?\)", " ", name)))


def _listed(name: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", name).casefold()
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return [word for word in re.findall(r"\w+", bare) if word not in _TITLES]


_LATIN_OR_APART: Final = frozenset({"LATIN", "CJK", "HIRAGANA", "KATAKANA", "KATAKANA-HIRAGANA", "HANGUL", "BOPOMOFO"})
_ALIKE: Final = {
    "A": "\u0410\u0391", "a": "\u0430\u03b1\u0251", "B": "\u0412\u0392", "C": "\u0421\u03f9", "c": "\u0441\u03f2",
    "d": "\u0501", "E": "\u0415\u0395", "e": "\u0435", "G": "\u050c", "g": "\u0581\u0261", "H": "\u041d\u0397",
    "h": "\u04bb\u0570", "i": "\u0456\u03b9\u0131\u0269", "J": "\u0408", "j": "\u0458", "K": "\u041a\u039a",
    "k": "\u03ba", "l": "1I|\u0406\u0399\u04c0\u04cf\u01c0", "M": "\u041c\u039c", "N": "\u039d", "n": "\u0578",
    "O": "0\u041e\u039f\u0555", "o": "\u043e\u03bf\u0585", "P": "\u0420\u03a1", "p": "\u0440\u03c1", "q": "\u051b",
    "S": "\u0405\u054f", "s": "\u0455", "f": "\u017f", "T": "\u0422\u03a4", "U": "\u054d", "u": "\u03c5\u057d",
    "v": "\u03bd\u0475", "W": "\u051c", "w": "\u051d", "X": "\u0425\u03a7", "x": "\u0445",
    "Y": "\u0423\u04ae\u03a5", "y": "\u0443\u04af\u03b3", "Z": "\u0396", "'": "\u2019\u2018\u02bc\u02b9\u00b4`",
    "-": "\u2010\u2011\u2012\u2013\u2212", ".": "\u2024\u00b7",
}  # fmt: skip
"""By Latin letter or sign, what looks like it: part of what Unicode Technical Standard 39 calls confusable, from memory
and by the look of common fonts (Cyrillic, Greek, Armenian, ASCII, dashes, apostrophes)."""
_LOOKS: Final = {ord(other): one for one, others in _ALIKE.items() for other in others}
_LEGAL_FORMS: Final = frozenset({
    "ltd", "limited", "llc", "llp", "plc", "inc", "incorporated", "corp", "corporation", "co", "company", "gmbh", "mbh",
    "ag", "kg", "ohg", "ug", "se", "sa", "sarl", "srl", "spa", "bv", "nv", "ab", "as", "oy", "and", "und", "the",
})  # fmt: skip
_NEAR: Final = 0.85
"""How much of two words is the same, by the blocks that match, where one may be the other mistyped; our choice."""
_TITLES: Final = frozenset({"dr", "prof", "ing", "dipl", "mr", "mrs", "ms", "herr", "frau", "eng"})
_SURNAME: Final = r"(?:[DdO]['\u2019])?[^\W\d_a-z][^\W\d_]*[^\W\d_A-Z]"
_PERSON: Final = re.compile(
    rf"(?:(?:(?i:{'|'.join(sorted(_TITLES))})\b\.?[ -]?)+(?:{_SURNAME} )?|[^\W\d_a-z]\.[ -]?)(?:[^\W\d_a-z]\.[ -]?)*"
    rf"(?:(?:af|al|av|bin|da|de[lnrs]?|di|do|dos|du|el|la|le|te[nr]|van|vo[mn]|zu[mr]?) )*{_SURNAME}(?:-{_SURNAME})?"
)
"""A title or an initial, small words that belong to a surname, and that, perhaps of two parts."""
_SHORT: Final = 3
_ONLY_NAMES: Final = re.compile(r"(?:\w|[ .,&'\u2019-])+")
_NO_SURNAMES: Final = (
    "absent abwesend accepted agreed anderer angabe anlage anwesend approved architect architekt ausstehend awaited "
    "awaiting bauleiter bauleiterin bauleitung baustelle bestaetigt bestaetigung brief buero call checked chef client "
    "colleague company confirm confirmation confirmed contractor coordinator crew datum director email employer "
    "engineer erteilt expected firma foreman freigabe freigegeben funk gegeben gutachter heute home ingenieur "
    "initials inspected inspection inspector inspektor kollege kollegin kolonne kunde later leiter leiterin leitung "
    "letter mail management manager mannschaft message minutes missing mitarbeiter morgen muster mustermann nachname "
    "nachtrag name needed night nleserlich noch none not note oben office other others outstanding owner person phone "
    "polier present protocol protokoll pruefer record refused release released report representative requested "
    "required schicht seen shift signature signatures signed site somebody someone staff supervisor surname surveyor "
    "team telefon telephone today tomorrow unknown unten unterschrift verbal vertreter vorname yesterday"
)
"""What stands where a surname would and is none, in small Latin letters: no published list."""
_NO_SURNAME: Final = frozenset(_NO_SURNAMES.split())
_PLAIN: Final = {ord("ä"): "ae", ord("ö"): "oe", ord("ü"): "ue"}
_TO_COME: Final = re.compile(
    r"tb[acd]|t\.b\.[acd]\.?|todo|to do|to be (?:added|advised|agreed|announced|completed|confirmed|decided|defined|"
    r"determined|done|entered|filled in|named|noted|provided|recorded|signed|supplied)|"
    r"(?:will |to )?follows?|later|added later|pending|fill in|placeholder|"
    r"(?:folgt|kommt)(?: noch)?|spaeter|wird (?:noch )?(?:nachgereicht|nachgetragen|ergaenzt)|"
    r"(?:noch )?(?:nachzutragen|nachzureichen|einzutragen|auszufuellen|zu ergaenzen|zu klaeren|zu benennen)|"
    r"ausfuellen|platzhalter|\?+|x\?+|"
    r"(?:(?:insert|put|write|type|enter|fill in)(?: (?:the |your )?[^\W\d_]+)?|your text) here|"
    r"fill me in|(?:(?:noch|bitte|hier) )+(?:eintragen|ausfuellen)|eintragen"
)
"""What says only that something is to come: the whole of an entry, without regard to capitals and umlauts."""

_NOT_THERE: Final = (
    r"(?:illegible|unreadable|unclear|unknown|unrecorded|unspecified|unstated|unsigned|missing|lost|forgotten|blank|"
    r"empty|not (?:yet )?(?:applicable|available|clear|determined|documented|entered|filled in|found|given|known|"
    r"legible|listed|logged|measured|named|noted|provided|readable|recorded|signed|specified|stated|supplied|written)|"
    r"un(?:leserlich|lesbar|bekannt|klar)|fehlt|fehlend|leer|vergessen|verloren|"
    r"(?:noch )?nicht (?:angegeben|anwendbar|aufgeschrieben|ausgefuellt|bekannt|dokumentiert|eingetragen|erfasst|"
    r"festgehalten|feststellbar|gemessen|genannt|lesbar|leserlich|notiert|protokolliert|unterschrieben|verfuegbar|"
    r"vermerkt|vorhanden|zutreffend))"
)
_SAYS_NOTHING: Final = re.compile(
    r"[\W_]+|([^\W\d_])\1{2,}|xx|a\.n\.?|n\.? ?[/.]? ?a\.?|k\.? ?a\.?|n\.? ?b\.?|null|void|"
    r"(?:(?:the )?(?:date|entry|field|name|record|signature|value|eintrag|feld|name|unterschrift|wert) (?:is |ist )?)?"
    rf"{_NOT_THERE}|left (?:blank|empty|open|out)|"
    r"(?:none|nothing|no one) (?:available|entered|given|known|named|noted|recorded|stated)|"
    r"no (?:answer|data|details?|entry|idea|info|information|names?|record|signature)|"
    r"(?:ohne|keine?n?) (?:angaben?|daten|details|eintrag|infos?|namen?|unterschrift)|entfaellt|"
    r"(?:see|as per|acc(?:ording)? to|per|in|siehe|s\.|laut|lt\.|gemaess|im) (?:the |daily |site |dem |das )*"
    r"(?:log|log ?book|diary|protokoll|tagebuch|bautagebuch)|"
    r"(?:see|siehe|s\.) (?:the |die |das )?(?:above|below|notes?|remarks?|attached|attachment|sheet|blatt|oben|unten|"
    r"anlage|anhang|notiz(?:en)?|bemerkung(?:en)?)"
)
"""What says nothing of anything: the whole of an entry, as above."""

_ELSEWHERE: Final = re.compile(
    r"(?:see|from|as per|acc(?:ording)? to|per|on|siehe|s\.|laut|lt\.|gemaess|aus|vom|auf) "
    r"(?:the |calibration |dem |der |den )*(?:certificate|label|(?:type |rating )?plate|case|box|gauge|instrument|"
    r"zertifikat|kalibrierschein|schein|etikett|typenschild|geraet|rolle|roll)|same|ditto|dito"
)
"""What tells no instrument from another: the whole of an entry, as above."""

_OF_A_NUMBER: Final = frozenset(("SERIAL", "SN", "LOT", "BATCH", "CHARGE", "CERTIFICATE", "NO", "NR", "NUMBER", "X"))
"""Words in capitals that are no code."""

_NONE: Final = re.compile(r"none|nil|nothing|no|nein|nichts|kein(?:e[mnrs]?)?")
"""What says that there is none: a fact of some things, and of others nothing; the whole of an entry, as above."""

_NOBODY: Final = re.compile(
    r"nobody|no[ -]?one|not yet|(?:some|any)(?:body|one)|open|unnamed|"
    r"anonymous|n\.? ?n\.?|ok|okay|done|verbal(?:ly)?|oral(?:ly)?|by word of mouth|"
    r"(?:(?:by|per|via|am|on the) )?(?:(?:tele)?phone|telefon|e-?mail|radio|funk)|telefonisch|muendlich|"
    r"ditto|dito|same|as above|wie oben|niemand(?:en)?|jemand(?:en)?|irgend(?:jemand|wer)|unbenannt|erledigt|"
    r"in ordnung|(?:noch )?(?:nicht|niemand|offen|keine[rsn]?)(?: benannt)?"
)
"""What names no person, where one is to be named: the whole of an entry, as above."""


def slip_number(report: str, area: str, at: dt.datetime) -> str:
    """The number of a release slip, on its page and of its file: its report, its area, and when it was signed, in UTC.

    >>> slip_number("R-1", "B-1", dt.datetime(2026, 5, 4, 11, 30, 17, tzinfo=dt.UTC))
    'R-1-B-1-0504113017'
    """
    return f"{report}-{area}-{at.astimezone(dt.UTC):%m%d%H%M%S}"
