"""Validation cases that are wrong: in their answers, or as files."""

import json
import math

import pytest

from fea.document.validation import read_validation
from fea.errors import DocumentError
from fea.verify import as_json, run_all, run_case, validation_folder
from fea.verify.reading import element_unit, unit_of
from fea.verify.run import half_last_digit

BAR = """
id = "T1"
title = "A cantilever"
kind = "structure"
source = "closed form"
certainty = "derived"
units = "mm N"

[material]
E = 200000.0
G = 80000.0

[section.bar]
A = 100.0
I1 = 1000.0
I2 = 2000.0
J = 1500.0

[node]
root = [0.0, 0.0, 0.0]
tip = [100.0, 0.0, 0.0]

[[bar]]
name = "bar"
from = "root"
to = "tip"
section = "bar"

[[hold]]
nodes = ["root"]

[[load]]
node = "tip"
force = [0.0, 0.0, 6.0]

[[expect]]
name = "w"
node = "tip"
read = "uz"
value = 0.01
unit = "mm"
"""

BOX = """
id = "T2"
title = "A box"
kind = "section"
source = "closed form"
certainty = "derived"
units = "mm N"

[section]
shape = "box"
dimensions = { depth = 83.0, width = 53.0, wall = 3.0 }

[[expect]]
name = "A"
read = "A"
value = 780.0
unit = "mm2"
"""


@pytest.fixture
def run(tmp_path):
    def write_and_run(*texts):
        for k, text in enumerate(texts):
            (tmp_path / f"case_{k}.toml").write_text(text, encoding="utf-8")
        return run_all(tmp_path)

    return write_and_run


def refused(run, *texts):
    with pytest.raises(DocumentError) as caught:
        run(*texts)
    return str(caught.value)


def test_right_answers_are_ok(run):
    rows = run(BAR, BOX)
    assert [r.id for r in rows] == ["T1.w", "T2.A"]
    assert all(r.ok for r in rows)
    assert rows[0].computed == pytest.approx(0.01, rel=1e-12)


@pytest.mark.parametrize("wrong", ["0.0100001", "-0.01", "0.0", "0.02"])
def test_a_wrong_answer_is_not_ok(run, wrong):
    (row,) = run(BAR.replace("value = 0.01\n", f"value = {wrong}\n"))
    assert not row.ok
    assert row.expected == float(wrong)
    assert as_json([row])["cases"][0]["ok"] is False


def test_a_shipped_case_with_one_figure_changed_is_not_ok(tmp_path):
    text = (validation_folder() / "A20_vlasov_cantilever.toml").read_text(encoding="utf-8")
    before = run_case(read_validation(validation_folder() / "A20_vlasov_cantilever.toml"))
    assert all(r.ok for r in before)
    changed = tmp_path / "A20.toml"
    changed.write_text(text.replace("[2000.0, 0.0, 0.0]", "[2000.001, 0.0, 0.0]"), encoding="utf-8")
    after = run_case(read_validation(changed))
    assert not any(r.ok for r in after if r.id.startswith("A20.theta_tip") and "four" not in r.id)


def test_printed_figures_count_to_half_their_last_digit(run):
    text = BAR.replace("value = 0.01\n", 'printed = "0.0100"\n')
    (row,) = run(text)
    assert (row.id, row.ok, row.certainty) == ("T1.w.printed", True, "derived")
    assert row.tolerance == pytest.approx(0.005)
    (row,) = run(text.replace('"0.0100"', '"0.0101"'))
    assert not row.ok


@pytest.mark.parametrize(
    ("printed", "half"),
    [("0.0314", 5e-5), ("404", 0.5), ("1.91e3", 5.0), ("-0.380", 5e-4), ("3e-5", 5e-6)],
)
def test_half_last_digit(printed, half):
    assert half_last_digit(printed) == pytest.approx(half, rel=1e-12)


def test_zero_is_compared_absolutely(run):
    text = BAR.replace('read = "uz"\nvalue = 0.01', 'read = "uy"\nvalue = 0.0\ntolerance = 1e-12')
    (row,) = run(text)
    assert row.ok
    assert row.expected == 0.0


def test_a_mechanism_is_a_row_that_is_not_ok(run):
    loose = BAR.replace('nodes = ["root"]', 'nodes = ["root"]\nfreedoms = ["ux", "uy", "uz"]')
    (row,) = run(loose)
    assert not row.ok
    assert math.isnan(row.computed)
    assert "nothing holds" in row.note
    assert json.loads(json.dumps(as_json([row]), allow_nan=False))["cases"][0]["computed"] is None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("value = 0.01", 'value = "0.01"', ["value must be a plain number", 'expect "w"']),
        ("value = 0.01", "", ["value or a printed figure", 'expect "w"']),
        ("value = 0.01", "valeu = 0.01", ['there is no key "valeu"', 'mean "value"']),
        ('unit = "mm"', 'unit = "kN"', ["unit must be that of what is read", 'write "mm"']),
        ('read = "uz"', 'read = "uw"', ["read must be one of the words", '"uw"', 'key "read"']),
        ('node = "tip"\nread', 'node = "top"\nread', ["what it names", '"top"', 'mean "tip"']),
        ('from = "root"', 'from = "rot"', ["what it names", 'bar "bar"', 'key "from"']),
        ('section = "bar"', 'section = "baz"', ["what it names", '"baz"', 'key "section"']),
        ("A = 100.0\n", "", ["a section is given in one way", 'section "bar"']),
        ("E = 200000.0", "E = -1.0", ["E must be greater than 0", '"E"', "-1.0"]),
        ('kind = "structure"', 'kind = "stucture"', ["kind must be", 'mean "structure"']),
        ('kind = "structure"\n', "", ["kind must be one of the words"]),
        ('title = "A cantilever"', "title = A", ["not valid TOML"]),
        ("tip = [100.0, 0.0, 0.0]", "tip = [100.0, 0.0]", ["at least 3", 'key "tip"']),
        ('units = "mm N"', 'units = "mm lbf"', ["units must be one of the words"]),
        ('read = "uz"', 'read = "move"', ["along goes with move and turn"]),
        ('node = "tip"\nread = "uz"', 'bar = "bar"\nread = "uz"', ["in a bar there are"]),
        (
            'read = "uz"\nvalue = 0.01\nunit = "mm"',
            'read = "N"\nvalue = 0.01\nunit = "N"',
            ["at a node there are", 'expect "w"'],
        ),
    ],
)
def test_a_malformed_file_is_told_with_file_and_key(run, old, new, words):
    assert old in BAR
    told = refused(run, BAR.replace(old, new))
    assert "case_0.toml" in told
    for word in words:
        assert word in told


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('shape = "box"', 'shape = "bix"', ["shape must be one that is known", 'mean "box"']),
        ("width = 53.0", "flange = 53.0", ["a box has other dimensions", "depth, width, wall"]),
        ("wall = 3.0", "wall = 30.0", ["wall must be thinner than", "case_0.toml"]),
        (
            'read = "A"\nvalue = 780.0\nunit = "mm2"',
            'read = "omega"\ncorner = [0.0, 1.0]\nvalue = 1.0\nunit = "mm2"',
            ["corner must be one of the section's", "25.0"],
        ),
        (
            'read = "A"\nvalue = 780.0\nunit = "mm2"',
            'read = "flow_t"\nwall = 4\nvalue = 1.0\nunit = "1/mm2"',
            ["the section has fewer walls"],
        ),
    ],
)
def test_a_section_that_cannot_be(run, old, new, words):
    assert old in BOX
    told = refused(run, BOX.replace(old, new))
    for word in words:
        assert word in told


def test_all_complaints_of_all_files_at_once(run):
    told = refused(run, BAR.replace("E = 200000.0", "E = 0.0"), BOX.replace("mm2", "mm4"))
    assert "case_0.toml" in told
    assert "case_1.toml" in told


def test_ids_and_names_are_unique(run):
    assert "every case needs an id of its own" in refused(run, BAR, BOX.replace('"T2"', '"T1"'))
    twice = BAR + BAR[BAR.index("[[expect]]") :]
    assert "every answer needs a name of its own" in refused(run, twice)


def test_an_empty_folder_is_an_error(run):
    assert "there are no validation cases here" in refused(run)


def test_deviation_needs_a_reason(run):
    text = BAR.replace("value = 0.01", 'printed = "0.0103"\nwithin = 0.05')
    assert "must be explained" in refused(run, text)
    (row,) = run(text.replace("within = 0.05", 'within = 0.05\nwhy = "read off a chart"'))
    assert row.ok
    assert row.note == "read off a chart"


@pytest.mark.parametrize(
    ("read", "units", "unit"),
    [
        ("uz", "in kip", "in"),
        ("rx", "in kip", "rad"),
        ("warp", "mm N", "1/mm"),
        ("B", "in kip", "kip in2"),
        ("M1", "m kN", "kN m"),
        ("normal", "mm N", "MPa"),
        ("normal", "m N", "N/m2"),
        ("Cw", "cm N", "cm6"),
        ("flow_t", "mm N", "1/mm2"),
        ("Fx", "none", ""),
    ],
)
def test_units(read, units, unit):
    assert unit_of(read, units) == unit


def test_units_of_a_stiffness():
    units = [element_unit(a, b, "mm N") for a, b in (("ux1", "ux2"), ("uy1", "rz1"))]
    units += [element_unit("rx1", b, "mm N") for b in ("rx2", "warp1")]
    units.append(element_unit("warp1", "warp2", "mm N"))
    assert units == ["N/mm", "N", "N mm", "N mm2", "N mm3"]
