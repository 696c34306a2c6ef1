"""The pages a guest sees around the app: the terminal's page, and a plain one that says why not."""

from html import escape

STYLE = """
@font-face { font-family: bench; src: url("/static/fonts/RobotoMono-VariableFont_wght.ttf"); }
html, body { margin: 0; height: 100%; background: #14110e; color: #ece7dd; font: 16px bench, monospace; }
#terminal { opacity: 0; } body.-first-byte #terminal { opacity: 1; }
p { position: absolute; inset: 0; margin: auto; width: 34rem; max-width: 90%; height: 6rem; text-align: center; }
body.-first-byte .wait, body.-closed .wait { display: none; } .ended { display: none; z-index: 2; background: #14110e; }
body.-closed .ended { display: block; padding-top: 3rem; } a { color: inherit; }
"""

FOCUS = """
addEventListener("DOMContentLoaded", () => {
  const lines = () => document.querySelector(".xterm-helper-textarea")?.focus();
  new MutationObserver(lines).observe(document.body, {attributes: true, attributeFilter: ["class"]});
  addEventListener("focus", lines);
});
"""
"""Gives the keys to the terminal as soon as it is there, without a click."""


def terminal_page(title: str, socket: str, font_size: int = 16) -> str:
    """Return the page that shows the app: `socket` is the address of the live connection."""
    return f"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>
<link rel="stylesheet" href="/static/css/xterm.css"><style>{STYLE}</style><link rel="icon" href="data:,">
<script src="/focus.js"></script><script src="/static/js/textual.js"></script>
</head><body><p class="wait">Opening your seat …</p>
<p class="ended">Closed. Your answers are kept. <a href="/">Open it again</a></p>
<div id="terminal" class="textual-terminal" data-session-websocket-url="{escape(socket)}"
 data-font-size="{font_size}"></div></body></html>
"""


def plain_page(title: str, text: str) -> str:
    return f"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>
<style>{STYLE}</style></head><body><p>{escape(text)}</p></body></html>
"""
