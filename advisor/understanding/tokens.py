"""A typed line cut into tokens: words with their stems, numbers as written, and the marks and words that part it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.understanding.synonyms import alike

NOT: Final = "¬"
"""The stem of the words that deny what is done or how it is: not, never, isn't, won't ..."""

NO: Final = "∅"
"""The stem of the words that deny that there is any: no, without, zero of it ..."""

_WORD: Final = r"[^\W\d_]+(?:'[^\W\d_]+)?"
_TOKEN: Final = re.compile(
    r"(?P<time>\d{1,2}:\d{2}(?!\d)|\d+(?:st|nd|rd|th)\b)"
    r"|(?P<word>[^\W\d_]{1,2}\d{1,2}(?![\d.])(?=[^\W\d_]?\b)|" + _WORD + ")"
    r"|(?P<number>(?:(?<![\w.)])[-+])?(?:[1-9]\d{0,2}(?:,\d{3})+(?![\d,])(?:\.\d+)?|\d+,\d+(?![\d.]|,\d)"
    r"|\d+/(?:2|3|4|8|16)(?![\d./])|\d*\.\d+|\d+))"
    r"|(?P<mark>[^\s\w]|_)", re.IGNORECASE)

_SAME: Final = str.maketrans({"’": "'", "‘": "'", "−": "-", "–": "-", "—": "-", "－": "-", "″": '"', "”": '"',
                              "“": '"', "′": "'", "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "Ω": "ohm", "\u2126": "ohm",
                              "²": "2", "³": "3", "₂": "2", "º": "°", "_": " "})

_NOT: Final = frozenset((
    "not", "never", "neither", "nor", "cannot", "cant", "dont", "doesnt", "didnt", "isnt", "arent", "wasnt", "werent",
    "wont", "wouldnt", "couldnt", "hasnt", "havent", "hadnt", "aint", "shouldnt"))
_NO: Final = frozenset(("no", "without", "none", "nope"))
_WHERE: Final = (r"\s+(?:at|to|up|down|in|into|on|off|over|under|by|next|there|here|now|away|after|before|back|out|"
                 r"behind)\b")
_FIRES: Final = r"\s+(?:up|off|back|again|it|on|dep\w+|chief|company|truck|service|marshal|valve)\b"
_MAY: Final = frozenset(("to", "will", "wont", "won't", "not", "cant", "can't", "didnt", "didn't", "doesnt", "doesn't",
                         "on", "caught"))
_BEGUN: Final = frozenset(("start", "starts", "started", "began", "begins"))
_ENDED: Final = frozenset(("quit", "quits", "stopped", "stops"))
_DENYING: Final = frozenset((NOT, NO, "noth", "nobod"))
_OPENING: Final = frozenset(("it", "it's", "its", "he", "he's", "she", "she's", "they", "they're", "we", "i",
                             "there's"))
_SIGN: Final = frozenset(("way", "sign", "signs", "evidence", "indication", "proof", "reason", "chance", "idea"))
SMALL: Final = frozenset((
    "a", "an", "the", "is", "are", "was", "were", "be", "been", "being", "am", "it", "its", "itself", "this", "that",
    "thats", "these", "those", "there", "theres", "of", "in", "at", "to", "by", "for", "with", "from", "has", "have",
    "had", "some", "any", "my", "your", "his", "her", "their", "our", "he", "she", "they", "theyre", "we", "i", "you",
    "im", "ive", "so", "do", "does", "did", "just", "very", "really", "real", "pretty", "quite", "kind", "kinda",
    "sort",
    "got", "gets", "get", "getting", "as", "them", "him", "me", "us", "too", "who", "which", "again", "now", "here",
    "looks", "look", "looked", "looking", "seems", "reads", "read", "reading", "readings", "shows", "showing", "says",
    "found", "find", "see", "saw", "and", "then", "on", "into", "onto", "about", "around", "roughly", "approx", "like",
    "right", "well", "ok", "okay", "yeah", "yes", "also", "plus", "came", "comes", "come", "or", "all", "bit", "little",
    "still", "today", "hes", "shes", "ill", "id", "whole", "thing", "one", "guy", "please", "sir", "hey"))
"""Words that say little by themselves: a phrase is found whether or not they stand in it."""

HOW_MUCH: Final = frozenset((
    "totally", "completely", "badly", "half", "fully", "partly", "nearly", "almost", "mostly", "big", "nice", "good",
    "way", "only", "solid", "old", "real", "awful", "mighty", "slightly", "somewhat", "plumb", "dang", "darn", "damn",
    "maybe", "probably", "also", "already", "every", "always", "usually", "sometimes", "now", "own", "since", "last",
    "night", "morning", "today", "yesterday", "week", "day", "called", "told", "said", "customer", "homeowner", "owner",
    "tenant", "lady", "wife", "husband", "guy", "somebody", "someone", "man", "sure", "enough", "looking", "going",
    "goes", "keeps", "kept", "thing", "stuff", "place", "side"))
"""Words that tell how much, who or when, or nothing: they part no phrase."""

_HARD: Final = frozenset((";", ".", "!", "?", "but", "however", "though", "although", "except", "otherwise", "\n"))
_SOFT: Final = frozenset((",", "and", "then", "also", "&", "(", ")", "while", "plus", "/", "|", "because"))

_IRREGULAR: Final = {
    "went": "go", "goes": "go", "gone": "go", "ran": "run", "burnt": "burn", "lit": "light", "blew": "blow",
    "blown": "blow", "broke": "break", "broken": "break", "froze": "freeze", "frozen": "freeze", "kept": "keep",
    "felt": "feel", "dying": "die", "stuck": "stick", "torn": "tear", "left": "leave", "made": "make", "took": "take",
    "heard": "hear", "smelt": "smell", "stinks": "smell", "stink": "smell", "stood": "stand", "shook": "shake",
    "temp": "temperature", "temps": "temperature", "tmp": "temperature", "vac": "vacuum", "press": "pressure",
    "elec": "electric", "bsmt": "basement", "htr": "heater", "thru": "through", "xfmr": "transformer",
    "chim": "chimney", "thermo": "thermostat", "tstat": "thermostat", "excha": "exchanger", "grey": "gray",
    "odour": "odor", "tyre": "tire", "colour": "color", "cause": "because", "cuz": "because", "wo": "without",
    "flu": "flue", "carb": "carbon",
    "zero": "0", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
    "nine": "9", "ten": "10",
}


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line, from `start` to `end` of it.

    `kind` is word, number, time or mark; `stem` is what it is compared by; `part` numbers the parts between commas,
    `and` and the like, and `stretch` those between full stops, semicolons and `but`.
    """

    text: str
    low: str
    stem: str
    kind: str
    start: int
    end: int
    part: int
    stretch: int
    breaks: bool = False
    """Whether it parts the line and says nothing itself."""

    @property
    def small(self) -> bool:
        """Whether it says little by itself."""
        return self.kind == "mark" or self.low.replace("'", "") in SMALL

    @property
    def denies(self) -> bool:
        return self.stem in _DENYING


def plain_line(line: str) -> str:
    """A line with one spelling of each dash, quote and fraction, of single blanks; positions in tokens are those in it.

    >>> plain_line("stack  520º − 3½")
    'stack 520° - 3 1/2'
    """
    return " ".join(unicodedata.normalize("NFC", line).translate(_SAME).split())


@lru_cache(maxsize=20_000)
def stem_of(word: str) -> str:
    """What a word is compared by: without its ending, and one word for those that mean the same.

    >>> stem_of("tripped"), stem_of("trips"), stem_of("sooty"), stem_of("soot"), stem_of("won't")
    ('trip', 'trip', 'soot', 'soot', '¬')
    """
    low = word.lower()
    if low.endswith("n't") or low.replace("'", "") in _NOT:
        return NOT
    if low in _NO:
        return NO
    low = low.removesuffix("'s").replace("'", "")
    low = _IRREGULAR.get(low, low)
    if not low.isalpha() or len(low) < 4:
        return low
    stem = str(_stemmer().stemWord(low))
    stem = _IRREGULAR.get(stem, stem)
    stem = stem[:-1] if len(stem) > 3 and stem[-1] in "ie" else stem
    return _alike().get(stem, stem)


@lru_cache(maxsize=1)
def _alike() -> dict[str, str]:
    """The stems of words that mean the same as another, with its stem."""
    def bare(word: str) -> str:
        stem = str(_stemmer().stemWord(word))
        return stem[:-1] if len(stem) > 3 and stem[-1] in "ie" else stem

    return {bare(word): bare(first) for word, first in alike().items()}


@lru_cache(maxsize=1)
def _stemmer():  # type: ignore[no-untyped-def]
    from snowballstemmer import stemmer  # not before something is typed

    return stemmer("english")


def tokens_of(line: str) -> tuple[Token, ...]:
    """The tokens of a line that `plain_line` has made.

    >>> [(one.text, one.part) for one in tokens_of("stack 520F, o2 5.5 and smoke #3")]
    [('stack', 0), ('520', 0), ('F', 0), (',', 1), ('o2', 1), ('5.5', 1), ('and', 2), ('smoke', 2), ('#', 2), ('3', 2)]
    """
    out: list[Token] = []
    part = stretch = 0
    for found in _TOKEN.finditer(line):
        text, kind = found.group(), str(found.lastgroup)
        low = text.lower()
        breaks = _breaks(line, found.start(), low)
        if breaks == "hard":
            part, stretch = part + 1, stretch + 1
        elif breaks:
            part += 1
        stem = stem_of(low) if kind == "word" else low
        if low == "right" and re.match(_WHERE, line[found.end():].lower()):
            stem = "just"  # "right at the primary" says nothing of right and wrong
        if re.match(r"\s+\w{2,}ing\b", line[found.end():]):
            stem = NOT if low in _ENDED else "just" if low in _BEGUN else stem  # "quit climbing", "starts smoking"
        if low == "fire" and not re.match(_FIRES, line[found.end():].lower()) and not (out and out[-1].low in _MAY):
            stem = stem_of("flame")
        out.append(Token(text, low, stem, kind, found.start(), found.end(), part, stretch, bool(breaks)))
    return tuple(out)


def _breaks(line: str, at: int, low: str) -> str:
    before, after = line[at - 1:at], line[at + 1:at + 2]
    if low == "." and after.strip() and not after.isspace():
        return ""  # as in `in. w.c.` it belongs to a unit, or to the number behind it
    if low == "." and re.search(r"(?:^|[\s.])(?:no|in|w\.c|deg|approx|temp|ft|vs|w|c|sq|num)$", line[:at].lower()):
        return ""
    if low in _HARD:
        return "hard"
    if low == "-" and before == " " and after == " ":
        return "soft"
    return "soft" if low in _SOFT else ""


def reaches(tokens: Sequence[Token], denial: int, at: int) -> bool:
    """Whether a word that denies still does so at a later one: "no" says of the thing behind it that there is none, and
    nothing of the clause that begins after it.

    >>> tokens = tokens_of("no heat it's locked out")
    >>> reaches(tokens, 0, 1), reaches(tokens, 0, 3)
    (True, False)
    """
    if tokens[denial].stem != NO or (denial + 1 < len(tokens) and tokens[denial + 1].low in _SIGN):
        return True
    return not any(token.low in _OPENING for token in tokens[denial + 2:at])


def phrase_stems(phrase: str) -> tuple[str, ...]:
    """The stems by which a phrase is found: without its small words, unless too little is left without them.

    >>> phrase_stems("cuts out on safety"), phrase_stems("in the ground")
    (('cut', 'out', 'safet'), ('in', 'the', 'ground'))
    """
    words = [one for one in tokens_of(plain_line(phrase)) if one.kind != "mark" or one.low == "#"]
    telling = [one for one in words if not one.small]
    kept = telling if len(telling) > 1 or len(telling) == len(words) else words
    return tuple(one.stem for one in kept)
