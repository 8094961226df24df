"""The worker: takes long work from the queue and has it done by a process of its own (`hand`).

Work whose worker is gone is begun again; what has taken its worker along three times is not, and is told as
failed.
"""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any

from eggtooth.jobs.long_work import queue, shelf
from eggtooth.jobs.long_work.hand import AGAIN, DONE
from eggtooth.jobs.long_work.questions import Question

HAND = (sys.executable, "-m", "eggtooth.jobs.long_work.hand")
BEAT_SECONDS, LOOK_SECONDS = 5.0, 10.0
MOST_SECONDS = 600.0
MOST_ATTEMPTS = 3
GRACE_SECONDS = 5.0
Tell = Callable[[str], None]


class NotNow(Exception):
    """The store did not answer; nothing is wrong with the question."""


class Hand:
    """The process that works, started when it is first needed and again when it has ended."""

    def __init__(self, command: Sequence[str]) -> None:
        """Nothing is started yet."""
        self.command = command
        self.process: asyncio.subprocess.Process | None = None

    async def works_on(self, question: Question) -> str:
        """Have a question worked out; returns what went wrong, or nothing. Raises `NotNow`."""
        process = await self._running()
        assert process.stdin and process.stdout
        try:
            process.stdin.write(f"{question.text()}\n".encode())
            await process.stdin.drain()
            said = await asyncio.wait_for(process.stdout.readline(), MOST_SECONDS)
        except TimeoutError:
            await self.stop()
            return f"it took longer than {MOST_SECONDS / 60:.0f} minutes"
        except (BrokenPipeError, ConnectionResetError):
            said = b""
        answer = said.decode().strip()
        if answer == AGAIN:
            raise NotNow
        if answer == DONE:
            return ""
        code = await process.wait()
        return f"the process that worked on it ended by itself ({code}); was the machine's memory full?"

    async def stop(self) -> None:
        """End the process, whatever it is doing."""
        if self.process and self.process.returncode is None:
            with suppress(ProcessLookupError):
                self.process.kill()
            await self.process.wait()

    async def _running(self) -> asyncio.subprocess.Process:
        if self.process is None or self.process.returncode is not None:
            pipe = asyncio.subprocess.PIPE
            self.process = await asyncio.create_subprocess_exec(*self.command, stdin=pipe, stdout=pipe)
        return self.process


def work(tell: Tell, once: bool = False, hand: Sequence[str] = HAND) -> None:
    """Work until the process is told to stop; with `once` until nothing waits. Raises Django's faults."""
    with queue.connected():
        pass  # the schema is there from here on
    asyncio.run(_work(tell, once, Hand(hand)))


async def _work(tell: Tell, once: bool, hand: Hand) -> None:
    from procrastinate import App, PsycopgConnector

    app = App(connector=PsycopgConnector(conninfo=queue.address(), min_size=1, max_size=4))

    @app.task(name=queue.TASK, queue=queue.QUEUE)
    async def work_out(question: str, state: str) -> None:
        asked = Question.read(question)
        tell(f"working out: {asked.words()}")
        wrong = await hand.works_on(asked)
        if wrong:
            await asyncio.to_thread(_failed, asked, state, wrong)
        tell(f"failed: {asked.words()}: {wrong}" if wrong else f"done: {asked.words()}")

    async with app.open_async():
        await _take_up(app, tell)
        looking = asyncio.create_task(_keep_looking(app, tell))
        try:
            await app.run_worker_async(
                queues=[queue.QUEUE],
                concurrency=1,
                wait=not once,
                delete_jobs="always",
                update_heartbeat_interval=BEAT_SECONDS,
                stalled_worker_timeout=queue.ALIVE_SECONDS,
                shutdown_graceful_timeout=GRACE_SECONDS,
            )
        finally:
            looking.cancel()
            await hand.stop()


async def _keep_looking(app: Any, tell: Tell) -> None:
    from procrastinate.exceptions import ConnectorException

    while True:
        await asyncio.sleep(LOOK_SECONDS)
        with suppress(ConnectorException):  # the database is away; the worker itself tells of it
            await _take_up(app, tell)


async def _take_up(app: Any, tell: Tell) -> None:
    """Put back what a worker had begun that is gone, or give it up."""
    from procrastinate.exceptions import ConnectorException
    from procrastinate.jobs import Status

    jobs = app.job_manager
    for job in await jobs.get_stalled_jobs(queue=queue.QUEUE, seconds_since_heartbeat=queue.ALIVE_SECONDS):
        asked = Question.read(job.task_kwargs["question"])
        with suppress(ConnectorException):  # another worker was quicker
            if job.attempts + 1 < MOST_ATTEMPTS:
                await jobs.retry_job(job)
                tell(f"taken up again: {asked.words()}")
                continue
            wrong = f"its worker ended {MOST_ATTEMPTS} times while it worked on this"
            await jobs.finish_job(job, Status.FAILED, delete_job=True)
            await asyncio.to_thread(_failed, asked, job.task_kwargs["state"], wrong)
            tell(f"given up: {asked.words()}: {wrong}")


def _failed(question: Question, state: str, wrong: str) -> None:
    with queue.connected() as connection:
        shelf.put(connection, question.digest, state, fault=wrong)
