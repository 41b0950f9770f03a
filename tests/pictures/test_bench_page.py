"""The bench in a real browser, where there is one: its own server, its own process."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from running import ROOT, Run

pytestmark = [pytest.mark.picture, pytest.mark.slow]

PLATE = "part.boxing_cab.boxing.1.plate"
TWIST = "twist_stiffness_nm_per_deg"

# Fired as a hand would: the value, then the event that the page listens to.
SLIDE = """((path, value) => {
  const knob = document.querySelector(`[data-path="${path}"]`);
  knob.value = value;
  knob.dispatchEvent(new Event("input", { bubbles: true }));
})"""
IDLE = "document.getElementById('pace').textContent !== ''"
DRAWN = "typeof live !== 'undefined' && live.solid && live.ink.width > 0"


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bench_home")


@contextmanager
def served(home: Path, *words: str) -> Iterator[str]:
    """Yield the address of a bench that is served by a process of its own."""
    pytest.importorskip("starlette")
    pytest.importorskip("uvicorn")
    command = [sys.executable, "-c", "from fea.cli.app import main; main()"]
    server = subprocess.Popen(
        [*command, "bench", *words], cwd=home, stdout=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1", "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    try:
        assert server.stdout is not None
        address = next(line.strip() for line in server.stdout if "http://" in line)
        assert address.startswith("http://127.0.0.1:")
        yield address
    finally:
        server.terminate()
        server.wait(10)
        if server.stdout is not None:
            server.stdout.close()


@pytest.fixture(scope="module")
def window(tab: Any) -> Any:
    """Return the browser's tab as large as the bench is used."""
    tab.size(1440, 1000)
    return tab


@pytest.fixture(scope="module")
def address(home: Path, window: Any) -> Iterator[str]:
    """Yield where the bench of the orchard pickup with its body is, in a folder of its own."""
    del window  # no server without a browser
    with served(home, "orchard_pickup", "--body", "open", "--joints", "beam") as found:
        yield found


@pytest.fixture
def bench(window: Any, address: str) -> Any:
    """Return the page as it starts, with nothing said."""
    window.said.clear()
    window.open("about:blank#")
    window.open(address)
    window.wait(DRAWN)
    return window


def after(page: Any, act: str) -> dict[str, float]:
    """Do something in the page, wait until the figures have followed, return them all."""
    page.ask(f"document.getElementById('pace').textContent = ''; {act}")
    page.wait(IDLE)
    return shown(page)


def shown(page: Any) -> dict[str, float]:
    """Return the figures that the page holds, to the last digit."""
    return dict(page.ask("DATA.figures.map((f) => [f.key, f.value])"))


def test_it_loads_without_a_word_and_draws_the_frame(bench: Any) -> None:
    assert bench.said == []
    assert bench.ask("document.getElementById('plain').hidden") is True
    colours = bench.ask(
        "(() => { const c = document.createElement('canvas'), s = live.solid.canvas;"
        " c.width = s.width; c.height = s.height; const pen = c.getContext('2d');"
        " live.solid.draw(); pen.drawImage(s, 0, 0);"
        " return new Set(new Uint32Array(pen.getImageData(0, 0, c.width, c.height).data.buffer))"
        ".size })()"
    )
    assert colours > 200
    assert "2" in bench.ask("document.getElementById('headline').textContent")
    assert "beam rules" in bench.ask("document.getElementById('headline-label').textContent")
    assert "sheet metal" in bench.ask("document.getElementById('trust').textContent")


def test_a_switch_gives_exactly_the_commands_figure(bench: Any, process: Run) -> None:
    # In a process of its own, as the server: with other threads the sums go in another order.
    found = after(bench, "document.querySelector('[data-key=\"part:boxing_cab\"]').click()")
    words = ("--body", "open", "--without", "boxing_cab", "--joints", "beam", "--json")
    ran = process("run", "orchard_pickup", *words)
    cases = json.loads(ran.out)["cases"]
    assert found["twist"] == cases[0]["measures"][TWIST]
    assert found["bending"] == cases[1]["measures"]["bending_stiffness_n_per_mm"]
    assert found["steel"] == cases[0]["measures"]["mass_kg"]
    assert bench.ask(f"document.querySelector('[data-path=\"{PLATE}\"]').disabled") is True
    assert bench.said == []


def test_a_slider_moves_figures_profile_and_frame(bench: Any) -> None:
    before = shown(bench)
    was = bench.ask("[WALLS.movement[3000], document.querySelector('#profile path').outerHTML]")
    thick = after(bench, f"{SLIDE}('{PLATE}', 4.5)")
    assert thick["twist"] > before["twist"]
    assert thick["steel"] > before["steel"]
    now = bench.ask("[WALLS.movement[3000], document.querySelector('#profile path').outerHTML]")
    assert now[0] != was[0]
    assert now[1] != was[1]
    assert bench.ask(f"document.querySelector('[data-typed=\"{PLATE}\"]').value") == "4.5 mm"
    assert bench.ask("document.getElementById('compared').textContent").count("now +") >= 3
    back = after(bench, "document.getElementById('back').click()")
    assert back == before
    assert bench.ask("live.solid.gl.getError()") == 0


def test_the_other_case_is_shown_with_its_own_scale(bench: Any) -> None:
    scale = bench.ask("state.scale")
    bench.ask("document.getElementById('pin').click()")
    after(
        bench,
        "(() => { const c = document.getElementById('case'); c.value = 'bending';"
        " c.dispatchEvent(new Event('change')) })()",
    )
    assert bench.ask("DATA.case") == "bending"
    assert bench.ask("state.scale") != scale
    assert "N/mm" in bench.ask("document.getElementById('headline').textContent")
    # what stands beside is told under the same case, the stress too
    rows = bench.ask(
        "[...document.querySelectorAll('#compared tbody tr')].map((r) =>"
        " [...r.querySelectorAll('td')].slice(1).map((c) => c.lastChild.textContent))"
    )
    assert rows == [["now +0.0 %", "now +0.0 %"]] * 5
    assert bench.ask("document.querySelectorAll('#profile path').length") == 2


def test_a_bad_figure_is_told_and_changes_nothing(bench: Any) -> None:
    before = shown(bench)
    for bad in ("-3 mm", "many", "80 mm"):
        bench.ask(
            f"(() => {{ const t = document.querySelector('[data-typed=\"{PLATE}\"]');"
            f" t.value = '{bad}'; t.dispatchEvent(new Event('change')) }})()"
        )
        bench.wait("!document.getElementById('problem').hidden")
        told = bench.ask("document.getElementById('problem').textContent")
        assert "Nothing was changed" in told
        field = f"document.querySelector('[data-typed=\"{PLATE}\"]')"
        assert bench.ask(f"[{field}.value, {field}.ariaInvalid]") == [bad, "true"]
        assert shown(bench) == before
        good = after(bench, f"{SLIDE}('{PLATE}', 3.2)")
        assert good["twist"] > before["twist"]
        assert bench.ask("document.getElementById('problem').hidden") is True
        assert after(bench, f"{SLIDE}('{PLATE}', 3)") == before


def test_pins_stand_beside(bench: Any) -> None:
    first = shown(bench)
    bench.ask("document.getElementById('pin').click()")
    after(bench, f"{SLIDE}('{PLATE}', 2)")
    heads = bench.ask(
        "[...document.querySelectorAll('#compared thead th')].map((h) => h.textContent)"
    )
    assert heads[1:3] == ["now", "as started"]
    assert heads[3].startswith("pin A")
    cells = bench.ask(
        "[...document.querySelectorAll('#compared tbody tr')][0].children[3].firstChild.textContent"
    )
    assert float(cells.replace("\u2009", "")) == pytest.approx(first["twist"], rel=1e-3)
    assert bench.ask("document.querySelectorAll('#profile path').length") == 2
    bench.ask("document.querySelector('#compared thead button').click()")
    assert bench.ask("document.querySelectorAll('#profile path').length") == 1


def test_hover_tells_section_stress_and_energy(bench: Any) -> None:
    bench.ask("document.getElementById('body-shown').click()")
    box = bench.ask("(() => { const b = live.solid.canvas.getBoundingClientRect();"
                    " return [b.left, b.top, b.width, b.height] })()")  # fmt: skip
    told = set()
    for across in (0.3, 0.5, 0.7):
        for down in (0.35, 0.45, 0.55):
            bench.move(box[0] + across * box[2], box[1] + down * box[3])
            bench.ask("new Promise((d) => requestAnimationFrame(() => requestAnimationFrame(d)))")
            told.add(bench.ask("tip.hidden ? '' : tip.innerText"))
    hits = [t for t in told if t]
    assert hits
    for text in hits:
        assert "% of the energy" in text
        assert "MPa" in text
        assert "station" in text


def test_saving_from_the_page(bench: Any, home: Path, quick: Run) -> None:
    found = after(bench, f"{SLIDE}('{PLATE}', 4.2)")
    save = (
        "document.getElementById('save-name').value = '{}';"
        " document.querySelector('#saving button').click()"
    )
    bench.ask(save.format("thick_cab"))
    bench.wait("document.getElementById('saved').textContent !== ''")
    ran = quick("run", home / "thick_cab.toml", "--body", "open", "--json")
    assert json.loads(ran.out)["cases"][0]["measures"][TWIST] == pytest.approx(
        found["twist"], rel=1e-9
    )
    for bad in ("thick_cab", "../out"):
        bench.ask(save.format(bad))
        bench.wait("!document.getElementById('problem').hidden")
        assert "Nothing was saved" in bench.ask("document.getElementById('problem').textContent")
        bench.ask("document.getElementById('problem').hidden = true")
    assert [p.name for p in home.iterdir()] == ["thick_cab.toml"]


def test_all_by_keyboard(bench: Any) -> None:
    before = shown(bench)
    bench.ask("document.querySelector('[data-key=\"part:boxing_cab\"]').focus()")
    bench.ask("document.getElementById('pace').textContent = ''")
    bench.key(" ", " ", 32)
    bench.wait(IDLE)
    assert shown(bench)["twist"] < before["twist"]
    bench.ask("document.getElementById('pace').textContent = ''")
    bench.key(" ", " ", 32)
    bench.wait(IDLE)
    for _ in range(40):  # onward with Tab to the plate's slider
        bench.key("Tab", code=9)
        if bench.ask("document.activeElement.dataset.path") == PLATE:
            break
    assert bench.ask("document.activeElement.dataset.path") == PLATE
    bench.ask("document.getElementById('pace').textContent = ''")
    bench.key("ArrowRight", code=39)
    bench.wait(IDLE)
    assert bench.ask("document.activeElement.getAttribute('aria-valuetext')") == "3.1 mm"
    assert shown(bench)["twist"] > before["twist"]
    turned = bench.ask("view.azimuth")
    bench.ask("live.solid.canvas.focus()")
    bench.key("ArrowLeft", code=37)
    assert bench.ask("view.azimuth") != turned


def test_every_control_has_a_name_and_a_tablet_shows_all(bench: Any) -> None:
    nameless = bench.ask(
        "[...document.querySelectorAll('input, select, button, canvas[tabindex]')].filter((e) =>"
        " !(e.ariaLabel || e.labels?.length || e.textContent.trim())).map((e) => e.outerHTML)"
    )
    assert nameless == []
    for wide in (820, 1180):
        bench.size(wide, 1100)
        assert bench.ask("document.documentElement.scrollWidth") <= wide
        knob, frame = bench.ask(
            f"[document.querySelector('[data-path=\"{PLATE}\"]'), live.solid.canvas]"
            ".map((e) => e.getBoundingClientRect()).map((b) => [b.width, b.top, b.bottom])"
        )
        assert knob[0] > 90
        assert frame[1] < 1100  # the frame is in sight beside the controls
    bench.size(1440, 1000)


def ink(page: Any) -> int:
    """Return how many pixels are drawn flat over the walls."""
    page.ask("live.ink.draw()")
    return int(page.ask(
        "(() => { const c = live.ink.canvas, d = live.ink.pen.getImageData(0, 0, c.width, c.height)"
        ".data; let n = 0; for (let k = 3; k < d.length; k += 4) n += d[k] > 0; return n })()"
    ))  # fmt: skip


def test_the_body_is_shown_hidden_and_told(bench: Any) -> None:
    assert bench.ask("document.getElementById('body-switch').hidden") is False
    with_body = ink(bench)
    bench.ask("live.solid.canvas.focus()")
    bench.key("b", "b", 66)
    assert bench.ask("[state.body, document.getElementById('body-shown').checked]") == [False] * 2
    assert ink(bench) < 0.8 * with_body
    bench.ask("document.getElementById('body-shown').click()")
    assert ink(bench) == pytest.approx(with_body, rel=0.02)  # labels may take other seats
    name, x, y = bench.ask(
        "(() => { const k = DATA.bodies[0].links[0], b = live.ink.canvas.getBoundingClientRect();"
        " const at = live.ink.toPixels(movedBy(k.ends[1], k.movement[1], shownScale()));"
        " return [k.name, b.left + at[0], b.top + at[1]] })()"
    )
    bench.move(x + 30, y + 30)
    bench.move(x, y)
    bench.wait("!document.getElementById('tip').hidden")
    told = bench.ask("document.getElementById('tip').innerText")
    assert name.startswith("mount ")
    assert told.startswith(name)
    assert "bears" in told
    assert " N (" in told
    assert "of the body cab" in told
    before = bench.ask("DATA.bodies[0].movement[0]")
    after(bench, f"{SLIDE}('{PLATE}', 2)")
    assert bench.ask("DATA.bodies[0].movement[0]") != before
    assert bench.said == []


def test_opened_in_a_hidden_tab_it_fits_the_frame_once_it_is_seen(
    window: Any, address: str
) -> None:
    hide = (
        "const unseen = new CSSStyleSheet(); unseen.replaceSync('html { display: none }');"
        " document.adoptedStyleSheets = [unseen]"
    )
    script = window.call("Page.addScriptToEvaluateOnNewDocument", source=hide)["identifier"]
    try:
        window.said.clear()
        window.open("about:blank#")
        window.open(address)
        window.wait("typeof live !== 'undefined' && live.solid")
        assert window.ask("live.solid.canvas.clientWidth") == 0
        after(window, f"{SLIDE}('{PLATE}', 4)")
        window.ask("document.adoptedStyleSheets = []")
        window.wait("view.mmPerPixel > 1 && live.ink.width > 0")
        low, high = window.ask(
            "(() => { const at = [0, 1].map((k) => live.ink.toPixels(pointAt([...BOX.low, ..."
            "BOX.high], k))); return [Math.min(...at.map((p) => p[0])),"
            " Math.max(...at.map((p) => p[0]))].map((v) => v / live.ink.width) })()"
        )
        assert 0.0 < low < high < 1.0
        assert high - low > 0.3
        assert window.said == []
    finally:
        window.call("Page.removeScriptToEvaluateOnNewDocument", identifier=script)


def test_an_estimate_at_once_then_exactly_the_commands_figure(
    window: Any, home: Path, process: Run
) -> None:
    with served(home, "ladder_tubes") as where:
        window.said.clear()
        window.open(where)
        window.wait(DRAWN)
        window.wait("DATA.joints === 'sheet' && DATA.painted", 60.0)
        path = window.ask("DATA.bench.sliders.find((s) => s.group === 'walls').path")
        value = window.ask("DATA.bench.sliders.find((s) => s.group === 'walls').value")
        near = after(window, f"{SLIDE}('{path}', {value + 0.3:.2f})")
        error = window.ask("DATA.estimates.twist.error")
        headline = window.ask("document.getElementById('headline').textContent")
        assert window.ask("DATA.joints") == "beam"
        assert headline.startswith("\u2248")
        assert 0.0 < error < 0.3
        window.wait("DATA.joints === 'sheet' && DATA.painted", 60.0)
        sure = shown(window)
        assert "\u2248" not in window.ask("document.getElementById('headline').textContent")
        assert abs(near["twist"] / sure["twist"] - 1.0) < error
        # what was met before is answered with at once, and exactly
        back = after(window, "document.getElementById('back').click()")
        assert window.ask("DATA.joints") == "sheet"
        window.ask("document.getElementById('follow').click()")
        window.ask("document.getElementById('make-packet').click()")
        window.wait("!document.getElementById('packet-file').hidden", 60.0)
        told = window.ask("document.getElementById('packet-state').textContent")
        assert told == "Made with joints by beam rules."
        link = window.ask("(({ href, download }) => [href, download])"
                          "(document.getElementById('packet-file'))")  # fmt: skip
        assert link[0].startswith("blob:http://127.0.0.1:")
        assert link[1] == "ladder_tubes_packet.html"
        assert window.said == []
    ran = process("run", "ladder_tubes", "--json")
    assert back["twist"] == json.loads(ran.out)["cases"][0]["measures"][TWIST]
