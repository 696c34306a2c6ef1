"""
Serve a set to browsers by textual-serve, with what it leaves open closed: a link for each seat that opens once, Host
and Origin checked, a bound on what runs, an app started without a shell and with an environment of its own.

A guest can read and answer the set at their seat, and nothing else: the app that a seat runs opens no file that a
guest names and has no way to a shell. It runs as the user who serves.
"""

import asyncio
import json
import os
import sys
import tempfile
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import cast

from aiohttp import web
from textual_serve.app_service import AppService
from textual_serve.server import Server

from layoutdrill.served.child import SEAT_VARIABLE
from layoutdrill.served.forked import Nursery
from layoutdrill.served.guard import HEADERS, refusal
from layoutdrill.served.nursery import can_fork
from layoutdrill.served.page import FOCUS, plain_page, terminal_page
from layoutdrill.served.seats import Seat, Seats
from layoutdrill.served.standing import standing
from layoutdrill.value import value

COOKIE = "seat"
ENDED_AFTER = 5.0
"""Seconds that an app has to end once its page has closed."""
IDLE = 45 * 60.0
"""Seconds without a word from a page after which its app ends; answers are kept, and the seat can be opened again."""
LARGEST = 400, 200
"""Columns and rows of the largest terminal that a page may ask for."""
_KEPT = ("PATH", "LANG", "LC_ALL", "LC_CTYPE", "TZ", "SYSTEMROOT", "VIRTUAL_ENV", "PYTHONPATH", "LAYOUTDRILL_CACHE")
"""What an app gets of the environment of who serves; no more."""
_LONGEST_INPUT = 64 * 1024


@value
class Served:
    """What is served: the set's file, where results go, and the folder in which each seat has a home."""

    set_file: Path
    results: Path
    homes: Path


class SeatService(AppService):
    """The app of one seat: no shell, no files handed out, no addresses opened."""

    def __init__(self, served: Served, seat: Seat, nursery: Nursery | None, **rest: object) -> None:
        super().__init__("", **rest)  # type: ignore[arg-type]
        self._nursery = nursery
        self._served = served
        self._seat = seat

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        whole = super()._build_environment(width, height)
        mine = kept(whole)
        home = self._served.homes / blake2b(self._seat.name.encode(), digest_size=8).hexdigest()
        home.mkdir(parents=True, exist_ok=True)
        seat = {"set": str(self._served.set_file), "results": str(self._served.results), "name": self._seat.name}
        return mine | {
            "COLUMNS": str(width),
            "ROWS": str(height),
            "HOME": str(home),
            "LAYOUTDRILL_HOME": str(home),
            SEAT_VARIABLE: json.dumps(seat),
        }

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        environment = self._build_environment(width, height)
        if self._nursery is not None:
            forked = await self._nursery.fork(environment)
            self._stdin = forked.stdin
            self._process = process = cast(Process, forked)
            return process
        self._process = process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "layoutdrill.served.child",
            stdin=PIPE, stdout=PIPE, stderr=PIPE, env=environment,
        )  # fmt: skip
        self._stdin = process.stdin
        return process

    async def run(self) -> None:
        """Run the app; a page whose app has ended, whyever, is told so, and does not wait for it."""
        await super().run()
        with suppress(RuntimeError, ConnectionError):
            await self.remote_close()

    async def on_meta(self, data: bytes) -> None:
        """Pass on that the app has ended; nothing else that an app may wish of a browser."""
        if json.loads(data).get("type") == "exit":
            await self.remote_close()

    async def on_packed(self, payload: bytes) -> None:
        """Hand out no files."""

    async def stop(self) -> None:
        """Ask the app to end, and end it when it does not."""
        process, task = self._process, self._task
        if process is None or task is None:
            return
        self._task = None
        await self.send_meta({"type": "quit"})
        with suppress(asyncio.TimeoutError):
            await asyncio.wait_for(asyncio.shield(task), ENDED_AFTER)
        if process.returncode is None:
            with suppress(ProcessLookupError):
                process.kill()
        with suppress(asyncio.TimeoutError):
            await asyncio.wait_for(process.wait(), ENDED_AFTER)


_OURS = ("TEXTUAL_DRIVER", "TEXTUAL_FPS", "TEXTUAL_COLOR_SYSTEM")


def kept(whole: Mapping[str, str]) -> dict[str, str]:
    """Return what an app gets of an environment."""
    return {name: text for name, text in whole.items() if name in _KEPT or name in _OURS}


DRIVEN = {
    "TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver",
    "TEXTUAL_FPS": "60",
    "TEXTUAL_COLOR_SYSTEM": "truecolor",
}
"""How an app is driven by a server; Textual reads it when it is imported."""


class SeatServer(Server):
    """Routes: `/seat/TOKEN` uses a link, `/` is a seat's page, `/ws` its live connection, `/static/` the library's."""

    def __init__(self, seats: Seats, served: Served, *, title: str, host: str, port: int, address: str = "") -> None:
        super().__init__("", host=host, port=port, title=title, public_url=address or f"http://{host}:{port}")
        self.seats = seats
        self.served = served
        self.own = self.public_url.lower().rstrip("/")
        self._leaving: set[asyncio.Task[None]] = set()
        self._nursery: Nursery | None = None
        self.ahead = False

    def tell(self, text: str) -> None:
        """Tell the leader, on the terminal where the links stand."""
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()

    def link(self, seat: Seat) -> str:
        return f"{self.own}/seat/{seat.token}"

    async def make_app(self) -> web.Application:
        """Return the application, for a runner or a test client."""
        return await self._make_app()

    async def _make_app(self) -> web.Application:
        app = web.Application(middlewares=[self._checked], client_max_size=_LONGEST_INPUT)
        app.add_routes(
            [
                web.get("/", self.handle_index),
                web.get("/seat/{token}", self.handle_link),
                web.get("/ws", self.handle_websocket),
                web.get("/focus.js", self.handle_focus),
                web.static("/static", self.statics_path, show_index=False, follow_symlinks=False),
            ]
        )
        app.on_startup.append(self._begun)
        app.on_cleanup.append(self._left)
        return app

    @web.middleware
    async def _checked(
        self, request: web.Request, handler: Callable[[web.Request], Awaitable[web.StreamResponse]]
    ) -> web.StreamResponse:
        live = request.path == "/ws"
        refused = refusal(self.own, request.headers.get("Host"), request.headers.get("Origin"), live=live)
        if refused is not None:
            return self._plain(refused.text, refused.status)
        try:
            response = await handler(request)
        except web.HTTPNotFound:
            return self._plain("There is nothing here.", 404)
        if not response.prepared:
            response.headers.update(HEADERS)
        return response

    def _plain(self, text: str, status: int) -> web.Response:
        page = plain_page(self.title, text)
        return web.Response(text=page, status=status, content_type="text/html", headers=HEADERS)

    def _seat(self, request: web.Request) -> Seat | None:
        return self.seats.of_session(request.cookies.get(COOKIE, ""))

    async def handle_link(self, request: web.Request) -> web.StreamResponse:
        """Use a seat's link; it opens once."""
        seat = self.seats.enter(request.match_info["token"])
        if seat is None:
            return self._plain("This link has been used, or was never given. Ask the leader for another.", 403)
        response = web.Response(status=303, headers={"Location": "/"})
        secure = self.own.startswith("https:")
        response.set_cookie(COOKIE, seat.session, httponly=True, samesite="Strict", secure=secure, path="/")
        return response

    async def handle_index(self, request: web.Request) -> web.StreamResponse:
        """Show a seat's app; where it has nothing left to answer, say so instead."""
        seat = self._seat(request)
        if seat is None:
            return self._plain("Open the link that the leader gave you.", 403)
        over = await asyncio.to_thread(standing, self.served.set_file, self.served.results, seat.name)
        if over is not None:
            if over.leader:
                self.tell(over.leader)
            return self._plain(over.guest, 200)
        socket = f"{'wss' if self.own.startswith('https:') else 'ws'}://{self.own.split('://', 1)[1]}/ws"
        return web.Response(text=terminal_page(self.title, socket), content_type="text/html")

    async def handle_focus(self, _request: web.Request) -> web.Response:
        return web.Response(text=FOCUS, content_type="text/javascript")

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        seat = self._seat(request)
        if seat is None:
            raise web.HTTPForbidden(text="no seat")
        if seat.open:
            raise web.HTTPConflict(text="this seat is open in another window")
        if not self.seats.room():
            raise web.HTTPServiceUnavailable(text="all seats are taken")
        seat.open = True
        socket = web.WebSocketResponse(heartbeat=15, max_msg_size=_LONGEST_INPUT, receive_timeout=IDLE)
        service = SeatService(
            self.served,
            seat,
            self._nursery,
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=socket.close,
            download_manager=self.download_manager,
        )
        try:
            await socket.prepare(request)
            width, height = (bounded(request.query.get(name, ""), most) for name, most in _SIZES)
            await service.start(width, height)
            with suppress(asyncio.TimeoutError, ValueError, TypeError, LookupError, AttributeError):
                await self._process_messages(socket, service)  # what a page sends that is no message ends it
        finally:
            # The library cancels this handler when its browser has gone: what ends the app must go on without it.
            leaving = asyncio.create_task(self._leave(service, seat))
            self._leaving.add(leaving)
            leaving.add_done_callback(self._leaving.discard)
        return socket

    async def _leave(self, service: SeatService, seat: Seat) -> None:
        """End a seat's app; the seat is free again when nothing of it runs."""
        try:
            await service.stop()
        finally:
            seat.open = False

    async def _begun(self, _app: web.Application) -> None:
        """Have a nursery where apps can be forked; load `ahead`, so that no guest waits for that."""
        if can_fork():
            self._nursery = Nursery(self.served.set_file, kept(dict(os.environ)) | DRIVEN)
            if self.ahead:
                await self._nursery.start()

    async def _left(self, _app: web.Application) -> None:
        """Wait at the end for what is still being ended."""
        await asyncio.gather(*self._leaving, return_exceptions=True)
        if self._nursery is not None:
            await self._nursery.close()


_SIZES = (("width", LARGEST[0]), ("height", LARGEST[1]))


def bounded(text: str, most: int) -> int:
    """Return a size that a page asked for, 20 at least; 80 for what is no number."""
    return max(20, min(most, int(text))) if text.isascii() and text.isdigit() and len(text) < 6 else 80


def serve(server: SeatServer) -> None:
    """Serve until interrupted."""
    server.ahead = True
    web.run_app(server.make_app(), host=server.host, port=server.port, print=None, handle_signals=True)


def new_homes() -> Path:
    """Return a fresh folder for the seats' homes, that only this user can read."""
    return Path(tempfile.mkdtemp(prefix="layoutdrill-seats-", dir=os.environ.get("TMPDIR")))
