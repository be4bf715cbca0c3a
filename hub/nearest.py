"""Guesses at the name that was meant, within a bounded number of comparisons."""

import difflib
from collections.abc import Collection
from typing import Final

# difflib compares about 50,000 pairs of names a second; a file of nothing but wrong names must not take minutes.
MOST_COMPARISONS: Final = 50_000
_LONGEST = 60
_SHORTEST_BEGINNING = 3


class Nearest:
    """Guesses for all that is wrong with one input; once `comparisons` are spent it guesses no more."""

    def __init__(self, comparisons: int = MOST_COMPARISONS) -> None:
        self._left = comparisons

    def among(self, written: str, known: Collection[str]) -> str | None:
        """The one of `known` that was probably meant: it begins so (a unit left out, say), or is spelt much alike."""
        if len(known) > self._left:
            return None
        self._left -= len(known)
        word = written[:_LONGEST]
        begun = [name for name in known if name.startswith(word)] if len(word) >= _SHORTEST_BEGINNING else []
        return min(begun, key=len) if begun else next(iter(difflib.get_close_matches(word, known, n=1)), None)
