"""What a step of help outlines on a drawing; numbers agree with the table of transistors."""

from layoutdrill.picture.overlay import Overlay, devices_overlay
from layoutdrill.question.model import HintStep, Specimen


def numbers_of(specimen: Specimen) -> dict[str, str]:
    """Return the number that stands on the picture for each transistor."""
    return dict(devices_overlay(specimen.extraction).transistors)


def step_overlay(step: HintStep, specimen: Specimen) -> Overlay:
    """Return what the step outlines; nothing for steps that only say something."""
    if step is HintStep.RAILS:
        nets = specimen.netlist.nets
        return Overlay(nets=tuple((net, net) for net in specimen.process.supplies if net in nets))
    if step is HintStep.DEVICES:
        return Overlay(transistors=devices_overlay(specimen.extraction).transistors)
    if step is HintStep.NETS:
        return Overlay(nets=tuple((net, str(at)) for at, net in enumerate(specimen.netlist.nets, 1)))
    return Overlay()


def metal_layers(specimen: Specimen) -> frozenset[str]:
    """Return the metal layers, and the vias between them: what is lifted to see below."""
    return frozenset(name for name, layer in specimen.process.layers.items() if "metal" in layer.role)
