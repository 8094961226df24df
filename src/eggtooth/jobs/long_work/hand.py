"""The process that does the work of a worker, one question after another, and lays the answers on the shelf.

It is a process of its own, so that the worker goes on telling that it is there while a solver keeps Python
busy, and outlives it when the machine's memory is full. Questions come as lines; after each a line goes back.
It ends with its input, so a worker that was killed leaves nobody behind.
"""

from __future__ import annotations

import os
import sys
import traceback

from eggtooth.jobs.gather import StoreFault, from_store, open_store
from eggtooth.jobs.long_work import queue, shelf
from eggtooth.jobs.long_work.questions import Question, state, worked_out

SECONDS = 60.0
"""How long a search may go on, where no page waits for it."""
DONE, AGAIN = "done", "again"


def main() -> None:
    """Work until the input ends, or the store does not answer."""
    from django.db import DatabaseError

    told = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # what a library prints is not an answer
    for line in sys.stdin:
        try:
            open_store()
            answer(Question.read(line))
        except (StoreFault, DatabaseError) as fault:
            print(f"the store cannot be used: {fault}", file=sys.stderr, flush=True)
            print(AGAIN, file=told, flush=True)
            return
        print(DONE, file=told, flush=True)


def answer(question: Question) -> None:
    """Work a question out for the store as it is now, unless that was done already."""
    from django.db import DatabaseError

    source = from_store()
    now = state(question, source)
    with queue.connected() as connection:
        if any(found.state == now and not found.fault for found in shelf.of(connection, question.digest)):
            return
    found, refusal, fault = None, "", ""
    try:
        found = worked_out(question, source, SECONDS)
    except ValueError as wrong:
        refusal = str(wrong)
    except DatabaseError:
        raise  # nothing is wrong with the question: it is taken up again
    except Exception as wrong:
        traceback.print_exc()
        fault = f"{type(wrong).__name__}: {wrong}"
    with queue.connected() as connection:
        shelf.put(connection, question.digest, now, found, refusal, fault)


if __name__ == "__main__":
    main()
