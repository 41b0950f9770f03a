"""`plumbrail ties`: what it prints, its JSON, its check, and what it refuses."""

import json
import math
from pathlib import Path

import pytest
from running import Run

from fea.document.find import find_frame

WORDS = ("ties", "harbour_tourer", "--stock", "--joints", "beam")


def test_the_tables_and_the_verdict(plumbrail: Run) -> None:
    ran = plumbrail(*WORDS)
    assert ran.code == 0
    for text in (
        "Harbour tourer, body open",
        "Vehicle without the tie",
        "brace 1400",
        "sill link",
        "Best together",
        "all 28 tried",
        "Verdict",
        "Common practice (no source)",
        "local codes",
    ):
        assert text in ran.out
    prose = ("The tie at", "Common practice", "Bolts", "Worth it")
    lines = [line for line in ran.out.splitlines() if not line.startswith(prose)]
    assert max(map(len, lines)) <= 112


def test_the_json_and_the_check(plumbrail: Run) -> None:
    ran = plumbrail(*WORDS, "--body", "closed", "--check", "--json")
    assert ran.code == 0
    found = json.loads(ran.out)
    names = [c["name"] for c in found["candidates"]]
    assert len(names) == 8
    best = [max(g["twist_gain"] for g in c["with_mounts"].values()) for c in found["candidates"]]
    assert best == sorted(best, reverse=True)
    assert found["check"]["worst_relative_difference"] < 1e-9
    assert found["check"]["solved_in_full"] == 24
    assert found["check"]["time_over_two_solves"] > 0.0
    assert set(found["without"]) == {"rubber", "urethane", "solid"}
    twist = [v["twist_stiffness_nm_per_deg"] for v in found["without"].values()]
    assert twist == sorted(twist)
    for sets in found["best_sets"].values():
        gains = [s["twist_gain"] for s in sets]
        assert gains == sorted(gains)
        assert all(s["exact"] for s in sets)


def test_grades_reach_and_thresholds(plumbrail: Run) -> None:
    more = ("--mounts", "as fitted", "--mounts", "rubber 50", "--reach", "180 mm", "--json")
    found = json.loads(plumbrail(*WORDS, *more, "--worth", "50").out)
    assert set(found["without"]) == {"as fitted", "rubber 50"}
    assert 0 < len(found["candidates"]) <= 8
    words = {g["verdict"] for c in found["candidates"] for g in c["with_mounts"].values()}
    assert words == {"too little"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--mounts", "jelly"), ('no grade of mount "jelly"', "rubber")),
        (("--reach", "far"), ("--reach", "250 mm")),
        (("--body", "hearse"), ('kind of body "hearse"', "open")),
        (("--joints", "glue"), ("unknown joints", "sheet or beam")),
    ],
)
def test_what_is_refused(
    plumbrail: Run,
    words: tuple[str, ...],
    told: tuple[str, ...],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Refused before any sheet metal is condensed, which takes long."""
    monkeypatch.setenv("PLUMBRAIL_CACHE", str(tmp_path))
    ran = plumbrail(*WORDS[:3], *words)
    assert not list(tmp_path.iterdir())
    assert ran.code == 2
    assert ran.out == ""
    for text in told:
        assert text in ran.err


def test_no_brace_within_reach(plumbrail: Run) -> None:
    ran = plumbrail("ties", "orchard_pickup", "--reach", "1 mm")
    assert ran.code == 2
    assert "no place for a tie" in ran.err
    assert "--reach" in ran.err


def test_a_frame_without_bodies(plumbrail: Run) -> None:
    ran = plumbrail("ties", "ladder_tubes")
    assert ran.code == 2
    assert "no body that could be tied" in ran.err


def test_seats_of_mounts_are_told_where_their_fastening_is(quick: Run, tmp_path: Path) -> None:
    text = find_frame("harbour_tourer").read_text(encoding="utf-8")
    told = 'wall = "1.5 mm"\nhole = "12 mm"\nbolt = "M10"\ntorque = "40 N m"\n'
    washer = 'washer = { diameter = "40 mm", wall = "3 mm" }\n'
    path = tmp_path / "washers.toml"
    path.write_text(text.replace('name = "M2"\n', f'name = "M2"\n{told}{washer}', 1), "utf-8")
    words = ("ties", path, "--stock", "--mounts", "rubber")
    seats = json.loads(quick(*words, "--json").out)["mount_seats"]["rubber"]
    assert [s["mount"] for s in seats] == ["M2 right", "M2 left"]
    for seat in seats:
        # Preload by T / (0.2 d) and the load, over the ring between hole and washer.
        force = 40e3 / (0.2 * 10.0) + abs(seat["load_n_per_deg"])
        ring = math.pi / 4.0 * (40.0**2 - 12.0**2)
        assert seat["washer"]["pressure_mpa"] == pytest.approx(force / ring)
        assert seat["bare"]["pressure_mpa"] > seat["washer"]["pressure_mpa"]
    assert "Seats of mounts" in quick(*words).out
