"""A fleet's rows as one Parquet file: written whole or not at all, read in pieces.

Beside the inputs and the results every row holds its fingerprint, by which a later fleet of
that name takes over what is still the same; rows to be tried again have none.
"""

import os
from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fea.errors import Complaint, DocumentError, MissingExtraError
from fea.study.attempt import Outcome
from fea.study.fleet_plan import Plan

if TYPE_CHECKING:
    import pyarrow as pa

ROWS = 1024
"""Rows of a group, as many as are held in memory at once."""

MARK = b"plumbrail fleet"

FINGERPRINT = "fingerprint"

FIGURES = (
    "twist_stiffness_nm_per_deg", "bending_stiffness_n_per_mm", "steel_kg", "kerb_kg",
    "residual", "force_balance", "moment_balance", "energy_balance",
)  # fmt: skip
STRESS = ("highest_stress_mpa", "highest_utilisation")


def need_pyarrow() -> None:
    """Refuse to begin what could not be written in the end.

    Raises
    ------
    MissingExtraError
        If pyarrow is not installed.
    """
    try:
        here = find_spec("pyarrow") is not None
    except ValueError:  # shut out on purpose
        here = False
    if not here:
        rule = 'a fleet writes Parquet files: pip install "plumbrail[fleet]"'
        raise MissingExtraError(rule)


def columns(plan: Plan, *, stress: bool) -> "pa.Schema":
    """Return the columns of a fleet: inputs, then results."""
    import pyarrow as pa

    fields = [("document", pa.string()), ("variant", pa.int32())]
    for key in plan.keys:
        fields.append((key, pa.string()))
        if key in plan.figured:
            fields.append((figure_name(key, plan.figured[key][1]), pa.float64()))
    fields += [("status", pa.int8()), ("complaint", pa.string())]
    fields += [("title", pa.string()), ("parts_fitted", pa.string())]
    fields += [(name, pa.float64()) for name in FIGURES]
    fields += [("solver", pa.string()), ("free_motions", pa.int32())]
    if stress:
        fields += [*((name, pa.float64()) for name in STRESS), ("highest_in", pa.string())]
    fields.append((FINGERPRINT, pa.string()))
    return pa.schema(fields, metadata={MARK: b"1"})


def figure_name(key: str, unit: str) -> str:
    """Return the name of the column that holds a key's values as figures."""
    return f"{key} ({unit or 'figure'})"


def inputs(plan: Plan, number: int) -> Outcome:
    """Return the columns of a row, counted from 0, that tell what it was asked for."""
    place, variant = divmod(number, plan.n_variants)
    row: Outcome = {"document": str(plan.sources[place].path), "variant": variant + 1}
    asked = dict(plan.asked(variant))
    row |= asked
    for key, (figures, unit) in plan.figured.items():
        row[figure_name(key, unit)] = figures[asked[key]] if key in asked else None
    return row


def write(path: Path, schema: "pa.Schema", rows: Iterable[Outcome]) -> None:
    """Write rows, a group at a time, beside the file; then put it in its place in one step.

    Raises
    ------
    DocumentError
        If it cannot be written.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    beside = path.with_name(path.name + ".writing")
    try:
        with pq.ParquetWriter(beside, schema, compression="zstd") as writer:
            for group in _groups(rows):
                writer.write_table(pa.Table.from_pylist(group, schema), row_group_size=ROWS)
        with beside.open("rb+") as file:
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise DocumentError(
            Complaint(
                "the fleet's file could not be written",
                str(path),
                error.strerror or str(error),
                "make room or choose another --parquet; the same name goes on from here",
            )
        ) from None
    finally:
        beside.unlink(missing_ok=True)


def check_ours(path: Path) -> None:
    """Refuse to replace a file that is not a fleet's.

    Raises
    ------
    DocumentError
        If another file has that name.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    if not path.exists():
        return
    try:
        ours = MARK in (pq.read_schema(path).metadata or {})
    except (OSError, pa.ArrowException):
        ours = False
    if not ours:
        rule = "a file of that name exists that is not a fleet's"
        raise DocumentError(Complaint(rule, "--parquet", str(path), "choose another name"))


def finished(path: Path) -> Iterator[tuple[bytes, Outcome]]:
    """Yield fingerprint and results of an earlier fleet's rows, without those to be tried again."""
    import pyarrow.parquet as pq

    if not path.exists():
        return
    with pq.ParquetFile(path) as file:
        kept = file.schema_arrow.names
        kept = kept[kept.index("status") :]
        for batch in file.iter_batches(batch_size=ROWS, columns=kept):
            for row in batch.to_pylist():
                fingerprint = row.pop(FINGERPRINT)
                if fingerprint is not None:
                    yield fingerprint.encode(), row


def _groups(rows: Iterable[Outcome]) -> Iterator[list[dict[str, Any]]]:
    group: list[dict[str, Any]] = []
    for row in rows:
        group.append(row)
        if len(group) == ROWS:
            yield group
            group = []
    if group:
        yield group
