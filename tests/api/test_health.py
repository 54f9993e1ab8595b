"""Health is truthful: well, or unwell with each reason, and 503 then."""

from __future__ import annotations

import pytest

from fleet.model.device import ContactState
from tests.api.conftest import Stage


def test_a_console_that_is_well_says_so_with_its_contacts(stage: Stage) -> None:
    answer = stage.client().get("/healthz")
    assert answer.status_code == 200
    assert answer.json() == {
        "status": "running",
        "journal_writable": True,
        "loop_lag_s": 0.01,
        "contacts": {"connecting": 1, "fresh": 1, "late": 0, "lost": 0, "bad": 0, "removed": 0},
    }


def fail_the_journal(stage: Stage) -> None:
    stage.console.journal_writable = False


def come_late(stage: Stage) -> None:
    stage.console.loop_lag_s = 1.25


def lose_all(stage: Stage) -> None:
    stage.console.contact_state = ContactState.LOST
    stage.console.other_contact_state = ContactState.BAD


@pytest.mark.parametrize(
    ("trouble", "words"),
    [
        (fail_the_journal, "The journal can't be written"),
        (come_late, "1.2 s late"),
        (lose_all, "No device is in contact"),
    ],
)
def test_each_trouble_is_a_reason_and_503(stage: Stage, trouble: object, words: str) -> None:
    assert callable(trouble)
    trouble(stage)
    answer = stage.client().get("/healthz")
    assert answer.status_code == 503
    assert answer.json()["code"] == "console-unwell"
    assert words in answer.json()["detail"]


def test_one_lost_device_among_others_is_an_alarm_and_no_illness(stage: Stage) -> None:
    stage.console.contact_state = ContactState.LOST
    answer = stage.client().get("/healthz")
    assert (answer.status_code, answer.json()["contacts"]["lost"]) == (200, 1)
