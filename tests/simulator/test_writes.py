from __future__ import annotations

from fleet.protocol.codes import ErrorCode
from simulator.writes import REMEMBER_US, REMEMBERED_MAXIMUM, CommandMemory, Refused, Taken


def test_an_answer_is_remembered_for_ten_minutes() -> None:
    memory = CommandMemory()
    memory.remember("a", Taken("accepted"), 0)
    memory.remember("b", Refused(ErrorCode.BUSY, "busy"), 1)
    assert memory.recall("a", REMEMBER_US - 1) == Taken("accepted")
    assert memory.recall("a", REMEMBER_US) is None
    assert memory.recall("b", REMEMBER_US) == Refused(ErrorCode.BUSY, "busy")
    assert REMEMBER_US == 10 * 60 * 1_000_000


def test_the_oldest_goes_when_there_are_too_many() -> None:
    memory = CommandMemory()
    for number in range(REMEMBERED_MAXIMUM + 1):
        memory.remember(str(number), Taken("accepted"), number)
    assert memory.recall("0", 0) is None
    assert memory.recall("1", 0) == Taken("accepted")
