"""Say where wires leave a pair of rows, or only pass through."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid, Pin
from layoutdrill.drawing.shared.technique import METAL, OTHER

ALIEN = 1_000_000
"""Nets from here up belong to no cell."""


def ask_for_ports(grid: Grid) -> None:
    """Let ports leave on the sides that were chosen; one that would be nowhere a wire leaves on the left."""
    layers = (METAL,) if grid.technique.rings or grid.choices.landings else (METAL, OTHER)
    for port, chosen in grid.choices.sides.items():
        net = grid.job.nets[port]
        pins = grid.pins.get(net, [])
        alone = len(pins) == 1 and pins[0].region is not None
        side = chosen or ("left" if alone else "")
        if side and pins:
            pins.append(exit_pin(grid, side, net, layers))


def exit_pin(grid: Grid, side: str, net: int, layers: tuple[int, ...] = (METAL, OTHER)) -> Pin:
    """Return a pin for leaving on a side: left and right in `layers`, past rails below them or in the second metal."""
    rows, columns = grid.rows.count, range(grid.columns)
    if side in ("left", "right"):
        column = columns[:1] if side == "left" else columns[-1:]
        nodes = [node for layer in layers for node in grid.block(layer, range(1, rows - 1), column)]
    else:
        row = 0 if side == "bottom" else rows - 1
        nodes = [node for layer in range(OTHER, grid.layers) for node in grid.across(layer, row)]
    return Pin(tuple(node for node in nodes if grid.owner[node] in (FREE, net)), side=side)


def pass_through(grid: Grid, dice: Dice) -> None:
    """Ask for wires from one side to the other, as many as were chosen."""
    ringed = grid.technique.rings is not None
    for net in range(ALIEN, ALIEN + grid.choices.foreign):
        if dice.chance(80) or ringed:
            layers = (METAL,) if dice.chance(75) or ringed else (METAL, OTHER)
            pins = [exit_pin(grid, side, net, layers) for side in ("left", "right")]
        else:
            pins = [exit_pin(grid, side, net) for side in ("bottom", "top")]
        if all(pin.nodes for pin in pins):
            grid.pins[net] = pins


def drop_strangers(grid: Grid) -> None:
    """Give up the wires that only pass through."""
    for net in [net for net in grid.pins if net >= ALIEN]:
        del grid.pins[net]
