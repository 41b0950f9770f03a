"""Every command of the README does what it is shown for."""

import re
import shlex
from pathlib import Path

import pytest
from running import ROOT, Run

README = (ROOT / "README.md").read_text(encoding="utf-8")
FENCE = re.compile(r"^```(?:sh|bash|console|shell)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def commands() -> list[str]:
    """Return the lines of the README's shell blocks that call the program, each once."""
    found: list[str] = []
    for block in FENCE.findall(README):
        for line in block.replace("\\\n", " ").splitlines():
            for part in line.split("&&"):
                bare = re.sub(r"^\S*?(?=plumbrail )", "", part.strip().removeprefix("$ "))
                if bare.startswith("plumbrail "):
                    found.append(bare.split(" #")[0].split(" | ")[0].strip())
    return list(dict.fromkeys(found))


def test_the_readme_shows_commands() -> None:
    assert len(commands()) >= 5
    for name in ("check", "section", "run", "view", "verify"):
        assert any(line.startswith(f"plumbrail {name}") for line in commands())


@pytest.mark.slow
@pytest.mark.parametrize("line", commands())
def test_a_command_of_the_readme(line: str, process: Run, tmp_path: Path) -> None:
    words = shlex.split(line)[1:]
    if ">" in words:
        words = words[: words.index(">")]
    if words[0] in ("run", "view") and "--joints" not in words:
        words += ["--joints", "beam"]  # a vehicle's sheet metal takes a minute to condense
    if words[0] == "view" and not {"--png", "--html"} & set(words):
        words.append("--help")  # would open a window
    ran = process(*words, cwd=tmp_path)
    assert ran.code == 0, ran.out + ran.err
    assert "Traceback" not in ran.err
    for option in ("--png", "--html", "--out"):
        if option in words:
            assert (tmp_path / words[words.index(option) + 1]).exists()


def test_commands_in_the_text_and_tables_exist(plumbrail: Run) -> None:
    named = set(re.findall(r"`plumbrail ([a-z]+)", README))
    assert len(named) >= 5
    for name in sorted(named):
        assert plumbrail(name, "--help").code == 0, name


def test_options_in_the_text_exist(plumbrail: Run) -> None:
    """Every option named in the README is one of some command."""
    known: set[str] = set()
    commands = re.findall(r"^  ([a-z]+)  ", plumbrail("--help").out, flags=re.MULTILINE)
    for name in commands:
        known |= set(re.findall(r"--[a-z]+", plumbrail(name, "--help").out))
    prose = re.sub(r"\bpip install\b.*|python3? -m .*", "", README)
    named = set(re.findall(r"(?<![\w-])--[a-z]+", prose))
    assert named
    assert named <= known


def test_files_named_in_the_readme_exist() -> None:
    for name in re.findall(r"`((?:[\w.]+/)*[\w]+\.(?:md|toml|py))`", README):
        assert (ROOT / name).exists(), name


def test_links_to_pictures_exist() -> None:
    for target in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / target).exists(), target
