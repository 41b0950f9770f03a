"""The few pieces that a packet's pages are made of; every plain text is escaped here.

A text is data, whatever it says; what is already HTML is a `Markup` and only made in this
package.
"""

import html
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

ONE_LINE = 19
"""Letters of a figure, with the other unit in brackets, that stay on one line."""

LONG = 26
"""Letters of a word beyond which it may be broken anywhere."""

WHOLE = 34
"""Rows up to which a table stays on one page; longer ones break between rows, heads repeated."""


@dataclass(frozen=True)
class Markup:
    """Text that is HTML already."""

    text: str

    def __add__(self, other: "Markup") -> "Markup":
        """Return the two, one after the other."""
        return Markup(self.text + other.text)


Cell = str | Markup


def escaped(cell: Cell) -> str:
    """Return a cell as HTML."""
    return cell.text if isinstance(cell, Markup) else html.escape(cell)


def join(pieces: Iterable[Markup]) -> Markup:
    """Return pieces, one after the other."""
    return Markup("".join(piece.text for piece in pieces))


def say(text: Cell, kind: str = "") -> Markup:
    """Return a paragraph; `kind` is a class of the style."""
    return Markup(f"<p{_class(kind)}>{escaped(text)}</p>\n")


def listed(lines: Iterable[Cell]) -> Markup:
    """Return a list of lines."""
    items = "".join(f"<li>{escaped(line)}</li>\n" for line in lines)
    return Markup(f"<ul>\n{items}</ul>\n") if items else Markup("")


def heading(text: str) -> Markup:
    """Return a heading inside a chapter."""
    return Markup(f"<h3>{html.escape(text)}</h3>\n")


def chapter(name: str, title: str, *pieces: Markup, fresh: bool = False) -> Markup:
    """Return a chapter; `fresh` starts it on a page of its own."""
    body = join(pieces).text
    kind = _class("fresh" if fresh else "")
    return Markup(
        f'<section id="{html.escape(name)}"{kind}>\n'
        f"<h2>{html.escape(title)}</h2>\n{body}</section>\n"
    )


def table(
    title: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    right: Collection[int] = (),
    *,
    kind: str = "",
) -> Markup:
    """Return a table; columns in `right` are set to the right. Nothing without rows."""
    if not rows:
        return Markup("")
    sides = [k in right for k in range(len(heads))]
    head = "".join(
        f"<th{_class('n' if side else '')}>{html.escape(h)}</th>"
        for h, side in zip(heads, sides, strict=True)
    )
    body = "".join(
        "<tr>" + "".join(_cell(c, s) for c, s in zip(row, sides, strict=True)) + "</tr>\n"
        for row in rows
    )
    caption = f"<caption>{html.escape(title)}</caption>\n" if title else ""
    kinds = " ".join(k for k in (kind, "whole" if len(rows) <= WHOLE else "") if k)
    headed = f"<thead><tr>{head}</tr></thead>\n" if any(heads) else ""
    return Markup(f"<table{_class(kinds)}>\n{caption}{headed}<tbody>\n{body}</tbody></table>\n")


def _cell(cell: Cell, right: bool) -> str:
    """Return a cell; figures stay beside their units, long words may be broken."""
    if isinstance(cell, Markup):
        return f"<td{_class('n' if right else '')}>{cell.text}</td>"
    long = any(len(word) > LONG for word in cell.split())
    told = html.escape(cell)
    if right and not long:
        # A line may end before the other unit, in brackets, and nowhere else.
        first, bracket, rest = told.partition(" (")
        if bracket and len(cell) > ONE_LINE:
            told = f"{_kept(first)} {_kept(f'({rest}')}"
        else:
            told = _kept(told)
    kind = " ".join(k for k in ("n" if right else "", "long" if long else "") if k)
    return f"<td{_class(kind)}>{told}</td>"


def _kept(text: str) -> str:
    """Return HTML that stays on one line: a slash, as in N m/deg, ends none."""
    glued = text.replace(" ", "\u00a0")
    return f'<span class="k">{glued}</span>' if "/" in text else glued


def facts(pairs: Sequence[tuple[str, Cell]]) -> Markup:
    """Return a table of names and what belongs to them, one a row."""
    rows = "".join(
        f"<tr><th>{html.escape(name)}</th>{_cell(told, False)}</tr>\n" for name, told in pairs
    )
    return Markup(f'<table class="facts whole"><tbody>\n{rows}</tbody></table>\n')


def boxes(told: Sequence[tuple[str, str, str]]) -> Markup:
    """Return figures written large: the figure, what it is of, and the rest in small print."""
    cells = "".join(
        f"<td><b>{html.escape(large)}</b>{html.escape(name)}<br>"
        f"<small>{html.escape(rest)}</small></td>"
        for large, name, rest in told
    )
    return Markup(f'<table class="boxes whole"><tbody><tr>{cells}</tr></tbody></table>\n')


def figure(drawing: Markup, caption: Cell = "", kind: str = "") -> Markup:
    """Return a picture with a line under it."""
    under = f"<figcaption>{escaped(caption)}</figcaption>" if caption else ""
    return Markup(f"<figure{_class(kind)}>{drawing.text}{under}</figure>\n")


def bar(share: float) -> Markup:
    """Return a bar, full at a share of 1."""
    wide = 100.0 * min(max(share, 0.0), 1.0)
    return Markup(
        '<svg class="bar" viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect x="0" y="0" width="{wide:.1f}" height="8" fill="#7d9a9e"/></svg>'
    )


def two_bars(now: float, stock: float) -> Markup:
    """Return the stock frame's bar over that of now, both to one scale."""
    most = max(now, stock, 1e-300)
    rows = "".join(
        f'<rect x="0" y="{y}" width="{100.0 * max(value, 0.0) / most:.1f}" height="5"'
        f' fill="{colour}"/>'
        for value, y, colour in ((stock, 0, "#b9bcbb"), (now, 6, "#1f6f7d"))
    )
    return Markup(
        '<svg class="bar" viewBox="0 0 100 11" preserveAspectRatio="none" aria-hidden="true">'
        f"{rows}</svg>"
    )


def blank(words: str) -> Markup:
    """Return words with room to write by hand after them."""
    return Markup(f'{html.escape(words)} <span class="blank"></span> ')


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""
