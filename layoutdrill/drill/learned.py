"""What has been learned, from the records as they are: the one way that shell and screen take."""

from datetime import datetime
from pathlib import Path

from layoutdrill.drill.answered import totals
from layoutdrill.drill.checking import carried, checked
from layoutdrill.drill.history import attempts, syllabus
from layoutdrill.drill.records import Records
from layoutdrill.learning.progress import Progress, progress_of
from layoutdrill.locations import records_file


def progress_now(now: datetime, *, timed: bool = True, records: Path | None = None) -> Progress:
    """
    Return what the answers show at `now`: shares are of the last answers of each skill, totals of all. Slow: it reads
    the lessons and the answers. Raises LayoutdrillError where the records cannot be read.
    """
    path = records or records_file()
    if not path.exists():
        return progress_of(syllabus(), (), now, timed=timed)
    file = Records(path)
    try:
        answers, counts = attempts(file), totals(file)
    finally:
        file.close()
    return progress_of(syllabus(), answers, now, totals=counts, carried=carried(checked(path), answers), timed=timed)
