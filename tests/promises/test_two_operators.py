"""Two people who set the same thing at once can't overwrite one another in silence.

Who comes after the device has reported the first one's value gets 412 with the values that stand. Who comes before it,
with the same revision, is taken in and waits; the device's report then refuses it in words, and nothing of it is sent.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import httpx2
import numpy as np

from tests.api.test_whole import SETTINGS, House, house
from tests.promises.promise import Promise, Seen, keep
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "two_operators",
    "two operators can't overwrite in silence",
    "two writes that saw the same revision, at once or after one another",
    "races",
    (50, 10_000, 100_000),
)
RACES_A_TRIAL = 50
LOW_CUTS_HZ = range(0, 170, 10)


def tried(folder: Path, seed: int) -> Seen:
    return run_virtual(_trial(f"sqlite:///{folder / f'{seed}.sqlite3'}", seed))


def test_of_two_writes_that_saw_the_same_one_wins_and_the_other_is_told(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert seen["told by 412"] > 0
    assert seen["refused in words"] > 0


async def _trial(url: str, seed: int) -> Seen:
    luck = np.random.default_rng(seed)
    seen: Seen = {"races": 0, "told by 412": 0, "refused in words": 0}
    async with house(url) as whole:
        for _ in range(RACES_A_TRIAL):
            how = await _race(whole, luck)
            seen["races"] += 1
            seen[how] += 1
            await whole.console.pass_time(1.0)
    return seen


@dataclass(frozen=True, slots=True)
class Wish:
    low_cut_hz: int
    after_s: float


async def _race(whole: House, luck: np.random.Generator) -> str:
    standing = (await whole.get("packs/k17/settings"))["reported"]["low_cut_hz"]
    tag = (await whole.http.get(SETTINGS)).headers["ETag"]
    values = luck.permutation([value for value in LOW_CUTS_HZ if value != standing])[:2].tolist()
    wishes = [Wish(value, float(luck.choice([0.0, 0.3]))) for value in values]
    obeying = asyncio.create_task(_obey(whole, 0.1), name="the device")
    answers = await asyncio.gather(*(_wish(whole, tag, wish) for wish in wishes))
    await obeying
    await whole.console.pass_time(1.0)
    return await _judged(whole, wishes, answers)


async def _wish(whole: House, tag: str, wish: Wish) -> httpx2.Response:
    await whole.console.clock.sleep(wish.after_s)
    return await whole.http.patch(SETTINGS, json={"low_cut_hz": wish.low_cut_hz}, headers={"If-Match": tag})


async def _obey(whole: House, every_s: float) -> None:
    """The device does what it is sent, a moment after it was sent."""
    receiver = whole.console.receiver
    for _ in range(8):
        await whole.console.clock.sleep(every_s)
        while receiver.written:
            receiver.obey(receiver.written.pop(0))


async def _judged(whole: House, wishes: list[Wish], answers: list[httpx2.Response]) -> str:
    stands = (await whole.get("packs/k17/settings"))["reported"]["low_cut_hz"]
    ends: list[dict[str, Any]] = []
    for wish, answer in zip(wishes, answers, strict=True):
        body = answer.json()
        if answer.status_code == 202:
            body = await whole.get(answer.headers["Location"].removeprefix("/api/v1/"))
        ends.append({"wish": wish.low_cut_hz, "status": answer.status_code, **body})
    won = [end for end in ends if end.get("state") == "confirmed"]
    assert [end["wish"] for end in won] == [stands], ends
    (lost,) = [end for end in ends if end not in won]
    if lost["status"] == 412:
        assert lost["current"]["values"]["low_cut_hz"] == stands
        return "told by 412"
    assert (lost["state"], bool(lost["reason"])) == ("refused", True)
    return "refused in words"
