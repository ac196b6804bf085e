"""What stands in a line beside its facts: a remark, a question back, or what is not understood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.physics import units
from advisor.reasoning.case import Entry
from advisor.understanding.facts import is_by_the_way, is_of_this_unit
from advisor.understanding.layout import Line, words_of
from advisor.understanding.likeness import likest
from advisor.understanding.moods import ASKS, DOUBTS, IF, PAST, TARGET
from advisor.understanding.tokens import Token, stem_of
from advisor.understanding.understood import MOST_CHOICES, Asked, Choice, Heard, Left, Understood, entry_words

_FEW: Final = 3
"""Of a word that answers some question it is asked which, where no more words than these stand with it."""


@dataclass
class Rest:
    """The parts of a line in which no fact was chosen."""

    line: Line
    asked: str
    known: Mapping[str, object]

    def told(
        self, found: list[tuple[int, Heard]], questions: list[tuple[int, Asked]], remarked: set[int], spent: set[int],
        moods: Sequence[frozenset[str]], left: list[Left],
    ) -> Understood:
        """What else stands in each part: a remark, a question back, or what is not understood."""
        line = self.line
        found, questions = sorted(found, key=lambda one: one[0]), sorted(questions, key=lambda one: one[0])
        used = {line.tokens[at].part for at in spent} - remarked
        remarks: list[str] = []
        runs: list[list[int]] = []
        for part in dict.fromkeys(token.part for token in line.tokens):
            if part in used:
                left += self.numbers_left(part, spent)
                found += self.beside(part, spent, moods, found)
                continue
            if runs and runs[-1][-1] == part - 1 and self.joined(part):
                runs[-1].append(part)
            else:
                runs.append([part])
        ask = ""
        for run in [piece for several in runs for piece in self.pieces(several)]:
            words = words_of(self.line, set(run))
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
            if question and self.is_plain(question, tokens):
                found.append((line.tokens.index(tokens[0]), Heard(question.choices[0].entries[0], words)))
                continue
            if question and not {one.entry for _, one in found}.isdisjoint(
                    replace(entry, said=heard.said) for choice in question.choices for entry in choice.entries
                    for _, one in found for heard in (one.entry,)):
                remarks.append(words)  # a word more of what was said: "weak and yellow"
                continue
            like = None if question or remarked & set(run) else self.like(tokens, moods, words, found)
            if isinstance(like, Heard):
                found.append((line.tokens.index(tokens[0]), like))
            elif question or like:
                back = replace(question, words=words) if question else like
                assert back is not None
                questions.append((line.tokens.index(tokens[0]), back))
            elif remarked & set(run) or self.is_one_word_more(tokens) or (
                    self.says_something(tokens) and not self.why(tokens)):
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
        """The numbers of a part that make no entry, where the rest of it makes some."""
        out = []
        for number in self.line.numbers:
            if self.line.tokens[number.first].part == part and not spent & set(range(number.first, number.end)):
                why = next((why for one, _, why in self.line.refused if one == number), "")
                if why or not number.weak:
                    first, last = self.line.tokens[number.first], self.line.tokens[number.end - 1]
                    out.append(Left(self.line.text[first.start:last.end], why or "a number of what? write its name"))
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
        """A question where a few words may be said of several things; beside what else the line says one word alone
        asks nothing: "it lights, then trips".
        """
        line = self.line
        telling = [token for token in tokens if not token.small]
        spots = [at for at, token in enumerate(line.tokens) if token in tokens]
        mood = frozenset().union(*(moods[at] for at in spots))
        if not 1 <= len(telling) <= 3 or mood & {ASKS, IF, PAST, TARGET} or any(one.denies for one in telling):
            return None
        if any(one.kind == "number" for one in telling):
            return None
        many = sum(one.kind == "word" for one in tokens) > _FEW
        beside = line.telling > len(telling)
        if len(telling) == 1 and (telling[0].stem != stem_of(telling[0].low) or many or beside):
            return None  # one word, and that misspelled, or in a sentence of its own
        stems = {token.stem for token in telling}
        meant = [saying for some in line.lexicon.sayings.values() for saying in some
                 if not saying.generic and set(saying.stems) == stems
                 and (saying.of == self.asked or is_of_this_unit(line.base, saying.of, self.known))
                 and not is_by_the_way(line.base, saying.of, saying.answer, self.known, self.asked)]
        entries = list(dict.fromkeys((saying.of, saying.answer) for saying in meant))
        if not 1 <= len(entries) <= MOST_CHOICES or not any(len(one.low) > 3 for one in telling):
            return None
        words = line.text[tokens[0].start:tokens[-1].end]
        choices = tuple(Choice(entry_words(line.base, entry), (entry,)) for entry in (
            Entry(of, answer, answer, said=words) for of, answer in entries))
        return Asked(f"What is {words!r} said of?", words, choices)

    def beside(
        self, part: int, spent: set[int], moods: Sequence[frozenset[str]], found: Sequence[tuple[int, Heard]],
    ) -> list[tuple[int, Heard]]:
        """What the words of a part that stand together beside its facts are surely like."""
        runs: list[list[int]] = [[]]
        for at, token in enumerate(self.line.tokens):
            if token.part == part and not token.breaks and at not in spent:
                runs[-1].append(at)
            elif runs[-1]:
                runs.append([])
        out = []
        for run in runs:
            tokens = [self.line.tokens[at] for at in run]
            if sum(not token.small for token in tokens) < 3:
                continue
            like = self.like(tokens, moods, words_of(self.line, {part}), found)
            if isinstance(like, Heard):
                out.append((run[0], like))
        return out

    def is_plain(self, question: Asked, tokens: Sequence[Token]) -> bool:
        """Whether two words or more can be said of one thing alone, on which nobody's safety hangs."""
        names = {entry.name for choice in question.choices for entry in choice.entries}
        telling = [token for token in tokens if not token.small]
        return len(question.choices) == 1 and len(telling) > 1 and self.line.base.safety_looks.isdisjoint(names)

    def like(
        self, tokens: Sequence[Token], moods: Sequence[frozenset[str]], words: str, found: Sequence[tuple[int, Heard]],
    ) -> Heard | Asked | None:
        """What words that no phrase was found in are like: an entry where nothing else comes near, else a question."""
        spots = [at for at, token in enumerate(self.line.tokens) if token in tokens]
        mood = frozenset().union(*(moods[at] for at in spots))
        like = likest(self.line.base, tokens, self.asked) if not mood & {ASKS, IF, PAST, TARGET} else None
        if like is None or like.answers[0][0] in {one.entry.name for _, one in found} or is_by_the_way(
                self.line.base, *like.answers[0], self.known, self.asked):
            return None
        entries = tuple(Entry(name, answer, answer, said=words) for name, answer in like.answers)
        if like.sure and not mood & {DOUBTS} and is_of_this_unit(self.line.base, like.answers[0][0], self.known):
            return Heard(entries[0], words)
        choices = tuple(Choice(entry_words(self.line.base, one), (one,)) for one in entries)
        return Asked(f"Is this meant by {words!r}?", words, (*choices, Choice("none of it: a remark", ())))

    def is_one_word_more(self, tokens: Sequence[Token]) -> bool:
        """Whether it is one word of the trade beside what else the line says: "rumbles, lights late"."""
        telling = [token for token in tokens if token.kind == "word" and not token.small]
        numbers = any(token.kind == "number" for token in tokens)
        return len(telling) == 1 < self.line.telling and telling[0].stem in self.line.lexicon.spoken and not numbers

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
