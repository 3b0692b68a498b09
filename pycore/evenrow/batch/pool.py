"""Processes that share out work, of which none can stop the rest.

`concurrent.futures` gives all of its work up when one process dies, and cannot end work that
takes too long.  Here each process has a pipe of its own, so that it is known which job it had:
that job is lost, another process takes its place, and the others go on.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, Protocol

from evenrow.words import tr

#: Jobs that a process has at once: the one at work and the one that follows without waiting.
AHEAD = 2
#: How long an ended process may take to be gone. [s]
GONE = 10.0
_READY = "ready"

#: Started anew, not forked: a fork copies locks that threads of NumPy may hold.
_CONTEXT = multiprocessing.get_context("spawn")


class Task(Protocol):
    """What the processes do; it and its jobs are pickled."""

    def begin(self, stack: ExitStack) -> None:
        """Prepare a process, once."""

    def __call__(self, job: Any) -> Any:
        """Do one job."""


@dataclass(frozen=True)
class Lost:
    """A job that a process did not finish, and why."""

    why: str


@dataclass
class _Worker:
    """A process, its pipe, and the numbers of the jobs that it has, first the one at work."""

    process: BaseProcess
    pipe: Connection
    ready: bool = False
    jobs: deque[int] = field(default_factory=deque)
    since: float = 0.0


def available() -> int:
    """Return how many processes can run at once here."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _serve(pipe: Connection, task: Task) -> None:
    """Do what comes through the pipe until nothing comes."""
    # Ctrl-C reaches every process of a terminal; only the first one answers it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with ExitStack() as stack:
        task.begin(stack)
        pipe.send(_READY)
        while True:
            try:
                job = pipe.recv()
            except EOFError:
                return
            pipe.send(task(job))


class Pool:
    """Processes that do a task.

    Parameters
    ----------
    task : Task
        What they do.
    processes : int
        How many.
    time_limit : float, optional
        Longest time for one job; a process that takes longer is ended. [s]
    """

    def __init__(self, task: Task, processes: int, time_limit: float | None = None) -> None:
        self._task = task
        self._count = processes
        self._limit = time_limit
        self._workers: list[_Worker] = []

    def map(self, jobs: Iterable[Any]) -> Iterator[tuple[int, Any]]:
        """Yield the number of each job with what became of it, as they come.

        Raises
        ------
        RuntimeError
            When a process ends before it began, as where a script calls this without
            ``if __name__ == "__main__":``.
        """
        every = list(jobs)
        left = deque(range(len(every)))
        try:
            self._workers = [self._start() for _ in range(min(self._count, len(every)))]
            while left or any(worker.jobs for worker in self._workers):
                for worker in wait([w.pipe for w in self._workers], self._patience()):
                    yield from self._hear(self._of(worker), every, left)
                yield from self._end_late(left)
        finally:
            self._end()

    def _of(self, pipe: Any) -> _Worker:
        return next(worker for worker in self._workers if worker.pipe is pipe)

    def _start(self) -> _Worker:
        ours, theirs = _CONTEXT.Pipe()
        process = _CONTEXT.Process(target=_serve, args=(theirs, self._task), daemon=True)
        process.start()
        theirs.close()
        return _Worker(process, ours)

    def _hear(self, worker: _Worker, every: list[Any], left: deque[int]) -> Iterator[Any]:
        try:
            said = worker.pipe.recv()
        except (EOFError, ConnectionError):
            yield from self._replace(worker, left, self._death(worker))
            return
        if worker.ready:
            worker.since = time.monotonic()
            yield worker.jobs.popleft(), said
        worker.ready = True
        self._feed(worker, every, left)

    def _feed(self, worker: _Worker, every: list[Any], left: deque[int]) -> None:
        """Give a process what it may have; it was heard a moment ago."""
        while left and len(worker.jobs) < AHEAD:
            if not worker.jobs:
                worker.since = time.monotonic()
            # Near the end the last jobs are not kept waiting behind others.
            if worker.jobs and len(left) < len(self._workers):
                return
            number = left.popleft()
            worker.jobs.append(number)
            try:
                worker.pipe.send(every[number])
            except OSError:
                return  # it has ended, which is heard next

    def _death(self, worker: _Worker) -> str:
        worker.process.join(GONE)
        return tr("the process that worked on it ended ({code})", code=worker.process.exitcode)

    def _replace(self, worker: _Worker, left: deque[int], why: str) -> Iterator[Any]:
        """Put another process in the place of one that has ended; its next job is still to do."""
        if not worker.ready:
            raise RuntimeError(
                "a process of the batch ended before it began; a script that starts one needs "
                'if __name__ == "__main__":'
            )
        lost = worker.jobs.popleft() if worker.jobs else None
        left.extendleft(reversed(worker.jobs))
        worker.pipe.close()
        self._workers.remove(worker)
        if left:
            self._workers.append(self._start())
        if lost is not None:
            yield lost, Lost(why)

    def _patience(self) -> float | None:
        """Return how long to wait for the next word, None for ever [s]."""
        busy = [worker.since for worker in self._workers if worker.jobs]
        if self._limit is None or not busy:
            return None
        return max(0.0, min(busy) + self._limit - time.monotonic())

    def _end_late(self, left: deque[int]) -> Iterator[Any]:
        if self._limit is None:
            return
        now = time.monotonic()
        for worker in list(self._workers):
            if worker.jobs and now - worker.since > self._limit and not worker.pipe.poll():
                worker.process.kill()
                worker.process.join(GONE)
                why = tr("it took longer than {limit:g} s", limit=self._limit)
                yield from self._replace(worker, left, why)

    def _end(self) -> None:
        """End every process: at rest by closing its pipe, at work by ending it."""
        for worker in self._workers:
            worker.pipe.close()
            if worker.jobs:
                worker.process.kill()
        for worker in self._workers:
            worker.process.join(GONE)
            if worker.process.is_alive():
                worker.process.kill()
        self._workers.clear()
