"""`view`: the answer in figures, then a picture or a page of it."""

from pathlib import Path

import pytest
from running import Run

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.mark.picture
@pytest.mark.usefixtures("small_pictures")
def test_a_picture_and_a_page(quick: Run, tmp_path: Path) -> None:
    png, html = tmp_path / "new" / "twist.png", tmp_path / "twist.html"
    ran = quick("view", "ladder_tubes", "--case", "twist", "--png", png, "--html", html)
    assert ran.code == 0, ran.err
    assert "twist stiffness" in ran.out
    assert f"wrote {png}" in ran.out
    assert f"wrote {html}" in ran.out
    assert "Traceback" not in ran.err
    assert png.read_bytes().startswith(PNG)
    assert {p.name for p in tmp_path.rglob("*")} == {"new", "twist.png", "twist.html"}


def test_a_page_stands_alone(quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    ran = quick("view", "ladder_tubes", "--html", path)
    assert ran.code == 0, ran.err
    text = path.read_text(encoding="utf-8")
    assert text.lstrip().lower().startswith("<!doctype html>")
    assert "Teaching ladder, square tube crossmembers" in text
    for outside in ("src=\"http", "href=\"http", "@import", "url(http"):  # fmt: skip
        assert outside not in text
    assert str(tmp_path) not in text
    assert [p.name for p in tmp_path.iterdir()] == ["page.html"]


def test_a_page_is_the_same_every_time(quick: Run, tmp_path: Path) -> None:
    one, two = tmp_path / "one.html", tmp_path / "two.html"
    for path in (one, two):
        quick("view", "ladder_tubes", "--html", path)
    assert one.read_bytes() == two.read_bytes()


def test_a_name_with_markup_stays_a_name(quick: Run, tmp_path: Path) -> None:
    from handmade import demo

    source = Path(demo("ladder_tubes").source).read_text(encoding="utf-8")
    title = "Teaching ladder, square tube crossmembers"
    evil = "</script><script>alert(1)</script> & <b>bold</b>"
    frame = tmp_path / "evil.toml"
    frame.write_text(source.replace(title, evil), encoding="utf-8")
    page = tmp_path / "page.html"
    assert quick("view", frame, "--html", page).code == 0
    assert "<script>alert(1)" not in page.read_text(encoding="utf-8")


def test_without_a_screen_the_window_is_refused_with_advice(
    quick: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    ran = quick("view", "ladder_tubes")
    assert ran.code == 1
    assert "a window needs a screen" in ran.err
    assert "--png" in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (("--colour", "blue"), "stress or movement"),
        (("--scale", "-2"), "--scale"),
        (("--scale", "much"), "--scale"),
        (("--units", "imperial"), "si or us"),
        (("--case", "nope"), "no such load case"),
    ],
)
def test_a_choice_that_cannot_be(
    words: tuple[str, ...], text: str, quick: Run, tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    ran = quick("view", "ladder_tubes", "--html", page, *words)
    assert ran.code == 2
    assert text in ran.err
    assert ran.out == ""
    assert not page.exists()


def test_a_page_that_cannot_be_written(quick: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("here", encoding="utf-8")
    ran = quick("view", "ladder_tubes", "--html", tmp_path / "file" / "page.html")
    assert ran.code == 2
    assert "could not be written" in ran.err


@pytest.mark.picture
def test_a_film_and_its_page(quick: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both come without OpenGL, open no window, and the page has every case named."""
    from PIL import Image

    monkeypatch.setenv("PLUMBRAIL_RENDERER", "software")
    film, page = tmp_path / "twist.gif", tmp_path / "moving.html"
    words = ("--case", "twist", "--case", "bending", "--gif", film, "--moving", page)
    ran = quick("view", "ladder_tubes", *words)
    assert ran.code == 0, ran.err
    assert f"wrote {film}" in ran.out
    assert f"wrote {page}" in ran.out
    with Image.open(film) as picture:
        assert picture.n_frames == 16
        assert picture.size == (640, 360)
    text = page.read_text(encoding="utf-8")
    assert "default-src 'none'" in text
    assert '"Twist between the axles, front right up"' in text
    assert '"Bending, 1000 N on each rail at mid-wheelbase"' in text
