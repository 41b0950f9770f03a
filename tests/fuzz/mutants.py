"""Spoilt copies of the shipped documents, each from its number alone.

Half of them are spoilt as text (bytes, lines, figures, units), half as data (keys, types,
depth, lists of thousands), a tenth of the text in tables of readings.
"""

import json
import random
import re
import tomllib
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from running import ROOT

CASES = sorted(ROOT.glob("cases/*.toml"))
FRAMES = sorted(ROOT.glob("models/*.toml"))
READINGS = sorted(ROOT.glob("models/survey_*.csv"))

FIGURES = (
    "0", "-0", "-0.0", "1e-12", "-1e-12", "1e-300", "1e12", "-1e12", "1e308", "1e309", "-1e308",
    "5e-324", "nan", "-nan", "inf", "-inf", "1" * 400, "0x10", "1_000", "1,5", "٣", "²", "1e",
    "+-1", "3/0", "3/16", "1 3/16", "0/0", "10 +- 1e12", "5 ± 9",
)  # fmt: skip
UNITS = (
    "mm", "m", "in", "ft", "ga", "µm", "km", "N", "kN", "lbf", "kg", "t", "MPa", "GPa", "psi",
    "kg/m3", "N/mm", "N m/deg", "deg", "", "mm mm", "furlong", "°C", "mm^9999999", "mm**mm",
    "1/mm", "%", "N mm/rad", "eV", "dB",
)  # fmt: skip
WORDS = (
    "", " ", "\n", "\t", "../../x", "/etc/passwd", "..\\..\\x", "C:\\con", "nul", "~root", "a/b",
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", "</script>", "&lt;", "]]>",
    "=1+1", "@SUM(A1)", "-2+3", "+1", "x" * 100_000, "é" * 300, "\u202e drow", "\U0001f69b",
    "\x1b[2J\x1b]0;x\x07", "\x00", "\r", "[bold red]", "[/]", "[link=x]", "%s%n", "{0.__class__}",
    "${HOME}", "right", "left", "rail", "X1", "M1", "0", "nan", "true", "\ufeff", "a.b", "a b",
)  # fmt: skip
NUMBERS = (
    0, -0.0, 1e-12, -1e-12, 1e12, -1e12, 1e308, float("nan"), float("inf"), -float("inf"),
    5e-324, 10**30, -1, 1, 2, 0.5, True, False, 10**400,
)  # fmt: skip
ODD_BYTES = (
    b"\x00",
    b"\xff",
    b"\xc3",
    b"\r",
    b"\x1b[31m",
    b'"',
    b"'",
    b"[",
    b"]",
    b"{",
    b"=",
    b"#",
)

FIGURE = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
QUANTITY = re.compile(r'"(-?[\d./ ]+) ([^"\d]+)"')


@dataclass(frozen=True)
class Mutant:
    """A spoilt file and how it is run: `words` name it by {}."""

    number: int
    about: str
    ending: str
    content: bytes
    words: tuple[str, ...]


def mutant(number: int) -> Mutant:
    """Return the mutant of a number; the same for ever."""
    chance = random.Random(number)
    sort = chance.choices(("frame", "case", "readings"), (65, 27, 8))[0]
    path = chance.choice({"frame": FRAMES, "case": CASES, "readings": READINGS}[sort])
    about, content = _spoilt(path, chance, as_text=sort == "readings" or chance.random() < 0.5)
    return Mutant(number, f"{path.name}: {about}", path.suffix, content, _words(sort, path, chance))


def _words(sort: str, path: Path, chance: random.Random) -> tuple[str, ...]:
    if sort == "readings":
        return ("survey", path.stem.removeprefix("survey_").rpartition("_")[0], "{}", "--json")
    run = ("--joints", "beam", "--json")
    if sort == "case":
        frame = "orchard_pickup" if path.stem.startswith("road") else "ladder_tubes"
        return ("run", frame, "--case", "{}", *run)
    words = chance.choice((("check", "{}"), ("check", "{}", "--json"), ("run", "{}", *run)))
    return ("run", "{}", "--joints", "beam") if chance.random() < 0.1 else words


def _spoilt(path: Path, chance: random.Random, *, as_text: bool) -> tuple[str, bytes]:
    raw, told = path.read_bytes(), []
    if as_text:
        for _ in range(chance.choice((1, 1, 1, 2, 4))):
            spoil = chance.choice(TEXT)
            raw = spoil(raw, chance)
            told.append(spoil.__name__)
        return ", ".join(told), raw
    data = deepcopy(_data(path))
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        change = chance.choices(list(DATA), list(DATA.values()))[0]
        place, key = _somewhere(data, chance)
        if place:
            told.append(f"{change.__name__} {key}")
            change(place, key, chance)
    text = "".join(f"{_key(key)} = {written(value)}\n" for key, value in data.items())
    return ", ".join(told), text.encode("utf-8", "replace")


@cache
def _data(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


# ------------------------------------------------------------------------------- as text


def figures(raw: bytes, chance: random.Random) -> bytes:
    """Put figures at their limits in the place of figures."""
    return _instead(raw, FIGURE, chance, lambda m: chance.choice(FIGURES))


def units(raw: bytes, chance: random.Random) -> bytes:
    return _instead(raw, QUANTITY, chance, lambda m: f'"{m[1]} {chance.choice(UNITS)}"')


def _instead(
    raw: bytes,
    pattern: re.Pattern[str],
    chance: random.Random,
    new: Callable[[re.Match[str]], str],
) -> bytes:
    text = raw.decode("utf-8", "replace")
    found = list(pattern.finditer(text))
    for match in sorted(chance.sample(found, min(len(found), chance.choice((1, 1, 3)))), key=_end):
        text = text[: match.start()] + new(match) + text[match.end() :]
    return text.encode("utf-8", "replace")


def _end(match: re.Match[str]) -> int:
    return -match.start()


def odd_bytes(raw: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(raw) + 1)
    return raw[:at] + chance.choice(ODD_BYTES) + raw[at + chance.choice((0, 1)) :]


def cut_short(raw: bytes, chance: random.Random) -> bytes:
    return raw[: chance.randrange(len(raw) + 1)]


def lines(raw: bytes, chance: random.Random) -> bytes:
    """Leave out, repeat or swap lines."""
    found = raw.split(b"\n")
    one, other = chance.randrange(len(found)), chance.randrange(len(found))
    how = chance.choice(("drop", "twice", "swap", "block", "crlf"))
    if how == "drop":
        del found[one]
    elif how == "twice":
        found.insert(one, found[one])
    elif how == "swap":
        found[one], found[other] = found[other], found[one]
    elif how == "block":
        found[one:one] = found[one : one + 12] * chance.choice((1, 300))
    else:
        return raw.replace(b"\n", b"\r\n" if chance.random() < 0.5 else b"\r")
    return b"\n".join(found)


def word(raw: bytes, chance: random.Random) -> bytes:
    """Put a hostile word in the place of one in quotes."""
    return _instead(
        raw, re.compile('"[^"\n]*"'), chance, lambda m: json.dumps(chance.choice(WORDS))
    )


def nested(raw: bytes, chance: random.Random) -> bytes:
    deep = chance.choice((3, 90, 400, 20_000))
    value = "[" * deep + "]" * deep if chance.random() < 0.5 else "{a=" * deep + "1" + "}" * deep
    name = chance.choice(("title", "about", "zz", "rail", "part"))
    return f"{name} = {value}\n".encode() + raw


TEXT = (figures, figures, figures, units, odd_bytes, cut_short, lines, lines, word, word, nested)


# ------------------------------------------------------------------------------- as data


def _somewhere(data: Any, chance: random.Random) -> tuple[Any, Any]:
    """Return a table or list with a key or index in it."""
    place: Any = data
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            return None, None
        key = chance.choice(keys)
        inner = place[key]
        if not isinstance(inner, dict | list) or not inner or chance.random() < 0.12:
            return place, key
        place = inner


def leave_out(place: Any, key: Any, chance: random.Random) -> None:
    del place[key]


def rename(place: Any, key: Any, chance: random.Random) -> None:
    if isinstance(place, dict):
        place[chance.choice((f"{key}s", key.upper(), "", "../x", "<b>", "é"))] = place.pop(key)
    else:
        place.insert(0, place.pop(key))


def repeat(place: Any, key: Any, chance: random.Random) -> None:
    if isinstance(place, list):
        place += [deepcopy(place[key]) for _ in range(chance.choice((1, 1, 5)))]
    else:
        place[f"{key}2"] = deepcopy(place[key])


def thousands(place: Any, key: Any, chance: random.Random) -> None:
    count = chance.choice((1000, 3000))
    if isinstance(place, dict):
        place[key] = [place[key]] * count
        return
    for number in range(count):
        copy = deepcopy(place[key])
        if isinstance(copy, dict) and "name" in copy:
            copy["name"] = f"{copy['name']}_{number}"
        place.append(copy)


def other_type(place: Any, key: Any, chance: random.Random) -> None:
    value = place[key]
    place[key] = chance.choice([[value], {"x": value}, str(value), 3, 1.5, True, [], {}, [[[]]]])


def number(place: Any, key: Any, chance: random.Random) -> None:
    value = place[key]
    if isinstance(value, str) and (match := re.match(r"-?[\d./]+", value)):
        place[key] = chance.choice(FIGURES) + value[match.end() :]
    else:
        place[key] = chance.choice(NUMBERS)


def other_number(place: Any, key: Any, chance: random.Random) -> None:
    """Put a figure that might be meant: a little off, or by a power of ten."""
    value = place[key]
    factor = chance.choice((-1.0, 0.1, 0.5, 0.9, 1.001, 1.2, 3.0, 10.0, 1e3, 1e6, 1e-6))
    if isinstance(value, str) and (match := re.match(r"-?\d+(\.\d+)? ", value)):
        place[key] = f"{float(match[0]) * factor!r} {value[match.end() :]}"
    elif isinstance(value, int | float):
        place[key] = value * factor


def hostile(place: Any, key: Any, chance: random.Random) -> None:
    place[key] = chance.choice(WORDS)


def name(place: Any, key: Any, chance: random.Random) -> None:
    """Call something by a hostile name wherever it is called so."""
    if isinstance(place, dict):
        place["name" if "name" in place else key] = chance.choice(WORDS)


def swap(place: Any, key: Any, chance: random.Random) -> None:
    keys = list(place) if isinstance(place, dict) else list(range(len(place)))
    other = chance.choice(keys)
    place[key], place[other] = place[other], place[key]


def deeper(place: Any, key: Any, chance: random.Random) -> None:
    value = place[key]
    for _ in range(chance.choice((2, 60, 300))):
        value = [value] if chance.random() < 0.5 else {"x": value}
    place[key] = value


DATA: dict[Callable[[Any, Any, random.Random], None], int] = {
    leave_out: 3, rename: 2, repeat: 2, thousands: 1, other_type: 3, number: 6, other_number: 8,
    hostile: 3, name: 2, swap: 3, deeper: 1,
}  # fmt: skip


def written(value: Any) -> str:
    """Return a value as TOML, tables in one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {written(v)}" for k, v in value.items()) + "}"
    return repr(value)


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False)
