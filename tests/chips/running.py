"""Run a chip's netlist by its pins, as its board does, and compare it with a plain program of the same chip."""

from random import Random

from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle
from tests.chips.models import MODELS


def compared(netlist, name, steps, *, seed=1):
    """
    Return (steps, levels compared, disagreements) of a random run of a chip. A step sets the pins while the clock is 0,
    one after another with the strobe last; then the clock goes to 1 and back.
    """
    made, chip = MODELS[name]
    model, board = made(), chip.Board(Random(seed))
    clock, strobe = chip.CLOCK, chip.STROBE
    circuit = Circuit(netlist, (clock, *chip.PINS))
    levels = dict.fromkeys((clock, *chip.PINS), 0) | {"RES": 1}
    state = settle(circuit, levels)
    counted, wrong = 0, []

    def to(pin, value):
        nonlocal state
        if levels[pin] != value:
            levels[pin] = value
            state = settle(circuit, levels, before=state)

    def look(step, phase, expected):
        nonlocal counted
        for net, level in expected.items():
            if level is not None:
                counted += 1
                if state.level(net).value != str(level):
                    wrong.append((step, phase, net, level, state.level(net).value))

    for step in range(steps):
        wanted = board.pins(model.outputs())
        if strobe is not None:
            to(strobe, 0)
        for pin in chip.PINS:
            if pin != strobe:
                to(pin, wanted[pin])
        if strobe is not None:
            to(strobe, wanted[strobe])
        look(step, "rest", model.rest(wanted))
        to(clock, 1)
        look(step, "work", model.work(wanted))
        to(clock, 0)
        look(step, "after", model.outputs())
    return steps, counted, wrong
