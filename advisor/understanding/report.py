"""What is made of the facts that were chosen: entries, and questions where one is doubtful or says two things."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.library.items import Observation, Quantity
from advisor.physics import units
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import EntryError, normal, read_entry
from advisor.understanding.facts import ALONE, COMPUTED, LOOK, NUMBER, Fact
from advisor.understanding.layout import Line, words_of
from advisor.understanding.likeness import likest
from advisor.understanding.measures import unit_behind, units_behind
from advisor.understanding.moods import ASKS, DOUBTS, ELSEWHERE, IF, PAST, TARGET, TRIAL, moods_of
from advisor.understanding.rest import Rest
from advisor.understanding.tokens import HOW_MUCH
from advisor.understanding.understood import MOST_CHOICES, Asked, Choice, Heard, Left, Understood, entry_words

SPARE: Final = 0
"""So many more words than it explains may stand beside a fact of things seen."""


MOST_FAR: Final = 0.6
"""A number further than this from a name, and without a unit, is asked."""


@dataclass
class Report:
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
        elsewhere = any(ELSEWHERE in moods[at] for at in self.alarmed) or (
            not self.alarmed and any(ELSEWHERE in mood for mood in moods))
        for entry in self.urgent:
            if elsewhere:
                item = Fact((entry,), self.alarmed, 0.0, ALONE)
                questions.append((-1, self.sure(item, line.text)))
            else:
                found.append((-1, Heard(replace(entry, said=line.text), line.text)))  # people first
        for fact in sorted(self.outweighed(), key=lambda one: min(one.tokens)):
            at = min(fact.tokens)
            mood = frozenset().union(*(moods[one] for one in fact.tokens))
            parts = {line.tokens[one].part for one in fact.tokens}
            words = words_of(self.line, parts)
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
            elif mood & {DOUBTS} or self.takes_safety_for_seen(fact) or (
                    TRIAL in mood and self.is_reading(fact)) or self.says_little(fact) or self.is_far(fact) or (
                    ELSEWHERE in mood and fact.kind in (ALONE, LOOK)):
                questions.append((at, self.sure(fact, words)))
            else:
                found += [(at, Heard(self.with_words(entry, fact, words), words)) for entry in self.refined(fact)]
        found, clashing, beside = self.agreeing(found)
        questions += clashing
        counted = {line.tokens[at].part for at, _ in found if at >= 0}
        remarked |= {line.tokens[at].part for at in beside} - counted
        return Rest(self.line, self.asked, self.known).told(found, questions, remarked, spent, moods, left)

    # --- words ---

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

    def says_little(self, fact: Fact) -> bool:
        """Whether a fact of things seen leaves more of its part unexplained than it explains, so that the words may
        well say something else: "had to bang on the door five minutes before she let me in".
        """
        if fact.kind not in (ALONE, LOOK) or self.line.base.equipment.issuperset(fact.names):
            return False
        parts = {self.line.tokens[at].part for at in fact.tokens}
        known = frozenset().union(*(one.tokens for one in self.facts)) | self.alarmed
        telling = [at for at, token in enumerate(self.line.tokens)
                   if token.part in parts and token.kind == "word" and not token.small and token.low not in HOW_MUCH]
        covered = sum(at in known for at in telling)
        spare = SPARE if len(fact.tokens) < 3 and fact.kind == ALONE else SPARE + 2
        return len(telling) - covered > covered + spare

    def is_far(self, fact: Fact) -> bool:
        """Whether it is a number without a unit that stands far from the name it was taken for."""
        number = next((one for one in self.line.numbers if one.first in fact.tokens), None)
        return fact.kind == NUMBER and fact.cost > MOST_FAR and number is not None and len(fact.entries) == 1 \
            and not units_behind(self.line, number) and not number.hashed

    def is_reading(self, fact: Fact) -> bool:
        """Whether it is the number of a reading."""
        quantities = self.line.base.quantities
        return fact.kind == NUMBER and any(name in quantities and quantities[name].part == "reading"
                                           for name in fact.names)

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

    def agreeing(
        self, found: list[tuple[int, Heard]]
    ) -> tuple[list[tuple[int, Heard]], list[tuple[int, Asked]], list[int]]:
        """The entries, without those of which a line says two things; of these it is asked which. And the tokens of
        what is kept as a remark beside the entry that counts.

        Of what the call is about the first that is said counts, people name the worst of it first; but what is more to
        the point counts before what is vague: no heat, it locked out.
        """
        out: list[tuple[int, Heard]] = []
        asked: list[tuple[int, Asked]] = []
        beside: list[int] = []
        by_name: dict[str, list[tuple[int, Heard]]] = {}
        urgent = {one.name for one in self.urgent}
        for one in found:
            by_name.setdefault(one[1].entry.name, []).append(one)
        for name, some in by_name.items():
            item = self.line.base.named[name]
            values = {one.entry.value for _, one in some}
            if len(values) > 1 and name not in urgent and isinstance(item, Observation) and item.part == "complaint":
                counts = next((one for one in some if one[1].entry.value not in item.vague), some[0])
                out.append(counts)
                beside += [at for at, one in some if one.entry.value != counts[1].entry.value]
            elif len(values) == 1 or name in urgent:
                words = "; ".join(dict.fromkeys(one.words for _, one in some))
                first = some[0][1].entry
                out.append((some[0][0], Heard(replace(first, said=words) if len(some) > 1 else first, words)))
            elif isinstance(item, Quantity):
                out += some
            else:
                words = words_of(self.line, {self.line.tokens[at].part for at, _ in some})
                asked.append((some[0][0], Asked(f"Which is meant by {words!r}?", words, tuple(
                    Choice(entry_words(self.line.base, one.entry), (replace(one.entry, said=words),))
                    for _, one in some))))
        return out, asked, beside

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
