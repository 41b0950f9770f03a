"""Thousands of frames: many documents, each in many variants, into one Parquet file.

Rows come in any order and are kept as they come (:mod:`fea.study.fleet_journal`); when all
are there they are written in the order asked for.  Neither the rows nor the documents are
held in memory, and the bits of the file do not depend on where it was computed, nor on how
often it was begun again.
"""

from collections.abc import Iterator
from dataclasses import astuple, dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.document.read import frame_of_text, read_text
from fea.errors import Complaint, DocumentError, FeaError
from fea.study import fleet_parquet
from fea.study.attempt import Outcome
from fea.study.engine import Runner, outcomes
from fea.study.fleet_journal import Journal
from fea.study.fleet_plan import Plan, digest
from fea.study.fleet_work import FAILED, REFUSED, Common, complained, pack, work
from fea.study.ledger import fingerprint_of
from fea.study.pools import Task
from fea.study.vary import meant

MEASURED = 1
"""Raise this when a row comes to hold something else: earlier rows then do not count."""

MOST_TOLD = 1000
"""Complaints that are told apart in a summary."""


@dataclass(frozen=True)
class Extreme:
    """The least and the most of a figure, each with its row, counted from 0."""

    least: tuple[float, int]
    most: tuple[float, int]


@dataclass
class Fleet:
    """What came of a fleet, counted while its file was written.

    Attributes
    ----------
    taken_over : rows that were there already
    computed : rows that were computed now; the rest are of documents that cannot be read
    by_status : how many rows ended in each way
    complaints : how many rows each was told of, and the first of them, counted from 0
    """

    plan: Plan
    path: Path
    taken_over: int = 0
    computed: int = 0
    by_status: dict[int, int] = field(default_factory=dict)
    complaints: dict[str, tuple[int, int]] = field(default_factory=dict)
    extremes: dict[str, Extreme] = field(default_factory=dict)

    @property
    def solved(self) -> int:
        """How many rows have figures."""
        return self.by_status.get(0, 0)

    def count(self, number: int, row: Outcome) -> None:
        """Count a row in."""
        status = row["status"]
        self.by_status[status] = self.by_status.get(status, 0) + 1
        words = row["complaint"]
        if words and (words in self.complaints or len(self.complaints) < MOST_TOLD):
            rows, first = self.complaints.get(words, (0, number))
            self.complaints[words] = (rows + 1, first)
        for name in fleet_parquet.FIGURES[:3]:
            value = row.get(name)
            if value is not None:
                known = self.extremes.get(name, Extreme((value, number), (value, number)))
                self.extremes[name] = Extreme(
                    min(known.least, (value, number), key=lambda pair: pair[0]),
                    max(known.most, (value, number), key=lambda pair: pair[0]),
                )


def shared(common: Common) -> str:
    """Return the fingerprint of all that the rows of a fleet share."""
    cases = [astuple(replace(case, source="")) for case in common.cases]
    return fingerprint_of([MEASURED, cases, astuple(replace(common, cases=()))])


def journal_of(path: Path) -> Path:
    """Return the file that keeps a fleet's finished rows until all are there."""
    return path.with_name(path.name + ".unfinished")


def run_fleet(plan: Plan, common: Common, path: Path, runner: Runner | None = None) -> Fleet:
    """Compute what is not there yet of a fleet, and write its file.

    Parameters
    ----------
    path : the Parquet file; rows of an earlier fleet of that name that are still the same,
        finished or not, are taken over

    Raises
    ------
    MissingExtraError
        If pyarrow is not installed, or a cluster is asked for without its library.
    DocumentError
        If the file cannot be written, or is something else.
    SolveError
        If a cluster is asked for that is not there.
    """
    fleet_parquet.need_pyarrow()
    fleet_parquet.check_ours(path)
    runner = runner or Runner()
    journal = Journal(journal_of(path))
    rows = _Rows(plan)
    with journal.opened(rows.put):
        for fingerprint, row in fleet_parquet.finished(path):
            if rows.wanted(fingerprint):
                rows.put(fingerprint, journal.add(fingerprint, row))
        fleet = Fleet(plan, path, *rows.counts())
        lost = _compute(plan, common, (journal, rows), runner)
        schema = fleet_parquet.columns(plan, stress=common.stress)
        fleet_parquet.write(path, schema, _in_order(fleet, (journal, rows), lost))
        journal.path.unlink()
    return fleet


class _Rows:
    """Where each row stands in the journal; rows with equal fingerprints stand in one place."""

    def __init__(self, plan: Plan) -> None:
        self._known, self.first, self._slot = np.unique(
            plan.fingerprints, return_index=True, return_inverse=True
        )
        self._place = np.full(len(self._known), -1, dtype=np.int64)
        readable = np.array([not s.complaints for s in plan.sources])
        self._readable = np.repeat(readable, plan.n_variants)

    def _find(self, fingerprint: bytes) -> int:
        slot = int(np.searchsorted(self._known, fingerprint))
        found = slot < len(self._known) and self._known[slot] == fingerprint
        return slot if found and fingerprint else -1

    def put(self, fingerprint: bytes, place: int) -> None:
        """Tell where a row stands; one that is not asked for is passed over."""
        slot = self._find(fingerprint)
        if slot >= 0:
            self._place[slot] = place

    def wanted(self, fingerprint: bytes) -> bool:
        """Whether a row is asked for and not there yet."""
        slot = self._find(fingerprint)
        return slot >= 0 and bool(self._place[slot] < 0)

    def place(self, number: int) -> int:
        """Return where a row stands, -1 if nowhere."""
        return int(self._place[self._slot[number]])

    def _done(self) -> NDArray[np.bool_]:
        return np.asarray(self._place[self._slot] >= 0)

    def counts(self) -> tuple[int, int]:
        """Return how many rows are there, and how many are to be computed."""
        done = self._done()
        return int(np.count_nonzero(done)), int(np.count_nonzero(~done & self._readable))

    def open(self) -> NDArray[np.intp]:
        """Return the rows to be computed, in order, one of each that are equal."""
        leading = np.zeros(len(self._slot), dtype=np.bool_)
        leading[self.first] = True
        return np.flatnonzero(leading & self._readable & ~self._done())


def _compute(
    plan: Plan, common: Common, kept: tuple[Journal, _Rows], runner: Runner
) -> dict[bytes, Outcome]:
    """Compute the rows that are open; return those lost with their process."""
    journal, rows = kept
    todo = rows.open()
    done, lost = plan.n_rows - len(todo), dict[bytes, Outcome]()
    if runner.told is not None:
        runner.told(done, plan.n_rows)
    tasks = _tasks(plan, common, todo)
    quick = not common.sheet_joints
    for number, outcome in outcomes(work, tasks, runner, len(todo), quick=quick):
        fingerprint = plan.fingerprint(number)
        if "lost" in outcome:
            lost[fingerprint] = complained([Complaint(*w) for w in outcome["complaints"]], FAILED)
        else:
            rows.put(fingerprint, journal.add(fingerprint, outcome))
        done += 1
        if runner.told is not None:
            runner.told(done, plan.n_rows)
    return lost


def _tasks(plan: Plan, common: Common, todo: NDArray[np.intp]) -> Iterator[Task]:
    """Yield the tasks of open rows; a document is read again when its rows are due."""
    held, job = -1, b""
    for number in todo.tolist():
        place, variant = divmod(number, plan.n_variants)
        if place != held:
            held, job = place, _job(plan, common, place)
        yield number, job, plan.asked(variant)


def _job(plan: Plan, common: Common, place: int) -> bytes:
    source = plan.sources[place]
    try:
        text = read_text(source.path)
    except DocumentError:
        text = ""
    return pack(text if digest(text) == source.digest else None, source.path, common)


def check_keys(plan: Plan) -> None:
    """Refuse keys that no document of a fleet has, before anything is computed.

    Raises
    ------
    FeaError
        If there is no such document; why the first was refused.
    """
    first: FeaError | None = None
    for source in plan.sources:
        try:
            if source.complaints:
                raise DocumentError(*source.complaints)
            document = frame_of_text(read_text(source.path), source.path)
            for key, text in plan.asked(0):
                meant(key, text, document)
        except FeaError as error:
            first = first or error
        else:
            return
    if first is not None:
        raise first


def _in_order(
    fleet: Fleet, kept: tuple[Journal, _Rows], lost: dict[bytes, Outcome]
) -> Iterator[Outcome]:
    """Yield the rows of the file, inputs and results, and count them in."""
    plan, (journal, rows) = fleet.plan, kept
    for number in range(plan.n_rows):
        source = plan.sources[number // plan.n_variants]
        place, fingerprint = rows.place(number), plan.fingerprint(number)
        name: str | None = None
        if source.complaints:
            row = complained(source.complaints, REFUSED)
        elif place < 0:
            row = lost[fingerprint]
        else:
            row, name = journal.row(place), fingerprint.decode()
        fleet.count(number, row)
        yield fleet_parquet.inputs(plan, number) | row | {fleet_parquet.FINGERPRINT: name}
