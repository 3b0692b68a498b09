"""Processes share out work; none that dies or hangs stops the rest."""

import sys
from pathlib import Path

import pytest

from evenrow.batch.pool import Lost, Pool

sys.path.insert(0, str(Path(__file__).parent))  # the processes find their work by its module

from batch_helpers import Clumsy, Stillborn


def outcomes(jobs, processes, time_limit=None):
    found = dict(Pool(Clumsy(), processes, time_limit).map(jobs))
    assert sorted(found) == list(range(len(jobs)))
    return [found[number] for number in range(len(jobs))]


def test_every_job_is_done_once_and_known_by_its_number():
    jobs = [str(number) for number in range(25)]
    assert outcomes(jobs, 2) == [f"{job} done" for job in jobs]


def test_a_process_that_dies_costs_its_own_job_alone():
    found = outcomes(["a", "die", "b", "c", "die", "d"], 2)
    assert [isinstance(each, Lost) for each in found] == [False, True, False, False, True, False]
    assert "(7)" in found[1].why


def test_one_process_that_always_dies_goes_through_all():
    assert all(isinstance(each, Lost) for each in outcomes(["die"] * 3, 1))


def test_a_job_that_hangs_is_given_up():
    found = outcomes(["a", "sleep", "b"], 1, time_limit=1.0)
    assert found[0] == "a done"
    assert found[1] == Lost("it took longer than 1 s")
    assert found[2] == "b done"


def test_processes_that_cannot_begin_are_an_error_not_a_loop():
    with pytest.raises(RuntimeError, match="__main__"):
        list(Pool(Stillborn(), 2).map(["a", "b"]))


def test_leaving_early_leaves_no_process_behind():
    pool = Pool(Clumsy(), 2)
    found = pool.map(["a", "sleep", "b"])
    next(found)
    processes = [worker.process for worker in pool._workers]
    found.close()
    assert len(processes) == 2
    assert not any(process.is_alive() for process in processes)


def test_nothing_to_do_starts_nothing():
    assert outcomes([], 4) == []
