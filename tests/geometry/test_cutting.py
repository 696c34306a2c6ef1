"""Boolean operations against shapely (2.x), a reference library used in tests only."""

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box
from shapely.ops import unary_union

from layoutdrill.geometry.cutting import both, disjoint, split, union, without
from layoutdrill.geometry.rect import Rect
from tests.sampling import examples


@st.composite
def rects(draw, most=25, size=20, longest=14):
    found = []
    for _ in range(draw(st.integers(0, most))):
        x, y = draw(st.integers(-size, size)), draw(st.integers(-size, size))
        found.append(Rect(x, y, x + draw(st.integers(1, longest)), y + draw(st.integers(1, longest))))
    return found


def shape(boxes):
    return unary_union([box(*r) for r in boxes])


def assert_is(found, expected):
    """The rectangles do not overlap, and cover exactly the expected shape."""
    assert sum(r.area for r in found) == expected.area
    assert shape(found).symmetric_difference(expected).area == 0


@given(rects())
@settings(max_examples=examples(150), deadline=None)
def test_union(boxes):
    """The union's rectangles are disjoint and cover what shapely's union covers."""
    assert_is(union(boxes), shape(boxes))


@given(rects(), rects())
@settings(max_examples=examples(150), deadline=None)
def test_both_and_without(left, right):
    """And, without: as shapely's intersection and difference."""
    assert_is(both(left, right), shape(left).intersection(shape(right)))
    assert_is(without(left, right), shape(left).difference(shape(right)))


@given(st.lists(st.tuples(*[st.integers(0, 12)] * 4, st.integers(0, 2)), max_size=24))
@settings(max_examples=examples(150), deadline=None)
def test_split_tells_the_cover_of_each_piece(parts):
    """Pieces of a rectangle are disjoint, fill it, and each lies wholly in the covers whose bits it carries."""
    covers, bits = [], []
    for xa, ya, xb, yb, bit in parts:
        if xa < xb and ya < yb:
            covers.append((xa, ya, xb, yb, len(bits)))
            bits.append(1 << bit)
    whole = (2, 3, 10, 9)
    pieces = split(whole, [c for c in covers if c[0] < 10 and c[2] > 2 and c[1] < 9 and c[3] > 3], bits, 0)
    assert_is([Rect(*piece) for piece, _ in pieces], box(*whole))
    for piece, mask in pieces:
        for bit in range(3):
            cover = shape([c[:4] for c in covers if bits[c[4]] == 1 << bit])
            expected = box(*piece).area if mask >> bit & 1 else 0
            assert cover.intersection(box(*piece)).area == expected


def test_disjoint_input_comes_back_as_it_is():
    """Rectangles that only abut are not cut: the fast path of the extractor."""
    boxes = [Rect(0, 0, 4, 4), Rect(4, 0, 8, 4), Rect(0, 4, 8, 6)]
    assert disjoint(boxes) is boxes


def test_a_strip_with_many_gates():
    """A thousand covers across one strip: 2,001 pieces, cover and gap by turns, with no cover looked at twice over."""
    covers = [(10 * k + 4, -1, 10 * k + 7, 6, k) for k in range(1000)]
    pieces = split((0, 0, 10_000, 5), covers[::-1], [1] * 1000, 0)
    assert [mask for _, mask in sorted(pieces)] == [0, 1] * 1000 + [0]
    assert sum((b[2] - b[0]) * (b[3] - b[1]) for b, mask in pieces if mask) == 1000 * 3 * 5
