"""Answers on a shelf in the database: the latest few of each question, each with the state it rests on.

An answer is a pickle signed with the store's secret key: a pickle can hold anything, so one that was not put
there by a process with that key is never opened.
"""

from __future__ import annotations

import hmac
import pickle
import zlib
from datetime import datetime
from hashlib import sha256
from threading import Lock
from typing import Any, NamedTuple

from eggtooth.records.place import secret_key, store_path

MOST_STATES, MOST_DAYS = 3, 30
SIGNED = 32

TABLE = """
CREATE TABLE IF NOT EXISTS answers (
    question text NOT NULL, state text NOT NULL, made_at timestamptz NOT NULL DEFAULT now(),
    body bytea, refusal text, fault text, PRIMARY KEY (question, state))
"""
PUT = """
INSERT INTO answers (question, state, body, refusal, fault) VALUES (%s, %s, %s, %s, %s)
ON CONFLICT (question, state) DO UPDATE SET made_at = now(), body = EXCLUDED.body,
    refusal = EXCLUDED.refusal, fault = EXCLUDED.fault
"""
LYING = """
SELECT state, made_at, body IS NOT NULL, refusal, fault FROM answers WHERE question = %s ORDER BY made_at DESC
"""
BODY = "SELECT body FROM answers WHERE question = %s AND state = %s AND made_at = %s"
PRUNE = """
DELETE FROM answers a WHERE a.made_at < now() - make_interval(days => %s)
OR (a.question = %s AND a.made_at < (SELECT MIN(made_at) FROM (
    SELECT made_at FROM answers WHERE question = %s ORDER BY made_at DESC LIMIT %s) latest))
"""


MOST_OPENED = 12
_opened: dict[tuple[str, str, datetime], Any] = {}
_one_at_a_time = Lock()


class Found(NamedTuple):
    """An answer, or the reason why it cannot be asked so (`refusal`), or what went wrong (`fault`)."""

    state: str
    made_at: datetime
    answer: Any = None
    refusal: str = ""
    fault: str = ""


def of(connection: Any, question: str) -> list[Found]:
    """What lies there for a question, the latest first. What cannot be read is passed over."""
    rows = connection.execute(LYING, [question]).fetchall()
    found = []
    for state, made_at, has_body, refusal, fault in rows:
        answer = _answer(connection, question, state, made_at) if has_body else None
        if answer is not None or not has_body:
            found.append(Found(state, made_at, answer, refusal or "", fault or ""))
    return found


def _answer(connection: Any, question: str, state: str, made_at: datetime) -> Any:
    """The answer laid down then, opened once a process: a season's review takes a second to open."""
    key = question, state, made_at
    with _one_at_a_time:
        if key in _opened:
            return _opened[key]
    row = connection.execute(BODY, [question, state, made_at]).fetchone()
    answer = opened(bytes(row[0])) if row and row[0] is not None else None
    with _one_at_a_time:
        _opened[key] = answer
        while len(_opened) > MOST_OPENED:
            _opened.pop(next(iter(_opened)))
    return answer


def put(
    connection: Any, question: str, state: str, answer: Any = None, refusal: str = "", fault: str = ""
) -> None:
    """Lay down what came of a question; older states of it go."""
    body = None if refusal or fault else closed(answer)
    connection.execute(PUT, [question, state, body, refusal or None, fault or None])
    connection.execute(PRUNE, [MOST_DAYS, question, question, MOST_STATES])


def forget_faults(connection: Any, question: str) -> None:
    """Take away what went wrong, so that the question is asked again."""
    connection.execute("DELETE FROM answers WHERE question = %s AND fault IS NOT NULL", [question])


def closed(answer: Any) -> bytes:
    """An answer as signed bytes."""
    body = zlib.compress(pickle.dumps(answer))
    return _signature(body) + body


def opened(signed: bytes) -> Any:
    """The answer; nothing when it was not signed here, or is of a form this code does not know."""
    signature, body = signed[:SIGNED], signed[SIGNED:]
    if not hmac.compare_digest(signature, _signature(body)):
        return None
    try:
        return pickle.loads(zlib.decompress(body))
    except (AttributeError, ImportError, TypeError, pickle.UnpicklingError):
        return None


def _signature(body: bytes) -> bytes:
    key = secret_key(store_path().absolute())
    return hmac.new(f"long work {key}".encode(), body, sha256).digest()
