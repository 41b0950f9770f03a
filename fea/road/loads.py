"""Loads of a vehicle on the road.

Every mass presses with its apparent acceleration (gravity included) on what
carries it, and the wheels bear what balances them.  All that acts on the frame is then in
equilibrium; the supports that the solution needs are statically determinate and bear
nothing, unless the case has supports of its own.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError, SolveError
from fea.frame.case import Case, Hold, Place, Push
from fea.frame.model import Axle, Frame
from fea.frame.road import WHEELS, OnTheRoad, Road, Torque, Tow
from fea.frame.spots import sides
from fea.load import GRAVITY, Gather, Loads, resultant
from fea.mesh.mesh import Mesh
from fea.road.impact import bump_couple, kerb_pushes, step_pushes
from fea.road.inertia import ROLL, YAW, X, Y, Z, hub, inertia
from fea.road.seats import Passed, onto_seats
from fea.road.vehicle import (
    AXLES,
    Standing,
    axle_loads,
    brake_share,
    contact,
    jacked,
    roll,
    wheel_forces,
)

Array = NDArray[np.float64]

SUPPORTS = (
    Hold(Place(axle="rear"), "height"),
    Hold(Place(axle="front", side="mean"), "height"),
    Hold(Place(axle="rear", side="mean"), "station"),
    Hold(Place(axle="rear", side="mean"), "offset"),
    Hold(Place(axle="front", side="mean"), "offset"),
)
"""What keeps a balanced vehicle from drifting away; six motions, statically determinate."""

SUPPORTED = (
    "held for the solution at the rear seats (height of each side, station and offset of their"
    " mean) and at the front seats (height and offset of their mean); statically determinate"
)

BALANCED = 1e-9
"""Of the vehicle's weight: forces that leave more over are not in equilibrium."""

LEANING = 20.0
"""How far a centre of gravity that stands off the middle leans a vehicle, mm, before it is said."""

ROUNDS = 60
"""Most rounds in which the roll acceleration of a vehicle that turns over is found."""


def road_loads(frame: Frame, mesh: Mesh, case: Case, road: Road) -> Loads:
    """Return the support rows and forces of a vehicle on the road.

    Raises
    ------
    ModelError
        If the frame lacks what the case needs, or no wheel loads balance the vehicle.
    SolveError
        If the forces are not in equilibrium after all.
    """
    return _Vehicle(frame, mesh, case, road).loads()


class _Vehicle:
    """One road case on a mesh: its wheels' loads and all that acts on the frame."""

    def __init__(self, frame: Frame, mesh: Mesh, case: Case, road: Road) -> None:
        self.frame, self.case, self.road = frame, case, road
        self.where = f"case {case.name}"
        self.axles = self._axles()
        held = case if case.holds else replace(case, holds=SUPPORTS)
        self.gather = Gather(frame, mesh, held)
        self.inertia = inertia(frame, mesh, held, self.axles, laden=road.laden)
        self.accelerations = np.zeros(5)
        self.accelerations[[X, Y, Z]] = GRAVITY * np.array(
            [-road.braking, road.cornering, -road.vertical]
        )
        self.static = self._level()
        self.at_axle = np.zeros((2, 6))
        """What impacts and a shaft do to each axle beside its masses and the level road."""
        self.at_wheel = np.zeros((4, 6))
        self.notes: list[str] = []
        self.jack: float | None = None

    def _axles(self) -> tuple[Axle, Axle]:
        front, rear = (self.frame.axle(name) for name in AXLES)
        if front is None or rear is None:
            raise ModelError(
                Complaint(
                    "a vehicle on the road needs a front and a rear axle",
                    where=self.where,
                    found=", ".join(a.name for a in self.frame.axles) or "no axle",
                    do="add [axle.front] and [axle.rear] to the frame document",
                )
            )
        return front, rear

    def _standing(self, accelerations: Array, outer: Array, axle: Array) -> Standing:
        masses = self.inertia
        return Standing(
            self.axles,
            accelerations @ masses.sprung + outer,
            np.einsum("k,kaj->aj", accelerations, masses.unsprung) + axle,
            masses.mass * GRAVITY,
        )

    def _level(self) -> tuple[Array, Array]:
        """Return the axles' loads and roll moments on level ground, at rest, (2,) each."""
        down = np.zeros(5)
        down[Z] = -GRAVITY
        standing = self._standing(down, np.zeros(6), np.zeros((2, 6)))
        loads = axle_loads(standing, self.case.name)
        return loads, roll(standing, Road(), loads, self.case.name)[0]

    def loads(self) -> Loads:
        gather, road, case = self.gather, self.road, self.case
        gather.items()
        tow = self._tow(road.tow) if road.tow else np.zeros(6)
        if road.torque:
            self._torque(road.torque)
        wheels = np.zeros((4, 3))
        couple = None
        if case.holds:
            self._refuse_wheels()
            self.notes.append("the case's own supports bear, not the wheels")
        else:
            self._impacts(tow)
            outer = _total(gather)
            wheels, couple = self._wheels(outer)
            self.notes += self._onto_frame(wheels)
            self.notes.append(SUPPORTED)
        return self._finish(wheels, couple)

    def _refuse_wheels(self) -> None:
        items = self.road.wheel_items
        if items:
            raise ModelError(
                Complaint(
                    "supports of the case's own stand in place of the wheels",
                    where=self.where,
                    found=f"[[hold]] beside {' and '.join(items)}",
                    do="leave out [[hold]]: the wheels then bear the vehicle",
                )
            )

    # ------------------------------------------------------------------ what acts on it

    def _tow(self, tow: Tow) -> Array:
        """Pull at the place; return what must be met by inertia, (6,)."""
        size = self.inertia.mass * GRAVITY * tow.share if tow.force is None else tow.force
        ahead = -1.0 if tow.end == "front" else 1.0
        level = math.cos(tow.up)
        force = size * np.array(
            [ahead * level * math.cos(tow.side), level * math.sin(tow.side), math.sin(tow.up)]
        )
        before = _total(self.gather)
        side = tow.place.side if tow.place.side in ("right", "left") else "mean"
        pull = Push(replace(tow.place, side=side), tuple(force.tolist()))
        self.gather.push(pull)
        by = "the masses' inertia" if tow.against == "inertia" else "the wheels"
        self.notes.append(f"pulled by {size:.0f} N, met by {by}")
        found = _total(self.gather) - before
        return found if tow.against == "inertia" else np.zeros(6)

    def _torque(self, torque: Torque) -> None:
        """Put the engine's reaction on the rails, and the shaft's torque on the driven axle."""
        station = torque.station
        if station is None:
            named = [m for m in self.frame.masses if m.name == torque.mass]
            if not named or named[0].carrier != "frame":
                raise ModelError(
                    Complaint(
                        "an engine's torque needs a mass that the frame carries, or a station",
                        where=self.where,
                        found=torque.mass or "",
                        do="one of " + ", ".join(
                            f'"{m.name}"' for m in self.frame.masses if m.carrier == "frame"
                        ),
                    )
                )  # fmt: skip
            station = named[0].position[0]
        self.gather.push(Push(Place(station=station), couple=torque.moment))
        self.at_axle[AXLES.index(torque.driven), 3] -= torque.moment
        self.notes.append(
            f"engine torque as upward forces on the two rails at station {station:.0f} mm; the"
            f" shaft takes it to the {torque.driven} axle, not to the frame"
        )

    def _impacts(self, tow: Array) -> None:
        """Take in kerb and step; let inertia meet them and a pull: x, y and yaw."""
        road, masses = self.road, self.inertia
        if road.kerb:
            pushes, note = kerb_pushes(road.kerb, self.axles, masses.mass, masses.centre, GRAVITY)
            self.at_wheel += pushes
            self.notes.append(note)
        if road.step:
            loads, moments = self.static
            track = np.array([a.track for a in self.axles])
            half = np.stack([loads / 2 + moments / track, loads / 2 - moments / track], axis=1)
            pushes, note = step_pushes(
                road.step,
                self.axles,
                half.ravel(),
                lambda k: hub(self.frame, self.axles, k),
                self.case.name,
            )
            self.at_wheel += pushes
            self.notes.append(note)
        self.accelerations += self._planar(tow + self.at_wheel.sum(axis=0))

    def _planar(self, impact: Array) -> Array:
        """Return the accelerations along, across and in yaw that meet a push, (5,)."""
        out = np.zeros(5)
        if np.any(impact):
            rows = self.inertia.whole[[X, Y, YAW]][:, [0, 1, 5]].T
            out[[X, Y, YAW]] = -np.linalg.solve(rows, impact[[0, 1, 5]])
        return out

    # ----------------------------------------------------------------------- equilibrium

    def _wheels(self, outer: Array) -> tuple[Array, float | None]:
        """Return the road's push on the wheels beside impacts, (4, 3), and a bump's couple."""
        road, name = self.road, self.case.name
        axle = self.at_axle + self.at_wheel.reshape(2, 2, 6).sum(axis=1)
        couple = None
        standing = self._standing(self.accelerations, outer, axle)
        if road.bump:
            couple, note = bump_couple(road.bump, self.axles, *self.static, name)
            couple *= road.vertical
            self.notes.append(note)
            standing = replace(standing, couple=couple)
        if road.jack:
            at = sides(self.frame, road.jack.place, name)[0][1][0][0].points[0]
            force, loads, moments = jacked(standing, road.jack, (at[0], at[1]), name)
            self.gather.push(Push(road.jack.place, (0.0, 0.0, force)))
            self.jack = force
            self.notes.append(
                f"jack: {force:.0f} N at station {at[0]:.0f}, offset {at[1]:.0f} mm; frame and body"
                " taken as stiff on their springs"
            )
            standing = self._standing(self.accelerations, _total(self.gather), axle)
        else:
            standing, loads, moments, notes = self._rolled(standing)
            leans = abs(standing.total[3]) + abs(standing.couple) > LEANING * standing.size
            if leans or road.torque or road.lifted:
                self.notes += notes
        share = brake_share(road, self.static[0])
        along = -standing.total[0] * np.array([share, 1.0 - share])
        return wheel_forces(standing, (loads, moments), along), couple

    def _rolled(self, standing: Standing) -> tuple[Standing, Array, Array, list[str]]:
        """Return loads and roll moments; beyond overturning a kerb starts to roll the vehicle."""
        name = self.case.name
        turning = np.zeros(5)
        turning[ROLL] = 1.0
        turning += self._planar(turning @ self.inertia.whole)
        unit = self._standing(turning, np.zeros(6), np.zeros((2, 6)))
        limit = 1e-13 * standing.size * max(a.track for a in self.axles)
        rolling = 0.0
        for _ in range(ROUNDS):
            loads = axle_loads(standing, name)
            moments, notes, left = roll(standing, self.road, loads, name)
            if abs(left) <= limit:
                break
            if self.road.kerb is None and abs(left) > 1e4 * limit:
                raise ModelError(
                    Complaint(
                        "the vehicle would turn over",
                        where=self.where,
                        found=f"{abs(left) / 1000.0:.0f} N m too much for its wheels",
                        do="corner less hard",
                    )
                )
            if self.road.kerb is None:
                break
            step = left / unit.total[3]
            rolling += step
            self.accelerations += step * turning
            standing = replace(
                standing,
                sprung=standing.sprung + step * unit.sprung,
                unsprung=standing.unsprung + step * unit.unsprung,
            )
        if rolling:
            notes = [
                *notes,
                f"the vehicle, as lumps, begins to turn over at {abs(rolling):.1f} rad/s2",
            ]
        return standing, loads, moments, notes

    def _onto_frame(self, wheels: Array) -> list[str]:
        """Put on the seats what axles pass on: the road's pushes and their own masses."""
        at = np.array(list(contact(self.axles).values()))
        pushes = np.hstack([wheels, np.cross(at, wheels)]) + self.at_wheel
        own = np.einsum("k,kasj->asj", self.accelerations, self.inertia.sides)
        passed = pushes.reshape(2, 2, 6) + own
        notes = []
        for k, name in enumerate(AXLES):
            right, left = (Passed(side[:3], side[3:]) for side in passed[k])
            notes += onto_seats(self.gather, name, right, left, self.at_axle[k, 3:])
        return notes

    def _finish(self, wheels: Array, couple: float | None) -> Loads:
        masses, held = self.inertia, bool(self.case.holds)
        found = self.gather.finish()
        force = found.force + sum(
            a * u.force for a, u in zip(self.accelerations, masses.units, strict=True)
        )
        even = found.element_load + sum(
            a * u.element_load for a, u in zip(self.accelerations, masses.units, strict=True)
        )
        total = resultant(self.gather.mesh.points, force)
        size = masses.mass * GRAVITY * max(1.0, abs(self.road.vertical))
        wheelbase = self.axles[1].station - self.axles[0].station
        over = float(np.abs(total / np.repeat([size, size * wheelbase], 3)).max())
        if over > BALANCED and not held:
            raise SolveError(
                Complaint(
                    "the loads of a vehicle on the road must balance",
                    where=self.where,
                    found=f"{over:.1e} of the weight left over, limit {BALANCED:.0e}",
                )
            )
        pushed = wheels + self.at_wheel[:, :3]
        on_mounts: dict[tuple[str, str], Array] = {}
        for a, each in zip(self.accelerations, masses.on_mounts, strict=True):
            for key, part in each.items():
                on_mounts[key] = on_mounts.get(key, np.zeros(3)) + a * part
        return replace(
            found,
            force=force,
            element_load=even,
            total=total,
            road=OnTheRoad(
                wheels={} if held else dict(zip(WHEELS, pushed, strict=True)),
                mass=masses.mass,
                centre=masses.centre,
                on_mounts=on_mounts,
                weights=self.road.vertical,
                jack=self.jack,
                couple=couple,
                imbalance=0.0 if held else over,
                notes=tuple(self.notes),
            ),
        )


def _total(gather: Gather) -> Array:
    """Return what a gather's loads sum to so far, (6,), its even loads not yet on nodes."""
    copy = Gather(gather.frame, gather.mesh, gather.case)
    copy.force, copy.even = gather.force.copy(), gather.even.copy()
    return copy.finish().total
