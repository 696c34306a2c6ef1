"""Progress: along the syllabus, by skill, what was taken for what; every row leads to practising just that."""

from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from layoutdrill.screens.doors import DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from collections.abc import Mapping

    from layoutdrill.learning.progress import Progress


class ProgressScreen(DoorPage):
    """What has been learned."""

    name_of: ClassVar[str] = "progress"
    about: ClassVar[str] = (
        "What your answers show: how far each lesson's skills have come, how sure that is, and what you take for what. "
        "Enter on a skill or a pair practises it, leads to its lesson, shows the last mistakes with their pictures, or "
        "leaves its lesson out of Today. "
        "Mastered is what was right and in time in three of the last four answers, on three days, and after a week; "
        "held what was right without help on the last two days it was asked; weak what was right in less than six of "
        "ten of late; due what is asked again today; coming on all the others."
    )
    BINDINGS = bindings_for("progress")

    @mutable
    class ProgressRead(Message):
        """A worker worked it out."""

        rows: tuple[Row, ...]
        words: str

    def on_mount(self) -> None:
        self.head("Progress")
        self.say("reading your answers …")

    def on_screen_resume(self) -> None:
        timed, resting = self.bench.settings.timed, self.bench.settings.resting

        def work() -> None:
            from datetime import UTC, datetime  # noqa: PLC0415 - with the rest, in the worker

            from layoutdrill.drill.history import lesson_titles  # noqa: PLC0415 - read in the worker
            from layoutdrill.drill.learned import progress_now  # noqa: PLC0415 - the scheduler, after the paint

            try:
                progress = progress_now(datetime.now(UTC), timed=timed)
                rows, words = progress_rows(progress, lesson_titles(), resting), told_first(progress)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ProgressRead(rows, words))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_progress_screen_progress_read(self, message: ProgressRead) -> None:
        self.intro = message.words
        self.fill(message.rows)
        self.say(message.words)


def told_first(progress: "Progress") -> str:
    """Return the line above the list: how much was answered, and the first thing to do."""
    from layoutdrill.errors import plural  # noqa: PLC0415 - in a worker
    from layoutdrill.learning.wording import named  # noqa: PLC0415 - the same

    if not progress.answers:
        return "Nothing has been answered yet: take today's questions, or the first lesson."
    counted = f"{plural(progress.answers, 'answer')} on {plural(progress.days, 'day')}."
    if not progress.weakest:
        return counted
    weakest = progress.weakest[0]
    return f"{counted} Next: {named(weakest.key)}, {weakest.words}."


def progress_rows(
    progress: "Progress", titles: "Mapping[int, str]", resting: frozenset[int] = frozenset()
) -> tuple[Row, ...]:
    """
    Return the rows: the weakest, confusions, what carries over, the syllabus, skills, calibration; each leads on. The
    lessons that are `resting` are left out of the days' plans.
    """
    from layoutdrill.drill.progress_page import NO_SKILL, come, figures, lesson_bar  # noqa: PLC0415 - in a worker
    from layoutdrill.learning.sure import STEPS  # noqa: PLC0415 - the same
    from layoutdrill.learning.wording import confusion_name, named  # noqa: PLC0415 - the same

    rows: list[Row] = []
    known = {row.key for row in progress.skills}
    if progress.weakest:
        rows.append(Row("", "What helps most now"))
        rows += [
            Row(f"weak?:{'|'.join(filter(None, (each.key, each.against)))}", named(each.key), each.words)
            for each in progress.weakest
        ]
    if progress.confusions:
        rows.append(
            Row("", "Taken for something else", "Enter practises the two against each other, or shows the mistakes")
        )
        for each in progress.confusions[:8]:
            first, second = f"{each.group}: {each.true}", f"{each.group}: {each.said}"
            key = f"pair?:{first}|{second}" if second in known else f"mistakes:{first}"
            if key not in {row.key for row in rows}:  # mistakes of a skill are seen together
                rows.append(Row(key, confusion_name(each.group, each.true, each.said), "", f"{each.count} ×"))
    if progress.carried:
        rows.append(Row("", "What carries over", "decks kept for checking · practice in the two weeks before"))
        for over in progress.carried[::-1]:
            before = f"{over.at:%Y-%m-%d} · practice {figures(over.practice)}"
            rows.append(Row(f"check:{over.sitting}", over.title, before, f"{over.share.right} of {over.share.asked}"))
    rows.append(
        Row(
            "",
            "Along the syllabus",
            "a skill stands at the lesson that asks it first",
        )
    )
    known_lessons = {lesson.lesson: lesson for lesson in progress.lessons}
    for number in sorted({*known_lessons, *titles}):
        lesson = known_lessons.get(number)
        if lesson is None:
            rows.append(Row(f"number:{number}", titles[number], NO_SKILL))
            continue
        state = f"{lesson_bar(lesson)} {come(lesson)}"
        name = titles.get(lesson.lesson, f"lesson {lesson.lesson}")
        its = ", ".join(named(row.key) for row in progress.skills if row.lesson == lesson.lesson)
        left = "left out of Today; " if number in resting else ""
        about = f"{left}{lesson.begun} of {lesson.skills} begun: {its}"
        rows.append(Row(_way(lesson.lesson, progress), name, about, state))
    begun = [row for row in progress.skills if row.state != "not begun"]
    if begun:
        meaning = "right on new pictures with nothing shown to help, and the range in which the true share lies"
        rows.append(Row("", "Skills", meaning))
        for row in sorted(begun, key=lambda each: (not each.share.asked, each.share.part, each.key)):
            seconds = f" · {row.seconds:.0f} s" if row.seconds else ""
            rows.append(Row(f"skill?:{row.key}", named(row.key), figures(row.share), row.state + seconds))
    if progress.calibration:
        rows.append(Row("", "How sure, and how right", "Enter shows what was wrong all the same"))
        steps = {words: step for step, words in STEPS.items()}
        rows += [Row(f"wrong:{steps[share.name]}", share.name, figures(share)) for share in progress.calibration]
    return tuple(rows)


def _way(lesson: int, progress: "Progress") -> str:
    """Return what the row of a lesson opens: the lesson, or practice of what comes after all of them."""
    from layoutdrill.learning.skills import BEYOND  # noqa: PLC0415 - in a worker

    if lesson != BEYOND:
        return f"number:{lesson}"
    left = sorted((row for row in progress.skills if row.lesson == BEYOND), key=lambda row: row.state == "mastered")
    return "skill:" + "|".join(row.key for row in left)
