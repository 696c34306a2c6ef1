"""
Photograph two of the scenario's circuits with the tool itself, at wear attic, and mark them through the app.

`python -m tests.bench.mark_scenario FOLDER`. The places were read from the pictures by eye, as an author reads them: on
the second stage where the metal hides what lies below. Takes a few minutes: every place is a click.
"""

import asyncio
import sys
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.face.model import Light
from layoutdrill.photo.model import Stage
from layoutdrill.photo.session import MarkSession, begin, marks_path, picture_of
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.screens.app import BenchApp, StartRequest
from tests.photo.by_hand import Hand

SCALE = 9
LAMP = (
    ("transistor", ((199, 118), (199, 90), (199, 145)), "p b VDD n1 20 107"),
    ("transistor", ((199, 190), (199, 160), (199, 212)), "p b n1 VDD 20 107"),
    ("transistor", ((199, 262), (199, 232), (199, 285)), "p b VDD n1 20 107"),
    ("transistor", ((199, 333), (199, 305), (199, 357)), "p a n1 VDD 20 107"),
    ("transistor", ((187, 486), (165, 486), (225, 486)), "p c y n1"),
    ("transistor", ((410, 118), (410, 92), (410, 145)), "n b VSS m1 20 64"),
    ("transistor", ((410, 190), (410, 160), (410, 212)), "n b m1 VSS 20 64"),
    ("transistor", ((410, 262), (410, 235), (410, 287)), "n b VSS m1 20 64"),
    ("transistor", ((410, 333), (410, 305), (410, 375)), "n a m1 y 20 64"),
    ("transistor", ((410, 451), (410, 410), (410, 500)), "n c y VSS 20 64"),
    ("wire", ((65, 52), (65, 588)), "VDD metal 36"),
    ("wire", ((65, 80), (200, 80)), "VDD metal 26"),
    ("wire", ((65, 225), (178, 225)), "VDD metal 26"),
    ("wire", ((65, 369), (178, 369)), "VDD metal 26"),
    ("wire", ((177, 152), (235, 152), (235, 485)), "n1 metal 26"),
    ("wire", ((177, 296), (235, 296)), "n1 metal 26"),
    ("wire", ((523, 54), (523, 588)), "VSS metal 36"),
    ("wire", ((412, 82), (523, 82)), "VSS metal 26"),
    ("wire", ((425, 225), (523, 225)), "VSS metal 26"),
    ("wire", ((425, 521), (523, 521)), "VSS metal 26"),
    ("wire", ((425, 153), (367, 153), (367, 297), (425, 297)), "m1 metal 26"),
    ("wire", ((425, 392), (367, 392), (367, 559), (210, 559)), "y metal 26"),
    ("wire", ((307, 52), (307, 350)), "a metal 26"),
    ("wire", ((132, 118), (311, 118), (311, 262)), "b poly 20"),
    ("wire", ((132, 190), (311, 190)), "b poly 20"),
    ("wire", ((95, 580), (95, 262), (482, 262)), "b poly 20"),
    ("wire", ((482, 262), (482, 118), (366, 118)), "b poly 20"),
    ("wire", ((366, 190), (482, 190)), "b poly 20"),
    ("wire", ((132, 333), (447, 333)), "a poly 20"),
    ("wire", ((545, 451), (187, 451), (187, 521), (267, 521)), "c poly 20"),
    ("wire", ((165, 430), (165, 560), (210, 560)), "y diffusion 24"),
    *(("contact", (at,), "VDD metal diffusion 18") for at in ((200, 79), (178, 222), (178, 367))),
    *(("contact", (at,), "n1 metal diffusion 18") for at in ((177, 150), (178, 295), (236, 484))),
    *(("contact", (at,), "VSS metal diffusion 18") for at in ((412, 79), (425, 223), (425, 520))),
    *(("contact", (at,), "m1 metal diffusion 18") for at in ((425, 152), (425, 297))),
    *(("contact", (at,), "y metal diffusion 18") for at in ((425, 390), (210, 555))),
    *(("contact", (at,), "a metal poly 18") for at in ((308, 330), (308, 367))),
    *(("contact", (at,), "VDD metal tap 18") for at in ((65, 255), (65, 318), (65, 381))),
    *(("contact", (at,), "VSS metal tap 18") for at in ((524, 224), (524, 287), (524, 513))),
    ("port", ((307, 70),), "a input"),
    ("port", ((95, 570),), "b input"),
    ("port", ((536, 451),), "c input"),
    ("port", ((300, 559),), "y output"),
    ("region", ((2, 2), (574, 637)), "lamp_gate, AOI21, contacts wires taps"),
)
MESSAGE = (
    ("transistor", ((180, 86), (180, 60), (180, 112)), "n qn VSS q 18 36"),
    ("transistor", ((180, 158), (180, 132), (180, 183)), "n r q VSS 18 36"),
    ("transistor", ((180, 253), (180, 205), (180, 300)), "n q VSS qn 18 36"),
    ("transistor", ((180, 361), (180, 320), (180, 415)), "n s qn VSS 18 36"),
    ("transistor", ((436, 86), (400, 86), (475, 86)), "nd qn qn VDD 37 18"),
    ("transistor", ((439, 253), (403, 253), (478, 253)), "nd q q VDD 37 18"),
    ("wire", ((44, 40), (44, 438)), "VSS metal 46"),
    ("wire", ((44, 50), (179, 50)), "VSS metal 28"),
    ("wire", ((44, 193), (179, 193)), "VSS metal 28"),
    ("wire", ((44, 428), (180, 428)), "VSS metal 28"),
    ("wire", ((557, 40), (557, 440)), "VDD metal 45"),
    ("wire", ((480, 86), (557, 86)), "VDD metal 28"),
    ("wire", ((487, 253), (557, 253)), "VDD metal 28"),
    ("wire", ((179, 122), (255, 122), (255, 250)), "q metal 27"),
    ("wire", ((372, 253), (372, 448)), "q metal 27"),
    ("wire", ((313, 158), (313, 448)), "r metal 27"),
    ("wire", ((255, 361), (255, 448)), "s metal 27"),
    ("wire", ((313, 86), (371, 86)), "qn metal 27"),
    ("wire", ((110, 253), (110, 369)), "qn metal 27"),
    ("wire", ((110, 310), (179, 310)), "qn metal 27"),
    ("wire", ((107, 250), (107, 86), (313, 86)), "qn poly 18"),
    ("wire", ((107, 369), (107, 450)), "qn poly 18"),
    ("wire", ((151, 158), (312, 158)), "r poly 18"),
    ("wire", ((151, 253), (412, 253)), "q poly 18"),
    ("wire", ((151, 361), (253, 361)), "s poly 18"),
    *(("contact", (at,), "VSS metal diffusion 18") for at in ((179, 48), (179, 193), (180, 427))),
    *(("contact", (at,), "VDD metal diffusion 18") for at in ((480, 86), (487, 253))),
    ("contact", ((179, 122),), "q metal diffusion 18"),
    *(("contact", (at,), "qn metal diffusion 18") for at in ((179, 310), (371, 86))),
    *(("contact", (at,), "qn metal poly 18") for at in ((310, 86), (108, 253), (108, 369))),
    *(("contact", (at,), "q metal poly 18") for at in ((253, 253), (370, 253))),
    ("contact", ((310, 158),), "r metal poly 18"),
    ("contact", ((252, 360),), "s metal poly 18"),
    ("contact", ((407, 86),), "qn poly diffusion 18"),
    ("contact", ((411, 253),), "q poly diffusion 18"),
    ("port", ((313, 438),), "r reset"),
    ("port", ((255, 438),), "s set"),
    ("port", ((372, 438),), "q output"),
    ("port", ((107, 440),), "qn output"),
    ("region", ((2, 2), (592, 475)), "message_flag, SR latch, contacts wires"),
)
PHOTOGRAPHS = (
    ("lamp-gate", "aoi21", "silicon-gate-cmos", 11, True, LAMP),
    ("message-flag", "sr_nor", "silicon-gate-nmos", 4, False, MESSAGE),
)
OPEN_ENDED = ("wire", "region")


def photographed(cell, process, seed, path, stage=""):
    """Take a picture of a worn die, as a camera would save it."""
    made = drawn(load_cell(cell), process, seed, 0.2)
    view = View.whole(made.face.layout, made.process, SCALE, margin=2)
    light = Light(load_look("reflected-light"), seed, 1.0, stage=stage)
    made.face.image(view, light).save(path, quality=88)


async def marked(session, marks):
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(120, 40)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        for number, (tool, places, words) in enumerate(marks, 1):
            await hand.mark(tool, *places, says=words, finish=tool in OPEN_ENDED)
            print(f"{number} of {len(marks)}: {tool} {words}", flush=True)
        await pilot.pause(0.3)
        for odd in hand.screen.oddities:
            print("odd:", odd.text)


async def joined(session):
    """Join the second stage by four contact holes that both pictures show."""
    app = BenchApp(StartRequest(marking=session))
    async with app.run_test(size=(160, 44)) as pilot:
        hand = Hand(app, pilot)
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        for place in ((200, 79), (425, 520), (210, 555), (425, 152)):
            await pilot.press("j")
            await hand.put(place)
            await hand.put(place, on="#picture_b")


def main(folder):
    for name, cell, process, seed, stages, marks in PHOTOGRAPHS:
        picture = folder / f"{name}.jpg"
        path = marks_path(picture)
        path.unlink(missing_ok=True)
        photographed(cell, process, seed, picture)
        begin(path, picture, process, SCALE)
        session = MarkSession(path)
        if stages:
            off = folder / f"{name}-metal-off.jpg"
            photographed(cell, process, seed, off, "metal off")
            session.add(picture_of(off, folder, Stage.METAL_OFF))
            asyncio.run(joined(session))
        asyncio.run(marked(session, marks))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
