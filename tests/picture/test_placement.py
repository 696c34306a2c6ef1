"""
Images handed over and placed, read back as a terminal would.

Source: the terminal graphics protocol of kitty, sw.kovidgoyal.net/kitty/graphics-protocol: control data and base64
payload in an APC command, at most 4096 bytes a chunk, all but the last a multiple of 4 long; `o=z` is zlib (RFC 1950);
`x y w h` choose the source rectangle in pixels, `c r` the cells; `C=1` leaves the cursor; `q=2` asks for no answer.
"""

import re
import zlib
from base64 import b64decode

from PIL import Image

from layoutdrill.picture.placement import Part, forgotten, lifted, placed, sent

_COMMAND = re.compile(r"\x1b_G([^;\x1b]*)(?:;([^\x1b]*))?\x1b\\")


class Terminal:
    """The images that a terminal holds, and what it shows of them: by image and place, keys as they were sent."""

    def __init__(self):
        self.images, self.places, self._begun = {}, {}, None

    def take(self, text):
        for control, payload in _COMMAND.findall(text):
            keys = dict(pair.split("=") for pair in control.split(","))
            assert keys["q"] == "2", "an answer would come back"
            assert len(payload) <= 4096
            if "a" not in keys or keys["a"] == "t":
                self._transmit(keys, payload)
            elif keys["a"] == "p":
                assert int(keys["i"]) in self.images
                self.places[int(keys["i"]), int(keys["p"])] = {k: int(v) for k, v in keys.items() if k != "a"}
            elif keys["a"] == "d":
                number = int(keys["i"])
                gone = [key for key in self.places if key[0] == number and keys.get("p") in (None, str(key[1]))]
                for key in gone:
                    del self.places[key]
                if keys["d"] == "I":
                    self.images.pop(number, None)

    def _transmit(self, keys, payload):
        first = keys if "a" in keys else self._begun[0]
        data = ("" if "a" in keys else self._begun[1]) + payload
        if keys["m"] == "1":
            assert len(payload) % 4 == 0
            self._begun = first, data
            return
        assert (first["f"], first["o"], first["t"]) == ("24", "z", "d")
        size = int(first["s"]), int(first["v"])
        self.images[int(first["i"])] = Image.frombytes("RGB", size, zlib.decompress(b64decode(data)))

    def sees(self, number, place):
        """The pixels that a placement shows, before they are stretched to its cells."""
        keys = self.places[number, place]
        x, y, w, h = (keys[k] for k in "xywh")
        return self.images[number].crop((x, y, x + w, y + h))


def noise(wide, high):
    image = Image.new("RGB", (wide, high))
    image.putdata([((7 * i) % 251, (i * i) % 241, (i * 13) % 239) for i in range(wide * high)])
    return image


def test_an_image_arrives_whole_in_many_pieces():
    """What the terminal holds is the picture, to the bit; no piece is longer than the protocol allows."""
    image = noise(180, 70)
    text = sent(image, 9)
    assert text.count("\x1b_G") > 5
    terminal = Terminal()
    terminal.take(text)
    assert terminal.images[9].tobytes() == image.tobytes()
    assert terminal.places == {}


def test_parts_are_placed_moved_lifted_and_forgotten():
    """A place shows its rectangle; placed again it shows another; once forgotten, nothing is left."""
    image, terminal = noise(60, 40), Terminal()
    terminal.take(sent(image, 3) + placed(3, 1, Part(10, 8, 20, 16, 10, 4)) + placed(3, 2, Part(0, 0, 4, 4, 2, 1)))
    assert terminal.sees(3, 1).tobytes() == image.crop((10, 8, 30, 24)).tobytes()
    assert (terminal.places[3, 1]["c"], terminal.places[3, 1]["r"], terminal.places[3, 1]["C"]) == (10, 4, 1)
    terminal.take(placed(3, 1, Part(12, 8, 20, 16, 10, 4)))
    assert terminal.sees(3, 1).tobytes() == image.crop((12, 8, 32, 24)).tobytes()
    terminal.take(lifted(3, 2))
    assert set(terminal.places) == {(3, 1)}
    terminal.take(forgotten(3))
    assert (terminal.images, terminal.places) == ({}, {})
