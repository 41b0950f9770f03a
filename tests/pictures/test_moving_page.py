"""The page on which a loaded frame moves, in a real browser, where there is one."""

from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from test_browser import read

from fea.out.load_scene import load_scene
from fea.out.moving_page import moving_page

pytestmark = [pytest.mark.picture, pytest.mark.slow]


def test_the_page_moves_by_itself_and_changes_its_case(
    tab: Any, sample: ModuleType, tmp_path: Path
) -> None:
    """From a file, with every connection forbidden; the load comes on from nothing."""
    first = sample.build(30, 6)
    other = replace(
        first,
        subtitle="the other case",
        walls=replace(first.walls, movement=2.0 * first.walls.movement),
    )
    moving = load_scene([first, other], 50.0)
    body = """
    const solid2 = document.getElementById("solid");
    const coloured = () => {
      const gl = solid2.getContext("webgl2"), n = solid2.width * solid2.height;
      draw(state.last);
      const pixels = new Uint8Array(4 * n);
      gl.readPixels(0, 0, solid2.width, solid2.height, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
      let count = 0;
      for (let k = 0; k < n; k++) if (Math.abs(pixels[4 * k] - pixels[4 * k + 2]) > 20) count++;
      return count;
    };
    state.moves = false; state.phase = 0;
    seen.push(share());
    seen.push(coloured() > 500);
    state.phase = Math.PI; seen.push(share());
    seen.push(at("choice").hidden, at("motion").options.length, at("times").textContent);
    at("scale").value = 2; at("scale").dispatchEvent(new Event("input"));
    seen.push(at("times").textContent);
    at("motion").value = "1"; at("motion").dispatchEvent(new Event("change"));
    seen.push(at("subtitle").textContent, at("range").textContent, at("plain").hidden);
    state.moves = true; const before = state.phase; await until(() => state.phase > before);
    seen.push(state.phase > before);
    """
    lines = read(tab, moving_page(moving), body, tmp_path)
    top = float(np.nanmax(first.walls.fields[0].values))
    key = f"{first.walls.fields[0].name}, 0 to {top:.3g} {first.walls.fields[0].unit}"
    assert lines == [
        "0", "true", "1", "false", "2", "50 x", "100 x",
        "load put on and taken off, the other case", key, "true", "true",
    ]  # fmt: skip
