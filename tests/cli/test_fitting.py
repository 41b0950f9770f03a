"""The command `fit`: the example, files it writes and refuses, the sheet to print."""

import json
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest
from running import ROOT, Run

EXAMPLE = ROOT / "models" / "readings_orchard_pickup.csv"


@pytest.fixture
def frame(tmp_path: Path) -> Path:
    return Path(shutil.copy(ROOT / "models" / "orchard_pickup.toml", tmp_path / "truck.toml"))


def test_the_example_gives_what_it_says_it_was_made_with(plumbrail: Run, frame: Path) -> None:
    ran = plumbrail("fit", frame, EXAMPLE, "--stock", "--json")
    assert ran.code == 0, ran.err
    record = json.loads(ran.out)
    said = " ".join(line.lstrip("# ") for line in EXAMPLE.read_text("utf-8").split("\n")[:6])
    planted = [float(n) for n in re.findall(r"(0\.\d+) (?:mm,|times|mm/kN)", said)]
    factors = (1.0, 1.0, 1e-3)
    assert len(planted) == 3
    for unknown, value, factor in zip(record["unknowns"], planted, factors, strict=True):
        assert unknown["low"] <= value * factor <= unknown["high"]
        assert unknown["told"]
    assert len(record["gauges"]) == 72
    before, after = record["stiffness"]["as_written"], record["stiffness"]["fitted"]
    assert after["twist_stiffness_nm_per_deg"] < before["twist_stiffness_nm_per_deg"]
    # What was written reads back, and has the fitted stiffness.
    written = frame.with_name("truck_fitted.toml")
    assert record["written"] == str(written)
    again = plumbrail("run", written, "--stock", "--joints", "beam", "--json")
    assert again.code == 0, again.err
    found = [float(v) for v in re.findall(r'"twist_stiffness_nm_per_deg": ([\d.]+)', again.out)]
    assert found[0] == pytest.approx(after["twist_stiffness_nm_per_deg"], rel=1e-6)
    text = written.read_text("utf-8")
    for line in frame.read_text("utf-8").split("\n"):
        if line.startswith("#"):
            assert line in text
    # It is not written over unasked, and says so before it works.
    refused = plumbrail("fit", frame, EXAMPLE, "--stock")
    assert refused.code == 2
    assert "--overwrite" in refused.err


def test_tables(plumbrail: Run, frame: Path, tmp_path: Path) -> None:
    target = tmp_path / "other.toml"
    ran = plumbrail("fit", frame, EXAMPLE, "--stock", "--out", target, "--unknown", "wear",
                    "--unknown", "stands")  # fmt: skip
    assert ran.code == 0, ran.err
    assert "wall loss of the rails" in ran.out
    assert "stiffness of the bolted joints" not in ran.out
    assert "licensed engineer decide." in ran.out
    assert f"Wrote {target}." in ran.out
    assert max(len(line) for line in ran.out.split("\n")[:-2]) <= 110
    assert target.exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("load;arm\n", "line 1"),
        ("load,arm,gauge,side,station,direction,reading\n40 kg,1 m right,G,right,9 m,up,1 mm\n",
         "line 2, column station"),
        ("load,arm,gauge,side,station,direction,reading\n40 kg,1 m right,G,right,QQ,up,1 mm\n",
         "no such point"),
        ("[test]\nstands at,99 m\n[readings]\nload,arm,gauge,side,station,direction,reading\n"
         "40 kg,1 m right,G,right,1 m,up,1 mm\n", "[test], stands at"),
        ("load,arm,gauge,side,station,direction,reading\n40 kg,1 m right,G,right,1 m,up,1 mm\n",
         "at least as many readings"),
        ('load,"arm\n', "there must be"),
    ],
)  # fmt: skip
def test_bad_readings(plumbrail: Run, frame: Path, tmp_path: Path, text: str, words: str) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text(text, encoding="utf-8")
    ran = plumbrail("fit", frame, bad)
    assert ran.code == 2
    assert words in ran.err
    assert "Traceback" not in ran.err
    assert not frame.with_name("truck_fitted.toml").exists()


def test_neither_or_both(plumbrail: Run, frame: Path, tmp_path: Path) -> None:
    assert plumbrail("fit", frame).code == 2
    assert plumbrail("fit", frame, EXAMPLE, "--sheet", tmp_path / "s.html").code == 2
    missing = plumbrail("fit", frame, tmp_path / "none.csv")
    assert missing.code == 2
    assert "there is no such file" in missing.err


class Text(HTMLParser):
    """Gathers the text of a page, its tags and the targets it would load."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags, self.loads = "", [], []

    def handle_starttag(self, tag: str, attrs: list) -> None:
        self.tags.append(tag)
        self.loads += [v for k, v in attrs if k in ("src", "href", "xlink:href")]

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_a_sheet(plumbrail: Run, tmp_path: Path, name: str) -> None:
    page = tmp_path / "sheet.html"
    ran = plumbrail("fit", name, "--sheet", page)
    assert ran.code == 0, ran.err
    read = Text()
    read.feed(page.read_text("utf-8"))
    assert not read.loads
    assert not {"script", "link", "img", "iframe"} & {*read.tags}
    for words in ("a jack alone never holds it", "Nobody under the frame", "can fall", "Chock",
                  "second person", "kg right", "kg left", "G8", "licensed engineer"):  # fmt: skip
        assert words in read.text
    assert read.tags.count("tr") == 9


def test_names_in_a_sheet_are_data(plumbrail: Run, frame: Path, tmp_path: Path) -> None:
    text = frame.read_text("utf-8")
    frame.write_text(
        text.replace('title = "Orchard pickup"', 'title = "<script>1</script>"'), "utf-8"
    )
    page = tmp_path / "sheet.html"
    assert plumbrail("fit", frame, "--sheet", page).code == 0
    assert "<script" not in page.read_text("utf-8")


def test_help_names_the_unknowns(plumbrail: Run) -> None:
    ran = plumbrail("fit", "--help")
    assert ran.code == 0
    assert "stretches" in ran.out
