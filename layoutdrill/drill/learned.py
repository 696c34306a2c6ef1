"""What has been learned, from the records as they are: the one way that shell and screen take."""

from datetime import datetime
from pathlib import Path

from layoutdrill.drill.answered import totals
from layoutdrill.drill.checking import carried, checked
from layoutdrill.drill.history import attempts, syllabus
from layoutdrill.drill.records import kept_records
from layoutdrill.learning.progress import Progress, progress_of


def progress_now(now: datetime, *, timed: bool = True, records: Path | None = None) -> Progress:
    """
    Return what the answers show at `now`: shares are of the last answers of each skill, totals of all. Slow: it reads
    the lessons and the answers. Raises LayoutdrillError where the records cannot be read.
    """
    with kept_records(records) as file:
        if file is None:
            return progress_of(syllabus(), (), now, timed=timed)
        answers, counts = attempts(file), totals(file)
    helped = carried(checked(records), answers)
    return progress_of(syllabus(), answers, now, totals=counts, carried=helped, timed=timed)
