"""Entries that have their number and are not kept yet: below which number none can come to light any more.

A sequence of PostgreSQL gives out numbers when asked and not when they are kept, so 8 may be seen before 7.
Every transaction that adds entries holds a lock from before its first number to its end (a trigger takes it,
see `append_only`; it is shared, nobody waits for it). A lock is let go after what it covered can be seen. So,
when the highest number seen was `mark`, whoever may still bring one up to it is among those who held the lock
just after; once they have ended, nothing up to `mark` is missing from what is read from then on.

SQLite has one writer at a time, and gives the numbers in the order of commit.
"""

from __future__ import annotations

from typing import NamedTuple

from django.db import connection

WRITING = 0x65676775
"""The number PostgreSQL knows the lock of those who add entries by; any would do."""

# The highest number is of the moment the statement began, the locks are looked at after that.
LOOK = f"""
SELECT (SELECT COALESCE(MAX(seq), 0) FROM records_entry), ARRAY(
    SELECT virtualtransaction FROM pg_locks WHERE locktype = 'advisory' AND classid = 0 AND objid = {WRITING}
    AND objsubid = 1 AND database = (SELECT oid FROM pg_database WHERE datname = current_database()))
"""


class Mark(NamedTuple):
    """The highest number seen, and the transactions that were adding entries just after."""

    highest: int
    writers: frozenset[str]


class Floor(NamedTuple):
    """Up to `number` no entry can come to light any more; it rises to `mark` once its writers have ended."""

    number: int = 0
    mark: Mark = Mark(0, frozenset())

    def raised(self, now: Mark) -> Floor:
        """The floor of what is read after `now` was looked at."""
        if not now.writers:
            return Floor(now.highest, now)
        if self.mark.writers.isdisjoint(now.writers):
            return Floor(self.mark.highest, now)
        return self


def look() -> Mark:
    """Who is adding entries now. Asked before the moment that is then read."""
    if connection.vendor != "postgresql":
        return Mark(0, frozenset())
    with connection.cursor() as cursor:
        cursor.execute(LOOK)
        highest, writers = cursor.fetchone()
    return Mark(highest, frozenset(writers))
