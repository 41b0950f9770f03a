"""Every validation case that is shipped: computed beside expected, one test per row."""

import ast
import math
import re
import tomllib
from collections import Counter
from functools import cache
from itertools import pairwise

import pytest

from fea.document.validation import read_validation
from fea.store import store
from fea.verify import CaseResult, as_json, run_case, validation_folder

FOLDER = validation_folder()
DOCUMENTS = {
    path.stem: tomllib.loads(path.read_text(encoding="utf-8"))
    for path in sorted(FOLDER.glob("*.toml"))
}
FILE = {document["id"]: stem for stem, document in DOCUMENTS.items()}
ANSWERS = [(document, answer) for document in DOCUMENTS.values() for answer in document["expect"]]
FORMULAS = [(d, a) for d, a in ANSWERS if "formula" in a]
IDS = [
    f"{d['id']}.{a['name']}{suffix}"
    for d, a in ANSWERS
    for suffix in [""] * ("value" in a) + [".printed"] * ("printed" in a)
]

FUNCTIONS = {
    name: getattr(math, name)
    for name in ("sqrt", "sinh", "cosh", "tanh", "sin", "cos", "atan", "pi")
}


@cache
def rows_of(stem: str) -> dict[str, CaseResult]:
    """Run one file, when a test first asks for it: frames condense their joints."""
    return {r.id: r for r in run_case(read_validation(FOLDER / f"{stem}.toml"), store())}


def row_of(name: str) -> CaseResult:
    return rows_of(FILE[name.split(".")[0]])[name]


@pytest.mark.parametrize("name", IDS)
def test_row(name):
    row = row_of(name)
    assert row.ok, f"{row.computed} beside {row.expected}, allowed {row.tolerance}: {row.note}"


def test_there_are_many_rows_of_every_kind():
    assert len(FILE) == len(DOCUMENTS) >= 80
    assert len(set(IDS)) == len(IDS) >= 700
    assert {n for stem in DOCUMENTS for n in rows_of(stem)} == set(IDS)
    certainty = {row_of(n).certainty for n in IDS}
    printed = [row_of(n) for n in IDS if n.endswith(".printed")]
    assert len(printed) >= 100
    assert Counter(d["kind"] for d in DOCUMENTS.values()).keys() == {
        "structure",
        "section",
        "element",
        "frame",
        "weld",
        "bolts",
    }
    assert certainty == {"found", "memory", "derived"}
    assert {r.certainty for r in printed} == {"found", "memory"}


def arithmetic(text, names):
    """The value of a formula that holds numbers, names, + - * / ** and our functions only."""
    tree = ast.parse(text, mode="eval")
    allowed = (
        ast.Expression, ast.BinOp, ast.UnaryOp, ast.Call, ast.Name, ast.Constant, ast.Load,
        ast.Add, ast.Sub, ast.Mult, ast.Div, ast.Pow, ast.USub,
    )  # fmt: skip
    for node in ast.walk(tree):
        assert isinstance(node, allowed), f"{type(node).__name__} in {text}"
    code = compile(tree, "formula", "eval")
    return eval(code, {"__builtins__": {}}, FUNCTIONS | names)


@pytest.mark.parametrize(
    ("document", "answer"), FORMULAS, ids=[f"{d['id']}.{a['name']}" for d, a in FORMULAS]
)
def test_value_is_what_its_formula_gives(document, answer):
    value = arithmetic(answer["formula"], document.get("given", {}))
    assert answer["value"] == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_values_without_a_formula_say_where_they_come_from():
    bare = [
        f"{d['id']}.{a['name']}"
        for d, a in ANSWERS
        if "formula" not in a and "value" in a and a["value"] != 0.0 and not a.get("reason")
    ]
    assert bare == []


def test_wide_tolerances_say_why():
    """A value may be missed by more than 1e-9 only for a reason that stands beside it."""
    silent = [
        f"{d['id']}.{a['name']}"
        for d, a in ANSWERS
        if a.get("tolerance", 1e-9) > 1e-9 and not a.get("reason")
    ]
    assert silent == []


def test_deviations_from_print_are_about_what_is_said():
    """A band round a printed figure is hardly wider than the deviation that it explains."""
    said = [(d, a) for d, a in ANSWERS if "within" in a]
    assert said
    for document, answer in said:
        row = row_of(f"{document['id']}.{answer['name']}.printed")
        deviation = abs(row.computed / row.expected - 1.0) + answer.get("tolerance", 0.0)
        assert answer["within"] <= 1.5 * deviation, row.id
        assert re.match(r"[+-]\d+(\.\d+)?(e-\d+)? %: .", answer["why"]), row.id


@pytest.mark.parametrize("document", DOCUMENTS.values(), ids=list(DOCUMENTS))
def test_sources_are_given(document):
    assert document["source"]
    assert document["title"]
    if document["certainty"] != "derived":
        assert document.get("where") or re.search(r"\d{4}", document["source"])


def test_faceted_arc_converges_with_the_square():
    errors = [
        abs(row_of(f"C15.w_tip{mesh}").computed / row_of("C15.w_tip").expected - 1.0)
        for mesh in ("_coarse", "_fine", "")
    ]
    rates = [math.log(a / b, 4.0) for a, b in pairwise(errors)]
    assert rates == pytest.approx([2.0, 2.0], abs=0.1)


def test_json_has_one_entry_a_row():
    results = [row_of(n) for n in IDS if n.startswith(("A", "E01"))]
    cases = as_json(results)["cases"]
    assert [c["id"] for c in cases] == [r.id for r in results]
    assert cases[0].keys() == {"id", "source", "computed", "expected", "tolerance", "ok"}
    assert all(c["ok"] is True for c in cases)


FRAMES = {stem: d for stem, d in DOCUMENTS.items() if d["kind"] == "frame"}


def test_the_frames_are_taken_as_sheet_metal():
    assert len(FRAMES) >= 19
    assert {d["joints"] for d in FRAMES.values()} == {"sheet"}


@pytest.mark.parametrize(
    ("stem", "name"),
    [("E13_ladder_flange_welded_twist", "K"), ("E09_part_boxed_root", "tip")],
)
def test_a_frame_by_beam_rules_is_another_answer(stem, name):
    """The key joints does something: the sheet metal is not the rule under another name."""
    document = read_validation(FOLDER / f"{stem}.toml")
    by_rules = document.model_copy(update={"joints": "beam"})
    by_rules.set_origin(document.origin)
    (rule,) = [r for r in run_case(by_rules) if r.id.endswith(f".{name}")]
    metal = row_of(rule.id)
    assert abs(rule.computed / metal.computed - 1.0) > 0.02
    if name == "tip":  # a box that lozenges is beyond beam rules
        assert metal.ok
        assert not rule.ok
