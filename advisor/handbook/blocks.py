"""The text of a page taken apart into blocks, and the names in it made into links."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from markupsafe import Markup, escape

_ITEM: Final = re.compile(r"(?P<lead> +)(?P<mark>-|!|\d+\.) (?P<text>.*)")
_WORD: Final = re.compile(r"[\w°%/'.-]*\w")
LEAST_LETTERS: Final = 4
"""A shorter name is left without a link: it stands in too many words."""


@dataclass(slots=True)
class Block:
    """A paragraph (`p`), a list (`ul`, `ol`) or cautions (`caution`), each with its texts."""

    kind: str
    texts: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Section:
    """A heading, empty for what stands before the first, and the blocks below it."""

    title: str
    blocks: list[Block] = field(default_factory=list)


def sections(lines: Sequence[str]) -> list[Section]:
    """The sections of a page of text, its first two lines (title, kind) left out.

    Examples
    --------
    >>> found = sections(["SOOT", "  a cause", "  It lies", "  there.", "", "Remedy", "  - brush it", "    out"])
    >>> [(one.title, [block.texts for block in one.blocks]) for one in found]
    [('', [['It lies there.']]), ('Remedy', [['brush it out']])]
    """
    out = [Section("")]
    for line in lines[2:]:
        if not line.strip():
            continue
        if not line.startswith(" "):
            out.append(Section(line))
            continue
        blocks, item = out[-1].blocks, _ITEM.fullmatch(line)
        if item and len(item["lead"]) <= 4:
            kind = {"-": "ul", "!": "caution"}.get(item["mark"], "ol")
            if not blocks or blocks[-1].kind != kind:
                blocks.append(Block(kind))
            blocks[-1].texts.append(item["text"])
        elif blocks and (blocks[-1].kind == "p" or line.startswith("    ")):
            blocks[-1].texts[-1] += " " + line.strip()
        else:
            blocks.append(Block("p", [line.strip()]))
    return [one for one in out if one.blocks]


class Linker:
    """Makes links of the titles that stand in a text. `pages` has for each title, in small letters, its address."""

    def __init__(self, pages: Mapping[str, str]) -> None:
        self._by_first: dict[str, list[tuple[tuple[str, ...], str]]] = {}
        for title, address in pages.items():
            words = tuple(word.casefold() for word in _WORD.findall(title))
            if words and len(title) >= LEAST_LETTERS:
                self._by_first.setdefault(words[0], []).append((words, address))
        for known in self._by_first.values():
            known.sort(key=lambda one: -len(one[0]))

    def linked(self, text: str, here: str, seen: set[str]) -> Markup:
        """A text with a link at each first mention of a page; `seen` takes the addresses that were linked.

        >>> str(Linker({"soot in the flue": "a.html"}).linked("see Soot in the flue & more", "b.html", set()))
        'see <a href="a.html">Soot in the flue</a> &amp; more'
        """
        out, at = Markup(), 0
        for start, end, address in self._found(text):
            if address == here or address in seen:
                continue
            seen.add(address)
            out += escape(text[at:start]) + Markup('<a href="{}">{}</a>').format(address, text[start:end])
            at = end
        return out + escape(text[at:])

    def _found(self, text: str) -> Iterator[tuple[int, int, str]]:
        """Where titles stand, the longest first."""
        words = [(found.start(), found.end(), found[0].casefold()) for found in _WORD.finditer(text)]
        at = 0
        while at < len(words):
            step = 1
            for title, address in self._by_first.get(words[at][2], ()):
                end = at + len(title)
                if end <= len(words) and all(words[at + n][2] == part for n, part in enumerate(title)):
                    yield words[at][0], words[end - 1][1], address
                    step = len(title)
                    break
            at += step
