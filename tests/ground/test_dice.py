"""The dice roll the same on every machine."""

from layoutdrill.dice import Dice


def test_the_stream_is_splitmix64():
    """The first words for seed 1234567 are the known ones of splitmix64 (published test values, from memory)."""
    dice = Dice(1234567)
    assert [dice.word() for _ in range(5)] == [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]


def test_choices_stay_in_bounds_and_reach_all_of_them():
    """below, between, pick and weighted return each possible value and no other."""
    dice = Dice.from_text("bounds")
    assert {dice.below(3) for _ in range(100)} == {0, 1, 2}
    assert {dice.between(-1, 1) for _ in range(100)} == {-1, 0, 1}
    assert {dice.pick("ab") for _ in range(50)} == {"a", "b"}
    assert {dice.weighted((("a", 1), ("b", 0), ("c", 3))) for _ in range(100)} == {"a", "c"}
    assert sorted(dice.shuffled(range(9))) == list(range(9))


def test_samples_fractions_and_normals():
    """A sample is without repeats, fractions fill [0, 1), and normals have the mean 0 and deviation 1 of their name."""
    dice = Dice.from_text("fractions")
    assert sorted(dice.sample(range(4), 9)) == [0, 1, 2, 3]
    assert len(set(dice.sample(range(100), 10))) == 10
    fractions = [dice.fraction() for _ in range(4000)]
    assert (min(fractions) >= 0, max(fractions) < 1) == (True, True)
    assert abs(sum(fractions) / 4000 - 0.5) < 4 * (1 / 12 / 4000) ** 0.5
    normals = [dice.normal() for _ in range(4000)]
    assert abs(sum(normals) / 4000) < 4 / 4000**0.5
    assert abs(sum(n * n for n in normals) / 4000 - 1) < 4 * (2 / 4000) ** 0.5
