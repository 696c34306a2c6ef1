"""Compare two pictures with a tolerance, and keep both where they differ."""

from pathlib import Path

from PIL import Image, ImageChops, ImageStat


def assert_alike(found: Image.Image, wanted: Image.Image, folder: Path, *, mean: float = 1.5, worst: int = 60) -> None:
    """Fail, with both pictures saved under `folder`, when they differ by more than a mean or a worst level."""
    if found.size == wanted.size:
        difference = ImageChops.difference(found, wanted)
        stat = ImageStat.Stat(difference)
        high = max(extreme[1] for extreme in difference.getextrema())
        if max(stat.mean) <= mean and high <= worst:
            return
        remark = f"mean difference {max(stat.mean):.2f}, worst {high}"
    else:
        remark = f"sizes {found.size} and {wanted.size}"
    found.save(folder / "found.png")
    wanted.save(folder / "wanted.png")
    raise AssertionError(f"pictures differ: {remark}; both kept in {folder}")
