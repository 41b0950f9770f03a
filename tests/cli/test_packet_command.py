"""The command `packet`: files written whole, the same bytes twice, bad input refused."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from running import Ran, Run


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """Return a frame that solves fast: a shipped ladder."""
    from fea.document.find import find_frame

    path = tmp_path / "ladder.toml"
    path.write_bytes(find_frame("ladder_web_butt").read_bytes())
    return path


@pytest.fixture
def coarse(quick: Run, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return the command by beam rules with small pictures, which take most of the time."""
    from fea.out import packet_picture

    monkeypatch.setattr(packet_picture, "DOTS", 30.0)
    return quick


def left(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir() if p.suffix in (".html", ".pdf", "", ".part"))


def test_page_and_record(coarse: Run, tmp_path: Path) -> None:
    out = tmp_path / "a.html"
    # Without the long plates, whose order of welding takes most of the time.
    ran = coarse(
        "packet", "harbour_tourer", "--without", "boxing_side", "--out", out, "--json",
        "--units", "us",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    record = json.loads(ran.out)
    text = out.read_text(encoding="utf-8")
    assert record["fingerprint"] in text
    assert record["written"] == [{"file": str(out), "bytes": out.stat().st_size}]
    ratio = record["results"]["cases"][0]["ratio_to_stock"]["twist_stiffness_nm_per_deg"]
    assert f"{ratio:.2f} x stock" in text
    assert "12 load cases" in text
    assert re.search(r"\d\sft\slbf/deg</span> <span[^>]*>\(\d+\sN\sm/deg\)", text)  # US first
    assert str(tmp_path) not in text


def test_the_same_bytes_twice_page_and_pdf(
    quick: Run, process: Run, small: Path, tmp_path: Path
) -> None:
    """The pictures are drawn as large as for anyone here, and the PDF is for A4."""
    pytest.importorskip("weasyprint")
    files = [tmp_path / f"{n}.{e}" for n in "ab" for e in ("html", "pdf")]
    first = quick("packet", small, "--out", files[0], "--pdf", files[1])
    second = process("packet", small, "--out", files[2], "--pdf", files[3], "--joints", "beam")
    assert first.code == 0, first.err
    assert second.code == 0, second.err
    one, two = (f.read_bytes() for f in (files[0], files[2]))
    assert one == two
    one, two = (f.read_bytes() for f in (files[1], files[3]))
    assert one[:5] == b"%PDF-"
    assert b"CreationDate" not in one
    assert one == two
    assert left(tmp_path) == ["a.html", "a.pdf", "b.html", "b.pdf"]
    paged(files[1], "A4")


def paged(path: Path, size: str) -> None:
    """Check a PDF's paper and that it has a few pages."""
    reader = shutil.which("pdfinfo")
    if reader is None:
        pytest.skip("no pdfinfo on this machine")
    done = subprocess.run([reader, str(path)], capture_output=True, text=True, check=True)
    assert f"({size})" in done.stdout
    pages = re.search(r"Pages: +(\d+)", done.stdout)
    assert pages is not None
    assert 3 <= int(pages[1]) <= 12


def test_letter_alone(coarse: Run, small: Path) -> None:
    pytest.importorskip("weasyprint")
    path = small.with_name("p.pdf")
    ran = coarse("packet", small, "--pdf", path, "--paper", "letter")
    assert ran.code == 0, ran.err
    assert left(small.parent) == ["p.pdf"]
    paged(path, "letter")


def test_a_name_by_itself_and_another_fingerprint_for_a_changed_document(
    coarse: Run, small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(small.parent)

    def printed() -> str:
        ran = coarse("packet", small)
        assert ran.code == 0, ran.err
        assert "Wrote ladder_packet.html" in ran.out
        assert "licensed engineer" in ran.out
        assert (small.parent / "ladder_packet.html").stat().st_size > 10_000
        found = re.search(r"Fingerprint ([0-9a-f]{12});", ran.out)
        assert found is not None
        return found[1]

    before = printed()
    assert before in (small.parent / "ladder_packet.html").read_text(encoding="utf-8")
    small.write_text(small.read_text(encoding="utf-8") + "\n# a remark\n", encoding="utf-8")
    assert printed() != before


def told(ran: Ran) -> str:
    assert "Traceback" not in ran.err
    return ran.err


def test_all_bad_options_at_once(plumbrail: Run, small: Path) -> None:
    same = small.with_name("x.html")
    ran = plumbrail(
        "packet", small, "--joints", "glue", "--paper", "a3", "--out", same, "--pdf", same
    )
    assert ran.code == 2
    for words in ("unknown joints", "unknown paper", "two files"):
        assert words in told(ran)
    assert left(small.parent) == []


def test_refused_before_anything_is_written(quick: Run, small: Path, tmp_path: Path) -> None:
    out = tmp_path / "p.html"
    for words, code in (
        (("packet", "no_such_frame", "--out", out), 2),
        (("packet", small, "--case", "no_such_case", "--out", out), 2),
        (("packet", small, "--with", "no_such_part", "--out", out), 2),
        (("packet", small, "--out", tmp_path), 2),
    ):
        ran = quick(*words)
        assert ran.code == code, words
        assert told(ran)
    assert left(tmp_path) == []


def test_a_folder_that_cannot_be_written_leaves_nothing(
    coarse: Run, small: Path, tmp_path: Path
) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("", encoding="utf-8")
    ran = coarse("packet", small, "--out", blocked / "p.html")
    assert ran.code == 2
    assert "could not be written" in told(ran)
    assert left(tmp_path) == ["blocked"]


def test_without_the_extra_one_clear_message_and_no_work(
    quick: Run, small: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    ran = quick("packet", small, "--out", small.with_name("p.html"), "--pdf", "p.pdf")
    assert ran.code == 1
    assert "a PDF needs WeasyPrint" in told(ran)
    assert "plumbrail[pdf]" in ran.err
    assert left(small.parent) == []
