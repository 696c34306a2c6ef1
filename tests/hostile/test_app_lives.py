"""The app lives on under keys, clicks and bytes; when it ends, the terminal is as it was."""

import os
import pty
import shutil
import signal
import sys
from contextlib import suppress
from threading import Thread

import pytest
from textual.drivers._writer_thread import WriterThread

from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.error_panel import ErrorPanel
from layoutdrill.screens.finder import FinderScreen
from layoutdrill.screens.home_screen import HomeScreen
from layoutdrill.screens.steady import FASTEST, TYPED_AHEAD, Allowance, Lasting
from tests.hostile.fuzz import pressed
from tests.hostile.kills import lost
from tests.hostile.terminal import Terminal
from tests.sampling import some


async def test_the_finder_finds_a_cell_by_its_letters_and_takes_bursts_of_keys():
    """
    Typing narrows; Esc takes the letters back, then leaves. ^P with Enter twice, with PageUp typed ahead, with Esc at
    once: no key ends the app.
    """
    app = BenchApp(StartRequest())
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.press("ctrl+p")
        finder = app.screen
        assert isinstance(finder, FinderScreen)
        await app.workers.wait_for_complete()
        await pilot.press(*"nand2")
        await pilot.pause()
        assert "cell:nand2" in [row.key for row in finder.rows]
        assert len(finder.rows) < len(finder.offered)
        await pilot.press("escape")
        assert app.screen is finder
        assert finder.rows == finder.offered
        await pilot.press("escape")
        assert isinstance(app.screen, HomeScreen)
        for burst in (
            ("ctrl+p", "enter", "enter"),
            ("ctrl+p", "pageup", "enter"),
            ("ctrl+p", "escape"),
            ("ctrl+p", "z", "z"),
        ):
            for key in burst:
                app.post_message(_key(key))
            await pilot.pause(0.1)
            assert app.is_running
            for _ in range(3):
                await pilot.press("escape")
        assert app.return_code is None


def _key(name):
    from textual.events import Key

    return Key(name, name if len(name) == 1 else None)


@pytest.mark.parametrize("seed", some([1, 2]))
async def test_random_keys_end_nothing(seed):
    """Fixed seeds; hundreds by hand: python tests/bench/run.py hostile."""
    await pressed(seed)


CRASH = """import sys
from layoutdrill.screens.app import BenchApp, StartRequest, run_app
BenchApp._collect_again = staticmethod(lambda: 1 / 0)
sys.exit(run_app(StartRequest()))
"""


def test_a_crash_restores_the_terminal_and_tells_it_by_the_exit_code(tmp_path):
    """A fault of the app itself, here in a timer of its own, ends it: not with 0, and not with a raw terminal."""
    with Terminal(home=tmp_path, run=(sys.executable, "-c", CRASH)) as terminal:
        assert terminal.ended() == 1
        assert b"ZeroDivisionError" in terminal.seen
        assert terminal.restored


async def test_a_fault_is_told_in_a_panel_and_an_app_that_fails_on_and_on_ends(monkeypatch):
    """A handler that fails does not end the app; a few are borne; then it is over, with an exit code that says so."""
    app = BenchApp(StartRequest())
    with suppress(ZeroDivisionError):  # the pilot raises what the app ended with
        async with app.run_test(size=(100, 30)) as pilot:
            home = app.screen
            monkeypatch.setattr(home, "act_help", lambda: 1 / 0, raising=False)
            home.do("help")
            await pilot.pause()
            assert isinstance(app.screen, ErrorPanel)
            for _ in range(app.FAULTS_BORNE - 1):
                app.tell_fault(ZeroDivisionError())
            await pilot.pause()
            assert app.is_running
            app.tell_fault(ZeroDivisionError())
            await pilot.pause()
    assert app.return_code == 1


def test_a_signal_to_end_restores_the_terminal(tmp_path):
    """128 and the signal's number (POSIX shells' convention); modes, screen and mouse are as before."""
    with Terminal(home=tmp_path) as terminal:
        assert terminal.until(b"Syllabus")
        os.kill(terminal.process.pid, signal.SIGTERM)
        assert terminal.ended() == 143
        assert terminal.restored


def test_an_app_whose_terminal_has_gone_still_writes_and_ends():
    """The library's writer waits once thirty writes wait: had its thread ended, the app would wait for ever."""
    master, slave = pty.openpty()
    with os.fdopen(slave, "w") as screen:
        os.close(master)
        writer = WriterThread(Lasting(screen))
        writer.start()

        def write():
            for _ in range(100):
                writer.write("x" * 5000)
            writer.stop()

        writing = Thread(target=write, daemon=True)
        writing.start()
        writing.join(20)
        assert not writing.is_alive()
        with suppress(OSError):
            screen.close()


def test_bytes_that_are_no_text_and_long_pastes_end_nothing(tmp_path):
    """The app still answers to its keys; and when the line hangs up it ends by that signal, its terminal as before."""
    with Terminal(home=tmp_path) as terminal:
        assert terminal.until(b"Syllabus")
        terminal.type(b"\xff\xfe\x80\xed\xa0\x80")
        terminal.type(b"x" * 100_000)
        for _ in range(60):  # of a paste only the beginning is read, a key typed while the rest is thrown away with it
            terminal.type(b"?")
            if terminal.until(b"explained", patience=0.5):
                break
        assert b"explained" in terminal.seen
        os.kill(terminal.process.pid, signal.SIGHUP)
        assert terminal.ended() == 129
        assert terminal.restored
        assert b"Traceback" not in terminal.seen


def test_of_a_paste_without_brackets_only_the_beginning_is_read():
    """A keyboard is heard again at once; a paste with its marks (xterm's bracketed paste mode) is read whole."""
    now = 0.0
    allowance = Allowance(clock=lambda: now)
    assert sum(len(allowance.taken(b"x" * 4096)) for _ in range(250)) == TYPED_AHEAD
    now = 0.05
    assert allowance.taken(b"q") == b"q"
    parts = [b"\x1b[200~" + b"y" * 4000, b"y" * 4096, b"y" * 9 + b"\x1b[201~"]
    assert [allowance.taken(part) for part in parts] == parts
    assert len(allowance.taken(b"z" * 4096)) < FASTEST


def test_from_the_shell_fg_comes_back(tmp_path):
    """^Z stops the app and hands the terminal back; after `fg` it is painted again, and ends as usual."""
    shell = shutil.which("bash")
    if not shell:
        pytest.skip("needs bash for its job control")
    run = (shell, "--norc", "--noprofile", "-i")
    with Terminal(home=tmp_path, run=run, PS1="ready> ") as terminal:
        assert terminal.until(b"ready> ")
        terminal.type(f"{sys.executable} -m layoutdrill\n".encode())
        assert terminal.until(b"Syllabus")
        terminal.type(b"\x1a")
        assert terminal.until(b"Stopped")
        assert terminal.until(b"ready> ")
        assert terminal.seen.rfind(b"\x1b[?1049l") > terminal.seen.rfind(b"\x1b[?1049h")
        terminal.type(b"fg\n")
        assert terminal.until(b"Syllabus")
        terminal.type(b"\x11")
        assert terminal.until(b"ready> ")
        terminal.type(b"echo code $?\n")
        assert terminal.until(b"code 0")
        assert terminal.screen_restored
        assert b"Traceback" not in terminal.seen


@pytest.mark.parametrize("plain", [True, False])
def test_no_acknowledged_answer_is_lost_by_a_kill(plain, tmp_path):
    """Here one each way; hundreds by hand: python tests/bench/run.py hostile."""
    missing, acknowledged = lost(1, tmp_path, plain=plain)
    assert missing == 0
    assert acknowledged > 0
