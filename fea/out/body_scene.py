"""Bodies on a solved frame as a scene draws them, with the mounts and ties that bear them."""

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.frame.body import Tie
from fea.frame.model import Mount
from fea.mesh.vehicle import BodyAt, tie_label
from fea.out.scene import BodyLink, Grillage
from fea.result.answer import Answer
from fea.solve.body_kept import KNOWN

Array = NDArray[np.float64]

WORDS = (("rearward", "forward"), ("right", "left"), ("up", "down"))
"""What a force along x, y, z does to the body, and the other way round."""


def grillages(answer: Answer) -> tuple[Grillage, ...]:
    """Return the bodies on the frame as they move with it."""
    motions = answer.solution.u.reshape(len(answer.solution.mesh.points), -1)[:, :6]
    found = []
    for at in answer.solution.mesh.bodies:
        recovery = KNOWN.recovery(at.body, at.ties, at.labels)
        mesh = recovery.mesh
        found.append(
            Grillage(
                name=at.body.name,
                points=mesh.points,
                movement=recovery.motion(motions[at.nodes]).motions[:, :3],
                beams=mesh.beam_nodes,
                panels=mesh.panel_nodes,
                beam_names=recovery.beam_names,
                panel_names=tuple(p.name for p in at.body.panels),
                links=tuple(_links(answer, at)),
            )
        )
    return tuple(found)


def _links(answer: Answer, at: BodyAt) -> list[BodyLink]:
    """Return the mounts under a body and the ties fitted to it, with what they bear."""
    found = [_mount_link(answer, at, m) for m in answer.frame.mounts
             if ("mount", m.name, m.side) in at.node_of]  # fmt: skip
    return found + [_tie_link(answer, at, tie) for tie in at.ties if tie.fitted]


def _mount_link(answer: Answer, at: BodyAt, mount: Mount) -> BodyLink:
    label = ("mount", mount.name, mount.side)
    ends = np.array([mount.position, at.body.points[mount.name, mount.side]])
    words = mount.grade or ""
    if mount.state != "good":
        words = f"{words}, {mount.state}" if words else mount.state
    node = answer.solution.mesh.node_at(mount.onto, mount.distance)
    name = f"mount {mount.name} {mount.side}"
    return _link(answer, name, words, ends, (node, at.node_of[label]), kind="mount")


def _tie_link(answer: Answer, at: BodyAt, tie: Tie) -> BodyLink:
    ends = np.array([tie.frame_point, tie.body_point])
    node = answer.solution.mesh.node_at(tie.onto, tie.distance)
    name = f"tie {tie.pair} {tie.side}"
    return _link(answer, name, "", ends, (node, at.node_of[tie_label(tie)]), kind="tie")


def _link(
    answer: Answer, name: str, words: str, ends: Array, nodes: tuple[int, int], *, kind: str
) -> BodyLink:
    """Return what is drawn and told of a mount or tie between a frame's and a body's node."""
    mesh, u = answer.solution.mesh, answer.solution.u.reshape(len(answer.solution.mesh.points), -1)
    move = [
        u[n, :3] + np.cross(u[n, 3:6], end - mesh.points[n])
        for n, end in zip(nodes, ends, strict=True)
    ]
    force = link_force(answer, name, nodes[1])
    told = load_words(force)
    return BodyLink(
        name=name,
        kind="tie" if kind == "tie" else "mount",
        ends=ends,
        movement=np.array(move),
        text=f"{words}: {told}" if words else told,
    )


def link_force(answer: Answer, name: str, node: int) -> Array:
    """Return the force that the springs of that name put on a body's node, (3,), N."""
    springs = answer.solution.mesh.springs
    mine = np.array([label == name for label in springs.label], dtype=bool)
    bears = np.where(mine, answer.solution.spring_force, 0.0)
    on = springs.rows.transposed(bears, answer.solution.mesh.n_freedoms)
    # A spring's motion is the body's less the frame's, its force what resists that.
    return np.asarray(-on.reshape(len(answer.solution.mesh.points), -1)[node, :3])


def load_words(force: Array) -> str:
    """Return a force on the body in words: its size, and what it is along each axis that counts.

    >>> load_words(np.array([0.0, -40.0, 900.0]))
    'bears 901 N, 900 N up'
    """
    size = float(np.linalg.norm(force))
    if size < 0.5:
        return "bears nothing"
    most = int(np.argmax(np.abs(force)))
    way = WORDS[most][0 if force[most] > 0.0 else 1]
    return (
        f"bears {units.show(size, 'force')}, {units.show(abs(float(force[most])), 'force')} {way}"
    )
