"""A thing as a key is that thing, whatever else is like it."""

from layoutdrill.layout.model import Layout
from layoutdrill.value import Itself


def test_a_key_is_equal_to_that_of_the_same_thing_only():
    """Two layouts drawn alike are equal values and two keys; a layout that has no hash of its own serves as one."""
    drawn, alike = Layout("inverter", {"metal": ()}), Layout("inverter", {"metal": ()})
    assert drawn == alike
    kept = {Itself(drawn): "the first"}
    assert kept[Itself(drawn)] == "the first"
    assert Itself(alike) not in kept
    assert Itself(drawn) != drawn
