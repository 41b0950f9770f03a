"""Validation cases of whole frames: right and wrong answers, bad names, bad units."""

import json
import math

import pytest
from running import ROOT

from fea.document.validation import read_validation
from fea.errors import DocumentError
from fea.verify import run_all, run_case

MEMBER = (ROOT / "cases" / "sheet_metal" / "member_open.toml").read_text(encoding="utf-8")
TWIST = (ROOT / "cases" / "sheet_metal" / "tip_twist.toml").read_text(encoding="utf-8")

ONE = """
id = "T3"
title = "A channel"
kind = "frame"
source = "this test"
certainty = "derived"
frame = "member.toml"
case = "turn.toml"
joints = "beam"

[[expect]]
name = "tip"
read = "reading"
reading = "tip twist"
value = 0.2258
unit = "rad"
tolerance = 1e-3
reason = "thin-wall theory"
"""

LADDER = """
id = "T4"
title = "A ladder"
kind = "frame"
source = "this test"
certainty = "derived"
frame = "ladder_flange_welded_boxed"
case = "twist"
joints = "beam"

[[expect]]
name = "K"
read = "twist_stiffness"
value = 1402.0
unit = "N m/deg"
tolerance = 0.1
reason = "this test"

[[expect]]
name = "front"
read = "twist_angle"
station = 0.0
value = 0.713
unit = "deg"
tolerance = 0.1
reason = "this test"

[[expect]]
name = "middle"
read = "twist_angle"
station = 1200.0
over = 0.0
value = 0.5
tolerance = 0.02
reason = "this test"
"""


@pytest.fixture
def run(tmp_path):
    folder = tmp_path / "validation"
    folder.mkdir()
    (folder / "documents").mkdir()

    def write_and_run(*texts, member=MEMBER, turn=TWIST):
        (folder / "documents" / "member.toml").write_text(member, encoding="utf-8")
        (folder / "documents" / "turn.toml").write_text(turn, encoding="utf-8")
        for k, text in enumerate(texts):
            text = text.replace('"member.toml"', '"documents/member.toml"')
            text = text.replace('"turn.toml"', '"documents/turn.toml"')
            (folder / f"case_{k}.toml").write_text(text, encoding="utf-8")
        return run_all(folder)

    return write_and_run


def refused(run, *texts, **documents):
    with pytest.raises(DocumentError) as caught:
        run(*texts, **documents)
    return str(caught.value)


def test_documents_are_found_from_the_cases_folder(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (row,) = run(ONE)
    assert (row.id, row.ok, row.quantity, row.unit) == ("T3.tip", True, "reading", "rad")


def test_a_shipped_ladder_by_name(run):
    stiff, front, middle = run(LADDER)
    assert all(r.ok for r in (stiff, front, middle))
    # The couple of the case is 1000 N m, and the rear axle stands level.
    assert stiff.computed * front.computed == pytest.approx(1000.0, rel=1e-9)
    (bare,) = run(LADDER[: LADDER.index('[[expect]]\nname = "front"')].replace(
        'joints = "beam"', 'joints = "beam"\nwithout = ["boxing"]'))  # fmt: skip
    assert not bare.ok
    assert stiff.computed > 20.0 * bare.computed


@pytest.mark.parametrize("wrong", ["0.2268", "-0.2258", "0.6406", "0.0"])
def test_a_wrong_answer_is_not_ok(run, wrong):
    (row,) = run(ONE.replace("value = 0.2258", f"value = {wrong}"))
    assert not row.ok


def test_the_answer_follows_the_documents(run):
    (half,) = run(ONE, turn=TWIST.replace('"100 N m"', '"50 N m"'))
    (whole,) = run(ONE)
    assert half.computed == pytest.approx(0.5 * whole.computed, rel=1e-12)
    assert not half.ok


def test_a_frame_that_is_not_held_is_a_row_that_is_not_ok(run):
    (row,) = run(ONE, turn=TWIST.replace('motion = "clamped"', 'motion = "height"'))
    assert not row.ok
    assert math.isnan(row.computed)
    assert row.note


def test_a_reading_of_two_sides_is_read_on_one(run):
    read = '[[read]]\nname = "lift"\nstation = "0 mm"\nmotion = "height"\n'
    turn = (ROOT / "cases" / "twist.toml").read_text(encoding="utf-8") + read
    head = LADDER[: LADDER.index("[[expect]]")].replace('"twist"', '"turn.toml"')
    answer = (
        '[[expect]]\nname = "{0}"\nread = "reading"\nreading = "lift"\nside = "{0}"\n'
        'value = 5.0\nunit = "mm"\n'
    )
    right, left = run(head + answer.format("right") + answer.format("left"), turn=turn)
    assert right.computed > 1.0
    assert left.computed == pytest.approx(-right.computed, rel=1e-9)
    neither = answer.format("right").replace('side = "right"\n', "")
    told = refused(run, head + neither, turn=turn)
    assert "this reading has a value on each side" in told
    assert '"right", "left"' in told
    middle = answer.format("right").replace('side = "right"', 'side = "centre"')
    assert "the reading must have the side" in refused(run, head + middle, turn=turn)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"member.toml"', '"gone.toml"', ["there is no such frame", '"gone.toml"', 'key "frame"']),
        ('"member.toml"', '"ladder_tubs"', ["no such frame", 'mean "ladder_tubes"']),
        ('"turn.toml"', '"twits"', ["there is no such load case", 'mean "twist"', 'key "case"']),
        ('"member.toml"', '"turn.toml"', ["this is a load case, not a frame", "turn.toml"]),
        ('"turn.toml"', '"twist"', ["axle", 'key "case"']),
        ('joints = "beam"', 'joints = "solid"', ["joints must be one of the words", "sheet"]),
        ('joints = "beam"\n', "", ["joints"]),
        ('joints = "beam"', 'joints = "beam"\nwith = ["wings"]', ["wings", 'key "frame"']),
        ('"tip twist"', '"tip twits"', ["must have the reading", 'mean "tip twist"', "key"]),
        ('unit = "rad"', 'unit = "deg"', ["unit must be that of what is read", 'write "rad"']),
        ('read = "reading"', 'read = "motion"', ["read must be one of the words"]),
        ('reading = "tip twist"\n', "", ["a reading needs its reading", 'expect "tip"']),
        ('read = "reading"', 'read = "reading"\nstation = 3.0', ["goes with", "twist_angle"]),
        (
            'read = "reading"\nreading = "tip twist"',
            'read = "twist_stiffness"',
            ["twist_stiffness is read from a pair of rails"],
        ),
    ],
)  # fmt: skip
def test_a_malformed_file_is_told_with_file_and_key(run, old, new, words):
    assert old in ONE
    told = refused(run, ONE.replace(old, new))
    assert "case_0.toml" in told or "turn.toml" in told
    for word in words:
        assert word in told


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("station = 0.0\nvalue", "value", ["a twist_angle needs its station", 'expect "front"']),
        ("station = 0.0\n", "station = 2401.0\n", ["must lie where both rails are", "2400"]),
        ("over = 0.0", "over = -1.0", ["must lie where both rails are", 'expect "middle"']),
        ("over = 0.0", 'over = 0.0\nunit = "deg"', ["unit must be that of", 'write ""']),
        ('read = "twist_stiffness"', 'read = "bending_stiffness"', ["measures bending"]),
        ('case = "twist"', 'case = "bending"', ["measures twist", "measures bending"]),
    ],
)
def test_answers_of_a_ladder_that_cannot_be(run, old, new, words):
    assert old in LADDER
    told = refused(run, LADDER.replace(old, new))
    assert "case_0.toml" in told
    for word in words:
        assert word in told


def test_all_complaints_at_once(run):
    text = ONE.replace('"member.toml"', '"gone"').replace('"turn.toml"', '"lost"')
    told = refused(run, text, LADDER.replace("N m/deg", "N/mm"))
    for word in ('"gone"', '"lost"', "case_0.toml", "case_1.toml", 'write "N m/deg"'):
        assert word in told
    twice = ONE.replace("unit = \"rad\"", "unit = \"m\"") + ONE[ONE.index("[[expect]]") :].replace(
        'name = "tip"', 'name = "next"').replace('"tip twist"', '"tip turn"')  # fmt: skip
    told = refused(run, twice)
    assert 'expect "tip"' in told
    assert 'expect "next"' in told


def test_faults_of_the_named_documents_are_told_with_their_file(run):
    told = refused(run, ONE, member=MEMBER.replace('wall = "3 mm"', 'wall = "-3 mm"'))
    assert "member.toml" in told
    assert "wall" in told


def test_sheet_metal_is_kept_where_it_is_asked_to(tmp_path):
    """The second run of the same joints reads them back and answers alike."""
    from fea.store import Disk

    path = tmp_path / "one.toml"
    sheet = LADDER.replace('"beam"', '"sheet"').replace("_flange_welded_boxed", "_web_butt")
    path.write_text(sheet, encoding="utf-8")
    document = read_validation(path)
    first = run_case(document, Disk(tmp_path / "joints"))
    assert list((tmp_path / "joints").glob("*.npz"))
    second = run_case(document, Disk(tmp_path / "joints"))
    assert [r.computed for r in second] == pytest.approx([r.computed for r in first], rel=1e-9)
    assert json.dumps([r.id for r in first]) == json.dumps([r.id for r in second])
