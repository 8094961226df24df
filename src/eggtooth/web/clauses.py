"""The first clause of a long reason, so that a phone shows the rest only when asked."""

from __future__ import annotations

import re
from itertools import pairwise

from eggtooth.engine.rounds import Task, Todo

SHORT, LEAST = 60, 12
WHOLE = frozenset({Todo.EGGS_DUE, Todo.HATCH_DUE, Todo.HATCHLING, Todo.LOOK_INTO})
"""Lines whose reason also says what to do, or what not to."""
_END = re.compile(r"[;:] ")


def told_apart(task: Task, why: str) -> tuple[str, str]:
    """A reason (as its reader reads it) as its first clause, or the clauses that go on its two lines of a
    phone, and the rest, which may be empty. What sends somebody to a vet is never put away.
    """
    if len(why) <= SHORT or task.todo in WHOLE or "reptile vet" in task.why:
        return why, ""
    starts = [0, *(m.start() for m in _END.finditer(why))]
    ends = [end for start, end in pairwise(starts) if end - start >= LEAST]
    end = max((e for e in ends if e <= SHORT), default=min(ends, default=len(why)))
    return why[:end], why[end:]
