"""How a packet's pages print, and that they fit paper and a telephone."""

import html
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from packets import text

from fea.out.packet_pdf import as_pdf

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
BROWSING = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


def by_browser(folder: Path) -> bytes:
    """Return the demo's packet as the browser prints it, on Letter."""
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    sized = text().replace("</style>", "@page { size: 215.9mm 279.4mm; }</style>")
    page, pdf = folder / "packet.html", folder / "browser.pdf"
    page.write_text(sized, encoding="utf-8")
    subprocess.run(
        [BROWSER, *BROWSING, f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer",
         f"--print-to-pdf={pdf}", page.as_uri()],
        capture_output=True, timeout=120, check=True,
    )  # fmt: skip
    return pdf.read_bytes()


def by_weasyprint(folder: Path) -> bytes:
    """Return the demo's packet as `--pdf` makes it, on A4."""
    pytest.importorskip("weasyprint")
    return as_pdf(text(), "A4")


@pytest.mark.slow
@pytest.mark.picture
@pytest.mark.parametrize("make", [by_browser, by_weasyprint])
def test_prints_on_paper(make: Callable[[Path], bytes], tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine")
    pdf = tmp_path / "packet.pdf"
    pdf.write_bytes(make(tmp_path))
    done = subprocess.run(
        ["pdftotext", "-raw", str(pdf), "-"], capture_output=True, text=True, check=True
    )
    pages = done.stdout.split("\f")[:-1]
    assert 10 <= len(pages) <= 18
    # No page is left nearly empty but the last.
    assert min(len(p.split()) for p in pages[:-1]) > 60
    joined = ["".join(p.split()) for p in pages]
    whole = "".join(joined)
    for title in re.findall(r"<caption>([^<]+)</caption>", text()):
        assert "".join(html.unescape(title).split()) in whole
    # The head of a table and its last row stand on one page.
    tables = re.findall(r'<table class="[^"]*whole[^"]*">(.*?)</table>', text(), re.S)
    assert len(tables) > 12
    for body in tables:
        rows = re.findall(r"<caption>.*?</caption>|<tr>.*?</tr>", body, re.S)
        first, last = (start_of(row) for row in (rows[0], rows[-1]))
        assert any(first in p and last in p for p in joined), (first, last)


def start_of(row: str) -> str:
    """Return the first letters of a row's first cell that says something."""
    cells = [html.unescape(c) for c in re.findall(r">([^<]+)<", row)]
    return next(("".join(c.split())[:16] for c in cells if c.strip()), "")


SEEN = """
const seen = [];
for (const [wide, rule] of [[186 / 25.4 * 96, 'max-width:none;'], [400, '']]) {
  frame.style.width = wide + 'px';
  const page = frame.contentDocument;
  if (rule) page.body.style.cssText = 'margin:0;padding:0;' + rule;
  const off = [...page.querySelectorAll('table,p,li,h1,h2,h3,pre,figure,td,th,svg,img')].filter(
    e => e.getBoundingClientRect().right > wide + 1 &&
      (rule || !e.parentElement.closest('table,figure')));
  seen.push(page.querySelectorAll('table').length + ' off ' +
    off.map(e => e.tagName + ':' + e.textContent.slice(0, 60)).join('|') +
    (page.documentElement.scrollWidth > wide + 1 ? 'the page' : ''));
}
document.title = 'seen ' + seen.join(' and ');
"""
"""Measures a page between the margins of A4, 186 mm, and on a telephone 400 px wide, where tables
and figures may be pushed to and fro."""


@pytest.mark.slow
@pytest.mark.picture
def test_nothing_is_wider_than_the_paper_or_a_telephone(tmp_path: Path) -> None:
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    page = tmp_path / "around.html"
    inside = html.escape(re.sub(r"<meta http-equiv=[^>]+>", "", text()))
    page.write_text(
        f'<iframe id="frame" style="height:900px" srcdoc="{inside}"></iframe>'
        f"<script>const frame = document.getElementById('frame');"
        f"frame.onload = () => {{ {SEEN} }};</script>",
        encoding="utf-8",
    )
    done = subprocess.run(
        [BROWSER, *BROWSING, f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom",
         page.as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    title = re.search(r"<title>seen (\d+) off (.*?) and (\d+) off (.*?)</title>", done.stdout, re.S)
    assert title is not None
    assert int(title[1]) == int(title[3]) > 15
    assert (title[2], title[4]) == ("", "")
