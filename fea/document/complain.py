"""Complaints about a document's keys and values, in plain words.

Each error that pydantic finds is told anew: the place by the user's names, the rule and the
choices from the classes of :mod:`fea.document.schema`.  None of pydantic's wording is used.
"""

from collections.abc import Iterable, Mapping
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Tag
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from fea.document.lines import Loc
from fea.document.origin import Origin
from fea.document.quantity import OURS
from fea.document.spelling import choices, nearest
from fea.errors import Complaint

_ABSENT = object()


def complain(
    model: type[BaseModel], errors: Iterable[ErrorDetails], origin: Origin
) -> list[Complaint]:
    """Return one complaint per error, in the order of the file."""
    found = []
    told = [(error, *_resolve(model, error["loc"])) for error in errors]
    # A key that is misspelt is missing as well: one slip, one complaint.
    meant = {
        (*loc[:-1], nearest(str(loc[-1]), _fields(table)))
        for error, loc, table, _ in told
        if error["type"] == "extra_forbidden"
    }
    for error, loc, table, annotation in told:
        if error["type"] == "missing" and loc in meant:
            continue
        complaint = _tell(error, loc, table, annotation, origin)
        found.append((origin.line(loc) or 0, complaint))
    return [complaint for _, complaint in sorted(found, key=lambda pair: pair[0])]


def _tell(
    error: ErrorDetails,
    loc: Loc,
    table: type[BaseModel],
    annotation: Any,  # noqa: ANN401 - a type expression
    origin: Origin,
) -> Complaint:
    kind, value = error["type"], error.get("input", _ABSENT)
    key = next((str(t) for t in reversed(loc) if isinstance(t, str)), "")
    where, found = origin.where(loc), _quote(value)
    context = error.get("ctx", {})
    if kind == OURS:
        whole = _is_table(annotation)
        rule = str(context["rule"])
        return Complaint(
            rule if whole else f"{key} {rule}",
            where,
            "" if whole else found,
            str(context["do"]),
        )
    if kind == "extra_forbidden":
        do = choices(_keys(table), str(loc[-1]))
        return Complaint(f'there is no key "{loc[-1]}" here', where, "", do)
    if kind == "missing":
        field = _fields(table)[str(loc[-1])]
        do = f"add it: {field.description}"
        return Complaint(f'the key "{loc[-1]}" is missing', origin.where(loc[:-1]), "", do)
    if kind == "union_tag_not_found":
        return Complaint('the key "shape" is missing', where, "", choices(_shapes(annotation)))
    if kind == "union_tag_invalid":
        shape = value.get("shape") if isinstance(value, Mapping) else value
        where = origin.where((*loc, "shape"))
        do = choices(_shapes(annotation), str(shape))
        return Complaint("shape must be one that is known", where, _quote(shape), do)
    if kind == "literal_error":
        words = [str(w) for w in _literals(annotation)]
        return Complaint(
            f"{key} must be one of the words", where, found, choices(words, str(value))
        )
    if kind in {"too_short", "too_long"}:
        size = context.get("min_length" if kind == "too_short" else "max_length")
        amount = "at least" if kind == "too_short" else "no more than"
        rule = f"{key} must have {amount} {size} " + ("entry" if size == 1 else "entries")
        listed = _fields(table).get(key)
        return Complaint(rule, where, str(len(value)), (listed and listed.description) or "")
    if kind == "string_too_short":
        return Complaint(f"{key} must not be empty", where, found, "write a name")
    return _tell_type(kind, key, where, value)


def _tell_type(kind: str, key: str, where: str, value: Any) -> Complaint:  # noqa: ANN401
    """Tell of a value of the wrong type altogether."""
    want, do = {
        "string_type": ("must be text", "write it in quotes"),
        "bool_type": ("must be true or false", "write true or false, without quotes"),
        "list_type": (
            "must be a list",
            f"write [[{key}]], with two brackets"
            if isinstance(value, Mapping)
            else f"write {key} = [ ... ]",
        ),
        "dict_type": ("must be a table", f"write [{key}] or {{ ... }}"),
        "model_type": ("must be a table", f"write [{key}] or {{ ... }}"),
        "model_attributes_type": ("must be a table", f"write [{key}] or {{ ... }}"),
    }.get(kind, ("cannot be read", "compare it with a file that is shipped"))
    return Complaint(f"{key} {want}", where, _quote(value), do)


def _quote(value: Any) -> str:  # noqa: ANN401 - whatever the TOML file holds
    """Return a value as the user wrote it, shortened."""
    if value is _ABSENT:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "an empty list" if not value else f"a list of {len(value)}"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _resolve(model: type[BaseModel], loc: Loc) -> tuple[Loc, type[BaseModel], Any]:
    """Return `loc` without pydantic's own marks, the innermost table and the last type."""
    clean: Loc = ()
    table = model
    annotation: Any = model
    for token in loc:
        annotation = _bare(annotation)
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            table = annotation
            field = _fields(table).get(str(token))
            annotation = None if field is None else field.annotation
            clean += (token,)
        elif get_origin(annotation) is list:
            annotation = get_args(annotation)[0]
            clean += (token,)
        elif get_origin(annotation) is dict:
            annotation = get_args(annotation)[1]
            clean += (token,)
        elif get_origin(annotation) in {Union, UnionType}:
            annotation = _member(annotation, str(token))  # the token is the union's mark
    annotation = _bare(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        table = annotation if not loc or clean[-1:] != loc[-1:] else table
    return clean, table, annotation


def _bare(annotation: Any) -> Any:  # noqa: ANN401 - a type expression
    """Take off Annotated and "or None"."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
            continue
        if get_origin(annotation) in {Union, UnionType}:
            members = [a for a in get_args(annotation) if a is not type(None)]
            if len(members) == 1:
                annotation = members[0]
                continue
            if len(members) < len(get_args(annotation)):
                annotation = Union[tuple(members)]  # noqa: UP007 - built at run time
        return annotation


def _member(union: Any, mark: str) -> Any:  # noqa: ANN401 - a type expression
    """Return the member of a union that pydantic marks by `mark`."""
    for member in get_args(union):
        if get_origin(member) is Annotated:
            inner, *notes = get_args(member)
            if any(isinstance(note, Tag) and note.tag == mark for note in notes):
                return inner
        elif mark in _shapes(member):
            return member
    return None


def _shapes(annotation: Any) -> list[str]:  # noqa: ANN401 - a type expression
    """Return the values of the key "shape" in one section class or in all of a union."""
    annotation = _bare(annotation)
    members = get_args(annotation) or (annotation,)
    names: list[str] = []
    for member in members:
        if isinstance(member, type) and issubclass(member, BaseModel):
            field = member.model_fields.get("shape")
            names += [] if field is None else [str(a) for a in get_args(field.annotation)]
    return names


def _literals(annotation: Any) -> tuple[Any, ...]:  # noqa: ANN401 - a type expression
    bare = _bare(annotation)
    return get_args(bare) if get_origin(bare) is Literal else ()


def _fields(table: type[BaseModel]) -> Mapping[str, FieldInfo]:
    """Return the fields of a table by the key the user writes."""
    return {field.alias or name: field for name, field in table.model_fields.items()}


def _keys(table: type[BaseModel]) -> list[str]:
    return list(_fields(table))


def _is_table(annotation: Any) -> bool:  # noqa: ANN401 - a type expression
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)
