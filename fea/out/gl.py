"""Filling quadrilaterals with OpenGL through pyvista, into the same buffers as the software does.

The lamp is already in the colours, so OpenGL is left to fill and to sort by depth: both renderers
give nearly the same picture.
"""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fea.out.camera import Camera, Window
from fea.out.display import Display, offscreen
from fea.out.raster import Buffers

if TYPE_CHECKING:
    import pyvista as pv

Array = NDArray[np.float64]


def render(
    corners: Array,
    colours: Array,
    camera: Camera,
    window: Window,
    *,
    size: tuple[int, int],
    display: Display,
) -> Buffers:
    """Return quadrilaterals seen by a camera; arguments as for `raster.render`.

    Parameters
    ----------
    display : Display
        The renderer that was tried in a child process.
    """
    import pyvista as pv

    nearness = camera.project(corners)[..., 2]
    front, back = float(nearness.max()) + 10.0, float(nearness.min()) - 10.0
    middle = np.array([0.5 * (window.left + window.right), 0.5 * (window.bottom + window.top)])
    target = np.array([*middle, back]) @ camera.axes
    eye = np.array([*middle, front + 10.0]) @ camera.axes
    with offscreen(display):
        plotter: Any = pv.Plotter(off_screen=True, window_size=list(size), lighting="none")
        try:
            plotter.set_background("white")
            plotter.disable_anti_aliasing()
            plotter.add_mesh(
                _mesh(corners, colours),
                scalars="paint",
                rgb=True,
                lighting=False,
                show_edges=False,
                smooth_shading=False,
                copy_mesh=False,
            )
            view = plotter.camera
            view.parallel_projection = True
            view.position, view.focal_point, view.up = eye, target, camera.axes[1]
            view.parallel_scale = 0.5 * window.height
            view.clipping_range = (10.0, front - back + 10.0)
            image = np.asarray(plotter.screenshot(return_img=True), dtype=np.float32) / 255.0
            depth = np.asarray(plotter.get_image_depth(fill_value=np.nan), dtype=np.float32)
        finally:
            plotter.close()
    near = np.where(np.isfinite(depth), np.float32(front + 10.0) - np.abs(depth), -np.inf)
    return Buffers(image[..., :3].copy(), near.astype(np.float32))


def _mesh(corners: Array, colours: Array) -> "pv.PolyData":
    """Return the walls as separate triangles, cut along the diagonal that the software uses."""
    import pyvista as pv

    first = 4 * np.arange(len(corners))[:, None]
    split = np.array([[0, 1, 2], [0, 2, 3]])
    triangles = (first[:, :, None] + split[None]).reshape(-1, 3)
    faces = np.column_stack([np.full(len(triangles), 3), triangles])
    mesh = pv.PolyData(corners.reshape(-1, 3), faces.ravel())
    mesh["paint"] = np.rint(colours.reshape(-1, 3) * 255.0).astype(np.uint8)
    return mesh
