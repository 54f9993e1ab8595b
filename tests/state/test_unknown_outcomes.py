from __future__ import annotations

from collections.abc import Mapping

from fleet.model.command import CommandState
from fleet.model.device import ContactState
from fleet.model.event import CommandChanged, SettingsChanged
from fleet.model.fields import Value
from fleet.model.observation import Contact, Observation, SettingsReport
from fleet.model.settings import Cause
from tests.small_fleet import PACK_SETTINGS, Hand
from tests.state.test_clerk import ASKED, PACK, ready

S = CommandState


def lost_and_found(settings: Mapping[str, Value], return_link: float = 1.0) -> Hand:
    """A command whose outcome is unknown; then a new connection, whose first reading finds these settings."""
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(3.0, ("quay-1",))
    assert hand.command("c1").state is S.UNKNOWN
    hand.contact("quay-1", ContactState.LOST)
    description = hand.pipeline.devices()[0].description
    hand.give(Contact(hand.at, "quay-1", ContactState.FRESH, boot_id="b1", description=description))
    hand.frame("quay-1", {(PACK, "return_link"): return_link})
    hand.report("quay-1", PACK, settings, complete=True)
    return hand


def test_the_reading_of_a_new_connection_confirms_before_anybody_can_change_it_again() -> None:
    hand = lost_and_found({**PACK_SETTINGS, **ASKED})
    assert hand.command("c1").state is S.CONFIRMED


def test_what_a_device_remembers_of_a_pack_that_does_not_answer_confirms_nothing() -> None:
    hand = lost_and_found({**PACK_SETTINGS, **ASKED}, return_link=0.0)
    assert hand.command("c1").state is S.UNKNOWN
    hand.frame("quay-1", {(PACK, "return_link"): 1.0})
    hand.report("quay-1", PACK, {**PACK_SETTINGS, **ASKED}, complete=True)
    assert hand.command("c1").state is S.CONFIRMED


def test_what_was_overwritten_before_it_was_read_may_have_been_applied_and_says_so() -> None:
    hand = lost_and_found(PACK_SETTINGS)
    hand.run(1.0, ("quay-1",))
    assert hand.command("c1").state is S.UNKNOWN, "only a reading that was asked for says that it was not applied"
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.NOT_APPLIED
    assert hand.command("c1").reason.endswith("so it may have been applied before that")


def test_what_was_not_applied_at_the_same_revision_was_never_applied() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(3.0, ("quay-1",))
    hand.read_back("quay-1", PACK, PACK_SETTINGS)
    assert hand.command("c1").state is S.NOT_APPLIED
    assert hand.command("c1").reason == "read again: low_cut_hz is 80"


def test_a_change_that_is_told_twice_undoes_nothing() -> None:
    hand = ready()
    boot = hand.boots["quay-1"]
    for number, low_cut_hz in ((7, 100), (8, 120), (7, 100)):
        change = SettingsReport(PACK, f"{boot}.{number}", {"low_cut_hz": low_cut_hz}, Cause.PANEL)
        hand.give(Observation(hand.at, "quay-1", reports=(change,)))
    assert hand.pipeline.settings(PACK).reported["low_cut_hz"] == 120
    assert hand.pipeline.settings(PACK).revision == f"{boot}.8"


def test_a_late_report_of_our_own_command_on_a_new_connection_is_not_another_clients() -> None:
    hand = ready()
    hand.write("c1", PACK, ASKED)
    hand.run(2.0, ["quay-1"])
    (own, confirmed) = hand.report("quay-1", PACK, ASKED, cause=Cause.OTHER_CLIENT, command_id="c1")
    assert isinstance(own, SettingsChanged)
    assert isinstance(confirmed, CommandChanged)
    assert (own.cause, confirmed.command.state) == (Cause.COMMAND, S.CONFIRMED)
    (other,) = hand.report("quay-1", PACK, {"low_cut_hz": 60}, cause=Cause.OTHER_CLIENT, command_id="elsewhere")
    assert isinstance(other, SettingsChanged)
    assert other.cause is Cause.OTHER_CLIENT
