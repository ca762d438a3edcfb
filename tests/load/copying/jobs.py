"""A job that is easy to count."""

import time

from fleet.jobs.run import Run
from tests.load.copying.models import Copied


def copy(run: Run) -> dict[str, int]:
    """Write the chunks * rows numbers from `offset` (0 by default) on, one chunk a step."""
    chunks, rows, offset = run.arguments["chunks"], run.arguments["rows"], run.arguments.get("offset", 0)
    for chunk in range(0 if run.chunk is None else run.chunk + 1, chunks):
        first = chunk * rows
        with run.step(chunk=chunk, done=first + rows, total=chunks * rows, message=f"chunk {chunk + 1} of {chunks}"):
            for number in range(offset + first, offset + first + rows):
                Copied.objects.create(number=number)
        time.sleep(0.1)
    return {"rows": chunks * rows}
