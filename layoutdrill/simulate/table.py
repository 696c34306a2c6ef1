"""Find the truth table of a netlist: every input row settled from transistors alone."""

from collections.abc import Mapping, Sequence

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import State, settle_codes
from layoutdrill.simulate.stable import Budget, agreed
from layoutdrill.simulate.supplies import SuppliesLike
from layoutdrill.value import value

MOST_INPUTS = 12


@value
class Row:
    """One row: the input values and the level of each output."""

    inputs: tuple[int, ...]
    outputs: tuple[Level, ...]


@value
class Table:
    """
    A truth table. Row r has the inputs of the binary number r, the first input most significant.

    An output is 0, 1, X (not known), Z (floating) or ! (a fight between equal paths).
    """

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    rows: tuple[Row, ...]

    def column(self, output: str) -> tuple[Level, ...]:
        place = self.outputs.index(output)
        return tuple(row.outputs[place] for row in self.rows)

    def mask(self, output: str) -> int | None:
        """Return the output as a bit mask (bit r is row r), or None where some row is neither 0 nor 1."""
        result = 0
        for r, level in enumerate(self.column(output)):
            if not level.known:
                return None
            result |= (level is Level.HIGH) << r
        return result

    @property
    def complete(self) -> bool:
        """Tell whether every output is 0 or 1 in every row."""
        return all(level.known for row in self.rows for level in row.outputs)

    def text(self) -> str:
        """Return the table in aligned plain text."""
        head = " ".join(self.inputs) + " | " + " ".join(self.outputs)
        lines = [head]
        for row in self.rows:
            left = " ".join(str(v).rjust(len(name)) for name, v in zip(self.inputs, row.inputs, strict=True))
            right = " ".join(v.rjust(len(name)) for name, v in zip(self.outputs, row.outputs, strict=True))
            lines.append(f"{left} | {right}")
        return "\n".join(lines) + "\n"


def table(
    netlist: Netlist,
    inputs: Sequence[str],
    outputs: Sequence[str],
    supplies: SuppliesLike = None,
    fixed: Mapping[str, int] | None = None,
    opposite: Mapping[str, str] | None = None,
) -> Table:
    """
    Return the truth table of `outputs` over `inputs`, each row settled afresh, with no charge stored before.

    Where a loop leaves an output at X, its stable states are searched, as long as that does not take too much for all
    rows together: if all agree, that is the level. `fixed` inputs keep one value; `opposite` names further inputs, each
    of which always has the opposite of one of `inputs`.
    Raises LayoutdrillError for more than 12 inputs.
    """
    if len(inputs) > MOST_INPUTS:
        raise LayoutdrillError(
            f"{len(inputs)} inputs make a table of {2 ** len(inputs)} rows",
            todo=f"hold some fixed; at most {MOST_INPUTS}",
        )
    held = dict(fixed or {})
    following = dict(opposite or {})
    circuit = Circuit(netlist, (*inputs, *held, *following), supplies)
    places = [circuit.number[net] for net in inputs]
    always = {circuit.number[net]: value for net, value in held.items()}
    turned = [(circuit.number[net], list(inputs).index(source)) for net, source in following.items()]
    wanted = [circuit.place(net) for net in outputs]
    rows = []
    budget = Budget()
    for r in range(1 << len(inputs)):
        values = tuple(r >> (len(inputs) - 1 - i) & 1 for i in range(len(inputs)))
        given = dict(zip(places, values, strict=True)) | always | {place: 1 - values[at] for place, at in turned}
        codes, flags = settle_codes(circuit, given)
        state = State(circuit, tuple(codes), tuple(flags))
        levels = [state.level(net) for net in outputs]
        if Level.UNKNOWN in levels:
            unsure = [w for w, level in zip(wanted, levels, strict=True) if level is Level.UNKNOWN]
            better = agreed(circuit, given, codes, [w for w in unsure if w is not None], budget)
            levels = [better.get(w, level) if w is not None else level for w, level in zip(wanted, levels, strict=True)]
        rows.append(Row(values, tuple(levels)))
    return Table(tuple(inputs), tuple(outputs), tuple(rows))
