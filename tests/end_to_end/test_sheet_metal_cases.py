"""The frames of `cases/sheet_metal`: beams with joints of sheet metal beside whole shells, live.

Nothing here is compared with a stored figure: the shells are meshed and solved in the test,
at the usual size; joints are condensed once for all tests of a run.  (At 24 mm the shells' own
stress at mid-bay is off by a fifth in places.)
"""

import json
from pathlib import Path

import pytest
from running import ROOT, Run

FOLDER = ROOT / "cases" / "sheet_metal"
LADDERS = sorted(FOLDER.glob("frame_*.toml"))
MEMBERS = sorted(FOLDER.glob("member_*.toml"))

CARRIES = 0.25
"""A bay with less than this share of a case's largest stress is not told in per cent of itself."""


@pytest.mark.usefixtures("kept_joints")
@pytest.mark.parametrize(
    "name", ["frame_thick_rails", "frame_on_side", "frame_kick_up", "frame_bolted_brackets"]
)
def test_beams_with_sheet_metal_joints_come_near_the_shells(name: str, plumbrail: Run) -> None:
    path = FOLDER / f"{name}.toml"
    ran = plumbrail("verify", "--sheet-metal", path, "--json")
    assert ran.code == 0, ran.out + ran.err
    (frame,) = json.loads(ran.out)["frames"]
    assert frame["left_out"] == []
    twist, bending = frame["cases"]
    assert abs(twist["twist_stiffness_nm_per_deg"]["sheet_joints_off_percent"]) < 10.0
    assert abs(bending["bending_stiffness_n_per_mm"]["sheet_joints_off_percent"]) < 3.0
    for case in (twist, bending):
        bays = case["mid_bay_normal_stress_mpa"]
        most = max(bay["shells"] for bay in bays)
        carrying = [bay for bay in bays if bay["shells"] > CARRIES * most]
        assert len(carrying) >= 2
        assert all(abs(bay["sheet_joints_off_percent"]) < 15.0 for bay in carrying)
    # The rules know nothing of what tells these frames apart; the metal does.
    rule = twist["twist_stiffness_nm_per_deg"]["beam_rules_off_percent"]
    assert abs(rule) > abs(twist["twist_stiffness_nm_per_deg"]["sheet_joints_off_percent"])


def test_there_are_frames_of_many_kinds() -> None:
    assert len(LADDERS) >= 11
    text = " ".join(path.read_text(encoding="utf-8") for path in LADDERS)
    for word in ('"through"', '"bolted"', '"web_and_flanges"', "gusset", '"hat"', '"tube"',
                 '"up"', "[[boxing]]"):  # fmt: skip
        assert word in text


@pytest.mark.parametrize("path", MEMBERS, ids=lambda path: path.stem)
def test_every_member_runs(path: Path, plumbrail: Run) -> None:
    case = FOLDER / "tip_twist.toml"
    ran = plumbrail("run", path, "--case", case, "--joints", "sheet", "--json")
    assert ran.code == 0, ran.err
    (found,) = json.loads(ran.out)["cases"]
    assert all(v < 1e-8 for v in found["checks"].values())


def figures() -> dict[str, list[float]]:
    """Return the rows of the table of frames: name to its figures, in order."""
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    table = text[text.index("| frame |") :].split("\n\n")[0].splitlines()[2:]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table]
    return {
        "frame_" + name.replace(" ", "_"): [float(c.removesuffix("%")) for c in cells]
        for name, *cells in rows
    }


@pytest.mark.parametrize("path", LADDERS, ids=lambda path: path.stem)
def test_the_table_tells_what_the_beams_give(path: Path, plumbrail: Run) -> None:
    """The shells' figures take minutes; the beams' are held to the table at every run."""
    row = figures()[path.stem]
    for joints, columns in (("sheet", (1, 6)), ("beam", (3, 8))):
        ran = plumbrail("run", path, "--joints", joints, "--json")
        assert ran.code == 0, ran.err
        twist, bending = json.loads(ran.out)["cases"]
        assert all(v < 1e-8 for v in (*twist["checks"].values(), *bending["checks"].values()))
        told = [row[k] for k in columns]
        assert told == pytest.approx(
            [
                twist["measures"]["twist_stiffness_nm_per_deg"],
                bending["measures"]["bending_stiffness_n_per_mm"],
            ],
            rel=5e-3,
        )


def test_the_table_is_right_about_its_per_cents() -> None:
    found = figures()
    assert found.keys() == {path.stem for path in LADDERS}
    for row in found.values():
        for shells, ours, off in ((0, 1, 2), (0, 3, 4), (5, 6, 7), (5, 8, 9)):
            # Four figures a piece leave a little to rounding.
            assert row[off] == pytest.approx(100.0 * (row[ours] / row[shells] - 1.0), abs=0.25)
        assert abs(row[2]) <= 10.0
        assert abs(row[7]) <= 3.0
        assert abs(row[10]) <= 15.0
