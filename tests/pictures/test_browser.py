"""The stand-alone page in a real browser, where there is one."""

import dataclasses
import html
import re
import shutil
import subprocess
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from fea.out import page

pytestmark = [pytest.mark.picture, pytest.mark.slow]

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--headless", "--no-sandbox", "--enable-unsafe-swiftshader", "--use-gl=angle",
    "--use-angle=swiftshader", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--window-size=1500,1250",
    "--virtual-time-budget=8000", "--dump-dom",
)  # fmt: skip

# Run after the page's own script: acts as a reader and writes what it saw into the title.
READER = """
const seen = [], solid = document.getElementById("solid"), tip = document.getElementById("tip");
addEventListener("error", (e) => seen.push("error: " + e.message));
window.requestAnimationFrame = (f) => setTimeout(() => f(performance.now()), 16);
const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
const fire = (kind, x, y, more) => {
  const box = solid.getBoundingClientRect();
  solid.dispatchEvent(new PointerEvent(kind, { clientX: box.left + x, clientY: box.top + y,
    pointerId: 1, bubbles: true, ...more }));
};
solid.setPointerCapture = () => {};
(async () => {
  await sleep(200);
  BODY
  document.title = seen.join("\\n");
})();
"""


def read(text: str, body: str, folder: Path) -> list[str]:
    """Return the lines a reader in the browser wrote down."""
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    script = READER.replace("BODY", body)
    text = re.sub(
        r"script-src '([^']+)'", rf"script-src '\1' '{page._hash(script)}'", text, count=1
    )
    file = folder / "frame.html"
    file.write_text(text.replace("</body>", f"<script>{script}</script></body>"), encoding="utf-8")
    done = subprocess.run(
        [BROWSER, *FLAGS, f"--user-data-dir={folder / 'profile'}", file.as_uri()],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    found = re.search(r"<title>(.*?)</title>", done.stdout, re.S)
    assert found is not None, done.stderr[-2000:]
    return html.unescape(found[1]).split("\n")


def number(text: str) -> float:
    return float(text.replace("\u2009", "").replace("\u2212", "-"))


def test_hover_tells_member_section_and_the_value_there(sample: ModuleType, tmp_path: Path) -> None:
    body = """
    for (const [x, y] of [[769, 335], [300, 250], [700, 250], [1150, 330], [5, 470]]) {
      fire("pointermove", x, y);
      await sleep(120);
      seen.push(tip.hidden ? "nothing" : [...tip.children].map((c) => c.textContent).join("|"));
    }
    """
    lines = read(page.page(sample.build(), 50.0), body, tmp_path)
    assert lines[-1] == "nothing"  # a corner where no frame is
    hits = [line.split("|") for line in lines if line != "nothing"]
    assert len(hits) >= 2
    walls = sample.build().walls
    for name, section, place, stress, movement, *_ in hits:
        assert (name.endswith("rail")) == (section == "C 150x58x4")
        found = re.fullmatch(r"station (.+), (.+) (left|right), height (.+) mm", place)
        assert found is not None
        side = -1.0 if found[3] == "left" else 1.0
        at = np.array([number(found[1]), side * number(found[2]), number(found[4])])
        # the place is told in whole mm, the movement in three figures
        expected = float(np.linalg.norm(sample._movement(at[None]), axis=1)[0])
        told = number(movement.removeprefix("movement ").removesuffix(" mm"))
        assert told == pytest.approx(expected, rel=0.02)
        # stress has a cusp at each joint: hold it between the values of the corners around
        near = np.linalg.norm(walls.points - at, axis=1) < 62.0
        around = walls.fields[0].values[near]
        told = number(stress.removeprefix("von Mises stress ").removesuffix(" MPa"))
        assert around.min() - 0.1 <= told <= around.max() + 0.1


def test_a_page_opened_out_of_sight_fits_the_frame_once_it_is_seen(
    sample: ModuleType, tmp_path: Path
) -> None:
    """A window has no size until the system lays it out; the frame once came out as NaN then."""
    text = page.page(sample.build(30, 6), 50.0)
    assert text.count("<body>") == 1
    body = """
    const unseen = solid.clientWidth;
    document.body.hidden = false;
    await sleep(300);
    seen.push(unseen, solid.clientWidth > 0);
    seen.push(view.mmPerPixel > 0 && Number.isFinite(view.mmPerPixel));
    fire("pointermove", 769, 335);
    await sleep(120);
    seen.push(tip.hidden, tip.textContent.includes("no value"));
    """
    lines = read(text.replace("<body>", "<body hidden>"), body, tmp_path)
    assert lines == ["0", "true", "true", "false", "false"]


def test_slider_animation_turning_and_fields(sample: ModuleType, tmp_path: Path) -> None:
    body = """
    const slider = document.getElementById("scale");
    slider.value = 37.5; slider.dispatchEvent(new Event("input"));
    seen.push(document.getElementById("scale-text").textContent, state.scale);
    document.getElementById("swing").click(); await sleep(400); seen.push(state.phase !== 1);
    document.getElementById("swing").click(); await sleep(50); seen.push(state.phase);
    const before = { ...view };
    fire("pointerdown", 500, 300); fire("pointermove", 560, 300); fire("pointerup", 560, 300);
    seen.push(view.azimuth > before.azimuth && view.elevation === before.elevation);
    solid.dispatchEvent(new WheelEvent("wheel", { deltaY: -200, cancelable: true }));
    seen.push(view.mmPerPixel < before.mmPerPixel);
    solid.dispatchEvent(new KeyboardEvent("keydown", { key: "0" }));
    seen.push(Math.abs(view.azimuth - before.azimuth) < 1e-12);
    const field = document.getElementById("field");
    field.value = 1; field.dispatchEvent(new Event("change"));
    seen.push(document.getElementById("ramp-ticks").children.length > 2);
    seen.push(["body-switch", "body-key"].map((id) => document.getElementById(id).hidden));
    """
    lines = read(page.page(sample.build(30, 6), 50.0), body, tmp_path)
    assert lines == ["38 x", "37.5", "true", "1", "true", "true", "true", "true", "true,true"]


def test_the_body_moves_hides_and_tells_its_loads(sample: ModuleType, tmp_path: Path) -> None:
    scene = dataclasses.replace(sample.build(30, 6), bodies=(sample.body(),))
    body = """
    const ink = document.getElementById("ink"), pen = ink.getContext("2d");
    const flat = (p, m) => {
      const q = project(movedBy(p, m, shownScale()), axes());
      return [0.5 * ink.clientWidth + (q[0] - view.x) / view.mmPerPixel,
        0.5 * ink.clientHeight - (q[1] - view.y) / view.mmPerPixel];
    };
    const tell = async ([x, y]) => {
      fire("pointermove", x, y); await sleep(120);
      return tip.hidden ? "nothing" : [...tip.children].map((c) => c.textContent).join("|");
    };
    const drawn = () => {
      const d = pen.getImageData(0, 0, ink.width, ink.height).data;
      let n = 0;
      for (let k = 3; k < d.length; k += 4) n += d[k] > 0;
      return n;
    };
    const cab = DATA.bodies[0];
    for (const link of cab.links) seen.push(await tell(flat(link.ends[1], link.movement[1])));
    const [i, j] = cab.beams[1];
    const along = (rows) => [0, 1, 2].map((c) => 0.3 * rows[i][c] + 0.7 * rows[j][c]);
    const sill = flat(along(cab.points), along(cab.movement));
    seen.push(await tell(sill));
    const before = sill.slice();
    state.scale = 0;
    const rest = flat(along(cab.points), along(cab.movement));
    seen.push(Math.hypot(rest[0] - before[0], rest[1] - before[1]) > 2);
    state.scale = DATA.scale;
    const full = drawn();
    solid.dispatchEvent(new KeyboardEvent("keydown", { key: "b" })); await sleep(50);
    const box = document.getElementById("body-shown");
    seen.push(box.checked, drawn() < full, (await tell(sill)).startsWith("sill"));
    box.click(); await sleep(50);
    seen.push(drawn() > 0.95 * full, state.body);
    """
    lines = read(page.page(scene, 50.0), body, tmp_path)
    assert lines[0].startswith("mount M1 right|of the body cab|bears 120 N, 118 N up|moves ")
    assert lines[1].startswith("tie sill left|of the body cab|bears 80 N, 79 N down|moves ")
    assert lines[2].startswith("sill right|of the body cab|moves ")
    assert lines[3:] == ["true", "false", "true", "false", "true", "true"]


def test_evil_names_stay_names(sample: ModuleType, tmp_path: Path) -> None:
    evil = "</script><script>document.title='caught'</script><img src=x onerror=alert(1)>"
    scene = sample.build(10, 4)
    scene = dataclasses.replace(
        scene, title=evil, stations=((0.0, evil),), notes=(evil,), facts=((evil, evil),)
    )
    body = """
    seen.push(document.querySelectorAll("script").length, document.querySelectorAll("img").length,
      document.getElementById("title").textContent);
    """
    assert read(page.page(scene, 1.0), body, tmp_path) == ["3", "0", evil]


def test_without_webgl_the_figures_still_stand(sample: ModuleType, tmp_path: Path) -> None:
    text = page.page(sample.build(10, 4), 1.0).replace('getContext("webgl2"', 'getContext("none"')
    script = text.split("<script>", 1)[1].split("</script>", 1)[0]
    text = re.sub(r"script-src '[^']+'", f"script-src '{page._hash(script)}'", text)
    body = """
    const plain = document.getElementById("plain");
    seen.push(plain.hidden, plain.textContent.includes("WebGL 2"), solid.hidden,
      document.querySelectorAll("#facts dl").length,
      document.querySelectorAll("#profile path").length);
    """
    assert read(text, body, tmp_path) == ["false", "true", "true", "6", "2"]
