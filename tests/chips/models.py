"""The plain program of each chip, its pins, and how random pins are chosen."""

from tests.chips import message_buffer

MODELS = {"message_buffer": (message_buffer.MessageBuffer, message_buffer.PINS, message_buffer.random_pins)}
