"""
Write a picture as SVG: painted looks as shapes that stay sharp at any size, photographic ones as an embedded image.

Marks are always shapes and text. Colours are laid out flat, without blend modes, so that every viewer and printer
shows the same.
"""

import base64
import io
from collections.abc import Collection, Iterable
from dataclasses import replace
from xml.sax.saxutils import escape

from layoutdrill.extract.model import Extraction
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import hex_text
from layoutdrill.picture.looks import Hatch, Look, Style
from layoutdrill.picture.overlay import Overlay, mark_letters, net_rects, overlay_texts, rings_of, scale_bar, stroke_of
from layoutdrill.picture.overlay_ink import BRIGHT, DARK, NET_COLOURS, STROKES, ring_radius
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.vector import painted_areas
from layoutdrill.picture.view import View
from layoutdrill.process import Process


def svg(
    layout: Layout,
    process: Process,
    shot: Shot,
    extraction: Extraction | None = None,
    overlay: Overlay | None = None,
) -> str:
    """Return the whole SVG document; its user unit is a pixel of the view."""
    look, view = shot.look, shot.view
    columns, rows = view.size(process)
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{columns}" height="{rows}" viewBox="0 0 {columns} {rows}">',
        f"<title>{escape(layout.name)}, {escape(process.title)}, {escape(look.title)}</title>",
    ]
    if look.style in (Style.FLAT, Style.HATCHED):
        parts += _painted(layout, process, look, view, shot.hidden)
    else:
        image = render(layout, process, shot)
        buffer = io.BytesIO()
        image.save(buffer, "PNG", optimize=True)
        data = base64.b64encode(buffer.getvalue()).decode()
        parts.append(f'<image width="{columns}" height="{rows}" href="data:image/png;base64,{data}"/>')
    if overlay is not None:
        parts += _marks(process, view, extraction, overlay)
    return "\n".join([*parts, "</svg>", ""])


def _painted(layout: Layout, process: Process, look: Look, view: View, hidden: Collection[str]) -> list[str]:
    parts: list[str] = []
    patterns: list[str] = []
    for area in painted_areas(layout, process, look, view, hidden):
        if area.strokes is not None:
            name = f"h{len(patterns)}"
            scale = view.pixels_per_lambda
            strokes = area.strokes
            ink = hex_text(strokes.ink)
            patterns.append(_pattern(name, strokes.hatch, strokes.spacing * scale, strokes.stroke * scale, ink))
            style = f'fill="url(#{name})"'
        else:
            assert area.fill is not None
            style = f'fill="{hex_text(area.fill)}"' + (f' fill-opacity="{area.cover:g}"' if area.cover < 1 else "")
        parts.append(_path(process, view, area.rects, style, area.fine))
    return ["<defs>", *patterns, "</defs>", *parts] if patterns else parts


def _path(process: Process, view: View, rects: Iterable[Rect], style: str, fine: int = 1) -> str:
    scale = view.scale(process) / fine
    x0, y1 = view.region.x0 * fine, view.region.y1 * fine
    d = "".join(
        f"M{_number((r.x0 - x0) * scale)} {_number((y1 - r.y1) * scale)}"
        f"h{_number(r.width * scale)}v{_number(r.height * scale)}h{_number(-r.width * scale)}z"
        for r in rects
    )
    return f'<path d="{d}" {style} shape-rendering="crispEdges"/>'


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _pattern(name: str, hatch: Hatch, spacing: float, stroke: float, ink: str) -> str:
    size = _number(spacing)
    half = _number(stroke)
    turn = {Hatch.RISING: 45, Hatch.FALLING: -45, Hatch.CROSSED: 45, Hatch.UPRIGHT: 0, Hatch.LEVEL: 90}.get(hatch, 0)
    body = f'<rect width="{half}" height="{size}" fill="{ink}"/>'
    if hatch is Hatch.CROSSED:
        body += f'<rect width="{size}" height="{half}" fill="{ink}"/>'
    if hatch is Hatch.DOTS:
        body = f'<rect width="{half}" height="{half}" fill="{ink}"/>'
    return (
        f'<pattern id="{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate({turn})">{body}</pattern>'
    )


def _marks(process: Process, view: View, extraction: Extraction | None, overlay: Overlay) -> list[str]:
    parts: list[str] = []
    line = f'fill="none" stroke="{hex_text(BRIGHT)}" stroke-width="2" paint-order="stroke"'
    halo = f'fill="none" stroke="{hex_text(DARK)}" stroke-width="5"'
    for i, (net, _) in enumerate(overlay.nets):
        assert extraction is not None
        rects = union(net_rects(extraction, process, net))
        stroke = stroke_of(process, net, i)
        colour = hex_text(NET_COLOURS[stroke % len(NET_COLOURS)])
        parts.append(f"<defs>{_pattern(f'n{i}', STROKES[stroke], 9, 3, colour)}</defs>")
        parts.append(_path(process, view, rects, f'fill="{hex_text(DARK)}" fill-opacity="0.35"'))
        parts.append(_path(process, view, rects, f'fill="url(#n{i})"'))
    for name, _ in overlay.transistors:
        assert extraction is not None
        channel = union(extraction.channel(name))
        parts += [_path(process, view, channel, halo), _path(process, view, channel, line)]
    for part in overlay.parts:
        dashed = f'{line} stroke-dasharray="8 6"'
        parts += [_path(process, view, union(part.rects), halo), _path(process, view, union(part.rects), dashed)]
    for x, y in rings_of(overlay):
        column, row = view.to_pixel(process, x, y)
        ring = (
            f'cx="{_number(column)}" cy="{_number(row)}" r="{_number(max(6.0, ring_radius(view.pixels_per_lambda)))}"'
        )
        parts += [f"<circle {ring} {halo}/>", f"<circle {ring} {line}/>"]
    for tag, letter in zip(overlay.marks, mark_letters(process, view, overlay), strict=True):
        if tag.ring or letter is None:
            continue
        column, row = view.to_pixel(process, tag.x, tag.y)
        away, over = letter
        lead = f'd="M{_number(column)} {_number(row)}L{_number(away)} {_number(over)}"'
        dot = f'cx="{_number(column)}" cy="{_number(row)}" r="4"'
        parts += [
            f"<path {lead} {halo}/>",
            f"<path {lead} {line}/>",
            f"<circle {dot} {halo}/>",
            f"<circle {dot} {line}/>",
        ]
    texts = overlay_texts(extraction, process, view, replace(overlay, scale_bar=False))
    if overlay.scale_bar:  # of its own: at small scales the text's place is meant for a terminal's cells
        length, long = scale_bar(process, view)
        height = view.size(process)[1]
        parts.append(f'<rect x="8" y="{height - 15}" width="{length + 4}" height="8" fill="{hex_text(DARK)}"/>')
        parts.append(f'<rect x="10" y="{height - 13}" width="{length}" height="4" fill="#ffffff"/>')
        texts.append((10 + length / 2, height - 26, long, False))
    size = round(max(11, min(20, view.pixels_per_lambda * 1.6)))
    for column, row, text, _ in texts:
        parts.append(
            f'<text x="{_number(column)}" y="{_number(row)}" font-family="sans-serif" font-size="{size}"'
            f' text-anchor="middle" dominant-baseline="central" fill="{hex_text(DARK)}" stroke="{hex_text(BRIGHT)}"'
            f' stroke-width="4" paint-order="stroke">{escape(text)}</text>'
        )
    return parts
