"""Where the texts of a drawn page are."""

from typing import Any

from fea.out.labels import Box


def text_boxes(figure: Any) -> list[tuple[str, Box]]:
    """Return every text that a figure shows, tick labels among them, and its box in pixels."""
    figure.draw_without_rendering()
    texts = [*figure.texts]
    for axes in figure.axes:
        texts += axes.texts
        if axes.axison:
            texts += [axes.xaxis.label, axes.yaxis.label]
            for axis in (axes.xaxis, axes.yaxis):
                low, high = sorted(axis.get_view_interval())
                ticks = axis.get_major_ticks()
                inside = [tick for tick in ticks if low <= tick.get_loc() <= high]
                texts += [label for tick in inside for label in (tick.label1, tick.label2)]
    boxes = []
    for text in filter(lambda t: t.get_visible() and t.get_text(), texts):
        extent = text.get_window_extent()
        boxes.append((text.get_text(), Box(extent.x0, extent.y0, extent.x1, extent.y1)))
    return boxes


def touching(figure: Any) -> list[tuple[str, str]]:
    """Return the pairs of texts that touch, and with "" those that leave the page."""
    boxes = text_boxes(figure)
    page = figure.get_window_extent()
    whole = Box(0.0, 0.0, page.width, page.height)
    found = [(text, "") for text, box in boxes if not whole.holds(box)]
    for k, (text, box) in enumerate(boxes):
        found += [(text, other) for other, second in boxes[k + 1 :] if box.touches(second)]
    return found
