"""
The plain program of each chip, and the board that it sits on.

A module has `PINS`, the inputs in the order in which a board sets them, `OUTPUTS`, `CLOCK`, and `STROBE`, which falls
before the others change and rises after them, or None. Its class of the chip has `rest(pins)` (clock at 0),
`work(pins)` (its rise) and `outputs()` (after its fall), which return levels by output; its `Board(rng)` has
`pins(outputs)`, the pins of the next step, a reset first.
"""

from tests.chips import key_scanner, lamp_flash_timer, message_buffer

MODELS = {
    "message_buffer": (message_buffer.MessageBuffer, message_buffer),
    "lamp_flash_timer": (lamp_flash_timer.LampFlashTimer, lamp_flash_timer),
    "key_scanner": (key_scanner.KeyScanner, key_scanner),
}
"""The class and the module of each chip."""
PROCESSES = {
    "message_buffer": "metal-gate-sapphire",
    "lamp_flash_timer": "silicon-gate-cmos",
    "key_scanner": "metal-gate-cmos",
}
"""The process in which the tests draw each."""
