"""How hard English words are to read: the Flesch-Kincaid grade.

Kincaid et al., Research Branch Report 8-75, Naval Technical Training Command, 1975:
``0.39 words/sentence + 11.8 syllables/word - 15.59`` (from memory). Syllables are
counted by groups of vowels, which errs by a few per cent either way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_WORD = re.compile(r"[A-Za-z]+")
_END = re.compile(r"[.!?]+")


def syllables(word: str) -> int:
    """Groups of vowels, less a silent e at the end; at least 1."""
    word = word.lower()
    count = len(re.findall(r"[aeiouy]+", word))
    if word.endswith("e") and not word.endswith(("le", "tre")) and count > 1:
        count -= 1
    if re.search(r"[^aeioudt]ed$", word) and count > 1:
        count -= 1
    return max(count, 1)


def grade(texts: Iterable[str]) -> float:
    """The grade of some texts; each is taken to end a sentence."""
    words = sentences = spoken = 0
    for text in texts:
        text = re.sub(r"\{[a-z0-9_-]+\}", "five", text)
        for sentence in _END.split(text):
            found = _WORD.findall(sentence)
            if found:
                sentences += 1
                words += len(found)
                spoken += sum(syllables(word) for word in found)
    return 0.39 * words / sentences + 11.8 * spoken / words - 15.59
