"""What this is, and the cautions that belong to the work around it."""

from layoutdrill import __version__
from layoutdrill.screens.lines import unwrapped

ABOUT = """
layoutdrill teaches to read chip layouts. Every drawing is made from a netlist, read back from its geometry alone,
proved equal, and only then asked about. It works offline, keeps what you answer on this machine, and sends nothing
anywhere.
"""

CAUTIONS = """
First: this tool trains the eye and opens no package. Local rules and trained, authorised people come before anything
said here.

Acids. Fuming nitric and hot sulfuric acid are for trained people, supervised, in a fume cupboard with face and glove
protection, never alone. Nitric fumes can injure the lungs hours after one feels well: get medical help after any
exposure. Keep them from organics and out of sealed waste bottles. Hydrofluoric acid and other oxide etches belong in
specialist laboratories only.

Ceramics. Some white ceramic packages contain beryllia and look like any other: never break, grind or sand a ceramic
package you cannot identify. Lids and ceramic splinter: protect the eyes, clamp the work.

Lasers. Enclosure, interlocks, rated eyewear, extraction.

Heat and solder. Ventilate, mind burns, wash after handling lead.

Mains. Isolate, discharge capacitors, leave live work to qualified people; wear no earth strap on it.

The part. Opening a part usually ends its life: never the only working spare.

The law. Whether you may open, photograph or publish a chip depends on where you are and on who owns what: ask first,
and mind the licence of every picture you use.
"""


def about_text() -> str:
    """Return the words of the page, one paragraph a line: the page wraps them."""
    return "\n\n".join((f"layoutdrill {__version__}", unwrapped(ABOUT), "Cautions", unwrapped(CAUTIONS)))
