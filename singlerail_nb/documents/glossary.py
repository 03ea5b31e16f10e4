"""Words that trip people: one table, which documents and notebooks take their words from."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ..circuit.circuit import closest
from ..errors import UnknownNameError
from ..quantities.tables import markdown_table, text_table
from .document import Block, Drawing, Heading, Items
from .markdown import block_markdown

_FILE = Path(__file__).parents[1] / "data" / "glossary.toml"
_HEADER = ("word", "meaning", "not to be mistaken for")


@dataclass(frozen=True)
class Word:
    """A word and what it means here.

    Attributes
    ----------
    word : str
        The word.
    meaning : str
        What it is.
    mistaken_for : str
        What it is not; may be empty.
    also : tuple of str
        Other spellings.
    """

    word: str
    meaning: str
    mistaken_for: str = ""
    also: tuple[str, ...] = ()

    def is_in(self, text: str) -> bool:
        """Return whether a text uses the word.

        Parameters
        ----------
        text : str
            Any text.
        """
        return re.search(rf"(?<![^\W_])(?:{self._spelt})s?(?![^\W_])", text, re.IGNORECASE) is not None

    def is_called(self, text: str) -> bool:
        """Return whether a text is the word, in any of its spellings.

        Parameters
        ----------
        text : str
            A word, small or capital, one or many.
        """
        return re.fullmatch(f"(?:{self._spelt})s?", text.strip(), re.IGNORECASE) is not None

    @property
    def _spelt(self) -> str:
        return "|".join(re.escape(one) for one in (self.word, *self.also))

    @property
    def line(self) -> str:
        """The word as a point of a list."""
        return f"**{self.word}**: {self.meaning}"


class Glossary(tuple[Word, ...]):
    """Words in the order of the alphabet; it shows itself as a table.

    Parameters
    ----------
    words : iterable of Word
        Which.
    """

    __slots__ = ()

    def used_in(self, text: str) -> Glossary:
        """Return the words that a text uses.

        Parameters
        ----------
        text : str
            Any text.
        """
        return Glossary(word for word in self if word.is_in(text))

    def _rows(self) -> Iterator[tuple[str, str, str]]:
        yield from ((word.word, word.meaning, word.mistaken_for) for word in self)

    def __repr__(self) -> str:
        return text_table(_HEADER, self._rows())

    def _repr_markdown_(self) -> str:
        return markdown_table(_HEADER, self._rows())


def glossary(*words: str) -> Glossary:
    """Return the words of this field that trip people, in plain language.

    Parameters
    ----------
    *words : str
        Only these, in any spelling of the table; all unless given.

    Raises
    ------
    UnknownNameError
        If a word is not in the table.
    """
    return Glossary(dict.fromkeys(_word(word) for word in words)) if words else _every_word()


def _word(called: str) -> Word:
    every = _every_word()
    for word in every:
        if word.is_called(str(called)):
            return word
    spellings = {spelling: word.word for word in every for spelling in (word.word, *word.also)}
    near = difflib.get_close_matches(str(called).strip().lower(), [s.lower() for s in spellings], n=1)
    found = {spelling.lower(): word for spelling, word in spellings.items()}
    raise UnknownNameError(
        "word",
        called,
        allowed=f"a word of the glossary, {len(every)} in all",
        remedy=f"Did you mean {found[near[0]]!r}?" if near else closest(called, [w.word for w in every]),
    )


@cache
def _every_word() -> Glossary:
    tables = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    return Glossary(
        Word(word, told["meaning"], told.get("not", ""), tuple(told.get("also", ())))
        for word, told in tables.items()
    )


def words_section(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Return a section that explains the words that some blocks use; nothing if they use none.

    Parameters
    ----------
    blocks : iterable of Block
        Of a document.
    """
    text = "\n".join(block_markdown(block) for block in blocks if not isinstance(block, Drawing))
    used = _every_word().used_in(text)
    return (Heading("Words"), Items(tuple(word.line for word in used))) if used else ()
