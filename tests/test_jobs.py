"""Jobs in real processes: told, kept, stopped, killed, bounded; nothing of them is left running."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator, Callable

import pytest

from fleet import job_process, job_reckonings, jobs
from fleet.clock import SystemClock
from fleet.errors import InvalidRequest, JournalUnavailable, LimitReached, NotFound
from fleet.job_child import BEHIND_OTHERS, EXIT_ALONE
from fleet.job_messages import Asked as AskedOfProcess
from fleet.job_messages import Broken, line_of
from fleet.job_process import JobProcess
from fleet.job_works import CHECK, FIND
from fleet.jobs import Asked, Ended, Jobs, Kept
from fleet.model.job import Job, JobState
from tests import odd_job
from tests.api.fake_plans import PLAN, REQUEST

WITHIN_S = 60.0
CROWDED = {**REQUEST, "group": [{"name": "House", "zone": "House", "profile": "analog", "count": 40}]}


class Bench:
    """Jobs, what was told of them, their processes and what was kept."""

    def __init__(self) -> None:
        self.jobs = Jobs(SystemClock())
        self.jobs.tell(self._changed)
        self.told: list[Job] = []
        self.kept: list[Ended] = []
        self.processes: list[JobProcess] = []
        self.kept_fails: Exception | None = None
        self.news = asyncio.Event()

    def _changed(self, job: Job) -> None:
        self.told.append(job)
        self.news.set()

    async def until(self, found: Callable[[Job], bool]) -> Job:
        """Wait until something that is told of a job is what was waited for."""
        async with asyncio.timeout(WITHIN_S):
            while True:
                for job in self.told:
                    if found(job):
                        return job
                self.news.clear()
                await self.news.wait()

    async def keep(self, ended: Ended) -> Kept:
        if self.kept_fails is not None:
            raise self.kept_fails
        self.kept.append(ended)
        return Kept(7)

    def find(self, subject: str = "plan/quay", *, seed: int = 1, steps: int = 0) -> Job:
        """Begin a search that doesn't come to its end by itself within the test, unless steps are given."""
        plan = {"title": "The Lamp", "request": CROWDED}
        arguments = {"file": subject, "plan": plan, "seed": seed, "seconds": WITHIN_S, "steps": steps}
        return self.jobs.start(Asked(FIND, arguments, subject, "Engineer", WITHIN_S), self.keep)

    def odd(self, does: str, subject: str = "plan/quay", seconds: float = WITHIN_S) -> Job:
        return self.jobs.start(Asked("odd", {"does": does}, subject, "Engineer", seconds), self.keep)

    async def ended(self, job: Job) -> Job:
        async with asyncio.timeout(WITHIN_S):
            return await self.jobs.ended(job.job_id)

    def all_gone(self) -> bool:
        """Whether every process that was started is gone: its number names nothing."""
        return bool(self.processes) and not any(is_there(one.process_id) for one in self.processes)


def is_there(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.fixture
async def bench(monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Bench]:
    made = Bench()
    start = JobProcess.start

    async def watched() -> JobProcess:
        made.processes.append(await start())
        made.news.set()
        return made.processes[-1]

    monkeypatch.setattr(JobProcess, "start", watched)
    yield made
    async with asyncio.timeout(WITHIN_S):
        await made.jobs.close()
    assert not made.processes or made.all_gone()


@pytest.fixture
def oddly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have processes that do what no good one does."""
    monkeypatch.setattr(job_process, "MODULE", odd_job.__name__)


async def test_the_same_seed_and_steps_find_the_same_in_two_processes_and_it_is_kept(bench: Bench) -> None:
    first, second = bench.find("plan/one", steps=3), bench.find("plan/two", steps=3)
    one, two = await bench.ended(first), await bench.ended(second)
    assert (one.state, one.revision, one.progress) == (JobState.DONE, 7, 1.0)
    assert one.best is not None
    assert one.best == two.best
    assert one.best.steps == 3
    assert "after 3 steps" in one.words
    assert [ended.best for ended in bench.kept] == [one.best, one.best]
    assert one.seconds >= bench.kept[0].seconds > 0.0
    told = [job for job in bench.told if job.job_id == first.job_id]
    assert [job.progress for job in told] == sorted(job.progress for job in told)
    best = [len(job.best.carriers) for job in told if job.best is not None]
    assert best == sorted(best)


async def test_a_job_that_is_stopped_keeps_the_best_it_had_and_takes_second_place(bench: Bench) -> None:
    job = bench.find()
    running = await bench.until(lambda one: one.best is not None)
    nice = os.getpriority(os.PRIO_PROCESS, bench.processes[0].process_id)
    assert nice == min(19, os.getpriority(os.PRIO_PROCESS, 0) + BEHIND_OTHERS)
    assert bench.jobs.job(job.job_id).seconds > 0.0
    stopped = await bench.jobs.stop(job.job_id)
    assert (stopped.state, stopped.revision) == (JobState.STOPPED, 7)
    assert stopped.best is not None
    assert running.best is not None
    assert len(stopped.best.carriers) >= len(running.best.carriers)
    assert bench.kept[0].best == stopped.best
    assert bench.kept[0].result
    assert await bench.jobs.stop(job.job_id) == stopped, "one that is over stays as it is"
    assert bench.all_gone()


async def test_a_process_that_is_killed_is_a_failed_job_that_says_so_and_its_best_is_kept(bench: Bench) -> None:
    job = bench.find()
    await bench.until(lambda one: one.best is not None)
    os.kill(bench.processes[0].process_id, signal.SIGKILL)
    failed = await bench.ended(job)
    assert (failed.state, failed.words) == (JobState.FAILED, "its process was ended by signal 9 (SIGKILL)")
    assert (failed.revision, bench.kept[0].result) == (7, {})
    again = bench.find(steps=1)
    assert (await bench.ended(again)).state is JobState.DONE, "others go on"


@pytest.mark.usefixtures("oddly")
async def test_one_that_does_not_stop_is_killed_and_what_it_told_is_kept(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "STOP_WITHIN_S", 0.01)
    job = bench.odd("hang")
    await bench.until(lambda one: one.best is not None)
    stopped = await bench.jobs.stop(job.job_id)
    assert (stopped.state, stopped.words, stopped.progress) == (JobState.STOPPED, "hangs", 0.4)
    assert bench.kept[0].best == odd_job.BEST
    assert bench.all_gone()


@pytest.mark.usefixtures("oddly")
async def test_one_that_takes_longer_than_it_may_is_ended(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "STOP_WITHIN_S", 0.0)
    monkeypatch.setattr(jobs, "LATE_S", 0.0)
    job = await bench.ended(bench.odd("hang", seconds=0.0))
    told = [(JobState.FAILED, None), (JobState.DONE, odd_job.BEST)]
    assert (job.state, job.best) in told, "as far as it came by then"
    assert job.best is not None or job.words == "its time was over before it had found anything"
    assert bench.all_gone()


@pytest.mark.usefixtures("oddly")
@pytest.mark.parametrize(
    ("does", "words"),
    [
        ("babble", "no answer"),
        ("say too much", "no answer"),
        ("break off", "exit code 0 and no answer"),
        ("end early", "exit code 7 and no answer: the roof leaks"),
    ],
)
async def test_a_process_that_makes_no_sense_is_a_failed_job(bench: Bench, does: str, words: str) -> None:
    job = await bench.ended(bench.odd(does))
    assert job.state is JobState.FAILED
    assert words in job.words
    assert (job.best, job.revision, bench.kept) == (None, None, [])


@pytest.mark.usefixtures("oddly")
async def test_a_few_run_some_wait_their_turn_and_more_are_refused(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "STOP_WITHIN_S", 0.01)
    running = [bench.odd("hang", f"plan/{number}") for number in range(jobs.AT_ONCE_MAXIMUM)]
    waiting = [bench.odd("end", f"plan/w{number}") for number in range(jobs.WAITING_MAXIMUM)]
    assert {job.state for job in running} == {JobState.RUNNING}
    assert {job.state for job in waiting} == {JobState.WAITING}
    with pytest.raises(LimitReached, match="jobs that wait"):
        bench.odd("end", "plan/one-more")
    with pytest.raises(InvalidRequest, match="a job for this is under way"):
        bench.odd("end", "plan/0")
    gone = await bench.jobs.stop(waiting[0].job_id)
    assert (gone.state, gone.words) == (JobState.STOPPED, "stopped before its turn")
    os.kill(await _process_id(bench, 0), signal.SIGKILL)
    for job in waiting[1:]:
        assert (await bench.ended(job)).state is JobState.DONE
    assert next(job.subject for job in bench.jobs.all()) == waiting[-1].subject, "the newest first"


async def _process_id(bench: Bench, index: int) -> int:
    await bench.until(lambda job: job.best is not None)
    return bench.processes[index].process_id


@pytest.mark.usefixtures("oddly")
async def test_the_console_s_end_ends_all_of_them_with_their_best(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "STOP_WITHIN_S", 0.01)
    under_way = bench.odd("hang")
    others = [bench.odd("hang", f"plan/{number}") for number in range(3)]
    await bench.until(lambda job: job.job_id == under_way.job_id and job.best is not None)
    await bench.jobs.close()
    assert {job.state for job in bench.jobs.all()} == {JobState.STOPPED}
    assert bench.jobs.job(under_way.job_id).revision == 7
    assert bench.jobs.job(others[-1].job_id).revision is None
    assert bench.all_gone()
    with pytest.raises(InvalidRequest, match="stopping"):
        bench.odd("end", "plan/late")


@pytest.mark.usefixtures("oddly")
async def test_what_ended_long_ago_is_forgotten(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "ENDED_KEPT", 1)
    first = await bench.ended(bench.odd("end"))
    second = await bench.ended(bench.odd("end"))
    assert bench.jobs.all() == (second,)
    with pytest.raises(NotFound):
        bench.jobs.job(first.job_id)


@pytest.mark.usefixtures("oddly")
@pytest.mark.parametrize(
    ("failure", "words"),
    [
        (JournalUnavailable("the disk is full"), "could not be kept: the journal is not available: the disk is full"),
        (RuntimeError("a bug"), "the console made a mistake"),
    ],
)
async def test_a_best_that_can_t_be_kept_fails_its_job_alone(bench: Bench, failure: Exception, words: str) -> None:
    bench.kept_fails = failure
    job = await bench.ended(bench.odd("end"))
    assert (job.state, job.best, job.revision) == (JobState.FAILED, odd_job.BEST, None)
    assert words in job.words


async def test_what_is_quickly_reckoned_is_awaited_and_refused_with_its_reason(bench: Bench) -> None:
    verdict = await bench.jobs.reckon(CHECK, {"file": "plan/quay", "plan": PLAN})
    assert verdict["faults"] == []
    wrong = {**PLAN, "request": {**REQUEST, "raster_hz": 0}}
    with pytest.raises(InvalidRequest, match="raster_hz"):
        await bench.jobs.reckon(CHECK, {"file": "plan/quay", "plan": wrong})
    with pytest.raises(RuntimeError, match="KeyError"):
        await bench.jobs.reckon(CHECK, {})
    assert len(bench.processes) == 2, "the first stood ready for the second; after a mistake a fresh one was taken"
    assert [is_there(one.process_id) for one in bench.processes] == [False, False]


@pytest.mark.usefixtures("oddly")
async def test_a_reckoning_has_a_deadline_and_there_are_so_many_at_once(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(job_reckonings, "WITHIN_S", 0.2)
    with pytest.raises(LimitReached, match="seconds to odd"):
        await bench.jobs.reckon("odd", {"does": "hang"})
    assert not is_there(bench.processes[0].process_id)
    monkeypatch.setattr(job_reckonings, "WAITING_MAXIMUM", 0)
    with pytest.raises(LimitReached, match="reckonings at once"):
        await bench.jobs.reckon("odd", {"does": "end"})


@pytest.mark.usefixtures("oddly")
async def test_one_that_stood_ready_and_died_is_replaced(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(job_reckonings, "WITHIN_S", WITHIN_S)
    first = await bench.jobs.reckon("odd", {"does": "end"})
    second = await bench.jobs.reckon("odd", {"does": "end"})
    assert first["pid"] == second["pid"] == bench.processes[0].process_id
    os.kill(bench.processes[0].process_id, signal.SIGKILL)
    async with asyncio.timeout(WITHIN_S):
        outcome = await bench.processes[0].outcome(lambda _: None)
    assert isinstance(outcome, Broken)
    third = await bench.jobs.reckon("odd", {"does": "end"})
    assert third["pid"] == bench.processes[1].process_id


async def test_a_process_whose_console_is_gone_ends_at_once() -> None:
    """Nobody asks it to: its input just ends, as it does when a console is killed."""
    pipe = asyncio.subprocess.PIPE
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", job_process.MODULE, stdin=pipe, stdout=pipe, stderr=pipe
    )
    plan = {"title": "The Lamp", "request": CROWDED}
    arguments = {"file": "plan/quay", "plan": plan, "seed": 1, "seconds": WITHIN_S, "steps": 0}
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(line_of(AskedOfProcess(FIND, arguments)))
    async with asyncio.timeout(WITHIN_S):
        assert await process.stdout.readline(), "it works"
        process.stdin.close()
        await process.communicate()
    assert process.returncode == EXIT_ALONE
