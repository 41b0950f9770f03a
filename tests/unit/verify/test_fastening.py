"""Validation cases of welds and bolts: right and wrong answers, and what is refused."""

from pathlib import Path

import pytest

from fea.document.validation import read_validation
from fea.errors import DocumentError
from fea.verify import run_all, run_case, validation_folder

WELD = """
id = "T1"
title = "Two fillets"
kind = "weld"
source = "this test"
certainty = "derived"
units = "mm N"
line = [[0.0, -50.0, 0.0, 50.0], [60.0, -50.0, 60.0, 50.0]]
leg = 4.0
electrode = 480.0
force = [0.0, -1000.0, 0.0]
point = [230.0, 0.0, 0.0]

[[expect]]
name = "length"
read = "length"
value = 200.0
unit = "mm"
"""

BOLTS = """
id = "T2"
title = "Two bolts"
kind = "bolts"
source = "this test"
certainty = "derived"
units = "mm N"
place = [[-20.0, 0.0], [20.0, 0.0]]
diameter = 10.0
wall = 3.0
force = [0.0, -1000.0, 0.0]
point = [100.0, 0.0, 0.0]

[[expect]]
name = "near"
read = "shear"
bolt = 2
value = 3000.0
unit = "N"
"""


def run(folder: Path, text: str) -> bool:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    (row,) = run_case(read_validation(path))
    return row.ok


@pytest.mark.parametrize(("text", "right"), [(WELD, "200.0"), (BOLTS, "3000.0")])
def test_a_right_answer_passes_and_a_wrong_one_fails(tmp_path: Path, text: str, right: str) -> None:
    assert run(tmp_path, text)
    assert not run(tmp_path, text.replace(f"value = {right}", "value = 2999.0"))


@pytest.mark.parametrize(
    ("text", "old", "new", "told"),
    [
        (WELD, 'unit = "mm"', 'unit = "in"', "unit must be that"),
        (WELD, 'read = "length"', 'read = "length"\nat = [0.0, 1.0]', "at goes with load"),
        (WELD, "leg = 4.0", "leg = 4.0\ncircle = 50.0", "given in one way"),
        (WELD, 'read = "length"', 'read = "load"\nat = [1.0, 1.0]', "an end of a stretch"),
        (WELD, "force = [0.0, -1000.0, 0.0]\n", "", "what acts on the weld"),
        (WELD, "leg = 4.0\n", "", "needs the leg"),
        (WELD, "electrode = 480.0\n", "", "follows from"),
        (BOLTS, "bolt = 2", "bolt = 3", "one of the pattern"),
        (BOLTS, "wall = 3.0\n", "", "bearing needs the sheet"),
        (BOLTS, 'read = "shear"', 'read = "preload"', "bolt goes with shear"),
        (BOLTS, 'read = "shear"\nbolt = 2', 'read = "preload"', "follows from the torque"),
        (BOLTS, "force = [0.0, -1000.0, 0.0]\n", "", "what acts on the pattern"),
    ],
)
def test_what_does_not_fit_is_refused(
    tmp_path: Path, text: str, old: str, new: str, told: str
) -> None:
    words = {
        "what acts on the weld": ('read = "length"', 'read = "load"'),
        "needs the leg": ('read = "length"', 'read = "throat_stress"'),
        "follows from": ('read = "length"', 'read = "leg"'),
        "bearing needs the sheet": ('read = "shear"\nbolt = 2', 'read = "bearing"'),
    }
    if told in words:
        text = text.replace(*words[told])
    text = text.replace('unit = "mm"', 'unit = "N/mm"') if 'read = "load"' in new else text
    (tmp_path / "case.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(DocumentError, match=told):
        run_all(tmp_path)


def test_the_shipped_cases_are_many_and_pass() -> None:
    paths = sorted(validation_folder().glob("G*.toml"))
    rows = [row for path in paths for row in run_case(read_validation(path))]
    assert len(rows) >= 40
    assert [r.id for r in rows if not r.ok] == []
