"""The server's end of the nursery: order an app, hold its pipes, know when it has ended."""

import asyncio
import json
import os
import signal
import socket
import sys
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from layoutdrill.served.nursery import LONGEST


class Forked:
    """An app that the nursery forked, as far as `asyncio.subprocess.Process` is needed of it."""

    def __init__(
        self, pid: int, stdin: asyncio.StreamWriter, out: asyncio.StreamReader, err: asyncio.StreamReader
    ) -> None:
        self.pid = pid
        self.stdin, self.stdout, self.stderr = stdin, out, err
        self.returncode: int | None = None
        self._ended = asyncio.Event()

    def ended(self, code: int) -> None:
        self.returncode = code
        self._ended.set()

    async def wait(self) -> int:
        await self._ended.wait()
        return self.returncode or 0

    def kill(self) -> None:
        """End it at once; nothing where it has ended."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)


class Nursery:
    """One process from which apps are forked. It starts with the first order, and ends with `close`."""

    def __init__(self, set_file: Path, environment: Mapping[str, str]) -> None:
        self._set_file, self._environment = set_file, dict(environment)
        self._process: asyncio.subprocess.Process | None = None
        self._channel: socket.socket | None = None
        self._orders = asyncio.Lock()
        self._begun: asyncio.Queue[int] = asyncio.Queue()
        self._apps: dict[int, Forked] = {}
        self._codes: dict[int, int] = {}

    async def start(self) -> None:
        """Start loading, where it has not been started."""
        if self._process is not None and self._process.returncode is None:
            return
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "layoutdrill.served.nursery", str(theirs.fileno()), str(self._set_file),
            stdin=asyncio.subprocess.DEVNULL, pass_fds=(theirs.fileno(),), env=self._environment,
        )  # fmt: skip
        theirs.close()
        ours.setblocking(False)
        self._channel = ours
        asyncio.get_running_loop().add_reader(ours.fileno(), self._told)

    async def fork(self, environment: Mapping[str, str]) -> Forked:
        """Order an app. Raises OSError where the nursery has gone."""
        loop = asyncio.get_running_loop()
        async with self._orders:
            await self.start()
            assert self._channel is not None
            ends = [os.pipe() for _ in range(3)]  # (to read, to write): what goes in, what comes out, errors
            theirs = [ends[0][0], ends[1][1], ends[2][1]]
            try:
                order = json.dumps(dict(environment)).encode()
                if len(order) > LONGEST:
                    raise OSError("an environment too large to hand over")
                socket.send_fds(self._channel, [order], theirs)
            finally:
                for pipe in theirs:
                    os.close(pipe)
            number = await self._begun.get()
        if not number:
            raise OSError("the apps cannot be started any more")
        into = os.fdopen(ends[0][1], "wb", buffering=0)
        transport, protocol = await loop.connect_write_pipe(asyncio.streams.FlowControlMixin, into)
        readers = [await _reader(end) for end in (ends[1][0], ends[2][0])]
        app = Forked(number, asyncio.StreamWriter(transport, protocol, None, loop), *readers)
        self._apps[number] = app
        if number in self._codes:
            app.ended(self._codes.pop(number))
        return app

    def _told(self) -> None:
        """Take the nursery's messages."""
        assert self._channel is not None
        while True:
            try:
                data = self._channel.recv(LONGEST)
            except BlockingIOError:
                return
            except OSError:
                data = b""
            if not data:
                asyncio.get_running_loop().remove_reader(self._channel.fileno())
                self._begun.put_nowait(0)
                return
            message = json.loads(data)
            if "began" in message:
                self._begun.put_nowait(message["began"])
            elif app := self._apps.pop(message["ended"], None):
                app.ended(message["code"])
            else:
                self._codes[message["ended"]] = message["code"]

    async def close(self) -> None:
        """End the nursery; apps that still run are not its business."""
        if self._channel is not None:
            with suppress(ValueError, OSError):
                asyncio.get_running_loop().remove_reader(self._channel.fileno())
            self._channel.close()
            self._channel = None
        if self._process is not None and self._process.returncode is None:
            with suppress(asyncio.TimeoutError):
                await asyncio.wait_for(self._process.wait(), 5)
            if self._process.returncode is None:
                self._process.kill()
                await self._process.wait()


async def _reader(end: int) -> asyncio.StreamReader:
    """Return a stream of what comes out of a pipe."""
    reader = asyncio.StreamReader()
    protocol = asyncio.StreamReaderProtocol(reader)
    await asyncio.get_running_loop().connect_read_pipe(lambda: protocol, os.fdopen(end, "rb", buffering=0))
    return reader
