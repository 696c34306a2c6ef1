"""Print how dark outlines are under metal, measured / foretold in L*, by process and scale, in honest light, no aid."""

from layoutdrill.process import load_process, process_names
from tests.picture.outlines import LEAST_SEEN, SCALES, outlines


def main() -> None:
    print(f"L* measured / foretold; below {LEAST_SEEN:g} (marked *) a question opens closer, or with the aid named")
    print(f"{'process':22}{'edge':14}" + "".join(f"{f'{scale} px/λ':>14}" for scale in SCALES))
    for name in process_names():
        process = load_process(name)
        rows: dict[str, list[str]] = {}
        for scale in SCALES:
            for line in outlines(process, scale):
                faint = "*" if line.measured < LEAST_SEEN else " "
                rows.setdefault(line.name, []).append(f"{line.measured:5.0f} /{line.foretold:3.0f}{faint}")
        for edge, cells in rows.items():
            print(f"{name:22}{edge:14}" + "".join(f"{cell:>14}" for cell in cells))


if __name__ == "__main__":
    main()
