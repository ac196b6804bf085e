"""The chain of a cause: what lies behind it, its effects, the readings that they move, as text and picture."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from html import escape
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Cause, Rule
from advisor.library.plaintext import plain_text
from advisor.pages.wording import plain, wrapped


@dataclass(frozen=True, slots=True)
class Chain:
    """What a cause is followed by: `effects` are the mechanism and the reading it moves, `named` the rules that read it
    back from there.
    """

    cause: Cause
    behind: tuple[str, ...]
    effects: tuple[tuple[str, str, str], ...]
    """The mechanism, the reading, and where it goes."""
    named: tuple[Rule, ...]


def chain_of(base: Base, cause: Cause) -> Chain:
    """The chain of a cause, as its own knowledge tells it.

    >>> from advisor.library.base import load
    >>> chain = chain_of(load(), load().causes["air-shutter-too-closed"])
    >>> chain.effects[0][1:]
    ('oxygen in the flue gas', 'low')
    """
    moved = {link.moves: link.to for link in cause.chain}
    named = tuple(rule for rule in base.rules_about[cause.name]
                  if (rule.weighs.get(cause.name, 0.0) > 0.0 or cause.name in rule.confirms)
                  and all(set(symbols) & set(moved.get(name, ())) for name, symbols in rule.when.items()))
    effects = tuple((link.because, base.title(link.moves), " or ".join(map(plain, link.to))) for link in cause.chain)
    return Chain(cause, tuple(base.title(one) for one in cause.behind), effects, named)


def chain_text(base: Base, chain: Chain) -> list[str]:
    """The chain as text, from the cause down.

    >>> from advisor.library.base import load
    >>> chain_text(load(), chain_of(load(), load().causes["weak-cut-off"]))[0].isupper()
    True
    """
    cause = chain.cause
    out = wrapped(f"{cause.title.upper()}: FROM THE FAULT TO THE READINGS", 0, 2)
    if chain.behind:
        out += ["", "what may have brought it about"]
        out += [line for one in chain.behind for line in wrapped(one, 2, first="- ")]
        out += ["      |", "      v"]
    out += ["the fault", *wrapped(f"{cause.title}. {cause.about}", 2)]
    for because, reading, to in chain.effects:
        out += ["      |", *wrapped(because, 6, 9, "+- "), *wrapped(f"{reading}: {to}", 9, 14, "`--> ")]
    out += ["", *wrapped(f"It is confirmed by: {base.title(cause.confirm_check)}: {cause.confirm_shows}", 0, 2)]
    if chain.named:
        out += ["", "Rules that lead back from these readings to it"]
        out += [line for rule in chain.named for line in wrapped(f"{rule.because} [{rule.name}]", 2, first="- ")]
    return out


_COLUMNS: Final = ((8, 200), (250, 400), (692, 200))
"""Where each column of boxes begins and how wide it is: fault, effects, readings."""
_LINE, _GAP, _LETTER = 16, 12, 7.2


def chain_svg(base: Base, chain: Chain) -> str:
    """The chain as a picture of boxes and arrows, which says the same in words for whoever cannot see it.

    >>> from advisor.library.base import load
    >>> chain_svg(load(), chain_of(load(), load().causes["weak-cut-off"])).endswith("</svg>")
    True
    """
    (left, wide), (middle, mid_wide), (right, right_wide) = _COLUMNS
    boxes, arrows, y = [], [], 34
    rows = []
    for because, reading, to in chain.effects:
        high = max(_height(because, mid_wide), _height(f"{reading}: {to}", right_wide))
        rows.append((y, high, because, f"{reading}: {to}"))
        y += high + _GAP
    behind = list(chain.behind)
    fault_high = _height(chain.cause.title, wide) + 6
    behind_high = sum(_height(one, wide) + 4 for one in behind)
    bottom = max(y, 34 + fault_high + (40 + behind_high if behind else 0) + 10)
    at = 34
    for one in behind:
        boxes.append(_box(left, at, wide, _height(one, wide), one, "behind"))
        at += _height(one, wide) + 4
    if behind:
        arrows.append(f'<path stroke="black" d="M{left + wide // 2} {at - 2}V{at + 26}" marker-end="url(#tip)"/>')
        at += 30
    fault_at = at
    boxes.append(_box(left, fault_at, wide, fault_high, chain.cause.title, "fault"))
    for top, high, because, reading in rows:
        boxes += [_box(middle, top, mid_wide, high, because, "effect"),
                  _box(right, top, right_wide, high, reading, "reading")]
        start = min(max(top + high // 2, fault_at + 6), fault_at + fault_high - 6)
        arrows.append(f'<path stroke="black" d="M{left + wide} {start}L{middle - 5} {top + high // 2}" '
                      'marker-end="url(#tip)"/>')
        arrows.append(f'<path stroke="black" d="M{middle + mid_wide} {top + high // 2}H{right - 5}" '
                      'marker-end="url(#tip)"/>')
    words = ". ".join(f"{because}, so {reading}: {to}" for because, reading, to in chain.effects)
    title = f"{chain.cause.title}: from the fault to the readings"
    heads = "".join(f'<text x="{x}" y="22" font-weight="bold">{word}</text>' for (x, _), word in
                    zip(_COLUMNS, ("fault", "what it does", "what you read or see"), strict=True))
    return plain_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chain" viewBox="0 0 900 {bottom + 8}" role="img" '
        'aria-labelledby="chain-title chain-words" font-family="sans-serif" font-size="13">'
        f'<title id="chain-title">{escape(title)}</title><desc id="chain-words">{escape(words)}</desc>'
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto">'
        '<path d="M0 0L8 4L0 8z"/></marker></defs>'
        f'<rect width="900" height="{bottom + 8}" fill="white"/>{heads}{"".join(arrows)}{"".join(boxes)}</svg>')


def _lines(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, int((width - 16) / _LETTER)) or [""]


def _height(text: str, width: int) -> int:
    return _LINE * len(_lines(text, width)) + 10


def _box(x: int, y: int, width: int, height: int, text: str, kind: str) -> str:
    bold = ' font-weight="bold"' if kind == "fault" else ""
    dashes = ' stroke-dasharray="4 3"' if kind == "behind" else ""
    lines = "".join(f'<tspan x="{x + 8}" y="{y + 18 + _LINE * row}">{escape(line)}</tspan>'
                    for row, line in enumerate(_lines(text, width)))
    radius = 10 if kind == "reading" else 0
    frame = f'x="{x}" y="{y}" width="{width}" height="{height}" rx="{radius}"'
    return (f'<rect {frame} fill="white" stroke="black"{dashes}/>'
            f"<text{bold}>{lines}</text>")


