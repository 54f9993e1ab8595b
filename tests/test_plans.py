"""Plans in a console that runs: a search in a process of its own, and a stop and a start in the midst of one."""

from __future__ import annotations

import asyncio
from pathlib import Path

from fleet.model.event import DocumentApplied
from fleet.model.job import JobState
from fleet.model.plan import Search
from tests.api.fake_plans import REQUEST
from tests.console import Started, started

WITHIN_S = 60.0
CROWDED = {**REQUEST, "group": [{**REQUEST["group"][0], "count": 40}]}


def applied(console: Started) -> list[tuple[str, int, str]]:
    events = [entry.event for entry in console.journal()]
    of_plans = [one for one in events if isinstance(one, DocumentApplied) and one.document.startswith("plan/")]
    return [(event.document, event.revision, event.by) for event in of_plans]


async def test_a_search_fills_the_plan_and_the_journal_tells_who_did_it(tmp_path: Path) -> None:
    async with asyncio.timeout(WITHIN_S), started(f"sqlite:///{tmp_path}/journal.sqlite3") as console:
        plans, jobs = console.runtime.plans, console.runtime.jobs
        await plans.put("Engineer", "quay", {"title": "The Lamp", "request": REQUEST}, None)
        job = await plans.find("Planner", "quay", Search(1, WITHIN_S, 5))
        ended = await jobs.ended(job.job_id)
        assert (ended.state, ended.revision) == (JobState.DONE, 2)
        plan, revision = await plans.plan("quay")
        assert (plan.complete, len(plan.carriers), revision) == (True, 4, 2)
        assert (await plans.check("quay")).faults == ()
        assert applied(console) == [("plan/quay", 1, "Engineer"), ("plan/quay", 2, "Planner")]


async def test_a_console_that_stops_keeps_the_best_of_a_search_and_goes_on_with_it(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/journal.sqlite3"
    async with asyncio.timeout(WITHIN_S):
        async with started(url) as console:
            plans, jobs = console.runtime.plans, console.runtime.jobs
            await plans.put("Engineer", "quay", {"title": "The Lamp", "request": CROWDED}, None)
            job = await plans.find("Planner", "quay", Search(1, WITHIN_S))
            best_is_there = asyncio.Event()
            jobs.tell(lambda told: best_is_there.set() if told.best is not None and told.best.carriers else None)
            await best_is_there.wait()
        ended = jobs.job(job.job_id)
        assert (ended.state, ended.revision) == (JobState.STOPPED, 2)
        assert ended.best is not None
        async with started(url) as console:
            plan, revision = await console.runtime.plans.plan("quay")
            assert revision == 2
            assert [each.frequency_hz for each in plan.carriers] == [one.frequency_hz for one in ended.best.carriers]
            assert 0 < len(plan.carriers) < 40
            assert console.runtime.jobs.all() == (), "a job is gone with its console"
            assert applied(console)[-1] == ("plan/quay", 2, "Planner")
