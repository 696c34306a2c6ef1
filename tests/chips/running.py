"""Run a chip's netlist by its pins, as its board does, and compare it with a plain program of the same chip."""

from random import Random

from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle


def compared(netlist, model, pins, random_pins, steps, *, clock="PH", seed=1):
    """
    Return (steps, levels compared, disagreements) of a random run. A step sets the pins while the clock is 0, one
    after another with WR last, as a bus does; then the clock goes to 1 and back.
    """
    rng = Random(seed)
    circuit = Circuit(netlist, (clock, *pins))
    levels = dict.fromkeys((clock, *pins), 0) | {"RES": 1}
    state = settle(circuit, levels)
    counted, wrong = 0, []

    def to(name, value):
        nonlocal state
        if levels[name] != value:
            levels[name] = value
            state = settle(circuit, levels, before=state)

    def look(step, phase, expected):
        nonlocal counted
        for net, level in expected.items():
            if level is not None:
                counted += 1
                if state.level(net).value != str(level):
                    wrong.append((step, phase, net, level, state.level(net).value))

    for step in range(steps):
        wanted = random_pins(rng) | ({"RES": 1} if step == 0 else {})
        to("WR", 0)
        for name in pins:
            if name != "WR":
                to(name, wanted[name])
        to("WR", wanted["WR"])
        look(step, "rest", model.rest(wanted))
        to(clock, 1)
        look(step, "work", model.work(wanted))
        to(clock, 0)
        look(step, "after", model.outputs())
    return steps, counted, wrong
