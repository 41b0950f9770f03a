"""What the tutorial and the notebook page show runs, and prints what they quote."""

import re
import shlex
from pathlib import Path

import pytest
from running import ROOT, Run

TUTORIAL = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
NOTEBOOK = (ROOT / "docs" / "notebook.md").read_text(encoding="utf-8")
FENCE = re.compile(r"^```(sh|text|python)\n(.*?)^```", re.MULTILINE | re.DOTALL)
BOLD = re.compile(r"\*\*(.+?)\*\*")


def flat(text: str) -> str:
    return " ".join(text.split())


def quoted(block: str) -> list[str]:
    """Return the lines a block quotes; rules and what is left out do not count."""
    lines = [flat(line) for line in block.splitlines()]
    return [line for line in lines if line and line != "..." and set(line) != {"─"}]


def missing(block: str, said: str) -> list[str]:
    """Return the lines of a block that do not stand in an output, in this order."""
    rest = [flat(line) for line in said.splitlines()]
    absent = []
    for line in quoted(block):
        if line in rest:
            rest = rest[rest.index(line) + 1 :]
        else:
            absent.append(line)
    return absent


def shown(command: str, plumbrail: Run) -> str:
    """Run one command of the tutorial."""
    words = shlex.split(command.replace("\\\n", " "))
    assert words[0] == "plumbrail"
    ran = plumbrail(*words[1:])
    assert ran.code == 0, f"{command}\n{ran.err}"
    return ran.out


def test_a_line_that_is_not_printed_would_be_seen() -> None:
    assert missing("a  1\n...\n ───\nb 2\n", "a 1\nx\nb 2\n") == []
    assert missing("b 2\na 1\n", "a 1\nb 2\n") == ["a 1"]
    assert missing("a 1.5\n", "a 1.6\n") == ["a 1.5"]


@pytest.mark.slow
@pytest.mark.picture
def test_the_tutorial(
    plumbrail: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    all_said = said = ""
    commands = texts = 0
    place = 0
    for fence in FENCE.finditer(TUTORIAL):
        for figure in BOLD.findall(TUTORIAL[place : fence.start()]):
            assert figure in flat(all_said), f"{figure} is printed by no command before it"
        place = fence.end()
        kind, body = fence.groups()
        if kind == "sh":
            said = shown(body, plumbrail)
            commands += 1
        elif kind == "python":
            capsys.readouterr()
            exec(compile(body, "tutorial.md", "exec"), {})
            said = capsys.readouterr().out
        else:
            assert missing(body, said) == []
            texts += 1
        all_said += said
    assert commands >= 10
    assert texts >= 10
    for name in ("barn.toml", "twist.png", "survey.html", "plates"):
        assert (tmp_path / name).exists()


@pytest.mark.picture
def test_the_notebook_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    said, texts = "", 0
    for kind, body in FENCE.findall(NOTEBOOK):
        if kind == "python":
            capsys.readouterr()
            exec(compile(body, "notebook.md", "exec"), names)
            said = capsys.readouterr().out
        else:
            assert missing(body, said) == []
            texts += 1
    assert texts == 2


def test_the_calls_of_the_notebook_page_work() -> None:
    """Every call in the page's table, but those that draw or take long, as it stands there."""
    import fea

    frame = fea.load_frame("orchard_pickup", joints="beam")
    calls = re.findall(r"`(frame\.[^`]+)`", NOTEBOOK)
    kept = [c for c in calls if "plot" not in c and "joints=" not in c]
    assert len(kept) >= 8
    for call in kept:
        assert eval(call, {"frame": frame}) is not None, call
