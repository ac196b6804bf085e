"""Numbers as people write and say them: digits, fractions, words, "five twenty", "minus point oh two"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from advisor.understanding.tokens import Token

_ONES: Final = {word: at for at, word in enumerate((
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"))} | {
    "oh": 0, "nought": 0, "naught": 0}
_TENS: Final = {word: 10 * at for at, word in enumerate((
    "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"), 2)} | {"fourty": 40, "ninty": 90}
_TIMES: Final = {"hundred": 100, "thousand": 1000, "grand": 1000}
_PARTS: Final = {"half": 0.5, "quarter": 0.25, "third": 1 / 3, "halves": 0.5, "quarters": 0.25, "thirds": 1 / 3,
                 "tenth": 0.1, "tenths": 0.1, "hundredth": 0.01, "hundredths": 0.01, "thousandth": 0.001,
                 "thousandths": 0.001, "hundreths": 0.01, "hundreth": 0.01, "thousanths": 0.001}
_MINUS: Final = ("minus", "negative", "neg")
_PLUS: Final = ("plus", "positive", "pos")
_WANDERS: Final = frozenset(("anywhere", "swings", "bounces", "bouncing", "swinging", "varies", "wanders", "jumps",
                             "fluctuates", "hunts", "goes"))
_HASH: Final = ("number", "num", "no", "nr")


@dataclass(frozen=True, slots=True)
class Number:
    """A number, and the tokens from `first` to before `end` that say it.

    `sign` is `-`, `+` or empty as it was said; `hashed` where it was called a number ("#2", "number three"); `weak`
    where the words often are no number ("one", "half"); `to` is the other end of a range.
    """

    value: float
    first: int
    end: int
    sign: str = ""
    hashed: bool = False
    weak: bool = False
    to: float | None = None

    @property
    def typed(self) -> str:
        """As it is typed into an entry.

        >>> from advisor.understanding.tokens import tokens_of
        >>> numbers_of(tokens_of("over fire minus point oh two"))[0].typed
        '-0.02'
        """
        digits = f"{self.value:.6f}".rstrip("0").rstrip(".")
        return f"+{digits}" if self.sign == "+" and self.value > 0 else digits


def numbers_of(tokens: Sequence[Token]) -> tuple[Number, ...]:
    """The numbers of a line, in their order.

    >>> from advisor.understanding.tokens import plain_line, tokens_of
    >>> def said(line):
    ...     return [one.value for one in numbers_of(tokens_of(plain_line(line)))]
    >>> said("five twenty"), said("one forty"), said("thirty four fifty"), said("eleven and a half")
    ([520.0], [140.0], [3450.0], [11.5])
    >>> said("minus point oh two"), said("four hundredths"), said("point eight five eighty"), said("3 1/2")
    ([-0.02], [0.04], [0.85, 80.0], [3.5])
    >>> said("1,200"), said("0,02"), said("10,5"), said("one hundred and five"), said("twelve hundred")
    ([1200.0], [0.02], [10.5], [105.0], [1200.0])
    """
    out: list[Number] = []
    at = 0
    while at < len(tokens):
        found = _number(tokens, at)
        if found is None:
            at += 1
            continue
        out.append(found)
        at = found.end
    return tuple(_ranges(tokens, out))


def _word(tokens: Sequence[Token], at: int) -> str:
    return tokens[at].low if at < len(tokens) else ""


def _number(tokens: Sequence[Token], start: int) -> Number | None:
    at, sign, hashed = start, "", False
    word = _word(tokens, at)
    if word == "#" or word in _HASH:
        hashed, at = True, at + 1
        if word == "no" and _word(tokens, at) == ".":
            at += 1
    elif word in _MINUS or (word == "-" and _word(tokens, at + 1) in ("point", "oh", ".")):
        sign, at = "-", at + 1
    elif word in _PLUS:
        sign, at = "+", at + 1
    found = _digits(tokens, at) or _words(tokens, at)
    if found is None:
        return None
    value, end, weak = found
    if tokens[at].kind == "number" and tokens[at].text[0] in "+-":
        sign = tokens[at].text[0]
    if hashed and (value != int(value) or value > 9 or (tokens[start].low == "no" and tokens[at].kind != "number"
                                                         and value == 1)):
        return None if tokens[start].low in _HASH else Number(value, at, end, sign)
    if _word(tokens, end) == "below" and not sign and _word(tokens, end + 1) in (
            "zero", "0", "outside", "outdoors", "out", "", ",", "."):  # of the cold
        sign, end = "-", end + (2 if _word(tokens, end + 1) in ("zero", "0") else 1)
    return Number(-abs(value) if sign == "-" else value, start, end, sign, hashed, weak and not sign and not hashed)


def _digits(tokens: Sequence[Token], at: int) -> tuple[float, int, bool] | None:
    """A number in digits, with a fraction or a word for a part behind it."""
    if at >= len(tokens) or tokens[at].kind != "number":
        return None
    text = tokens[at].text.lstrip("+-")
    end = at + 1
    if "/" in text:
        over, under = text.split("/")
        return int(over) / int(under), end, False
    value = _value(text)
    follows = tokens[end].text if end < len(tokens) else ""
    if value == int(value) and "/" in follows and tokens[end].kind == "number" and follows[0] not in "+-":
        over, under = follows.split("/")
        if int(over) < int(under):
            return value + int(over) / int(under), end + 1, False
    return (*_with_part(tokens, value, end), False)


def _value(text: str) -> float:
    """
    >>> _value("1,200"), _value("0,02"), _value("10,5"), _value(".85")
    (1200.0, 0.02, 10.5, 0.85)
    """
    whole, comma, rest = text.partition(",")
    thousands = comma and whole[0] != "0" and all(len(three.split(".")[0]) == 3 for three in rest.split(","))
    return float(text.replace(",", "" if thousands else "."))


def _with_part(tokens: Sequence[Token], value: float, end: int) -> tuple[float, int]:
    """`... and a half`, `... and three quarters`, `... hundredths` behind a whole number."""
    low = _word(tokens, end)
    if low in _PARTS and low not in ("half", "quarter", "third", "halves") and _PARTS[low] <= 0.25:
        return value * _PARTS[low], end + 1
    if low == "and":
        at = end + 1
        times = 1.0
        if _word(tokens, at) in ("a", "an", "one"):
            at += 1
        elif _word(tokens, at) == "three":
            times, at = 3.0, at + 1
        if _word(tokens, at) in _PARTS and at > end + 1:
            return value + times * _PARTS[_word(tokens, at)], at + 1
    return value, end


def _words(tokens: Sequence[Token], start: int) -> tuple[float, int, bool] | None:
    """A number in words."""
    low = _word(tokens, start)
    if low in ("a", "an") and (_word(tokens, start + 1) in _TIMES or _word(tokens, start + 1) in _PARTS):
        part = _PARTS.get(_word(tokens, start + 1))
        return (part, start + 2, part > 0.2) if part else (*_whole(tokens, start), False)
    if low == "a" and _word(tokens, start + 1) in ("meg", "megohm", "year"):
        return 1.0, start + 1, _word(tokens, start + 1) == "year"
    if low in ("half", "quarter"):
        return _PARTS[low], start + 1, True
    if low == "point" or (low == "." and tokens[start].kind == "mark" and _word(tokens, start + 1) == "oh"):
        return _behind_point(tokens, start + 1, 0.0)
    if low == "oh" and _ONES.get(_word(tokens, start + 1), 0) in range(1, 10):
        return _ONES[_word(tokens, start + 1)] / 100, start + 2, False  # a draft: "oh two"
    if low not in _ONES and low not in _TENS:
        return None
    if low == "oh":
        return None
    value, end = _whole(tokens, start)
    if _word(tokens, end) == "point":
        behind = _behind_point(tokens, end + 1, value)
        if behind:
            return behind
    value, end = _with_part(tokens, value, end)
    if _word(tokens, end) == "even":
        return value, end + 1, False
    told = start > 0 and _word(tokens, start - 1) in ("a", "about", "reads", "smoke", "number") and (
        end == len(tokens) or tokens[end].breaks)  # "smoke about a one"
    return value, end, end == start + 1 and low == "one" and not told


def _behind_point(tokens: Sequence[Token], at: int, whole: float) -> tuple[float, int, bool] | None:
    digits = ""
    if at < len(tokens) and tokens[at].kind == "number" and tokens[at].text.isdigit():
        digits, at = tokens[at].text, at + 1
    elif _word(tokens, at) in _TENS or _ONES.get(_word(tokens, at), 0) >= 10:
        value, at = _pair(tokens, at)
        digits = str(value)
    else:
        while _ONES.get(_word(tokens, at), 10) < 10:
            digits += str(_ONES[_word(tokens, at)])
            at += 1
    return (whole + float(f"0.{digits}"), at, False) if digits else None


def _pair(tokens: Sequence[Token], at: int) -> tuple[int, int]:
    """A number under a hundred: `twenty`, `twenty five`, `fifteen`, `five`, and `oh five` behind another."""
    low = _word(tokens, at)
    if low in _TENS:
        ones = _ONES.get(_word(tokens, at + 1), 0)
        if 0 < ones < 10 and _word(tokens, at + 2) not in _PARTS:
            return _TENS[low] + ones, at + 2
        if _word(tokens, at + 1) == "-" and 0 < _ONES.get(_word(tokens, at + 2), 0) < 10:
            return _TENS[low] + _ONES[_word(tokens, at + 2)], at + 3
        return _TENS[low], at + 1
    return _ONES[low], at + 1


def _whole(tokens: Sequence[Token], at: int) -> tuple[float, int]:
    """A whole number: with hundreds and thousands, or two pairs as people say them."""
    if _word(tokens, at) in ("a", "an"):
        total, at = 1, at + 1
    else:
        total, at = _pair(tokens, at)
        second = _word(tokens, at)
        if total and (second in _TENS or _ONES.get(second, 0) >= 10):  # five twenty, thirty four fifty
            more, at = _pair(tokens, at)
            return 100.0 * total + more, at
        if total and second == "oh" and 0 < _ONES.get(_word(tokens, at + 1), 0) < 10:  # five oh five
            return 100.0 * total + _ONES[_word(tokens, at + 1)], at + 2
    value = 0.0
    last = float(total)
    while _word(tokens, at) in _TIMES:
        last *= _TIMES[_word(tokens, at)]
        at += 1
        skip = at + 1 if _word(tokens, at) == "and" else at
        low = _word(tokens, skip)
        if low in _TENS or _ONES.get(low, 0) > 0:
            more, after = _pair(tokens, skip)
            if _word(tokens, after) in _TIMES or more < 100:
                value, last, at = value + last, float(more), after
    return value + last, at


def _ranges(tokens: Sequence[Token], numbers: list[Number]) -> list[Number]:
    """`500 to 520`, `500-520`: one number with another end."""
    out: list[Number] = []
    for one in numbers:
        last = out[-1] if out else None
        between = tokens[last.end:one.first] if last else ()
        said = " ".join(token.low for token in between)
        before = tokens[last.first - 1].low if last and last.first else ""
        if before == "a" and last and last.first > 1:
            before = tokens[last.first - 2].low
        close = last is not None and said == "-" and tokens[last.end - 1].end == between[0].start \
            and between[0].end == tokens[one.first].start
        if last and last.to is None and said == "to" and before == "from" and not one.hashed \
                and _WANDERS.isdisjoint(token.low for token in tokens[max(0, last.first - 4):last.first]):
            out[-1] = Number(one.value, last.first, one.end, one.sign, weak=one.weak)  # what it came to
        elif last and last.to is None and not one.hashed and (
                said == "to" or (said == "and" and before == "between") or close) and one.value > last.value:
            out[-1] = Number(last.value, last.first, one.end, last.sign, weak=last.weak, to=one.value)
        else:
            out.append(one)
    return out
