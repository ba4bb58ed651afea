"""Patterns of words, as the rows of the standards have them."""

from __future__ import annotations

from fnmatch import fnmatchcase

_SIGNS = frozenset("*?[")


def is_of(text: str, pattern: str) -> bool:
    """Is a text of this pattern, in which `*` stands for anything? As fnmatchcase says.

    Most patterns are a word, or its beginning and a star: a regular expression for each would take longer to make than
    all else that is asked of the rows.
    """
    beginning = pattern.removesuffix("*")
    if not _SIGNS.isdisjoint(beginning):
        return fnmatchcase(text, pattern)
    return text == pattern if beginning == pattern else text.startswith(beginning)
