"""A packet: one HTML file, or PDF, for the customer and the welder; nothing in it leads outside.

No dates and no random names: what is asked alike is the same file, byte for byte.
"""

import html
from importlib.resources import files

from fea.out import packet_html as page
from fea.out.packet_build import cut_chapter, order_chapter, stands_chapter
from fea.out.packet_contents import Contents
from fea.out.packet_shop import checks_chapter, survey_chapter
from fea.out.packet_stiffness import frame_chapter, front, soft_chapter, stiffness_chapter
from fea.out.packet_strength import stress_chapter, weld_chapter
from fea.out.packet_study import parts_chapter, ties_chapter

CHAPTERS = (
    front,
    stiffness_chapter,
    frame_chapter,
    soft_chapter,
    parts_chapter,
    ties_chapter,
    stress_chapter,
    weld_chapter,
    cut_chapter,
    stands_chapter,
    order_chapter,
    survey_chapter,
    checks_chapter,
)
"""In the order in which they stand."""


def packet(found: Contents) -> str:
    """Return the packet's HTML."""
    asked = found.asked
    title = html.escape(f"{asked.frame.title or asked.frame.name}: frame packet")
    style = (files("fea.out") / "packet.css").read_text(encoding="utf-8")
    style = style.replace("@@SHORT@@", asked.fingerprint[:12])
    body = page.join(chapter(found) for chapter in CHAPTERS)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\';'
        " style-src 'unsafe-inline'; img-src data:\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="generator" content="Plumbrail">\n<title>{title}</title>\n'
        f"<style>{style}</style></head>\n<body>\n{body.text}</body></html>\n"
    )
