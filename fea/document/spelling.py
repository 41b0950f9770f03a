"""The nearest right word, for messages about a wrong one."""

import difflib
from collections.abc import Iterable


def nearest(word: str, words: Iterable[str]) -> str | None:
    """Return the word that is spelt most like `word`, None if none is near."""
    folded = {w.casefold(): w for w in words}
    match = difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=0.6)
    return folded[match[0]] if match else None


def choices(words: Iterable[str], word: str = "") -> str:
    """Return what may be written: the nearest spelling first, then the list if short."""
    listed = list(words)
    near = nearest(word, listed) if word else None
    text = f'did you mean "{near}"? ' if near else ""
    if 0 < len(listed) <= 30:
        quoted = ", ".join(f'"{w}"' for w in listed)
        if len(listed) > 1:
            text += f"one of {quoted}"
        elif near is None:
            text += f"the only one is {quoted}"
    return text.strip()
