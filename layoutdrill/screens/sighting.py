"""
Say what must be in sight, what of it is not, and which view brings it there; of several pictures that are to be
compared either all at once, or each alone in the place of the one before.
"""

from dataclasses import replace

from layoutdrill.geometry.rect import Rect
from layoutdrill.screens.viewport import REDUCED, SCALES, Viewport, alone, opening, snapped
from layoutdrill.value import value

SMALL = 20
"""λ up to which a place is seen only where its middle is, and a line is as wide as."""


@value
class Focus:
    """
    What the first view must show, in grid units: the first of `wanted` that fits, else the middle of the last; then,
    moving as little as may be, the nearest of `any_of`, where none of these is in sight. `places` are what is spoken
    of, one by one. At a smaller scale than `least` the picture does not show what is asked: several places that are in
    sight together only so are shown so first, and a jump goes close to each in its turn; where `close` is set, the
    first view is close all the same. Where all of the first of `wanted` fits at a scale up to `near`, it is so seen.
    `pictures` are those that are to be compared, by their `names`, all of them in `whole`: where they are not all seen
    at once, each is seen alone, in the place of the one before. One key goes over the places at the scale
    `gone_over_at`, or as close as each has room. An overview comes first where less of all is in sight than `little`.
    """

    wanted: tuple[Rect, ...] = ()
    any_of: tuple[Rect, ...] = ()
    least: int = 1
    places: tuple[Rect, ...] = ()
    close: bool = False
    near: int = 1
    gone_over_at: int = 1
    little: float = 0.25
    pictures: tuple[Rect, ...] = ()
    names: tuple[str, ...] = ()
    whole: Rect | None = None

    def name_of(self, picture: Rect | None) -> str:
        """Return what one of the pictures is called; "" of anything else."""
        return next((name for name, one in zip(self.names, self.pictures, strict=False) if one == picture), "")

    @property
    def furthest(self) -> int:
        """The smallest scale of a first view."""
        return 1 if len(self.places) > 1 and not self.close else self.least


def out_of_view(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """
    Return the places spoken of that are out of sight: of a long line all of it, of a whole picture among several any of
    it that the view has room for, of anything else its middle; every place where the view is too far off to show what
    is asked.
    """
    places = panes_of(view, focus)
    if view.scale < _least(view, focus):
        return places
    seen, small = view.visible(), SMALL * view.per_lambda

    def sighted(rect: Rect) -> bool:
        if rect.grown(2 * view.per_lambda).covers(view.box):
            return True  # what is too large to go over pane by pane is seen on its overview
        if view.scale < _wanted_scale(view, focus, rect):
            return False
        line = min(rect.width, rect.height) <= small < max(rect.width, rect.height)
        if min(rect.width, rect.height) >= PICTURE * view.per_lambda:
            return _has_room_for(seen.x0, seen.x1, rect.x0, rect.x1) and _has_room_for(
                seen.y0, seen.y1, rect.y0, rect.y1
            )
        return seen.contains(*rect.centre) or (line and rect.overlaps(seen))

    return tuple(rect for rect in places if not sighted(rect))


def _least(view: Viewport, focus: Focus) -> float:
    """Return the scale below which a view does not show what is asked."""
    return REDUCED[0] if view.alone is not None and focus.least <= 1 else focus.least


def _has_room_for(low: int, high: int, start: int, end: int) -> bool:
    """Tell whether a stretch lies within another, or, being longer, has its middle there."""
    return low <= start and end <= high if end - start <= high - low else low <= (start + end) // 2 <= high


def pictures_in(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """Return the places spoken of that are pictures of their own, less than all of the drawing."""
    least = PICTURE * view.per_lambda
    return tuple(r for r in focus.places if min(r.width, r.height) >= least and not r.grown(least).covers(view.box))


def panes_of(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """
    Return the places spoken of as one key brings them up: a picture that is too large for the window in as few panes
    as show all of it, from the upper left on; what would take too many, such as a whole die, as one place.
    """
    least = PICTURE * view.per_lambda
    places: list[Rect] = []
    for rect in focus.places:
        single = rect in focus.pictures and alone(rect, view, focus.least).whole
        places += [rect] if single or min(rect.width, rect.height) < least else _panes(view, focus, rect)
    return tuple(places)


def _panes(view: Viewport, focus: Focus, rect: Rect) -> list[Rect]:
    """Cut a picture up for the scale that it is gone over at; where that takes too many panes, for the least scale."""
    for scale in sorted({max(focus.gone_over_at, focus.least), focus.least}, reverse=True):
        unit, most = view.per_lambda / scale, MOST_PANES if scale == focus.least else MOST_GONE_OVER
        wide, high = int((view.columns - 1) * unit), int((view.rows * 2 - 2) * unit)
        across, down = -(-rect.width // max(1, wide)), -(-rect.height // max(1, high))
        if across * down == 1:
            return [rect]
        if across * down <= most:
            xs, ys = _stretches(rect.x0, rect.x1, across, wide), _stretches(rect.y0, rect.y1, down, high)
            return [Rect(x0, y0, x1, y1) for y0, y1 in reversed(ys) for x0, x1 in xs]
    return [rect]


def _wanted_scale(view: Viewport, focus: Focus, place: Rect) -> float:
    """Return the scale at which a place is gone to: that of going over, or as near to it as need and room let."""
    if view.alone is not None:
        return _least(view, focus)
    unit = view.per_lambda
    fitting = [
        scale
        for scale in SCALES
        if scale <= focus.gone_over_at
        and place.width * scale <= view.columns * unit
        and place.height * scale <= (view.rows * 2 - 1) * unit
    ]
    return max(focus.least, *fitting[-1:], SCALES[0])


def goes_to(view: Viewport, focus: Focus, scale: float) -> bool:
    """Tell whether the key that goes over the places spoken of shows any of them at a scale, or closer."""
    return any(_wanted_scale(view, focus, place) >= scale for place in panes_of(view, focus))


def _stretches(start: int, end: int, count: int, most: int) -> list[tuple[int, int]]:
    """Return `count` stretches no longer than `most`, evenly from one end to the other."""
    if count == 1:
        return [(start, end)]
    steps = (start + (end - start - most) * at // (count - 1) for at in range(count))
    return [(low, low + most) for low in steps]


def jumped(view: Viewport, focus: Focus, last: Rect | None) -> tuple[Viewport, Rect | None]:
    """
    Return the view at the next place spoken of that is out of view, after the `last` jumped to, and that place; the
    view itself where there is none. Of pictures that are to be compared it is the next one, alone.
    """
    if focus.pictures:
        return _next_picture(view, focus, last)
    away = out_of_view(view, focus)
    if not away:
        return view, last
    order = [*panes_of(view, focus)]
    start = order.index(last) + 1 if last in order else 0
    place = next(rect for rect in (*order[start:], *order[:start]) if rect in away)
    near = replace(view, scale=_scale_for(view, focus, place)).centred(*place.centre)
    beside = near.nudged(place)  # whole rows may have put it half a row out
    return beside if beside.shows(place) else near, place


def _scale_for(view: Viewport, focus: Focus, place: Rect) -> float:
    """Return the present scale where a place is whole at it and close enough, else the one that it is gone to at."""
    wanted = _wanted_scale(view, focus, place)
    whole = place.width * view.scale <= view.columns * view.per_lambda
    return view.scale if whole and view.scale >= wanted else wanted


def _next_picture(view: Viewport, focus: Focus, last: Rect | None) -> tuple[Viewport, Rect]:
    """
    Return the next of several pictures, whole, in the place of the one before, or the next pane of one that does not
    fit; where one had gone closer, the same corner of the next picture of the same size.
    """
    this = view.alone
    order = panes_of(view, replace(focus, places=focus.pictures))
    whole = None if this is None else alone(this, view, focus.least)
    if this is not None and whole is not None and whole.whole and view.scale > whole.scale:
        picture = _after(focus.pictures, this)
        if (picture.width, picture.height) == (this.width, this.height):
            moved = view.box.moved(picture.x0 - this.x0, picture.y0 - this.y0)
            return replace(view, box=moved, alone=picture), picture
        return alone(picture, view, focus.least), picture
    here = [at for at, pane in enumerate(order) if _holds(this, pane)]
    last_at = order.index(last) if last in order else -1
    at = last_at if this is None or last_at in here else here[0]
    pane = order[(at + 1) % len(order)]
    picture = next(rect for rect in focus.pictures if _holds(rect, pane))
    seen = alone(picture, view, focus.least)
    return (seen if seen.whole else seen.centred(*pane.centre).nudged(pane)), pane


_EDGE = 5
"""λ round a picture that belong to no other."""


def _holds(picture: Rect | None, pane: Rect) -> bool:
    return picture is not None and picture.covers(pane)


def _after(pictures: tuple[Rect, ...], this: Rect) -> Rect:
    return pictures[(pictures.index(this) + 1) % len(pictures)] if this in pictures else pictures[0]


def _compared(like: Viewport, focus: Focus) -> Viewport:
    """
    Return the first view of pictures that are to be compared: all that is wanted of more than one of them where there
    is room for it, else the one that holds what is wanted least of all, or the first, alone.
    """
    per = like.per_lambda
    assert focus.whole is not None
    full = opening(snapped(focus.whole, per), per, like.columns, like.rows)
    seen = _on(full, focus)
    reach = _EDGE * per
    across = [rect for rect in focus.wanted if not any(one.grown(reach).covers(rect) for one in focus.pictures)]
    if any(seen.shows(rect) for rect in across):
        return seen
    last = focus.wanted[-1:]
    held = [one for one in focus.pictures if last and one.contains(*last[0].centre)]
    return alone((held or focus.pictures)[0], like, focus.least)


def starting(box: Rect, per_lambda: int, columns: int, rows: int, focus: Focus) -> Viewport:
    """Return the first view of a drawing of which something is asked."""
    if focus.pictures:
        return _compared(Viewport(box, per_lambda, columns, rows, 1), focus)
    view = opening(box, per_lambda, columns, rows)
    for scale in reversed([scale for scale in SCALES if view.scale < scale <= focus.near and focus.wanted]):
        nearer = replace(view, scale=scale).centred(*focus.wanted[0].centre)
        nearer = nearer if nearer.shows(focus.wanted[0]) else nearer.nudged(focus.wanted[0])
        if nearer.shows(focus.wanted[0]) and nearer.scale >= focus.least:
            return nearer
    if view.whole and view.scale >= focus.least:
        return view
    if view.scale < focus.furthest:
        about = (focus.wanted or focus.any_of or (box,))[-1].centre
        view = replace(view, scale=focus.least).centred(*about)
    view = _on(view, focus)
    if focus.any_of and not any(view.shows(rect) for rect in focus.any_of):
        x, y = view.point(view.columns // 2, view.rows)
        return view.nudged(min(focus.any_of, key=lambda r: (abs(r.centre[0] - x) + abs(r.centre[1] - y), r)))
    return view


PICTURE = 12
"""λ of both sides from which a place is a picture of its own, to be seen whole."""
MOST_PANES = 6
"""Panes up to which a picture that is larger than the window is brought up pane by pane."""
MOST_GONE_OVER = 24
"""The same at the scale at which one key goes over it: a gate of eight transistors takes 20 in 80×24 cells."""


def whole_first(view: Viewport, focus: Focus, box: Rect) -> bool:
    """Tell whether the overview comes first: of a drawing that is asked about as a whole, where little is in sight."""
    asked = focus.wanted[0].covers(box) if focus.wanted else not focus.any_of
    return asked and view.share < focus.little


def kept_on(view: Viewport, focus: Focus) -> Viewport:
    """Return a view that shows what must be seen, as near to this one as may be: itself where it does already."""
    if focus.pictures:
        return _compared(view, focus)
    if not focus.wanted or view.shows(focus.wanted[0]):
        return view
    return _on(view.nudged(focus.wanted[0]), focus)


def _on(view: Viewport, focus: Focus) -> Viewport:
    """
    Return the view that shows the first of what is wanted that it can show, no nearer than this one or `least`; else
    one that shows as many of the places as may be.
    """
    for rect in focus.wanted:
        nearest = max(view.scale, focus.least)
        for scale in reversed([scale for scale in SCALES if focus.furthest <= scale <= nearest]):
            if scale == view.scale and view.shows(rect):
                return view
            seen = replace(view, scale=scale).centred(*rect.centre)
            seen = seen if seen.shows(rect) else seen.nudged(rect)  # whole rows may have put it half a row out
            if seen.shows(rect):
                return seen
    if not focus.wanted:
        return view
    wide = replace(view, scale=min(focus.furthest, view.scale))
    tried = [wide.centred(*rect.centre) for rect in (focus.wanted[-1], *focus.places)]
    return max(tried, key=lambda seen: sum(seen.shows(rect) for rect in focus.places))
