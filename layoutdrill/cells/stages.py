"""Read static gates written as equations, one a line: `m = !(a*b)`, then `y = !m`."""

from dataclasses import field

from layoutdrill.errors import Where
from layoutdrill.simulate.expression import Expression, parse_equation
from layoutdrill.value import value
from layoutdrill.yamldoc import Node


@value
class Stage:
    """`output` is `value`; an earlier stage's output may stand in `value`."""

    output: str
    value: Expression
    text: str
    where: Where = field(default=Where(""), compare=False)


def parse_stages(node: Node, inputs: tuple[str, ...], *, chained: bool) -> tuple[Stage, ...]:
    """
    Read equations over `inputs`, and where `chained` over the outputs of earlier lines too.

    Raises LayoutdrillError, with the place, for what cannot be read and for an output that is given twice.
    """
    stages: list[Stage] = []
    for line in node.lines():
        known = inputs + (tuple(stage.output for stage in stages) if chained else ())
        equation = parse_equation(line.text(), known, line.where)
        if not equation.name:
            line.fail("no output is named", "write “y = …”")
        if equation.name in inputs or any(equation.name == stage.output for stage in stages):
            line.fail(f"“{equation.name}” has its value already", "give each output one equation")
        stages.append(Stage(equation.name, equation.expression, line.text(), line.where))
    if not stages:
        node.fail("no equation is written", "write one a line, such as “y = !(a*b)”")
    return tuple(stages)
