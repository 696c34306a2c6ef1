"""A process is one file: how cells are drawn in it is said there, and nowhere else."""

import re

import pytest
import yaml

from layoutdrill.cells import load_cell
from layoutdrill.drawing.shared import technique_for
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.process import load_process, process_names
from layoutdrill.process.load import DATA
from layoutdrill.prove import proved
from tests.drawing.gates import cell
from tests.sampling import some

DRAWN = [name for name in process_names() if load_process(name).drawing is not None]
ARRAYS = ("decoder2_nor", "decoder2_nand_own", "decoder2_tree", "ram_array_2x2", "pla_scan", "shift_register_3")
"""Crosspoints, transistors in series, a tree of switches, tiles."""
EXPRESSIONS = ("elements", "regions", "conductors", "cuts", "transistors", "rules", "films")


def document(name):
    return yaml.safe_load((DATA / f"{name}.yaml").read_text("utf-8"))


def written(path, content):
    path.write_text(yaml.safe_dump(content, sort_keys=False, allow_unicode=True), "utf-8")
    return load_process(str(path))


def renamed(content):
    """Return the document with every mask layer and every rule called otherwise, and the layers' old names by new."""
    new = {layer: f"mask{number}" for number, layer in enumerate(content["layers"])}
    word = re.compile(r"(?<![\w.-])(" + "|".join(new) + r")(?![\w.])")

    def deep(item, *, key=""):
        if isinstance(item, dict):
            names = {k: k if key == "rules" else new.get(k, k) for k in item}
            return {names[k]: deep(v, key=k) for k, v in item.items()}
        if isinstance(item, list):
            return [deep(one, key=key) for one in item]
        if isinstance(item, str) and key not in ("name", "source", "kind", "apart", "hues", "films"):
            return word.sub(lambda found: new[found[1]], item)
        return item

    rules = {rule: f"r{number}" for number, rule in enumerate(content["rules"])}
    made = {**content, "layers": {new[layer]: says for layer, says in content["layers"].items()}}
    made |= {key: deep(content[key], key=key) for key in EXPRESSIONS if key in content}
    made["rules"] = {rules[rule]: says for rule, says in made["rules"].items()}
    drawing = content["drawing"]
    lengths = {part: {what: rules[key] for what, key in own.items()} for part, own in drawing["rules"].items()}
    layers = {role: new[layer] for role, layer in drawing["layers"].items()}
    made["drawing"] = {**drawing, "layers": layers, "rules": lengths}
    return made, {name: layer for layer, name in new.items()}


@pytest.mark.parametrize("name", DRAWN)
def test_renaming_every_layer_and_rule_draws_the_same(name, tmp_path):
    """No code knows what a layer or a rule is called: under other names the same shapes are drawn, and proved."""
    made, old = renamed(document(name))
    other, own = written(tmp_path / "other.yaml", made), load_process(name)
    assert not set(other.layers) & set(own.layers)
    fitting = [load_cell(array) for array in ARRAYS if load_cell(array).fits(own)]
    drawings = [(cell(what, own), None, number / 2) for number, what in enumerate(("nand2", "inverter", "nor3"))]
    drawings += [(each.netlist(own), each.tiling(own), 0.3) for each in some(fitting[DRAWN.index(name) % 3 :], 1)]
    for number, (netlist, tiling, difficulty) in enumerate(drawings):
        how = {"difficulty": difficulty, "neighbours": tiling is None, "tiling": tiling}
        there, here = (proved(netlist, process, number, **how).layout for process in (other, own))
        shapes = {old[layer]: rects for layer, rects in there.shapes.items()}
        labels = tuple(type(label)(label.text, old[label.layer], label.x, label.y) for label in there.labels)
        assert layout_text(Layout(there.name, shapes, labels)) == layout_text(here)


def test_every_process_has_arrays_to_draw_under_other_names():
    """All six, but where the loads' gates have a supply of their own or are saturated: some of them."""
    fitting = {name: sum(load_cell(array).fits(load_process(name)) for array in ARRAYS) for name in DRAWN}
    assert min(fitting.values()) > 0
    assert {name for name, count in fitting.items() if count < len(ARRAYS)} == {
        "metal-gate-pmos-vgg",
        "silicon-gate-nmos-enhancement",
    }


def test_a_process_of_a_known_family_needs_no_code(tmp_path):
    """The n-well process turned into one with p-wells, by its file alone, draws cells that are read back right."""
    content = document("silicon-gate-cmos")
    content["name"] = "turned"
    content["layers"] = {{"nwell": "tub"}.get(k, k): v for k, v in content["layers"].items()}
    n, p = "active & nselect", "active & pselect"
    content["regions"] = {
        "gate": "active & poly",
        "nchannel": "gate & nselect & tub",
        "pchannel": "gate & pselect - tub",
        "ndiff": f"{n} & tub - poly",
        "pdiff": f"{p} - poly - tub",
        "ntap": f"{n} - poly - tub",
        "ptap": f"{p} & tub - poly",
    }
    content["conductors"] = {{"nwell": "tub"}.get(k, k): v for k, v in content["conductors"].items()}
    content["cuts"][1:] = [{"upper": "ptap", "lower": ["tub"]}, {"upper": "ntap", "lower": ["substrate"]}]
    for rule, body in zip(content["transistors"], ("tub", "substrate"), strict=True):
        rule["body"] = body
    well = content["rules"]
    well["active.well"]["enclosure"] = ["ndiff | nchannel", "tub"]
    well["active.outside-well"]["separation"] = ["active & pselect - tub", "tub"]
    well["active.tap-well"]["enclosure"] = ["ptap", "tub"]
    well["well.width"]["width"] = "tub"
    drawing = content["drawing"]
    for section in (drawing["layers"], drawing["rules"]):
        section["p-well"] = section.pop("n-well")
    drawing["layers"]["p-well"] = "tub"
    del content["films"], content["elements"]
    process = written(tmp_path / "turned.yaml", content)
    for number, what in enumerate(("inverter", "nand3", "aoi21", "latch_static", "xor2_tg")):
        made = proved(cell(what, process), process, number, difficulty=number / 4)
        bodies = {t.kind.value: t.body for t in made.cell.transistors}
        assert bodies == {"n": "VSS", "p": "VDD"}
        wells = made.layout.shapes["tub"]
        assert all(any(w.covers(r) for w in wells) for t in made.cell.transistors if t.kind.value == "n"
                   for r in made.extraction.channel(t.name))  # fmt: skip


def test_what_a_file_may_not_say(tmp_path):
    """A layer of the wrong sort, a rule of the wrong form, a length left out and a second well are told with places."""

    def told(change, name="silicon-gate-cmos"):
        content = document(name)
        change(content["drawing"])
        with pytest.raises(LayoutdrillError) as error:
            written(tmp_path / f"wrong{told.count}.yaml", content)
        told.count += 1
        assert error.value.where is not None
        return str(error.value)

    told.count = 0
    assert "cannot be drawn as poly" in told(lambda d: d["layers"].update(poly="metal"))
    assert "cannot give “metal: width”" in told(lambda d: d["rules"]["metal"].update(width="metal.spacing"))
    assert "past contact" in told(lambda d: d["rules"]["metal"].pop("past contact"))
    assert "one of n-well and p-well" in told(lambda d: d["layers"].update({"p-well": "nwell"}))
    assert "goes with via" in told(lambda d: d["layers"].pop("via"), "silicon-gate-cmos-2m")
    assert "no rule" in told(lambda d: d["rules"]["metal"].update(width="metal.wide"))
    assert "no family" in told(lambda d: d.update(family="paper"))


def test_a_process_without_the_section_is_not_drawn():
    """The open kit's process is for reading only, and says so."""
    with pytest.raises(LayoutdrillError, match="no section “drawing:”"):
        technique_for(load_process("open-130nm"))
