"""
Play a month of a simulated learner through the real app: home, today's questions, glances, checks, progress.

`python -m tests.bench.month FOLDER [DAYS]` writes the screens as text and as SVG into the folder, and prints a line a
day. The clock is moved on by hand; the learner grows surer of a skill with every answer, and forgets a little each day.
"""

import asyncio
import os
import sys
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path

from layoutdrill.dice import Dice
from layoutdrill.question import Answer, kinds

START = datetime(2026, 2, 2, 18, 0, tzinfo=UTC)
PATIENCE = 1500


class Clock(datetime):
    """A clock that stands until it is moved on."""

    at = START

    @classmethod
    def now(cls, tz=None):
        Clock.at += timedelta(seconds=1)
        return Clock.at.astimezone(tz) if tz else Clock.at.replace(tzinfo=None)


def move_clocks():
    """Have every module that asks for the time ask this clock."""
    from layoutdrill.drill import opening, records, sitting
    from layoutdrill.screens import shelf, sittings

    for module in (opening, records, sitting, shelf, sittings):
        module.datetime = Clock
    import datetime as dt

    dt.datetime = Clock


class Someone:
    """Right with a chance that grows with practice of a skill and falls with the days since."""

    def __init__(self, dice):
        self.dice = dice
        self.times = Counter()
        self.last = {}

    def knows(self, skill, day):
        chance = min(0.95, 0.5 + 0.09 * self.times[skill]) * 0.99 ** (day - self.last.get(skill, day))
        self.times[skill] += 1
        self.last[skill] = day
        return self.dice.fraction() < chance


async def until(pilot, test):
    for _ in range(PATIENCE):
        if test():
            return
        await pilot.pause(0.02)
    raise TimeoutError(type(pilot.app.screen).__name__, getattr(pilot.app.screen, "phase", ""))


def answer_of(question, right):
    """Return a right answer, or a wrong one where there is a choice of them."""
    kind = kinds()[question.kind]
    if not right:
        for choice in question.choices:
            with suppress(Exception):
                answer = kind.accept(question, choice)
                if kind.grade(question, answer).credit == 0:
                    return answer
        return Answer(point=(-(10**6), -(10**6))) if question.pointed else None
    return kind.solution(question)


async def drill(pilot, someone, day):
    """Answer all questions of the drill that is open; return how many were right of how many."""
    screen = pilot.app.screen
    right = asked = 0
    while True:
        await until(pilot, lambda: screen.phase in ("asking", "done", "failed"))
        if screen.phase == "done":
            return right, asked
        if screen.phase == "failed":
            await pilot.press("escape", "enter")
            continue
        at, question = screen.at, screen.asked
        knows = someone.knows(screen.sitting.plan[at].skill or question.kind, day)
        await until(pilot, lambda: screen.picture.stands or screen.picture.masked)
        screen._judge(answer_of(question, knows))
        if screen.phase == "sure":
            await pilot.press("3" if knows else "1")
        await until(pilot, lambda at=at: screen.phase in ("judged", "done") or screen.at != at)
        asked += 1
        if screen.phase == "judged":
            right += screen.verdict.correct
            await pilot.press("enter")


async def open_row(pilot, sort):
    """Open the row of home of a sort; tell whether there is one."""
    from layoutdrill.screens.drill_screen import DrillScreen

    home = pilot.app.screen
    await until(pilot, lambda: any(row.key.startswith("today:") for row in home.rows))
    keys = [row.key for row in home.rows if row.key.startswith(f"{sort}:")]
    if not keys:
        return False
    home.chosen(keys[0])
    await until(pilot, lambda: isinstance(pilot.app.screen, DrillScreen))
    return True


def shoot(app, folder, name):
    (folder / f"{name}.svg").write_text(app.export_screenshot(), encoding="utf-8")
    width = app.size.width
    lines = [
        "".join(segment.text for segment in strip)[:width].rstrip() for strip in app.screen._compositor.render_strips()
    ]
    (folder / f"{name}.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


async def one_day(day, someone, folder, size):
    """Play a day: today's questions first, then what else home offers of the day; then look at progress."""
    from layoutdrill.screens.app import BenchApp, StartRequest
    from layoutdrill.screens.progress_screen import ProgressScreen

    app = BenchApp(StartRequest())
    told = []
    async with app.run_test(size=size) as pilot:
        for sort in ("check", "today", "glance"):
            if await open_row(pilot, sort):
                if sort == "today":
                    shoot(app, folder, f"{day:02}-drill")
                right, asked = await drill(pilot, someone, day)
                told.append(f"{sort} {right} of {asked}")
                shoot(app, folder, f"{day:02}-{sort}-end")
                await pilot.press("escape")
                await pilot.pause(0.1)
        await until(pilot, lambda: any(row.key.startswith("today:") for row in app.screen.rows))
        shoot(app, folder, f"{day:02}-home")
        app.push_screen(ProgressScreen())
        await pilot.pause(0.1)
        await until(pilot, lambda: any(row.key for row in app.screen.rows))
        shoot(app, folder, f"{day:02}-progress")
    print(f"day {day + 1}: {', '.join(told)}", flush=True)


def main(folder, days):
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["LAYOUTDRILL_HOME"] = str(folder / "home")
    move_clocks()
    someone = Someone(Dice(11))
    for day in range(days):
        Clock.at = START + timedelta(days=day)
        asyncio.run(one_day(day, someone, folder, (120, 40) if day % 2 else (80, 24)))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 30)
