"""The server as a browser, and as somebody who is not one, meets it; one seat's app is really started."""

import asyncio
import json
import os
import signal

import pytest

aiohttp = pytest.importorskip("aiohttp", reason="the extra “serve” is not installed")
pytest.importorskip("textual_serve", reason="the extra “serve” is not installed")

from aiohttp.test_utils import TestServer as Site  # noqa: E402

from layoutdrill.question import Answer, kinds  # noqa: E402
from layoutdrill.served.child import SEAT_VARIABLE  # noqa: E402
from layoutdrill.served.forked import Nursery  # noqa: E402
from layoutdrill.served.nursery import can_fork  # noqa: E402
from layoutdrill.served.seats import Seats  # noqa: E402
from layoutdrill.served.server import SeatServer, Served, bounded  # noqa: E402
from layoutdrill.workshop.asking import question_of  # noqa: E402
from layoutdrill.workshop.documents import write_set  # noqa: E402
from layoutdrill.workshop.prepare import Wanted, prepare  # noqa: E402
from layoutdrill.workshop.sit import SetSitting, result_file  # noqa: E402


@pytest.fixture(name="house")
async def _house(tmp_path):
    """Serve a set of two questions to two seats; yield the server, its address, and a client without cookies."""
    set_file = tmp_path / "room.set"
    made = prepare("first-gates", Wanted(count=2, minutes=0, seed=1))
    write_set(set_file, made)
    server = SeatServer(
        Seats(["Ann", "Bo"], most_open=1),
        Served(set_file, tmp_path, tmp_path / "homes"),
        title="Two gates",
        host="127.0.0.1",
        port=0,
    )
    site = Site(await server.make_app(), host="127.0.0.1")
    await site.start_server()
    server.own = f"http://127.0.0.1:{site.port}"
    server.public_url, server.made = server.own, made
    jar = aiohttp.CookieJar(unsafe=True)  # cookies for a bare address too
    async with aiohttp.ClientSession(cookie_jar=jar) as client:
        yield server, client, tmp_path
    await site.close()


async def got(client, url, **options):
    """Return the status and text of a page."""
    async with client.get(url, **options) as answer:
        return answer.status, await answer.text()


async def test_without_a_link_there_is_nothing(house):
    """The page, the socket and made-up links are refused to a stranger."""
    server, client, _ = house
    assert (await got(client, server.own + "/"))[0] == 403
    assert (await got(client, server.own + "/seat/made-up"))[0] == 403
    with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
        await client.ws_connect(server.own + "/ws", origin=server.own)
    assert refused.value.status == 403


@pytest.mark.parametrize(
    "path",
    ["/static/", "/static/js/", "/static/../templates/app_index.html", "/static/%2e%2e/server.py", "/etc/passwd",
     "/static//etc/passwd", "/download/x", "/seat/../../etc/passwd"],
)  # fmt: skip
async def test_paths_lead_nowhere_else(house, path):
    """No listing, no climbing out of the library's folder, no download."""
    from yarl import URL

    server, client, _ = house
    status, text = await got(client, URL(server.own + path, encoded=True))
    assert status in (403, 404)
    assert "root:" not in text


async def test_a_foreign_page_is_refused(house):
    """A request or socket with a foreign Origin or Host is not looked at, even with the right cookie."""
    server, client, _ = house
    await got(client, server.link(server.seats.seats[0]))
    for headers, status in (({"Origin": "http://elsewhere.example"}, 403), ({"Host": "elsewhere.example"}, 421)):
        assert (await got(client, server.own + "/", headers=headers))[0] == status
    for origin in ("http://elsewhere.example", "null", None):
        with pytest.raises(aiohttp.WSServerHandshakeError) as refused:
            await client.ws_connect(server.own + "/ws", origin=origin)
        assert refused.value.status == 403


async def test_the_page_loads_nothing_from_elsewhere(house):
    """Every address in the page is this server's own, and the policy says so to the browser."""
    server, client, _ = house
    async with client.get(server.link(server.seats.seats[0])) as page:
        text = await page.text()
        assert page.status == 200
        assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")
    outside = [
        word for word in text.replace('"', " ").split() if "//" in word and server.own.split("//")[1] not in word
    ]
    assert outside == []
    cookie = next(iter(client.cookie_jar))
    assert cookie["httponly"]
    assert cookie["samesite"] == "Strict"
    assert (await got(client, server.own + "/static/js/textual.js"))[0] == 200


async def test_a_link_used_twice_is_refused(house):
    """A second browser with the same link gets no seat."""
    server, client, _ = house
    link = server.link(server.seats.seats[0])
    assert (await got(client, link))[0] == 200
    async with aiohttp.ClientSession() as other:
        assert (await got(other, link))[0] == 403


async def test_a_seat_answers_its_set_and_nothing_else(house):
    """A real app starts for a seat, takes an answer, and its result is on disk; further seats wait for room."""
    server, client, folder = house
    await got(client, server.link(server.seats.seats[0]))
    async with client.ws_connect(server.own + "/ws?width=100&height=32", origin=server.own) as socket:
        with pytest.raises(aiohttp.WSServerHandshakeError) as again:
            await client.ws_connect(server.own + "/ws", origin=server.own)
        assert again.value.status == 409
        async with aiohttp.ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True)) as other:
            await got(other, server.link(server.seats.seats[1]))
            with pytest.raises(aiohttp.WSServerHandshakeError) as full:
                await other.ws_connect(server.own + "/ws", origin=server.own)
            assert full.value.status == 503
        screen = Screen(socket)
        await screen.shows("1 of 2")
        question = question_of(server.made, 1)
        result, given = folder / "room.Ann.result", []
        for turn in range(600):
            if turn % 20 == 0:  # nothing is taken before the picture stands, and the screen says so: answer once more
                await screen.types(keys_for(question))
            given = json.loads(result.read_text())["answers"] if result.is_file() else []
            if given:
                break
            await asyncio.sleep(0.1)
        assert [answer["number"] for answer in given] == [1]
        await screen.close()
    for _ in range(80):
        if not server.seats.open:
            break
        await asyncio.sleep(0.1)
    assert server.seats.open == 0


def finish(made, path, name):
    """Answer a set to its end: the first question skipped, the others right."""
    with SetSitting.open(made, path, name) as sitting:
        for number in range(sitting.total):
            question = sitting.prepare(number)
            if number:
                right = kinds()[question.kind].solution(question)
                sitting.submit(question, Answer(right.text, right.point), 1.0)
            else:
                sitting.skip(question, 1.0)


async def test_who_has_finished_is_told_so(house):
    """No app is started for a finished set: the page says that it is finished, and how it went."""
    server, client, folder = house
    finish(server.made, result_file(folder / "room.set", "Ann", folder), "Ann")
    status, text = await got(client, server.link(server.seats.seats[0]))
    assert status == 200
    assert "You have finished this set. 1 of 2 questions right." in text
    assert "Opening your seat" not in text


async def test_a_result_that_cannot_be_opened_is_told_to_both(house, capsys):
    """The guest is sent to the leader, and the leader's terminal says which file and why."""
    server, client, folder = house
    path = result_file(folder / "room.set", "Ann", folder)
    path.write_text("not a result")
    status, text = await got(client, server.link(server.seats.seats[0]))
    assert (status, "Ask the leader" in text) == (200, True)
    told = capsys.readouterr().out
    assert told.startswith("Ann: ")
    assert str(path) in told
    assert len(told.splitlines()) == 1


@pytest.mark.skipif(not can_fork(), reason="apps are not forked here")
async def test_ctrl_c_and_errors_leave_no_traceback(house, capfd):
    """The terminal's Ctrl+C reaches the apps' parent too, which stays quiet; an app's error is one line of its own."""
    server, _, folder = house
    set_file = folder / "room.set"
    finish(server.made, result_file(set_file, "Ann", folder), "Ann")
    seat = {"set": str(set_file), "results": str(folder), "name": "Ann"}
    nursery = Nursery(set_file, dict(os.environ))
    try:
        for _ in range(2):  # the second is forked after the signal
            app = await nursery.fork(dict(os.environ) | {SEAT_VARIABLE: json.dumps(seat)})
            assert await asyncio.wait_for(app.wait(), 60) == 2
            errors = (await app.stderr.read()).decode()
            assert "has finished this set" in errors
            assert len(errors.splitlines()) == 1
            os.kill(nursery._process.pid, signal.SIGINT)  # as a terminal does
    finally:
        await nursery.close()
    assert "Traceback" not in capfd.readouterr().err


def keys_for(question):
    """Return the keys that give the right answer: a choice's letter, or the words and Enter."""
    right = kinds()[question.kind].solution(question).text
    lettered = question.choices and not question.typed and right in question.choices
    return "abcd"[question.choices.index(right)] if lettered else right + "\r"


class Screen:
    """Reads what an app writes, all the time, as a browser does."""

    def __init__(self, socket):
        self.socket, self.whole = socket, b""
        self.reading = asyncio.create_task(self.read())

    async def read(self):
        async for message in self.socket:
            if message.type is aiohttp.WSMsgType.BINARY:
                self.whole += message.data

    async def shows(self, text):
        for _ in range(300):
            if text.encode() in self.whole:
                return
            await asyncio.sleep(0.1)
        raise AssertionError(f"{text} was not shown")

    async def types(self, text):
        await self.socket.send_str(json.dumps(["stdin", text]))

    async def close(self):
        self.reading.cancel()
        await asyncio.gather(self.reading, return_exceptions=True)


@pytest.mark.parametrize(
    ("text", "size"), [("100", 100), ("1", 20), ("99999", 400), ("999999999", 80), ("-5", 80), ("x", 80), ("", 80)]
)
def test_sizes_are_bounded(text, size):
    """A page may not ask for a terminal of any size."""
    assert bounded(text, 400) == size
