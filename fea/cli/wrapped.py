"""Sentences broken to the width of the tables."""

import textwrap

from fea.cli.tables import Page

FLUSH_WIDTH = 108
"""Characters, where every line starts at the margin."""


def say(page: Page, text: str, style: str = "") -> None:
    """Print a sentence, broken where it is longer than a table is wide."""
    page.say(text, style)


def flush(page: Page, text: str, style: str = "") -> None:
    """Print a sentence broken like :func:`say`, every line from the margin."""
    for line in textwrap.wrap(text, FLUSH_WIDTH):
        page.say(line, style)
