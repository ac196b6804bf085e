"""The site: which pages there are, what stands on each, and what leads from one to the other."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from advisor.bench.chain import chain_of, chain_svg
from advisor.bench.likeness import confused
from advisor.handbook.blocks import Block, Linker, Section, sections
from advisor.library.base import Base
from advisor.library.items import IN_ORDER, Cause, Rule
from advisor.library.plaintext import plain_text
from advisor.pages.finding import plural, shelves_of
from advisor.pages.handbook import page_of
from advisor.pages.shown import share_text
from advisor.pages.wording import CAUTIONS, WIDEST, at_width, plain
from advisor.reasoning.signatures import chart_of
from advisor.understanding.synonyms import alike

MARK: Final = "burner-advisor handbook"
"""Stands in the start page, so that a folder with a handbook is known again."""
_FOLDER: Final = {"panel": "shown", "quantity": "reading", "observation": "look"}
"""What addresses begin with, where it is not the kind."""
_BASIC: Final = frozenset({"", "Where people must leave", "What to do", "Whom to call", "To confirm it", "Answers",
                           "What it does to the readings", "Cautions", "Picture", "Read next", "How"})
_MASTER: Final = frozenset({"Source", "Limits", "Rules that use it", "Rules about it", "Example", "What blocks it",
                            "Stands in", "How often units that have it show it (our own estimate)", "How common",
                            "Rules that rest on it", "Limits that rest on it", "It is linked from"})
"""Headings of pages, by the level from which on they are shown; all others are for the working technician."""
_FELT: Final = dict.fromkeys(("temperature", "temperature_difference"), ("hot", "cold", "cool"))
"""What people say for the levels of a kind of reading."""
_NEXT: Final = 5
_MOST_CAUSES: Final = 25


@dataclass
class _Page:
    """A page before it is written."""

    address: str
    title: str
    kind: str
    sections: list[Section]
    words: tuple[str, ...] = ()
    picture: Markup = field(default_factory=Markup)
    linked: set[str] = field(default_factory=set)


def address_of(kind: str, name: str) -> str:
    """Where the page of an item stands; a rule stands on the page of its subject.

    >>> address_of("cause", "nozzle-worn"), address_of("quantity", "co_air_free")
    ('cause-nozzle-worn.html', 'reading-co_air_free.html')
    """
    return f"{_FOLDER.get(kind, kind)}-{re.sub(r'[^A-Za-z0-9_.-]', '-', name)}.html"


def site(base: Base) -> Iterator[tuple[str, str]]:
    """Every file of the site, with its text.

    Parameters
    ----------
    base : Base

    Yields
    ------
    tuple of str
        The name of the file, and what stands in it. The start page, `index.html`, comes last.
    """
    with at_width(WIDEST):
        pages = [*_items(base), *_questions(base), _look_alikes(base)]
    linker = Linker({word.casefold(): one.address for one in reversed(pages)
                     for word in ((one.title,) if one.kind != "rule" else ())})
    bodies = {one.address: _body(one, linker) for one in pages}
    back: dict[str, list[_Page]] = {}
    for one in pages:
        for other in one.linked:
            back.setdefault(other, []).append(one)
    by_address = {one.address: one for one in pages}
    template = _environment().get_template("page.html.j2")
    for one in pages:
        mutual = [other for other in one.linked if one.address in by_address[other].linked]
        others = sorted(one.linked - set(mutual), key=lambda other: (-len(back.get(other, ())), other))
        read_next = [by_address[other] for other in (*sorted(mutual), *others)][:_NEXT]
        from_here = sorted((other for other in back.get(one.address, ()) if other.address not in one.linked),
                           key=lambda other: (other.kind, other.title))
        yield one.address, plain_text(template.render(
            page=one, body=bodies[one.address], read_next=read_next, back=from_here, cautions=CAUTIONS))
    yield "style.css", _environment().get_template("style.css.j2").render()
    yield "handbook.js", _environment().get_template("handbook.js.j2").render(index=Markup(_index(pages)))
    yield "search.html", plain_text(_environment().get_template("search.html.j2").render(cautions=CAUTIONS))
    by_kind = {kind: [one for one in pages if one.kind == kind] for kind in dict.fromkeys(one.kind for one in pages)}
    for kind, listed in by_kind.items():
        yield f"all-{kind}.html", plain_text(_environment().get_template("list.html.j2").render(
            title=f"All {plural(kind)}", pages=sorted(listed, key=lambda one: one.title.casefold()), cautions=CAUTIONS))
    yield "index.html", plain_text(_environment().get_template("index.html.j2").render(
        mark=MARK, kinds={kind: (plural(kind), len(listed)) for kind, listed in by_kind.items()},
        hazards=sorted(by_kind.get("hazard", ()), key=lambda one: one.title.casefold()),
        families=by_kind.get("family", ()), questions=by_kind.get("question", ()), cautions=CAUTIONS))


def _items(base: Base) -> Iterator[_Page]:
    """The pages of all items; the rules of a subject share one."""
    for kind, shelf in shelves_of(base).items():
        if kind == "rule":
            continue
        for item in shelf.values():
            title = base.title(item.name) + ": what causes show" if kind == "panel" else item.title
            made = _Page(address_of(kind, item.name), title, kind, sections(page_of(base, kind, item)),
                         (item.name, *getattr(item, "aliases", ())))
            if isinstance(item, Cause):
                made.picture = Markup(chain_svg(base, chain_of(base, item)))
                rules = [f"{rule.name}. {rule.because}" for rule in base.rules_about[item.name]]
                made.sections.append(Section("Rules about it", [Block("ul", rules)]))
                made.sections.append(Section("Look-alikes", [Block("ul", _like(base, item))]))
            made.sections = [one for one in made.sections if any(block.texts for block in one.blocks)]
            yield made
    for rule in base.rules.values():
        yield _Page(address_of("rule", rule.name), rule.title, "rule",
                    [*sections(page_of(base, "rule", rule)), _blocked(base, rule)], (rule.name,))


def _blocked(base: Base, rule: Rule) -> Section:
    """Every answer that keeps a rule from holding."""
    texts = []
    for name, any_of in rule.when.items():
        others = [plain(one) for one in base.named[name].symbols if one not in any_of]
        if others:
            texts.append(f"{base.title(name)}: {' or '.join(others)}")
    return Section("What blocks it", [Block("ul", texts)] if texts else [Block("p", ["nothing: it always holds"])])


def _like(base: Base, cause: Cause) -> list[str]:
    """What a cause is taken for."""
    near = [name for pair in confused(base) if cause.name in pair.causes for name in pair.causes]
    near += [name for family in base.families.values() if cause.name in family.members for name in family.members]
    return [base.title(name) for name in dict.fromkeys(near) if name != cause.name][:8]


def _questions(base: Base) -> Iterator[_Page]:
    """For everything that causes move, and each way it goes: what brings it there, and by which mechanism."""
    chart = chart_of(base, {})
    for name, item in base.named.items():
        found: dict[str, list[tuple[float, str]]] = {}
        for cause in base.causes.values():
            for link in cause.chain:
                if link.moves != name:
                    continue
                for level in link.to:
                    rows = chart.rows.get((name, level, ""))
                    share = rows[cause.name][0] if rows else base.common[cause.name]
                    usual = rows[IN_ORDER][0] if rows else 0.0
                    often = f" ({share_text(share)}; {share_text(usual)} in order)" if rows else ""
                    if share > usual:
                        found.setdefault(level, []).append((share, f"{cause.title}{often}: {link.because}"))
        usual_here = base.usual.get(name)
        if usual_here:
            found.pop(max(usual_here, key=lambda one: usual_here[one]), None)  # nothing is wrong with that
        levels = [level for level in item.symbols if level in found]
        if sum(map(len, found.values())) < 3:
            continue
        out = [Section("", [Block("p", [f"What each cause does to it, by the chains of the causes: {item.title}."])])]
        for level in levels:
            lines = [text for _, text in sorted(found[level], key=lambda one: -one[0])][:_MOST_CAUSES]
            out.append(Section(f"What makes it: {plain(level)}?", [Block("ul", lines)]))
        felt = _FELT.get(getattr(item, "kind", ""), ())
        yield _Page(f"question-{name}.html", f"What moves it: {item.title}", "question", out,
                    (name, *getattr(item, "aliases", ()), *map(plain, levels), *felt))


def _look_alikes(base: Base) -> _Page:
    """The pairs that are confused most."""
    pairs = [f"{base.title(one)}, and {base.title(other)}: `tell-apart {one} {other}` sets them side by side"
             for one, other in (pair.causes for pair in confused(base))]
    return _Page("lookalikes.html", "Look-alikes", "question", [
        Section("", [Block("p", ["Pairs of causes that the advisor itself took for one another most often on the "
                                 "physical burner of its benchmark."]), Block("ul", pairs)])])


def _body(one: _Page, linker: Linker) -> list[tuple[str, str, str, list[tuple[str, list[Markup]]]]]:
    """Heading, its place, level and blocks of each section, with links."""
    out = []
    for number, section in enumerate(one.sections):
        level = "basic" if section.title in _BASIC else "master" if section.title in _MASTER else "working"
        if one.kind in ("question", "term", "source", "rule"):
            level = "basic"
        of_rules = section.title == "Rules about it"
        blocks = [(block.kind, [_rule_link(one, text) if of_rules else linker.linked(text, one.address, one.linked)
                                for text in block.texts]) for block in section.blocks]
        out.append((section.title, f"part-{number}", level, blocks))
    return out


def _rule_link(one: _Page, text: str) -> Markup:
    """A rule on the page of its cause; the text begins with its name."""
    name, _, because = text.partition(". ")
    one.linked.add(address_of("rule", name))
    return Markup('<a href="{}">{}</a>. {}').format(address_of("rule", name), name.replace("-", " "), because)


def _index(pages: Iterable[_Page]) -> str:
    """What the search knows, as JSON: pages with their words, and words that mean the same."""
    found = [[one.title, one.address, one.kind, " ".join(dict.fromkeys(
        " ".join(one.words).replace("-", " ").replace("_", " ").casefold().split()))] for one in pages]
    text = json.dumps({"pages": found, "alike": alike()}, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c")


@lru_cache(maxsize=1)
def _environment() -> Environment:
    return Environment(loader=PackageLoader("advisor.handbook"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)

