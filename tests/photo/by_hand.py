"""Drive the marking screen as a person does: keys for tools, the mouse for places, words in the line."""

from layoutdrill.screens.picture_view import PictureView

KEYS = {
    "wire": "w", "point": "d", "contact": "c", "transistor": "t", "port": "a", "region": "r", "repeat": "q",
    "measure": "m", "rename": "n", "join": "j", "remove": "b",
}  # fmt: skip
CLOSEST = 8
"""Half-pixels per λ at which places are put down: as many as pixels of these pictures."""


class Hand:
    """A person at the marking screen of one session; places are pixels of the stored picture."""

    def __init__(self, app, pilot):
        self.app, self.pilot = app, pilot

    @property
    def screen(self):
        return self.app.screen

    async def put(self, *places, on="#picture"):
        """Look close at each place, and click it."""
        for place in places:
            picture = self.screen.query_one(on, PictureView)
            x, y = self.screen._pictures.frame.point(place)  # where the place is shown
            view = picture.view
            picture.view = view.scaled(CLOSEST).centred(x, y) if view.scale < CLOSEST else view.centred(x, y)
            column, half = picture.view.spot(x, y)
            await self.pilot.click(picture, offset=(column, half // 2))

    async def say(self, text):
        line = self.screen.line
        line.value = text
        await self.pilot.press("enter")

    async def mark(self, tool, *places, says, finish=False):
        await self.pilot.press(KEYS[tool])
        await self.put(*places)
        if finish:
            await self.pilot.press("f")
        await self.say(says)
        assert not self.screen.line.display, self.screen.remark
