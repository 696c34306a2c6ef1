"""Draw a second plane with poly gates, at right angles to the first, whose lines are its gates."""

from layoutdrill.drawing.planes.arrangement import spread
from layoutdrill.drawing.planes.pen import Pen
from layoutdrill.drawing.planes.poly_frame import End, Frame
from layoutdrill.drawing.planes.poly_loads import Loads, load_pitch, paint_loads
from layoutdrill.drawing.planes.poly_plane import Field, gaps_between, paint_end, paint_field, paint_implant
from layoutdrill.drawing.planes.poly_row import Stage, out_reach
from layoutdrill.drawing.shared.technique import METAL, OTHER


def second_plane(f: Frame, pen: Pen, first: Field, end: End, loads: Loads) -> tuple[int, list[Stage]]:
    """
    Draw the second plane, whose gates are the first one's lines; return how far the low supply's rail runs below it,
    and the places of the inverters behind its lines.
    """
    r, choices, t = f.rules, f.choices, f.rules.technique
    assert end.pad is not None
    plane = f.plan.planes[1]
    down = Pen(pen.sheet, turned=True)
    places = {line.net: -v for line, v in reversed(first.lines)}
    gaps = gaps_between(tuple(places.values()), ground_first=choices.ground_first, beside=r.beside)
    pitch = max(r.row, load_pitch(r, f.widths.loads[1]), f.widths.cross + t.diffusion_spacing)
    outputs = {i.a: i for i in f.plan.outputs}
    reach = out_reach(r, f.sizes, down=True)
    if outputs:
        pitch = max(pitch, 2 * r.beside + reach[1] + t.other_gap + r.body)
    vs, straps = spread(len(plane.lines), pitch + choices.loose[0], choices.strap, max(r.to_rail, (pitch + 1) // 2))
    at = end.rail + r.to_rail + (2 * r.beside if outputs else 0)
    lines = tuple((line, v + at) for line, v in zip(plane.lines, vs, strict=True))
    rails = (end.rail, *(v + at for v in straps), lines[-1][1] + r.to_rail)
    field = Field(places, gaps, lines, rails, f.widths.cross)
    past = lines[-1][1] + field.width // 2 + t.gate_past
    paint_field(down, r, field, dict.fromkeys(places, (end.pad, past)))
    side = -first.rails[0]
    leave = side + r.rail + choices.past
    own = paint_loads(
        down, r, field.left - r.body, lines, f.widths.loads[1], (end.rail,), f.supplies, f.spare, choices.taps
    )
    for line, v in lines:
        paint_end(down, r, v, own.start, side - r.to_rail, side if line.net in outputs else leave)
        if line.net not in outputs:
            down.label(line.net, t.wires[OTHER].layer, leave, v)
    metal = t.wires[METAL].layer
    begin = field.left if own.gate is None else own.gate
    for v in rails:
        down.along(metal, (begin - r.pad if v == end.rail else field.left - r.pad, side), v, r.rail)
    paint_implant(down, r, field)
    down.upright(metal, own.rail, (loads.rail - r.rail, own.reach[1]), r.rail)
    pen.upright(metal, loads.rail, (loads.reach[0], r.rail - own.rail), r.rail)
    stages = [
        Stage(line.net, outputs[line.net].y, v - r.beside, v, v + r.beside, v + r.beside + reach[0], down=True)
        for line, v in lines
        if line.net in outputs
    ]
    return rails[-1] + r.rail, stages
