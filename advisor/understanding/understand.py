"""From a typed line to what it says: entries, questions where two meanings are near, remarks, and what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.physics import units
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import EntryError, heard, normal, read_entry
from advisor.understanding.answers import answer_facts, meant_by, named_facts
from advisor.understanding.choose import chosen
from advisor.understanding.facts import (
    ALONE,
    COMPUTED,
    LOOK,
    NUMBER,
    Fact,
    Line,
    look_facts,
    named_in,
    none_facts,
    number_facts,
    places_of,
    status_facts,
    unit_behind,
)
from advisor.understanding.lexicon import lexicon_of, spelled_right
from advisor.understanding.likeness import likest
from advisor.understanding.moods import ASKS, DOUBTS, IF, PAST, TARGET, moods_of
from advisor.understanding.numbers import numbers_of
from advisor.understanding.tokens import Token, plain_line, tokens_of

MOST_CHOICES: Final = 6


@dataclass(frozen=True, slots=True)
class Heard:
    """An entry, and the words that it was taken from."""

    entry: Entry
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question: in words, and the entries that it makes."""

    text: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A short question back: what words are meant, with choices; without them it asks for the value of `name`, and
    `then` is the line that is understood once that is known.
    """

    text: str
    words: str
    choices: tuple[Choice, ...] = ()
    name: str = ""
    then: str = ""


@dataclass(frozen=True, slots=True)
class Left:
    """Words that were not understood, with why, where that can be told."""

    words: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line says. Every word of it stands in the words of one of these.

    `ask` is the name of a reading that the line names and says nothing of.
    """

    heard: tuple[Heard, ...] = ()
    questions: tuple[Asked, ...] = ()
    remarks: tuple[str, ...] = ()
    left: tuple[Left, ...] = ()
    ask: str = ""

    @property
    def entries(self) -> tuple[Entry, ...]:
        return tuple(one.entry for one in self.heard)


def understand(base: Base, line: str, asked: str = "", known: Mapping[str, object] | None = None) -> Understood:
    """What a line says.

    Parameters
    ----------
    line : str
        As it was typed; a line of some hundred words at most.
    asked : str
        The name that was asked for, to which a bare number or answer belongs first; empty where none was.
    known : mapping, optional
        What is entered already, by name: a net stack temperature needs the room's.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> def said(line, asked=""):
    ...     return [(one.name, one.value) for one in understand(load(), line, asked).entries]
    >>> said("stack temp was running five twenty, oxygen 5.5 and a trace of smoke")
    [('stack_temperature', 520.0), ('o2', 5.5), ('smoke', 0.5)]
    >>> said("over fire minus point oh two, breech -.06")
    [('draft_over_fire', -0.02), ('draft_breech', -0.06)]
    >>> understand(load(), "carpenter was here").remarks
    ('carpenter was here',)
    """
    text = plain_line(line)
    if not text:
        return Understood()
    named = base.words.get(text.lower()) or base.words.get(line.strip().lower())
    if named and not (asked in base.observations and asked != named and meant_by(base.observations[asked], text)):
        return Understood(ask=named)
    lexicon = lexicon_of(base)
    tokens = spelled_right(lexicon, tokens_of(text))
    numbers = numbers_of(tokens)
    laid = Line(text, lexicon, tokens, numbers, named_in(lexicon, tokens, numbers))
    urgent = heard(base, text)
    alarmed = _alarm_tokens(laid, urgent)
    facts = [fact for fact in (*number_facts(laid, asked), *look_facts(laid, asked), *status_facts(laid),
                                *none_facts(laid), *answer_facts(laid, asked), *named_facts(laid))
             if not (set(fact.names) & {one.name for one in urgent}) and not fact.tokens <= alarmed]
    taken = chosen(laid, facts)
    return _Report(laid, asked, known or {}, urgent, alarmed, taken).made()


def _alarm_tokens(line: Line, urgent: Sequence[Entry]) -> frozenset[int]:
    """The tokens by which an emergency was heard."""
    out: set[int] = set()
    for entry in urgent:
        for phrases in line.base.observations[entry.name].urgent.values():
            for phrase in phrases:
                stems = tuple(token.stem for token in tokens_of(plain_line(phrase)))
                for spot in places_of(stems, line.tokens, 0, True):
                    out |= set(range(spot[0], spot[-1] + 1))
    return frozenset(out)


@dataclass
class _Report:
    """What is made of the facts that were chosen."""

    line: Line
    asked: str
    known: Mapping[str, object]
    urgent: Sequence[Entry]
    alarmed: frozenset[int]
    facts: Sequence[Fact]

    def made(self) -> Understood:
        line = self.line
        moods = moods_of(line.tokens, line.text)
        left: list[Left] = []
        found: list[tuple[int, Heard]] = []
        questions: list[tuple[int, Asked]] = []
        remarked: set[int] = set()
        spent: set[int] = set(self.alarmed)
        for entry in self.urgent:
            found.append((-1, Heard(replace(entry, said=line.text), line.text)))  # people first
        for fact in sorted(self.outweighed(), key=lambda one: min(one.tokens)):
            at = min(fact.tokens)
            mood = frozenset().union(*(moods[one] for one in fact.tokens))
            parts = {line.tokens[one].part for one in fact.tokens}
            words = self.words_of(parts)
            spent |= fact.tokens
            if self.of_another_time(fact, mood) or fact.denied or mood & {ASKS}:
                remarked |= parts
            elif fact.kind == COMPUTED:
                told = self.computed(fact, words)
                if isinstance(told, Heard):
                    found.append((at, told))
                elif isinstance(told, Asked):
                    questions.append((at, told))
                else:
                    left.append(told)
            elif fact.options and (alike := self.alike(fact)):
                found += [(at, Heard(self.with_words(entry, fact, words), words)) for entry in alike]
            elif fact.options:
                questions.append((at, self.which(fact, words)))
            elif mood & {DOUBTS} or self.takes_safety_for_seen(fact):
                questions.append((at, self.sure(fact, words)))
            else:
                found += [(at, Heard(self.with_words(entry, fact, words), words)) for entry in self.refined(fact)]
        found, clashing = self.agreeing(found)
        questions += clashing
        return self.leftover(sorted(found, key=lambda one: one[0]), sorted(questions, key=lambda one: one[0]),
                             remarked, spent, moods, left)

    # --- words ---

    def words_of(self, parts: set[int]) -> str:
        """The text of some parts of the line, from the first to the last of them."""
        tokens = [token for token in self.line.tokens if min(parts) <= token.part <= max(parts)]
        while tokens and tokens[0].breaks:
            tokens = tokens[1:]
        while tokens and tokens[-1].kind == "mark" and tokens[-1].breaks:
            tokens = tokens[:-1]
        return self.line.text[tokens[0].start:tokens[-1].end].strip() if tokens else ""

    def with_words(self, entry: Entry, fact: Fact, words: str) -> Entry:
        """An entry, with the words beside it where they are other than its name and what is typed into it."""
        plain = normal(words.replace(":", " ").replace("=", " "))
        names = [word for word, name in self.line.base.words.items() if name == entry.name] + [""]
        typed = normal(entry.typed)
        if any(plain == normal(f"{name} {entry.typed}") for name in names) or plain == typed:
            return entry
        return replace(entry, said=words)

    # --- questions ---

    def outweighed(self) -> list[Fact]:
        """The facts, without one that stands alone between full stops in words which as a whole say something else."""
        out = []
        for fact in self.facts:
            stretch = {self.line.tokens[at].stretch for at in fact.tokens}
            alone = not any(stretch & {self.line.tokens[at].stretch for at in other.tokens}
                            for other in self.facts if other is not fact)
            name = fact.names[0] if len(fact.names) == 1 and fact.entries else ""
            item = self.line.base.observations.get(name)
            if fact.kind == LOOK and len(fact.options) == 1:  # only some words near the thing: the whole may say more
                parts = {self.line.tokens[at].part for at in fact.tokens}
                like = likest(self.line.base, [token for token in self.line.tokens if token.part in parts])
                if like and like.sure:
                    continue
            may = item is not None and item.part != "equipment" and (alone or item.part == "complaint")
            if item is not None and may and fact.kind in (ALONE, LOOK):
                tokens = [token for token in self.line.tokens if token.stretch in stretch]
                like = likest(self.line.base, tokens)
                if like and like.sure and (name, fact.entries[0].value) != like.answers[0] and not (
                        item.urgent and like.answers[0][0] != name):
                    continue
            out.append(fact)
        return out

    def takes_safety_for_seen(self, fact: Fact) -> bool:
        """Whether a denial would stand for a whole look on which safety hangs: no jumper at the limit is no proof that
        nothing is bridged. Where that look is the question, it is the answer.
        """
        safety = self.line.base.safety_looks
        return fact.by_denial and self.asked not in fact.names and not safety.isdisjoint(fact.names)

    def of_another_time(self, fact: Fact, mood: frozenset[str]) -> bool:
        """Whether a fact is supposed, wished for, or of an earlier visit."""
        if mood & {IF}:
            return True
        if not mood & {PAST, TARGET}:
            return False
        items = [self.line.base.named[name] for name in fact.names]
        own = {self.line.tokens[at].low for at in fact.tokens}
        if own & {"last", "ago", "yesterday", "previous", "should", "supposed", "calls", "spec"}:
            return False
        return any(isinstance(item, Quantity) or (item.part == "reading" and mood & {TARGET, PAST} and
                                                  fact.kind != ALONE) for item in items
                   if isinstance(item, Quantity | Observation))

    def alike(self, fact: Fact) -> tuple[Entry, ...]:
        """Of several quantities the one of a kind with another number that stands near: room co 35, outside 2."""
        stretch = {self.line.tokens[at].stretch for at in fact.tokens}
        quantities = self.line.base.quantities
        kinds = {quantities[name].kind for other in self.facts if other is not fact and other.entries
                 and stretch & {self.line.tokens[at].stretch for at in other.tokens}
                 for name in other.names if name in quantities}
        near = [some for some in fact.options if len(some) == 1 and some[0].name in quantities
                and quantities[some[0].name].kind in kinds]
        return near[0] if len(near) == 1 and len(fact.options) > 1 else ()

    def refined(self, fact: Fact) -> tuple[Entry, ...]:
        """A number's entry, of the quantity whose name has further words that stand near: o2 ... in fresh air."""
        quantities = self.line.base.quantities
        if fact.kind != NUMBER or len(fact.entries) != 1 or fact.entries[0].name not in quantities:
            return fact.entries
        own = {self.line.tokens[at].stem for at in fact.tokens if self.line.tokens[at].kind == "word"
               and not units.spelled(self.line.tokens[at].text)}
        stretch = {self.line.tokens[at].stretch for at in fact.tokens}
        free = {token.stem for token in self.line.tokens if token.stretch in stretch}
        was = fact.entries[0]
        for name in self.line.lexicon.names:
            more = set(name.stems) - own
            if len(own) == 1 and len(name.items) == 1 and own < set(name.stems) and len(more) > 1 and more <= free:
                quantity = quantities.get(name.items[0])
                if quantity and quantity.kind == quantities[was.name].kind and not quantity.derived:
                    try:
                        return (read_entry(self.line.base, quantity.name, was.typed),)
                    except EntryError:
                        continue
        return fact.entries

    def which(self, fact: Fact, words: str) -> Asked:
        if len(fact.options) == 1:
            return self.sure(replace(fact, entries=fact.options[0]), words)
        choices = tuple(Choice("; ".join(entry_words(self.line.base, one) for one in some), some)
                        for some in fact.options[:MOST_CHOICES])
        return Asked(f"Which is meant by {words!r}?", words, tuple(
            replace(one, entries=tuple(replace(entry, said=words) for entry in one.entries)) for one in choices))

    def sure(self, fact: Fact, words: str) -> Asked:
        entries = tuple(replace(entry, said=words) for entry in fact.entries)
        text = "; ".join(entry_words(self.line.base, one) for one in entries)
        return Asked(f"Is it so: {text}?", words, (Choice(f"yes: {text}", entries), Choice("not sure: a remark", ())))

    def agreeing(self, found: list[tuple[int, Heard]]) -> tuple[list[tuple[int, Heard]], list[tuple[int, Asked]]]:
        """The entries, without those of which a line says two things; of these it is asked which.

        Of what the call is about the first that is said counts: people name the worst of it first.
        """
        out: list[tuple[int, Heard]] = []
        asked: list[tuple[int, Asked]] = []
        by_name: dict[str, list[tuple[int, Heard]]] = {}
        urgent = {one.name for one in self.urgent}
        for one in found:
            by_name.setdefault(one[1].entry.name, []).append(one)
        for name, some in by_name.items():
            item = self.line.base.named[name]
            values = {one.entry.value for _, one in some}
            if len(values) == 1 or name in urgent or (isinstance(item, Observation) and item.part == "complaint"):
                words = "; ".join(dict.fromkeys(one.words for _, one in some))
                first = some[0][1].entry
                out.append((some[0][0], Heard(replace(first, said=words) if len(some) > 1 else first, words)))
            elif isinstance(item, Quantity):
                out += some
            else:
                words = self.words_of({self.line.tokens[at].part for at, _ in some})
                asked.append((some[0][0], Asked(f"Which is meant by {words!r}?", words, tuple(
                    Choice(entry_words(self.line.base, one.entry), (replace(one.entry, said=words),))
                    for _, one in some))))
        return out, asked

    def computed(self, fact: Fact, words: str) -> Heard | Asked | Left:
        """A number of what is computed: of a net stack the gross one, for which the room's temperature is needed."""
        base = self.line.base
        value = min((one for one in self.line.numbers if one.first in fact.tokens), key=lambda one: one.first)
        if fact.of == "net_stack" and value.value >= 50:
            here = [entry.value for one in self.facts for entry in one.entries if entry.name == "room_temperature"]
            room = here[0] if here else self.known.get("room_temperature")
            if not isinstance(room, float):
                return Asked("Net stack: at what room temperature?", words, name="room_temperature", then=words)
            unit = unit_behind(self.line, value, "temperature_difference")
            over = units.parse(f"{value.typed} {unit[0] if unit else ''}", "temperature_difference").value
            try:
                return Heard(replace(read_entry(base, "stack_temperature", f"{over + room:g} F"), said=words), words)
            except EntryError as error:
                return Left(words, str(error))
        return Left(words, f"{base.title(fact.of)} is computed, not entered: {base.quantities[fact.of].derived}")

    # --- the rest ---

    def leftover(
        self, found: list[tuple[int, Heard]], questions: list[tuple[int, Asked]], remarked: set[int], spent: set[int],
        moods: Sequence[frozenset[str]], left: list[Left],
    ) -> Understood:
        """What else stands in each part: a remark, a question back, or what is not understood."""
        line = self.line
        used = {line.tokens[at].part for at in spent} - remarked
        remarks: list[str] = []
        runs: list[list[int]] = []
        for part in dict.fromkeys(token.part for token in line.tokens):
            if part in used:
                left += self.numbers_left(part, spent)
                continue
            if runs and runs[-1][-1] == part - 1 and self.joined(part):
                runs[-1].append(part)
            else:
                runs.append([part])
        ask = ""
        for run in [piece for several in runs for piece in self.pieces(several)]:
            words = self.words_of(set(run))
            if not words:
                continue
            tokens = [token for token in line.tokens if token.part in run and not token.breaks]
            if not tokens:
                continue
            whole = self.named_whole(tokens)
            if whole and not found and not questions and len(runs) == 1:
                ask = whole
                continue
            several = self.several(tokens)
            if several:
                left.append(Left(words, several))
                continue
            plain = self.equipment(tokens, words, found) if not remarked & set(run) else None
            if plain:
                found.append((line.tokens.index(tokens[0]), plain))
                continue
            question = self.ambiguous(tokens, moods) if not remarked & set(run) else None
            like = None if question or remarked & set(run) else self.like(tokens, moods, words, found)
            if isinstance(like, Heard):
                found.append((line.tokens.index(tokens[0]), like))
            elif question or like:
                back = replace(question, words=words) if question else like
                assert back is not None
                questions.append((line.tokens.index(tokens[0]), back))
            elif self.says_something(tokens) and (remarked & set(run) or not self.why(tokens)):
                remarks.append(words)
            else:
                left.append(Left(words, self.why(tokens)))
        found.sort(key=lambda one: one[0])
        questions.sort(key=lambda one: one[0])
        return Understood(tuple(one for _, one in found), tuple(one for _, one in questions), tuple(remarks),
                          tuple(left), ask)

    def pieces(self, run: list[int]) -> list[list[int]]:
        """A run of parts cut so that the pieces are most like what they say; whole where no cut makes it likelier."""
        def worth(piece: list[int]) -> float:
            like = likest(self.line.base, [token for token in self.line.tokens if token.part in piece], self.asked)
            return -0.1 if like is None else 1.9 if like.sure else 0.9

        best: list[tuple[float, list[list[int]]]] = [(0.0, [])]
        for end in range(1, min(len(run), 8) + 1):
            best.append(max(((best[start][0] + worth(run[start:end]), [*best[start][1], run[start:end]])
                             for start in range(end)), key=lambda one: one[0]))
        return [*best[-1][1], *([run[8:]] if run[8:] else [])]

    def joined(self, part: int) -> bool:
        """Whether a part goes on with what the one before it says: no full stop stands between them."""
        first = next(token for token in self.line.tokens if token.part == part)
        return first.low in ("and", "then", ",", "(", ")", "because", "since", "while", "/", "also", "&", "plus") \
            and not any(self.line.tokens[one.first].part == part for one in self.line.numbers)

    def numbers_left(self, part: int, spent: set[int]) -> list[Left]:
        """The numbers of a part that stand beside a name and make no entry, where the rest of it makes some."""
        out = []
        for number in self.line.numbers:
            if self.line.tokens[number.first].part == part and not spent & set(range(number.first, number.end)):
                why = next((why for one, _, why in self.line.refused if one == number), "")
                if why:
                    first, last = self.line.tokens[number.first], self.line.tokens[number.end - 1]
                    out.append(Left(self.line.text[first.start:last.end], why))
        return out

    def named_whole(self, tokens: Sequence[Token]) -> str:
        """The name that some tokens are, all of them; empty where they are none."""
        telling = {at for at, token in enumerate(self.line.tokens) if token in tokens and token.kind != "mark"}
        for one in self.line.named:
            if set(one.at) >= {at for at in telling if not self.line.tokens[at].small} and set(one.at) <= telling:
                words = " ".join(token.low for token in tokens if token.kind != "mark")
                if len(one.name.items) == 1 or words in self.line.base.words:
                    return self.line.base.words.get(words, one.name.items[0])
        return ""

    def several(self, tokens: Sequence[Token]) -> str:
        """What to say of a name alone that several things have."""
        spots = {at for at, token in enumerate(self.line.tokens) if token in tokens and token.kind != "mark"
                 and not token.small}
        for one in self.line.named:
            if set(one.at) == spots and len(one.name.items) > 1:
                titles = " or ".join(self.line.base.title(name) for name in one.name.items[:4])
                return f"of what? {titles}: write which, and what it is"
        return ""

    def equipment(self, tokens: Sequence[Token], words: str, found: Sequence[tuple[int, Heard]]) -> Heard | None:
        """A word or two that can be said of one piece of equipment alone, among others of it: boiler, steam."""
        base = self.line.base
        if base.equipment.isdisjoint(one.entry.name for _, one in found):
            return None
        stems = {token.stem for token in tokens if not token.small}
        meant = {(saying.of, saying.answer) for some in self.line.lexicon.sayings.values() for saying in some
                 if not saying.generic and stems and set(saying.stems) == stems}
        if len(meant) != 1:
            return None
        name, answer = next(iter(meant))
        if base.observations[name].part != "equipment" or name in {one.entry.name for _, one in found}:
            return None
        return Heard(Entry(name, answer, answer, said=words), words)

    def ambiguous(self, tokens: Sequence[Token], moods: Sequence[frozenset[str]]) -> Asked | None:
        """A question where a few words may be said of several things."""
        line = self.line
        telling = [token for token in tokens if not token.small]
        spots = [at for at, token in enumerate(line.tokens) if token in tokens]
        mood = frozenset().union(*(moods[at] for at in spots))
        if not 1 <= len(telling) <= 3 or mood & {ASKS, IF, PAST, TARGET} or any(one.denies for one in telling):
            return None
        if any(one.kind == "number" for one in telling):
            return None
        stems = {token.stem for token in telling}
        meant = [saying for some in line.lexicon.sayings.values() for saying in some
                 if not saying.generic and set(saying.stems) == stems]
        entries = list(dict.fromkeys((saying.of, saying.answer) for saying in meant))
        if not 1 <= len(entries) <= MOST_CHOICES or not any(len(one.low) > 3 for one in telling):
            return None
        words = line.text[tokens[0].start:tokens[-1].end]
        choices = tuple(Choice(entry_words(line.base, entry), (entry,)) for entry in (
            Entry(of, answer, answer, said=words) for of, answer in entries))
        return Asked(f"What is {words!r} said of?", words, choices)

    def like(
        self, tokens: Sequence[Token], moods: Sequence[frozenset[str]], words: str, found: Sequence[tuple[int, Heard]],
    ) -> Heard | Asked | None:
        """What words that no phrase was found in are like: an entry where nothing else comes near, else a question."""
        spots = [at for at, token in enumerate(self.line.tokens) if token in tokens]
        mood = frozenset().union(*(moods[at] for at in spots))
        like = likest(self.line.base, tokens, self.asked) if not mood & {ASKS, IF, PAST, TARGET} else None
        if like is None or like.answers[0][0] in {one.entry.name for _, one in found}:
            return None
        entries = tuple(Entry(name, answer, answer, said=words) for name, answer in like.answers)
        if like.sure and not mood & {DOUBTS}:
            return Heard(entries[0], words)
        choices = tuple(Choice(entry_words(self.line.base, one), (one,)) for one in entries)
        return Asked(f"Is this meant by {words!r}?", words, (*choices, Choice("none of it: a remark", ())))

    def says_something(self, tokens: Sequence[Token]) -> bool:
        """Whether words are a remark: some words of letters, not a bare number or a word or two that mean nothing."""
        words = [token for token in tokens if token.kind == "word" and len(token.low) > 1]
        telling = [token for token in words if not token.small]
        return bool(telling) and len(words) > 1 and len(words) * 2 >= len([t for t in tokens if t.kind != "mark"])

    def why(self, tokens: Sequence[Token]) -> str:
        spots = {at for at, token in enumerate(self.line.tokens) if token in tokens}
        whys = [(much, why) for number, much, why in self.line.refused if number.first in spots]
        if whys:  # of the name with the most words, which says best what was meant
            return max(whys, key=lambda one: one[0])[1]
        telling = [token for token in tokens if token.kind == "word" and not token.small
                   and not units.spelled(token.text)]
        words = [token for token in tokens if token.kind == "word" and not units.spelled(token.text)]
        if len(telling) < 2 and len(words) < 3 and any(number.first in spots for number in self.line.numbers):
            return "a number of what? write its name with it, such as stack 520"
        return ""


def entry_words(base: Base, entry: Entry) -> str:
    """An entry in words.

    >>> from advisor.library.base import load
    >>> entry_words(load(), read_entry(load(), "stack_temperature", "520"))
    'stack temperature 520 degF'
    """
    title = base.title(entry.name)
    if entry.value is None:
        return f"{title}: {entry.status}"
    if isinstance(entry.value, float):
        return f"{title} {units.format_value(entry.value, base.quantities[entry.name].kind)}"
    item = base.observations[entry.name]
    means = item.means.get(entry.value, "")
    shown = entry.value.replace("-", " ")
    return f"{title}: {shown} ({means})" if means and entry.value in ("yes", "no") else f"{title}: {shown}"
