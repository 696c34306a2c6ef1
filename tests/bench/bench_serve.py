"""
Let learners join a served set over a minute, and print how long each waits and what memory it takes.

`python tests/bench/bench_serve.py [LEARNERS [SECONDS [together]]]`; 30 over 60 s by default. Each reads a question for
3 to 12 seconds before answering; `together`, all answer at the same moment, as no room does. Wall seconds: from
opening the live connection to the first question on the screen, and from a key to the next question. Memory is the
proportional set size (PSS) that Linux reports, the server's own apart.
"""

import asyncio
import json
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from random import Random

import aiohttp
from aiohttp.test_utils import TestServer as Site

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from layoutdrill.question import kinds
from layoutdrill.served.seats import Seats
from layoutdrill.served.server import SeatServer, Served
from layoutdrill.workshop.asking import question_of
from layoutdrill.workshop.documents import write_set
from layoutdrill.workshop.model import WorkshopSet
from layoutdrill.workshop.prepare import Wanted, prepare

QUESTIONS = 5
TOGETHER = "together" in sys.argv


async def main() -> None:
    """Serve, let everybody join, answer all questions, and print the figures."""
    learners = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    over = float(sys.argv[2]) if len(sys.argv) > 2 else 60.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        set_file = folder / "bench.set"
        made = prepare("first-gates", Wanted(count=QUESTIONS, minutes=0, seed=1))
        write_set(set_file, made)
        seats = Seats([f"seat {n}" for n in range(learners)], most_open=learners)
        server = SeatServer(seats, Served(set_file, folder, folder / "homes"), title="bench", host="127.0.0.1", port=0)
        server.ahead = True
        site = Site(await server.make_app(), host="127.0.0.1")
        await site.start_server()
        await asyncio.sleep(5)  # a leader starts before the room comes in
        server.own = server.public_url = f"http://127.0.0.1:{site.port}"
        first: list[float] = []
        onward: list[float] = []
        memory: list[int] = []
        everybody = asyncio.Event()
        tasks = [
            asyncio.create_task(learner(server, made, (n, n * over / learners), (first, onward), everybody))
            for n in range(learners)
        ]
        while len(first) < learners and not all(task.done() for task in tasks):  # noqa: ASYNC110 - two ends to wait for
            await asyncio.sleep(0.2)
        await asyncio.sleep(2)
        apps, nursery = children()
        memory = [pss(pid) for pid in apps]
        own = pss("self") + sum(pss(pid) for pid in nursery)
        everybody.set()
        await asyncio.gather(*tasks)
        await site.close()
        print(f"{learners} learners over {over:.0f} s, {QUESTIONS} questions each")
        print(f"first question: median {statistics.median(first):.2f} s, slowest {max(first):.2f} s")
        print(f"next question:  median {statistics.median(onward):.2f} s, slowest {max(onward):.2f} s")
        print(f"memory: {len(memory)} apps, {sum(memory) / 1024:.0f} MiB in all, "
              f"{statistics.median(memory) / 1024:.1f} MiB each; server and nursery {own / 1024:.0f} MiB")  # fmt: skip
        print(f"results: {sum(path.suffix == '.result' for path in folder.iterdir())}")  # noqa: ASYNC240 - at the very end


async def learner(
    server: SeatServer, made: WorkshopSet, turn: tuple[int, float], times: tuple[list[float], list[float]],
    everybody: asyncio.Event,
) -> None:  # fmt: skip
    """Join when it is one's turn, see the first question, wait for everybody, then answer one after another."""
    number, wait = turn
    reading = Random(number)
    await asyncio.sleep(wait)
    jar = aiohttp.CookieJar(unsafe=True)
    async with aiohttp.ClientSession(cookie_jar=jar) as client:
        async with client.get(server.link(server.seats.seats[number])) as page:
            await page.text()
        start = time.monotonic()
        async with client.ws_connect(f"{server.own}/ws?width=120&height=40", origin=server.own) as socket:
            screen = Screen(socket)
            await screen.shows(f"1 of {QUESTIONS}")
            times[0].append(time.monotonic() - start)
            await everybody.wait()
            for question in range(2, QUESTIONS + 1):
                asked = question_of(made, question - 1)
                right = kinds()[asked.kind].solution(asked).text
                choice = "abcd"[asked.choices.index(right)] if asked.choices and not asked.typed else ""
                await asyncio.sleep(1 if TOGETHER else reading.uniform(3, 12))
                await socket.send_str(json.dumps(["stdin", choice or right + "\r"]))
                for _ in range(20):  # past how sure one is, and past the verdict
                    await asyncio.sleep(1.5)
                    start = time.monotonic()
                    await socket.send_str(json.dumps(["stdin", "\r"]))
                    if await screen.has(f"{question} of {QUESTIONS}"):
                        break
                else:
                    raise RuntimeError(f"question {question} was not shown")
                times[1].append(time.monotonic() - start)
            screen.reading.cancel()


class Screen:
    """Reads an app's output all the time."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self.socket, self.whole = socket, b""
        self.reading = asyncio.create_task(self.read())

    async def read(self) -> None:
        async for message in self.socket:
            if message.type is aiohttp.WSMsgType.BINARY:
                self.whole += message.data

    async def has(self, text: str, seconds: float = 2.5) -> bool:
        end = time.monotonic() + seconds
        while time.monotonic() < end and text.encode() not in self.whole:  # noqa: ASYNC110 - nothing tells it
            await asyncio.sleep(0.05)
        return text.encode() in self.whole

    async def shows(self, text: str) -> None:
        for _ in range(1200):
            if text.encode() in self.whole:
                return
            await asyncio.sleep(0.05)
        raise RuntimeError(f"“{text}” was not shown in a minute")


def children() -> tuple[list[str], list[str]]:
    """Return the process numbers of the seats' apps, and of the process that they were forked from."""
    found, parents = [], {}
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            if b"layoutdrill.served.child" in path.read_bytes() or b"layoutdrill.served.nursery" in path.read_bytes():
                found.append(path.parent.name)
                parents[path.parent.name] = (path.parent / "stat").read_text().rpartition(")")[2].split()[1]
        except OSError:
            continue
    own = [pid for pid in found if parents[pid] == str(os.getpid()) and any(parents[p] == pid for p in found)]
    return [pid for pid in found if pid not in own], own


def pss(pid: str) -> int:
    """Return a process's proportional set size in KiB."""
    for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1])
    return 0


if __name__ == "__main__":
    asyncio.run(main())
