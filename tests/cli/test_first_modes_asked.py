"""`parts`, `ties` and `sensitivity` with --modes: one more table and JSON keys."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from running import Ran, Run

PARTS = ("parts", "harbour_tourer", "--joints", "beam", "--workers", "1", "--orders", "2",
         "--without", "x_member", "--without", "mid_mounts", "--without", "rear_box")  # fmt: skip
TIES = ("ties", "harbour_tourer", "--stock", "--joints", "beam", "--mounts", "urethane",
        "--reach", "80 mm", "--most", "1")  # fmt: skip
KEYS = ("sensitivity", "harbour_tourer", "--key", "section.C120x65.wall", "--key",
        "mount.M1.vertical")  # fmt: skip


def record(ran: Ran) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


def lines(ran: Ran, head: str) -> list[str]:
    """Return the printed lines from a table's title on."""
    assert ran.code == 0, ran.err
    assert "joints by beam rules throughout" in " ".join(ran.out.split())
    every = [line.rstrip() for line in ran.out.splitlines()]
    at = next(k for k, line in enumerate(every) if head in line)
    table = every[at : next(k for k in range(at, len(every)) if "Hung in nothing" in every[k])]
    assert max(map(len, table)) <= 110
    return table


def test_parts_tell_the_first_modes(plumbrail: Run, once: Callable[..., None]) -> None:
    once("fea.study.parts.study", "fea.study.parts.with_modes")
    told = record(plumbrail(*PARTS, "--modes", "--json"))["modes"]
    assert told["joints"] == "beam rules"
    stock, full = told["stock"]["first_torsion"], told["full"]["first_torsion"]
    modes = record(plumbrail("modes", "harbour_tourer", "--stock", "--joints", "beam", "--json"))
    own = {m["name"]: m["frequency_hz"] for m in modes["modes"]}
    assert stock["frequency_hz"] == pytest.approx(own["first torsion"], rel=1e-9)
    assert full["frequency_hz"] > stock["frequency_hz"]
    table = lines(plumbrail(*PARTS, "--modes"), "First torsion and first vertical bending")
    assert [part["name"] for part in told["parts"]] == ["boxing_side", "cross_box"]
    for part in told["parts"]:
        assert any(line.lstrip().startswith(f"{part['name']} alone ") for line in table)
        row = next(line for line in table if line.lstrip().startswith(f"all but {part['name']} "))
        assert f"{part['left_out']['first_torsion']['frequency_hz']:.2f}" in row.split()


def test_ties_tell_the_first_modes(plumbrail: Run, once: Callable[..., None]) -> None:
    once("fea.study.ties.study", "fea.study.tie_modes.tie_modes")
    found = record(plumbrail(*TIES, "--modes", "--json"))
    told = found["modes"]["with_mounts"]
    assert set(told) == {"urethane"}
    names = {c["name"] for c in told["urethane"]["candidates"]}
    assert names == {c["name"] for c in found["candidates"]}
    assert len(names) == 3
    bare = told["urethane"]["without"]["first_torsion"]["frequency_hz"]
    for c in told["urethane"]["candidates"]:
        now = c["first_torsion"]["frequency_hz"]
        assert c["torsion_gain"] == pytest.approx(now / bare - 1.0)
    table = lines(plumbrail(*TIES, "--modes"), "First torsion / first vertical bending")
    assert all(any(line.lstrip().startswith(n) for line in table) for n in names)


def test_sensitivity_tells_the_first_modes(plumbrail: Run, once: Callable[..., None]) -> None:
    once("fea.study.mode_slope.mode_base", "fea.study.mode_slope.mode_slopes")
    told = record(plumbrail(*KEYS, "--modes", "--json"))["modes"]
    rows = {k["path"]: k for k in told["keys"]}
    assert rows["mount.M1.vertical"]["step_torsion_hz"] == 0.0
    step = rows["section.C120x65.wall"]["step_torsion_hz"]
    assert abs(step) > 1e-4
    table = lines(plumbrail(*KEYS, "--modes"), "What one more step adds to the first torsion")
    assert any(f"{1000.0 * step:+.3f}" in line for line in table)
    assert not any("mount.M1" in line for line in table)


def test_nothing_is_told_where_it_is_not_asked_for(plumbrail: Run) -> None:
    assert "modes" not in record(plumbrail(*KEYS, "--json"))
