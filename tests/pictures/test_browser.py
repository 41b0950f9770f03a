"""The stand-alone page in a real browser, where there is one."""

import dataclasses
import re
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from fea.out import page

pytestmark = [pytest.mark.picture, pytest.mark.slow]

# Acts as a reader and returns what it saw; a frame drawn is waited for, not a time.
READER = """(async () => {
  const seen = [], solid = document.getElementById("solid"), tip = document.getElementById("tip");
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const drawing = async () => { await frame(); await frame(); };
  const until = async (holds) => { for (let k = 0; k < 500 && !holds(); k++) await frame(); };
  const fire = (kind, x, y, more) => {
    const box = solid.getBoundingClientRect();
    solid.dispatchEvent(new PointerEvent(kind, { clientX: box.left + x, clientY: box.top + y,
      pointerId: 1, bubbles: true, ...more }));
  };
  solid.setPointerCapture = () => {};
  await drawing();
  BODY
  return seen.map(String);
})()"""


def read(tab: Any, text: str, body: str, folder: Path) -> list[str]:
    """Return the lines a reader in the browser noted; nothing may go wrong in the page."""
    file = folder / "frame.html"
    file.write_text(text, encoding="utf-8")
    tab.said.clear()
    tab.size(1500, 1250)
    tab.open(file.as_uri())
    tab.wait(f"location.href === '{file.as_uri()}' && document.readyState === 'complete'")
    lines = list(tab.ask(READER.replace("BODY", body)))
    assert tab.said == []
    return lines


def number(text: str) -> float:
    return float(text.replace("\u2009", "").replace("\u2212", "-"))


def test_hover_tells_member_section_and_the_value_there(
    tab: Any, sample: ModuleType, tmp_path: Path
) -> None:
    body = """
    for (const [x, y] of [[769, 335], [300, 250], [700, 250], [1150, 330], [5, 470]]) {
      fire("pointermove", x, y);
      await drawing();
      seen.push(tip.hidden ? "nothing" : [...tip.children].map((c) => c.textContent).join("|"));
    }
    """
    lines = read(tab, page.page(sample.build(), 50.0), body, tmp_path)
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
    tab: Any, sample: ModuleType, tmp_path: Path
) -> None:
    """A window has no size until the system lays it out; the frame once came out as NaN then."""
    text = page.page(sample.build(30, 6), 50.0)
    assert text.count("<body>") == 1
    body = """
    const unseen = solid.clientWidth;
    document.body.hidden = false;
    await until(() => view.mmPerPixel > 0);
    await drawing();
    seen.push(unseen, solid.clientWidth > 0);
    seen.push(view.mmPerPixel > 0 && Number.isFinite(view.mmPerPixel));
    fire("pointermove", 769, 335);
    await drawing();
    seen.push(tip.hidden, tip.textContent.includes("no value"));
    """
    lines = read(tab, text.replace("<body>", "<body hidden>"), body, tmp_path)
    assert lines == ["0", "true", "true", "false", "false"]


def test_slider_animation_turning_and_fields(tab: Any, sample: ModuleType, tmp_path: Path) -> None:
    body = """
    const slider = document.getElementById("scale");
    slider.value = 37.5; slider.dispatchEvent(new Event("input"));
    seen.push(document.getElementById("scale-text").textContent, state.scale);
    document.getElementById("swing").click();
    await until(() => state.phase !== 1); seen.push(state.phase !== 1);
    document.getElementById("swing").click(); await drawing(); seen.push(state.phase);
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
    lines = read(tab, page.page(sample.build(30, 6), 50.0), body, tmp_path)
    assert lines == ["38 x", "37.5", "true", "1", "true", "true", "true", "true", "true,true"]


def test_the_body_moves_hides_and_tells_its_loads(
    tab: Any, sample: ModuleType, tmp_path: Path
) -> None:
    scene = dataclasses.replace(sample.build(30, 6), bodies=(sample.body(),))
    body = """
    const ink = document.getElementById("ink"), pen = ink.getContext("2d");
    const flat = (p, m) => {
      const q = project(movedBy(p, m, shownScale()), axes());
      return [0.5 * ink.clientWidth + (q[0] - view.x) / view.mmPerPixel,
        0.5 * ink.clientHeight - (q[1] - view.y) / view.mmPerPixel];
    };
    const tell = async ([x, y]) => {
      fire("pointermove", x, y); await drawing();
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
    solid.dispatchEvent(new KeyboardEvent("keydown", { key: "b" })); await drawing();
    const box = document.getElementById("body-shown");
    seen.push(box.checked, drawn() < full, (await tell(sill)).startsWith("sill"));
    box.click(); await drawing();
    seen.push(drawn() > 0.95 * full, state.body);
    """
    lines = read(tab, page.page(scene, 50.0), body, tmp_path)
    assert lines[0].startswith("mount M1 right|of the body cab|bears 120 N, 118 N up|moves ")
    assert lines[1].startswith("tie sill left|of the body cab|bears 80 N, 79 N down|moves ")
    assert lines[2].startswith("sill right|of the body cab|moves ")
    assert lines[3:] == ["true", "false", "true", "false", "true", "true"]


def test_evil_names_stay_names(tab: Any, sample: ModuleType, tmp_path: Path) -> None:
    evil = "</script><script>document.title='caught'</script><img src=x onerror=alert(1)>"
    scene = sample.build(10, 4)
    scene = dataclasses.replace(
        scene, title=evil, stations=((0.0, evil),), notes=(evil,), facts=((evil, evil),)
    )
    body = """
    seen.push(document.querySelectorAll("script").length, document.querySelectorAll("img").length,
      document.getElementById("title").textContent);
    """
    assert read(tab, page.page(scene, 1.0), body, tmp_path) == ["2", "0", evil]


def test_without_webgl_the_figures_still_stand(
    tab: Any, sample: ModuleType, tmp_path: Path
) -> None:
    text = page.page(sample.build(10, 4), 1.0).replace('getContext("webgl2"', 'getContext("none"')
    script = text.split("<script>", 1)[1].split("</script>", 1)[0]
    text = re.sub(r"script-src '[^']+'", f"script-src '{page._hash(script)}'", text)
    body = """
    const plain = document.getElementById("plain");
    seen.push(plain.hidden, plain.textContent.includes("WebGL 2"), solid.hidden,
      document.querySelectorAll("#facts dl").length,
      document.querySelectorAll("#profile path").length);
    """
    assert read(tab, text, body, tmp_path) == ["false", "true", "true", "6", "2"]
