"""Turn what is to be seen into images: one specimen, its look, its outlines; no terminal here."""

from collections import OrderedDict
from dataclasses import replace

from PIL import Image

from layoutdrill.face.model import Face, Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.aid import aided
from layoutdrill.picture.looks import FROM_BELOW, PHOTOGRAPHIC, Style, load_look, look_names
from layoutdrill.picture.objectives import OBJECTIVES, beyond_light, load_objective, objective_for
from layoutdrill.picture.overlay import LETTERS_FROM, Overlay, overlay_letters
from layoutdrill.picture.stages import Stage, stages_of
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.films import load_films
from layoutdrill.value import value

NOTHING = Overlay()


@value
class Subject:
    """
    What the picture shows. `hidden` are the layers lifted off, `aid` is the tracing aid, `stage` how far the die has
    been taken apart, `objective` the one it is seen through, "" being whichever suits.
    """

    face: Face
    look: str = "reflected-light"
    seed: int = 0
    wear: float = 0.0
    overlay: Overlay = NOTHING
    hidden: frozenset[str] = frozenset()
    aid: bool = False
    stage: str = ""
    objective: str = ""

    @property
    def light(self) -> Light:
        """Return how the face is looked at."""
        look = load_look(self.look)
        return Light(look, self.seed, self.wear, self.hidden, self.aid, self.objective, self.stage)

    @property
    def taken_by_microscope(self) -> bool:
        """Tell whether objectives and stages of removal change the picture."""
        face = self.face
        return face.follows_light and bool(face.layers) and self.light.look.style in PHOTOGRAPHIC

    def stage_after(self) -> "Subject":
        """Take the die a stage further apart; after the last it is whole again."""
        films = load_films(self.face.process)
        names = ["", *(stage.value for stage in stages_of(self.face.process, films) if stage is not Stage.WHOLE)]
        at = names.index(self.stage) if self.stage in names else 0
        return replace(self, stage=names[(at + 1) % len(names)])

    def objective_after(self) -> "Subject":
        """Turn the turret: from whichever suits over the weakest to the strongest, and back."""
        names = ["", *(objective.name for objective in OBJECTIVES)]
        return replace(self, objective=names[(names.index(self.objective) + 1) % len(names)])

    @property
    def box(self) -> Rect:
        return self.face.box

    def liftable(self) -> tuple[str, ...]:
        """Return the layers that can be lifted off, topmost first."""
        return self.face.layers

    def lifted(self) -> "Subject":
        """Take the next layer off; with nothing left to lift, nothing changes."""
        for name in self.liftable():
            if name not in self.hidden:
                return replace(self, hidden=self.hidden | {name})
        return self

    def laid_back(self) -> "Subject":
        """Lay the layer lifted last back."""
        for name in reversed(self.liftable()):
            if name in self.hidden:
                return replace(self, hidden=self.hidden - {name})
        return self


@value
class Indexed:
    """
    An image in few colours: one byte a pixel, an index into `colours`; and the overlay's texts on it, as (column, row,
    text) in cells from its upper left corner.
    """

    image: Image.Image
    colours: tuple[tuple[int, int, int], ...]
    texts: tuple[tuple[int, int, str], ...] = ()


def indexed(image: Image.Image, most: int = 64) -> Indexed:
    """Reduce an image to at most `most` colours, so that runs merge and a frame is few bytes."""
    if image.mode != "P":
        image = image.convert("RGB").quantize(most, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    flat = image.getpalette("RGB") or []
    return Indexed(image, tuple(zip(flat[0::3], flat[1::3], flat[2::3], strict=False)))


def photographic(look: str) -> bool:
    """Tell whether a look is that of a microscope."""
    return load_look(look).style in PHOTOGRAPHIC


def suits(look: str, process: Process) -> bool:
    """Tell whether a process can be seen in a look: light passes through sapphire alone."""
    return load_look(look).style not in FROM_BELOW or load_films(process).base == "sapphire"


def look_for_process(look: str, process: Process) -> str:
    """Return the look, or where the process cannot be seen in it the first in which it can."""
    return look if suits(look, process) else next(name for name in look_names() if suits(name, process))


def seen_through(subject: Subject, scale: float) -> list[str]:
    """Name the objective of a photographic look at a scale, and the tracing aid where it is on; of a file its stage."""
    if not subject.face.follows_light:
        return ["photograph", *(name for name in subject.liftable() if name in subject.hidden)][-1:]
    style, process = subject.light.look.style, subject.face.process
    if style not in PHOTOGRAPHIC or not subject.face.layers:
        return []
    objective = load_objective(subject.objective) if subject.objective else objective_for(process, scale)
    named = "finer than light" if beyond_light(process) else f"×{objective.times}"
    if subject.stage:
        named = f"{subject.stage} · {named}"
    return [named, "tracing aid"] if aids(subject, scale) else [named]


def aids(subject: Subject, scale: float) -> bool:
    """Tell whether a picture is seen with the tracing aid at a scale."""
    reflected = subject.face.follows_light and bool(subject.face.layers) and subject.light.look.style is Style.REFLECTED
    return reflected and aided(subject.face.process, scale, wanted=subject.aid)


class Drawer:
    """Draw pieces of a subject, keeping the last few; safe to call from one worker at a time."""

    def __init__(self, keep: int = 12) -> None:
        self._keep = keep
        self._images: OrderedDict[tuple[object, ...], Indexed] = OrderedDict()

    @staticmethod
    def key(subject: Subject, region: Rect, scale: float) -> tuple[object, ...]:
        return (
            subject.face,
            subject.look,
            subject.seed,
            subject.wear,
            subject.overlay,
            subject.hidden,
            subject.aid,
            subject.stage,
            subject.objective,
            region,
            scale,
        )

    def ready(self, subject: Subject, region: Rect, scale: float) -> Indexed | None:
        """Return the piece if it has been drawn already."""
        return self._images.get(self.key(subject, region, scale))

    def draw(self, subject: Subject, region: Rect, scale: float) -> Indexed:
        key = self.key(subject, region, scale)
        image = self._images.get(key)
        if image is None:
            image = replace(indexed(paint(subject, region, scale)), texts=letters(subject, region, scale))
            self._images[key] = image
            while len(self._images) > self._keep:
                self._images.popitem(last=False)
        return image


def paint(subject: Subject, region: Rect, scale: float) -> Image.Image:
    """Draw a region at half-pixels per λ, with its overlay."""
    view, light = View(region, scale), subject.light
    image = subject.face.image(view, light)
    if subject.overlay != NOTHING:
        overlay = replace(subject.overlay, scale_bar=False)  # the window has its own, which is never cut
        image = subject.face.marked(image, view, light, overlay)
    return image


def letters(subject: Subject, region: Rect, scale: float) -> tuple[tuple[int, int, str], ...]:
    """Return the overlay's texts as (column, row, text) in cells from the region's upper left corner."""
    if subject.overlay == NOTHING or scale >= LETTERS_FROM:
        return ()
    overlay = subject.face.followed(replace(subject.overlay, scale_bar=False), subject.light)
    return tuple(overlay_letters(subject.face.extraction, subject.face.process, View(region, scale), overlay))


def thumbnail(subject: Subject, box: Rect, wide: int, high: int) -> Indexed:
    """Draw all of `box` into at most `wide` × `high` half-pixels, without its overlay."""
    shrink = min(wide / box.width, high / box.height)
    size = max(4, round(box.width * shrink)), max(4, round(box.height * shrink))
    plain = replace(subject, overlay=NOTHING)
    # Contacts and gates give way to their colours' mean; a very large drawing is drawn small to begin with.
    scale = min(1.0, 600 * subject.face.process.grid_per_lambda / max(box.width, box.height))
    return indexed(paint(plain, box, scale).convert("RGB").resize(size), 48)
