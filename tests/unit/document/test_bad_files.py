"""Bad files: what is printed for each, to the letter, and that nothing else gets out."""

import contextlib
import copy
import random
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fea.document.find import shipped_frames
from fea.document.origin import Origin
from fea.document.read import MOST_BYTES, read_case, read_frame
from fea.document.schema import FrameDocument
from fea.errors import DocumentError, FeaError
from fea.frame.build import build_frame
from fea.frame.build_case import build_case

BAD = Path(__file__).parents[2] / "bad"
FILES = sorted(path.stem for path in BAD.glob("*.toml"))


def load(path: Path) -> object:
    if path.name.startswith("case_") and path.stem != "case_instead_of_frame":
        return build_case(read_case(path))
    return build_frame(read_frame(path), source=str(path))


def test_there_are_bad_files() -> None:
    assert len(FILES) > 50


@pytest.mark.parametrize("name", FILES)
def test_a_bad_file_is_told_as_expected(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(BAD)
    expected = Path(f"{name}.txt").read_text(encoding="utf-8")
    with pytest.raises(FeaError) as error:
        load(Path(f"{name}.toml"))
    assert str(error.value) + "\n" == expected
    for word in ("pydantic", "Input should", "validation", "Traceback", "[type="):
        assert word not in expected


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="a folder, not a file"):
        read_frame(tmp_path)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="no such file"):
        read_frame(tmp_path / "nowhere.toml")


def test_a_file_of_50_mb_is_refused_before_it_is_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(DocumentError, match="must not be larger than 5 MB"):
        read_frame(path)


def test_a_file_just_small_enough_is_read(tmp_path: Path) -> None:
    path = tmp_path / "long.toml"
    text = next(iter(shipped_frames().values())).read_text(encoding="utf-8")
    path.write_text(text + "#" * (MOST_BYTES - len(text.encode())), encoding="utf-8")
    assert read_frame(path).title


def test_windows_line_ends_and_a_byte_order_mark(tmp_path: Path) -> None:
    text = shipped_frames()["ladder_tubes"].read_text(encoding="utf-8")
    path = tmp_path / "notepad.toml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_frame(path).title == "Teaching ladder, square tube crossmembers"


def test_brackets_without_end(tmp_path: Path) -> None:
    path = tmp_path / "deep.toml"
    path.write_text("a = " + "[" * 100_000, encoding="utf-8")
    with pytest.raises(DocumentError, match="not valid TOML"):
        read_frame(path)


def other(value: Any, words: list[str], chance: random.Random) -> Any:
    """Return a value of the same kind that may not fit: another number, another name."""
    if isinstance(value, str) and (match := re.match(r"-?[\d.]+ ", value)):
        number = float(match.group()) * chance.choice([-1.0, 0.0, 0.5, 1.01, 3.0, 100.0])
        return f"{number!r} {value[match.end() :]}"
    return chance.choice(words) if isinstance(value, str) else value


def strings(value: Any) -> list[str]:
    """Return every text in a document that is no quantity."""
    if isinstance(value, str):
        return [] if re.match(r"-?[\d.]+ ", value) else [value]
    if isinstance(value, dict | list):
        inner = value.values() if isinstance(value, dict) else value
        return [word for one in inner for word in strings(one)]
    return []


def slips(seed: int) -> dict[str, Any]:
    """Return a shipped frame with a few values, keys or tables spoilt at random."""
    chance = random.Random(seed)
    paths = list(shipped_frames().values())
    data = copy.deepcopy(tomllib.loads(chance.choice(paths).read_text(encoding="utf-8")))
    wrong: list[Any] = [
        "", "x", "0 mm", "-5 mm", "3 kg", "nan mm", 0, -1, 1.5, float("nan"), True,
        [], {}, ["x"], {"x": 1}, "left", "rail", "X1", "1e300 mm", "1e-300 mm", "300 mm",
    ]  # fmt: skip
    words, gentle = strings(data), chance.random() < 0.7
    for _ in range(chance.randint(1, 4)):
        place: Any = data
        while True:
            keys = list(place) if isinstance(place, dict) else list(range(len(place)))
            if not keys:
                break
            key = chance.choice(keys)
            inner = place[key]
            if isinstance(inner, dict | list) and inner and chance.random() < 0.93:
                place = inner
                continue
            action = chance.random()
            if gentle:
                place[key] = other(inner, words, chance)
            elif action < 0.7:
                place[key] = chance.choice(wrong)
            elif action < 0.85:
                del place[key]
            elif isinstance(place, dict):
                place[f"{key}s"] = place.pop(key)
            else:
                place.append(copy.deepcopy(inner))
            break
    return data


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("seed", range(1, 801, 2))
def test_a_spoilt_frame_is_built_or_told_of(seed: int) -> None:
    """Whatever is wrong with a file, it ends in complaints, never in another error."""
    from pydantic import ValidationError

    from fea.document.complain import complain

    data = slips(seed)
    origin = Origin("spoilt.toml", "", data)
    try:
        document = FrameDocument.model_validate(data)
    except ValidationError as error:
        complaints = complain(FrameDocument, error.errors(), origin)
        assert complaints
        for complaint in complaints:
            assert complaint.rule
            assert "cannot be read" not in complaint.rule
            assert "Input should" not in str(complaint)
            assert complaint.where.startswith("spoilt.toml")
        return
    document.set_origin(origin)
    with contextlib.suppress(FeaError):
        assert build_frame(document, source="spoilt.toml").members
